//! Least squares: outliers, priors, bounds, what cannot be told, and the errors.

use coilwright_bench::least_squares::{FitError, Noise, Parameter, Robust, Settings, fit};
use std::convert::Infallible;

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Stack-loss data (Brownlee 1965, *Statistical Theory and Methodology*, 2nd ed., p. 454): air flow, water
/// temperature, acid concentration, loss.
const STACK_LOSS: [[f64; 4]; 21] = [
    [80., 27., 89., 42.],
    [80., 27., 88., 37.],
    [75., 25., 90., 37.],
    [62., 24., 87., 28.],
    [62., 22., 87., 18.],
    [62., 23., 87., 18.],
    [62., 24., 93., 19.],
    [62., 24., 93., 20.],
    [58., 23., 87., 15.],
    [58., 18., 80., 14.],
    [58., 18., 89., 14.],
    [58., 17., 88., 13.],
    [58., 18., 82., 11.],
    [58., 19., 93., 12.],
    [50., 18., 89., 8.],
    [50., 18., 86., 7.],
    [50., 19., 72., 8.],
    [50., 19., 79., 8.],
    [50., 20., 80., 9.],
    [56., 20., 82., 15.],
    [70., 20., 91., 15.],
];

/// Expected: statsmodels 0.14 (PyPI), `RLM(..., M).fit(cov="H1")`, a general-purpose statistics library; the same
/// coefficients stand in the examples of Venables and Ripley's MASS (from memory).
#[test]
fn robust_losses_agree_with_statsmodels() {
    let cases = [
        (
            Robust::Huber,
            [-41.026_498_35, 0.829_384_335, 0.926_065_966, -0.127_846_725],
            [9.791_898_54, 0.111_005_213, 0.302_930_163, 0.128_649_615],
            2.440_536_09,
            0.368_081_692,
        ),
        (
            Robust::Tukey,
            [-42.285_350_8, 0.927_557_323, 0.650_717_687, -0.112_333_154],
            [9.504_491_92, 0.107_747_047, 0.294_038_719, 0.124_873_560],
            2.281_881_34,
            0.002_220_389_97,
        ),
    ];
    let model = |b: &[f64]| {
        let row = |r: &[f64; 4]| b[0] + b[1] * r[0] + b[2] * r[1] + b[3] * r[2];
        Ok::<_, Infallible>(STACK_LOSS.iter().map(row).collect())
    };
    let loss: Vec<f64> = STACK_LOSS.iter().map(|row| row[3]).collect();
    let start = ["intercept", "air", "water", "acid"].map(|name| Parameter::new(name, 1.0));
    for (robust, b, se, scale, last_weight) in cases {
        let settings = Settings { robust, precision: 1e-9, ..Settings::default() };
        let solution = fit(model, &start, &loss, Noise::Common, &settings).unwrap();
        for i in 0..4 {
            near(solution.estimates[i].value / b[i], 1.0, 1e-6);
            near(solution.estimates[i].standard / se[i], 1.0, 1e-6);
        }
        near(solution.scatter, scale, 1e-6);
        // Its weights are those of the iteration before its coefficients, hence fewer digits. A full weight is 1.
        near(solution.weights[20], last_weight, 2e-5);
        // Observation 21 is the one that every robust analysis of these data finds.
        assert!(solution.outliers.contains(&20), "{robust:?}: {:?}", solution.outliers);
        assert!(solution.outliers.iter().all(|i| [3, 20].contains(i)), "{:?}", solution.outliers);
    }
}

/// One reading in gauss among millitesla does not move a robust fit, and is named.
#[test]
fn a_gross_error_is_flagged() {
    let x: Vec<f64> = (1..=20).map(f64::from).collect();
    let mut y: Vec<f64> = x.iter().map(|x| 3.0 * x + 0.01 * (7.0 * x).sin()).collect();
    y[11] *= 10.0;
    let line = |p: &[f64]| Ok::<_, Infallible>(x.iter().map(|x| p[0] * x).collect());
    let sigma = vec![0.01; 20];
    let start = [Parameter::new("slope", 1.0)];
    let plain = fit(line, &start, &y, Noise::Known(&sigma), &Settings::default()).unwrap();
    assert!((plain.estimates[0].value - 3.0).abs() > 0.5);
    assert!(plain.plausibility.unwrap() < 1e-6);
    let settings = Settings { robust: Robust::Tukey, ..Settings::default() };
    let robust = fit(line, &start, &y, Noise::Known(&sigma), &settings).unwrap();
    near(robust.estimates[0].value, 3.0, 1e-3);
    assert_eq!(robust.outliers, [11]);
    assert_eq!(robust.weights[11], 0.0);
}

