//! Transient conduction against exact solutions, with its orders of convergence.

use coilwright_fem::drawing::{Drawing, Mirror, Outline, Symmetry};
use coilwright_fem::heat::{Film, Heat, HeatError, Side, Stepping, Substance};
use coilwright_fem::mesh::Mesh;
use std::f64::consts::PI;
use std::ops::ControlFlow;
use std::sync::Arc;

const AMBIENT_K: f64 = 293.15;
const CAPACITY: f64 = 2e6;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want} ± {relative}");
}

/// A rectangle 10 mm × 8 mm beside a mirror, with an exact decaying mode.
///
/// u = T - T∞ = 40 K cos(p x) cos(q y) e^(-λt) solves ρc u_t = kx u_xx + ky u_yy + s u if λ ρc = kx p² + ky
/// q² - s. The mirror x = 0 and the insulated side y = 0 have no flux; on x = a the film must be h = kx p
/// tan(p a), on y = b it must be ky q tan(q b). The source s u is made of generation g (1 + α (T - T₀)) with
/// T₀ = T∞ + 1/α, which is g α (T - T∞).
struct Mode {
    p: f64,
    q: f64,
    kx: f64,
    ky: f64,
    s: f64,
}

const MODE: Mode = Mode { p: 120.0, q: 90.0, kx: 1.5, ky: 0.6, s: 2e3 };
const A: f64 = 0.010;
const B: f64 = 0.008;

impl Mode {
    fn rate(&self) -> f64 {
        (self.kx * self.p.powi(2) + self.ky * self.q.powi(2) - self.s) / CAPACITY
    }

    fn at(&self, x: [f64; 2], t: f64) -> f64 {
        AMBIENT_K + 40.0 * (self.p * x[0]).cos() * (self.q * x[1]).cos() * (-self.rate() * t).exp()
    }

    fn heat(&self, size_m: f64, order: usize) -> Heat {
        let mut drawing = Drawing::new(Symmetry::PlanarHalf(Mirror::FluxStays), [0.0, 0.0], 0.03);
        drawing.size_max_m = size_m;
        drawing.paint(1, Outline::rectangle([0.0, A], [0.0, B]));
        let alpha = 0.004;
        let substance = Substance {
            conductivity: [self.kx, self.ky],
            heat_capacity: CAPACITY,
            generation: self.s / alpha,
            temperature_coefficient: alpha,
            reference_k: AMBIENT_K + 1.0 / alpha,
        };
        let side = |side: &Side| match side.outward {
            [x, _] if x > 0.9 => Some(0),
            [_, y] if y > 0.9 => Some(1),
            _ => None,
        };
        let mesh = Arc::new(Mesh::new(&drawing, order).expect("a rectangle"));
        Heat::new(mesh, &[None, Some(substance)], &[], 2, side).expect("a sound problem")
    }

    /// Largest error after one decay time, for steps of a fixed length or by tolerance.
    fn error(&self, heat: &mut Heat, stepping: &Stepping) -> f64 {
        let right = |_: f64| self.kx * self.p * (self.p * A).tan();
        let top = |_: f64| self.ky * self.q * (self.q * B).tan();
        let films = [
            Film { ambient_k: AMBIENT_K, coefficient: &right },
            Film { ambient_k: AMBIENT_K, coefficient: &top },
        ];
        let start = heat.field(|x| self.at(x, 0.0));
        let want = heat.field(|x| self.at(x, stepping.end_s));
        let mut last = Vec::new();
        heat.transient(
            &films,
            |_, _| 1.0,
            &start,
            stepping,
            |now| {
                last = now.temperature_k.to_vec();
                assert!(now.energies.imbalance() < 1e-4, "{:?}", now.energies);
                ControlFlow::Continue(())
            },
        )
        .expect("a decay");
        last.iter().zip(&want).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    }
}

/// Second order in time: halving the step quarters the error.
#[test]
fn order_in_time() {
    let mut heat = MODE.heat(0.0008, 4);
    let end = 1.0 / MODE.rate();
    let error = |heat: &mut Heat, steps: f64| {
        let stepping = Stepping { tolerance_k: 1e6, step_max_s: end / steps, ..Stepping::until(end) };
        // So coarse a tolerance would let the stages stop early: their corrections vanish here at once, the
        // problem being linear.
        MODE.error(heat, &stepping)
    };
    let errors = [10.0, 20.0, 40.0].map(|steps| error(&mut heat, steps));
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!((order - 2.0).abs() < 0.1, "{errors:?}: {order}");
    }
}

