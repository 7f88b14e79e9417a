//! The fit: from readings to the unknowns they can tell, with covariance, and a calibrated sheet.
//!
//! Which unknowns there are follows from the kinds of readings; each has a prior from the sheet's tolerances, so that
//! what the readings do not tell stays as it was, and is said. Gain and zero of each meter are unknowns too: readings
//! by one meter share them. Readings that do not fit with the others are flagged and left out, never silently.

mod again;
mod agreement;
pub(crate) mod beforehand;
mod correlations;
mod model;
mod observation;
mod place;
mod report;
mod station;
mod thermal;
pub(crate) mod units;
mod unknown;

use crate::least_squares::{self, Estimate, FitError, Model, Noise, Parameter, Robust, Settings, Solution};
use crate::meters::Meters;
use crate::readings::Readings;
use crate::warm_up;
use crate::written;
use agreement::{Agreement, Released, Rows};
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;
use model::{Bench, Closeness};
use nalgebra::{DMatrix, DVector};
use observation::{Observation, Observations};
use units::Mixed;
use unknown::{Unknown, unknowns};

/// What a fit is told beside sheet and readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options<'a> {
    /// Date to write into the calibrated sheet, such as `2025-01-31`; empty writes none.
    pub date: &'a str,
    /// Name of the file of readings, to write into it.
    pub readings_name: &'a str,
}

/// What a fit found.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// The unknowns with bands, how well the readings fit, what they cannot tell; residuals as series.
    pub answer: Answer,
    /// The calibrated sheet; the old text if there is nothing to write into it.
    pub sheet_text: String,
    /// Paths of the sheet that were changed.
    pub changed: Vec<String>,
    /// Lines of readings that were left out because they do not fit with the others.
    pub left_out: Vec<u64>,
}

/// Solutions repeat to about this, relatively.
const MODEL_ERROR: f64 = 1e-7;
/// A step below this share of a standard uncertainty does not matter: the sum of squares changes by a hundredth.
const PRECISION: f64 = 0.1;
/// The same of the first fit, which only says where to look closely.
const ROUGH_PRECISION: f64 = 0.5;
/// An unknown whose uncertainty is not narrowed below this share of its prior's is not told by the readings.
const TOLD: f64 = 0.75;
/// Moved farther than this many standard uncertainties, a magnet answers otherwise to what is carried along; then that is
/// taken anew, so many times at most.
const FAR: f64 = 1.0;
const MOST_PASSES: usize = 2;
/// A reading so many standard uncertainties from what was to be expected is absurd, where few are.
const ABSURD: f64 = 5.0;
const FEW: f64 = 0.1;
/// So many times what a sheet says of turns, resistance or steel is another magnet.
const MANIFOLD: f64 = 10.0;
/// Standard uncertainties to the ends of a 95 % interval (JCGM 100:2008, G.6.6).
const COVERAGE: f64 = 2.0;
/// Uncertainty of a reading by an instrument without any, as a share of it.
const LEAST_NOISE: f64 = 1e-5;

/// Fit what the readings can tell of a sheet's magnet.
///
/// A sheet that was calibrated before is fitted as it was before that; then the readings have to hold those that it was
/// calibrated by. Fields, pulls and resistances are fitted first, together; then the heat model to warm-up logs, with
/// the magnet so found. Fails with a fault if the readings hold faulty lines, or nothing that can be fitted.
pub fn fit(sheet: &Sheet, readings: &Readings, options: &Options<'_>) -> Result<Fitted, Failure> {
    watched(sheet, readings, options, &Watch::default())
}

