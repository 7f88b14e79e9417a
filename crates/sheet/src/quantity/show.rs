//! Shows numbers in the user's units, with as many digits as they deserve.

use super::{Dimension, Quantity, Unit};
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// Which units numbers are shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UnitSystem {
    /// mm, mT, N, °C.
    #[default]
    Si,
    /// SI, but gauss, oersted, maxwell and kilogram-force.
    GaussKgf,
    /// Inch, pound-force, gauss, °F.
    Imperial,
}

/// A number in a unit that suits its size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// In `unit`.
    pub number: f64,
    /// Symbol of the unit, empty for bare numbers.
    pub unit: &'static str,
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&with_unit(&format_number(self.number, None), self.unit))
    }
}

impl Dimension {
    /// Converts an SI value to a unit that suits its size.
    pub fn show(self, value_si: f64, system: UnitSystem) -> Shown {
        let unit = self.suitable(value_si.abs(), system);
        Shown { number: unit.from_si(value_si), unit: unit.symbol }
    }

    /// Factor, offset and symbol for a whole column: `shown = SI × factor + offset`.
    ///
    /// `max_abs` is the largest magnitude in the column, in SI; all its numbers are shown in one unit.
    pub fn column_unit(self, max_abs: f64, system: UnitSystem) -> (f64, f64, &'static str) {
        let unit = self.suitable(max_abs, system);
        (unit.difference_from_si(1.0), 0.0 - unit.offset, unit.symbol)
    }

    /// Whether a number of this kind that is not negative cannot be: its band ends at nothing.
    pub fn never_negative(self) -> bool {
        matches!(
            self,
            Self::Force
                | Self::Count
                | Self::Length
                | Self::Time
                | Self::Current
                | Self::Resistance
                | Self::Inductance
                | Self::Power
                | Self::Energy
                | Self::StoredEnergy
                | Self::Mass
        )
    }

