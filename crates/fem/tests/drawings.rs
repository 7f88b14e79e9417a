//! Drawings that cannot be meshed say why; odd ones that can are meshed.

use coilwright_fem::drawing::{BACKGROUND, Curve, Drawing, DrawingError, Outline, Point, Symmetry};
use coilwright_fem::law::Medium;
use coilwright_fem::mesh::Mesh;
use coilwright_fem::solve::Ladder;
use std::sync::Arc;

fn with(outlines: &[Outline]) -> Drawing {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
    for (k, outline) in outlines.iter().enumerate() {
        drawing.paint(k + 1, outline.clone());
    }
    drawing
}

fn meshed(outlines: &[Outline]) -> Result<Mesh, DrawingError> {
    Mesh::new(&with(outlines), 2)
}

/// Area of a region over its triangles, in m².
fn area(mesh: &Mesh, region: usize) -> f64 {
    (0..mesh.first_exterior)
        .filter(|k| mesh.region[*k] == region)
        .map(|k| {
            let [a, b, c] = mesh.corners(k);
            0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
        })
        .sum()
}

const ARC: Curve = Curve::Arc { centre: [10e-3, 0.0], ccw: true };

#[test]
fn outlines_that_cannot_be() {
    let square = Outline::rectangle([5e-3, 15e-3], [0.0, 10e-3]);
    let point = |p: Point| Outline::polygon(&[[5e-3, 0.0], [15e-3, 0.0], p]);
    for (outline, want) in [
        (point([f64::NAN, 1e-3]), DrawingError::NotFinite),
        (point([1e-3, f64::INFINITY]), DrawingError::NotFinite),
        // On the bounding circle and beyond it; beyond the axis.
        (point([40e-3, 0.0]), DrawingError::Outside(40e-3, 0.0)),
        (point([0.0, -40e-3]), DrawingError::Outside(0.0, -40e-3)),
        (point([30e-3, 30e-3]), DrawingError::Outside(30e-3, 30e-3)),
        (point([-1e-6, 5e-3]), DrawingError::Outside(-1e-6, 5e-3)),
        (Outline::polygon(&[[5e-3, 0.0], [15e-3, 0.0]]), DrawingError::TooFewNodes),
        (Outline(vec![([12e-3, 0.0], ARC)]), DrawingError::TooFewNodes),
        (Outline(Vec::new()), DrawingError::TooFewNodes),
        (
            Outline(vec![([13e-3, 0.0], ARC), ([8e-3, 0.0], Curve::Line), ([10e-3, -3e-3], Curve::Line)]),
            DrawingError::BadArc(13e-3, 0.0),
        ),
        (Outline(vec![([10e-3, 0.0], ARC), ([10e-3, 0.0], ARC)]), DrawingError::BadArc(10e-3, 0.0)),
    ] {
        let got = meshed(&[square.clone(), outline.clone()]).err();
        // NaN is not equal to itself, so errors are compared as they are shown.
        assert_eq!(format!("{got:?}"), format!("{:?}", Some(want)), "{outline:?}");
    }
}

#[test]
fn sizes_that_cannot_be() {
    for bad in [0.0, -1e-3, f64::NAN, f64::INFINITY] {
        let change: [fn(&mut Drawing, f64); 4] = [
            |d, v| d.radius_m = v,
            |d, v| d.growth = v,
            |d, v| d.size_max_m = v,
            |d, v| {
                d.grade([0.0, 0.0], v);
            },
        ];
        for change in change {
            let mut drawing = with(&[Outline::rectangle([5e-3, 15e-3], [0.0, 10e-3])]);
            change(&mut drawing, bad);
            assert_eq!(Mesh::new(&drawing, 1).err(), Some(DrawingError::BadSize), "{bad}");
        }
    }
}

#[test]
fn areas_without_area_are_not_seen() {
    for flat in [
        Outline::polygon(&[[5e-3, 0.0], [15e-3, 0.0], [10e-3, 0.0]]),
        Outline::rectangle([5e-3, 15e-3], [3e-3, 3e-3]),
        Outline::polygon(&[[5e-3, 1e-3]; 3]),
    ] {
        let mesh = meshed(std::slice::from_ref(&flat)).unwrap();
        assert!(mesh.region.iter().all(|r| *r == BACKGROUND), "{flat:?}");
        let media = Arc::new(vec![Medium::vacuum(), Medium::vacuum().with_current_density(1e6)]);
        let ladder = Ladder::climb(&with(&[flat]), media, 0.0).unwrap();
        assert!(ladder.solution().region(1).is_none());
        assert!(ladder.solution().potential.iter().all(|a| *a == 0.0));
    }
}

#[test]
fn the_last_painted_is_on_top() {
    let square = Outline::rectangle([5e-3, 15e-3], [0.0, 10e-3]);
    let reversed = Outline(square.0.iter().rev().copied().collect());
    let mesh = meshed(&[square.clone(), reversed.clone()]).unwrap();
    assert!(!mesh.region.contains(&1));
    assert!((area(&mesh, 2) / 1e-4 - 1.0).abs() < 1e-12);
    // Identical areas thrice, then a hole: the background again.
    let mut drawing = with(&[square.clone(), square, reversed]);
    drawing.paint(BACKGROUND, Outline::rectangle([7e-3, 9e-3], [2e-3, 4e-3]));
    let mesh = Mesh::new(&drawing, 1).unwrap();
    assert!((area(&mesh, 3) / (1e-4 - 4e-6) - 1.0).abs() < 1e-12);
}

#[test]
fn outlines_may_cross_touch_and_nearly_coincide() {
    let square = Outline::rectangle([5e-3, 15e-3], [0.0, 10e-3]);
    // A bow tie: two triangles by the even–odd rule.
    let bow = Outline::polygon(&[[5e-3, 20e-3], [15e-3, 30e-3], [15e-3, 20e-3], [5e-3, 30e-3]]);
    let crossing = Outline::polygon(&[[10e-3, -5e-3], [20e-3, 5e-3], [10e-3, 15e-3]]);
    let mesh = meshed(&[square.clone(), bow, crossing]).unwrap();
    assert!((area(&mesh, 2) / 5e-5 - 1.0).abs() < 1e-9);
    assert!((area(&mesh, 3) / 1e-4 - 1.0).abs() < 1e-9);
    // The triangle covers the right half of the square and cuts through two of its corners.
    assert!((area(&mesh, 1) / 5e-5 - 1.0).abs() < 1e-9);
    // Edges 1 nm to 1 µm apart.
    for slit in [1e-9, 1e-8, 1e-7, 1e-6] {
        let above = Outline::rectangle([5e-3, 15e-3], [10e-3 + slit, 20e-3]);
        let mesh = meshed(&[square.clone(), above]).unwrap();
        let (least, count) = mesh.quality();
        assert!(least > 0.0 && count < 3000, "{slit}: {least}°, {count} elements");
    }
}
