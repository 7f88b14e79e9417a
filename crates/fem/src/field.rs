//! What a solution says: flux density anywhere, energies, linked flux, means over regions, force.

use crate::drawing::{Point, Symmetry, cross, distance, sub};
use crate::element::Element;
use crate::exterior::Multipole;
use crate::law::MU_0;
pub use crate::magnetostatics::FieldPoint;
use crate::magnetostatics::{Solution, each_point};
use crate::mesh::{Geometry, geometry};
use crate::morph::Motion;

/// Finds the element at a point: a grid of buckets over the bounding circle.
#[derive(Clone, Debug)]
pub struct Probe<'a> {
    solution: &'a Solution,
    origin: Point,
    cell_m: f64,
    across: usize,
    buckets: Vec<Vec<u32>>,
    beyond: Multipole,
}

impl<'a> Probe<'a> {
    /// Make ready to read a solution.
    pub fn new(solution: &'a Solution) -> Self {
        let mesh = &solution.mesh;
        let across = ((mesh.first_exterior as f64).sqrt() as usize).clamp(8, 200);
        let origin = [mesh.centre[0] - mesh.radius_m, mesh.centre[1] - mesh.radius_m];
        let cell_m = 2.0 * mesh.radius_m / across as f64;
        let mut buckets = vec![Vec::new(); across * across];
        for k in 0..mesh.first_exterior {
            let x = mesh.coordinates(k);
            let nodes = &x[..mesh.element(k).len()];
            let range = |d: usize| {
                let low = nodes.iter().map(|p| p[d]).fold(f64::INFINITY, f64::min);
                let high = nodes.iter().map(|p| p[d]).fold(f64::NEG_INFINITY, f64::max);
                // A curved side bulges a little beyond its nodes.
                let spare = if mesh.curved[k] { 0.05 * (high - low) } else { 0.0 };
                let cell = |v: f64| (((v - origin[d]) / cell_m).max(0.0) as usize).min(across - 1);
                cell(low - spare)..=cell(high + spare)
            };
            for j in range(1) {
                for i in range(0) {
                    buckets[j * across + i].push(k as u32);
                }
            }
        }
        Self { solution, origin, cell_m, across, buckets, beyond: Multipole::of(solution) }
    }

    /// The field at a point anywhere in space; a half drawing is mirrored.
    pub fn at(&self, p: Point) -> FieldPoint {
        let mesh = &self.solution.mesh;
        if mesh.symmetry != Symmetry::Planar && p[0] < 0.0 {
            return self.mirrored(p);
        }
        if distance(p, mesh.centre) >= mesh.radius_m {
            return self.beyond.at(p);
        }
        let cell =
            |d: usize| (((p[d] - self.origin[d]) / self.cell_m).max(0.0) as usize).min(self.across - 1);
        let bucket = &self.buckets[cell(1) * self.across + cell(0)];
        let mut best = None;
        let mut worst_lambda = f64::NEG_INFINITY;
        for &k in bucket {
            let xi = self.local(k as usize, p);
            let least = xi[0].min(xi[1]).min(1.0 - xi[0] - xi[1]);
            if least > worst_lambda {
                (best, worst_lambda) = (Some((k as usize, xi)), least);
                if least >= 0.0 {
                    break;
                }
            }
        }
        match best {
            Some((k, xi)) if worst_lambda > -1e-2 => self.in_element(k, xi),
            // Between a chord and the bounding circle: as near to it as need be.
            _ => self.beyond.at(p),
        }
    }

    fn mirrored(&self, p: Point) -> FieldPoint {
        let mut f = self.at([-p[0], p[1]]);
        if self.solution.mesh.symmetry == Symmetry::PlanarHalf(crate::drawing::Mirror::FluxCrosses) {
            f.b_t[1] = -f.b_t[1];
        } else {
            f.b_t[0] = -f.b_t[0];
            f.potential = -f.potential;
        }
        f
    }

