//! A log by its curve alone: the steady state that a temperature is heading for, cut off long before it or not.
//!
//! The model is one exponential, or two where the readings ask for a second (a winding that warms quickly inside a
//! body that warms slowly): `T(t) = T∞ − a₁ e^(−t/τ₁) − a₂ e^(−t/τ₂)`, an exact solution for constant power through
//! one or two heat capacities (textbook form: Incropera et al., Fundamentals of Heat and Mass
//! Transfer, 5.2). Nothing of the magnet is in it, so it is no better than the assumption that power and surroundings
//! stay as they are.

use super::{Log, thin};
use crate::least_squares::{FitError, Noise, Parameter, Settings, Solution, fit};
use coilwright_magnet::answers::answer::{Column, Item, Series};
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::uncertainty::band::Band;
use std::convert::Infallible;

/// Longer logs are averaged down to this many points.
const MOST: usize = 240;
/// Fewer points do not make a curve.
const LEAST: usize = 6;
/// A rise below so many kelvin is no warm-up.
const LEAST_RISE_K: f64 = 2.0;
/// A second exponential has to bring the Bayesian information criterion down by this (strong evidence: Kass and
/// Raftery 1995).
const WORTH: f64 = 6.0;
/// What an exponential does not know: films grow stronger with the rise, natural convection as its quarter power and
/// radiation besides. Standard uncertainty as a share of the rise that is still to come (common practice, no source).
const FILMS: f64 = 0.2;
/// Readings this many steps apart still move together (a logger's wander); the band allows for as many.
const LAG: usize = 1;

/// One temperature against time.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmUp {
    /// What was logged.
    pub label: String,
    /// Time since the log's start, s.
    pub time_s: Vec<f64>,
    /// As read, averaged where the log was long, K.
    pub kelvin: Vec<f64>,
    /// As fitted, K.
    pub fitted: Vec<f64>,
    /// The steady state: value, standard uncertainty, 95 % interval, K. None if the log ends too early to tell.
    pub steady: Option<(f64, f64, (f64, f64))>,
    /// Time constants with their standard uncertainties, the longest first, s.
    pub time_constants: Vec<(f64, f64)>,
    /// Share of the whole rise that had been reached when the log ended.
    pub reached: f64,
}

/// Fit one log; none if it does not rise or holds too little.
pub(super) fn extrapolated(log: &Log) -> Option<WarmUp> {
    let (label, shared) = (log.label.clone(), log.shared_k);
    let (time_s, kelvin) = thin(&log.points, MOST);
    let (low, high) =
        kelvin.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |s, k| (s.0.min(*k), s.1.max(*k)));
    let span = *time_s.last()?;
    if time_s.len() < LEAST || high - low < LEAST_RISE_K || kelvin.last()? < &kelvin[0] || span <= 0.0 {
        return None;
    }
    let single = exponentials(&time_s, &kelvin, 1, span, high - low);
    let double = exponentials(&time_s, &kelvin, 2, span, high - low);
    let n = time_s.len() as f64;
    let score = |s: &Solution, k: f64| n * (s.sum_of_squares.max(f64::MIN_POSITIVE) / n).ln() + k * n.ln();
    let found = match (single, double) {
        (Ok(one), Ok(two)) if score(&one, 3.0) - score(&two, 5.0) > WORTH => Some(two),
        (Ok(one), _) => Some(one),
        (Err(_), Ok(two)) => Some(two),
        (Err(_), Err(_)) => None,
    };
    let Some(found) = found else {
        let fitted = kelvin.clone();
        return Some(WarmUp {
            label,
            time_s,
            kelvin,
            fitted,
            steady: None,
            time_constants: Vec::new(),
            reached: 0.0,
        });
    };
    let wander = wander(&found.residuals);
    let (steady, start) = (found.estimates[0].value, found.predictions[0]);
    let ended = *found.predictions.last()?;
    let films = FILMS * (steady - ended).abs();
    let standard = (found.estimates[0].standard * wander).hypot(films);
    let known = standard < steady - start;
    let (low, high) = found.interval(0, 0.95);
    let widen = |end: f64| {
        let statistical = (end - steady).abs() * wander;
        statistical.hypot(2.0 * shared).hypot(2.0 * films).copysign(end - steady)
    };
    let mut time_constants: Vec<(f64, f64)> =
        found.estimates[1..].iter().skip(1).step_by(2).map(|e| (e.value, e.standard * wander)).collect();
    time_constants.sort_by(|a, b| b.0.total_cmp(&a.0));
    let reached = (ended - start) / (steady - start);
    Some(WarmUp {
        label,
        fitted: found.predictions,
        time_s,
        kelvin,
        steady: known.then(|| (steady, standard.hypot(shared), (steady + widen(low), steady + widen(high)))),
        time_constants,
        reached,
    })
}

