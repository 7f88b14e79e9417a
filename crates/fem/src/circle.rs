//! Integrals over the bounding circle of a mesh.

use crate::drawing::Point;
use crate::element::{Element, NODES_MAX};
use crate::mesh::Mesh;

/// Visit points of the bounding circle by a Gauss rule of five on each side of an element that lies on it: the element's
/// nodes, polar angle from the x axis, weight (an angle), shape functions. The weights' sum is the drawn angle.
pub(crate) fn each_on_circle(mesh: &Mesh, mut visit: impl FnMut(&[u32], f64, f64, &[f64; NODES_MAX])) {
    let (nodes, weights) = gauss5();
    let full = 2.0 * std::f64::consts::PI;
    for k in mesh.first_exterior..mesh.element_count() {
        let element = mesh.element(k);
        for s in 0..3 {
            let ends = [element[s] as usize, element[(s + 1) % 3] as usize];
            if !ends.iter().all(|&e| mesh.on_circle(e)) {
                continue;
            }
            let angle = |p: Point| (p[1] - mesh.centre[1]).atan2(p[0] - mesh.centre[0]);
            let (from, to) = (angle(mesh.nodes[ends[0]]), angle(mesh.nodes[ends[1]]));
            let span = (to - from + 0.5 * full).rem_euclid(full) - 0.5 * full;
            for (t, w) in nodes.iter().zip(&weights) {
                let mut lambda = [0.0; 3];
                lambda[s] = 1.0 - t;
                lambda[(s + 1) % 3] = *t;
                let (n, _) = Element::of_order(mesh.order).shape([lambda[1], lambda[2]]);
                visit(element, from + t * span, w * span.abs(), &n);
            }
        }
    }
}

/// Gauss–Legendre rule of five points on [0, 1] (Abramowitz and Stegun 25.4.30).
fn gauss5() -> ([f64; 5], [f64; 5]) {
    let (a, b) = (
        (5.0 - 2.0 * (10.0f64 / 7.0).sqrt()).sqrt() / 3.0,
        (5.0 + 2.0 * (10.0f64 / 7.0).sqrt()).sqrt() / 3.0,
    );
    let (u, v) = ((322.0 + 13.0 * 70f64.sqrt()) / 900.0, (322.0 - 13.0 * 70f64.sqrt()) / 900.0);
    (
        [0.5 - 0.5 * b, 0.5 - 0.5 * a, 0.5, 0.5 + 0.5 * a, 0.5 + 0.5 * b],
        [0.5 * v, 0.5 * u, 64.0 / 225.0, 0.5 * u, 0.5 * v],
    )
}
