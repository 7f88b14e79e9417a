//! The rows of a fit, and a minimum of them.

use super::{Model, Parameter, Settings};
use nalgebra::DMatrix;

/// The rows of a fit: one for each reading, then one for each prior.
pub(super) struct Rows<'a, M: Model> {
    pub model: &'a M,
    pub parameters: &'a [Parameter],
    pub readings: &'a [f64],
    /// (Relative) standard uncertainty of each reading.
    pub sigma: &'a [f64],
    pub settings: &'a Settings,
}

/// A minimum that passed the check.
pub(super) struct Converged {
    pub parameters: Vec<f64>,
    pub predictions: Vec<f64>,
    /// `(reading − prediction)/σ`, readings only.
    pub standardised: Vec<f64>,
    /// Derivatives of the predictions divided by σ, by the parameters themselves; readings only.
    pub jacobian: DMatrix<f64>,
    pub evaluations: usize,
}
