//! The laws H(B): monotone, C¹, invertible, with exact energies, and true to what they stand for.

use coilwright_sheet::material::{LawError, MU0, SteelLaw, soft, soft_names};
use proptest::prelude::*;
use std::f64::consts::PI;

/// Asserts that a law is odd, strictly increasing, C¹, inverted by `b_of_h` and integrated by `energy_density`
/// from 0 to 6 T, in steps that do not know its knots.
fn assert_sound(law: &SteelLaw, name: &str) {
    let steps = 6000;
    let mut before = law.evaluate(0.0);
    let mut energy = 0.0;
    assert_eq!(before.0, 0.0, "{name}: H(0)");
    for i in 1..=steps {
        let (b0, b1) = (6.0 * (i - 1) as f64 / steps as f64, 6.0 * i as f64 / steps as f64);
        let (h, slope) = law.evaluate(b1);
        assert!(h > before.0, "{name}: H falls at B = {b1}");
        assert!(slope > 0.0, "{name}: dH/dB = {slope} at B = {b1}");
        assert_eq!(law.h_of_b(-b1), -h, "{name}: odd");
        let back = law.b_of_h(h);
        assert!((back - b1).abs() < 1e-11, "{name}: b_of_h(h_of_b({b1})) = {back}");
        // C¹ across whatever lies in the step: value and slope just above and below its end.
        let (d, tiny) = (1e-9 * b1, 1e-6);
        let (below, above) = (law.evaluate(b1 - d), law.evaluate(b1 + d));
        assert!(
            (above.0 - below.0 - 2.0 * d * slope).abs() <= tiny * (h + d * slope),
            "{name}: value at {b1}"
        );
        assert!((above.1 - below.1).abs() <= 1e-3 * slope, "{name}: slope at {b1}");
        // Trapezium with end correction (Euler–Maclaurin); its own error is third order at a knot.
        let width = b1 - b0;
        energy += 0.5 * width * (before.0 + h) - width * width / 12.0 * (slope - before.1);
        before = (h, slope);
    }
    let exact = law.energy_density(6.0);
    assert!((energy - exact).abs() < 1e-4 * exact, "{name}: energy {exact}, by quadrature {energy}");
    let nu = law.reluctivity(0.0);
    assert!(nu.is_finite() && nu > 0.0, "{name}: reluctivity at 0");
    assert!((law.reluctivity(1e-7) - nu).abs() < 1e-3 * nu, "{name}: reluctivity near 0");
    // 1/µ0 far beyond saturation; the law of approach leaves c/(µ0 H²).
    assert!((law.dh_db(100.0) * MU0 - 1.0).abs() < 1e-4, "{name}: slope at 100 T");
}

/// Knots are where C¹ can fail: compares value and slope on the two sides of each.
fn assert_smooth_at(law: &SteelLaw, knots: &[f64]) {
    for &b in knots {
        let (below, above) = (law.evaluate(b.next_down()), law.evaluate(b));
        assert!((above.0 - below.0).abs() <= 1e-9 * above.0 + 1e-12, "value at {b}: {below:?} {above:?}");
        // Rounding counts against the steepest chord there is, that of air.
        let rounding = 1e-9 * above.1 + 1e-11 / MU0;
        assert!((above.1 - below.1).abs() <= rounding, "slope at {b}: {below:?} {above:?}");
    }
}

#[test]
fn library_curves_are_sound() {
    for name in soft_names() {
        let material = soft(name).expect(name);
        assert_sound(&material.law, name);
        for scale in [0.6, 1.5] {
            assert_sound(&material.law.scaled(scale, 0.95), name);
        }
        let js = material.law.saturation_t().unwrap();
        assert!((js - material.saturation_t).abs() < 1e-9, "{name}: tends to {js} T");
        // No soft material is less permeable than air (M rises with H); 2 % for the cubics' slack.
        for i in 0..3000 {
            let b = i as f64 * 1e-3;
            assert!(material.law.dh_db(b) < 1.02 / MU0, "{name}: dB/dH below µ0 at {b} T");
        }
    }
}