    /// Symbol of the SI unit in which values are held; empty for plain numbers.
    pub fn si_symbol(self) -> &'static str {
        let is_si = |u: &&super::Unit| u.factor == 1.0 && u.offset == 0.0;
        self.units().iter().find(is_si).map_or("", |u| u.symbol)
    }

    /// The SI value as text with its unit.
    ///
    /// `standard` is the standard uncertainty in SI: it is given two significant digits and the value as many
    /// decimals (JCGM 100:2008, 7.2.6). Without it the value has four significant figures.
    pub fn text(self, value_si: f64, standard: Option<f64>, system: UnitSystem) -> String {
        let unit = self.suitable(value_si.abs(), system);
        let number = unit.from_si(value_si);
        let digits = match self {
            Self::Count if number.fract() == 0.0 && number.abs() < 1e15 => format!("{number:.0}"),
            _ => format_number(number, standard.map(|s| unit.difference_from_si(s))),
        };
        with_unit(&digits, unit.symbol)
    }

    /// The unit for a magnitude, in SI.
    fn suitable(self, magnitude: f64, system: UnitSystem) -> &'static Unit {
        // A hair below the threshold counts as on it: 0.99999999999 mm is 1 mm.
        let fits = |least: f64| magnitude >= least * (1.0 - 1e-9);
        let fitting = self.choices(system).iter().filter(|(least, _)| fits(*least));
        fitting
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map_or(&self.units()[0], |(_, symbol)| self.by_symbol(symbol))
    }

    fn by_symbol(self, symbol: &str) -> &'static Unit {
        let units = self.units();
        units.iter().find(|u| u.symbol == symbol).unwrap_or(&units[0])
    }

    /// Least magnitude in SI at which a unit is used; the one for 0 shows zero itself.
    fn choices(self, system: UnitSystem) -> &'static [(f64, &'static str)] {
        use UnitSystem::{GaussKgf, Imperial, Si};
        match (self, system) {
            (Self::Ratio | Self::Count, _) => &[(0.0, "")],
            (Self::Share, _) => &[(0.0, "%")],
            (Self::Length, Imperial) => &[(0.0, "in"), (1.0, "ft")],
            (Self::Length, _) => {
                &[(f64::MIN_POSITIVE, "µm"), (0.0, "mm"), (1e-4, "mm"), (1.0, "m"), (1e4, "km")]
            }
            (Self::Area, Imperial) => &[(0.0, "in²")],
            (Self::Area, _) => &[(0.0, "mm²"), (1e-2, "cm²"), (1.0, "m²")],
            (Self::Volume, Imperial) => &[(0.0, "in³")],
            (Self::Volume, _) => {
                &[(f64::MIN_POSITIVE, "mm³"), (0.0, "cm³"), (1e-7, "cm³"), (1e-2, "l"), (1.0, "m³")]
            }
            (Self::Angle, _) => &[(0.0, "°")],
            (Self::Mass, Imperial) => &[(0.0, "oz"), (0.4, "lb")],
            (Self::Mass, _) => &[(f64::MIN_POSITIVE, "mg"), (0.0, "g"), (1e-4, "g"), (1.0, "kg"), (1e4, "t")],
            (Self::Density, Imperial) => &[(0.0, "lb/in³")],
            (Self::Density, _) => &[(0.0, "kg/m³")],
            (Self::Time, _) => &[
                (f64::MIN_POSITIVE, "µs"),
                (0.0, "s"),
                (1e-3, "ms"),
                (1.0, "s"),
                (120.0, "min"),
                (10_800.0, "h"),
                (432_000.0, "d"),
            ],
            (Self::Speed, Imperial) => &[(0.0, "ft/s")],
            (Self::Speed, _) => &[(0.0, "m/s")],
            (Self::Force, Si) => &[(f64::MIN_POSITIVE, "mN"), (0.0, "N"), (0.1, "N"), (1e4, "kN")],
            (Self::Force, GaussKgf) => &[(f64::MIN_POSITIVE, "gf"), (0.0, "kgf"), (0.98, "kgf")],
            (Self::Force, Imperial) => &[(f64::MIN_POSITIVE, "ozf"), (0.0, "lbf"), (0.4, "lbf")],
            (Self::Pressure, Imperial) => &[(0.0, "psi")],
            (Self::Pressure, _) => &[(f64::MIN_POSITIVE, "Pa"), (0.0, "kPa"), (1e2, "kPa"), (1e6, "MPa")],
            (Self::Energy, _) => {
                &[(f64::MIN_POSITIVE, "µJ"), (0.0, "J"), (1e-4, "mJ"), (0.1, "J"), (1e4, "kJ"), (1e7, "MJ")]
            }
            (Self::StoredEnergy, _) => {
                &[(f64::MIN_POSITIVE, "mWh"), (0.0, "Wh"), (3.6e2, "Wh"), (3.6e7, "kWh")]
            }
            (Self::Power, _) => {
                &[(f64::MIN_POSITIVE, "µW"), (0.0, "W"), (1e-4, "mW"), (0.1, "W"), (1e4, "kW"), (1e7, "MW")]
            }
            (Self::Voltage, _) => {
                &[(f64::MIN_POSITIVE, "µV"), (0.0, "V"), (1e-4, "mV"), (0.1, "V"), (1e4, "kV")]
            }
            (Self::Current, _) => {
                &[(f64::MIN_POSITIVE, "µA"), (0.0, "A"), (1e-4, "mA"), (0.1, "A"), (1e4, "kA")]
            }
            (Self::AmpereTurns, _) => &[(0.0, "A"), (1e5, "kA"), (1e8, "MA")],
            (Self::CurrentDensity, _) => &[(0.0, "A/mm²")],
            (Self::Resistance, _) => {
                &[(f64::MIN_POSITIVE, "µΩ"), (0.0, "Ω"), (1e-3, "mΩ"), (0.1, "Ω"), (1e4, "kΩ"), (1e6, "MΩ")]
            }
            (Self::ResistancePerLength, Imperial) => &[(0.0, "Ω/kft")],
            (Self::ResistancePerLength, _) => &[(f64::MIN_POSITIVE, "mΩ/m"), (0.0, "Ω/m"), (0.1, "Ω/m")],
            (Self::Resistivity, _) => &[(0.0, "nΩ·m"), (1e-6, "µΩ·m"), (1e-3, "Ω·m")],
            (Self::Inductance, _) => {
                &[(f64::MIN_POSITIVE, "nH"), (0.0, "mH"), (1e-7, "µH"), (1e-4, "mH"), (1.0, "H")]
            }
            (Self::FluxDensity, Si) => {
                &[(f64::MIN_POSITIVE, "nT"), (0.0, "mT"), (1e-7, "µT"), (1e-4, "mT"), (1.0, "T")]
            }
            (Self::FluxDensity, _) => &[(f64::MIN_POSITIVE, "mG"), (0.0, "G"), (1e-5, "G"), (1.0, "kG")],
            (Self::FieldStrength, Si) => &[(0.0, "A/m"), (1e4, "kA/m"), (1e7, "MA/m")],
            (Self::FieldStrength, _) => &[(0.0, "Oe"), (1e6, "kOe")],
            (Self::Magnetisation, Si) => &[(0.0, "A/m"), (1e4, "kA/m"), (1e7, "MA/m")],
            (Self::Magnetisation, _) => &[(0.0, "emu/cm³")],
            (Self::Flux, Si) => &[(f64::MIN_POSITIVE, "µWb"), (0.0, "mWb"), (1e-4, "mWb"), (1.0, "Wb")],
            (Self::Flux, _) => &[(0.0, "Mx"), (1e-4, "kMx")],
            (Self::FluxLinkage, _) => &[(f64::MIN_POSITIVE, "µWb"), (0.0, "mWb"), (1e-4, "mWb"), (1.0, "Wb")],
            (Self::Temperature, Imperial) => &[(0.0, "°F")],
            (Self::Temperature, _) => &[(0.0, "°C")],
            (Self::TemperatureDifference, Imperial) => &[(0.0, "°F")],
            (Self::TemperatureDifference, _) => &[(0.0, "K")],
            (Self::TemperatureCoefficient, _) => &[(0.0, "%/K")],
            (Self::ThermalConductivity, _) => &[(0.0, "W/(m·K)")],
            (Self::ThermalConductance, _) => &[(f64::MIN_POSITIVE, "mW/K"), (0.0, "W/K"), (0.1, "W/K")],
            (Self::HeatTransferCoefficient, _) => &[(0.0, "W/(m²·K)")],
            (Self::HeatCapacity, _) => &[(0.0, "J/K"), (1e5, "kJ/K")],
            (Self::SpecificHeat, _) => &[(0.0, "J/(kg·K)")],
            (Self::Charge, _) => {
                &[(f64::MIN_POSITIVE, "µC"), (0.0, "C"), (1e-4, "mC"), (0.1, "C"), (3600.0, "Ah")]
            }
        }
    }
}

