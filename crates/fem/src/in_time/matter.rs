//! What does not change with the field: eddies' conductances, turns, bodies.

use super::{TimeError, Winding};
use crate::drawing::{Mirror, Symmetry};
use crate::element::{Element, node_count};
use crate::law::Medium;
use crate::magnetostatics::{Magnetostatics, add_load, scatter};
use crate::mesh::{Mesh, geometry};
use crate::sparse::NONE;

/// Turns that sum to less than this share of their number return.
const NO_CURRENT: f64 = 1e-9;

/// Integrals over conductors and windings, by unknown. Axial ones are for one radian, as the field's own.
#[derive(Clone, Debug)]
pub(crate) struct Matter {
    /// ∫ σ Nᵢ Nⱼ, on the field's pattern.
    pub(crate) conductance: Vec<f64>,
    /// ∫ σ Nᵢ over each body, and ∫ σ.
    pub(crate) bodies: Vec<(Vec<f64>, f64)>,
    /// ∫ n Nᵢ over each winding, n its turns per area.
    pub(crate) turns: Vec<Vec<f64>>,
    /// Potential of 1 T along y.
    pub(crate) applied: Vec<f64>,
    /// Radians all round: 2π, or 1 in the plane.
    pub(crate) round: f64,
    /// Whether anything conducts.
    pub(crate) conducts: bool,
}

impl Matter {
    pub(crate) fn new(
        statics: &Magnetostatics,
        media: &[Medium],
        windings: &[Winding],
        bodies: &[Vec<usize>],
    ) -> Result<Self, TimeError> {
        let mesh = statics.mesh();
        if let Some(&r) = mesh.region.iter().find(|&&r| r >= media.len()) {
            return Err(crate::magnetostatics::SolveError::NoMedium(r).into());
        }
        for (region, m) in media.iter().enumerate() {
            let conductivity_s_m = m.conductivity_s_m;
            if !(conductivity_s_m >= 0.0 && conductivity_s_m.is_finite()) {
                return Err(TimeError::Conductivity { region, conductivity_s_m });
            }
        }
        let drawn = |region: usize| mesh.region[..mesh.first_exterior].contains(&region);
        let named = windings.iter().flat_map(|w| w.turns_per_m2.iter().map(|t| &t.0));
        if let Some(&r) = named.chain(bodies.iter().flatten()).find(|&&r| !drawn(r)) {
            return Err(TimeError::NotDrawn(r));
        }
        // Where currents return through mirror images, or all round, nothing has to close within the drawing.
        let closed = matches!(mesh.symmetry, Symmetry::Planar | Symmetry::PlanarHalf(Mirror::FluxCrosses));
        let bodies = all_bodies(mesh, media, bodies, closed)?;
        let conductivity: Vec<f64> = media.iter().map(|m| m.conductivity_s_m).collect();
        let mut matter = Self {
            conductance: vec![0.0; statics.pattern.entries()],
            bodies: Vec::new(),
            turns: Vec::new(),
            applied: vec![0.0; statics.unknowns()],
            round: if mesh.symmetry == Symmetry::Axial { 2.0 * std::f64::consts::PI } else { 1.0 },
            conducts: conductivity.iter().enumerate().any(|(r, s)| *s > 0.0 && drawn(r)),
        };
        for body in bodies {
            let own = |r: usize| if body.contains(&r) { conductivity[r] } else { 0.0 };
            let by_region: Vec<f64> = (0..media.len()).map(own).collect();
            matter.bodies.push(integrals(statics, &by_region));
        }
        for (k, winding) in windings.iter().enumerate() {
            let mut by_region = vec![0.0; media.len()];
            winding.turns_per_m2.iter().for_each(|&(r, n)| by_region[r] += n);
            let (turns, net) = integrals(statics, &by_region);
            let sizes: Vec<f64> = by_region.iter().map(|n| n.abs()).collect();
            if closed && net.abs() > NO_CURRENT * integrals(statics, &sizes).1 {
                return Err(TimeError::NoReturn(k));
            }
            matter.turns.push(turns);
        }
        match mesh.order {
            1 => conductances::<3>(statics, &conductivity, &mut matter.conductance),
            2 => conductances::<6>(statics, &conductivity, &mut matter.conductance),
            3 => conductances::<10>(statics, &conductivity, &mut matter.conductance),
            _ => conductances::<15>(statics, &conductivity, &mut matter.conductance),
        }
        let share = if mesh.symmetry == Symmetry::Axial { 0.5 } else { 1.0 };
        for (node, &u) in statics.unknown.iter().enumerate() {
            if u != NONE {
                matter.applied[u as usize] = share * mesh.nodes[node][0];
            }
        }
        Ok(matter)
    }

