//! Fields in time against exact solutions and against equations that are solved otherwise.

use coilwright_fem::drawing::{Drawing, Mirror, Outline, Symmetry};
use coilwright_fem::in_time::{Characteristic, Circuit, FieldInTime, Moment, Start, Stepping, Winding};
use coilwright_fem::law::{Law, LawPoint, Linear, MU_0, Medium};
use coilwright_fem::mesh::Mesh;
use std::f64::consts::PI;
use std::ops::ControlFlow;
use std::sync::Arc;

/// Conductivity of a poor copper alloy, S/m, invented.
const SIGMA: f64 = 1e7;
/// Radius of the round conductors, m.
const A: f64 = 0.01;
/// Time of diffusion µ₀ σ a², s.
const TAU: f64 = MU_0 * SIGMA * A * A;
const FIELD_T: f64 = 0.1;

/// A full circle, or the half of it at x > 0, as an outline of arcs.
fn round(centre: [f64; 2], radius: f64, half: bool) -> Outline {
    use coilwright_fem::drawing::Curve;
    let arc = Curve::Arc { centre, ccw: true };
    let [x, y] = centre;
    if half {
        Outline(vec![([x, y - radius], arc), ([x, y + radius], Curve::Line)])
    } else {
        Outline(vec![([x, y - radius], arc), ([x, y + radius], arc)])
    }
}

fn conductor(symmetry: Symmetry, centre: [f64; 2], order: usize, size: f64) -> FieldInTime {
    let mut drawing = Drawing::new(symmetry, [0.0, 0.0], 3.0 * A);
    drawing.size_max_m = size;
    drawing.paint(1, round(centre, A, symmetry != Symmetry::Planar));
    let media = vec![Medium::vacuum(), Medium::vacuum().with_conductivity(SIGMA)];
    let mesh = Mesh::new(&drawing, order).expect("a round conductor");
    FieldInTime::new(mesh, Arc::new(media), Vec::new(), &[]).expect("a sound problem")
}

/// Flux density at a point, in T, along y.
fn along_y(moment: &Moment, at: [f64; 2]) -> f64 {
    let solution = moment.solution();
    coilwright_fem::field::Probe::new(&solution).at(at).b_t[1]
}

/// Zeros of J₀ and J₁ there (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, table 9.5).
const BESSEL: [(f64, f64); 6] = [
    (2.404_825_557_7, 0.519_147_497_3),
    (5.520_078_110_3, -0.340_264_806_6),
    (8.653_727_912_9, 0.271_452_299_9),
    (11.791_534_439_1, -0.232_459_831_4),
    (14.930_917_708_6, 0.206_546_433_1),
    (18.071_063_967_9, -0.187_728_803_0),
];

/// The field at the middle of a long round bar, across which a field is switched on, over what it becomes: A = J₁(k r)
/// cos φ inside and a dipole's field beyond fit at r = a if J₀(k a) = 0, and the middle's flux density follows the series of
/// the temperature on the axis of a cylinder (H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed.,
/// 1959, §7.6 eq. 10 at r = 0, from memory).
fn in_the_middle_of_a_bar(t: f64) -> f64 {
    1.0 - BESSEL.iter().map(|(x, j)| 2.0 / (x * j) * (-x * x * t / TAU).exp()).sum::<f64>()
}

/// The same for a ball: j₀(k a) = 0, the series of the temperature at its middle (the same book, §9.3 eq. 6 at r = 0,
/// from memory).
fn in_the_middle_of_a_ball(t: f64) -> f64 {
    let term = |n: f64| (n * PI).cos() * (-(n * PI).powi(2) * t / TAU).exp();
    1.0 + 2.0 * (1..20).map(|n| term(f64::from(n))).sum::<f64>()
}

/// Largest difference of the field in the middle from a series, over the final field, from 0.03 τ on.
fn worst(field: &FieldInTime, stepping: &Stepping, middle: [f64; 2], exact: fn(f64) -> f64) -> f64 {
    let start = field.empty();
    let mut worst = 0.0_f64;
    let watch = |m: &Moment| {
        if m.time_s > 0.03 * TAU {
            worst = worst.max((along_y(m, middle) / FIELD_T - exact(m.time_s)).abs());
        }
        ControlFlow::Continue(())
    };
    field.run(&[], |_| FIELD_T, &start, stepping, &[], watch).expect("diffusion");
    worst
}

