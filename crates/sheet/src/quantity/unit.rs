//! What a unit is, and how its spellings are recognised.

use super::Dimension;

/// A unit of one dimension: `SI value = (number + offset) × factor`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// How it is shown.
    pub symbol: &'static str,
    /// Other spellings that are read; case matters (mT is not MT).
    pub also: &'static [&'static str],
    /// Size in the SI unit of the dimension.
    pub factor: f64,
    /// Added before scaling; not zero for °C and °F only.
    pub offset: f64,
}

impl Unit {
    /// From a number in this unit to SI.
    pub fn to_si(&self, number: f64) -> f64 {
        self.difference_to_si(number + self.offset)
    }

    /// From a difference of two numbers in this unit (a tolerance) to SI.
    ///
    /// Decimal fractions are divided by the whole number they are a part of, so that `0.3 mm` is the double
    /// nearest to 0.0003.
    pub fn difference_to_si(&self, number: f64) -> f64 {
        if self.factor < 1.0 { number / (1.0 / self.factor) } else { number * self.factor }
    }

    /// From SI to a number in this unit.
    pub fn from_si(&self, si: f64) -> f64 {
        self.difference_from_si(si) - self.offset
    }

    /// From a difference in SI to a difference in this unit.
    pub fn difference_from_si(&self, si: f64) -> f64 {
        if self.factor < 1.0 { si * (1.0 / self.factor) } else { si / self.factor }
    }
}

impl Dimension {
    /// What a person calls this kind of quantity, such as `length`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ratio => "ratio",
            Self::Share => "share",
            Self::Count => "count",
            Self::Length => "length",
            Self::Area => "area",
            Self::Volume => "volume",
            Self::Angle => "angle",
            Self::Mass => "mass",
            Self::Density => "density",
            Self::Time => "time",
            Self::Speed => "speed",
            Self::Force => "force",
            Self::Pressure => "pressure",
            Self::Energy => "energy",
            Self::Power => "power",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::AmpereTurns => "number of ampere-turns",
            Self::CurrentDensity => "current density",
            Self::Resistance => "resistance",
            Self::ResistancePerLength => "resistance per length",
            Self::Resistivity => "resistivity",
            Self::Inductance => "inductance",
            Self::FluxDensity => "flux density",
            Self::FieldStrength => "field strength",
            Self::Magnetisation => "magnetisation",
            Self::Flux => "flux",
            Self::FluxLinkage => "flux linkage",
            Self::Temperature => "temperature",
            Self::TemperatureDifference => "temperature difference",
            Self::TemperatureCoefficient => "temperature coefficient",
            Self::ThermalConductivity => "thermal conductivity",
            Self::ThermalConductance => "thermal conductance",
            Self::HeatTransferCoefficient => "heat transfer coefficient",
            Self::HeatCapacity => "heat capacity",
            Self::SpecificHeat => "specific heat",
            Self::Charge => "charge",
            Self::StoredEnergy => "stored energy",
        }
    }

    /// The unit with that spelling, if this kind of quantity has it.
    pub fn unit(self, spelling: &str) -> Option<&'static Unit> {
        let wanted = plain(spelling);
        self.units().iter().find(|unit| {
            unit.symbol == spelling
                || plain(unit.symbol) == wanted
                || unit.also.iter().any(|&a| plain(a) == wanted)
        })
    }

    /// Every kind of quantity that is read.
    pub const ALL: [Self; 37] = [
        Self::Ratio,
        Self::Count,
        Self::Length,
        Self::Area,
        Self::Volume,
        Self::Angle,
        Self::Mass,
        Self::Density,
        Self::Time,
        Self::Speed,
        Self::Force,
        Self::Pressure,
        Self::Energy,
        Self::Power,
        Self::Voltage,
        Self::Current,
        Self::AmpereTurns,
        Self::CurrentDensity,
        Self::Resistance,
        Self::ResistancePerLength,
        Self::Resistivity,
        Self::Inductance,
        Self::FluxDensity,
        Self::FieldStrength,
        Self::Magnetisation,
        Self::Flux,
        Self::FluxLinkage,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::TemperatureCoefficient,
        Self::ThermalConductivity,
        Self::ThermalConductance,
        Self::HeatTransferCoefficient,
        Self::HeatCapacity,
        Self::SpecificHeat,
        Self::Charge,
        Self::StoredEnergy,
    ];
}

