//! The field's functional on a mesh: what is linear assembled once, the rest at every potential.

use super::remembered::Remembered;
use super::{SolveError, net_current};
use crate::drawing::{Point, Symmetry};
use crate::element::{Element, NODES_MAX};
use crate::hysteresis::{Memory, Symmetric};
use crate::law::{LawPoint, MU_0, Medium};
use crate::mesh::{Mesh, geometry};
use crate::sparse::{NONE, Pattern};

/// A functional to be made least, at one potential.
pub(crate) trait Descent {
    fn functional(&self) -> f64;
    fn gradient(&self) -> &[f64];
}

/// Π, its gradient and its second derivative at one potential.
pub(super) struct State {
    functional: f64,
    gradient: Vec<f64>,
    /// Empty if it was not asked for.
    pub(super) tangent: Vec<f64>,
}

impl Descent for State {
    fn functional(&self) -> f64 {
        self.functional
    }

    fn gradient(&self) -> &[f64] {
        &self.gradient
    }
}

/// The discrete problem: what is linear is assembled once, the rest at every potential.
pub(crate) struct System<'a, const N: usize> {
    mesh: &'a Mesh,
    place: &'a [u32],
    unknown: &'a [u32],
    pattern: &'a Pattern,
    media: &'a [Medium],
    /// Instead of the law of their media, for regions that remember.
    remembered: Option<Remembered<'a>>,
    /// Uniform applied field along y, in T.
    pub(crate) applied_t: f64,
    /// Whether every law is a straight line.
    pub(crate) linear: bool,
    stiffness: Vec<f64>,
    /// Of currents and remanence.
    load: Vec<f64>,
    /// Of each tesla applied.
    load_applied: Vec<f64>,
}

impl<'a, const N: usize> System<'a, N> {
    pub(crate) fn new(
        mesh: &'a Mesh,
        place: &'a [u32],
        unknown: &'a [u32],
        pattern: &'a Pattern,
        media: &'a [Medium],
        remembered: Option<Remembered<'a>>,
        applied_t: f64,
    ) -> Self {
        let mut system = Self {
            mesh,
            place,
            unknown,
            pattern,
            media,
            remembered,
            applied_t,
            linear: true,
            stiffness: vec![0.0; pattern.entries()],
            load: vec![0.0; pattern.n()],
            load_applied: vec![0.0; pattern.n()],
        };
        for k in 0..mesh.element_count() {
            let mut matrix = [[0.0; N]; N];
            let (mut load, mut load_applied) = ([0.0; N], [0.0; N]);
            if k >= mesh.first_exterior {
                system.open_space(k, &mut matrix);
            } else {
                let medium = &media[mesh.region[k]];
                match system.permeability(k) {
                    Some(mu) => {
                        let loads = (&mut load, &mut load_applied);
                        system.linear_element(k, medium, 1.0 / mu, &mut matrix, loads);
                    }
                    None => {
                        system.linear = false;
                        if medium.current_density != 0.0 {
                            system.current(k, medium.current_density, &mut load);
                        }
                    }
                }
            }
            system.add_matrix(k, &matrix);
            add_load(&mut system.load, mesh, unknown, k, &load);
            add_load(&mut system.load_applied, mesh, unknown, k, &load_applied);
        }
        let net = net_current(mesh, media);
        if net != 0.0 {
            system.add_net_current(net);
        }
        system
    }

    /// Far from a net current I the potential is −(µ₀ I / 2π) ln(ρ/R). That part is taken out of the image of open space,
    /// where it would be singular at the image of infinity; it vanishes on the circle and leaves a current
    /// sheet there, −I / 2πR, which makes the rest free of net current.
    fn add_net_current(&mut self, net: f64) {
        let per_radian = net / (2.0 * std::f64::consts::PI);
        let (unknown, load) = (self.unknown, &mut self.load);
        self.mesh.each_on_circle(|element, _, weight, n| {
            for (&node, n) in element.iter().zip(n) {
                let u = unknown[node as usize];
                if u != NONE {
                    load[u as usize] -= per_radian * weight * n;
                }
            }
        });
    }