proptest! {
    #[test]
    fn random_tables_are_sound(
        steps in prop::collection::vec((0.001f64..0.3, 0.5f64..4.0), 4..30),
    ) {
        let (mut h, mut b) = (Vec::new(), Vec::new());
        let (mut h_sum, mut b_sum) = (0.0, 0.0);
        for (db, decades) in steps {
            b_sum += db;
            h_sum += db / (MU0 * 10f64.powf(decades));
            h.push(h_sum);
            b.push(b_sum);
        }
        let law = SteelLaw::table(&h, &b).unwrap();
        assert_smooth_at(&law, &b);
        for (h, b) in h.iter().zip(&b) {
            prop_assert!((law.h_of_b(*b) - h).abs() <= 1e-12 * h);
        }
        let ends: Vec<f64> = std::iter::once(0.0).chain(b.iter().copied()).collect();
        for (w, h) in ends.windows(2).zip(std::iter::once(&0.0).chain(&h).zip(&h)) {
            let chord = (h.1 - h.0) / (w[1] - w[0]);
            let mut integral = 0.0;
            for i in 0..50 {
                let at = |t: f64| w[0] + (w[1] - w[0]) * (i as f64 + t) / 50.0;
                // The slope keeps a positive bound: a twentieth of the smaller neighbouring chord at a knot.
                prop_assert!(law.dh_db(at(0.5)) > 1e-3 * chord.min(law.dh_db(w[0])));
                // Simpson's rule is exact for a cubic.
                integral += (law.h_of_b(at(0.0)) + 4.0 * law.h_of_b(at(0.5)) + law.h_of_b(at(1.0)))
                    * (w[1] - w[0]) / 300.0;
            }
            let energy = law.energy_density(w[1]) - law.energy_density(w[0]);
            prop_assert!((energy - integral).abs() <= 1e-7 * law.energy_density(w[1]));
        }
        for k in 1..40 {
            let b = b_sum * 0.05 * k as f64;
            prop_assert!((law.b_of_h(law.h_of_b(b)) - b).abs() < 1e-11 * (1.0 + b));
        }
        let twice = law.b_of_h(2.0 * h_sum);
        prop_assert!(twice > b_sum && law.dh_db(twice) <= 1.0 / MU0 * (1.0 + 1e-12));
    }

    #[test]
    fn arctangent_is_the_formula(js in 0.3f64..2.4, log_mu in 1.0f64..4.7, log_h in -2.0f64..7.0) {
        let mu = 10f64.powf(log_mu);
        let law = SteelLaw::arctangent(js, mu).unwrap();
        let h = 10f64.powf(log_h);
        let b = arctangent(js, mu, h);
        // Rounding of B alone moves H by dH/dB · 1e-16 B.
        let rounding = 4.0 * f64::EPSILON * b * law.dh_db(b);
        prop_assert!((law.h_of_b(b) - h).abs() < 1e-7 * h + rounding, "{} for {h}", law.h_of_b(b));
        prop_assert!((law.b_of_h(h) - b).abs() < 1e-7 * b);
        let slope = MU0 + (mu - 1.0) * MU0 / (1.0 + (PI * (mu - 1.0) * MU0 * h / (2.0 * js)).powi(2));
        prop_assert!((law.dh_db(b) * slope - 1.0).abs() < 2e-5);
    }
}

/// B = µ0 H + Js (2/π) atan(π (µr0 − 1) µ0 H / (2 Js)).
fn arctangent(js: f64, mu: f64, h: f64) -> f64 {
    MU0 * h + js * 2.0 / PI * (PI * (mu - 1.0) * MU0 * h / (2.0 * js)).atan()
}

#[test]
fn arctangent_law_is_small_and_sound() {
    let law = SteelLaw::arctangent(2.1, 1500.0).unwrap();
    assert_sound(&law, "Js = 2.1 T, µr = 1500");
    let SteelLaw::Curve(curve) = &law else { panic!("a curve") };
    assert!(curve.piece_count() < 1500, "{} pieces", curve.piece_count());
    assert!((curve.saturation_t() - 2.1).abs() < 1e-8);
    // Energy of the formula: ∫ H dB = B H − ∫ B dH, and ∫ atan(kH) dH = H atan(kH) − ln(1 + k²H²)/(2k).
    let k = PI * 1499.0 * MU0 / (2.0 * 2.1);
    for h in [10.0, 1e3, 1e5, 2e6] {
        let b = arctangent(2.1, 1500.0, h);
        let coenergy =
            MU0 * h * h / 2.0 + 2.1 * 2.0 / PI * (h * (k * h).atan() - (k * h).powi(2).ln_1p() / (2.0 * k));
        assert!((law.coenergy_density(b) / coenergy - 1.0).abs() < 1e-7, "H = {h}");
    }
}

