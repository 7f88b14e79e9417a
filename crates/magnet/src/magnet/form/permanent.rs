//! The permanent magnet of a body: its grade, or its remanence and recoil permeability.

use crate::magnet::{Part, Reader, Substance};
use crate::material::{CELSIUS_ZERO_K, PermanentMagnet, permanent};
use crate::quantity::{Dimension, UnitSystem};
use coilwright_fem::drawing::Outline;

const ROOM_K: f64 = 20.0 + CELSIUS_ZERO_K;
/// Recoil permeability of a sintered magnet of which nothing is known, and its standard uncertainty (typical,
/// unsourced).
const USUAL_RECOIL: (f64, f64) = (1.05, 0.02);
/// Standard uncertainty of a grade's recoil permeability as a share of its excess over 1 (our own estimate).
const RECOIL_SHARE: f64 = 0.3;
/// Relative standard uncertainty of a grade's remanence if its range is a single value (our own estimate).
const REMANENCE_RELATIVE_STANDARD: f64 = 0.01;
/// Difference from 20 °C from which it matters for which temperature a remanence was given, K.
const ELSEWHERE_K: f64 = 5.0;

/// A rectangle of the body's permanent magnet, magnetised upwards: north at its top.
///
/// A grade is taken at the surroundings' temperature. A remanence stands for itself, at whatever temperature it is
/// meant for; beside a grade (as when one of its tolerances is tried) it counts instead of the grade's.
pub(crate) fn magnet(r: &mut Reader<'_>, x_m: [f64; 2], y_m: [f64; 2]) -> Part {
    let kelvin = r.or_assume(
        "surroundings.temperature",
        "temperature of the surroundings",
        (ROOM_K, 0.0),
        Dimension::Temperature,
        "not given; a room",
    );
    let grade = grade(r, kelvin);
    let remanence = remanence(r, grade.as_ref(), kelvin);
    let (recoil, reason) = match &grade {
        Some(g) => {
            let mu = g.recoil_permeability;
            ((mu, RECOIL_SHARE * (mu - 1.0)), format!("of grade {}", g.name))
        }
        None => (USUAL_RECOIL, "usual for sintered magnets (typical, unsourced)".into()),
    };
    let path = "body.recoil_permeability";
    let recoil_permeability = r.or_assume(path, "recoil permeability", recoil, Dimension::Ratio, &reason);
    if recoil_permeability < 1.0 {
        r.fault(
            path,
            format!("a recoil permeability of {recoil_permeability} is less than that of vacuum"),
            "1.03 to 1.1 for sintered magnets, 2 to 5 for AlNiCo",
        );
    }
    Part {
        name: "magnet".into(),
        outline: Outline::rectangle(x_m, y_m),
        substance: Substance::Permanent {
            remanence_t: [0.0, remanence],
            recoil_permeability,
            knee_t: grade.as_ref().map(PermanentMagnet::knee_flux_density_t),
            density_kg_per_m3: grade.map(|g| g.thermal.density_kg_per_m3),
        },
        is_workpiece: false,
    }
}

fn grade(r: &mut Reader<'_>, kelvin: f64) -> Option<PermanentMagnet> {
    let celsius = |k: f64| Dimension::Temperature.text(k, None, UnitSystem::Si);
    match permanent(r.sheet.word("body.grade")?) {
        Ok(grade) => {
            if grade.is_too_hot(kelvin) {
                r.warnings.push(format!(
                    "{} is above the highest working temperature of {}, {}: it may lose magnetisation for good",
                    celsius(kelvin),
                    grade.name,
                    celsius(grade.highest_temperature_k)
                ));
            }
            Some(grade.at_temperature(kelvin))
        }
        Err(e) => {
            r.fault("body.grade", e.to_string(), "or give `body.remanence` and `body.recoil_permeability`");
            None
        }
    }
}

fn remanence(r: &mut Reader<'_>, grade: Option<&PermanentMagnet>, kelvin: f64) -> f64 {
    let (path, label) = ("body.remanence", "remanence");
    let Some(grade) = grade else {
        // An unknown grade is a fault already.
        if r.sheet.has("body.grade") && !r.sheet.has(path) {
            return f64::NAN;
        }
        if r.sheet.has(path) && (kelvin - ROOM_K).abs() > ELSEWHERE_K {
            let at = Dimension::Temperature.text(kelvin, None, UnitSystem::Si);
            r.warnings.push(format!(
                "the remanence is taken as that at {at}; a grade would follow the temperature"
            ));
        }
        return r.need(path, label);
    };
    let half = grade.remanence_half_width_t;
    let standard =
        if half > 0.0 { half / 3f64.sqrt() } else { REMANENCE_RELATIVE_STANDARD * grade.remanence_t };
    let at = Dimension::Temperature.text(kelvin, None, UnitSystem::Si);
    let reason = format!("middle of the range of grade {} at {at} ({})", grade.name, grade.status);
    r.or_assume(path, label, (grade.remanence_t, standard), Dimension::FluxDensity, &reason)
}