/// A unit's spelling with the typographic variants levelled: `µ` and `μ` as `u`, `Ω` as `ohm`, `°` as `deg`,
/// `²` and `^2` as `2`, brackets left out, and any sign of multiplication (a space too) as one dot, so that
/// `m m` is not `mm`. Letters keep their case.
pub(super) fn plain(spelling: &str) -> String {
    let mut out = String::with_capacity(spelling.len());
    let mut times = false;
    for c in spelling.chars() {
        if c.is_whitespace() || "·⋅*".contains(c) {
            times = true;
            continue;
        }
        let after_factor = out.ends_with(|c: char| c.is_alphanumeric()) && !out.ends_with("deg");
        if std::mem::take(&mut times) && after_factor && (c.is_alphanumeric() || c == '°') {
            out.push('·');
        }
        match c {
            '\u{b5}' | '\u{3bc}' => out.push('u'),
            '\u{3a9}' | '\u{2126}' => out.push_str("ohm"),
            '°' | 'º' => out.push_str("deg"),
            '℃' => out.push_str("degC"),
            '℉' => out.push_str("degF"),
            '²' => out.push('2'),
            '³' => out.push('3'),
            '″' | '”' | '“' => out.push('"'),
            '−' | '–' | '‐' | '‑' => out.push('-'),
            '^' | '(' | ')' => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn no_spelling_means_two_units_of_one_dimension() {
        for dimension in Dimension::ALL {
            let mut seen = HashSet::new();
            for unit in dimension.units() {
                for s in std::iter::once(&unit.symbol).chain(unit.also) {
                    assert!(seen.insert(plain(s)), "{dimension:?}: {s}");
                }
            }
        }
    }

    /// NIST SP 811 (2008), appendix B.8; factors in bold there are exact.
    #[test]
    fn factors_agree_with_nist_sp_811() {
        use Dimension::*;
        for (dimension, unit, si, relative) in [
            (Length, "in", 0.0254, 0.0),
            (Length, "mil", 2.54e-5, 0.0),
            (Length, "ft", 0.3048, 0.0),
            (Mass, "lb", 0.453_592_37, 0.0),
            (Mass, "oz", 2.834_952e-2, 1e-6),
            (Force, "kgf", 9.806_65, 0.0),
            (Force, "lbf", 4.448_221_615_260_5, 0.0),
            (Force, "ozf", 2.780_139e-1, 1e-6),
            (Pressure, "psi", 6.894_757e3, 1e-6),
            (Pressure, "bar", 1e5, 0.0),
            (Energy, "Wh", 3.6e3, 0.0),
            (Energy, "kWh", 3.6e6, 0.0),
            (FluxDensity, "G", 1e-4, 0.0),
            (FieldStrength, "Oe", 79.577_471_545_9, 1e-12),
            (Flux, "Mx", 1e-8, 0.0),
            (Angle, "deg", 1.745_329e-2, 1e-6),
            (Time, "h", 3600.0, 0.0),
            (Speed, "ft/min", 5.08e-3, 0.0),
            (Charge, "Ah", 3600.0, 0.0),
            (Volume, "in^3", 1.638_706e-5, 1e-6),
            (Density, "lb/in^3", 2.767_990e4, 1e-6),
        ] {
            let found = dimension.unit(unit).unwrap_or_else(|| panic!("{unit}")).difference_to_si(1.0);
            assert!(
                (found / si - 1.0).abs() <= f64::max(relative, 2.0 * f64::EPSILON),
                "{unit}: {found} is not {si}"
            );
        }
        // SP 811 B.8: T/K = t/°C + 273.15 = (t/°F + 459.67)/1.8.
        for (unit, number, kelvin) in [("°C", 85.0, 358.15), ("°F", 212.0, 373.15), ("°F", -459.67, 0.0)] {
            let found = Temperature.unit(unit).unwrap().to_si(number);
            assert!((found - kelvin).abs() < 1e-9, "{number} {unit}: {found}");
        }
    }
}