/// The number as text: with a standard uncertainty (in the same unit) as many decimals as give that two
/// significant digits; without, four significant figures and no idle zeros.
pub fn format_number(number: f64, standard: Option<f64>) -> String {
    if !number.is_finite() {
        return if number.is_nan() { "not a number".into() } else { "infinite".into() };
    }
    let text = match standard.filter(|s| s.is_finite() && *s > 0.0) {
        Some(s) => rounded(number, 1 - exponent(s, 2)),
        None if number == 0.0 => return "0".into(),
        None => idle_zeros_off(&rounded(number, 3 - exponent(number, 4))),
    };
    // A rounded-away negative is plain zero.
    match text.strip_prefix('-') {
        Some(rest) if !rest.contains(|c: char| ('1'..='9').contains(&c)) => rest.to_owned(),
        _ => text,
    }
}

/// Decimal exponent of the number once rounded to that many significant digits.
fn exponent(number: f64, digits: usize) -> i32 {
    let text = format!("{:.*e}", digits - 1, number.abs());
    text.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0)
}

/// Rounded to `decimals` places (negative: to tens, hundreds); in powers of ten where it would be unwieldy.
fn rounded(number: f64, decimals: i32) -> String {
    let leading = exponent(number, 15);
    let significant = leading + decimals;
    if number != 0.0 && (leading >= 7 || (leading < -4 && significant >= 0)) {
        return format!("{:.*e}", significant.max(0) as usize, number);
    }
    if decimals >= 0 {
        format!("{number:.*}", decimals as usize)
    } else {
        let step = 10f64.powi(-decimals);
        format!("{:.0}", (number / step).round() * step)
    }
}

fn idle_zeros_off(text: &str) -> String {
    let (mantissa, tail) = match text.split_once('e') {
        Some((m, e)) => (m, format!("e{e}")),
        None => (text, String::new()),
    };
    if !mantissa.contains('.') {
        return text.to_owned();
    }
    format!("{}{tail}", mantissa.trim_end_matches('0').trim_end_matches('.'))
}

fn with_unit(digits: &str, unit: &str) -> String {
    if unit.is_empty() { digits.to_owned() } else { format!("{digits} {unit}") }
}

/// The text that [`Quantity::parse`] reads back, to fifteen significant digits.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.dimension.suitable(self.value.abs(), UnitSystem::Si);
        f.write_str(&with_unit(&fifteen(unit.from_si(self.value)), unit.symbol))?;
        if self.half_width > 0.0 {
            let symbol = if self.dimension == Dimension::Temperature { "K" } else { unit.symbol };
            write!(f, " ± {}", with_unit(&fifteen(unit.difference_from_si(self.half_width)), symbol))?;
        }
        Ok(())
    }
}

fn fifteen(number: f64) -> String {
    let short: f64 = format!("{number:.14e}").parse().unwrap_or(number);
    if short != 0.0 && !(1e-5..1e15).contains(&short.abs()) {
        format!("{short:e}")
    } else {
        format!("{short}")
    }
}
