//! Nonlinear magnetostatics in the vector potential.
//!
//! Unknown: A_φ (axial) or A_z (planar), with
//! B = (−∂A/∂y, ∂A/∂x + A/x) axially and B = (−∂A/∂y, ∂A/∂x) in the plane, currents positive along φ or into the
//! page. The potential minimises Π(A) = ∫ w(B) − J A, w the energy density of the law; Newton's method with a line
//! search on Π therefore converges from anywhere if every law is monotone (Ortega and Rheinboldt, Iterative Solution
//! of Nonlinear Equations in Several Variables, 1970, ch. 14).
//!
//! Open space: Â(x′) = (R / |x′|) A(x), x′ the inversion of x in the bounding circle, is as smooth at the image of
//! infinity as a field without sources. Its energy is ∫ (|∇Â|² + Â² / x²) x / 2µ₀, so ordinary elements serve
//! (the Kelvin transform of the harmonic function A cos φ). In the plane the transform is conformal.

mod kept;
mod remembered;
mod system;

use kept::Kept;
pub(crate) use remembered::Remembered;
pub(crate) use system::{Descent, System, add_load, scatter};

use crate::drawing::{Mirror, Point, Symmetry};
use crate::element::{Element, node_count};
use crate::hysteresis::HysteresisError;
use crate::law::Medium;
use crate::mesh::{Mesh, geometry};
use crate::sparse::{Factor, NONE, Pattern, SparseError};
use std::sync::Arc;
use thiserror::Error;

/// Why there is no solution.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SolveError {
    /// A region of the mesh has no medium.
    #[error("region {0} has no medium")]
    NoMedium(usize),
    /// Newton's method stopped making progress.
    #[error("not converged after {steps} steps: the last correction was {correction:.1e} of the field")]
    NotConverged {
        /// Steps taken.
        steps: usize,
        /// Last correction relative to the field, in the energy norm.
        correction: f64,
    },
    /// Iron that remembers did not come to rest.
    #[error(transparent)]
    Hysteresis(#[from] HysteresisError),
    /// The linear algebra failed.
    #[error(transparent)]
    Sparse(#[from] SparseError),
    /// A law gave a number that is not finite or not monotone.
    #[error("a material law is not finite and monotone at {0} T")]
    BadLaw(f64),
}

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stopping {
    /// What may remain to be corrected, in the energy norm, relative to the field. It is estimated from the last
    /// correction times its ratio to the one before, for corrections shrink at least that fast.
    pub remainder: f64,
    /// Most Newton steps.
    pub steps: usize,
}

impl Default for Stopping {
    fn default() -> Self {
        Self { remainder: 1e-4, steps: 300 }
    }
}

/// Currents that sum to less than this share of their sizes close in themselves.
const NO_CURRENT: f64 = 1e-9;

/// A mesh made ready: unknowns numbered, matrix analysed. Serves any media, currents and morphs of the mesh. A clone
/// shares the analysis, so that each thread can have its own.
#[derive(Clone, Debug)]
pub struct Magnetostatics {
    pub(crate) mesh: Arc<Mesh>,
    /// By node.
    pub(crate) unknown: Vec<u32>,
    /// Of the elements' entries in the pattern.
    pub(crate) place: Vec<u32>,
    pub(crate) pattern: Arc<Pattern>,
    pub(crate) factor: Factor,
    /// That of the last factor.
    tangent: Vec<f64>,
    kept: Option<Kept>,
}

/// A solved field.
#[derive(Clone, Debug)]
pub struct Solution {
    /// The mesh it lives on.
    pub mesh: Arc<Mesh>,
    /// Potential at the nodes, in Wb/m; in the image of open space the transformed potential.
    pub potential: Vec<f64>,
    /// Media by region.
    pub media: Arc<Vec<Medium>>,
    /// Uniform applied field along y, in T.
    pub applied_t: f64,
    /// Newton steps taken.
    pub steps: usize,
    /// Last correction in the energy norm, relative.
    pub correction: f64,
}

/// Field at one point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldPoint {
    /// Flux density by components (x, y), in T.
    pub b_t: Point,
    /// Vector potential in Wb/m, without that of an applied field.
    pub potential: f64,
    /// Region there.
    pub region: usize,
}

impl FieldPoint {
    /// |B| in T.
    pub fn size_t(&self) -> f64 {
        self.b_t[0].hypot(self.b_t[1])
    }
}

impl Solution {
    /// The current through the whole plane, mirror images counted, in A; 0 if it is closed in itself (axial drawings,
    /// mirrors along which flux runs). Infinite are then the energies, and the flux of a winding that it belongs to.
    pub fn net_current(&self) -> f64 {
        net_current(&self.mesh, &self.media)
    }
}

