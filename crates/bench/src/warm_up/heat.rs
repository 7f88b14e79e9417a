//! The heat model fitted to warm-up logs: how well the magnet gives off, passes on and stores heat, and where the log
//! is heading for.
//!
//! Power is as the meters read it; thermometers may be off by their zero and, in proportion to the rise, by how they
//! sit. Readings of a log wander together, and the model lacks something: what the residuals show of both widens the
//! noise, and the fit is made again.

use super::curve::wander;
use super::model::{Kept, Seen, Source, Warming, What};
use super::{Log, thin};
use crate::electrical;
use crate::least_squares::{FitError, Noise, Parameter, Settings, Solution, fit};
use crate::meters::Meters;
use crate::readings::{Measurand, Readings};
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::coupled::operating_point::{Driven, Pattern};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::thermal::setting::{Setting, surroundings};
use coilwright_magnet::uncertainty::measure::Measure;
use std::sync::Mutex;

/// Points of a log that are fitted.
const MOST: usize = 40;
/// Fewer do not make a curve, and a rise below so many kelvin is no warm-up.
const LEAST: usize = 6;
const LEAST_RISE_K: f64 = 2.0;
/// A log that begins so much warmer than its surroundings does not begin cold, K.
const WARM_K: f64 = 3.0;
/// What is known of the scales beforehand, as relative standard uncertainties (common practice, no source): films,
/// mounts and surfaces to two fifths; heat capacity of a magnet by its sheet to a tenth; contact of a winding hardly at all.
const OUTSIDE: f64 = 0.4;
const CAPACITY: f64 = 0.1;
const WINDING: f64 = 0.5;
/// A thermometer taped on reads a rise too small or large by so much (common practice, no source).
const SEAT: f64 = 0.03;
/// What the model leaves out of a curve's shape (draughts, bolts, leads), as a share of its rise, and at least, K (common
/// practice, no source). It goes along the curve: a log has no more independent points of it than this.
const SHAPE: f64 = 0.01;
const INDEPENDENT: f64 = 4.0;
const LEAST_NOISE_K: f64 = 0.05;
/// Change of copper's resistance with temperature, about, 1/K; for sizes of errors only.
const PER_KELVIN: f64 = 0.004;
/// A supply that holds its voltage or current to this is taken to hold it.
const HELD: f64 = 0.03;
/// Share of a log that is its end.
const END: f64 = 0.1;
/// Solutions repeat to about this, relatively.
const MODEL_ERROR: f64 = 1e-6;
const PRECISION: f64 = 0.05;

/// A scale of the heat model as found.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scale {
    /// Path in a sheet.
    pub(crate) path: &'static str,
    pub(crate) label: &'static str,
    /// Mean and standard uncertainty beforehand.
    pub(crate) before: (f64, f64),
    /// Value, standard uncertainty and 95 % interval.
    pub(crate) found: (f64, f64, (f64, f64)),
}

/// Where the log is heading for: key, label, temperature in K and its standard uncertainty.
pub(crate) type Heading = Vec<(&'static str, &'static str, f64, f64)>;

/// The heat model as fitted.
#[derive(Clone, Debug)]
pub(crate) struct Heat {
    pub(crate) scales: Vec<Scale>,
    /// Correlation of the scales, row by row.
    pub(crate) correlation: Vec<Vec<f64>>,
    /// Empty if the drive changed during the log, or if the magnet as fitted has no steady state.
    pub(crate) heading: Heading,
    /// What the supply was taken to hold; empty if it held nothing still.
    pub(crate) held: &'static str,
    /// Cooling and mounting for which all this holds.
    pub(crate) surroundings: String,
    /// Number of points that were fitted.
    pub(crate) used: usize,
    /// Root mean square of the residuals, K; a resistance's as the temperature that it stands for.
    pub(crate) rms_k: f64,
    /// The same over the noise that was first taken.
    pub(crate) rms: f64,
    /// For each log its label, times, temperatures or resistances, and the fitted ones.
    pub(crate) curves: Vec<Curve>,
}

