//! Readings of field and pull against what the sheet says of the magnet, before anything is fitted; and what a fit would
//! then blame on the meters. For the audit.

use super::model::Bench;
use super::observation::{Kind, Observations};
use super::unknown::{Unknown, What, unknowns};
use super::{LEAST_NOISE, Stopped, calibrate_on, units};
use crate::meters::Meters;
use crate::readings::Readings;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;

/// A meter's gain, zero or place that a fit moves by more prior standard uncertainties is suspected.
const SUSPECT: f64 = 2.0;
/// Fewer readings do not let a fit blame a meter.
const LEAST: usize = 4;

/// The reading of a column that is farthest from what was to be expected.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Farthest {
    /// Header of the column.
    pub(crate) head: String,
    /// Its line.
    pub(crate) line: u64,
    /// Number of readings in the column.
    pub(crate) count: usize,
    /// The reading and its standard uncertainty, SI.
    pub(crate) read: (f64, f64),
    /// What the sheet lets expect, and its standard uncertainty, SI.
    pub(crate) expected: (f64, f64),
    /// Kind of quantity.
    pub(crate) dimension: Dimension,
    /// What all readings of the column are off by alike, if that explains them, and its standard uncertainty, SI.
    pub(crate) shift: Option<(f64, f64)>,
}

/// The farthest reading of each column; and suspicions, each with a label.
pub(crate) type Comparison = (Vec<Farthest>, Vec<(String, String)>);

/// For each column of field or pull its farthest reading; and suspicions, each with a label.
pub(crate) fn compare(
    sheet: &Sheet,
    magnet: &Magnet,
    readings: &Readings,
    meters: &mut Meters<'_>,
) -> Result<Comparison, Failure> {
    let misplaced = units::positions(sheet, magnet, readings);
    if !misplaced.is_empty() {
        return Ok((Vec::new(), misplaced.into_iter().map(|m| ("unit".into(), m.text)).collect()));
    }
    let observations = Observations::of(readings, meters)?;
    if !observations.any(|k| k.is_field() || k.is_pull()) {
        return Ok((Vec::new(), Vec::new()));
    }
    let unknowns = unknowns(sheet, magnet, readings, &observations, meters)?;
    let bench = Bench::new(sheet, magnet, &observations, &unknowns)?;
    let farthest = farthest(&bench, &observations, &unknowns)?;
    let suspicions = if observations.list.len() < LEAST {
        Vec::new()
    } else {
        suspicions(bench, &observations, &unknowns)
    };
    Ok((farthest, suspicions))
}

fn farthest(
    bench: &Bench<'_>,
    observations: &Observations,
    unknowns: &[Unknown],
) -> Result<Vec<Farthest>, Failure> {
    let start: Vec<f64> = unknowns.iter().map(|u| u.mean).collect();
    let (noise, expected) = (bench.noise()?, bench.predict(&start)?);
    let jacobian = bench.derivatives(&start)?;
    let mut found: Vec<(Farthest, f64)> = Vec::new();
    for (k, o) in observations.list.iter().enumerate() {
        let dimension = match o.kind {
            Kind::Field { .. } => Dimension::FluxDensity,
            Kind::Pull { .. } => Dimension::Force,
            _ => continue,
        };
        let spread =
            unknowns.iter().enumerate().map(|(j, u)| jacobian[(k, j)] * u.standard).fold(0.0, f64::hypot);
        let own = noise[k].max(LEAST_NOISE * o.value.abs());
        let this = Farthest {
            head: o.head.clone(),
            line: o.line,
            count: 1,
            read: (o.value, own),
            expected: (expected[k], spread),
            dimension,
            shift: None,
        };
        let off = ((o.value - expected[k]) / own.hypot(spread)).abs();
        match found.iter_mut().find(|(f, _)| f.head == o.head) {
            Some((f, worst)) => {
                let count = f.count + 1;
                if off > *worst {
                    (*f, *worst) = (this, off);
                }
                f.count = count;
            }
            None => found.push((this, off)),
        }
    }
    for (f, _) in &mut found {
        let of = observations.list.iter().enumerate().filter(|(_, o)| o.head == f.head);
        let residuals: Vec<(f64, f64)> =
            of.map(|(k, o)| (o.value - expected[k], noise[k].max(LEAST_NOISE * o.value.abs()))).collect();
        f.shift = shift(&residuals);
    }
    Ok(found.into_iter().map(|(f, _)| f).collect())
}

/// What residuals have in common if a constant explains them: the sum of squares falls far enough that chance would not do
/// it (3 standard deviations of one degree of freedom), and what is left is no more than noise.
fn shift(residuals: &[(f64, f64)]) -> Option<(f64, f64)> {
    const FALL: f64 = 9.0;
    const LEFT: f64 = 2.0;
    let weight: f64 = residuals.iter().map(|(_, u)| u.powi(-2)).sum();
    let mean = residuals.iter().map(|(r, u)| r / (u * u)).sum::<f64>() / weight;
    let squares = |from: f64| residuals.iter().map(|(r, u)| ((r - from) / u).powi(2)).sum::<f64>();
    let free = residuals.len().checked_sub(1).filter(|n| *n + 1 >= LEAST)? as f64;
    let explains = squares(0.0) - squares(mean) > FALL && squares(mean) < LEFT * free;
    explains.then(|| (mean, weight.sqrt().recip()))
}

/// What a fit blames on meters, or on the units of the header. A fit that does not converge blames nobody.
fn suspicions(bench: Bench<'_>, observations: &Observations, unknowns: &[Unknown]) -> Vec<(String, String)> {
    let c = match calibrate_on(bench, observations, unknowns) {
        Ok(c) => c,
        // Units that are mixed up are the one fault that a fit finds by itself.
        Err(Stopped::Failed(Failure::Input(faults))) => {
            return faults.into_iter().map(|f| ("unit".into(), f.message)).collect();
        }
        Err(_) => return Vec::new(),
    };
    let mut found = Vec::new();
    for (unknown, estimate) in unknowns.iter().zip(&c.solution.estimates) {
        let off = unknown.deviate(estimate.value);
        if off.abs() <= SUSPECT {
            continue;
        }
        let name = |meter: usize| observations.meters[meter].name.clone();
        match unknown.what {
            What::Height => {
                let moved = Dimension::Length.text(off.abs() * unknown.standard, Some(estimate.standard), UnitSystem::Si);
                let way = if off > 0.0 { "farther from" } else { "nearer to" };
                found.push((
                    "probe".into(),
                    format!("the field readings fit best with the probe's element {moved} {way} the face than `{}` says", unknown.path),
                ));
            }
            What::Zero(_) => found.push((
                "place".into(),
                format!(
                    "together the readings fit best if {} is off by {}",
                    unknown.label,
                    Dimension::Length.text(estimate.value, Some(estimate.standard), UnitSystem::Si)
                ),
            )),
            What::Gain(meter) => found.push((
                name(meter),
                format!("together the readings fit best if its gain is off by {:.1} times its stated standard uncertainty", off.abs()),
            )),
            What::Offset(meter) => found.push((
                name(meter),
                format!("together the readings fit best if its zero is off by {:.1} times its stated standard uncertainty", off.abs()),
            )),
            _ => {}
        }
    }
    found
}
