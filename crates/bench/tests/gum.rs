//! Uncertainty arithmetic against the worked examples of the GUM (JCGM 100:2008, annex H) and of its
//! supplement 1 (JCGM 101:2008).

use coilwright_bench::least_squares::{Noise, Parameter, Settings, fit};
use coilwright_bench::uncertainty::{
    Input, Inputs, coverage_factor, monte_carlo, propagate, propagate_with, scalar,
};
use nalgebra::DMatrix;
use std::convert::Infallible;

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// JCGM 100:2008, H.1: length of an end gauge, nm. Published: 50 000 838 nm, u 32 nm (unrounded 31.71),
/// ν_eff 16 (16.66 truncated), U₉₉ 93 nm.
#[test]
fn h1_end_gauge() {
    let inputs = Inputs::new(vec![
        Input::normal("standard length", 50_000_623.0, 25.0).with_dof(18.0),
        Input::normal("difference", 215.0, 9.7).with_dof(25.6),
        Input::normal("expansion of the standard", 11.5e-6, 1.2e-6),
        Input::normal("temperature deviation", -0.1, 0.41),
        Input::normal("difference of expansions", 0.0, 0.58e-6).with_dof(50.0),
        Input::normal("difference of temperatures", 0.0, 0.029).with_dof(2.0),
    ])
    .unwrap();
    let length = |x: &[f64]| x[0] + x[1] - x[0] * (x[4] * x[3] + x[2] * x[5]);
    let gauge = propagate(&inputs, scalar(length)).unwrap();
    near(gauge.values[0], 50_000_838.0, 0.5);
    near(gauge.standard(0), 31.71, 0.005);
    near(gauge.effective_dof(0), 16.66, 0.1);
    assert_eq!(gauge.effective_dof(0).floor(), 16.0);
    near(gauge.expanded(0, 0.99), 93.0, 0.5);

    // Sensitivities by hand (H.1.3) must give the same as differences.
    let l = 50_000_623.0;
    let c = DMatrix::from_row_slice(1, 6, &[1.0, 1.0, 0.0, 0.0, l * 0.1, -l * 11.5e-6]);
    let by_hand = propagate_with(&inputs, vec![50_000_838.0], c).unwrap();
    near(gauge.standard(0), by_hand.standard(0), 1e-3);
    let band = gauge.band(0);
    assert_eq!(band.contributors[0].path, "standard length");
    near(band.contributors.iter().map(|c| c.share).sum(), 1.0, 1e-12);
}

/// JCGM 100:2008, table H.2: five simultaneous observations.
const VOLTS: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const AMPERES: [f64; 5] = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
const PHASE: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

fn impedance(x: &[f64]) -> Result<Vec<f64>, Infallible> {
    let (v, i, phase) = (x[0], x[1], x[2]);
    Ok(vec![v / i * phase.cos(), v / i * phase.sin(), v / i])
}

/// JCGM 100:2008, H.2, table H.3: R 127.732 (u 0.071), X 219.847 (0.295), Z 254.260 (0.236) ohm; input correlations
/// −0.36, 0.86, −0.65; output correlations −0.588, −0.485, 0.993. (0.295 is truncated: unrounded 0.2956.)
#[test]
fn h2_impedance_with_correlation() {
    let inputs = Inputs::observed_together(&[("V", &VOLTS), ("I", &AMPERES), ("phase", &PHASE)]).unwrap();
    near(inputs.correlation()[(0, 1)], -0.355, 0.001);
    near(inputs.correlation()[(0, 2)], 0.858, 0.001);
    near(inputs.correlation()[(1, 2)], -0.645, 0.001);
    let z = propagate(&inputs, impedance).unwrap();
    for (k, (value, u)) in [(127.732, 0.071), (219.847, 0.295), (254.260, 0.236)].into_iter().enumerate() {
        near(z.values[k], value, 1e-3);
        near(z.standard(k), u, 1e-3);
    }
    near(z.correlation(0, 1), -0.588, 1e-3);
    near(z.correlation(0, 2), -0.485, 1e-3);
    near(z.correlation(1, 2), 0.993, 1e-3);
    // Observed together, hence the n − 1 of the observations, whatever the formula's mixture.
    near(z.effective_dof(0), 4.0, 1e-9);
}

/// The same with the correlation dropped gives 0.195, 0.201, 0.204 ohm: wrong, and this test wants it to be.
#[test]
fn h2_without_correlation_is_wrong() {
    let list = [("V", &VOLTS), ("I", &AMPERES), ("phase", &PHASE)];
    let list = list.map(|(name, values)| Input::observed(name, values).unwrap());
    let z = propagate(&Inputs::new(list.to_vec()).unwrap(), impedance).unwrap();
    for (k, (wrong, published)) in [(0.195, 0.071), (0.201, 0.295), (0.204, 0.236)].into_iter().enumerate() {
        near(z.standard(k), wrong, 1e-3);
        assert!((z.standard(k) / published - 1.0).abs() > 0.1, "output {k} should be wrong");
    }
}

