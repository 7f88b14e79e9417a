//! How sure a number is: standard uncertainty, 95 % interval, and what contributes.

use crate::answer::Measure;
use crate::magnet::Input;
use crate::quantity::Dimension;
use schemars::JsonSchema;
use serde::Serialize;

/// Coverage factor of the 95 % interval (JCGM 100:2008, 6.3.3).
const COVERAGE: f64 = 2.0;

/// The uncertainty of one value, in the value's own unit (JCGM 100:2008, 6.2: coverage factor 2 unless said).
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Band {
    /// Combined standard uncertainty, in the unit of the value.
    pub standard: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// What contributes, the largest share of the variance first.
    pub contributors: Vec<Contributor>,
}

/// One uncertain input's part in a band.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Contributor {
    /// Path of the input in the sheet, such as `body.pole_diameter`, or `solver` for the numerical error.
    pub path: String,
    /// What a person calls it.
    pub label: String,
    /// Change of the value for one standard uncertainty of the input, in the unit of the value (signed).
    pub effect: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
}

/// The uncertainty budget of one value: independent effects, added one by one, combined at the end.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// The value itself, SI.
    pub value: f64,
    /// Labels of inputs whose effect could not be found; the band lacks them.
    pub unknown: Vec<String>,
    effects: Vec<Contributor>,
}

impl Budget {
    /// A value with nothing against it yet.
    pub fn new(value: f64) -> Self {
        Self { value, unknown: Vec::new(), effects: Vec::new() }
    }

    /// Add an independent contributor: the change of the value for one standard uncertainty of it, in the value's
    /// unit. No change is no contributor; an infinite or undefined one counts as unknown.
    pub fn add(&mut self, path: &str, label: &str, effect: f64) {
        if !effect.is_finite() {
            self.unknown.push(label.into());
        } else if effect != 0.0 {
            self.effects.push(Contributor { path: path.into(), label: label.into(), effect, share: 0.0 });
        }
    }

    /// Forget effects smaller than this: rounding.
    pub fn drop_below(&mut self, effect: f64) {
        self.effects.retain(|c| c.effect.abs() >= effect);
    }

    /// Combined standard uncertainty: the root of the sum of squares (JCGM 100:2008, equation 10).
    pub fn standard(&self) -> f64 {
        self.effects.iter().fold(0.0, |sum, c| f64::hypot(sum, c.effect))
    }

    /// The band about the value; none if nothing contributes.
    pub fn band(&self) -> Option<Band> {
        self.band_about(self.value)
    }

    /// The band about a value as it is shown, such as a rounded count.
    pub fn band_about(&self, value: f64) -> Option<Band> {
        let standard = self.standard();
        if standard == 0.0 {
            return None;
        }
        let mut contributors = self.effects.clone();
        for c in &mut contributors {
            c.share = (c.effect / standard).powi(2);
        }
        contributors.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.path.cmp(&b.path)));
        let half = COVERAGE * standard;
        Some(Band { standard, low: value - half, high: value + half, contributors })
    }

    /// The value with its band.
    pub fn measure(&self, dimension: Dimension) -> Measure {
        Measure { value: self.value, dimension, band: self.band() }
    }

    /// What the standard uncertainty would be if everything at a path were exactly known.
    pub fn standard_without(&self, path: &str) -> f64 {
        self.effects.iter().filter(|c| c.path != path).fold(0.0, |sum, c| f64::hypot(sum, c.effect))
    }
}

/// First-order propagation of every input's standard uncertainty to several values at once.
///
/// `evaluate(k, x)` gives the values with input `k` at `x` (SI) and all else as it is; `None` where that cannot be.
/// The effect is half the difference between one standard uncertainty up and down (JCGM 100:2008, 5.1.3 note 2),
/// or the whole of the one side that can be, where a shift meets a limit (a winding that would no longer fit). An
/// input of which neither side can be stands in [`Budget::unknown`].
pub fn propagate(
    values: &[f64],
    inputs: &[Input],
    mut evaluate: impl FnMut(usize, f64) -> Option<Vec<f64>>,
) -> Vec<Budget> {
    let mut budgets: Vec<Budget> = values.iter().copied().map(Budget::new).collect();
    for (k, input) in inputs.iter().enumerate().filter(|(_, i)| i.standard > 0.0) {
        let up = evaluate(k, input.value + input.standard);
        let down = evaluate(k, input.value - input.standard);
        for (i, budget) in budgets.iter_mut().enumerate() {
            let side = |values: &Option<Vec<f64>>| values.as_ref().and_then(|v| v.get(i).copied());
            let effect = match (side(&up), side(&down)) {
                (Some(up), Some(down)) => 0.5 * (up - down),
                (Some(up), None) => up - budget.value,
                (None, Some(down)) => budget.value - down,
                (None, None) => f64::NAN,
            };
            budget.add(&input.path, &input.label, effect);
        }
    }
    budgets
}

#[cfg(test)]
mod tests {
    use super::*;

    fn input(path: &str, value: f64, standard: f64) -> Input {
        Input { path: path.into(), label: path.into(), value, standard, dimension: Dimension::Ratio }
    }

    /// JCGM 100:2008, annex H.2 without its correlations: R = V/I cos φ with the means and standard uncertainties of
    /// table H.3; the sensitivities there are R/V, −R/I and −R tan φ.
    #[test]
    fn resistance_of_the_guide() {
        let (v, i, phi) = (4.9990, 19.661e-3, 1.04446);
        let (uv, ui, up) = (0.0032, 0.0095e-3, 0.00075);
        let inputs = [input("v", v, uv), input("i", i, ui), input("phi", phi, up)];
        let r = v / i * phi.cos();
        let budgets = propagate(&[r], &inputs, |k, x| {
            let mut at = [v, i, phi];
            at[k] = x;
            Some(vec![at[0] / at[1] * at[2].cos()])
        });
        let effects = [r / v * uv, -r / i * ui, -r * phi.tan() * up];
        let band = budgets[0].band().unwrap();
        for (path, effect) in ["v", "i", "phi"].into_iter().zip(effects) {
            let c = band.contributors.iter().find(|c| c.path == path).unwrap();
            assert!((c.effect / effect - 1.0).abs() < 1e-5, "{path}: {} for {effect}", c.effect);
        }
        let standard = effects.iter().map(|e| e * e).sum::<f64>().sqrt();
        assert!((band.standard / standard - 1.0).abs() < 1e-5);
        assert!((band.contributors.iter().map(|c| c.share).sum::<f64>() - 1.0).abs() < 1e-12);
        assert_eq!(band.contributors[0].path, "phi");
        assert!((budgets[0].standard_without("phi") - effects[0].hypot(effects[1])).abs() < 1e-4 * standard);
    }

    #[test]
    fn limits_and_dead_ends() {
        let inputs = [
            input("up", 1.0, 0.1),
            input("down", 1.0, 0.1),
            input("dead", 1.0, 0.1),
            input("idle", 1.0, 0.1),
        ];
        let budgets = propagate(&[3.0], &inputs, |k, x| match k {
            0 => (x < 1.0).then(|| vec![3.0 * x]),
            1 => (x > 1.0).then(|| vec![3.0 * x]),
            2 => None,
            _ => Some(vec![3.0]),
        });
        let band = budgets[0].band().unwrap();
        assert_eq!(band.contributors.len(), 2);
        assert!(band.contributors.iter().all(|c| (c.effect - 0.3).abs() < 1e-12));
        assert_eq!(budgets[0].unknown, ["dead"]);
        assert_eq!(Budget::new(1.0).band(), None);
    }
}
