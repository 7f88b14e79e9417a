//! How sure the places of readings are.
//!
//! A column of positions or gaps may name its instrument. What each position has for itself (counts, resolution; and
//! the gain, which is small there) goes into the reading's noise through the derivative of the prediction; what all
//! have in common, the instrument's offset, is an unknown. Without an instrument single positions are taken as exact,
//! but a shim is not quite what is written on it.

use crate::meters::Meters;
use crate::readings::{Axis, Column, Measurand, Place, Readings};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::assumption::Assumption;

/// Standard uncertainty of a shim or feeler gauge of which nothing is said, m (common practice, no source).
const USUAL_SHIM_M: f64 = 2e-6;

const SHIMS: &str = "readings.shims";

/// How sure one coordinate of a reading is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Spot {
    /// Standard uncertainty that it has for itself, m.
    pub(super) own_m: f64,
    /// What it has in common with others, by index of the [`Zero`]s.
    pub(super) zero: Option<usize>,
    /// The one setting that it is, if several readings were taken at it, by index of the [`Setting`]s.
    pub(super) setting: Option<usize>,
}

/// A shim or a height that was set once for several readings, which share its error.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Setting {
    /// What a person calls it.
    pub(super) label: String,
    /// As it was read, m.
    pub(super) at_m: f64,
    /// Whether it is a gap (else a height).
    pub(super) gap: bool,
    /// Standard uncertainty, m.
    pub(super) standard_m: f64,
}

/// The places of a reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Spots {
    /// Along `r` or `x`.
    pub(super) across: Spot,
    /// Of the probe's tip above the face.
    pub(super) height: Spot,
    /// Between face and workpiece.
    pub(super) gap: Spot,
}

/// An error that positions have in common: it is added to each of them.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Zero {
    /// What a person calls it.
    pub(super) label: String,
    /// Standard uncertainty, m.
    pub(super) standard_m: f64,
}

/// Positions along one axis for the readings of a column.
pub(super) fn spot(
    readings: &Readings,
    column: &Column,
    axis: Axis,
    meters: &mut Meters<'_>,
    zeros: &mut Vec<Zero>,
) -> Result<impl Fn(f64) -> Spot + use<>, Failure> {
    let fixed = column.places.iter().any(|(a, place)| *a == axis && matches!(place, Place::At(_)));
    let position = Measurand::Position(axis);
    let places = readings.columns_of(&position).next();
    // An instrument for lengths that is not named may be that of anything else.
    let named = places.filter(|places| !fixed && places.instrument.is_some());
    let instrument = named.map(|places| meters.of(places)).transpose()?;
    let zero = instrument.as_ref().filter(|i| i.offset > 0.0).map(|i| {
        let what = match axis {
            Axis::Z => "heights",
            Axis::Gap => "gaps",
            _ => "positions",
        };
        let label = format!("zero of {} ({what})", i.name);
        let standard_m = i.offset / 3f64.sqrt();
        zeros.iter().position(|z| z.label == label).unwrap_or_else(|| {
            zeros.push(Zero { label, standard_m });
            zeros.len() - 1
        })
    });
    let unsaid = if axis == Axis::Gap { USUAL_SHIM_M } else { 0.0 };
    if axis == Axis::Gap && instrument.is_none() && !meters.assumptions.iter().any(|a| a.path == SHIMS) {
        meters.assumptions.push(Assumption {
            path: SHIMS.into(),
            label: "shims".into(),
            value: None,
            word: format!("± {:.0} µm standard", 1e6 * USUAL_SHIM_M),
            reason: "no instrument is named for the gaps, as in `gap mm by shims` (common practice)".into(),
        });
    }
    Ok(move |metres: f64| {
        let own_m = instrument
            .as_ref()
            .map_or(unsaid, |i| i.own_uncertainty(metres).hypot(i.of_reading * metres / 3f64.sqrt()));
        Spot { own_m, zero, setting: None }
    })
}