/// H.2 by sampling agrees with first order within a tenth of u: the t distributions of four degrees of freedom are
/// wider by √2, so Gaussian inputs of the same covariance are used.
#[test]
fn h2_by_sampling() {
    let together = Inputs::observed_together(&[("V", &VOLTS), ("I", &AMPERES), ("phase", &PHASE)]).unwrap();
    let names: Vec<String> = together.list().iter().map(|i| i.name.clone()).collect();
    let inputs =
        Inputs::from_covariance(&names, &together.values(), &together.covariance(), f64::INFINITY).unwrap();
    let first = propagate(&inputs, impedance).unwrap();
    let sampled = monte_carlo(&inputs, 20_000, 1, impedance).unwrap();
    for k in 0..3 {
        let summary = sampled.summary(k, 0.95);
        near(summary.mean, first.values[k], 0.02 * first.standard(k));
        near(summary.standard, first.standard(k), 0.01 * first.standard(k));
        assert_eq!(sampled.disagreement(&first, k), None);
    }
    near(sampled.correlation()[(1, 2)], 0.993, 2e-3);
    near(sampled.correlation()[(0, 1)], -0.588, 0.02);
}

/// JCGM 100:2008, H.3: calibration line of a thermometer. Data of table H.6 from memory; the fit reproduces every
/// published result: intercept −0.1712 (0.0029) °C, slope 0.00218 (0.00067), r −0.930, s 0.0035 °C,
/// correction at 30 °C −0.1494 (0.0041) °C.
#[test]
fn h3_thermometer() {
    let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let line = |p: &[f64]| Ok::<_, Infallible>(t.iter().map(|t| p[0] + p[1] * (t - 20.0)).collect());
    let start = [Parameter::new("intercept", -0.1), Parameter::new("slope", 0.01)];
    let solution = fit(line, &start, &b, Noise::Common, &Settings::default()).unwrap();
    near(solution.estimates[0].value, -0.1712, 5e-5);
    near(solution.estimates[0].standard, 0.0029, 5e-5);
    near(solution.estimates[1].value, 0.00218, 5e-6);
    near(solution.estimates[1].standard, 0.00067, 5e-6);
    near(solution.correlation(0, 1), -0.930, 5e-4);
    near(solution.scatter, 0.0035, 5e-5);
    let at_30 = solution.predict(scalar(|p| p[0] + p[1] * 10.0)).unwrap();
    near(at_30.values[0], -0.1494, 5e-5);
    near(at_30.standard(0), 0.0041, 5e-5);
    near(at_30.effective_dof(0), 9.0, 1e-9);
    // Without the covariance of intercept and slope the correction would seem less sure than it is.
    let apart: f64 = (0..2).map(|i| solution.covariance[(i, i)] * [1.0, 100.0][i]).sum();
    near(apart.sqrt(), 0.0073, 1e-4);
}

/// JCGM 101:2008, 9.2: the sum of four inputs of zero mean and unit standard deviation. Gaussian: ±3.92 (table 2);
/// rectangular: ±3.88 (table 3), exactly 2√3 (2 − (3/5)^¼).
#[test]
fn s1_sums() {
    let sum = |x: &[f64]| Ok::<_, Infallible>(vec![x.iter().sum::<f64>()]);
    let four =
        |input: fn(String) -> Input| Inputs::new((1..=4).map(|i| input(format!("x{i}"))).collect()).unwrap();
    let exact = 2.0 * 3f64.sqrt() * (2.0 - 0.6f64.powf(0.25));
    near(exact, 3.88, 0.005);
    for (inputs, end) in [
        (four(|name| Input::normal(name, 0.0, 1.0)), 3.92),
        (four(|name| Input::rectangular(name, 0.0, 3f64.sqrt())), exact),
    ] {
        let summary = monte_carlo(&inputs, 200_000, 1, sum).unwrap().summary(0, 0.95);
        near(summary.mean, 0.0, 1e-3);
        near(summary.standard, 2.0, 0.01);
        near(summary.symmetric.1, end, 0.02);
        near(summary.symmetric.0, -end, 0.02);
        near(summary.shortest.1 - summary.shortest.0, 2.0 * end, 0.04);
        near(propagate(&inputs, sum).unwrap().standard(0), 2.0, 1e-12);
    }
}

/// JCGM 100:2008, G.4.1: four equal contributions of 10 degrees of freedom have 40; t₉₉(16) = 2.92.
#[test]
fn welch_satterthwaite() {
    let list = (0..4).map(|i| Input::normal(format!("x{i}"), 0.0, 1.0).with_dof(10.0)).collect();
    let sum = propagate(&Inputs::new(list).unwrap(), scalar(|x| x.iter().sum())).unwrap();
    near(sum.effective_dof(0), 40.0, 1e-9);
    near(coverage_factor(0.99, 16.0), 2.92, 0.005);
}
