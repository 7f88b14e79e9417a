//! Meshes of triangles of any order, with the image of open space.

use crate::drawing::{Drawing, DrawingError, Point, Symmetry, distance, sub, sweep};
use crate::element::{Element, NODES_MAX, node_count};
use crate::triangulate::{Triangles, triangulate};
use std::sync::Arc;

/// A mesh: nodes, elements, regions.
///
/// Elements before [`Mesh::first_exterior`] fill the bounding circle. The others fill a second disc, the image of
/// open space under inversion in the circle; both share the nodes on it.
#[derive(Clone, Debug)]
pub struct Mesh {
    /// How the plane is continued to space.
    pub symmetry: Symmetry,
    /// Centre of the bounding circle, in metres.
    pub centre: Point,
    /// Radius of the bounding circle, in metres.
    pub radius_m: f64,
    /// Polynomial order.
    pub order: usize,
    /// Node coordinates in metres.
    pub nodes: Vec<Point>,
    /// Node numbers, [`node_count`] to an element, in the order of the element's nodes.
    pub(crate) elements: Vec<u32>,
    /// Region of each element.
    pub region: Vec<usize>,
    /// Elements with a side on an arc.
    pub(crate) curved: Vec<bool>,
    /// The first element of the image of open space.
    pub first_exterior: usize,
    /// Nodes on the axis or mirror.
    pub(crate) on_axis: Vec<bool>,
    /// The node that is the image of infinity.
    pub(crate) infinity: usize,
    pub(crate) triangles: Arc<Triangles>,
}

impl Mesh {
    /// Mesh a drawing with elements of the given order.
    pub fn new(drawing: &Drawing, order: usize) -> Result<Self, DrawingError> {
        let triangles = triangulate(drawing)?;
        Ok(Self::build(drawing.symmetry, drawing.centre, drawing.radius_m, Arc::new(triangles), order))
    }

    /// The same triangles with another order.
    pub fn with_order(&self, order: usize) -> Self {
        Self::build(self.symmetry, self.centre, self.radius_m, self.triangles.clone(), order)
    }

    /// Number of elements.
    pub fn element_count(&self) -> usize {
        self.region.len()
    }

    pub(crate) fn build(
        symmetry: Symmetry,
        centre: Point,
        radius_m: f64,
        triangles: Arc<Triangles>,
        order: usize,
    ) -> Self {
        let t = &*triangles;
        let width = node_count(order);
        let mut nodes = t.points.clone();
        let mut on_axis = t.on_axis.clone();
        let mut elements = Vec::with_capacity(t.corners.len() * width);
        let mut curved = vec![false; t.corners.len()];
        let mut first_of_side = vec![u32::MAX; t.side_count];
        for (k, corners) in t.corners.iter().enumerate() {
            elements.extend(corners.iter().map(|&c| c as u32));
            for s in 0..3 {
                let (a, b) = (corners[s], corners[(s + 1) % 3]);
                let key = [a.min(b), a.max(b)];
                let arc = t.arcs.get(&key);
                curved[k] |= arc.is_some();
                let first = &mut first_of_side[t.sides[k][s] as usize];
                if *first == u32::MAX {
                    *first = nodes.len() as u32;
                    let (p, q) = (t.points[key[0]], t.points[key[1]]);
                    let axial = t.on_axis[a] && t.on_axis[b];
                    for m in 1..order {
                        let mut x = on_side(p, q, arc.copied(), m as f64 / order as f64);
                        if axial {
                            x[0] = 0.0;
                        }
                        nodes.push(x);
                        on_axis.push(axial);
                    }
                }
                let first = *first;
                let inner = (order - 1) as u32;
                if a < b {
                    elements.extend(first..first + inner);
                } else {
                    elements.extend((first..first + inner).rev());
                }
            }
            let shape = &Element::of_order(order).nodes;
            for node in &shape[3 * order..] {
                elements.push(nodes.len() as u32);
                nodes.push(inner_node(t, corners, node.map(|i| i as f64 / order as f64)));
                on_axis.push(false);
            }
        }
        Self {
            symmetry,
            centre,
            radius_m,
            order,
            nodes,
            elements,
            region: t.region.clone(),
            curved,
            first_exterior: t.first_exterior,
            on_axis,
            infinity: t.infinity,
            triangles,
        }
    }

