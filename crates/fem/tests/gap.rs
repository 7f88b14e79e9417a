//! Thin gaps: what they cost in elements, morphing from one to another, and the pull across them.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_fem::drawing::{Drawing, DrawingError, Outline, Point, Symmetry};
use coilwright_fem::law::{Law, LawPoint, MU_0, Medium};
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::mesh::Mesh;
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::Ladder;
use std::sync::Arc;

/// A soft law: H = ν B (1 + (B / knee)⁸), permeability 1000 up to 1.5 T or so.
#[derive(Debug)]
struct Soft;

impl Law for Soft {
    fn at(&self, b_t: f64) -> LawPoint {
        let (nu, u) = (1.0 / (1000.0 * MU_0), (b_t / 1.4).powi(8));
        LawPoint {
            reluctivity: nu * (1.0 + u),
            slope: nu * (1.0 + 9.0 * u),
            energy: nu * b_t * b_t * (0.5 + u / 10.0),
        }
    }
}

const AMPERE_TURNS: f64 = 1080.0;
const WINDING: [[f64; 2]; 2] = [[12.6e-3, 25.8e-3], [6.6e-3, 34.8e-3]];
/// Numbers of the areas.
const PLATE: usize = 4;

/// A shell of 60 mm with a pole and a winding, and a plate at a gap above its face.
fn magnet(gap_m: f64) -> Drawing {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 24e-3], 66e-3);
    drawing.growth = 0.4;
    drawing.size_max_m = 12e-3;
    drawing.paint(1, Outline::rectangle([0.0, 30e-3], [0.0, 6e-3]));
    drawing.paint(1, Outline::rectangle([26.4e-3, 30e-3], [6e-3, 36e-3]));
    drawing.paint(1, Outline::rectangle([0.0, 12e-3], [6e-3, 36e-3]));
    drawing.paint(2, Outline::rectangle(WINDING[0], WINDING[1]));
    drawing.paint(3, Outline::rectangle([0.0, 36e-3], [36e-3 + gap_m, 48e-3 + gap_m]));
    for x in [12e-3, 26.4e-3, 30e-3] {
        drawing.grade([x, 36e-3], 0.15 * gap_m.min(1e-3));
    }
    drawing
}

fn media() -> Arc<Vec<Medium>> {
    let section: f64 = WINDING.iter().map(|s| s[1] - s[0]).product();
    let iron = Medium::of(Soft);
    let winding = Medium::vacuum().with_current_density(AMPERE_TURNS / section);
    Arc::new(vec![Medium::vacuum(), iron.clone(), winding, iron])
}

fn climb(gap_m: f64) -> Ladder {
    Ladder::climb(&magnet(gap_m), media(), 0.0).expect("a solution")
}

/// Upward force on the plate; the drawing is the one the solution's mesh was made of or morphed to.
fn force_on_plate(drawing: &Drawing, solution: &Solution) -> f64 {
    let motion = Motion::of_areas(&solution.mesh, drawing, |k| k == PLATE, [0.0, 1.0]).expect("a motion");
    assert!(!solution.strains_matter(&motion));
    solution.force(&motion)
}

/// The smallest and the largest angle of a triangle, in degrees.
fn angles([a, b, c]: [Point; 3]) -> (f64, f64) {
    let at = |p: Point, q: Point, r: Point| {
        let (u, v) = ([q[0] - p[0], q[1] - p[1]], [r[0] - p[0], r[1] - p[1]]);
        (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]).to_degrees()
    };
    let all = [at(a, b, c), at(b, c, a), at(c, a, b)];
    (all.into_iter().fold(180.0, f64::min), all.into_iter().fold(0.0, f64::max))
}

/// Well-shaped triangles alone would need 30 mm / 10 µm = 3000 along the gap and far more around it. The gap is
/// filled with a row of right triangles instead, as long as their surroundings allow; the rest is well shaped but
/// for a few.
#[test]
fn thin_gaps_cost_few_elements() {
    for gap_m in [10e-6, 30e-6, 0.1e-3, 0.5e-3, 2e-3] {
        let mesh = Mesh::new(&magnet(gap_m), 1).unwrap();
        let (least, count) = mesh.quality();
        let shapes: Vec<(f64, f64)> = (0..count).map(|k| angles(mesh.corners(k))).collect();
        assert!(shapes.iter().all(|s| s.0 > 0.0), "{gap_m}: a triangle is turned over");
        assert_eq!(least, shapes.iter().fold(180.0, |m: f64, s| m.min(s.0)));
        let free: Vec<f64> = shapes.iter().filter(|s| (s.1 - 90.0).abs() > 1e-6).map(|s| s.0).collect();
        let good = free.iter().filter(|a| **a > 18.0).count() as f64 / free.len() as f64;
        assert!(count < 3000, "{gap_m}: {count} elements");
        assert!(good > 0.95, "{gap_m}: only {good:.3} of the triangles are well shaped");
    }
}