/// Order p + 1 in space, in the largest error at the nodes, with time resolved far better.
#[test]
fn order_in_space() {
    let end = 0.2 / MODE.rate();
    for (order, sizes) in [(1, [2e-3, 1e-3, 5e-4]), (2, [4e-3, 2e-3, 1e-3]), (3, [3e-3, 2e-3, 1.2e-3])] {
        let found = sizes.map(|size| {
            let mut heat = MODE.heat(size, order);
            let stepping = Stepping { tolerance_k: 1e-8, ..Stepping::until(end) };
            let error = MODE.error(&mut heat, &stepping);
            // Sizes are wishes; the number of unknowns tells what was made of them.
            (error, (heat.unknowns() as f64).sqrt())
        });
        let observed = (found[0].0 / found[2].0).ln() / (found[2].1 / found[0].1).ln();
        // Unstructured meshes are not similar to each other: a quarter of an order of scatter below, and
        // nodes may converge faster.
        assert!(
            observed > order as f64 + 0.75 && observed < order as f64 + 2.0,
            "order {order}: {observed:.2} from {found:?}"
        );
    }
}

/// The tolerance is kept: the error in the end is of its size.
#[test]
fn adaptive_steps_keep_the_tolerance() {
    let mut heat = MODE.heat(0.0008, 3);
    let end = 3.0 / MODE.rate();
    for tolerance_k in [0.1, 0.01, 0.001] {
        let error = MODE.error(&mut heat, &Stepping { tolerance_k, ..Stepping::until(end) });
        assert!(error < 5.0 * tolerance_k, "{error} for {tolerance_k}");
    }
}

/// A ring of one temperature (Biot number 1e-4).
fn lump(generation: f64, alpha: f64) -> Heat {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 0.06);
    drawing.size_max_m = 0.005;
    drawing.paint(1, Outline::rectangle([0.01, 0.02], [-0.005, 0.005]));
    let substance = Substance {
        conductivity: [2000.0; 2],
        heat_capacity: CAPACITY,
        generation,
        temperature_coefficient: alpha,
        reference_k: AMBIENT_K,
    };
    let mesh = Arc::new(Mesh::new(&drawing, 2).expect("a ring"));
    Heat::new(mesh, &[None, Some(substance)], &[], 1, |_| Some(0)).expect("a sound problem")
}

const VOLUME: f64 = PI * (0.0004 - 0.0001) * 0.01;
const AREA: f64 = 2.0 * PI * (0.0004 - 0.0001) + 2.0 * PI * 0.03 * 0.01;

/// Small Biot number: ΔT = q V/hA (1 - e^(-t/τ)), τ = ρ c V/h A.
#[test]
fn lumped_warm_up() {
    let mut heat = lump(1e5, 0.0);
    let h = |_: f64| 20.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let tau = CAPACITY * VOLUME / (20.0 * AREA);
    let start = heat.uniform(AMBIENT_K);
    let mut steps = 0;
    let stepping = Stepping { tolerance_k: 1e-3, ..Stepping::until(3.0 * tau) };
    heat.transient(
        &films,
        |_, _| 1.0,
        &start,
        &stepping,
        |now| {
            steps += 1;
            let want = 1e5 * VOLUME / (20.0 * AREA) * (1.0 - (-now.time_s / tau).exp());
            let rise = now.flows.mean_k - AMBIENT_K;
            // Steps are good to 1e-3 K each, and the body is not quite of one temperature.
            assert!((rise - want).abs() < 0.02, "{rise} for {want} at {}", now.time_s);
            close(1.0 + now.flows.generated_w, 1.0 + 1e5 * VOLUME, 1e-12);
            assert!(now.energies.imbalance() < 1e-5, "{:?}", now.energies);
            ControlFlow::Continue(())
        },
    )
    .unwrap();
    assert!((10..200).contains(&steps), "{steps}");
}

