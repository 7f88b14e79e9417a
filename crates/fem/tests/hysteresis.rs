//! Iron that remembers, against dry friction's closed forms and against itself where convexity says what must hold.

use coilwright_fem::hysteresis::{Cell, HysteresisError, Hysteretic, Memory, Saturating};
use coilwright_fem::law::MU_0;
use proptest::prelude::*;
use std::f64::consts::PI;
use std::sync::OnceLock;

/// An invented iron: commutation curve in A/m and T, and coercive field in A/m.
const CURVE: [(f64, f64); 16] = [
    (20.0, 0.010),
    (40.0, 0.028),
    (60.0, 0.061),
    (80.0, 0.12),
    (100.0, 0.23),
    (150.0, 0.55),
    (200.0, 0.80),
    (300.0, 1.07),
    (500.0, 1.28),
    (800.0, 1.40),
    (1500.0, 1.52),
    (3000.0, 1.63),
    (6000.0, 1.75),
    (12000.0, 1.88),
    (25000.0, 2.02),
    (60000.0, 2.16),
];
const COERCIVE: f64 = 120.0;
/// Its remanence in T, invented too.
const REMANENCE: f64 = 1.05;

fn iron() -> &'static Hysteretic {
    static IRON: OnceLock<Hysteretic> = OnceLock::new();
    IRON.get_or_init(|| {
        Hysteretic::identified(&CURVE, COERCIVE, Some(REMANENCE)).expect("the invented iron can be had")
    })
}

fn single(friction: f64) -> Hysteretic {
    let parts = vec![Saturating { saturation_t: 1.6, field_a_m: 300.0 }];
    Hysteretic::new(vec![Cell { friction_a_m: friction, parts }]).expect("a cell")
}

fn free(h: f64) -> f64 {
    1.6 * h / (300.0_f64.powi(2) + h * h).sqrt()
}

/// Go along x through some field strengths, from the first on, each way in so many steps: the memory in the end, flux
/// densities at all steps, and the loss after the first way.
fn along(law: &Hysteretic, memory: Memory, ends: &[f64], steps: usize) -> (Memory, Vec<f64>, f64) {
    let (mut memory, mut seen, mut loss) = (memory, Vec::new(), 0.0);
    let mut from = 0.0;
    for (k, &to) in ends.iter().enumerate() {
        for s in 1..=steps {
            let h = from + (to - from) * s as f64 / steps as f64;
            let r = law.at_field([h, 0.0], &memory).expect("a field");
            (memory, loss) = (r.memory, loss + if k == 0 { 0.0 } else { r.loss });
            seen.push(r.flux_density_t[0]);
        }
        from = to;
    }
    (memory, seen, loss)
}

