//! Monte Carlo propagation of distributions (JCGM 101:2008) and its comparison with first order (clause 8).

use super::{
    Inputs, Propagated, PropagationError, UncertaintyError, correlation_of, evaluate, sample_inputs,
};
use nalgebra::DMatrix;
use rayon::prelude::*;

/// Outputs of a model for samples of its inputs.
#[derive(Clone, Debug, PartialEq)]
pub struct Sampled {
    /// One list for each output, in the order of the samples.
    outputs: Vec<Vec<f64>>,
}

/// Statistics of one output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Mean (JCGM 101:2008, eq. 16).
    pub mean: f64,
    /// Standard deviation (eq. 17).
    pub standard: f64,
    /// Interval with equal probability left out on either side (7.7.2).
    pub symmetric: (f64, f64),
    /// Shortest interval of that coverage (7.7.3, annex D.7).
    pub shortest: (f64, f64),
}

/// First order and Monte Carlo give different intervals.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error(
    "first order gives {:.6} to {:.6}, sampling {:.6} to {:.6}: the answer is not linear over the inputs' \
     range, prefer the sampled interval", first_order.0, first_order.1, sampled.0, sampled.1
)]
pub struct Disagreement {
    /// 95 % interval to first order.
    pub first_order: (f64, f64),
    /// Probabilistically symmetric 95 % interval of the samples.
    pub sampled: (f64, f64),
    /// Largest difference between ends that would have been accepted.
    pub tolerance: f64,
}

/// Propagates the inputs' distributions through a model by Latin-hypercube samples, on all cores.
///
/// The result depends on the seed and not on the number of threads. If the model fails for any sample, the
/// first such failure is the result: left-out samples would make the band too narrow.
pub fn monte_carlo<E: Send>(
    inputs: &Inputs,
    count: usize,
    seed: u64,
    model: impl Fn(&[f64]) -> Result<Vec<f64>, E> + Sync,
) -> Result<Sampled, PropagationError<E>> {
    let rows = sample_inputs(inputs, count, seed)?;
    let width = evaluate(&model, &rows[0], None)?.len();
    let results: Vec<_> = rows.par_iter().map(|row| evaluate(&model, row, Some(width))).collect();
    let mut outputs = vec![Vec::with_capacity(count); width];
    for result in results {
        for (output, value) in outputs.iter_mut().zip(result?) {
            output.push(value);
        }
    }
    Ok(Sampled { outputs })
}

impl Sampled {
    /// From outputs computed elsewhere for the rows of [`sample_inputs`]: one list for each output,
    /// equally long, of at least two finite numbers.
    pub fn new(outputs: Vec<Vec<f64>>) -> Result<Self, UncertaintyError> {
        let expected = outputs.first().map_or(0, Vec::len);
        if expected < 2 {
            return Err(UncertaintyError::TooFew { needed: 2, found: expected });
        }
        for output in &outputs {
            let found = output.iter().filter(|y| y.is_finite()).count();
            if found != expected || output.len() != expected {
                return Err(UncertaintyError::WrongLength { expected, found });
            }
        }
        Ok(Self { outputs })
    }

    /// All samples of output `k`.
    pub fn samples(&self, k: usize) -> &[f64] {
        &self.outputs[k]
    }

    /// Mean, standard deviation and the two intervals of a coverage such as 0.95.
    pub fn summary(&self, k: usize, coverage: f64) -> Summary {
        let samples = &self.outputs[k];
        let count = samples.len();
        let mean = samples.iter().sum::<f64>() / count as f64;
        let squares: f64 = samples.iter().map(|y| (y - mean).powi(2)).sum();
        let mut sorted = samples.clone();
        sorted.sort_by(f64::total_cmp);
        // JCGM 101:2008, 7.7.1: q the nearest integer to pM, an interval is [y(r), y(r+q)].
        let q = ((coverage * count as f64).round() as usize).min(count - 1);
        let width = |r: &usize| sorted[r + q] - sorted[*r];
        let shortest = (0..count - q).min_by(|a, b| width(a).total_cmp(&width(b))).unwrap_or(0);
        // 7.7.2, counted from 0 here and from 1 there.
        let middle = ((count - q).div_ceil(2)).max(1) - 1;
        Summary {
            mean,
            standard: (squares / (count - 1) as f64).sqrt(),
            symmetric: (sorted[middle], sorted[middle + q]),
            shortest: (sorted[shortest], sorted[shortest + q]),
        }
    }

    /// Correlation matrix of the outputs.
    pub fn correlation(&self) -> DMatrix<f64> {
        let n = self.outputs.len();
        let means: Vec<f64> = self.outputs.iter().map(|y| y.iter().sum::<f64>() / y.len() as f64).collect();
        correlation_of(&DMatrix::from_fn(n, n, |k, l| {
            let pairs = self.outputs[k].iter().zip(&self.outputs[l]);
            pairs.map(|(a, b)| (a - means[k]) * (b - means[l])).sum()
        }))
    }

    /// Whether the samples contradict a first-order result for output `k` at 95 % (JCGM 101:2008, 8.1).
    ///
    /// Ends may differ by the numerical tolerance of two significant digits in `u` (7.9.2), and by what the
    /// finite number of samples explains: twice the standard error of a 2.5 % quantile, `2.67 u/√M` for a
    /// Gaussian of unstratified samples.
    pub fn disagreement(&self, first_order: &Propagated, k: usize) -> Option<Disagreement> {
        let summary = self.summary(k, 0.95);
        let (low, high) = first_order.interval(k, 0.95);
        let u = first_order.standard(k).max(summary.standard);
        if u == 0.0 {
            return None;
        }
        let numerical = 0.5 * 10f64.powf(u.log10().floor() - 1.0);
        let tolerance = numerical + 2.0 * 2.67 * u / (self.outputs[k].len() as f64).sqrt();
        let (sampled_low, sampled_high) = summary.symmetric;
        let apart = (low - sampled_low).abs().max((high - sampled_high).abs());
        (apart > tolerance).then_some(Disagreement {
            first_order: (low, high),
            sampled: summary.symmetric,
            tolerance,
        })
    }
}