/// A log with its fit.
#[derive(Clone, Debug)]
pub(crate) struct Curve {
    pub(crate) label: String,
    /// Resistance in Ω instead of temperature in K.
    pub(crate) ohms: bool,
    pub(crate) time_s: Vec<f64>,
    pub(crate) measured: Vec<f64>,
    pub(crate) fitted: Vec<f64>,
}

/// Fit the heat model to logs; or why it cannot be.
pub(crate) fn calibrate(
    sheet: &Sheet,
    readings: &Readings,
    logs: &[Log],
    meters: &mut Meters<'_>,
) -> Result<Result<Heat, String>, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let Ok(driven) = Driven::of(sheet, &magnet) else { return Ok(Err("the sheet has no winding".into())) };
    let setting = Setting::read(sheet, &magnet, false)?.setting;
    let (pattern, _) = Pattern::read(sheet)?;
    let Some((seen, noise)) = seen(readings, logs, meters, driven.winding.resistance_20_ohm)? else {
        return Ok(Err("no log of a place that the heat model knows rises enough".into()));
    };
    let start = electrical::cold_kelvin(sheet, Some((readings, meters)))?;
    if let Some(warm) = logs.iter().find(|l| {
        l.place.is_some()
            && l.points.first().is_some_and(|p| p.1 > start.0 + WARM_K.max(3.0 * l.shared_k.hypot(start.1)))
    }) {
        return Ok(Err(format!("the log of `{}` does not begin cold", warm.label)));
    }
    let source = source(readings);
    let power_relative = power_relative(sheet, readings, &source, &driven, meters)?;
    let ohms = seen.iter().any(|s| s.place.is_none());
    let mut unknowns: Vec<(What, Parameter, f64)> = Vec::new();
    let mut add = |what, name: &str, (mean, standard): (f64, f64), positive: bool, step: f64| {
        let parameter = Parameter::new(name, mean).with_prior(mean, standard);
        unknowns.push((what, if positive { parameter.positive() } else { parameter }, step));
    };
    for (what, path, _, relative) in SCALES {
        let (mean, standard) = scale_before(sheet, path, relative);
        add(what, path, (mean, standard), true, 0.02 * mean);
    }
    add(What::Start, "surroundings.temperature", start, false, 1.0);
    if ohms {
        let resistance = resistance_before(sheet, readings, meters, driven.winding.resistance_20_ohm)?;
        add(What::Resistance, "winding.resistance", resistance, true, 0.01 * resistance.0);
    }
    if power_relative > 0.0 {
        add(What::Power, "power as read", (0.0, 1.0), false, 1.0);
    }
    for (k, log) in
        logs.iter().enumerate().filter(|(k, _)| seen.iter().any(|s| s.log == *k && s.place.is_some()))
    {
        if log.shared_k > 0.0 {
            add(What::Offset(k), &format!("zero of {}", log.label), (0.0, log.shared_k), false, 1.0);
        }
        add(What::Seat(k), &format!("seat of {}", log.label), (0.0, SEAT), false, SEAT);
    }
    let parameters: Vec<Parameter> = unknowns.iter().map(|u| u.1.clone()).collect();
    let warming = Warming {
        sheet,
        magnet: &magnet,
        winding: driven.winding,
        setting: &setting,
        pattern,
        source,
        power_relative,
        unknowns: unknowns.iter().map(|u| u.0).collect(),
        steps: unknowns.iter().map(|u| u.2).collect(),
        seen,
        memory: Mutex::default(),
    };
    let (solution, rms) = match twice(&warming, &parameters, noise) {
        Ok(found) => found,
        Err(FitError::Model { error: Failure::Input(faults), .. }) => return Err(faults.into()),
        Err(e) => return Ok(Err(format!("the heat model does not fit: {e}"))),
    };
    let (heading, held) = heading(readings, &warming, &solution)?;
    Ok(Ok(Heat {
        scales: scales(&parameters, &solution),
        correlation: (0..SCALES.len())
            .map(|i| (0..SCALES.len()).map(|j| solution.correlation(i, j)).collect())
            .collect(),
        heading,
        held,
        surroundings: surroundings(sheet),
        used: warming.seen.len(),
        rms_k: rms_k(&warming, &solution),
        rms,
        curves: curves(&warming, &solution, logs),
    }))
}

