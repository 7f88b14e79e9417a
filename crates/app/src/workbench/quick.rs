//! Numbers at once: the field on a coarse mesh, from nothing, so that they depend on the sheet alone.

use super::part::QuickValue;
use crate::ask::{self, AtFace, Failure, Sheet, Wanted};
use crate::shown;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::uncertainty::measure::Measure;

/// Pull and field at the face of any magnet, current and power of one that has a winding.
pub(super) fn first(at_face: &AtFace, sheet: &Sheet, units: UnitSystem) -> Vec<QuickValue> {
    let none = f64::NAN;
    let wound = ask::rough(sheet, Wanted::default());
    let [current, power, ampere_turns] =
        wound.map_or([none; 3], |found| [found.current_a, found.power_w, found.ampere_turns]);
    known(
        &[
            ("pull", "pull", at_face.pull_n.unwrap_or(none), Dimension::Force),
            ("field", "face_maximum", at_face.field_t.unwrap_or(none), Dimension::FluxDensity),
            ("winding", "current", current, Dimension::Current),
            ("winding", "power", power, Dimension::Power),
            ("winding", "ampere_turns", ampere_turns, Dimension::Current),
        ],
        units,
    )
}

/// What follows from the heat in the long run.
pub(super) fn warm(sheet: &Sheet, units: UnitSystem) -> Result<Vec<QuickValue>, Failure> {
    let found = ask::rough(sheet, Wanted { heat: true, pull_warm: true, ..Wanted::default() })?;
    Ok(known(
        &[
            ("heat", "hot_spot_steady", found.hot_spot_k, Dimension::Temperature),
            ("heat", "surface_temperature_steady", found.surface_k, Dimension::Temperature),
            ("heat", "current_steady", found.current_warm_a, Dimension::Current),
            ("heat", "power_steady", found.power_warm_w, Dimension::Power),
            ("heat", "pull_steady", found.pull_warm_n, Dimension::Force),
        ],
        units,
    ))
}

fn known(all: &[(&'static str, &'static str, f64, Dimension)], units: UnitSystem) -> Vec<QuickValue> {
    let finite = all.iter().filter(|(_, _, si, _)| si.is_finite());
    finite
        .map(|&(of, key, si, dimension)| {
            let measure = Measure { value: si, dimension, band: None };
            QuickValue { of, key, text: rounded(&measure, units), si }
        })
        .collect()
}

/// To three digits: the fourth is not known yet.
fn rounded(measure: &Measure, units: UnitSystem) -> String {
    let scale = shown::Scale::of(measure.dimension, measure.value, units);
    let number = scale.value(measure.value);
    let places = (2 - number.abs().max(1e-9).log10().floor() as i32).clamp(0, 6) as usize;
    format!("{number:.places$} {}", scale.symbol)
}
