//! What speaks against a meter rather than against the magnet.

use super::Ledger;
use super::statement::CONTRADICTION;
use crate::electrical::first;
use crate::meters::Meters;
use crate::readings::{Column, Measurand, Readings};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::quantity::{Dimension, UnitSystem};

/// Below this share of the largest current none flows.
const NO_CURRENT: f64 = 0.02;
/// Fewer currents do not make a line.
const LEAST_CURRENTS: usize = 4;

/// Zero errors of voltmeter or ammeter, and of a teslameter.
pub(super) fn suspect(
    readings: &Readings,
    meters: &mut Meters<'_>,
    ledger: &mut Ledger,
) -> Result<(), Failure> {
    let Some(amperes) = first(readings, &Measurand::Current) else { return Ok(()) };
    let most = amperes.greatest();
    let ammeter = meters.of(amperes)?;
    if let Some(volts) = first(readings, &Measurand::Voltage)
        && first(readings, &Measurand::Time).is_none()
    {
        let voltmeter = meters.of(volts)?;
        let points: Vec<(f64, f64)> =
            (0..readings.rows()).filter_map(|k| Some((amperes.get(k)?, volts.get(k)?))).collect();
        if let Some((intercept, standard)) = intercept(&points, |i, v| {
            let ohm = if i == 0.0 { 0.0 } else { v / i };
            voltmeter.own_uncertainty(v).hypot(ohm * ammeter.own_uncertainty(i))
        }) && intercept.abs() > CONTRADICTION * standard
        {
            ledger.suspicions.push(("volts, amperes".into(), format!(
                "the line through volts and amperes misses the origin by {}: a zero error of one of the two meters, or \
                 a winding that grew warm between the readings",
                Dimension::Voltage.text(intercept, Some(standard), UnitSystem::Si)
            )));
        }
    }
    if let Some(volts) = first(readings, &Measurand::Voltage) {
        ledger.suspicions.extend(no_winding(readings, volts, amperes));
    }
    for column in readings.columns_of(&Measurand::Field) {
        let teslameter = meters.of(column)?;
        let idle = (0..readings.rows()).find_map(|k| {
            let (b, i) = (column.get(k)?, amperes.get(k)?);
            let off = i.abs() <= NO_CURRENT * most && most > 0.0;
            let (own, i_share) = (teslameter.own_uncertainty(b), i.abs() / most);
            (off && b.abs() > CONTRADICTION * own && i_share < NO_CURRENT).then_some((b, readings.lines[k]))
        });
        if let Some((b, line)) = idle {
            ledger.suspicions.push(("teslameter".into(), format!(
                "`{}` shows {} without current (line {line}): the meter's zero, the Earth, or magnetism that stayed in \
                 the steel; zero the probe far from iron",
                column.head,
                Dimension::FluxDensity.text(b, None, UnitSystem::Si)
            )));
        }
    }
    Ok(())
}

/// Rows of volts and amperes that no winding draws: of opposite signs, or the one without the other. They make no resistance and are
/// left out; a row without both is the supply off.
fn no_winding(readings: &Readings, volts: &Column, amperes: &Column) -> Vec<(String, String)> {
    let (most_v, most_a) = (volts.greatest(), amperes.greatest());
    // In a log a coil that is cut off drives its own current on against the volts.
    let odd = (0..readings.rows()).filter(|row| !readings.timed(*row)).filter_map(|row| {
        let (v, a) = (volts.get(row)?, amperes.get(row)?);
        let off = v.abs() <= NO_CURRENT * most_v && a.abs() <= NO_CURRENT * most_a;
        // A current that is small for its volts, not small among all: a meter's zero counts for little currents.
        let none = a == 0.0 || a.abs() * most_v < NO_CURRENT * v.abs() * most_a;
        let why = match () {
            () if off => return None,
            () if v * a < 0.0 => "of opposite signs: leads or a meter the wrong way round",
            () if v == 0.0 => "a current without volts: the voltmeter was not across the winding",
            () if none => {
                "volts that drive no current: the winding is open there, or the ammeter was not in its circuit"
            }
            () => return None,
        };
        let text = |dimension: Dimension, value: f64| dimension.text(value, None, UnitSystem::Si);
        let line = readings.lines[row];
        let (v, a) = (text(Dimension::Voltage, v), text(Dimension::Current, a));
        Some(("volts, amperes".into(), format!("line {line}, {v} and {a}: {why}; it is left out")))
    });
    odd.collect()
}

/// Where a weighted straight line through points meets x = 0, and its standard uncertainty; nothing without enough
/// different abscissae.
fn intercept(points: &[(f64, f64)], standard: impl Fn(f64, f64) -> f64) -> Option<(f64, f64)> {
    let mut xs: Vec<f64> = points.iter().map(|p| p.0).collect();
    xs.sort_by(f64::total_cmp);
    let most = xs.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
    xs.dedup_by(|a, b| (*a - *b).abs() < 0.02 * most);
    if xs.len() < LEAST_CURRENTS {
        return None;
    }
    let (mut s, mut sx, mut sy, mut sxx, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &(x, y) in points {
        let w = standard(x, y).powi(-2);
        s += w;
        sx += w * x;
        sy += w * y;
        sxx += w * x * x;
        sxy += w * x * y;
    }
    let d = s * sxx - sx * sx;
    (d > 0.0 && d.is_finite()).then(|| ((sxx * sy - sx * sxy) / d, (sxx / d).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line y = 1 + 2x is met exactly; for unit weights at x = 1, 2, 3, 4 the variance of the intercept is
    /// Σx²/(nΣx² − (Σx)²) = 30/20 (textbook formula of linear regression).
    #[test]
    fn a_line_is_met() {
        let points = [1.0, 2.0, 3.0, 4.0].map(|x| (x, 1.0 + 2.0 * x));
        let (y, u) = intercept(&points, |_, _| 1.0).unwrap();
        assert!((y - 1.0).abs() < 1e-12 && (u * u - 1.5).abs() < 1e-12);
        assert_eq!(intercept(&points[..3], |_, _| 1.0), None);
    }
}