/// A prior on a parameter that is also read directly: the weighted mean, `1/u² = 1/u₁² + 1/u₂²`.
#[test]
fn a_prior_is_one_more_reading() {
    let constant = |p: &[f64]| Ok::<_, Infallible>(vec![p[0]]);
    let start = [Parameter::new("resistance", 50.0).with_prior(52.0, 2.0)];
    let solution = fit(constant, &start, &[50.0], Noise::Known(&[1.0]), &Settings::default()).unwrap();
    near(solution.estimates[0].value, (52.0 / 4.0 + 50.0) / 1.25, 1e-9);
    near(solution.estimates[0].standard, 1.0 / 1.25f64.sqrt(), 1e-9);
    near(solution.prior_squares + solution.sum_of_squares, 4.0 / 5.0, 1e-9);
    assert_eq!(solution.dof, 1);
}

/// Far field of a coil read at several currents is `turns × area × current`: turns and area come only as a product.
#[test]
fn a_product_cannot_be_told_apart() {
    let amperes = [0.5, 1.0, 1.5, 2.0];
    let model = |p: &[f64]| Ok::<_, Infallible>(amperes.iter().map(|i| p[0] * p[1] * i).collect());
    let readings = amperes.map(|i| 900.0 * 3e-4 * i);
    let sigma = [1e-3; 4];
    let free = [Parameter::new("turns", 800.0), Parameter::new("area", 4e-4)];
    let Err(FitError::Unidentifiable(statement)) =
        fit(model, &free, &readings, Noise::Known(&sigma), &Settings::default())
    else {
        panic!("turns and area must not be told apart")
    };
    let untold: Vec<_> = statement.untold().collect();
    assert_eq!(untold.len(), 1);
    // More turns and less area by the same fraction: in relative units (1, −1)/√2.
    near(untold[0].weights[0].abs(), 0.5f64.sqrt(), 1e-6);
    near(untold[0].weights[0], -untold[0].weights[1], 1e-6);
    let words = statement.to_string();
    assert!(words.contains("turns by +") && words.contains("area by -"), "{words}");

    // With what the sheet knows beforehand there is an answer, and the statement stands beside it.
    let known = [free[0].clone().with_prior(880.0, 40.0), free[1].clone().with_prior(3.1e-4, 0.1e-4)];
    let solution = fit(model, &known, &readings, Noise::Known(&sigma), &Settings::default()).unwrap();
    assert_eq!(solution.identifiability.untold().count(), 1);
    near(solution.correlation(0, 1), -1.0, 0.02);
    let product = solution.predict(|p: &[f64]| Ok::<_, Infallible>(vec![p[0] * p[1]])).unwrap();
    near(product.values[0], 0.27, 1e-4);
    // The product is as sure as the readings make it, Σ = σ/√(Σ I²), far surer than either factor.
    near(product.standard(0), 1e-3 / 7.5f64.sqrt(), 1e-5);
}

/// A parameter that no reading depends on is named alone.
#[test]
fn a_parameter_without_effect_is_named() {
    let model = |p: &[f64]| Ok::<_, Infallible>(vec![p[0], 2.0 * p[0], 3.0 * p[0]]);
    let start = [Parameter::new("gain", 1.0), Parameter::new("ambient", 293.0)];
    let Err(FitError::Unidentifiable(statement)) =
        fit(model, &start, &[1.0, 2.0, 3.0], Noise::Known(&[0.1; 3]), &Settings::default())
    else {
        panic!("`ambient` has no effect")
    };
    let untold: Vec<_> = statement.untold().collect();
    assert_eq!(untold.len(), 1);
    near(untold[0].weights[1], 1.0, 1e-9);
}

