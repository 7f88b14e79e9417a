//! The field beyond the bounding circle, from the potential on it.
//!
//! Axially, A = Σ aₙ (R/ρ)ⁿ⁺¹ Pₙ¹(cos θ) (J. D. Jackson, Classical Electrodynamics, 3rd ed., 5.5); in the plane,
//! A = c₀ − (µ₀ I / 2π) ln(ρ/R) + Σ (R/ρ)ⁿ (cₙ cos nθ + sₙ sin nθ), I the net current. The coefficients are integrals over
//! the circle; c₀ has no field and is left to the potential's own zero, the circle's mean.

use crate::drawing::{BACKGROUND, Point, Symmetry, distance};
use crate::element::{Element, NODES_MAX};
use crate::law::MU_0;
use crate::magnetostatics::{FieldPoint, Solution};
use crate::mesh::Mesh;

/// Multipoles kept.
const TERMS: usize = 24;

/// The multipole series of a solution.
#[derive(Clone, Debug)]
pub(crate) struct Multipole {
    axial: bool,
    centre: Point,
    radius_m: f64,
    applied_t: f64,
    /// µ₀ I / 2π of the net current (planar), in Wb/m.
    line: f64,
    /// Mean of the potential over the circle (planar), in Wb/m.
    mean: f64,
    /// aₙ (axial) or cₙ, sₙ (planar), n from 1.
    cosine: [f64; TERMS],
    sine: [f64; TERMS],
}

impl Multipole {
    pub(crate) fn of(solution: &Solution) -> Self {
        let mesh = &solution.mesh;
        let axial = mesh.symmetry == Symmetry::Axial;
        let mut m = Self {
            axial,
            centre: mesh.centre,
            radius_m: mesh.radius_m,
            applied_t: solution.applied_t,
            line: MU_0 * solution.net_current() / (2.0 * std::f64::consts::PI),
            mean: 0.0,
            cosine: [0.0; TERMS],
            sine: [0.0; TERMS],
        };
        let (mut sum, mut round) = (0.0, 0.0);
        each_on_circle(mesh, |element, angle, weight, n| {
            let a: f64 = element.iter().zip(n).map(|(&v, n)| n * solution.potential[v as usize]).sum();
            m.add(angle, weight * a, mesh.symmetry);
            (sum, round) = (sum + weight * a, round + weight);
        });
        // Flux that runs along a mirror is odd: its mean is zero.
        let odd = mesh.symmetry == Symmetry::PlanarHalf(crate::drawing::Mirror::FluxParallel);
        m.mean = if axial || odd { 0.0 } else { sum / round };
        m
    }

    /// Add the potential `a` times an angle element at the polar angle `angle` (from the x axis).
    fn add(&mut self, angle: f64, a: f64, symmetry: Symmetry) {
        if self.axial {
            // θ is counted from the y axis: cos θ = sin angle. ∫ (Pₙ¹)² d cos θ = 2 n (n + 1) / (2 n + 1).
            let (cos, sin) = (angle.sin(), angle.cos());
            let p = associated(cos, sin);
            for (k, c) in self.cosine.iter_mut().enumerate() {
                let n = (k + 1) as f64;
                *c += a * p[k].0 * sin * (2.0 * n + 1.0) / (2.0 * n * (n + 1.0));
            }
        } else {
            // A half drawing stands for its mirror image too: odd or even about x = 0, so the sum doubles and the
            // other parity is zero.
            let images: &[(f64, f64)] = match symmetry {
                Symmetry::Planar => &[(1.0, 1.0)],
                Symmetry::PlanarHalf(crate::drawing::Mirror::FluxNormal) => &[(1.0, 1.0), (-1.0, 1.0)],
                _ => &[(1.0, 1.0), (-1.0, -1.0)],
            };
            for &(side, sign) in images {
                let angle = if side > 0.0 { angle } else { std::f64::consts::PI - angle };
                for k in 0..TERMS {
                    let n = (k + 1) as f64;
                    self.cosine[k] += sign * a * (n * angle).cos() / std::f64::consts::PI;
                    self.sine[k] += sign * a * (n * angle).sin() / std::f64::consts::PI;
                }
            }
        }
    }

    /// The field at a point on or beyond the circle.
    pub(crate) fn at(&self, p: Point) -> FieldPoint {
        let d = [p[0] - self.centre[0], p[1] - self.centre[1]];
        let rho = distance(p, self.centre);
        let ratio = self.radius_m / rho;
        let (mut a, mut radial, mut polar) = (0.0, 0.0, 0.0);
        if self.axial {
            let (cos, sin) = (d[1] / rho, d[0] / rho);
            let p = associated(cos, sin);
            let mut power = ratio * ratio;
            for (k, c) in self.cosine.iter().enumerate() {
                let n = (k + 1) as f64;
                // B_ρ = (1 / ρ sin θ) ∂(A sin θ)/∂θ and ∂(sin θ Pₙ¹)/∂θ = n (n + 1) sin θ Pₙ with Pₙ¹ = −∂Pₙ/∂θ
                // taken positive; B_θ = −(1/ρ) ∂(ρ A)/∂ρ.
                a += c * power * p[k].0;
                radial += c * power / rho * n * (n + 1.0) * p[k].1;
                polar += c * power / rho * n * p[k].0;
                power *= ratio;
            }
            let b = [radial * sin + polar * cos, radial * cos - polar * sin + self.applied_t];
            return FieldPoint { b_t: b, potential: a, region: BACKGROUND };
        }
        let angle = d[1].atan2(d[0]);
        a += self.mean + self.line * ratio.ln();
        let (mut by_rho, mut by_angle) = (-self.line / rho, 0.0);
        let mut power = ratio;
        for k in 0..TERMS {
            let n = (k + 1) as f64;
            let (sin, cos) = (n * angle).sin_cos();
            let value = self.cosine[k] * cos + self.sine[k] * sin;
            a += power * value;
            by_rho -= power * n / rho * value;
            by_angle += power * n / rho * (self.sine[k] * cos - self.cosine[k] * sin);
            power *= ratio;
        }
        let (sin, cos) = angle.sin_cos();
        let gradient = [by_rho * cos - by_angle * sin, by_rho * sin + by_angle * cos];
        FieldPoint { b_t: [-gradient[1], gradient[0] + self.applied_t], potential: a, region: BACKGROUND }
    }
}

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

/// (−∂Pₙ/∂θ, Pₙ) for n = 1 to [`TERMS`]: the associated functions Pₙ¹ without the phase (−1), and Legendre's.
fn associated(cos: f64, sin: f64) -> [(f64, f64); TERMS] {
    let mut out = [(0.0, 0.0); TERMS];
    let (mut before, mut now) = (1.0, cos);
    let (mut slope_before, mut slope) = (0.0, 1.0);
    for (k, o) in out.iter_mut().enumerate() {
        let n = (k + 1) as f64;
        *o = (sin * slope, now);
        let next = ((2.0 * n + 1.0) * cos * now - n * before) / (n + 1.0);
        let slope_next = slope_before + (2.0 * n + 1.0) * now;
        (before, now) = (now, next);
        (slope_before, slope) = (slope, slope_next);
    }
    out
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