/// Steps are good to 10⁻⁴ of the energy norm each, of which there are about fifty; the mesh to 10⁻⁴.
const DIFFUSED: f64 = 1e-3;

#[test]
fn a_field_diffuses_into_a_bar() {
    let field = conductor(Symmetry::PlanarHalf(Mirror::FluxStays), [0.0, 0.0], 3, 0.15 * A);
    let error = worst(&field, &Stepping::until(0.6 * TAU), [0.0, 0.0], in_the_middle_of_a_bar);
    assert!(error < DIFFUSED, "{error}");
}

#[test]
fn a_field_diffuses_into_a_ball() {
    let field = conductor(Symmetry::Axial, [0.0, 0.0], 3, 0.15 * A);
    let error = worst(&field, &Stepping::until(0.6 * TAU), [0.0, 0.0], in_the_middle_of_a_ball);
    assert!(error < DIFFUSED, "{error}");
}

/// In the plane a bar that is not in the middle has a potential of its own, whose eddies sum to nothing all the same.
#[test]
fn where_a_bar_lies_does_not_matter() {
    let at = [0.8 * A, 0.5 * A];
    let field = conductor(Symmetry::Planar, at, 3, 0.2 * A);
    let error = worst(&field, &Stepping::until(0.6 * TAU), at, in_the_middle_of_a_bar);
    assert!(error < DIFFUSED, "{error}");
}

/// The slowest mode of a ball decays by the exact exponential, and halving the step divides the error by eight.
#[test]
fn third_order_in_the_step() {
    let field = conductor(Symmetry::Axial, [0.0, 0.0], 4, 0.15 * A);
    // A = j₁(π r / a) sin θ inside, a dipole's beyond; in the image of open space R/ρ times that.
    let mode = |at: [f64; 2], image: bool| {
        let rho = at[0].hypot(at[1]).max(1e-12);
        let (r, weight) = if image { (9.0 * A * A / rho, 3.0 * A / rho) } else { (rho, 1.0) };
        let j = |x: f64| if x < 1e-3 { x / 3.0 } else { (x.sin() / x - x.cos()) / x };
        let size = if r < A { j(PI * r / A) } else { j(PI) * (A / r).powi(2) };
        size * at[0] / rho * weight * 1e-3
    };
    let potential = field.potential_of(mode);
    let start = Start { potential, ..field.empty() };
    let end = 2.0 * TAU / (PI * PI);
    let after = |steps: f64| {
        let step = end / steps;
        let stepping =
            Stepping { tolerance: 1e6, step_first_s: step, step_max_s: step, ..Stepping::until(end) };
        let mut fields = Vec::new();
        let watch = |m: &Moment| {
            fields.push(along_y(m, [0.0, 0.0]));
            ControlFlow::Continue(())
        };
        field.run(&[], |_| 0.0, &start, &stepping, &[], watch).expect("a decay");
        fields[fields.len() - 1] / fields[0]
    };
    let ratios = [8.0, 16.0, 32.0].map(after);
    let [coarse, fine] = [0, 1].map(|k| ratios[k + 1] - ratios[k]);
    let order = (coarse / fine).log2();
    assert!((order - 3.0).abs() < 0.1, "{ratios:?}: {order}");
    // What is left of both errors.
    let error = ratios[2] - (-2.0_f64).exp();
    assert!(error.abs() < 3e-6, "{ratios:?}: {error}");
}

/// Height of a window between plates of hardly any reluctance, m, so that a body in it which fills it from plate to
/// plate has the same field at all heights: H = N i / height along its surface.
const HEIGHT: f64 = 4e-3;
const AMPERE_TURNS: f64 = 400.0;
/// Of the plates and the limb that joins them.
const YOKE: f64 = 1e7;