    /// Node numbers of an element.
    pub(crate) fn element(&self, k: usize) -> &[u32] {
        let width = node_count(self.order);
        &self.elements[k * width..(k + 1) * width]
    }

    /// Corner coordinates of an element.
    pub fn corners(&self, k: usize) -> [Point; 3] {
        let e = self.element(k);
        [0, 1, 2].map(|c| self.nodes[e[c] as usize])
    }

    /// Area of an element as it is mapped, in m².
    pub(crate) fn area_m2(&self, k: usize) -> f64 {
        let x = self.coordinates(k);
        if !self.curved[k] {
            return 0.5 * crate::drawing::cross(sub(x[1], x[0]), sub(x[2], x[0]));
        }
        let points = &Element::of_order(self.order).points;
        let det = |q: &crate::element::QuadraturePoint| {
            let mut j = [[0.0; 2]; 2];
            for (p, dn) in x.iter().zip(&q.dn).take(self.element(k).len()) {
                for d in 0..2 {
                    j[d][0] += dn[0] * p[d];
                    j[d][1] += dn[1] * p[d];
                }
            }
            j[0][0] * j[1][1] - j[0][1] * j[1][0]
        };
        points.iter().map(|q| q.weight * det(q)).sum()
    }

    /// Node coordinates of an element, padded.
    pub(crate) fn coordinates(&self, k: usize) -> [Point; NODES_MAX] {
        let mut x = [[0.0; 2]; NODES_MAX];
        for (x, &n) in x.iter_mut().zip(self.element(k)) {
            *x = self.nodes[n as usize];
        }
        x
    }

    /// The smallest angle of any triangle in degrees, and the number of triangles.
    pub fn quality(&self) -> (f64, usize) {
        let angle = |a: Point, b: Point, c: Point| {
            let (u, v) = (sub(b, a), sub(c, a));
            (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]).to_degrees()
        };
        let least = (0..self.element_count())
            .map(|k| {
                let [a, b, c] = self.corners(k);
                angle(a, b, c).min(angle(b, c, a)).min(angle(c, a, b))
            })
            .fold(180.0, f64::min);
        (least, self.element_count())
    }

    /// Values at this mesh's nodes of a field given at the nodes of `other`, which has the same triangles.
    pub fn interpolate(&self, other: &Mesh, values: &[f64]) -> Vec<f64> {
        let element = Element::of_order(other.order);
        let p = self.order as f64;
        let shapes: Vec<_> = Element::of_order(self.order)
            .nodes
            .iter()
            .map(|node| element.shape([node[1] as f64 / p, node[2] as f64 / p]).0)
            .collect();
        let mut out = vec![0.0; self.nodes.len()];
        for k in 0..self.element_count() {
            let from = other.element(k);
            for (n, shape) in self.element(k).iter().zip(&shapes) {
                out[*n as usize] = from.iter().zip(shape).map(|(&m, s)| values[m as usize] * s).sum();
            }
        }
        out
    }
}

/// A point on a side: on the chord, or on the short arc about a centre.
fn on_side(p: Point, q: Point, centre: Option<Point>, t: f64) -> Point {
    let chord = [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])];
    let Some(c) = centre else { return chord };
    let ccw = sweep(p, q, c, true) <= std::f64::consts::PI;
    let angle = sweep(p, q, c, ccw) * t * if ccw { 1.0 } else { -1.0 };
    let (u, (s, k)) = (sub(p, c), angle.sin_cos());
    [c[0] + k * u[0] - s * u[1], c[1] + s * u[0] + k * u[1]]
}

