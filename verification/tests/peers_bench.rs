//! Uncertainty and fits beside general-purpose libraries from PyPI: `uncertainties` and SciPy.
//!
//! See `peer/mod.rs` for what this needs.

mod peer;

use coilwright_bench::least_squares::{Noise, Parameter, Settings, Solution, fit};
use coilwright_bench::uncertainty::{Input, Inputs, propagate};
use serde_json::Value;
use std::convert::Infallible;

fn answers(script: &str) -> Option<Vec<Value>> {
    Some(peer::answer(script, &[])?["answers"].as_array().expect("a list").clone())
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// Compares values and covariance: a covariance against the product of its two standard uncertainties.
fn assert_same(
    what: &str,
    peer: &Value,
    values: &[f64],
    covariance: impl Fn(usize, usize) -> f64,
    tolerance: (f64, f64),
) {
    for (i, value) in values.iter().enumerate() {
        let theirs = number(&peer["values"][i]);
        assert!((value / theirs - 1.0).abs() <= tolerance.0, "{what}, value {i}: {value} for {theirs}");
        for j in 0..values.len() {
            let theirs = |a: usize, b: usize| number(&peer["covariance"][a][b]);
            let scale = (theirs(i, i) * theirs(j, j)).sqrt();
            let off = (covariance(i, j) - theirs(i, j)).abs() / scale;
            assert!(
                off <= tolerance.1,
                "{what}, covariance {i} {j}: {} for {}",
                covariance(i, j),
                theirs(i, j)
            );
        }
    }
}

/// Tolerance 1e-3 of the standard uncertainty: ours are differences over one standard uncertainty to either side (JCGM
/// 100:2008, 5.1.3 note 2), theirs exact derivatives; over 0.4 % of an input they differ in the fifth digit.
#[test]
fn propagation_beside_uncertainties() {
    let Some(answers) = answers("uncertainty_peer.py") else { return };
    let inputs = Inputs::new(vec![
        Input::normal("V", 24.02, 0.05),
        Input::normal("I", 0.4993, 0.0021),
        Input::normal("T", 23.1, 0.6),
    ]);
    let inputs = inputs.expect("sound").correlate("V", "I", 0.5).expect("possible");
    let ours =
        propagate(&inputs, |x| Ok::<_, Infallible>(vec![x[0] / x[1] * 254.5 / (234.5 + x[2]), x[0] * x[1]]));
    let ours = ours.expect("a model of closed form");
    assert_same("supply", &answers[0], &ours.values, |i, j| ours.covariance[(i, j)], (1e-12, 1e-3));

    let inputs = Inputs::new(vec![
        Input::normal("gain", 1.0, 0.004),
        Input::normal("cold", 48.1, 0.03),
        Input::normal("hot", 57.3, 0.03),
        Input::normal("start", 22.0, 0.5),
    ]);
    let winding = |x: &[f64]| {
        let hot = (x[2] * x[0]) / (x[1] * x[0]) * (234.5 + x[3]) - 234.5;
        Ok::<_, Infallible>(vec![hot, hot - x[3]])
    };
    let ours = propagate(&inputs.expect("sound"), winding).expect("a model of closed form");
    assert_same("winding", &answers[1], &ours.values, |i, j| ours.covariance[(i, j)], (1e-12, 1e-3));
}

/// Tolerance 1e-5 on values and 1e-3 on the covariance: SciPy's derivatives are forward differences.
#[test]
fn fits_beside_scipy() {
    let Some(answers) = answers("fit_peer.py") else { return };
    let curve = |p: &[f64], t: f64| p[0] - p[1] * (-t / p[2]).exp() - p[3] * (-t / p[4]).exp();
    let truth = [71.0, 38.0, 1300.0, 11.0, 120.0];
    let t: Vec<f64> = (0..80).map(|k| 30.0 * f64::from(k)).collect();
    let y: Vec<f64> = (0..80)
        .map(|k| (f64::from(k), t[k as usize]))
        .map(|(k, t)| curve(&truth, t) + 0.2 * (7.3 * k).sin() + 0.1 * (2.9 * k * k).cos())
        .collect();
    let start = [("steady", 80.0), ("a1", 40.0), ("tau1", 1500.0), ("a2", 10.0), ("tau2", 100.0)];
    let start: Vec<Parameter> = start.iter().map(|(name, x)| Parameter::new(*name, *x)).collect();
    let model = |p: &[f64]| Ok::<_, Infallible>(t.iter().map(|t| curve(p, *t)).collect::<Vec<f64>>());
    let ours = fit(model, &start, &y, Noise::Common, &Settings::default()).expect("converges");
    assert_fit("warm-up", &answers[0], &ours);

    let amperes = [0.1, 0.2, 0.3, 0.4];
    let field =
        |p: &[f64]| Ok::<_, Infallible>(amperes.map(|i| 1.2566 * p[0] * i / (2.0 * p[1] + 0.1)).to_vec());
    let mut read = field(&[923.0, 0.317]).expect("a formula");
    for (k, y) in read.iter_mut().enumerate() {
        *y += 3.0 * (k as f64 + 1.0).sin();
    }
    let start = [
        Parameter::new("turns", 900.0).with_prior(900.0, 30.0),
        Parameter::new("gap", 0.3).with_prior(0.3, 0.03),
    ];
    let ours = fit(field, &start, &read, Noise::Known(&[3.0; 4]), &Settings::default()).expect("converges");
    assert_fit("circuit", &answers[1], &ours);
}

fn assert_fit(what: &str, peer: &Value, ours: &Solution) {
    assert_same(what, peer, &ours.values(), |i, j| ours.covariance[(i, j)], (1e-5, 1e-3));
}