/// A body from the axis or mirror to x = a in such a window, with one turn of a winding beside it.
fn in_a_window(symmetry: Symmetry, body: Medium, order: usize, size: f64) -> FieldInTime {
    let mut drawing = Drawing::new(symmetry, [0.0, 0.0], 2.5 * A);
    drawing.size_max_m = 0.5 * A;
    let half = 0.5 * HEIGHT;
    drawing.paint(3, Outline::rectangle([0.0, 1.6 * A], [-2.0 * half, 2.0 * half]));
    drawing.paint(2, Outline::rectangle([A, 1.2 * A], [-half, half]));
    drawing.paint(1, Outline::rectangle([0.0, A], [-half, half]));
    for k in 0..40 {
        drawing.grade([A * f64::from(k) / 40.0, 0.0], size);
    }
    for y in -4..=4 {
        drawing.grade([A, 0.125 * HEIGHT * f64::from(y)], 0.2 * size);
    }
    let media = vec![Medium::vacuum(), body, Medium::vacuum(), Medium::of(Linear::relative(YOKE))];
    let winding = Winding { turns_per_m2: vec![(2, 1.0 / (0.2 * A * HEIGHT))] };
    let mesh = Mesh::new(&drawing, order).expect("a window");
    FieldInTime::new(mesh, Arc::new(media), vec![winding], &[]).expect("a sound problem")
}

/// Flux densities at depths below the surface x = a, at all steps from a time on.
fn step_of_current(
    field: &FieldInTime,
    stepping: &Stepping,
    depths: &[f64],
    mut visit: impl FnMut(f64, &[f64]),
) {
    let circuit = Circuit {
        resistance_ohm: 1.0,
        voltage_v: &|_| 0.0,
        characteristic: Characteristic::held(AMPERE_TURNS),
    };
    let watch = |m: &Moment| {
        let b: Vec<f64> = depths.iter().map(|d| along_y(m, [A - d, 0.1 * HEIGHT])).collect();
        visit(m.time_s, &b);
        ControlFlow::Continue(())
    };
    field.run(&[circuit], |_| 0.0, &field.empty(), stepping, &[], watch).expect("diffusion");
}

/// µ₀ N i / height.
const SURFACE_T: f64 = MU_0 * AMPERE_TURNS / HEIGHT;

/// Into a cylinder whose surface is put to a field at once (Carslaw and Jaeger, §7.6 eq. 10, from memory).
#[test]
fn a_field_diffuses_into_a_cylinder() {
    let field = in_a_window(Symmetry::Axial, Medium::vacuum().with_conductivity(SIGMA), 3, 0.05 * A);
    let mut worst = 0.0_f64;
    step_of_current(&field, &Stepping::until(0.6 * TAU), &[A * (1.0 - 1e-6)], |t, b| {
        if t > 0.03 * TAU {
            worst = worst.max((b[0].abs() / SURFACE_T - in_the_middle_of_a_bar(t)).abs());
        }
    });
    assert!(worst < DIFFUSED, "{worst}");
}

/// Into a slab from both sides: cosines (the same book, §3.4), and, before the middle knows, into half a space: erfc
/// (§2.5).
#[test]
fn a_field_diffuses_into_a_slab() {
    let mirror = Symmetry::PlanarHalf(Mirror::FluxStays);
    let field = in_a_window(mirror, Medium::vacuum().with_conductivity(SIGMA), 3, 0.05 * A);
    let depths = [0.05, 0.1, 0.2, 0.4].map(|d| d * A);
    let (mut early, mut late) = (0.0_f64, 0.0_f64);
    let stepping = Stepping { tolerance: 1e-5, ..Stepping::until(0.8 * TAU) };
    step_of_current(&field, &stepping, &depths, |t, b| {
        for (depth, b) in depths.iter().zip(b) {
            let share = b.abs() / SURFACE_T;
            if (2e-3 * TAU..0.03 * TAU).contains(&t) {
                early = early.max((share - erfc(0.5 * depth / A * (TAU / t).sqrt())).abs());
            } else if t > 0.03 * TAU {
                late = late.max((share - in_a_slab(1.0 - depth / A, t)).abs());
            }
        }
    });
    assert!(early < DIFFUSED && late < DIFFUSED, "{early}, {late}");
}

fn in_a_slab(x: f64, t: f64) -> f64 {
    let term = |n: i32| {
        let k = (f64::from(n) + 0.5) * PI;
        let sign = if n % 2 == 0 { 1.0 } else { -1.0 };
        2.0 * sign / k * (-k * k * t / TAU).exp() * (k * x).cos()
    };
    1.0 - (0..20).map(term).sum::<f64>()
}

