//! What a fit found: estimates, covariance, residuals, outliers.

use super::{
    FitError, Identifiability, Model, Noise, Parameter, robust,
    rows::{Converged, Rows},
};
use crate::uncertainty::{
    Inputs, Propagated, PropagationError, UncertaintyError, coverage_factor, propagate,
};
use nalgebra::DMatrix;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// A parameter as fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Name.
    pub name: String,
    /// Best value.
    pub value: f64,
    /// Standard uncertainty.
    pub standard: f64,
    /// Ends of the 95 % interval; within the parameter's bounds.
    pub interval: (f64, f64),
}

/// Result of a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// The parameters in the order given.
    pub estimates: Vec<Estimate>,
    /// Covariance matrix of the parameters.
    pub covariance: DMatrix<f64>,
    /// Predictions at the best values.
    pub predictions: Vec<f64>,
    /// Reading minus prediction, in the reading's unit.
    pub residuals: Vec<f64>,
    /// Residuals divided by the standard uncertainty of their reading, known or estimated.
    pub standardised: Vec<f64>,
    /// Weight that each reading kept in a robust fit; all 1 in an ordinary one.
    pub weights: Vec<f64>,
    /// Readings (counted from 0) that do not fit with the others: beyond 3.5 robust standard deviations.
    pub outliers: Vec<usize>,
    /// Sum of squares of the residuals of the readings, each divided by its (relative) uncertainty, unweighted.
    pub sum_of_squares: f64,
    /// The same of the priors: `((value − mean)/standard)²`.
    pub prior_squares: f64,
    /// Readings and priors minus parameters.
    pub dof: usize,
    /// Standard deviation of a reading's standardised residual. Close to 1 where the uncertainties are known and
    /// right; where they are relative or unknown this is their size. Robust if the fit is.
    pub scatter: f64,
    /// Probability of a sum of squares at least as large if model and known uncertainties were right; `None` where
    /// the scatter was estimated or the fit is robust. Below 0.01 something is wrong, above 0.99 the uncertainties
    /// are stated too large.
    pub plausibility: Option<f64>,
    /// What the readings, without the priors, can tell.
    pub identifiability: Identifiability,
    /// Evaluations of the model in the last minimisation, those for differences not counted.
    pub evaluations: usize,
    dof_of_uncertainty: f64,
    parameters: Vec<Parameter>,
}

impl Solution {
    /// Correlation coefficient of two parameters.
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        self.covariance[(i, j)] / (self.covariance[(i, i)] * self.covariance[(j, j)]).sqrt()
    }

    /// The same solution with every uncertainty larger by a factor, where readings fit worse than was stated.
    #[must_use]
    pub fn widened(mut self, factor: f64) -> Self {
        self.covariance *= factor * factor;
        for i in 0..self.estimates.len() {
            self.estimates[i].standard *= factor;
            self.estimates[i].interval = self.interval(i, 0.95);
        }
        self
    }

    /// Best values in order.
    pub fn values(&self) -> Vec<f64> {
        self.estimates.iter().map(|estimate| estimate.value).collect()
    }

    /// Interval of parameter `i` for a coverage such as 0.95: Student t where the scatter was estimated, Gaussian
    /// where the uncertainties are known. Symmetric in the coordinate that is fitted, so within the bounds.
    pub fn interval(&self, i: usize, coverage: f64) -> (f64, f64) {
        let half_width = coverage_factor(coverage, self.dof_of_uncertainty) * self.estimates[i].standard;
        self.parameters[i].interval(self.estimates[i].value, half_width)
    }

    /// The parameters as correlated inputs for what is computed from them.
    pub fn as_inputs(&self) -> Result<Inputs, UncertaintyError> {
        let names: Vec<String> = self.estimates.iter().map(|estimate| estimate.name.clone()).collect();
        Inputs::from_covariance(&names, &self.values(), &self.covariance, self.dof_of_uncertainty)
    }

    /// Anything computed from the parameters, with its uncertainty to first order.
    pub fn predict<E>(
        &self,
        model: impl Fn(&[f64]) -> Result<Vec<f64>, E>,
    ) -> Result<Propagated, PropagationError<E>> {
        propagate(&self.as_inputs()?, model)
    }
}

