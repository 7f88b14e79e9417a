//! Reading a temperature field: hottest place, means, single points.

use super::Heat;
use crate::drawing::{Point, cross, sub};
use crate::element::{Element, NODES_MAX, node_count};
use crate::sparse::NONE;

/// The hottest place of a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hottest {
    /// Temperature there, in K.
    pub kelvin: f64,
    /// Where, in m.
    pub place: Point,
}

/// Reads the temperature at one fixed point.
#[derive(Clone, Debug, PartialEq)]
pub struct Thermometer {
    weights: Vec<(u32, f64)>,
}

impl Thermometer {
    /// Temperature there, in K.
    pub fn read(&self, temperature_k: &[f64]) -> f64 {
        self.weights.iter().map(|&(u, w)| w * temperature_k[u as usize]).sum()
    }
}

impl Heat {
    /// The hottest node of a region, or `None` if nothing conducts there.
    pub fn hottest(&self, temperature_k: &[f64], region: usize) -> Option<Hottest> {
        let nodes = node_count(self.mesh.order);
        let mut best: Option<Hottest> = None;
        for k in (0..self.mesh.first_exterior).filter(|&k| self.mesh.region[k] == region) {
            for &u in self.unknown[k * nodes..(k + 1) * nodes].iter().filter(|u| **u != NONE) {
                let kelvin = temperature_k[u as usize];
                if best.is_none_or(|b| kelvin > b.kelvin) {
                    best = Some(Hottest { kelvin, place: self.place[u as usize] });
                }
            }
        }
        best
    }

    /// Mean temperature of a region by volume in K, or `None` if nothing conducts there.
    pub fn mean_k(&self, temperature_k: &[f64], region: usize) -> Option<f64> {
        let nodes = node_count(self.mesh.order);
        let (mut sum, mut volume) = (0.0, 0.0);
        for k in (0..self.mesh.first_exterior).filter(|&k| self.mesh.region[k] == region) {
            for i in (k * nodes..(k + 1) * nodes).filter(|&i| self.unknown[i] != NONE) {
                sum += self.volume[i] * temperature_k[self.unknown[i] as usize];
                volume += self.volume[i];
            }
        }
        (volume > 0.0).then(|| sum / volume)
    }

    /// A thermometer at a point of a region, or `None` if the point is not in it. On a common boundary the
    /// region decides whose temperature is read.
    pub fn thermometer(&self, at: Point, region: usize) -> Option<Thermometer> {
        let mesh = &self.mesh;
        let nodes = node_count(mesh.order);
        let element = Element::of_order(mesh.order);
        let mut best: Option<(f64, usize, Point)> = None;
        for k in (0..mesh.first_exterior).filter(|&k| mesh.region[k] == region) {
            if self.unknown[k * nodes] == NONE {
                continue;
            }
            let xi = local(&mesh.coordinates(k), mesh.curved[k], element, at);
            let least = xi[0].min(xi[1]).min(1.0 - xi[0] - xi[1]);
            if best.is_none_or(|b| least > b.0) {
                best = Some((least, k, xi));
            }
        }
        let (least, k, xi) = best?;
        // Points on the boundary must be found in spite of rounding.
        if least < -1e-6 {
            return None;
        }
        let (n, _) = element.shape(xi);
        let of_element = &self.unknown[k * nodes..(k + 1) * nodes];
        Some(Thermometer { weights: of_element.iter().zip(n).map(|(&u, w)| (u, w)).collect() })
    }
}

/// Reference coordinates of a point in an element.
fn local(x: &[Point; NODES_MAX], curved: bool, element: &Element, p: Point) -> Point {
    let det = cross(sub(x[1], x[0]), sub(x[2], x[0]));
    let w = sub(p, x[0]);
    let mut xi = [cross(w, sub(x[2], x[0])) / det, cross(sub(x[1], x[0]), w) / det];
    // Far away from a curved element the iteration has no meaning; its chords tell well enough that it is not
    // there.
    if !curved || xi.iter().any(|v| !(-1.0..=2.0).contains(v)) {
        return xi;
    }
    for _ in 0..20 {
        let (n, dn) = element.shape(xi);
        let (mut at, mut j) = ([0.0; 2], [[0.0; 2]; 2]);
        for (m, node) in x.iter().enumerate().take(element.nodes.len()) {
            for d in 0..2 {
                at[d] += n[m] * node[d];
                j[d][0] += dn[m][0] * node[d];
                j[d][1] += dn[m][1] * node[d];
            }
        }
        let r = sub(p, at);
        let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
        let step = [(r[0] * j[1][1] - r[1] * j[0][1]) / det, (j[0][0] * r[1] - j[1][0] * r[0]) / det];
        xi = [xi[0] + step[0], xi[1] + step[1]];
        if step[0].abs() + step[1].abs() < 1e-13 {
            break;
        }
    }
    xi
}