#[test]
fn a_morphed_mesh_is_as_good_as_a_fresh_one() {
    let mut wide = climb(0.5e-3);
    for gap_m in [0.4e-3, 0.2e-3, 0.1e-3] {
        let to = magnet(gap_m);
        let morphed = wide.nearby(&to, media(), 0.0, None).unwrap();
        let got = force_on_plate(&wide.framed(&to), &morphed);
        let fresh = climb(gap_m);
        let want = force_on_plate(fresh.drawing(), fresh.solution());
        assert!((got / want - 1.0).abs() < 3e-4, "{gap_m}: {got} N morphed, {want} N afresh");
    }
    // And back, from the far end.
    let narrow = wide.nearby(&magnet(0.1e-3), media(), 0.0, None).unwrap();
    let there = wide.nearby(&magnet(0.5e-3), media(), 0.0, Some(&narrow)).unwrap();
    let here = wide.nearby(&magnet(0.5e-3), media(), 0.0, None).unwrap();
    let [got, want] = [there, here].map(|s| force_on_plate(wide.drawing(), &s));
    assert!((got / want - 1.0).abs() < 1e-5, "{got} N after a detour for {want} N");
}

/// Π = energy − ∫ J · A falls as the body follows the force: the derivative on morphed meshes is the virtual work.
#[test]
fn force_is_the_slope_of_the_functional() {
    for gap_m in [20e-6, 0.2e-3, 1e-3] {
        let mut ladder = climb(gap_m);
        // Solved once more, so that all are converged alike.
        let here = ladder.nearby(&magnet(gap_m), media(), 0.0, None).unwrap();
        let force = force_on_plate(ladder.drawing(), &here);
        let mut functional = |gap_m: f64| {
            let s = ladder.nearby(&magnet(gap_m), media(), 0.0, Some(&here)).unwrap();
            s.energies().0 - AMPERE_TURNS * s.region(2).unwrap().flux_per_turn_wb
        };
        // Central differences at one and two steps, extrapolated.
        let mut slope = |h: f64| (functional(gap_m + h) - functional(gap_m - h)) / (2.0 * h);
        let step = 0.01 * gap_m;
        let want = -(4.0 * slope(step) - slope(2.0 * step)) / 3.0;
        assert!(force < 0.0, "attraction is downwards");
        assert!((force / want - 1.0).abs() < 1e-5, "{gap_m}: {force} N, {want} N by differences");
    }
}

#[test]
fn the_same_bits_twice() {
    let (first, second) = (climb(0.1e-3), climb(0.1e-3));
    assert_eq!(first.solution().potential, second.solution().potential);
    assert_eq!(first.solution().mesh.nodes, second.solution().mesh.nodes);
    let [a, b] = [first, second].map(|mut l| l.nearby(&magnet(0.12e-3), media(), 0.0, None).unwrap());
    assert_eq!(a.potential, b.potential);
    assert_eq!(a.energies(), b.energies());
}

#[test]
fn what_cannot_be_morphed_says_so() {
    let ladder = climb(0.5e-3);
    let mesh = &ladder.solution().mesh;
    let mut other = magnet(0.5e-3);
    other.areas.pop();
    assert_eq!(Motion::between(mesh, ladder.drawing(), &other), Err(DrawingError::DifferentStructure));
    // The plate's edge moved across a corner below it: the mesh between them folds.
    let mut narrow = magnet(0.5e-3);
    narrow.areas[PLATE].outline = Outline::rectangle([0.0, 14.4e-3], [36.5e-3, 48.5e-3]);
    let moved = Motion::between(mesh, ladder.drawing(), &narrow).and_then(|m| mesh.moved(&m));
    assert_eq!(moved.err(), Some(DrawingError::MorphFolds));
}