fn rms_k(warming: &Warming<'_>, solution: &Solution) -> f64 {
    let per_kelvin = PER_KELVIN * warming.winding.resistance_20_ohm;
    let kelvin = |(seen, residual): (&Seen, &f64)| match seen.place {
        Some(_) => *residual,
        None => residual / per_kelvin,
    };
    let squares = warming.seen.iter().zip(&solution.residuals).map(|pair| kelvin(pair).powi(2));
    (squares.sum::<f64>() / warming.seen.len() as f64).sqrt()
}

/// The scales come first among the unknowns, in this order.
const SCALES: [(What, &str, &str, f64); 3] = [
    (What::Outside, "calibration.thermal_conductance_scale", "scale of the heat given off", OUTSIDE),
    (What::Capacity, "calibration.heat_capacity_scale", "scale of the heat stored", CAPACITY),
    (
        What::Winding,
        "calibration.winding_conductance_scale",
        "scale of the heat that passes from wires to iron",
        WINDING,
    ),
];

/// What is known of a scale: as an earlier calibration found it, or next to nothing.
fn scale_before(sheet: &Sheet, path: &str, relative: f64) -> (f64, f64) {
    match sheet.quantity(path) {
        Some(q) if q.half_width > 0.0 => (q.value, q.standard_uncertainty()),
        Some(q) => (q.value, relative * q.value),
        None => (1.0, relative),
    }
}

/// Readings of the logs, thinned, with their noise; none if nothing rises at a place that is known.
#[allow(clippy::type_complexity, reason = "two lists that go together")]
fn seen(
    readings: &Readings,
    logs: &[Log],
    meters: &mut Meters<'_>,
    resistance_20_ohm: f64,
) -> Result<Option<(Vec<Seen>, Vec<f64>)>, Failure> {
    let Some(time) = electrical::first(readings, &Measurand::Time) else { return Ok(None) };
    let Some(origin) = (0..readings.rows()).find_map(|k| time.get(k)) else { return Ok(None) };
    let (mut seen, mut noise) = (Vec::new(), Vec::new());
    let mut rises = false;
    let mut take = |log: usize, points: &[(f64, f64)], place, own: f64, least_rise: f64| {
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return };
        if points.len() < LEAST {
            return;
        }
        rises |= last.1 - first.1 > least_rise;
        let (times, values) = thin(points, MOST);
        let shift = first.0 - origin;
        let each = (points.len() as f64 / times.len() as f64).sqrt();
        let shape = (SHAPE * (last.1 - first.1).abs()).max(LEAST_NOISE_K / LEAST_RISE_K * least_rise);
        let lacking = shape * (times.len() as f64 / INDEPENDENT).max(1.0).sqrt();
        for (t, value) in times.iter().zip(values) {
            seen.push(Seen { log, time_s: t + shift, value, cold: first.1, place });
            noise.push(lacking.hypot(own / each));
        }
    };
    for (k, log) in logs.iter().enumerate().filter(|(_, l)| l.place.is_some()) {
        take(k, &log.points, log.place, log.own_k, LEAST_RISE_K);
    }
    let all = electrical::resistances(readings, meters)?;
    let rows = if all.volts_over_amperes.is_empty() { all.ohmmeter } else { all.volts_over_amperes };
    let points: Vec<(f64, f64)> = rows.iter().filter_map(|o| Some((time.get(o.row)?, o.ohm))).collect();
    if let Some(first) = rows.first() {
        let per_kelvin = PER_KELVIN * resistance_20_ohm;
        take(logs.len(), &points, None, first.own, LEAST_RISE_K * per_kelvin);
    }
    Ok(rises.then_some((seen, noise)))
}

