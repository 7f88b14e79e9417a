//! The solver against closed forms.

use coilwright_fem::drawing::{Curve, Drawing, Outline, Symmetry};
use coilwright_fem::law::{Linear, MU_0, Medium};
use coilwright_fem::solve::Ladder;
use std::sync::Arc;

/// On-axis field of a thick solenoid with uniform current density (closed form; e.g. D. B. Montgomery, Solenoid
/// Magnet Design, 1969, 1.2): inner and outer radius a, b, half-length l, at height z.
fn thick_solenoid(j: f64, a: f64, b: f64, l: f64, z: f64) -> f64 {
    let f = |h: f64| h * ((b + b.hypot(h)) / (a + a.hypot(h))).ln();
    0.5 * MU_0 * j * (f(l - z) + f(l + z))
}

#[test]
fn air_coil_on_its_axis() {
    let (a, b, l) = (10e-3, 20e-3, 20e-3);
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
    drawing.paint(1, Outline::rectangle([a, b], [-l, l]));
    drawing.size_max_m = 1.5e-3;
    let j = 1000.0 / ((b - a) * 2.0 * l);
    let media = Arc::new(vec![Medium::vacuum(), Medium::vacuum().with_current_density(j)]);
    let ladder = Ladder::climb(&drawing, media, 0.0).unwrap();
    let probe = ladder.probe();
    // Inside, at the end, and well beyond the bounding circle.
    for z in [0.0, 20e-3, 60e-3, 200e-3] {
        let (got, want) = (probe.at([0.0, z]).b_t[1], thick_solenoid(j, a, b, l, z));
        assert!((got / want - 1.0).abs() < 1e-4, "z = {z}: {got} for {want}");
    }
}

#[test]
fn linear_sphere_is_uniform_inside() {
    // B = 3 µr / (µr + 2) B0 (J. D. Jackson, Classical Electrodynamics, 5.11).
    let radius = 20e-3;
    let arc = Curve::Arc { centre: [0.0, 0.0], ccw: true };
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
    drawing.size_max_m = 3e-3;
    drawing.paint(1, Outline(vec![([0.0, -radius], arc), ([0.0, radius], Curve::Line)]));
    let media = Arc::new(vec![Medium::vacuum(), Medium::of(Linear::relative(100.0))]);
    let ladder = Ladder::climb(&drawing, media, 0.1).unwrap();
    let probe = ladder.probe();
    for p in [[0.0, 0.0], [0.0, 15e-3], [10e-3, 5e-3], [19e-3, 0.0]] {
        let b = probe.at(p).b_t;
        assert!((b[1] / (0.1 * 300.0 / 102.0) - 1.0).abs() < 1e-4 && b[0].abs() < 1e-5, "{p:?}: {b:?}");
    }
    // Outside: the applied field and a dipole, 2 (µr − 1)/(µr + 2) B0 (a/z)³ on the axis, also beyond the circle.
    for z in [30e-3, 39e-3, 60e-3] {
        let want = 0.1 * (1.0 + 2.0 * 99.0 / 102.0 * (radius / z).powi(3));
        let got = probe.at([0.0, z]).b_t[1];
        assert!((got / want - 1.0).abs() < 1e-4, "z = {z}: {got} for {want}");
    }
}