/// See [`Solution::net_current`]; what is left of going and returning currents by rounding is nothing.
fn net_current(mesh: &Mesh, media: &[Medium]) -> f64 {
    let images = match mesh.symmetry {
        Symmetry::Planar => 1.0,
        Symmetry::PlanarHalf(Mirror::FluxCrosses) => 2.0,
        Symmetry::Axial | Symmetry::PlanarHalf(Mirror::FluxStays) => return 0.0,
    };
    let (mut net, mut all) = (0.0, 0.0);
    for k in 0..mesh.first_exterior {
        let density = media[mesh.region[k]].current_density;
        if density != 0.0 {
            let current = density * mesh.area_m2(k);
            (net, all) = (net + current, all + current.abs());
        }
    }
    if f64::abs(net) < NO_CURRENT * all { 0.0 } else { images * net }
}

impl Magnetostatics {
    /// Number the unknowns of a mesh and analyse the matrix.
    pub fn new(mesh: Mesh) -> Result<Self, SolveError> {
        let mesh = Arc::new(mesh);
        let width = node_count(mesh.order);
        let mut unknown = vec![NONE; mesh.nodes.len()];
        let axis_fixed = mesh.symmetry != Symmetry::PlanarHalf(Mirror::FluxCrosses);
        let infinity_fixed = mesh.symmetry != Symmetry::Axial;
        let mut n = 0;
        for k in 0..mesh.nodes.len() {
            let fixed = (axis_fixed && mesh.on_axis[k]) || (infinity_fixed && k == mesh.infinity);
            if !fixed {
                unknown[k] = n;
                n += 1;
            }
        }
        let of_elements: Vec<u32> = mesh.elements.iter().map(|&v| unknown[v as usize]).collect();
        let (pattern, place) = Pattern::of_elements(n as usize, &of_elements, width)?;
        let pattern = Arc::new(pattern);
        let factor = Factor::new(pattern.clone());
        Ok(Self { mesh, unknown, place, pattern, factor, tangent: Vec::new(), kept: None })
    }

    /// The mesh.
    pub fn mesh(&self) -> &Arc<Mesh> {
        &self.mesh
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.pattern.n()
    }

    /// Put the nodes elsewhere: `mesh` must be a morph of this one.
    pub fn morph(&mut self, mesh: Mesh) {
        debug_assert_eq!(self.mesh.elements, mesh.elements);
        self.mesh = Arc::new(mesh);
    }

    /// Keep the tangent of what was just solved for all that is solved from now on. What they come to does not depend on
    /// their order: none but this one is handed on.
    pub fn keep_tangent(&mut self) {
        let tangent = Arc::new(std::mem::take(&mut self.tangent));
        self.kept = Some(Kept { tangent, factor: self.factor.clone() });
    }

    /// Solve for the given media (by region), from the potential `start` (by node) if there is one.
    pub fn solve(
        &mut self,
        media: Arc<Vec<Medium>>,
        applied_t: f64,
        start: Option<&[f64]>,
        stopping: Stopping,
    ) -> Result<Solution, SolveError> {
        match self.mesh.order {
            1 => self.newton::<3>(media, applied_t, start, stopping),
            2 => self.newton::<6>(media, applied_t, start, stopping),
            3 => self.newton::<10>(media, applied_t, start, stopping),
            _ => self.newton::<15>(media, applied_t, start, stopping),
        }
    }