/// The same for somebody who may stop it.
///
/// # Errors
/// As [`fit`], and [`Failure::Stopped`].
pub fn watched(
    sheet: &Sheet,
    readings: &Readings,
    options: &Options<'_>,
    watch: &Watch,
) -> Result<Fitted, Failure> {
    refuse_faults(readings, options)?;
    let (sheet, before) = &again::restored(sheet, readings)?;
    let magnet = Magnet::complete(sheet)?.watched(watch);
    let mut meters = Meters::new(sheet);
    let misplaced = units::positions(sheet, &magnet, readings);
    if !misplaced.is_empty() {
        return Err(mixed_up(misplaced));
    }
    let observations = Observations::of(readings, &mut meters)?;
    let log = readings.log();
    let logs = warm_up::logs(&log, &magnet, &mut meters)?;
    let curves = warm_up::extrapolated(&logs);
    let mut unknowns = unknowns(sheet, &magnet, readings, &observations, &mut meters)?;
    let mut warnings = Vec::new();
    let calibration = if observations.list.is_empty() || !unknowns.iter().any(Unknown::is_of_sheet) {
        None
    } else {
        Some(possible(sheet, &magnet, &observations, &mut unknowns, &mut warnings)?)
    };
    if calibration.is_none() && curves.is_empty() {
        let hint = "columns such as `voltage V, current A`, `resistance ohm`, `field mT @ r=0mm z=1mm`, \
                    `pull N @ gap=0.2mm`, or `time s, back °C`; and tolerances in the sheet for what is not sure";
        return Err(Diagnostic::fault("the readings hold nothing that tells an unknown of this sheet", hint)
            .at(options.readings_name, None)
            .into());
    }
    let mut entries = calibration.as_ref().map_or_else(Vec::new, |c| report::entries(sheet, &unknowns, c));
    let mut heat = None;
    if !curves.is_empty() {
        let kept = again::kept(sheet, before, &entries, readings)?;
        let all: Vec<(String, String)> = entries.iter().cloned().chain(kept).collect();
        let (so_far, _) = Sheet::parse(&written::written(sheet, &all)?, sheet.file())?;
        let fitted = warm_up::heat::calibrate(&so_far, &log, &logs, &mut meters)?;
        if let Ok(fitted) = &fitted {
            thermal::enter(&so_far, fitted, &mut entries);
        }
        heat = Some(fitted);
    }
    let found = report::Found { calibration, unknowns, observations, curves, heat, warnings };
    report::fitted(sheet, before, &magnet, readings, options, found, entries, meters)
}

/// Calibrate; a material that the readings push beyond anything possible stays as the sheet has it, and that is said.
fn possible(
    sheet: &Sheet,
    magnet: &Magnet,
    observations: &Observations,
    unknowns: &mut Vec<Unknown>,
    warnings: &mut Vec<String>,
) -> Result<Calibration, Failure> {
    match calibrate(sheet, magnet, observations, unknowns) {
        Err(Stopped::AtBound(name)) => {
            let material = |u: &Unknown| u.what == unknown::What::Material && u.label == name;
            let Some(k) = unknowns.iter().position(material) else {
                return Err(Stopped::AtBound(name).into());
            };
            unknowns.remove(k);
            warnings.push(format!(
                "{name}: the readings push it beyond anything possible, so it stays as it was; something else that the \
                 sheet says must be wrong"
            ));
            Ok(calibrate(sheet, magnet, observations, unknowns)?)
        }
        other => Ok(other?),
    }
}

/// Why there is no calibration.
#[derive(Debug)]
enum Stopped {
    /// The readings push this unknown to its bound.
    AtBound(String),
    Failed(Failure),
}

impl From<Failure> for Stopped {
    fn from(failure: Failure) -> Self {
        Self::Failed(failure)
    }
}

impl From<FitError<Failure>> for Stopped {
    fn from(error: FitError<Failure>) -> Self {
        match error {
            FitError::AtBound { name, .. } => Self::AtBound(name),
            other => Self::Failed(failure(other)),
        }
    }
}

impl From<Stopped> for Failure {
    fn from(stopped: Stopped) -> Self {
        match stopped {
            Stopped::AtBound(name) => Self::Physics(format!(
                "no magnet near this sheet gives these readings: they push {name} beyond anything possible. {REMEDY}"
            )),
            Stopped::Failed(failure) => failure,
        }
    }
}

