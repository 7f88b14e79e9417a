//! Weighted nonlinear least squares with priors, bounds, outliers, and a statement of what cannot be told.
//!
//! [`fit`] finds the parameters of a model that explain readings best, by Levenberg–Marquardt (Marquardt 1963;
//! Moré 1978). What it returns is checked: the Gauss–Newton step that remains must be a small fraction of a
//! standard uncertainty (after Bates and Watts, *Nonlinear Regression Analysis*, 1988, 2.2.3), else the result is
//! an error. Errors common to several readings, such as a meter's gain, are best made parameters with a prior.

mod identifiability;
mod model;
mod parameter;
mod robust;
mod rows;
mod solution;
mod solve;

pub use identifiability::{Direction, Identifiability};
pub use model::{Model, WithJacobian};
pub use parameter::{Bounds, Parameter, Prior};
pub use robust::{OUTLIER, Robust};
pub use solution::{Estimate, Solution};

use crate::uncertainty::UncertaintyError;
use nalgebra::{DMatrix, DVector};
use rows::{Converged, Rows};

/// What is known of the random errors of the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Noise<'a> {
    /// A standard uncertainty for each reading, in its unit.
    Known(&'a [f64]),
    /// Relative sizes only: the scatter of the residuals gives the common factor.
    Relative(&'a [f64]),
    /// All alike and unknown: the scatter of the residuals gives the size.
    Common,
}

/// How to fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Loss for outliers.
    pub robust: Robust,
    /// Largest remaining step that counts as converged, in standard uncertainties.
    pub precision: f64,
    /// Relative error with which the model repeats itself (rounding, or the jitter of a mesh). Sets the step of
    /// differences and the level below which a singular value means nothing.
    pub model_error: f64,
    /// Most evaluations of the model, those for differences not counted, per parameter plus one.
    pub patience: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self { robust: Robust::No, precision: 1e-4, model_error: f64::EPSILON, patience: 200 }
    }
}

/// Why there is no fit. `E` is the model's own error.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError<E> {
    /// The model failed at some parameters.
    #[error("the model failed at {parameters:?}: {error}")]
    Model {
        /// Where, in the order of the parameters.
        parameters: Vec<f64>,
        /// What it said.
        error: E,
    },
    /// The model, or its Jacobian, gave something not finite or of the wrong shape.
    #[error("the model gave {found} usable numbers at {parameters:?}, {expected} are needed")]
    BadPrediction {
        /// Where.
        parameters: Vec<f64>,
        /// How many numbers were needed.
        expected: usize,
        /// How many finite ones came.
        found: usize,
    },
    /// A reading or its standard uncertainty is not a usable number.
    #[error("reading {0} (counted from 0) or its uncertainty is not a usable number")]
    BadReading(usize),
    /// Not one uncertainty for each reading.
    #[error("there are {readings} readings but {uncertainties} uncertainties")]
    Unpaired {
        /// Number of readings.
        readings: usize,
        /// Number of uncertainties.
        uncertainties: usize,
    },
    /// A parameter's start, prior or bounds contradict each other or are not finite.
    #[error("parameter `{name}`: {why}")]
    BadParameter {
        /// Its name.
        name: String,
        /// What is wrong.
        why: &'static str,
    },
    /// Fewer readings and priors than the parameters (and an unknown scatter) need.
    #[error("{readings} readings and {priors} priors are too few for {parameters} parameters")]
    TooFewReadings {
        /// Number of readings.
        readings: usize,
        /// Number of priors.
        priors: usize,
        /// Number of parameters.
        parameters: usize,
    },
    /// A prior has an uncertainty of its own; it cannot be weighed against readings of unknown uncertainty.
    #[error("priors need readings whose standard uncertainty is known")]
    PriorNeedsKnownNoise,
    /// Readings and priors leave a combination of parameters free.
    #[error("the parameters cannot be told: {0}")]
    Unidentifiable(Identifiability),
    /// The best fit lies on a bound, where an uncertainty has no meaning: fix the parameter or widen the bound.
    #[error("the readings push `{name}` to its bound {bound}")]
    AtBound {
        /// Its name.
        name: String,
        /// The bound it ran to.
        bound: f64,
    },
    /// The step that remains is too large.
    #[error(
        "the fit did not settle in {evaluations} trials; its last step was still {remaining:.1e} standard uncertainties"
    )]
    NotConverged {
        /// Parameters reached.
        parameters: Vec<f64>,
        /// Gauss–Newton step that remains, in standard uncertainties.
        remaining: f64,
        /// Evaluations of the model, those for differences not counted.
        evaluations: usize,
    },
    /// The covariance could not be used.
    #[error(transparent)]
    Uncertainty(#[from] UncertaintyError),
}