    /// `y += M x`: the current that potentials changing at the rate x drive against themselves, bodies seen to.
    pub(crate) fn multiply_add(&self, statics: &Magnetostatics, x: &[f64], y: &mut [f64]) {
        if !self.conducts {
            return;
        }
        statics.pattern.multiply_add(&self.conductance, x, y);
        for (body, all) in &self.bodies {
            let mean = dot(body, x) / all;
            y.iter_mut().zip(body).for_each(|(y, m)| *y -= m * mean);
        }
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The bodies named, and one of all other conductors if their currents have to close.
fn all_bodies(
    mesh: &Mesh,
    media: &[Medium],
    named: &[Vec<usize>],
    closed: bool,
) -> Result<Vec<Vec<usize>>, TimeError> {
    let mut free = vec![false; media.len()];
    for &r in &mesh.region[..mesh.first_exterior] {
        free[r] = media[r].conductivity_s_m > 0.0;
    }
    for &r in named.iter().flatten() {
        if mesh.symmetry == Symmetry::Axial || !free[r] {
            return Err(TimeError::Body(r));
        }
        free[r] = false;
    }
    let mut bodies: Vec<Vec<usize>> = named.iter().filter(|b| !b.is_empty()).cloned().collect();
    if closed && free.contains(&true) {
        bodies.push((0..free.len()).filter(|&r| free[r]).collect());
    }
    Ok(bodies)
}

/// ∫ c Nᵢ by unknown and ∫ c, for a quantity c by region (axial: for one radian; the second over the section).
fn integrals(statics: &Magnetostatics, by_region: &[f64]) -> (Vec<f64>, f64) {
    match statics.mesh.order {
        1 => integrals_of::<3>(statics, by_region),
        2 => integrals_of::<6>(statics, by_region),
        3 => integrals_of::<10>(statics, by_region),
        _ => integrals_of::<15>(statics, by_region),
    }
}

fn integrals_of<const N: usize>(statics: &Magnetostatics, by_region: &[f64]) -> (Vec<f64>, f64) {
    let mesh = &statics.mesh;
    let (mut values, mut all) = (vec![0.0; statics.unknowns()], 0.0);
    for k in (0..mesh.first_exterior).filter(|&k| by_region[mesh.region[k]] != 0.0) {
        let c = by_region[mesh.region[k]];
        let mut load = [0.0; N];
        each_weight::<N>(mesh, k, |w, area, n| {
            all += c * area;
            for i in 0..N {
                load[i] += c * w * n[i];
            }
        });
        add_load(&mut values, mesh, &statics.unknown, k, &load);
    }
    (values, all)
}

fn conductances<const N: usize>(statics: &Magnetostatics, conductivity: &[f64], values: &mut [f64]) {
    let mesh = &statics.mesh;
    for k in (0..mesh.first_exterior).filter(|&k| conductivity[mesh.region[k]] > 0.0) {
        let sigma = conductivity[mesh.region[k]];
        let mut matrix = [[0.0; N]; N];
        each_weight::<N>(mesh, k, |w, _, n| {
            for i in 0..N {
                for j in 0..=i {
                    matrix[i][j] += sigma * w * n[i] * n[j];
                }
            }
        });
        scatter(values, &statics.place, k, &matrix);
    }
}

/// Visit an element's quadrature points: weight with and without the radius, values of the shape functions.
fn each_weight<const N: usize>(mesh: &Mesh, k: usize, mut visit: impl FnMut(f64, f64, &[f64])) {
    debug_assert_eq!(N, node_count(mesh.order));
    let x = mesh.coordinates(k);
    for q in &Element::of_order(mesh.order).points {
        let g = geometry::<N>(&x, mesh.curved[k], q.xi, &q.n, &q.dn);
        let area = g.det * q.weight;
        visit(if mesh.symmetry == Symmetry::Axial { area * g.x[0] } else { area }, area, &q.n);
    }
}