    /// Reference coordinates of a point in an element.
    fn local(&self, k: usize, p: Point) -> Point {
        let mesh = &self.solution.mesh;
        let x = mesh.coordinates(k);
        let det = cross(sub(x[1], x[0]), sub(x[2], x[0]));
        let w = sub(p, x[0]);
        let mut xi = [cross(w, sub(x[2], x[0])) / det, cross(sub(x[1], x[0]), w) / det];
        if mesh.curved[k] {
            let element = Element::of_order(mesh.order);
            let mut settled = false;
            for _ in 0..20 {
                let (n, dn) = element.shape(xi);
                let (mut at, mut j) = ([0.0; 2], [[0.0; 2]; 2]);
                for m in 0..element.nodes.len() {
                    for d in 0..2 {
                        at[d] += n[m] * x[m][d];
                        j[d][0] += dn[m][0] * x[m][d];
                        j[d][1] += dn[m][1] * x[m][d];
                    }
                }
                let r = sub(p, at);
                let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
                let step = [(r[0] * j[1][1] - r[1] * j[0][1]) / det, (j[0][0] * r[1] - j[1][0] * r[0]) / det];
                xi = [xi[0] + step[0], xi[1] + step[1]];
                if step[0].abs() + step[1].abs() < 1e-12 {
                    settled = true;
                    break;
                }
            }
            // Far from an element its map may lead Newton's method anywhere: the point is not in it.
            if !settled {
                return [-1.0, -1.0];
            }
        }
        xi
    }

    fn in_element(&self, k: usize, xi: Point) -> FieldPoint {
        let s = self.solution;
        let (potential, gradient, x) = gradient(s, k, xi);
        let b_y = match s.mesh.symmetry {
            // On the axis A / x has the limit ∂A/∂x.
            Symmetry::Axial if x < 1e-9 * s.mesh.radius_m => 2.0 * gradient[0],
            Symmetry::Axial => gradient[0] + potential / x,
            _ => gradient[0],
        };
        FieldPoint { b_t: [-gradient[1], b_y + s.applied_t], potential, region: s.mesh.region[k] }
    }
}

/// Potential, its gradient, and x at a point of an element.
fn gradient(s: &Solution, k: usize, xi: Point) -> (f64, Point, f64) {
    fn of<const N: usize>(s: &Solution, k: usize, xi: Point) -> (f64, Point, f64) {
        let (n, dn) = Element::of_order(s.mesh.order).shape(xi);
        let g: Geometry<N> = geometry(&s.mesh.coordinates(k), s.mesh.curved[k], xi, &n, &dn);
        let (mut a, mut d) = (0.0, [0.0; 2]);
        for (i, &node) in s.mesh.element(k).iter().enumerate() {
            let v = s.potential[node as usize];
            a += n[i] * v;
            d[0] += g.grad[0][i] * v;
            d[1] += g.grad[1][i] * v;
        }
        (a, d, g.x[0])
    }
    match s.mesh.order {
        1 => of::<3>(s, k, xi),
        2 => of::<6>(s, k, xi),
        3 => of::<10>(s, k, xi),
        _ => of::<15>(s, k, xi),
    }
}

/// Means over a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionMean {
    /// Area of the section, in m².
    pub area_m2: f64,
    /// Volume in m³ (planar: per metre of depth, so m²).
    pub volume: f64,
    /// Mean of |B| by volume, in T.
    pub b_t: f64,
    /// Mean of the components of B by volume, in T.
    pub b_components_t: Point,
    /// Largest |B| at a quadrature point, in T.
    pub b_max_t: f64,
    /// Flux through one turn, averaged over the section, in Wb (planar: per metre of depth).
    pub flux_per_turn_wb: f64,
}

impl Solution {
    fn round(&self) -> f64 {
        if self.mesh.symmetry == Symmetry::Axial { 2.0 * std::f64::consts::PI } else { 1.0 }
    }

    /// Field energy ∫∫ H dB and co-energy ∫ H B − energy, over all space: in J (planar: J per metre of depth).
    /// In permanent magnets H is counted from the remanent state. Infinite in the plane if there is a net current.
    pub fn energies(&self) -> (f64, f64) {
        if self.net_current() != 0.0 {
            return (f64::INFINITY, f64::INFINITY);
        }
        self.finite_energies()
    }

    /// The energy of the field without what a net current has beyond the circle: a measure of it that is always finite.
    pub(crate) fn energy_drawn(&self) -> f64 {
        self.finite_energies().0
    }

    fn finite_energies(&self) -> (f64, f64) {
        let (mut energy, mut coenergy) = (0.0, 0.0);
        for k in 0..self.mesh.first_exterior {
            let medium = &self.media[self.mesh.region[k]];
            each_point(self, k, |_, w, b| {
                let d = sub(b, medium.remanence_t);
                let size = d[0].hypot(d[1]);
                let law = medium.law.at(size);
                energy += w * law.energy;
                coenergy += w * (law.reluctivity * size * size - law.energy);
            });
        }
        let beyond = self.energy_of_open_space();
        (energy + beyond, coenergy + beyond)
    }

