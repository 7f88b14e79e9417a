//! Units mixed up: a column whose numbers would be as expected in another unit than its header says.

use super::observation::{Kind, Observation, Observations};
use crate::readings::{Expectation, Measurand, Readings, Remark, Statistic};
use coilwright_magnet::quantity::{Dimension, Unit};
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
