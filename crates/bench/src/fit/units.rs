//! Units mixed up: a column whose numbers would be as expected in another unit than its header says.

use super::observation::{Kind, Observation, Observations};
use crate::readings::{Axis, Expectation, Measurand, Readings, Remark, Statistic};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::quantity::{Dimension, Unit, UnitSystem};
use coilwright_magnet::sheet::Sheet;

/// Readings within this factor of what is expected, in the middle, are in the right unit: half-way to a factor of ten.
const FINE: f64 = 3.2;
/// Another unit is likely if it brings them within this factor.
const CLOSE: f64 = 1.8;
/// A cold start differs from the surroundings by no more, K.
const NEAR_K: f64 = 12.0;

/// A column that seems to be in another unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mixed {
    /// Header of the column.
    pub(crate) head: String,
    /// In words.
    pub(crate) text: String,
}

/// Columns of field, pull and resistance whose middle reading is off by the ratio of two units.
pub(super) fn mixed(observations: &Observations, expected: &[f64]) -> Vec<Mixed> {
    let mut heads: Vec<&str> = observations.list.iter().map(|o| o.head.as_str()).collect();
    heads.sort_unstable();
    heads.dedup();
    heads.into_iter().filter_map(|head| one(head, observations, expected)).collect()
}

fn one(head: &str, observations: &Observations, expected: &[f64]) -> Option<Mixed> {
    let column = || observations.list.iter().zip(expected).filter(|(o, _)| o.head == head);
    let (first, _) = column().next()?;
    // The larger half counts: near zero crossings a ratio means nothing.
    let mut sizes: Vec<(f64, f64)> = column().map(|(o, y)| (y.abs(), o.value.abs())).collect();
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let upper = &sizes[sizes.len() / 2..];
    let mut ratios: Vec<f64> =
        upper.iter().map(|(y, value)| value / y).filter(|r| r.is_finite() && *r > 0.0).collect();
    ratios.sort_by(f64::total_cmp);
    let ratio = *ratios.get(ratios.len() / 2)?;
    if (1.0 / FINE..FINE).contains(&ratio) {
        return None;
    }
    let likely = likely(first, ratio)?;
    let text = format!(
        "the readings of `{head}` are {ratio:.3} times what the sheet's magnet gives; {likely} would be as expected: is \
         the unit in the header right?"
    );
    Some(Mixed { head: head.to_owned(), text })
}

/// The unit that would bring the readings nearest to what is expected, if near enough.
fn likely(o: &Observation, ratio: f64) -> Option<String> {
    let off = |factor: f64| (ratio * factor).ln().abs();
    let dimension = match o.kind {
        Kind::Field { .. } => Dimension::FluxDensity,
        Kind::Pull { .. } => Dimension::Force,
        Kind::Resistance(_) => Dimension::Resistance,
        Kind::VoltsOverAmperes(..) => {
            // Only thousands are mixed up there.
            let found = [("milliamperes", 1e3), ("millivolts", 1e-3)];
            return found
                .into_iter()
                .filter(|(_, factor)| off(*factor) < CLOSE.ln())
                .map(|(name, _)| name.to_owned())
                .next();
        }
    };
    let given = o.unit?;
    let factor = |unit: &Unit| unit.to_si(1.0) / given.to_si(1.0);
    let candidates = dimension.units().iter().filter(|u| off(factor(u)) < CLOSE.ln());
    candidates.min_by(|a, b| off(factor(a)).total_cmp(&off(factor(b)))).map(|u| u.symbol.to_owned())
}

/// Lengths that no position on a bench has: how far they may be from what is usual there, as a factor either way.
const POSITION: f64 = 40.0;

/// Columns of positions that are out of all proportion to the magnet, and would not be in another unit.
pub(crate) fn positions(sheet: &Sheet, magnet: &Magnet, readings: &Readings) -> Vec<Mixed> {
    let nodes = magnet.parts.iter().flat_map(|p| p.outline.0.iter());
    let reach_m = nodes.map(|n| n.0[0].abs()).fold(0.0, f64::max);
    let usual = |axis| match axis {
        Axis::R | Axis::X => Some((reach_m, "the face of the sheet's magnet reaches to")),
        Axis::Z => Some((PROBE * reach_m, "a probe over the face of the sheet's magnet stands at about")),
        Axis::Gap => {
            Some((sheet.value("workpiece.gap").unwrap_or(0.0).max(USUAL_GAP_M), "gaps are usually about"))
        }
        Axis::Thickness => sheet.value("workpiece.thickness").map(|m| (m, "the sheet's workpiece has")),
        Axis::Y => None,
    };
    readings.columns.iter().filter_map(|column| {
        let Measurand::Position(axis) = column.measurand else { return None };
        let (usual_m, what) = usual(axis).filter(|(m, _)| *m > 0.0)?;
        let most = column.iter().flatten().map(f64::abs).fold(0.0, f64::max);
        let off = |m: f64| (m / usual_m).ln().abs();
        if most == 0.0 || off(most) < POSITION.ln() {
            return None;
        }
        let read = column.unit.from_si(most);
        let fits = |unit: &&Unit| off(unit.to_si(read)) < POSITION.ln();
        // Millimetres are what a bench has; else the nearest.
        let rank = |unit: &Unit| if unit.symbol == "mm" { 0.0 } else { off(unit.to_si(read)) };
        let likely = Dimension::Length.units().iter().filter(fits).min_by(|a, b| rank(a).total_cmp(&rank(b)))?;
        let text = |m: f64| Dimension::Length.text(m, None, UnitSystem::Si);
        Some(Mixed {
            head: column.head.clone(),
            text: format!(
                "the positions of `{}` go up to {}, but {what} {}; {} would be as expected: is the unit in the header right?",
                column.head,
                text(most),
                text(usual_m),
                likely.symbol
            ),
        })
    }).collect()
}

/// Height of a probe over a face as a share of its reach, and a usual gap with shims, m (common practice).
const PROBE: f64 = 0.1;
const USUAL_GAP_M: f64 = 0.5e-3;

/// Temperatures whose first reading is the surroundings' in another unit.
pub(crate) fn temperatures(sheet: &Sheet, readings: &Readings) -> Vec<Remark> {
    let Some(ambient) = sheet.value("surroundings.temperature") else { return Vec::new() };
    let columns = readings.columns.iter().filter(|c| matches!(c.measurand, Measurand::Temperature(_)));
    let expectations: Vec<Expectation> = columns
        .map(|c| Expectation {
            measurand: c.measurand.clone(),
            statistic: Statistic::First,
            low: ambient - NEAR_K,
            high: ambient + NEAR_K,
        })
        .collect();
    let odd = readings.check(&expectations).into_iter();
    // A log that begins warm is no mistake.
    odd.filter(|remark| matches!(remark, Remark::OtherUnit { .. })).collect()
}
