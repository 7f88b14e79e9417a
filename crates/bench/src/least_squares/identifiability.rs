//! What the readings can tell, and which combination of parameters they cannot.
//!
//! The Jacobian of the standardised readings, its columns scaled by the size of change that matters for each
//! parameter, is decomposed into singular values and directions (Belsley, Kuh, Welsch 1980, chapter 3). A step of
//! that size along a direction changes the readings by its singular value, in standard uncertainties. Below 1 the
//! change drowns in the readings' noise: this combination they cannot tell.

use super::{
    Model,
    rows::{Converged, Rows},
    scaled_columns,
};
use std::fmt;

/// Directions in parameter space, the best determined first. Priors have no part in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Identifiability {
    /// Names of the parameters.
    pub names: Vec<String>,
    /// As many as there are parameters.
    pub directions: Vec<Direction>,
}

/// A combination of parameters that the readings determine independently of the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Direction {
    /// The change of each parameter, in its own unit, for one step of the size that matters.
    pub change: Vec<f64>,
    /// The same in units of each parameter's scale; the squares add up to 1.
    pub weights: Vec<f64>,
    /// By how many standard uncertainties the readings change (root sum of squares) for that step.
    pub effect: f64,
    /// Whether the readings tell it: the effect is at least 1 and above what the model's own error can feign.
    pub told: bool,
}

impl Identifiability {
    /// `unit` is the scatter of the standardised residuals where it is estimated, else 1.
    pub(super) fn new<M: Model>(rows: &Rows<'_, M>, at: &Converged, unit: f64) -> Self {
        let scales = rows.scales(&at.parameters);
        let scaled = scaled_columns(&at.jacobian, &scales);
        let n = scales.len();
        // Fewer readings than parameters: rows of zeros let the decomposition show the free directions, too.
        let tall = if scaled.nrows() < n { scaled.resize_vertically(n, 0.0) } else { scaled };
        let (singular, transposed) = {
            let svd = tall.svd(false, true);
            (svd.singular_values, svd.v_t)
        };
        let floor = rows.noise_floor(at);
        let directions = transposed.iter().flat_map(|v_t| {
            (0..n).map(|k| {
                let weights: Vec<f64> = v_t.row(k).iter().copied().collect();
                // The sign of a direction is arbitrary: let its largest part be positive.
                let largest =
                    weights.iter().copied().fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
                let weights: Vec<f64> = weights.iter().map(|w| w * largest.signum()).collect();
                let told = singular[k] > floor && singular[k] >= unit;
                Direction {
                    change: weights.iter().zip(&scales).map(|(w, scale)| w * scale).collect(),
                    weights,
                    effect: singular[k] / unit,
                    told,
                }
            })
        });
        let mut directions: Vec<_> = directions.collect();
        directions.sort_by(|a, b| b.effect.total_cmp(&a.effect));
        Self { names: rows.parameters.iter().map(|p| p.name.clone()).collect(), directions }
    }

    /// Combinations that the readings cannot tell.
    pub fn untold(&self) -> impl Iterator<Item = &Direction> {
        self.directions.iter().filter(|direction| !direction.told)
    }

    /// Whether the readings tell every combination.
    pub fn complete(&self) -> bool {
        self.untold().next().is_none()
    }
}

/// In words: one sentence for each combination that the readings cannot tell.
impl fmt::Display for Identifiability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        /// Parts of a direction smaller than this are left out of the sentence.
        const MINOR: f64 = 0.1;
        if self.complete() {
            return write!(f, "the readings tell all parameters");
        }
        for (i, direction) in self.untold().enumerate() {
            if i > 0 {
                write!(f, "; ")?;
            }
            let parts = self.names.iter().zip(&direction.weights).zip(&direction.change);
            let parts: Vec<String> = parts
                .filter(|((_, weight), _)| weight.abs() >= MINOR)
                .map(|((name, _), change)| format!("{name} by {change:+.3e}"))
                .collect();
            let effect = direction.effect;
            let together = if parts.len() > 1 { " together" } else { "" };
            write!(
                f,
                "changing {}{together} alters the readings by only {effect:.1e} of their uncertainty",
                parts.join(", ")
            )?;
        }
        Ok(())
    }
}
