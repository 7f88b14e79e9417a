//! The field beyond the bounding circle, from the potential on it.
//!
//! Axially, A = Σ aₙ (R/ρ)ⁿ⁺¹ Pₙ¹(cos θ) (J. D. Jackson, Classical Electrodynamics, 3rd ed., 5.5); in the plane,
//! A = c₀ − (µ₀ I / 2π) ln(ρ/R) + Σ (R/ρ)ⁿ (cₙ cos nθ + sₙ sin nθ), I the net current. The coefficients are integrals over
//! the circle; c₀ has no field and is left to the potential's own zero, the circle's mean.

use crate::drawing::{BACKGROUND, Point, Symmetry, distance};
use crate::law::MU_0;
use crate::magnetostatics::{FieldPoint, Solution};

/// Multipoles kept.
const TERMS: usize = 64;

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
        mesh.each_on_circle(|element, angle, weight, n| {
            let a: f64 = element.iter().zip(n).map(|(&v, n)| n * solution.potential[v as usize]).sum();
            m.add(angle, weight * a, mesh.symmetry);
            (sum, round) = (sum + weight * a, round + weight);
        });
        // Flux that runs along a mirror is odd: its mean is zero.
        let odd = mesh.symmetry == Symmetry::PlanarHalf(crate::drawing::Mirror::FluxStays);
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
                Symmetry::PlanarHalf(crate::drawing::Mirror::FluxCrosses) => &[(1.0, 1.0), (-1.0, 1.0)],
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