    /// The functional that the solution makes least, but for a constant: its change as a body moves within the same
    /// bounding circle is minus the work of the force. In J (planar: J per metre of depth). Finite with a net current and
    /// with an applied field too, where the energies are not.
    pub fn functional(&self) -> f64 {
        let mut sum = self.energy_of_open_space();
        let applied = self.applied_t;
        for k in 0..self.mesh.first_exterior {
            let medium = &self.media[self.mesh.region[k]];
            each_point(self, k, |_, w, b| {
                let d = sub(b, medium.remanence_t);
                let of_applied = applied * (b[1] - 0.5 * applied) / MU_0;
                sum += w * (medium.law.at(d[0].hypot(d[1])).energy - of_applied);
            });
            if medium.current_density != 0.0 {
                sum -= medium.current_density * self.potential_integral(k);
            }
        }
        let net = self.net_current();
        if net != 0.0 {
            let mut around = 0.0;
            self.mesh.each_on_circle(|element, _, w, n| {
                around +=
                    element.iter().zip(n).map(|(&v, n)| w * n * self.potential[v as usize]).sum::<f64>();
            });
            // The drawn share of the current leaves through the drawn share of the circle.
            sum += net * around / (2.0 * std::f64::consts::PI);
        }
        sum
    }

    /// ∫ (|∇Â|² + Â²/x²) x / 2µ₀ over the image of open space.
    fn energy_of_open_space(&self) -> f64 {
        let axial = self.mesh.symmetry == Symmetry::Axial;
        let mut energy = 0.0;
        for k in self.mesh.first_exterior..self.mesh.element_count() {
            let x = self.mesh.coordinates(k);
            for q in &Element::of_order(self.mesh.order).points {
                let (a, d, r) = gradient(self, k, q.xi);
                let g: Geometry<3> = {
                    // Only the determinant is used; any order gives it for straight elements.
                    if self.mesh.curved[k] {
                        Geometry { x: [r, 0.0], det: determinant(self, k, q.xi), grad: [[0.0; 3]; 2] }
                    } else {
                        geometry(&x, false, q.xi, &q.n, &q.dn)
                    }
                };
                let w = 0.5 * q.weight * g.det / MU_0;
                energy += if axial {
                    w * ((d[0] * d[0] + d[1] * d[1]) * r + a * a / r)
                } else {
                    w * (d[0] * d[0] + d[1] * d[1])
                };
            }
        }
        energy * self.round()
    }

    /// Means over a region; `None` if the mesh has no element of it.
    pub fn region(&self, region: usize) -> Option<RegionMean> {
        let axial = self.mesh.symmetry == Symmetry::Axial;
        let mut m = RegionMean {
            area_m2: 0.0,
            volume: 0.0,
            b_t: 0.0,
            b_components_t: [0.0; 2],
            b_max_t: 0.0,
            flux_per_turn_wb: 0.0,
        };
        for k in (0..self.mesh.first_exterior).filter(|&k| self.mesh.region[k] == region) {
            each_point(self, k, |x, w, b| {
                let size = b[0].hypot(b[1]);
                m.volume += w;
                m.area_m2 += if axial { w / (2.0 * std::f64::consts::PI * x[0]) } else { w };
                m.b_t += w * size;
                m.b_components_t = [m.b_components_t[0] + w * b[0], m.b_components_t[1] + w * b[1]];
                m.b_max_t = m.b_max_t.max(size);
            });
            m.flux_per_turn_wb += self.potential_integral(k);
        }
        (m.volume > 0.0).then(|| {
            m.b_t /= m.volume;
            m.b_components_t = m.b_components_t.map(|c| c / m.volume);
            m.flux_per_turn_wb /= m.area_m2;
            m
        })
    }

    /// ∫ A dV over an element (2π x dx dy, or dx dy).
    fn potential_integral(&self, k: usize) -> f64 {
        let axial = self.mesh.symmetry == Symmetry::Axial;
        let mut sum = 0.0;
        for q in &Element::of_order(self.mesh.order).points {
            let (a, _, x) = gradient(self, k, q.xi);
            sum += q.weight * determinant(self, k, q.xi) * a * if axial { x } else { 1.0 };
        }
        sum * self.round()
    }

    /// Force along the direction of a rigid unit [`Motion`], in N (planar: per metre of depth), by virtual work:
    /// F = −∫ T : ∇v with Maxwell's stress T = (B Bᵀ − ½ B² I) / µ₀ and the virtual displacement v (J. L. Coulomb,
    /// IEEE Trans. Magn. 19 (1983) 2514–2519). Only space without matter may be strained.
    /// It is 0 if only empty space moves.
    pub fn force(&self, motion: &Motion) -> f64 {
        self.force_and_stress(motion).0
    }