fn refuse_faults(readings: &Readings, options: &Options<'_>) -> Result<(), Failure> {
    if readings.faults.is_empty() {
        return Ok(());
    }
    let message =
        format!("{} lines of the readings are faulty: {}", readings.faults.count(), readings.faults);
    let hint = "mend or remove them; a file with faulty lines is not fitted";
    Err(Diagnostic::fault(message, hint).at(options.readings_name, None).into())
}

/// The magnetic and electrical unknowns, fitted.
#[derive(Debug)]
struct Calibration {
    solution: Solution,
    /// Observations that were used, by index.
    used: Vec<usize>,
    /// Observations that do not fit with the others.
    left_out: Vec<usize>,
    /// Predictions for all observations.
    predictions: Vec<f64>,
    /// Standard uncertainty of each observation.
    noise: Vec<f64>,
    /// The probe was held the other way round.
    turned: bool,
    /// Whether all of it goes together.
    agreement: Agreement,
}

fn calibrate(
    sheet: &Sheet,
    magnet: &Magnet,
    observations: &Observations,
    unknowns: &[Unknown],
) -> Result<Calibration, Stopped> {
    calibrate_on(Bench::new(sheet, magnet, observations, unknowns)?, observations, unknowns)
}

/// The same on a bench that is solved.
fn calibrate_on(
    mut bench: Bench<'_>,
    observations: &Observations,
    unknowns: &[Unknown],
) -> Result<Calibration, Stopped> {
    let mut noise = bench.noise()?;
    for (u, o) in noise.iter_mut().zip(&observations.list) {
        *u = u.max(LEAST_NOISE * o.value.abs()).max(f64::MIN_POSITIVE);
    }
    let all: Vec<usize> = (0..observations.list.len()).collect();
    let mut parameters: Vec<Parameter> = unknowns.iter().map(Unknown::parameter).collect();
    let absurd = absurd(&bench, unknowns, &noise)?;
    let mixed = mixed_units(&bench, unknowns, &absurd)?;
    if !mixed.is_empty() {
        return Err(mixed_up(mixed).into());
    }
    let plausible = plausible(&absurd);
    // What seemed absurd may be what tells most, where the sheet is wrong: then the first fit is of all readings.
    let first = once(&bench, &plausible, &parameters, &noise);
    let (rows, mut solution) = match first {
        Err(_) if plausible.len() < all.len() => (&all, once(&bench, &all, &parameters, &noise)?),
        other => (&plausible, other?),
    };
    let mut about: Option<Vec<f64>> = None;
    for _ in 0..MOST_PASSES {
        let here = solution.values();
        if !unknowns.iter().any(Unknown::is_minor) || about.is_some_and(|about| !far(unknowns, &about, &here))
        {
            break;
        }
        start_from(&mut parameters, &solution);
        bench.about(&here, Closeness::Closely)?;
        about = Some(here);
        solution = once(&bench, rows, &parameters, &noise)?;
    }
    let flagged = outliers(&bench, &parameters, &solution, &noise)?;
    let left_out = agreement::few(observations, &flagged);
    let used: Vec<usize> = all.iter().copied().filter(|k| !left_out.contains(k)).collect();
    if used != *rows {
        start_from(&mut parameters, &solution);
        solution = once(&bench, &used, &parameters, &noise)?;
    }
    let values = solution.values();
    // Before it is asked what else could explain the readings: about no magnet that is a long search.
    if let Some(label) = beyond(unknowns, &solution) {
        return Err(Stopped::AtBound(label));
    }
    let (predictions, jacobian) = (bench.predict(&values)?, bench.derivatives(&values)?);
    let rows = Rows {
        observations,
        unknowns,
        solution: &solution,
        used: &used,
        left_out: left_out.len(),
        jacobian: &jacobian,
        noise: &noise,
    };
    let refit = |unknown: usize, start: f64| {
        let mut parameters = parameters.clone();
        start_from(&mut parameters, &solution);
        parameters[unknown].prior = None;
        parameters[unknown].scale = Some(unknowns[unknown].standard);
        if start > 0.0 || unknowns[unknown].mean == 0.0 {
            parameters[unknown].start = start;
        }
        // An explanation under which there is no magnet explains nothing.
        let solution = once(&bench, &used, &parameters, &noise).ok()?;
        let found = &solution.estimates[unknown];
        let squares = solution.sum_of_squares + solution.prior_squares;
        Some(Released { unknown, value: found.value, standard: found.standard, squares })
    };
    let agreement = agreement::agreement(&rows, &refit);
    let solution = solution.widened(agreement.widen);
    if let Some(label) = beyond(unknowns, &solution) {
        return Err(Stopped::AtBound(label));
    }
    let turned = bench.sign < 0.0;
    Ok(Calibration { solution, used, left_out, predictions, noise, turned, agreement })
}