/// A node inside an element: barycentric, plus the blended bulge of its curved sides
/// (Szabó and Babuška, Finite Element Analysis, 1991, 6.1).
fn inner_node(t: &Triangles, corners: &[usize; 3], lambda: [f64; 3]) -> Point {
    let x = corners.map(|c| t.points[c]);
    let mut p = [0, 1].map(|d| (0..3).map(|c| lambda[c] * x[c][d]).sum::<f64>());
    for s in 0..3 {
        let (a, b) = (corners[s], corners[(s + 1) % 3]);
        let Some(&centre) = t.arcs.get(&[a.min(b), a.max(b)]) else { continue };
        let (la, lb) = (lambda[s], lambda[(s + 1) % 3]);
        let along = 0.5 * (1.0 + lb - la);
        let chord = on_side(t.points[a], t.points[b], None, along);
        let arc = on_side(t.points[a], t.points[b], Some(centre), along);
        let blend = 4.0 * la * lb / (1.0 - (lb - la) * (lb - la));
        p[0] += blend * (arc[0] - chord[0]);
        p[1] += blend * (arc[1] - chord[1]);
    }
    p
}

/// Geometry at one point of an element: Jacobian determinant and gradients of the shape functions.
pub(crate) struct Geometry<const N: usize> {
    pub(crate) x: Point,
    pub(crate) det: f64,
    pub(crate) grad: [[f64; N]; 2],
}

/// Map shape functions `n` and their reference gradients to an element with nodes `x`.
#[inline]
pub(crate) fn geometry<const N: usize>(
    x: &[Point; NODES_MAX],
    curved: bool,
    xi: [f64; 2],
    n: &[f64; NODES_MAX],
    dn: &[[f64; 2]; NODES_MAX],
) -> Geometry<N> {
    let (mut j, mut at);
    if curved {
        j = [[0.0; 2]; 2];
        at = [0.0; 2];
        for k in 0..N {
            for d in 0..2 {
                at[d] += n[k] * x[k][d];
                j[d][0] += dn[k][0] * x[k][d];
                j[d][1] += dn[k][1] * x[k][d];
            }
        }
    } else {
        j = [[x[1][0] - x[0][0], x[2][0] - x[0][0]], [x[1][1] - x[0][1], x[2][1] - x[0][1]]];
        at = [0, 1].map(|d| x[0][d] + j[d][0] * xi[0] + j[d][1] * xi[1]);
    }
    let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
    let inv = [[j[1][1] / det, -j[1][0] / det], [-j[0][1] / det, j[0][0] / det]];
    let mut grad = [[0.0; N]; 2];
    for k in 0..N {
        grad[0][k] = inv[0][0] * dn[k][0] + inv[0][1] * dn[k][1];
        grad[1][k] = inv[1][0] * dn[k][0] + inv[1][1] * dn[k][1];
    }
    Geometry { x: at, det, grad }
}

impl Mesh {
    /// Whether a node lies on the bounding circle.
    pub(crate) fn on_circle(&self, n: usize) -> bool {
        (distance(self.nodes[n], self.centre) - self.radius_m).abs() < 1e-7 * self.radius_m
    }

    /// Visit points of the bounding circle by a Gauss rule of five on each side of an element that lies on it: the element's
    /// nodes, polar angle from the x axis, weight (an angle), shape functions. The weights' sum is the drawn angle.
    pub(crate) fn each_on_circle(&self, mut visit: impl FnMut(&[u32], f64, f64, &[f64; NODES_MAX])) {
        let (nodes, weights) = gauss5();
        let full = 2.0 * std::f64::consts::PI;
        for k in self.first_exterior..self.element_count() {
            let element = self.element(k);
            for s in 0..3 {
                let ends = [element[s] as usize, element[(s + 1) % 3] as usize];
                if !ends.iter().all(|&e| self.on_circle(e)) {
                    continue;
                }
                let angle = |p: Point| (p[1] - self.centre[1]).atan2(p[0] - self.centre[0]);
                let (from, to) = (angle(self.nodes[ends[0]]), angle(self.nodes[ends[1]]));
                let span = (to - from + 0.5 * full).rem_euclid(full) - 0.5 * full;
                for (t, w) in nodes.iter().zip(&weights) {
                    let mut lambda = [0.0; 3];
                    lambda[s] = 1.0 - t;
                    lambda[(s + 1) % 3] = *t;
                    let (n, _) = Element::of_order(self.order).shape([lambda[1], lambda[2]]);
                    visit(element, from + t * span, w * span.abs(), &n);
                }
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
