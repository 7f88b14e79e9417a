//! The clamp of a sheet, and the kinds it is compared with.

use crate::circuit::SwitchError;
use crate::circuit::coil::Coil;
use crate::circuit::curve::Curve;
use crate::circuit::events::{Clamp, interruption};
use crate::magnet::assumption::Assumption;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;

/// Forward voltage of a silicon diode (typical, unsourced).
const DIODE_V: f64 = 0.8;
/// Peak over the supply's voltage that the resistor and the zener of the comparison make.
const RESISTOR_PEAK: f64 = 5.0;
const ZENER_PEAK: f64 = 2.0;
/// Stray capacitance of winding and leads (typical, unsourced; a factor of 3 either way).
pub(crate) const STRAY_F: f64 = 300e-12;

/// A clamp with its names.
#[derive(Clone, Debug)]
pub(crate) struct Named {
    pub(crate) key: &'static str,
    pub(crate) label: String,
    pub(crate) clamp: Clamp,
}

impl Named {
    /// The sheet's entry that decides what it does, and its label.
    pub(crate) fn entry(&self) -> Option<(&'static str, &'static str)> {
        match self.clamp {
            Clamp::Diode { .. } | Clamp::Zener { .. } => Some(("clamp.voltage", "voltage of the clamp")),
            Clamp::Resistor { .. } => Some(("clamp.resistance", "resistance of the clamp")),
            Clamp::Nothing { .. } => None,
        }
    }

    /// The clamp one standard uncertainty of its voltage or resistance higher, if the sheet gives a tolerance.
    pub(crate) fn a_little_more(&self, sheet: &Sheet) -> Option<(&'static str, &'static str, Self)> {
        let (path, label) = self.entry()?;
        let u = sheet.quantity(path)?.standard_uncertainty();
        let clamp = match self.clamp {
            Clamp::Diode { forward_v } => Clamp::Diode { forward_v: forward_v + u },
            Clamp::Zener { voltage_v } => Clamp::Zener { voltage_v: voltage_v + u },
            Clamp::Resistor { resistance_ohm } => Clamp::Resistor { resistance_ohm: resistance_ohm + u },
            Clamp::Nothing { .. } => return None,
        };
        (u > 0.0).then(|| (path, label, Self { clamp, ..self.clone() }))
    }
}

/// Voltage that a coil of that linkage and resistance is likely to make where its circuit is opened with nothing to take
/// the current over, V.
pub(crate) fn opening_v(linkage: &Curve, ohm: f64, current_a: f64) -> Result<f64, SwitchError> {
    let at = |current: &f64| linkage.value(*current).unwrap_or(f64::NAN);
    let coil = Coil::new(linkage.knots().to_vec(), linkage.knots().iter().map(at).collect(), ohm)?;
    Ok(interruption(&coil, current_a, STRAY_F)?.likely_v)
}

/// The sheet's clamp, at a supply's voltage and a current.
pub(crate) fn own_clamp(
    sheet: &Sheet,
    supply_v: f64,
    current: f64,
    assumptions: &mut Vec<Assumption>,
) -> Named {
    let word = sheet.word("clamp.kind").unwrap_or_else(|| {
        assumptions.push(Assumption {
            path: "clamp.kind".into(),
            label: "clamp across the coil".into(),
            value: None,
            word: "diode".into(),
            reason: "not given; the usual one".into(),
        });
        "diode"
    });
    let volts = |v: f64| Dimension::Voltage.text(v, None, UnitSystem::Si);
    let key: &'static str = match word {
        "resistor" => "resistor",
        "zener" => "zener",
        "none" => "none",
        _ => "diode",
    };
    match key {
        "resistor" => {
            let ohm = sheet.value("clamp.resistance").unwrap_or(RESISTOR_PEAK * supply_v / current);
            resistor(ohm)
        }
        "zener" => {
            let v = sheet.value("clamp.voltage").unwrap_or(ZENER_PEAK * supply_v);
            Named { key, label: format!("zener of {}", volts(v)), clamp: Clamp::Zener { voltage_v: v } }
        }
        "none" => nothing(),
        _ => diode(sheet.value("clamp.voltage").unwrap_or(DIODE_V)),
    }
}

fn diode(forward_v: f64) -> Named {
    Named { key: "diode", label: "free-wheel diode".into(), clamp: Clamp::Diode { forward_v } }
}

/// The diode of the comparison: the sheet's own if it has one.
pub(crate) fn usual_diode(own: &Named) -> Clamp {
    if own.key == "diode" { own.clamp } else { diode(DIODE_V).clamp }
}

fn resistor(resistance_ohm: f64) -> Named {
    let text = Dimension::Resistance.text(resistance_ohm, None, UnitSystem::Si);
    Named { key: "resistor", label: format!("resistor of {text}"), clamp: Clamp::Resistor { resistance_ohm } }
}

fn nothing() -> Named {
    Named {
        key: "none",
        label: "nothing: the contact arcs".into(),
        clamp: Clamp::Nothing { stray_farad: STRAY_F },
    }
}

/// All four kinds, the sheet's own with its own values.
pub(crate) fn compared(own: &Named, supply_v: f64, current: f64) -> Vec<Named> {
    let v = ZENER_PEAK * supply_v;
    let label = format!("zener of {}", Dimension::Voltage.text(v, None, UnitSystem::Si));
    let usual = vec![
        diode(DIODE_V),
        resistor(RESISTOR_PEAK * supply_v / current),
        Named { key: "zener", label, clamp: Clamp::Zener { voltage_v: v } },
        nothing(),
    ];
    usual.into_iter().map(|c| if c.key == own.key { own.clone() } else { c }).collect()
}
