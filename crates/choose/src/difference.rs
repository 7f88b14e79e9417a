//! The difference of two numbers, and its band.

use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Correlation;
use coilwright_magnet::uncertainty::band::{Band, Budget, Contributor};
use coilwright_magnet::uncertainty::measure::Measure;

/// What the numbers of two magnets have in common.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Common {
    /// Paths of uncertain inputs that are one and the same quantity for both.
    pub shared: Vec<String>,
    /// Correlations between inputs that both share.
    pub correlations: Vec<Correlation>,
    /// What the magnets are called, to say whose an input is that they do not share; nothing where that need not be said.
    pub names: [String; 2],
}

impl Common {
    fn of(&self, which: usize, label: &str) -> String {
        let name = &self.names[which];
        if name.is_empty() { label.to_owned() } else { format!("{label} of {name}") }
    }
}

/// How two numbers compare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The second is greater: all of the difference's 95 % interval is above 0.
    More,
    /// The second is less: all of the interval is below 0.
    Less,
    /// Neither is sure.
    Open,
    /// Both are exactly the same.
    Same,
}

/// `second − first`, in their unit, with its band: one standard uncertainty of what both share changes it by the
/// difference of its effects, of what each has for itself by that effect (JCGM 100:2008, 5.1.2 and 5.2.2).
pub fn difference(first: &Measure, second: &Measure, common: &Common) -> Measure {
    let value = second.value - first.value;
    let (of_first, of_second) = (effects(first, common), effects(second, common));
    let mut budget = Budget::new(value);
    let is_shared = |c: &Contributor| common.shared.contains(&c.path);
    let same = |a: &Contributor, b: &Contributor| a.path == b.path && a.label == b.label;
    for c in &of_second {
        match of_first.iter().find(|o| is_shared(c) && same(o, c)) {
            Some(other) => budget.add(&c.path, &c.label, c.effect - other.effect),
            None => budget.add(&c.path, &common.of(1, &c.label), c.effect),
        }
    }
    let met = |o: &Contributor| is_shared(o) && of_second.iter().any(|c| same(o, c));
    for o in of_first.iter().filter(|o| !met(o)) {
        budget.add(&o.path, &common.of(0, &o.label), -o.effect);
    }
    // What falls out of a difference but for rounding is none of its doubts.
    let size = first.value.abs().max(second.value.abs());
    budget.drop_below(1e-12 * size);
    let mut band = budget.band_about(value);
    if let Some(band) = &mut band {
        // Correlations that are impossible together were refused with the answers.
        band.correlate(&common.correlations);
    }
    let dimension = match first.dimension {
        Dimension::Temperature => Dimension::TemperatureDifference,
        other => other,
    };
    Measure { value, dimension, band }
}

/// Of a difference.
pub fn verdict(difference: &Measure) -> Verdict {
    let (low, high) =
        difference.band.as_ref().map_or((difference.value, difference.value), |b| (b.low, b.high));
    match () {
        () if low > 0.0 => Verdict::More,
        () if high < 0.0 => Verdict::Less,
        () if difference.value == 0.0 && difference.band.is_none() => Verdict::Same,
        () => Verdict::Open,
    }
}

/// What a number's band is made of; where samples have widened it, or correlations, every part in the same measure. What is
/// correlated for both is left as it is, and correlated in the difference.
fn effects(measure: &Measure, common: &Common) -> Vec<Contributor> {
    let Some(Band { standard, contributors, .. }) = &measure.band else { return Vec::new() };
    let together = contributors.iter().fold(0.0, |sum, c| f64::hypot(sum, c.effect));
    let scale = if together > 0.0 && common.correlations.is_empty() { standard / together } else { 1.0 };
    contributors.iter().map(|c| Contributor { effect: scale * c.effect, ..c.clone() }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measure(value: f64, parts: &[(&str, f64)]) -> Measure {
        let mut budget = Budget::new(value);
        parts.iter().for_each(|(path, effect)| budget.add(path, path, *effect));
        Measure { value, dimension: Dimension::Force, band: budget.band() }
    }

    /// By hand, from JCGM 100:2008, equation 13: u² = (3 − 4)² + 2² + 1² with the thickness shared, 3² + 4² + 2² + 1²
    /// without.
    #[test]
    fn what_is_shared_falls_out() {
        let (a, b) =
            (measure(100.0, &[("t", 3.0), ("own", 2.0)]), measure(90.0, &[("t", 4.0), ("its", 1.0)]));
        let common = Common { shared: vec!["t".into()], ..Common::default() };
        let of = |d: &Measure| (d.value, d.standard());
        let sure = difference(&a, &b, &common);
        assert!((of(&sure).1 - 6f64.sqrt()).abs() < 1e-12 && of(&sure).0 == -10.0);
        assert_eq!(verdict(&sure), Verdict::Less);
        let open = difference(&a, &b, &Common::default());
        assert!((of(&open).1 - 30f64.sqrt()).abs() < 1e-12 && of(&open).0 == -10.0);
        assert_eq!(verdict(&open), Verdict::Open);
        assert_eq!(
            verdict(&difference(&a, &a, &Common { shared: vec!["t".into(), "own".into()], ..common })),
            Verdict::Same
        );
    }

    /// By hand: two parts that make up for each other wholly leave |3 − 4| and |6 − 8|, and of the difference |3 − 4|.
    #[test]
    fn what_is_correlated_is_so_once() {
        let both = Correlation { paths: ["t".into(), "u".into()], coefficient: -1.0 };
        let correlated = |value: f64, parts: &[(&str, f64)]| {
            let mut found = measure(value, parts);
            assert!(found.band.as_mut().is_some_and(|band| band.correlate(std::slice::from_ref(&both))));
            found
        };
        let a = correlated(100.0, &[("t", 3.0), ("u", 4.0)]);
        let b = correlated(90.0, &[("t", 6.0), ("u", 8.0)]);
        let (shared, correlations) = (vec!["t".into(), "u".into()], vec![both.clone()]);
        let common = Common { shared, correlations, ..Common::default() };
        let band = difference(&a, &b, &common).band;
        assert!(band.is_some_and(|band| (band.standard - 1.0).abs() < 1e-12));
    }
}