    fn add_matrix(&mut self, k: usize, matrix: &[[f64; N]; N]) {
        scatter(&mut self.stiffness, self.place, k, matrix);
    }

    fn open_space(&self, k: usize, matrix: &mut [[f64; N]; N]) {
        let axial = self.mesh.symmetry == Symmetry::Axial;
        let x = self.mesh.coordinates(k);
        for q in &Element::of_order(self.mesh.order).points {
            let g = geometry::<N>(&x, self.mesh.curved[k], q.xi, &q.n, &q.dn);
            let w = q.weight * g.det / MU_0 * if axial { g.x[0] } else { 1.0 };
            let inverse = if axial { 1.0 / g.x[0] } else { 0.0 };
            for i in 0..N {
                let m = q.n[i] * inverse * inverse;
                for j in 0..=i {
                    matrix[i][j] +=
                        w * (g.grad[0][i] * g.grad[0][j] + g.grad[1][i] * g.grad[1][j] + m * q.n[j]);
                }
            }
        }
    }

    fn linear_element(
        &self,
        k: usize,
        medium: &Medium,
        nu: f64,
        matrix: &mut [[f64; N]; N],
        (load, load_applied): (&mut [f64; N], &mut [f64; N]),
    ) {
        // What the field strength is without potential: remanence, and an applied field's less what space would have.
        let [bx, by] = medium.remanence_t;
        let (h0, of_applied) = ([-nu * bx, -nu * by], nu - 1.0 / MU_0);
        self.each_point(k, |w, c, n| {
            for i in 0..N {
                load[i] += w * (medium.current_density * n[i] - h0[0] * c[0][i] - h0[1] * c[1][i]);
                load_applied[i] -= w * of_applied * c[1][i];
                let (wx, wy) = (w * nu * c[0][i], w * nu * c[1][i]);
                for j in 0..=i {
                    matrix[i][j] += wx * c[0][j] + wy * c[1][j];
                }
            }
        });
    }

    fn current(&self, k: usize, current_density: f64, load: &mut [f64; N]) {
        self.each_point(k, |w, _, n| {
            for i in 0..N {
                load[i] += w * current_density * n[i];
            }
        });
    }

    /// Visit an element's quadrature points: weight (with the radius), curls of the shape functions, their values.
    #[inline]
    pub(crate) fn each_point(&self, k: usize, mut visit: impl FnMut(f64, &[[f64; N]; 2], &[f64; NODES_MAX])) {
        let axial = self.mesh.symmetry == Symmetry::Axial;
        let x = self.mesh.coordinates(k);
        for q in &Element::of_order(self.mesh.order).points {
            let g = geometry::<N>(&x, self.mesh.curved[k], q.xi, &q.n, &q.dn);
            let (weight, curl) = curl::<N>(axial, g.x[0], g.det * q.weight, &g.grad, &q.n);
            visit(weight, &curl, &q.n);
        }
    }

    /// Π and its gradient at the potential `a`, and its tangent if it is asked for.
    pub(super) fn state(&self, a: &[f64], with_tangent: bool) -> Result<State, SolveError> {
        let mut tangent = Vec::new();
        let (functional, gradient) = self.evaluate(a, with_tangent.then_some(&mut tangent))?;
        Ok(State { functional, gradient, tangent })
    }