/// Statistics of a converged fit.
pub(super) fn finish<M: Model>(
    rows: &Rows<'_, M>,
    at: Converged,
    weights: Vec<f64>,
    noise: Noise<'_>,
) -> Result<Solution, FitError<M::Error>> {
    let loss = rows.settings.robust;
    let estimated = !matches!(noise, Noise::Known(_));
    let readings = at.standardised.len();
    let all = rows.residuals(&at.standardised, &at.parameters, &vec![1.0; readings]);
    let sum_of_squares: f64 = at.standardised.iter().map(|z| z * z).sum();
    let prior_squares = all.rows(readings, all.len() - readings).norm_squared();
    let dof = all.len() - at.parameters.len();
    let robust_scale = robust::scale(&at.standardised, estimated);
    let scatter = match loss {
        robust::Robust::No if dof == 0 => 1.0,
        robust::Robust::No => ((sum_of_squares + prior_squares) / dof as f64).sqrt(),
        _ => robust_scale,
    };
    let unit = if estimated { scatter } else { 1.0 };
    let covariance = covariance(rows, &at, robust_scale, dof)?
        * if loss == robust::Robust::No { unit * unit } else { 1.0 };
    // A known uncertainty has no degrees of freedom to count; an estimated one has those of the residuals.
    let dof_of_uncertainty = if estimated { dof as f64 } else { f64::INFINITY };
    let plausibility = (!estimated && loss == robust::Robust::No && dof > 0)
        .then(|| ChiSquared::new(dof as f64).ok())
        .flatten()
        .map(|chi_squared| chi_squared.sf(sum_of_squares + prior_squares));
    let outlier_scale = robust_scale.max(f64::MIN_POSITIVE);
    let outliers =
        (0..readings).filter(|&i| at.standardised[i].abs() > robust::OUTLIER * outlier_scale).collect();
    let estimates = rows.parameters.iter().enumerate().map(|(i, parameter)| {
        let (value, standard) = (at.parameters[i], covariance[(i, i)].sqrt());
        let half_width = coverage_factor(0.95, dof_of_uncertainty) * standard;
        let interval = parameter.interval(value, half_width);
        Estimate { name: parameter.name.clone(), value, standard, interval }
    });
    Ok(Solution {
        estimates: estimates.collect(),
        residuals: at.standardised.iter().zip(rows.sigma).map(|(z, sigma)| z * sigma).collect(),
        standardised: at.standardised.iter().map(|z| if unit > 0.0 { z / unit } else { *z }).collect(),
        identifiability: Identifiability::new(rows, &at, unit.max(f64::MIN_POSITIVE)),
        predictions: at.predictions,
        covariance,
        weights,
        outliers,
        sum_of_squares,
        prior_squares,
        dof,
        scatter,
        plausibility,
        evaluations: at.evaluations,
        dof_of_uncertainty,
        parameters: rows.parameters.to_vec(),
    })
}

/// Covariance of the parameters for residuals of unit scatter; in a robust fit for their actual one.
///
/// Least squares: `(JᵀJ + P)⁻¹`, by singular values. Robust: `K² A⁻¹ B A⁻¹` with `A = m₁ JᵀJ + P`,
/// `B = m₂ JᵀJ + P`, `m₁` the mean of `ψ'`, `m₂ = s² Σψ²/(n − p)`, `P` the priors' part
/// (Huber, *Robust Statistics*, 1981, eqs. 7.6.1 and 7.6.4; there without priors).
fn covariance<M: Model>(
    rows: &Rows<'_, M>,
    at: &Converged,
    scale: f64,
    dof: usize,
) -> Result<DMatrix<f64>, FitError<M::Error>> {
    let n = at.standardised.len() as f64;
    let p = at.parameters.len() as f64;
    let loss = rows.settings.robust;
    let (mut m1, mut m2, mut k) = (1.0, 1.0, 1.0);
    if loss != robust::Robust::No {
        let z = || at.standardised.iter().map(|z| z / scale);
        m1 = z().map(|z| loss.slope(z)).sum::<f64>() / n;
        m2 = scale.powi(2) * z().map(|z| (z * loss.weight(z)).powi(2)).sum::<f64>() / dof.max(1) as f64;
        let spread = z().map(|z| (loss.slope(z) - m1).powi(2)).sum::<f64>() / n;
        k = 1.0 + p / n * spread / m1.powi(2);
    }
    let scales = rows.scales(&at.parameters);
    let scaled = |weight: f64| {
        let stacked = rows.stacked(&at.jacobian, &at.parameters, &vec![weight; at.standardised.len()]);
        super::scaled_columns(&stacked, &scales)
    };
    let unidentifiable = || FitError::Unidentifiable(Identifiability::new(rows, at, 1.0));
    let svd = scaled(m1.max(0.0)).svd(false, true);
    if svd.singular_values.min() <= rows.noise_floor(at) {
        return Err(unidentifiable());
    }
    let v_t = svd.v_t.ok_or_else(unidentifiable)?;
    let inverse_squares = svd.singular_values.map(|s| 1.0 / (s * s));
    let a_inverse = v_t.transpose() * DMatrix::from_diagonal(&inverse_squares) * &v_t;
    let covariance = if loss == robust::Robust::No {
        a_inverse
    } else {
        let b = scaled(m2);
        let half = &a_inverse * b.transpose();
        &half * half.transpose() * (k * k)
    };
    Ok(DMatrix::from_fn(scales.len(), scales.len(), |i, j| covariance[(i, j)] * scales[i] * scales[j]))
}