/// Fits a model to readings.
///
/// `model` is a closure from parameters to predicted readings, or a [`WithJacobian`]. Parameters and readings are
/// in units of the caller's choice; columns are scaled inside.
///
/// ```
/// use coilwright_bench::least_squares::{Noise, Parameter, Settings, fit};
/// // Volts over a coil at four currents, 20 mV standard uncertainty each: how many ohms?
/// let (amps, volts) = ([0.1, 0.2, 0.3, 0.4], [5.21, 10.38, 15.62, 20.79]);
/// let ohms_law = |p: &[f64]| Ok::<_, std::convert::Infallible>(amps.iter().map(|i| p[0] * i).collect());
/// let fit = fit(ohms_law, &[Parameter::new("resistance", 50.0)], &volts, Noise::Known(&[0.02; 4]), &Settings::default())?;
/// // Closed form of a line through the origin: R = Σ U I / Σ I², u = σ / √(Σ I²).
/// let squares = 0.1f64 * 0.1 + 0.2 * 0.2 + 0.3 * 0.3 + 0.4 * 0.4;
/// assert!((fit.estimates[0].value - 15.599 / squares).abs() < 1e-6);
/// assert!((fit.estimates[0].standard - 0.02 / squares.sqrt()).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fit<M: Model>(
    model: M,
    parameters: &[Parameter],
    readings: &[f64],
    noise: Noise<'_>,
    settings: &Settings,
) -> Result<Solution, FitError<M::Error>> {
    let sigma = check(parameters, readings, noise)?;
    let rows = Rows { model: &model, parameters, readings, sigma: &sigma, settings };
    let start: Vec<f64> = parameters.iter().map(|p| p.start).collect();
    let estimated = !matches!(noise, Noise::Known(_));
    let mut weights = vec![1.0; readings.len()];
    let mut point = rows.minimise(&start, &weights, estimated)?;
    for stage in settings.robust.stages() {
        (point, weights) = reweight(&rows, *stage, point, estimated)?;
    }
    solution::finish(&rows, point, weights, noise)
}

/// Iteratively reweighted least squares until the parameters move by less than the precision.
fn reweight<M: Model>(
    rows: &Rows<'_, M>,
    loss: Robust,
    mut point: Converged,
    estimated: bool,
) -> Result<(Converged, Vec<f64>), FitError<M::Error>> {
    const MOST: usize = 300;
    let mut moved = f64::INFINITY;
    for _ in 0..MOST {
        let scale = robust::scale(&point.standardised, estimated);
        let weights: Vec<f64> = point.standardised.iter().map(|z| loss.weight(z / scale)).collect();
        let next = rows.minimise(&point.parameters, &weights, estimated)?;
        let change = DVector::from_iterator(
            next.parameters.len(),
            next.parameters.iter().zip(&point.parameters).map(|(a, b)| a - b),
        );
        let unit = if estimated { scale } else { 1.0 };
        moved = (&next.jacobian * &change).norm() / unit;
        let settled = moved <= rows.settings.precision || rows.negligible(&change, &next.parameters);
        point = next;
        if settled {
            return Ok((point, weights));
        }
    }
    Err(FitError::NotConverged {
        evaluations: point.evaluations,
        parameters: point.parameters,
        remaining: moved,
    })
}

/// Checks what was given, and returns one (relative) standard uncertainty for each reading.
fn check<E>(parameters: &[Parameter], readings: &[f64], noise: Noise<'_>) -> Result<Vec<f64>, FitError<E>> {
    for parameter in parameters {
        if let Err(why) = parameter.check() {
            return Err(FitError::BadParameter { name: parameter.name.clone(), why });
        }
    }
    let sigma = match noise {
        Noise::Known(sigma) | Noise::Relative(sigma) => sigma.to_vec(),
        Noise::Common => vec![1.0; readings.len()],
    };
    if sigma.len() != readings.len() {
        return Err(FitError::Unpaired { readings: readings.len(), uncertainties: sigma.len() });
    }
    let sound = |(y, s): (&f64, &f64)| y.is_finite() && s.is_finite() && *s > 0.0;
    if let Some(i) = readings.iter().zip(&sigma).position(|pair| !sound(pair)) {
        return Err(FitError::BadReading(i));
    }
    let priors = parameters.iter().filter(|p| p.prior.is_some()).count();
    let known = matches!(noise, Noise::Known(_));
    if priors > 0 && !known {
        return Err(FitError::PriorNeedsKnownNoise);
    }
    if readings.len() + priors < parameters.len() + usize::from(!known) || parameters.is_empty() {
        return Err(FitError::TooFewReadings {
            readings: readings.len(),
            priors,
            parameters: parameters.len(),
        });
    }
    Ok(sigma)
}

/// Columns of a matrix multiplied by factors.
fn scaled_columns(matrix: &DMatrix<f64>, factors: &[f64]) -> DMatrix<f64> {
    DMatrix::from_fn(matrix.nrows(), matrix.ncols(), |i, j| matrix[(i, j)] * factors[j])
}