    /// Π and its gradient at the potential `a`, and the tangent if it is asked for.
    pub(crate) fn evaluate(
        &self,
        a: &[f64],
        mut tangent: Option<&mut Vec<f64>>,
    ) -> Result<(f64, Vec<f64>), SolveError> {
        let mut gradient = vec![0.0; a.len()];
        self.pattern.multiply_add(&self.stiffness, a, &mut gradient);
        let mut functional = 0.0;
        for (k, g) in gradient.iter_mut().enumerate() {
            let load = self.load[k] + self.applied_t * self.load_applied[k];
            functional += a[k] * (0.5 * *g - load);
            *g -= load;
        }
        if let Some(tangent) = &mut tangent {
            tangent.clone_from(&self.stiffness);
        }
        if self.linear {
            return Ok((functional, gradient));
        }
        let wanted = tangent.is_some();
        for k in 0..self.mesh.first_exterior {
            if self.permeability(k).is_some() {
                continue;
            }
            let mut matrix = [[0.0; N]; N];
            let mut force = [0.0; N];
            let mut energy = 0.0;
            self.each_flux_density(k, a, |point, w, c, b| {
                let Answer { field, slope: [dxx, dxy, dyy], energy: density } = self.answer(k, point, b)?;
                let h = [field[0], field[1] - self.applied_t / MU_0];
                for i in 0..N {
                    force[i] += w * (h[0] * c[0][i] + h[1] * c[1][i]);
                }
                if wanted {
                    for i in 0..N {
                        let t = [w * (dxx * c[0][i] + dxy * c[1][i]), w * (dxy * c[0][i] + dyy * c[1][i])];
                        for j in 0..=i {
                            matrix[i][j] += t[0] * c[0][j] + t[1] * c[1][j];
                        }
                    }
                }
                energy += w * density;
                // Work of the applied field that the potential does not see.
                let remanence = self.media[self.mesh.region[k]].remanence_t[1];
                energy -= w * self.applied_t / MU_0 * (b[1] + remanence - self.applied_t);
                Ok(())
            })?;
            functional += energy;
            if let Some(tangent) = &mut tangent {
                scatter(tangent, self.place, k, &matrix);
            }
            add_load(&mut gradient, self.mesh, self.unknown, k, &force);
        }
        Ok((functional, gradient))
    }

    /// Permeability of an element whose law is a straight line.
    fn permeability(&self, k: usize) -> Option<f64> {
        let region = self.mesh.region[k];
        let remembers = self.remembered.as_ref().is_some_and(|r| r.has(region));
        if remembers { None } else { self.media[region].law.linear() }
    }

    /// Visit an element's quadrature points: number, weight, curls, flux density less remanence, in T.
    fn each_flux_density(
        &self,
        k: usize,
        a: &[f64],
        mut visit: impl FnMut(usize, f64, &[[f64; N]; 2], Point) -> Result<(), SolveError>,
    ) -> Result<(), SolveError> {
        let mut local = [0.0; N];
        for (v, &node) in local.iter_mut().zip(self.mesh.element(k)) {
            let u = self.unknown[node as usize];
            *v = if u == NONE { 0.0 } else { a[u as usize] };
        }
        let remanence = self.media[self.mesh.region[k]].remanence_t;
        let (mut point, mut outcome) = (0, Ok(()));
        self.each_point(k, |w, c, _| {
            let mut b = [-remanence[0], self.applied_t - remanence[1]];
            for i in 0..N {
                b[0] += c[0][i] * local[i];
                b[1] += c[1][i] * local[i];
            }
            if outcome.is_ok() {
                outcome = visit(point, w, c, b);
            }
            point += 1;
        });
        outcome
    }

    /// What the medium at a quadrature point answers to a flux density.
    #[inline]
    fn answer(&self, k: usize, point: usize, b: Point) -> Result<Answer, SolveError> {
        if let Some(response) = self.remembered.as_ref().and_then(|r| r.respond(self.mesh, k, point, b)) {
            let r = response?;
            return Ok(Answer { field: r.field_a_m, slope: r.reluctivity, energy: r.energy });
        }
        let size = (b[0] * b[0] + b[1] * b[1]).sqrt();
        let law = &self.media[self.mesh.region[k]].law;
        let LawPoint { reluctivity: nu, slope, energy } = law.at(size);
        if !(nu > 0.0 && slope > 0.0 && energy.is_finite()) {
            return Err(SolveError::BadLaw(size));
        }
        // Tangent: ν across B, dH/dB along it.
        let extra = if size > 0.0 { (slope - nu) / (size * size) } else { 0.0 };
        let slope = [nu + extra * b[0] * b[0], extra * b[0] * b[1], nu + extra * b[1] * b[1]];
        Ok(Answer { field: [nu * b[0], nu * b[1]], slope, energy })
    }