/// On and off in cycles: the closed form piece by piece. Steps must end at every jump.
#[test]
fn cycles_with_jumps() {
    let mut heat = lump(1e5, 0.0);
    let h = |_: f64| 20.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let tau = CAPACITY * VOLUME / (20.0 * AREA);
    let full = 1e5 * VOLUME / (20.0 * AREA);
    let (on, cycle) = (100.0, 300.0);
    let breaks: Vec<f64> = (0..4).flat_map(|k| [cycle * f64::from(k), cycle * f64::from(k) + on]).collect();
    let drive = |t: f64, _: f64| if t.rem_euclid(cycle) < on { 1.0 } else { 0.0 };
    let stepping = Stepping { tolerance_k: 1e-3, breaks_s: breaks.clone(), ..Stepping::until(4.0 * cycle) };
    let start = heat.uniform(AMBIENT_K);
    let mut seen = Vec::new();
    heat.transient(&films, drive, &start, &stepping, |now| {
        seen.push((now.time_s, now.flows.mean_k - AMBIENT_K));
        assert!(now.energies.imbalance() < 1e-5);
        ControlFlow::Continue(())
    })
    .unwrap();
    let mut want = 0.0;
    for k in 0..4 {
        let t = cycle * f64::from(k);
        want = full + (want - full) * (-on / tau).exp();
        let at_on = seen.iter().find(|s| s.0 == t + on).unwrap().1;
        assert!((at_on - want).abs() < 0.02, "{at_on} for {want}");
        want *= (-(cycle - on) / tau).exp();
        let at_off = seen.iter().find(|s| (s.0 - t - cycle).abs() < 1e-9).unwrap().1;
        assert!((at_off - want).abs() < 0.02, "{at_off} for {want}");
    }
}

/// Generation that grows with temperature and little cooling: ΔT = q/(α q - h A/V) (e^(t (α q - hA/V)/ρc) -
/// 1) without bound; named as such when it passes the ceiling.
#[test]
fn runaway_in_time() {
    let mut heat = lump(1e6, 0.004);
    let h = |_: f64| 5.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let growth = (0.004 * 1e6 - 5.0 * AREA / VOLUME) / CAPACITY;
    assert!(growth > 0.0);
    let start = heat.uniform(AMBIENT_K);
    let mut worst: f64 = 0.0;
    let stepping = Stepping { tolerance_k: 1e-3, ceiling_k: 600.0, ..Stepping::until(1e5) };
    let outcome = heat.transient(
        &films,
        |_, _| 1.0,
        &start,
        &stepping,
        |now| {
            let want = 1e6 / CAPACITY / growth * (growth * now.time_s).exp_m1();
            worst = worst.max((now.flows.mean_k - AMBIENT_K - want).abs() / want.max(1.0));
            ControlFlow::Continue(())
        },
    );
    assert_eq!(outcome, Err(HeatError::Runaway { ceiling_k: 600.0 }));
    assert!(worst < 1e-3, "{worst}");
}

/// Power that follows the mean temperature, f = 1/(1 + α ΔT)²: the lumped equation integrated by the
/// classical Runge–Kutta method.
#[test]
fn power_that_follows_the_mean_temperature() {
    let alpha = 0.00393;
    let mut heat = lump(2e5, alpha);
    let h = |t: f64| 4.0 * (t - AMBIENT_K).abs().powf(0.25) + 5.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let drive = |_: f64, mean: f64| (1.0 + alpha * (mean - AMBIENT_K)).powi(-2);
    let end = 1800.0;
    let rate = |rise: f64| {
        (2e5 / (1.0 + alpha * rise) - (4.0 * rise.abs().powf(0.25) + 5.0) * rise * AREA / VOLUME) / CAPACITY
    };
    let (mut rise, steps) = (0.0, 20_000);
    let dt = end / f64::from(steps);
    for _ in 0..steps {
        let k1 = rate(rise);
        let k2 = rate(rise + 0.5 * dt * k1);
        let k3 = rate(rise + 0.5 * dt * k2);
        let k4 = rate(rise + dt * k3);
        rise += dt / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
    }
    let start = heat.uniform(AMBIENT_K);
    let mut found = 0.0;
    heat.transient(&films, drive, &start, &Stepping::until(end), |now| {
        found = now.flows.mean_k - AMBIENT_K;
        assert!(now.energies.imbalance() < 1e-4, "{:?}", now.energies);
        ControlFlow::Continue(())
    })
    .unwrap();
    assert!((found - rise).abs() < 0.05, "{found} for {rise}");
}

#[test]
fn watching_may_stop() {
    let mut heat = lump(1e5, 0.0);
    let h = |_: f64| 20.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let start = heat.uniform(AMBIENT_K);
    let mut last = 0.0;
    heat.transient(
        &films,
        |_, _| 1.0,
        &start,
        &Stepping::until(1e4),
        |now| {
            last = now.time_s;
            if now.time_s > 100.0 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        },
    )
    .unwrap();
    assert!(last > 100.0 && last < 1e4);
}