/// A cooling curve fitted with bounds gives what it gives without, and the interval stays inside the bounds.
#[test]
fn bounds_do_not_bias() {
    let t: Vec<f64> = (0..15).map(|i| 60.0 * f64::from(i)).collect();
    let model = |p: &[f64]| Ok::<_, Infallible>(t.iter().map(|t| p[0] * (1.0 - (-t / p[1]).exp())).collect());
    let y: Vec<f64> = t.iter().map(|t| 60.0 * (1.0 - (-t / 420.0).exp()) + 0.3 * (t * 0.11).cos()).collect();
    let free = [Parameter::new("rise", 50.0), Parameter::new("time constant", 300.0)];
    let bound = [free[0].clone().positive(), free[1].clone().between(200.0, 460.0)];
    let settings = Settings { precision: 1e-8, ..Settings::default() };
    let a = fit(model, &free, &y, Noise::Common, &settings).unwrap();
    let b = fit(model, &bound, &y, Noise::Common, &settings).unwrap();
    for i in 0..2 {
        near(b.estimates[i].value / a.estimates[i].value, 1.0, 1e-7);
        near(b.estimates[i].standard / a.estimates[i].standard, 1.0, 1e-6);
    }
    let (low, high) = b.interval(1, 0.999_999_9);
    assert!(200.0 < low && low < high && high < 460.0);
    // A bound that excludes the answer is an error that names it.
    let excluded = [free[0].clone(), free[1].clone().between(200.0, 350.0)];
    match fit(model, &excluded, &y, Noise::Common, &settings) {
        Err(FitError::AtBound { name, bound }) => {
            assert_eq!((name.as_str(), bound), ("time constant", 350.0))
        }
        other => panic!("{other:?}"),
    }
}

/// A model's own error comes through as it is.
#[test]
fn errors_are_types() {
    let settings = Settings::default();
    let start = [Parameter::new("a", 1.0)];
    let broken = |_: &[f64]| Err::<Vec<f64>, _>("no field");
    let result = fit(broken, &start, &[1.0], Noise::Known(&[1.0]), &settings);
    assert!(matches!(result, Err(FitError::Model { error: "no field", .. })));
    let good = |p: &[f64]| Ok::<_, Infallible>(vec![p[0]; 2]);
    let run = |start: &[Parameter], y: &[f64], noise: Noise<'_>| fit(good, start, y, noise, &settings);
    assert!(matches!(run(&start, &[1.0, f64::NAN], Noise::Common), Err(FitError::BadReading(1))));
    assert!(matches!(run(&start, &[1.0, 1.0], Noise::Known(&[1.0, 0.0])), Err(FitError::BadReading(1))));
    assert!(matches!(run(&start, &[1.0, 1.0], Noise::Known(&[1.0])), Err(FitError::Unpaired { .. })));
    assert!(matches!(run(&start, &[1.0], Noise::Common), Err(FitError::TooFewReadings { .. })));
    assert!(matches!(run(&start, &[1.0; 3], Noise::Common), Err(FitError::BadPrediction { .. })));
    let prior = [start[0].clone().with_prior(1.0, 0.1)];
    assert!(matches!(run(&prior, &[1.0; 2], Noise::Common), Err(FitError::PriorNeedsKnownNoise)));
    let zero = [Parameter::new("a", 0.0)];
    assert!(matches!(run(&zero, &[1.0; 2], Noise::Common), Err(FitError::BadParameter { .. })));
    let outside = [Parameter::new("a", -1.0).positive()];
    assert!(matches!(run(&outside, &[1.0; 2], Noise::Common), Err(FitError::BadParameter { .. })));
    // A step function has no slope to follow: whatever is returned, it is not a fit.
    let steps = |p: &[f64]| Ok::<_, Infallible>(vec![p[0].floor(), p[0].floor() + 1.0]);
    assert!(fit(steps, &[Parameter::new("a", 0.5)], &[7.0, 8.0], Noise::Common, &settings).is_err());
}

/// Readings that fit exactly leave no scatter; that is no failure.
#[test]
fn a_perfect_fit_is_a_fit() {
    let x = [1.0, 2.0, 3.0, 4.0];
    let line = |p: &[f64]| Ok::<_, Infallible>(x.iter().map(|x| p[0] + p[1] * x).collect());
    let start = [Parameter::new("a", 0.0).with_scale(1.0), Parameter::new("b", 1.0)];
    let y = x.map(|x| 2.0 + 0.5 * x);
    let solution = fit(line, &start, &y, Noise::Common, &Settings::default()).unwrap();
    near(solution.estimates[0].value, 2.0, 1e-12);
    near(solution.estimates[1].value, 0.5, 1e-12);
    assert!(solution.scatter < 1e-12);
}