/// What cannot be nothing, was not beforehand, and by the readings may be, or is so many times what the sheet says: they tell no
/// number of it.
fn beyond(unknowns: &[Unknown], solution: &Solution) -> Option<String> {
    use unknown::What::{Material, Resistance, Turns};
    let beyond = |unknown: &Unknown, estimate: &Estimate| {
        let ratio = estimate.value / unknown.mean;
        matches!(unknown.what, Turns | Resistance | Material)
            && unknown.mean > COVERAGE * unknown.standard
            && (estimate.value <= COVERAGE * estimate.standard
                || !(1.0 / MANIFOLD..=MANIFOLD).contains(&ratio))
    };
    let mut all = unknowns.iter().zip(&solution.estimates);
    all.find(|(unknown, estimate)| beyond(unknown, estimate)).map(|(unknown, _)| unknown.label.clone())
}

/// Whether a fit went so far from the values about which the minor unknowns are taken that these do otherwise there.
fn far(unknowns: &[Unknown], about: &[f64], here: &[f64]) -> bool {
    let far = |((unknown, about), here): ((&Unknown, &f64), &f64)| {
        (unknown.deviate(*here) - unknown.deviate(*about)).abs() > FAR
    };
    unknowns.iter().zip(about).zip(here).any(far)
}

/// Lets a fit begin where another ended.
fn start_from(parameters: &mut [Parameter], solution: &Solution) {
    for (parameter, value) in parameters.iter_mut().zip(solution.values()) {
        parameter.start = value;
    }
}

fn mixed_up(mixed: Vec<Mixed>) -> Failure {
    let hint = "mend the header; a column in another unit is not fitted";
    mixed.into_iter().map(|m| Diagnostic::fault(m.text, hint)).collect::<Vec<_>>().into()
}

/// Some of the bench's readings.
struct Part<'a> {
    bench: &'a Bench<'a>,
    rows: &'a [usize],
}

impl Model for Part<'_> {
    type Error = Failure;

    fn predict(&self, p: &[f64]) -> Result<Vec<f64>, Failure> {
        let all = self.bench.predict(p)?;
        Ok(self.rows.iter().map(|k| all[*k]).collect())
    }

    fn jacobian(&self, p: &[f64]) -> Option<Result<DMatrix<f64>, Failure>> {
        Model::jacobian(&self.bench, p).map(|all| Ok(all?.select_rows(self.rows)))
    }
}

fn once(
    bench: &Bench<'_>,
    rows: &[usize],
    parameters: &[Parameter],
    noise: &[f64],
) -> Result<Solution, Stopped> {
    let all = &bench.observations().list;
    let readings: Vec<f64> = rows.iter().map(|k| all[*k].value).collect();
    let sigma: Vec<f64> = rows.iter().map(|k| noise[*k]).collect();
    let precision = if bench.is_rough() { ROUGH_PRECISION } else { PRECISION };
    let settings = Settings { precision, model_error: MODEL_ERROR, patience: 30, ..Settings::default() };
    let part = Part { bench, rows };
    Ok(least_squares::fit(part, parameters, &readings, Noise::Known(&sigma), &settings)?)
}