    fn newton<const N: usize>(
        &mut self,
        media: Arc<Vec<Medium>>,
        applied_t: f64,
        start: Option<&[f64]>,
        stopping: Stopping,
    ) -> Result<Solution, SolveError> {
        if let Some(&r) = self.mesh.region.iter().find(|&&r| r >= media.len()) {
            return Err(SolveError::NoMedium(r));
        }
        let system =
            System::<N>::new(&self.mesh, &self.place, &self.unknown, &self.pattern, &media, None, applied_t);
        let mut a = vec![0.0; self.pattern.n()];
        if let Some(start) = start {
            for (value, &u) in start.iter().zip(&self.unknown) {
                if u != NONE {
                    a[u as usize] = *value;
                }
            }
        }
        if let Some(kept) = &mut self.kept
            && let Some((steps, correction)) = kept.lead(&system, &mut a, stopping)?
        {
            let potential = by_node(&self.unknown, &a);
            return Ok(Solution { mesh: self.mesh.clone(), potential, media, applied_t, steps, correction });
        }
        let at = |point: &[f64]| system.state(point, true);
        let mut now = at(&a)?;
        let (mut steps, mut correction, mut before) = (0, f64::INFINITY, None::<f64>);
        let settled = loop {
            if steps == stopping.steps {
                break false;
            }
            self.factor.refill(&now.tangent)?;
            let mut d: Vec<f64> = now.gradient().iter().map(|g| -g).collect();
            self.factor.solve(&mut d);
            let decrement: f64 = -d.iter().zip(now.gradient()).map(|(d, g)| d * g).sum::<f64>();
            steps += 1;
            if !decrement.is_finite() {
                break false;
            }
            // The size of the field in the same norm: of what the correction leads to, so that 0 can start.
            let moved: Vec<f64> = a.iter().zip(&d).map(|(a, d)| a + d).collect();
            let scale = system.quadratic(&now.tangent, &moved).max(f64::MIN_POSITIVE);
            correction = (decrement.max(0.0) / scale).sqrt();
            let remainder = correction * before.map_or(1.0, |b| (correction / b).min(1.0));
            before = Some(correction);
            if remainder <= stopping.remainder || system.linear {
                a = moved;
                break true;
            }
            match line_search(at, &a, &d, (now.functional(), decrement))? {
                Some((point, state)) => (a, now) = (point, state),
                // No descent is left but rounding: settled if the correction is as small as that.
                None => break correction < 1e-6,
            }
        };
        self.tangent = now.tangent;
        if !settled {
            return Err(SolveError::NotConverged { steps, correction });
        }
        let potential = by_node(&self.unknown, &a);
        Ok(Solution { mesh: self.mesh.clone(), potential, media, applied_t, steps, correction })
    }
}

/// Values of unknowns at all nodes; 0 where there is none.
fn by_node(unknown: &[u32], a: &[f64]) -> Vec<f64> {
    unknown.iter().map(|&u| if u == NONE { 0.0 } else { a[u as usize] }).collect()
}

/// The first of 1, ½ or the parabola's minimum, ... at which Π has fallen enough (Armijo's rule, 10⁻⁴).
pub(crate) fn line_search<S: Descent>(
    at: impl Fn(&[f64]) -> Result<S, SolveError>,
    a: &[f64],
    d: &[f64],
    (functional, decrement): (f64, f64),
) -> Result<Option<(Vec<f64>, S)>, SolveError> {
    let mut t = 1.0;
    for _ in 0..40 {
        let point: Vec<f64> = a.iter().zip(d).map(|(a, d)| a + t * d).collect();
        let state = at(&point)?;
        let fall = functional - state.functional();
        if fall >= 1e-4 * t * decrement {
            return Ok(Some((point, state)));
        }
        // Where Π is lost in rounding, its slope along the step still tells.
        let slope: f64 = state.gradient().iter().zip(d).map(|(g, d)| g * d).sum();
        if fall.abs() <= 1e-12 * functional.abs() && slope.abs() <= 0.9 * decrement {
            return Ok(Some((point, state)));
        }
        let parabola = 0.5 * t * t * decrement / (t * decrement - fall);
        t = parabola.clamp(0.1 * t, 0.5 * t);
    }
    Ok(None)
}

/// Visit every quadrature point of an element of a solution: position, weight in m³ (axial: all round; planar: per
/// metre of depth), flux density in T.
pub(crate) fn each_point(solution: &Solution, k: usize, visit: impl FnMut(Point, f64, Point)) {
    match solution.mesh.order {
        1 => each_point_of::<3>(solution, k, visit),
        2 => each_point_of::<6>(solution, k, visit),
        3 => each_point_of::<10>(solution, k, visit),
        _ => each_point_of::<15>(solution, k, visit),
    }
}

fn each_point_of<const N: usize>(solution: &Solution, k: usize, mut visit: impl FnMut(Point, f64, Point)) {
    let mesh = &solution.mesh;
    let axial = mesh.symmetry == Symmetry::Axial;
    let round = if axial { 2.0 * std::f64::consts::PI } else { 1.0 };
    let x = mesh.coordinates(k);
    for q in &Element::of_order(mesh.order).points {
        let g = geometry::<N>(&x, mesh.curved[k], q.xi, &q.n, &q.dn);
        let (weight, curl) = system::curl::<N>(axial, g.x[0], g.det * q.weight * round, &g.grad, &q.n);
        let mut b = [0.0, solution.applied_t];
        for (i, &node) in mesh.element(k).iter().enumerate() {
            let a = solution.potential[node as usize];
            b[0] += curl[0][i] * a;
            b[1] += curl[1][i] * a;
        }
        visit(g.x, weight, b);
    }
}