/// What drove the winding, by the best column there is.
fn source(readings: &Readings) -> Source {
    let rows = |measurand| {
        let time = electrical::first(readings, &Measurand::Time)?;
        let column = electrical::first(readings, measurand)?;
        let origin = (0..readings.rows()).find_map(|k| time.get(k))?;
        let rows: Vec<(f64, f64)> = (0..readings.rows())
            .filter_map(|k| Some((time.get(k)? - origin, column.get(k)?.abs())))
            .collect();
        (rows.len() >= LEAST).then_some(rows)
    };
    if let Some(rows) = rows(&Measurand::Current) {
        return Source::Current(rows);
    }
    rows(&Measurand::Voltage).map_or(Source::Sheet, Source::Voltage)
}

/// Relative standard uncertainty of the power that all rows share.
fn power_relative(
    sheet: &Sheet,
    readings: &Readings,
    source: &Source,
    driven: &Driven<'_>,
    meters: &mut Meters<'_>,
) -> Result<f64, Failure> {
    let mut shared = |measurand: &Measurand| -> Result<Option<f64>, Failure> {
        let Some(column) = electrical::first(readings, measurand) else { return Ok(None) };
        let most = column.greatest();
        Ok((most > 0.0).then_some(electrical::shared(&meters.of(column)?, most) / most))
    };
    let (volts, amperes) = (shared(&Measurand::Voltage)?, shared(&Measurand::Current)?);
    Ok(match (source, volts, amperes) {
        // With both, the power as read is their product.
        (Source::Current(_), Some(v), Some(i)) => f64::hypot(v, i),
        (Source::Current(_), None, Some(i)) => 2.0 * i,
        (Source::Voltage(_), Some(v), _) => 2.0 * v,
        _ => {
            let kelvin = driven.excitation.kelvin;
            let path = match driven.supply.binding(driven.winding.resistance_ohm(kelvin)) {
                "voltage" => "drive.voltage",
                _ => "drive.current",
            };
            sheet.quantity(path).map_or(0.0, |q| 2.0 * q.standard_uncertainty() / q.value)
        }
    })
}

/// Resistance at 20 °C as these meters would read it.
fn resistance_before(
    sheet: &Sheet,
    readings: &Readings,
    meters: &mut Meters<'_>,
    at_20_ohm: f64,
) -> Result<(f64, f64), Failure> {
    let known = answer(sheet, &Question::Winding)?;
    let own = known.measure("resistance_20").map_or(0.0, Measure::standard);
    let all = electrical::resistances(readings, meters)?;
    let shared = all.volts_over_amperes.first().or(all.ohmmeter.first()).map_or(0.0, |o| o.shared / o.ohm);
    Ok((at_20_ohm, own.hypot(shared * at_20_ohm).max(1e-4 * at_20_ohm)))
}

/// Fit, widen the noise of each log by what its residuals show, and fit again. The second number is the root mean
/// square of the residuals over the noise first taken.
fn twice(
    warming: &Warming<'_>,
    parameters: &[Parameter],
    mut noise: Vec<f64>,
) -> Result<(Solution, f64), FitError<Failure>> {
    let values: Vec<f64> = warming.seen.iter().map(|s| s.value - s.cold).collect();
    let settings =
        Settings { precision: PRECISION, model_error: MODEL_ERROR, patience: 10, ..Settings::default() };
    let first = fit(warming, parameters, &values, Noise::Known(&noise), &settings)?;
    let rms = (first.sum_of_squares / values.len() as f64).sqrt();
    let logs = 1 + warming.seen.iter().map(|s| s.log).max().unwrap_or(0);
    for log in 0..logs {
        let members: Vec<usize> = (0..values.len()).filter(|k| warming.seen[*k].log == log).collect();
        let residuals: Vec<f64> = members.iter().map(|k| first.standardised[*k]).collect();
        if residuals.is_empty() {
            continue;
        }
        let size = (residuals.iter().map(|z| z * z).sum::<f64>() / residuals.len() as f64).sqrt();
        for k in members {
            noise[k] *= size.max(1.0) * wander(&residuals);
        }
    }
    let again: Vec<Parameter> = parameters
        .iter()
        .zip(first.values())
        .map(|(p, value)| Parameter { start: value, ..p.clone() })
        .collect();
    Ok((fit(warming, &again, &values, Noise::Known(&noise), &settings)?, rms))
}