/// Which readings are absurd by what was known beforehand: a digit lost, a unit mixed up.
fn absurd(bench: &Bench<'_>, unknowns: &[Unknown], noise: &[f64]) -> Result<Vec<bool>, Failure> {
    let start: Vec<f64> = unknowns.iter().map(|u| u.mean).collect();
    let (predicted, jacobian) = (bench.predict(&start)?, bench.derivatives(&start)?);
    let absurd = |(k, o): (usize, &Observation)| {
        let beforehand = unknowns.iter().enumerate().map(|(j, u)| jacobian[(k, j)] * u.standard);
        let standard = beforehand.fold(noise[k], f64::hypot);
        (o.value - predicted[k]).abs() > ABSURD * standard
    };
    Ok(bench.observations().list.iter().enumerate().map(absurd).collect())
}

/// Readings that are not absurd, for a first fit. If many are absurd it is the sheet that is wrong, and all are kept.
/// None is left out for good here.
fn plausible(absurd: &[bool]) -> Vec<usize> {
    let kept: Vec<usize> = (0..absurd.len()).filter(|k| !absurd[*k]).collect();
    let few = (absurd.len() - kept.len()) as f64 <= FEW * absurd.len() as f64;
    if few { kept } else { (0..absurd.len()).collect() }
}

/// Columns that are absurd for the most part and would not be in another unit.
fn mixed_units(bench: &Bench<'_>, unknowns: &[Unknown], absurd: &[bool]) -> Result<Vec<Mixed>, Failure> {
    let start: Vec<f64> = unknowns.iter().map(|u| u.mean).collect();
    let observations = bench.observations();
    let mut mixed = units::mixed(observations, &bench.predict(&start)?);
    mixed.retain(|m| {
        let column = || observations.list.iter().zip(absurd).filter(|(o, _)| o.head == m.head);
        2 * column().filter(|(_, absurd)| **absurd).count() > column().count()
    });
    Ok(mixed)
}

/// Readings that do not fit with the others: by Tukey's loss on the model made straight at the least-squares solution.
fn outliers(
    bench: &Bench<'_>,
    parameters: &[Parameter],
    solution: &Solution,
    noise: &[f64],
) -> Result<Vec<usize>, Failure> {
    let at = DVector::from_vec(solution.values());
    let base = DVector::from_vec(bench.predict(at.as_slice())?);
    let jacobian = bench.derivatives(at.as_slice())?;
    let straight = |p: &[f64]| {
        let moved = DVector::from_column_slice(p) - &at;
        Ok::<_, Failure>((&base + &jacobian * moved).iter().copied().collect::<Vec<f64>>())
    };
    let free: Vec<Parameter> = parameters
        .iter()
        .zip(at.iter())
        .map(|(p, at)| {
            let mut free = p.clone();
            (free.start, free.bounds) = (*at, least_squares::Bounds::Free);
            free
        })
        .collect();
    let readings: Vec<f64> = bench.observations().list.iter().map(|o| o.value).collect();
    let settings = Settings { robust: Robust::Tukey, precision: PRECISION, ..Settings::default() };
    match least_squares::fit(straight, &free, &readings, Noise::Known(noise), &settings) {
        Ok(robust) => Ok(robust.outliers),
        // Too few readings for a robust scale: those of the ordinary fit.
        Err(_) => {
            let all = bench.observations().list.iter().zip(base.iter()).zip(noise);
            let off = all.map(|((o, y), u)| (o.value - y).abs() / u);
            Ok(off.enumerate().filter(|(_, z)| *z > ABSURD).map(|(k, _)| k).collect())
        }
    }
}

/// Why no magnet was found, and what to do about it.
fn failure(error: FitError<Failure>) -> Failure {
    let what = match error {
        FitError::Model { error: Failure::Input(faults), .. } => return faults.into(),
        FitError::Model { error, .. } => format!("on the way the fit met one that has no answer ({error})"),
        other => other.to_string(),
    };
    Failure::Physics(format!("no magnet near this sheet gives these readings: {what}. {REMEDY}"))
}

/// What to do where readings and sheet do not come together.
const REMEDY: &str = "See what `audit` says of the readings (units, places, drive), and give what may be wrong in the \
                      sheet a wider tolerance";