/// Parameters: steady state, then amplitude and time constant of each exponential.
fn exponentials(
    t: &[f64],
    y: &[f64],
    count: usize,
    span: f64,
    rise: f64,
) -> Result<Solution, FitError<Infallible>> {
    let model = |p: &[f64]| {
        Ok(t.iter().map(|t| p[0] - p[1..].chunks(2).map(|e| e[0] * (-t / e[1]).exp()).sum::<f64>()).collect())
    };
    let last = y.last().copied().unwrap_or(0.0);
    let mut parameters = vec![Parameter::new("steady state", last + 0.3 * rise).with_scale(rise)];
    for (share, time) in if count == 1 { &[(1.3, 0.6)][..] } else { &[(1.0, 0.9), (0.3, 0.08)][..] } {
        parameters.push(Parameter::new("amplitude", share * rise).positive());
        parameters.push(Parameter::new("time constant", time * span).positive());
    }
    fit(model, &parameters, y, Noise::Common, &Settings::default())
}

/// Factor on uncertainties for residuals that move together: √((1 + r)/(1 − r)) with their lag correlation, not below
/// 1 (first-order autoregression; G. E. P. Box, G. M. Jenkins, Time Series Analysis, 2.1).
pub(super) fn wander(residuals: &[f64]) -> f64 {
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let products: f64 = residuals.iter().zip(residuals.iter().skip(LAG)).map(|(a, b)| a * b).sum();
    let r = if squares > 0.0 { (products / squares).clamp(0.0, 0.98) } else { 0.0 };
    ((1.0 + r) / (1.0 - r)).sqrt()
}

impl WarmUp {
    /// Rows of an answer; `number` tells the logs apart.
    pub(crate) fn items(&self, number: usize) -> Vec<Item> {
        let key = |what: &str| format!("{what}_{number}");
        let label = |what: &str| format!("{}: {what}", self.label);
        let Some((steady, standard, (low, high))) = self.steady else {
            return vec![Item::text(
                &key("steady"),
                &label("steady state"),
                "cannot be told: the log ends too early, or power or surroundings changed",
            )];
        };
        let band = |standard, low, high| Band { standard, low, high, contributors: Vec::new() };
        let mut items = vec![
            Item::number(&key("steady"), &label("steady state"), steady, Dimension::Temperature)
                .with_band(band(standard, low, high))
                .with_note(format!("{:.0} % of the rise was reached", 100.0 * self.reached)),
        ];
        for (k, (tau, u)) in self.time_constants.iter().enumerate() {
            items.push(
                Item::number(
                    &key(&format!("time_constant_{}", k + 1)),
                    &label("time constant"),
                    *tau,
                    Dimension::Time,
                )
                .with_band(band(*u, (tau - 2.0 * u).max(0.0), tau + 2.0 * u)),
            );
        }
        items
    }

    /// The log and the curve through it.
    pub(crate) fn series(&self, number: usize) -> Series {
        Series {
            key: format!("warm_up_{number}"),
            title: format!("Warm-up: {}", self.label),
            x: Column::new("time", "time", Dimension::Time, self.time_s.clone()),
            ys: vec![
                Column::new("measured", "measured", Dimension::Temperature, self.kelvin.clone()),
                Column::new("fitted", "fitted", Dimension::Temperature, self.fitted.clone()),
            ],
            log_x: false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(label: &str, points: &[(f64, f64)]) -> Option<WarmUp> {
        extrapolated(&Log {
            label: label.into(),
            points: points.to_vec(),
            place: None,
            own_k: 0.0,
            shared_k: 0.0,
        })
    }

    /// The exact curve of one and of two exponentials is found again; cut off at 60 % of the rise.
    #[test]
    fn exact_curves_are_found_again() {
        let log = |f: &dyn Fn(f64) -> f64| {
            (0..120).map(|k| (10.0 * f64::from(k), f(10.0 * f64::from(k)))).collect::<Vec<_>>()
        };
        let single = log(&|t| 340.0 - 45.0 * (-t / 1300.0).exp() + 1e-3 * (0.9 * t).sin());
        let found = one("a", &single).unwrap();
        let (steady, u, _) = found.steady.unwrap();
        let to_come = FILMS * 45.0 * (-1190.0f64 / 1300.0).exp();
        assert!((steady - 340.0).abs() < 0.01 && (u - to_come).abs() < 0.01, "{steady} {u}");
        assert_eq!(found.time_constants.len(), 1);
        assert!((found.reached - (1.0 - (-1190.0f64 / 1300.0).exp())).abs() < 1e-3);
        let double =
            log(&|t| 350.0 - 40.0 * (-t / 1000.0).exp() - 15.0 * (-t / 60.0).exp() + 1e-3 * (0.9 * t).sin());
        let found = one("b", &double).unwrap();
        assert!((found.steady.unwrap().0 - 350.0).abs() < 0.05, "{found:?}");
        assert!(
            (found.time_constants[0].0 - 1000.0).abs() < 5.0
                && (found.time_constants[1].0 - 60.0).abs() < 1.0
        );
    }

    /// A straight rise says nothing of where it ends.
    #[test]
    fn a_straight_rise_has_no_steady_state() {
        let straight: Vec<_> = (0..60)
            .map(|k| (f64::from(k), 300.0 + 0.1 * f64::from(k) + 0.05 * (7.3 * f64::from(k)).sin()))
            .collect();
        let found = one("a", &straight).unwrap();
        if let Some((steady, u, _)) = found.steady {
            assert!(u > 0.3 * (steady - 300.0), "{steady} {u}");
        }
        let flat: Vec<_> = (0..60).map(|k| (f64::from(k), 300.0)).collect();
        assert_eq!(one("a", &flat), None);
    }
}