/// Complementary error function by its integral, Simpson's rule.
fn erfc(x: f64) -> f64 {
    let n = 2000;
    let h = x / f64::from(n);
    let f = |k: i32| (-(h * f64::from(k)).powi(2)).exp();
    let sum: f64 = (1..n).map(|k| if k % 2 == 1 { 4.0 * f(k) } else { 2.0 * f(k) }).sum();
    1.0 - 2.0 / PI.sqrt() * h / 3.0 * (f(0) + sum + f(n))
}

/// Iron with a knee: hardly any field strength up to `saturation_t`, free space's slope from there. The slope changes
/// evenly over `knee_t` to either side.
#[derive(Debug)]
struct Knee {
    saturation_t: f64,
    knee_t: f64,
    steep: f64,
}

impl Law for Knee {
    fn at(&self, b_t: f64) -> LawPoint {
        let (low, extra) = (1.0 / (self.steep * MU_0), (1.0 - 1.0 / self.steep) / MU_0);
        let over = b_t - self.saturation_t;
        let into = (over + self.knee_t).clamp(0.0, 2.0 * self.knee_t);
        // Slope, its integral and that one's, of what is above the straight line.
        let share = into / (2.0 * self.knee_t);
        let beyond = (over - self.knee_t).max(0.0);
        let h = low * b_t + extra * (0.5 * into * share + beyond);
        let energy = into * into * share / 6.0 + 0.5 * into * share * beyond + 0.5 * beyond * beyond;
        LawPoint {
            reluctivity: if b_t > 0.0 { h / b_t } else { low },
            slope: low + extra * share,
            energy: 0.5 * low * b_t * b_t + extra * energy,
        }
    }
}

/// Into iron that saturates at once the field goes as frost goes into the ground: B is the heat content, H the
/// temperature, the saturation the latent heat. Depth of the front and flux follow F. Neumann's solution (Carslaw and
/// Jaeger, §11.2): s = 2 λ √(D t), λ exp λ² erf λ = µ₀ H / (√π Bs), dΦ/dt = H / (σ √(π D t) erf λ).
#[test]
fn a_front_of_saturation_goes_into_iron_as_frost_into_ground() {
    let saturation_t = 0.5;
    let body = Medium::of(Knee { saturation_t, knee_t: 0.05, steep: 3e4 }).with_conductivity(SIGMA);
    let field = in_a_window(Symmetry::PlanarHalf(Mirror::FluxStays), body, 2, 0.06 * A);
    let right = SURFACE_T / (PI.sqrt() * saturation_t);
    let (mut low, mut high) = (0.0, 2.0);
    for _ in 0..60 {
        let l: f64 = 0.5 * (low + high);
        if l * (l * l).exp() * (1.0 - erfc(l)) < right { low = l } else { high = l }
    }
    let lambda = low;
    let diffusivity = 1.0 / (MU_0 * SIGMA);
    let flux =
        |t: f64| 2.0 * SURFACE_T / MU_0 / (SIGMA * (1.0 - erfc(lambda))) * (t / (PI * diffusivity)).sqrt();
    // The front reaches the middle when 2 λ √(D t) = a.
    let end = 0.7 * TAU / (4.0 * lambda * lambda);
    let circuit = Circuit {
        resistance_ohm: 1.0,
        voltage_v: &|_| 0.0,
        characteristic: Characteristic::held(AMPERE_TURNS),
    };
    let (mut worst, mut imbalance) = (0.0_f64, 0.0);
    let watch = |m: &Moment| {
        // Beside the flux in the body, a turn has on average a third of what the outermost would see in the winding.
        let got = m.windings[0].linkage_wb.abs() - SURFACE_T * 0.2 * A / 3.0;
        if m.time_s > 0.1 * end {
            worst = worst.max((got / flux(m.time_s) - 1.0).abs());
        }
        imbalance = m.energies.imbalance();
        ControlFlow::Continue(())
    };
    let stepping = Stepping { tolerance: 5e-3, ..Stepping::until(end) };
    field.run(&[circuit], |_| 0.0, &field.empty(), &stepping, &[], watch).expect("a front");
    // The tolerance of a step: what the knee and the elements blur is less.
    assert!(worst < 5e-3, "{worst}");
    assert!(imbalance < 5e-3, "{imbalance}");
}
