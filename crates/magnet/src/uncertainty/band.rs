//! How sure a number is: standard uncertainty, 95 % interval, and what contributes.

use crate::sheet::Correlation;
use crate::uncertainty::input::Input;
use schemars::JsonSchema;
use serde::Serialize;

/// Relative size below which an uncertainty is rounding.
pub(crate) const ROUNDING: f64 = 1e-9;
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
    /// Share of the variance; they add up to 1. Below 0 where a correlated input makes up for others.
    pub share: f64,
}

/// Variance of a value from the effects at paths and the correlations between these (JCGM 100:2008, equation 16); below 0
/// if the correlations are impossible together.
pub(crate) fn combined_variance(effects: &[(&str, f64)], correlations: &[Correlation]) -> f64 {
    let at = |path: &str| effects.iter().filter(|e| e.0 == path).map(|e| e.1).sum::<f64>();
    let own: f64 = effects.iter().map(|e| e.1 * e.1).sum();
    let mixed = correlations.iter().map(|c| 2.0 * c.coefficient * at(&c.paths[0]) * at(&c.paths[1]));
    own + mixed.sum::<f64>()
}

/// Share of a value beyond which its assumed standard uncertainty is wide.
const WIDE: f64 = 0.25;

/// An assumed value moved by so many standard uncertainties; by a factor where these are wide.
pub(crate) fn assumed_otherwise(value: f64, standard: f64, deviates: f64) -> f64 {
    if value > 0.0 && standard > WIDE * value {
        return value * ((standard / value).ln_1p() * deviates).exp();
    }
    value + deviates * standard
}

impl Band {
    /// The band of a value known beforehand, by its standard uncertainty alone.
    pub fn about(value: f64, standard: f64) -> Self {
        let half = COVERAGE * standard;
        Self { standard, low: value - half, high: value + half, contributors: Vec::new() }
    }

    /// The band of a value that is assumed: what is assumed so widely that it could pass through nothing (an emissivity, a
    /// gap) is known up to a factor.
    pub fn assumed(value: f64, standard: f64) -> Self {
        let at = |deviates| assumed_otherwise(value, standard, deviates);
        Self { low: at(-COVERAGE), high: at(COVERAGE), ..Self::about(value, standard) }
    }

    /// The band of the value with the other sign.
    pub(crate) fn negative(&self) -> Self {
        let turned = |c: &Contributor| Contributor { effect: -c.effect, ..c.clone() };
        let contributors = self.contributors.iter().map(turned).collect();
        Self { standard: self.standard, low: -self.high, high: -self.low, contributors }
    }

    /// The same where the value can be no less and no more than two limits: they cut the interval.
    pub fn cut(self, [least, most]: [f64; 2]) -> Self {
        Self { low: self.low.max(least), high: self.high.min(most), ..self }
    }