fn scales(parameters: &[Parameter], solution: &Solution) -> Vec<Scale> {
    SCALES
        .iter()
        .zip(parameters.iter().zip(&solution.estimates))
        .map(|((_, path, label, _), (parameter, estimate))| Scale {
            path,
            label,
            before: parameter.prior.map_or((1.0, f64::INFINITY), |p| (p.mean, p.standard)),
            found: (estimate.value, estimate.standard, estimate.interval),
        })
        .collect()
}

/// Where the temperatures are heading for, if the supply went on as at the log's end; nothing if it did not hold still.
fn heading(
    readings: &Readings,
    warming: &Warming<'_>,
    solution: &Solution,
) -> Result<(Heading, &'static str), Failure> {
    let held = |measurand: &Measurand| {
        let column = electrical::first(readings, measurand)?;
        let all: Vec<f64> = column.iter().flatten().map(f64::abs).collect();
        let last = (END * all.len() as f64).ceil() as usize;
        let end = all.iter().rev().take(last.max(1)).sum::<f64>() / last.max(1) as f64;
        let spread = all.iter().map(|v| (v / end - 1.0).powi(2)).sum::<f64>() / all.len() as f64;
        Some((end, spread.sqrt()))
    };
    let by_volts = held(&Measurand::Voltage).filter(|h| h.1 < HELD);
    let by_amperes = held(&Measurand::Current).filter(|h| h.1 < HELD);
    let kept = match (&warming.source, by_volts, by_amperes) {
        (_, Some(v), Some(i)) if i.1 < v.1 => (Kept::Current(i.0), "current"),
        (_, Some(v), _) => (Kept::Voltage(v.0), "voltage"),
        (_, None, Some(i)) => (Kept::Current(i.0), "current"),
        _ => return Ok((Vec::new(), "")),
    };
    let predicted = solution.predict(|p| {
        warming
            .steady(p, kept.0)?
            .ok_or_else(|| Failure::Physics("the fitted magnet has no steady state".into()))
    });
    let Ok(predicted) = predicted else { return Ok((Vec::new(), kept.1)) };
    let labels = [
        ("steady_hot_spot", "hot spot of the winding"),
        ("steady_winding_mean", "winding, mean by resistance"),
        ("steady_surface_temperature", "hottest place outside"),
        ("steady_back_temperature", "back"),
    ];
    let heading = labels
        .iter()
        .enumerate()
        .map(|(k, (key, label))| (*key, *label, predicted.values[k], predicted.covariance[(k, k)].sqrt()));
    Ok((heading.collect(), kept.1))
}

fn curves(warming: &Warming<'_>, solution: &Solution, logs: &[Log]) -> Vec<Curve> {
    let mut found = Vec::new();
    for log in 0..=logs.len() {
        let members = || (0..warming.seen.len()).filter(|k| warming.seen[*k].log == log);
        if members().next().is_none() {
            continue;
        }
        let ohms = log == logs.len();
        let label = if ohms { "resistance of the winding".into() } else { logs[log].label.clone() };
        found.push(Curve {
            label,
            ohms,
            time_s: members().map(|k| warming.seen[k].time_s).collect(),
            measured: members().map(|k| warming.seen[k].value).collect(),
            fitted: members().map(|k| warming.seen[k].cold + solution.predictions[k]).collect(),
        });
    }
    found
}

/// What the fit assumed.
pub(crate) fn assumptions(heat: &Heat) -> Vec<Assumption> {
    let assume = |path: &str, label: &str, word: String, reason: &str| Assumption {
        path: path.into(),
        label: label.into(),
        value: None,
        word,
        reason: reason.into(),
    };
    vec![
        assume(
            "readings",
            "how the thermometers sit",
            format!("a rise is read to {:.0} %", 100.0 * SEAT),
            "taped on, where the model reads (common practice, no source)",
        ),
        assume(
            "calibration.surroundings",
            "cooling and mounting during the log",
            heat.surroundings.clone(),
            "as the sheet says; the scale of the heat given off holds for them only",
        ),
    ]
}