    /// The force, and the sum of its parts regardless of sign.
    pub(crate) fn force_and_stress(&self, motion: &Motion) -> (f64, f64) {
        if !self.moves_matter(motion) {
            return (0.0, 0.0);
        }
        let mesh = &self.mesh;
        let (mut force, mut all) = (0.0, 0.0);
        for k in 0..mesh.first_exterior {
            let Some(strain) =
                strain(mesh.corners(k), mesh.triangles.corners[k].map(|v| motion.at_points[v]))
            else {
                continue;
            };
            let moves = mesh.triangles.corners[k].map(|v| motion.at_points[v]);
            let mut points = Element::of_order(mesh.order).points.iter();
            each_point(self, k, |_, w, b| {
                let strain = match points.next() {
                    Some(q) if mesh.curved[k] => strain_at(jacobian(self, k, q.xi), moves),
                    _ => strain,
                };
                let half = 0.5 * (b[0] * b[0] + b[1] * b[1]);
                let t = [[b[0] * b[0] - half, b[0] * b[1]], [b[0] * b[1], b[1] * b[1] - half]];
                let work: f64 = (0..2).map(|i| t[i][0] * strain[i][0] + t[i][1] * strain[i][1]).sum();
                force -= w * work / MU_0;
                all += (w * work / MU_0).abs();
            });
        }
        (force, all)
    }

    /// The motion's part that strains only the elements that touch the moving body: the same force by the stress on
    /// a shell around it.
    pub fn force_on_shell(&self, motion: &Motion) -> f64 {
        self.force(&motion.of_shell())
    }

    /// Whether anything moves but empty space.
    fn moves_matter(&self, motion: &Motion) -> bool {
        let moved = |k: usize| self.mesh.triangles.corners[k].iter().all(|&v| motion.moves_fully(v));
        (0..self.mesh.first_exterior).any(|k| !self.is_empty(k) && moved(k))
    }

    fn is_empty(&self, k: usize) -> bool {
        let medium = &self.media[self.mesh.region[k]];
        medium.law.linear() == Some(MU_0) && medium.current_density == 0.0 && medium.remanence_t == [0.0; 2]
    }

    /// Whether a motion strains anything but empty space, where [`Solution::force`] would not hold.
    pub fn strains_matter(&self, motion: &Motion) -> bool {
        (0..self.mesh.first_exterior).any(|k| {
            !self.is_empty(k)
                && strain(self.mesh.corners(k), self.mesh.triangles.corners[k].map(|v| motion.at_points[v]))
                    .is_some()
        })
    }
}

fn determinant(s: &Solution, k: usize, xi: Point) -> f64 {
    let j = jacobian(s, k, xi);
    j[0][0] * j[1][1] - j[0][1] * j[1][0]
}

/// Derivatives of x and y by the reference coordinates.
fn jacobian(s: &Solution, k: usize, xi: Point) -> [Point; 2] {
    let x = s.mesh.coordinates(k);
    if !s.mesh.curved[k] {
        return [0, 1].map(|d| [x[1][d] - x[0][d], x[2][d] - x[0][d]]);
    }
    let (_, dn) = Element::of_order(s.mesh.order).shape(xi);
    let mut j = [[0.0; 2]; 2];
    for (m, p) in x.iter().enumerate().take(s.mesh.element(k).len()) {
        for d in 0..2 {
            j[d][0] += dn[m][0] * p[d];
            j[d][1] += dn[m][1] * p[d];
        }
    }
    j
}

/// Gradient of a displacement given at the corners, or nothing if it does not strain.
fn strain(x: [Point; 3], v: [Point; 3]) -> Option<[Point; 2]> {
    // A body's own displacement is uniform but for rounding.
    if distance(v[0], v[1]).max(distance(v[0], v[2])) < 1e-9 {
        return None;
    }
    Some(strain_at([0, 1].map(|d| [x[1][d] - x[0][d], x[2][d] - x[0][d]]), v))
}

/// Gradient, where the map has this Jacobian, of a displacement linear in the reference coordinates.
fn strain_at(j: [Point; 2], v: [Point; 3]) -> [Point; 2] {
    let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
    [0, 1].map(|d| {
        let (u, w) = (v[1][d] - v[0][d], v[2][d] - v[0][d]);
        [(u * j[1][1] - w * j[1][0]) / det, (w * j[0][0] - u * j[0][1]) / det]
    })
}