/// Scaling an arctangent law gives the arctangent law of other constants: k Js and 1 + (µr0 − 1) k/s.
#[test]
fn scaling_keeps_the_family() {
    let (s, k) = (1.3, 0.97);
    let scaled = SteelLaw::arctangent(2.1, 1500.0).unwrap().scaled(s, k);
    for h in [1.0, 100.0, 1e3, 1e4, 1e5, 1e6, 3e6] {
        let b = arctangent(2.1 * k, 1.0 + 1499.0 * k / s, h);
        assert!((scaled.h_of_b(b) / h - 1.0).abs() < 1e-6, "H = {h}: {}", scaled.h_of_b(b));
    }
    let steel = &soft("low-carbon steel").unwrap().law;
    assert_eq!(steel.scaled(1.0, 1.0).b_of_h(500.0), steel.b_of_h(500.0));
    let harder = steel.scaled(2.0, 1.0);
    let j = |law: &SteelLaw, h: f64| law.b_of_h(h) - MU0 * h;
    assert!((j(&harder, 1000.0) - j(steel, 500.0)).abs() < 1e-3);
}

/// `PchipInterpolator` of SciPy on the same table (an independent implementation of the same published method).
#[test]
fn table_is_pchip() {
    #[derive(serde::Deserialize)]
    struct Reference {
        b_t: Vec<f64>,
        h_a_per_m: Vec<f64>,
        energy_j_per_m3: Vec<f64>,
    }
    let reference: Reference = toml::from_str(include_str!("data/team13_pchip.toml")).unwrap();
    let law = &soft("TEAM 13 steel").unwrap().law;
    for ((b, h), w) in reference.b_t.iter().zip(&reference.h_a_per_m).zip(&reference.energy_j_per_m3) {
        assert!((law.h_of_b(*b) / h - 1.0).abs() < 1e-8, "B = {b}: H = {}, SciPy {h}", law.h_of_b(*b));
        assert!((law.energy_density(*b) / w - 1.0).abs() < 1e-8, "B = {b}: energy");
    }
}

#[test]
fn bad_tables_name_their_row() {
    let h = [100.0, 200.0, 300.0, 400.0];
    let table = |b: &[f64]| SteelLaw::table(&h[..b.len()], b);
    assert_eq!(
        table(&[0.5, 0.9, 0.8, 1.0]),
        Err(LawError::NotIncreasing { row: 3, column: "B", previous: 0.9, value: 0.8 })
    );
    assert_eq!(
        SteelLaw::table(&[100.0, 90.0, 200.0], &[0.5, 0.9, 1.0]),
        Err(LawError::NotIncreasing { row: 2, column: "H", previous: 100.0, value: 90.0 })
    );
    assert!(matches!(
        table(&[0.5, f64::NAN, 0.8, 1.0]),
        Err(LawError::BadNumber { row: 2, column: "B", .. })
    ));
    assert!(matches!(table(&[-0.5, 0.7, 0.8, 1.0]), Err(LawError::BadNumber { row: 1, .. })));
    assert_eq!(table(&[0.5, 0.6]), Err(LawError::TooShort { points: 2 }));
    assert_eq!(SteelLaw::table(&h, &[1.0]), Err(LawError::Lengths { h: 4, b: 1 }));
    // Columns exchanged: H in the place of B.
    assert!(matches!(SteelLaw::table(&[0.5, 0.9, 1.2, 1.4], &h), Err(LawError::Implausible { row: 1, .. })));
    assert!(SteelLaw::arctangent(2.1, 0.5).is_err() && SteelLaw::arctangent(-1.0, 100.0).is_err());
    assert!(SteelLaw::linear(f64::NAN).is_err() && SteelLaw::linear(0.9).is_err());
    assert!(SteelLaw::table_with_saturation(&h, &[0.5, 0.8, 1.0, 1.2], 1.0).is_err());
}

/// A user's table that stops before saturation goes on by the law of approach: from B = 1.8 T of the TEAM 13 table
/// it foresees a saturation within a tenth of the published 2.16 T.
#[test]
fn a_short_table_foresees_saturation() {
    let full = &soft("TEAM 13 steel").unwrap().law;
    let b: Vec<f64> = (1..=18).map(|i| 0.1 * i as f64).collect();
    let h: Vec<f64> = b.iter().map(|b| full.h_of_b(*b)).collect();
    let short = SteelLaw::table(&h, &b).unwrap();
    let js = short.saturation_t().unwrap();
    assert!((js / 2.16 - 1.0).abs() < 0.1, "foresees {js} T");
    assert_eq!(short.last_point_t(), Some(b[17]));
    // One that ends on its steepest part does not foresee more than any material has.
    let steep = SteelLaw::table(&[500.0, 900.0, 1000.0], &[0.1, 0.5, 1.0]).unwrap();
    assert_sound(&steep, "ends steep");
    assert!(steep.saturation_t().unwrap() <= 2.5);
}