#[test]
fn table_coercive_field_and_remanence_come_back() {
    let law = iron();
    for (h, b) in CURVE {
        // Fresh iron, and the tip of a loop about zero after two turns.
        let fresh = law.at_field([h, 0.0], &law.fresh()).expect("a field").flux_density_t[0];
        let (_, seen, _) = along(law, law.fresh(), &[h, -h, h, -h, h], 3);
        let tip = seen[seen.len() - 1];
        assert!((fresh / b - 1.0).abs() < 5e-3, "{fresh} for {b} at {h}");
        assert!((tip / b - 1.0).abs() < 5e-3, "{tip} for {b} at {h}");
    }
    let (saturated, ..) = along(law, law.fresh(), &[60e3], 1);
    let b = |h: f64| law.at_field([h, 0.0], &saturated).expect("a field").flux_density_t[0];
    assert!((b(0.0) / REMANENCE - 1.0).abs() < 5e-3, "{}", b(0.0));
    let back = law.at([0.0, 0.0], &saturated).expect("no flux").field_a_m[0];
    assert!((-back / COERCIVE - 1.0).abs() < 5e-3, "{back}");
    // Between the points the curve rises without steps: no slope is more than three times that of the chord there.
    let mut before = (0.0, 0.0);
    for at in CURVE {
        let chord = (at.1 - before.1) / (at.0 - before.0);
        for k in 1..8 {
            let h = before.0 + (at.0 - before.0) * f64::from(k) / 8.0;
            let slope = law.at_field([h, 0.0], &law.fresh()).expect("a field").permeability[0];
            assert!(slope < 3.0 * chord, "{slope} for {chord} at {h}");
        }
        before = at;
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let falls = [(10.0, 0.1), (20.0, 0.09), (30.0, 0.2)];
    assert_eq!(Hysteretic::identified(&falls, 50.0, None), Err(HysteresisError::Table));
    assert_eq!(Hysteretic::identified(&CURVE, 120.0, Some(3.0)), Err(HysteresisError::Table));
    // No iron is as easily magnetised as at once and yet so hard.
    let steep = [(1.0, 1.0), (2.0, 1.5), (5.0, 1.6)];
    assert!(matches!(Hysteretic::identified(&steep, 1000.0, None), Err(HysteresisError::NotFitted(_))));
    let backwards = Cell { friction_a_m: -1.0, parts: Vec::new() };
    assert_eq!(Hysteretic::new(vec![backwards]), Err(HysteresisError::Cell));
}

/// Up and down along a line a single cell is a slider: J follows the free curve at H ∓ κ, and a full loop costs 4 κ J.
#[test]
fn a_single_cell_slides_along_a_line() {
    let (kappa, tip) = (150.0, 1000.0);
    let law = single(kappa);
    let (_, seen, _) = along(&law, law.fresh(), &[tip, -tip, tip], 40);
    for (k, b) in seen[..40].iter().enumerate() {
        let h = tip * (k + 1) as f64 / 40.0;
        assert!((b - MU_0 * h - free((h - kappa).max(0.0))).abs() < 1e-12);
    }
    for (k, b) in seen[40..80].iter().enumerate() {
        let h = tip - 2.0 * tip * (k + 1) as f64 / 40.0;
        let own = (h + kappa).min(tip - kappa);
        assert!((b - MU_0 * h - free(own)).abs() < 1e-12, "{b} at {h}");
    }
    let (memory, ..) = along(&law, law.fresh(), &[tip], 1);
    let (_, _, loss) = along(&law, memory, &[tip, -tip, tip], 60);
    assert!((loss / (4.0 * kappa * free(tip - kappa)) - 1.0).abs() < 1e-12, "{loss}");
}

/// In a field that turns, a slider on a plane with friction lags by asin κ / H, and a turn costs 2 π κ J: its own field is at
/// right angles to the friction, so |h|² = H² − κ². Steps of 2 π / n approach this as they get smaller.
#[test]
fn a_single_cell_lags_in_a_turning_field() {
    let (kappa, h, n) = (150.0, 400.0_f64, 2000);
    let law = single(kappa);
    let mut memory = law.fresh();
    let (mut last, mut loss) = ([0.0; 2], 0.0);
    for k in 0..3 * n {
        let angle = 2.0 * PI * f64::from(k) / f64::from(n);
        let r = law.at_field([h * angle.cos(), h * angle.sin()], &memory).expect("a field");
        (memory, last) = (
            r.memory,
            [r.flux_density_t[0] - MU_0 * h * angle.cos(), r.flux_density_t[1] - MU_0 * h * angle.sin()],
        );
        loss += if k >= 2 * n { r.loss } else { 0.0 };
    }
    let angle = 2.0 * PI * f64::from(3 * n - 1) / f64::from(n);
    let lag = (angle - last[1].atan2(last[0])).rem_euclid(2.0 * PI);
    assert!((lag / (kappa / h).asin() - 1.0).abs() < 3e-3, "{lag}");
    let polarisation = free((h * h - kappa * kappa).sqrt());
    assert!((last[0].hypot(last[1]) / polarisation - 1.0).abs() < 1e-3);
    assert!((loss / (2.0 * PI * kappa * polarisation) - 1.0).abs() < 1e-3, "{loss}");
}

/// A small loop inside a large one closes, and is forgotten when the large one goes on (E. Madelung's rules, Ann. Phys.
/// 322 (1905) 861, from memory); its area ∮ H dB is what was lost.
#[test]
fn loops_close_and_are_forgotten() {
    let law = iron();
    let (memory, ..) = along(law, law.fresh(), &[2000.0, -90.0], 5);
    let tip = law.at_field([-90.0, 0.0], &memory).expect("a field");
    let (mut now, mut area, mut loss, mut before) =
        (memory.clone(), 0.0, 0.0, (-90.0, tip.flux_density_t[0]));
    let steps = 400;
    for k in 1..=2 * steps {
        let up = if k <= steps { k } else { 2 * steps - k };
        let h = -90.0 + 230.0 * f64::from(up) / f64::from(steps);
        let r = law.at_field([h, 0.0], &now).expect("a field");
        let b = r.flux_density_t[0];
        area += 0.5 * (h + before.0) * (b - before.1);
        loss += r.loss;
        (now, before) = (r.memory, (h, b));
    }
    assert!((before.1 - tip.flux_density_t[0]).abs() < 1e-12, "{} for {:?}", before.1, tip.flux_density_t);
    assert!(loss > 0.0 && (area / loss - 1.0).abs() < 1e-3, "{area} {loss}");
    for h in [-95.0, -130.0, -300.0] {
        let [with, without] =
            [&now, &memory].map(|m| law.at_field([h, 0.0], m).expect("a field").flux_density_t[0]);
        assert!((with - without).abs() < 1e-12, "{with} {without}");
    }
}

proptest! {
    /// From any history: H is the slope of W, its own slopes are symmetric and positive, W is convex, and the flux
    /// density comes back.
    #[test]
    fn energy_has_the_field_as_its_slope(
        history in proptest::collection::vec((-3e3..3e3_f64, -3e3..3e3_f64), 1..6),
        to in (-2.2..2.2_f64, -2.2..2.2_f64),
    ) {
        let law = iron();
        let mut memory = law.fresh();
        for (x, y) in history {
            memory = law.at_field([x, y], &memory).expect("a field").memory;
        }
        let b = [to.0, to.1];
        let at = |b: [f64; 2]| law.at(b, &memory).expect("a flux density");
        let here = at(b);
        let miss = [here.flux_density_t[0] - b[0], here.flux_density_t[1] - b[1]];
        prop_assert!(miss[0].hypot(miss[1]) < 1e-12);
        let [xx, xy, yy] = here.reluctivity;
        prop_assert!(xx > 0.0 && xx * yy > xy * xy);
        let d = 1e-5;
        for (k, direction) in [[d, 0.0], [0.0, d]].into_iter().enumerate() {
            let [back, on] = [-1.0, 1.0].map(|s| at([b[0] + s * direction[0], b[1] + s * direction[1]]));
            let slope = (on.energy - back.energy) / (2.0 * d);
            // Corners where a cell starts to move are within the difference now and then; energies have none.
            let size = here.field_a_m[0].hypot(here.field_a_m[1]);
            prop_assert!((slope - here.field_a_m[k]).abs() < 1e-3 * size + 2.0, "{slope} {:?}", here.field_a_m);
            prop_assert!(on.energy + back.energy - 2.0 * here.energy > -1e-9 * here.energy.abs());
            let bend = [0, 1].map(|j| (on.field_a_m[j] - back.field_a_m[j]) / (2.0 * d));
            let told = if k == 0 { [xx, xy] } else { [xy, yy] };
            // Within the difference a cell may start to move, at which the slope jumps: it lies between those of both ends.
            let apart = [on.reluctivity, back.reluctivity].map(|r| (0..3).map(|i| (r[i] - here.reluctivity[i]).abs()).fold(0.0, f64::max));
            let allowed = apart[0] + apart[1] + 1e-4 * (xx + yy);
            for j in 0..2 {
                prop_assert!((bend[j] - told[j]).abs() <= allowed, "{bend:?} {told:?} {allowed}");
            }
        }
    }
}
