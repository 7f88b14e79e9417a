//! Arcs: what bulges out is refused, the field is read right beside them, and a round body is moved rigidly.

use coilwright_fem::drawing::{Curve, Drawing, DrawingError, Outline, Point, Symmetry};
use coilwright_fem::law::Medium;
use coilwright_fem::magnetostatics::{Magnetostatics, Stopping};
use coilwright_fem::mesh::Mesh;
use coilwright_fem::solve::Ladder;
use std::f64::consts::PI;
use std::sync::Arc;

fn arc(centre: Point) -> Curve {
    Curve::Arc { centre, ccw: true }
}

#[test]
fn arcs_that_bulge_out() {
    let meshed = |outline| {
        let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
        drawing.paint(1, outline);
        Mesh::new(&drawing, 2).err()
    };
    // Both have their nodes inside: one arc leaves the circle, the other crosses the axis.
    let beyond_circle = Outline(vec![([30e-3, -20e-3], arc([30e-3, 0.0])), ([30e-3, 20e-3], Curve::Line)]);
    let beyond_axis = Outline(vec![([3e-3, 5e-3], arc([3e-3, 0.0])), ([3e-3, -5e-3], Curve::Line)]);
    for outline in [beyond_circle, beyond_axis] {
        let found = meshed(outline);
        assert!(matches!(found, Some(DrawingError::Outside(..))), "{found:?}");
    }
}

/// A magnetised sphere on a coarse mesh of order 4: a point must not be found in a curved element far away, where
/// Newton's method for its place leads nowhere.
#[test]
fn every_point_is_read_in_its_own_element() {
    let (radius, remanence) = (20e-3, 1.2);
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
    drawing.size_max_m = 8e-3;
    drawing.paint(1, Outline(vec![([0.0, -radius], arc([0.0, 0.0])), ([0.0, radius], Curve::Line)]));
    let media = Arc::new(vec![Medium::vacuum(), Medium::vacuum().with_remanence([0.0, remanence])]);
    let mut problem = Magnetostatics::new(Mesh::new(&drawing, 4).unwrap()).unwrap();
    let s = problem.solve(media, 0.0, None, Stopping::default()).unwrap();
    let probe = coilwright_fem::field::Probe::new(&s);
    let moment = remanence / 3.0 * f64::powi(radius, 3);
    for i in 0..300 {
        for j in 0..300 {
            let r = radius * (1.02 + 0.97 * (f64::from(i) + 0.5) / 300.0);
            let (sin, cos) = (PI * ((f64::from(j) + 0.5) / 300.0 - 0.5)).sin_cos();
            let k = moment / r.powi(3);
            let want = [3.0 * k * cos * sin, k * (3.0 * sin * sin - 1.0)];
            let got = probe.at([r * cos, r * sin]).b_t;
            // The mesh is good to some 4 mT at worst; a wrong element gives 0.2 T and more.
            let error = (got[0] - want[0]).hypot(got[1] - want[1]);
            assert!(error < 10e-3, "{r} {sin}: {got:?} for {want:?}");
        }
    }
}

/// Round go and return: µ0 I² / 2πd per metre, exactly, for their fields are those of filaments.
#[test]
fn force_on_a_round_wire() {
    let (radius, spacing, current) = (1.5e-3, 20e-3, 1000.0);
    let mut drawing = Drawing::new(Symmetry::Planar, [0.0, 0.0], 30e-3);
    drawing.growth = 0.1;
    drawing.size_max_m = 0.9e-3;
    let mut media = vec![Medium::vacuum()];
    for (k, side) in [1.0, -1.0].into_iter().enumerate() {
        let x = 0.5 * side * spacing;
        drawing.paint(k + 1, Outline(vec![([x, -radius], arc([x, 0.0])), ([x, radius], arc([x, 0.0]))]));
        drawing.grade([x, 0.0], 0.4e-3);
        media.push(Medium::vacuum().with_current_density(side * current / (PI * radius * radius)));
    }
    let ladder = Ladder::climb(&drawing, Arc::new(media), 0.0).unwrap();
    let motion = ladder.motion(|k| k == 0, [1.0, 0.0]).unwrap();
    assert!(!ladder.solution().strains_matter(&motion));
    let want = 4.0e-7 * PI * current * current / (2.0 * PI * spacing);
    for got in [ladder.solution().force(&motion), ladder.solution().force_on_shell(&motion)] {
        assert!((got / want - 1.0).abs() < 5e-5, "{got} N/m for {want}");
    }
}