    /// What all points that remember would remember at the potential `a`, and what is lost on the way (for one radian).
    pub(crate) fn memories(&self, a: &[f64]) -> Result<(Vec<Memory>, f64), SolveError> {
        let (mut memories, mut loss) = (Vec::new(), 0.0);
        let Some(remembered) = &self.remembered else { return Ok((memories, loss)) };
        for k in (0..self.mesh.first_exterior).filter(|&k| remembered.has(self.mesh.region[k])) {
            self.each_flux_density(k, a, |point, w, _, b| {
                if let Some(response) = remembered.respond(self.mesh, k, point, b) {
                    let response = response?;
                    loss += w * response.loss;
                    memories.push(response.memory);
                }
                Ok(())
            })?;
        }
        Ok((memories, loss))
    }

    /// Go on from other memories, as many as there are points that remember.
    pub(crate) fn remember(&mut self, memories: &[Memory]) {
        if let Some(remembered) = &mut self.remembered {
            remembered.remember(memories);
        }
    }

    /// Number of points that remember.
    pub(crate) fn points_that_remember(&self) -> usize {
        self.remembered.as_ref().map_or(0, Remembered::points)
    }

    /// aᵀ · matrix · a.
    pub(crate) fn quadratic(&self, matrix: &[f64], a: &[f64]) -> f64 {
        let mut product = vec![0.0; a.len()];
        self.pattern.multiply_add(matrix, a, &mut product);
        a.iter().zip(&product).map(|(a, p)| a * p).sum()
    }
}

/// A medium at one flux density.
struct Answer {
    /// H in A/m.
    field: Point,
    /// ∂H/∂B in m/H.
    slope: Symmetric,
    /// In J/m³.
    energy: f64,
}

/// Add an element's vector to that of the unknowns.
pub(crate) fn add_load<const N: usize>(
    values: &mut [f64],
    mesh: &Mesh,
    unknown: &[u32],
    k: usize,
    load: &[f64; N],
) {
    for (&node, f) in mesh.element(k).iter().zip(load) {
        let u = unknown[node as usize];
        if u != NONE {
            values[u as usize] += f;
        }
    }
}

/// Add an element's lower triangle to the matrix.
pub(crate) fn scatter<const N: usize>(values: &mut [f64], place: &[u32], k: usize, matrix: &[[f64; N]; N]) {
    let entries = N * (N + 1) / 2;
    let places = &place[k * entries..(k + 1) * entries];
    let mut m = 0;
    for (i, row) in matrix.iter().enumerate() {
        for value in &row[..=i] {
            let p = places[m];
            if p != NONE {
                values[p as usize] += value;
            }
            m += 1;
        }
    }
}

/// Weight with the radius, and what each shape function contributes to B.
#[inline]
pub(super) fn curl<const N: usize>(
    axial: bool,
    radius: f64,
    weight: f64,
    grad: &[[f64; N]; 2],
    n: &[f64; NODES_MAX],
) -> (f64, [[f64; N]; 2]) {
    let mut curl = [[0.0; N]; 2];
    let inverse = if axial { 1.0 / radius } else { 0.0 };
    for i in 0..N {
        curl[0][i] = -grad[1][i];
        curl[1][i] = grad[0][i] + n[i] * inverse;
    }
    (if axial { weight * radius } else { weight }, curl)
}
