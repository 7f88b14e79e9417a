//! Fields in time against exact solutions and against equations that are solved otherwise.

use coilwright_fem::drawing::{Drawing, Mirror, Outline, Symmetry};
use coilwright_fem::in_time::{FieldInTime, Moment, Stepping};
use coilwright_fem::law::{MU_0, Medium};
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
