//! First-order propagation with correlation (JCGM 100:2008, 5.2) and effective degrees of freedom (G.4).

use super::{Inputs, PropagationError, UncertaintyError, correlation_of, coverage_factor, evaluate};
use coilwright_magnet::uncertainty::band::{Band, Contributor};
use nalgebra::DMatrix;

/// Outputs of a model with their covariance, to first order.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated {
    /// Outputs at the best estimates of the inputs.
    pub values: Vec<f64>,
    /// Covariance matrix of the outputs.
    pub covariance: DMatrix<f64>,
    /// Sensitivity coefficients `∂y_k/∂x_i`: a row for each output, a column for each input.
    pub sensitivities: DMatrix<f64>,
    inputs: Inputs,
}

/// Propagates the inputs' covariance through a model.
///
/// Sensitivities are central differences over one standard uncertainty to either side
/// (JCGM 100:2008, 5.1.3, note 2), so that they hold over the range that the input may really have.
pub fn propagate<E>(
    inputs: &Inputs,
    model: impl Fn(&[f64]) -> Result<Vec<f64>, E>,
) -> Result<Propagated, PropagationError<E>> {
    let mut x = inputs.values();
    let values = evaluate(&model, &x, None)?;
    let mut sensitivities = DMatrix::zeros(values.len(), x.len());
    for (i, input) in inputs.list().iter().enumerate() {
        if input.standard == 0.0 {
            continue;
        }
        let (high, low) = (input.value + input.standard, input.value - input.standard);
        x[i] = high;
        let above = evaluate(&model, &x, Some(values.len()))?;
        x[i] = low;
        let below = evaluate(&model, &x, Some(values.len()))?;
        x[i] = input.value;
        for k in 0..values.len() {
            // The difference of the rounded arguments, not 2u, else rounding spoils large values.
            sensitivities[(k, i)] = (above[k] - below[k]) / (high - low);
        }
    }
    Ok(propagate_with(inputs, values, sensitivities)?)
}

/// The same with sensitivities given: a row for each output, a column for each input.
pub fn propagate_with(
    inputs: &Inputs,
    values: Vec<f64>,
    sensitivities: DMatrix<f64>,
) -> Result<Propagated, UncertaintyError> {
    for (expected, found) in
        [(values.len(), sensitivities.nrows()), (inputs.list().len(), sensitivities.ncols())]
    {
        if expected != found {
            return Err(UncertaintyError::WrongLength { expected, found });
        }
    }
    inputs.root()?;
    let covariance = &sensitivities * inputs.covariance() * sensitivities.transpose();
    Ok(Propagated { values, covariance, sensitivities, inputs: inputs.clone() })
}

impl Propagated {
    /// Combined standard uncertainty of output `k` (JCGM 100:2008, eq. 13).
    pub fn standard(&self, k: usize) -> f64 {
        // Full correlation can cancel exactly; rounding may then leave a tiny negative variance.
        self.covariance[(k, k)].max(0.0).sqrt()
    }

    /// Correlation coefficient of two outputs.
    pub fn correlation(&self, k: usize, l: usize) -> f64 {
        correlation_of(&self.covariance)[(k, l)]
    }

    /// Effective degrees of freedom of output `k` by the Welch–Satterthwaite formula (JCGM 100:2008, G.4.1, eq. G.2b).
    ///
    /// The formula wants independent contributions. Inputs that are correlated with each other are therefore
    /// taken together as one contribution with the fewest degrees of freedom among them, which is exact for
    /// quantities observed together, and cautious otherwise.
    pub fn effective_dof(&self, k: usize) -> f64 {
        let variance = self.covariance[(k, k)];
        if variance <= 0.0 {
            return f64::INFINITY;
        }
        let input_covariance = self.inputs.covariance();
        let parts = self.correlated_groups().into_iter().map(|group| {
            let c = |i: usize| self.sensitivities[(k, i)];
            let pairs = group.iter().flat_map(|&i| group.iter().map(move |&j| (i, j)));
            let part: f64 = pairs.map(|(i, j)| c(i) * c(j) * input_covariance[(i, j)]).sum();
            let dof = group.iter().map(|&i| self.inputs.list()[i].dof).fold(f64::INFINITY, f64::min);
            (part / variance).powi(2) / dof
        });
        1.0 / parts.sum::<f64>()
    }

    /// Expanded uncertainty of output `k` for a coverage such as 0.95: Student t at the effective degrees of freedom.
    pub fn expanded(&self, k: usize, coverage: f64) -> f64 {
        coverage_factor(coverage, self.effective_dof(k)) * self.standard(k)
    }

    /// Interval `y ± U` of output `k`.
    pub fn interval(&self, k: usize, coverage: f64) -> (f64, f64) {
        let expanded = self.expanded(k, coverage);
        (self.values[k] - expanded, self.values[k] + expanded)
    }

    /// Output `k` as a band at 95 % with its contributors, the largest share first.
    ///
    /// The share of an input is `c_i u_i Σ_j r_ij c_j u_j / u²`: the shares add up to 1, and one is negative
    /// where an input's correlation with the others narrows the band.
    pub fn band(&self, k: usize) -> Band {
        let variance = self.covariance[(k, k)];
        let shared = &self.sensitivities * self.inputs.covariance();
        let contributors = self.inputs.list().iter().enumerate().filter_map(|(i, input)| {
            let effect = self.sensitivities[(k, i)] * input.standard;
            let share = self.sensitivities[(k, i)] * shared[(k, i)] / variance;
            (variance > 0.0 && effect != 0.0).then(|| Contributor {
                path: input.name.clone(),
                label: input.name.clone(),
                effect,
                share,
            })
        });
        let mut contributors: Vec<_> = contributors.collect();
        contributors.sort_by(|a, b| b.share.total_cmp(&a.share));
        let (low, high) = self.interval(k, 0.95);
        Band { standard: self.standard(k), low, high, contributors }
    }

    /// Groups of inputs that hang together by correlation; an uncorrelated input is a group of its own.
    fn correlated_groups(&self) -> Vec<Vec<usize>> {
        let n = self.inputs.list().len();
        let mut group_of: Vec<usize> = (0..n).collect();
        for i in 0..n {
            for j in 0..i {
                if self.inputs.correlation()[(i, j)] != 0.0 {
                    let (from, to) = (group_of[i], group_of[j]);
                    group_of.iter_mut().filter(|group| **group == from).for_each(|group| *group = to);
                }
            }
        }
        (0..n)
            .map(|g| (0..n).filter(|&i| group_of[i] == g).collect())
            .filter(|g: &Vec<_>| !g.is_empty())
            .collect()
    }
}