    /// Combine the contributors anew, with correlations between their paths (JCGM 100:2008, 5.2.2, equation 16).
    /// Effects at one path are of one quantity only if it stands in the correlations' pairs once.
    ///
    /// Gives back false, and changes nothing, if the correlations are impossible together: a variance below 0.
    pub fn correlate(&mut self, correlations: &[Correlation]) -> bool {
        let weights: Vec<f64> = (self.contributors.iter())
            .map(|c| c.effect * (c.effect + self.by_others(&c.path, correlations)))
            .collect();
        let variance: f64 = weights.iter().sum();
        let independent: f64 = self.contributors.iter().map(|c| c.effect * c.effect).sum();
        if variance < -1e-9 * independent {
            return false;
        }
        if variance <= 0.0 || variance == independent {
            return true;
        }
        let scale = (variance / independent).sqrt();
        let middle = 0.5 * (self.low + self.high);
        self.standard *= scale;
        self.low = middle + scale * (self.low - middle);
        self.high = middle + scale * (self.high - middle);
        for (c, weight) in self.contributors.iter_mut().zip(weights) {
            c.share = weight / variance;
        }
        self.contributors.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.path.cmp(&b.path)));
        true
    }

    /// Standard uncertainty that would remain if the quantity of a path were exactly known, and what goes with it known
    /// as much better as that tells: the conditional variance of jointly Gaussian errors.
    pub(crate) fn remaining(&self, path: &str, correlations: &[Correlation]) -> f64 {
        let own: f64 = self.contributors.iter().filter(|c| c.path == path).map(|c| c.effect).sum();
        let told = own + self.by_others(path, correlations);
        (self.standard.powi(2) - told.powi(2)).max(0.0).sqrt()
    }

    /// What the other contributors change on average for one standard uncertainty at a path.
    fn by_others(&self, path: &str, correlations: &[Correlation]) -> f64 {
        let r = |a: &str| correlations.iter().find(|c| c.is_of(a, path)).map_or(0.0, |c| c.coefficient);
        self.contributors.iter().map(|o| r(&o.path) * o.effect).sum()
    }
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

    /// The same relative uncertainties of another value.
    pub(crate) fn of(&self, value: f64) -> Self {
        let mut other = self.clone();
        other.effects.iter_mut().for_each(|c| c.effect *= value / self.value);
        Self { value, ..other }
    }

    /// Combined standard uncertainty: the root of the sum of squares (JCGM 100:2008, equation 10).
    pub fn standard(&self) -> f64 {
        self.effects.iter().fold(0.0, |sum, c| f64::hypot(sum, c.effect))
    }

    /// The band about the value; none if nothing contributes but rounding.
    pub fn band(&self) -> Option<Band> {
        self.band_about(self.value)
    }

    /// The band about a value as it is shown, such as a rounded count.
    pub fn band_about(&self, value: f64) -> Option<Band> {
        let standard = self.standard();
        if standard <= ROUNDING * value.abs() {
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
    use crate::quantity::Dimension;
    use crate::uncertainty::input::ANY;

    fn input(path: &str, value: f64, standard: f64) -> Input {
        Input {
            path: path.into(),
            label: path.into(),
            value,
            standard,
            dimension: Dimension::Ratio,
            limits: ANY,
        }
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

    /// JCGM 100:2008, annex H.2, table H.4: with the correlations of table H.3 the resistance of 127.732 Ω has a
    /// standard uncertainty of 0.071 Ω; without them it would be 0.19 Ω.
    #[test]
    fn correlations_of_the_guide() {
        let (v, i, phi) = (4.9990, 19.661e-3, 1.04446);
        let (uv, ui, up) = (0.0032, 0.0095e-3, 0.00075);
        let r = v / i * f64::cos(phi);
        let mut budget = Budget::new(r);
        budget.add("drive.voltage", "V", r / v * uv);
        budget.add("drive.current", "I", -r / i * ui);
        budget.add("probe.angle", "phi", -r * f64::tan(phi) * up);
        let mut band = budget.band().unwrap();
        assert!(band.standard > 0.19, "{}", band.standard);
        let pair = |a: &str, b: &str, coefficient| Correlation { paths: [a.into(), b.into()], coefficient };
        let correlations = [
            pair("drive.voltage", "drive.current", -0.36),
            pair("probe.angle", "drive.voltage", 0.86),
            pair("drive.current", "probe.angle", -0.65),
        ];
        assert!(band.correlate(&correlations));
        // The coefficients are printed to two digits: half a unit of each moves the result by up to 0.0015.
        assert!((band.standard - 0.071).abs() < 1.5e-3, "{}", band.standard);
        let effects: Vec<(&str, f64)> =
            band.contributors.iter().map(|c| (c.path.as_str(), c.effect)).collect();
        assert!((combined_variance(&effects, &correlations).sqrt() / band.standard - 1.0).abs() < 1e-12);
        assert!((band.high - band.low - 4.0 * band.standard).abs() < 1e-12);
        assert!((band.contributors.iter().map(|c| c.share).sum::<f64>() - 1.0).abs() < 1e-12);
        // By the covariances of the guide: u²(R) − cov(R, V)²/u²(V).
        let told = r / v * uv - 0.36 * -r / i * ui + 0.86 * -r * f64::tan(phi) * up;
        let remaining = (band.standard.powi(2) - told.powi(2)).sqrt();
        assert!((band.remaining("drive.voltage", &correlations) - remaining).abs() < 1e-12);
        // Two errors of the same sign that go together and against each other at once.
        let impossible = [
            pair("drive.voltage", "drive.current", 1.0),
            pair("probe.angle", "drive.voltage", 1.0),
            pair("drive.current", "probe.angle", -1.0),
        ];
        let mut budget = Budget::new(0.0);
        budget.add("drive.voltage", "V", -1.0);
        budget.add("drive.current", "I", 1.0);
        budget.add("probe.angle", "phi", 1.0);
        let mut band = budget.band().unwrap();
        let before = band.clone();
        assert!(!band.correlate(&impossible));
        assert_eq!(band, before);
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
        let mut rounding = Budget::new(0.8);
        rounding.add("drive.voltage", "V", 1.1e-16);
        assert_eq!(rounding.band(), None, "rounding is no uncertainty");
    }
}
