//! Numbering and matrices of a conduction problem.

use super::{Contact, Heat, HeatError, Side, Substance, Surface, SurfaceEntry};
use crate::drawing::{Point, Symmetry};
use crate::element::{Element, NODES_MAX, node_count};
use crate::mesh::{Mesh, geometry};
use crate::sparse::{Factor, NONE, Pattern};
use std::collections::HashMap;
use std::f64::consts::PI;
use std::sync::Arc;

/// Five-point Gauss–Legendre on 0 to 1: points and weights (Abramowitz and Stegun, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_2),
    (0.5, 0.284_444_444_444_444_4),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_2),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

impl Heat {
    /// Number and assemble. `substances` by region, `None` where nothing conducts. `film_of` assigns a film
    /// (0 to `films - 1`) to every outer side, or `None` for an insulated one.
    ///
    /// # Errors
    /// Properties that are not possible; a film number that is too large; nothing that conducts.
    pub fn new(
        mesh: Arc<Mesh>,
        substances: &[Option<Substance>],
        contacts: &[Contact],
        films: usize,
        film_of: impl Fn(&Side) -> Option<usize>,
    ) -> Result<Self, HeatError> {
        for (region, s) in substances.iter().enumerate() {
            let Some(s) = s else { continue };
            let positive = [s.conductivity[0], s.conductivity[1], s.heat_capacity];
            let finite = [s.generation, s.temperature_coefficient, s.reference_k];
            let fine = positive.iter().all(|v| v.is_finite() && *v > 0.0)
                && finite.iter().all(|v| v.is_finite())
                && s.generation >= 0.0;
            if !fine {
                return Err(HeatError::Substance { region });
            }
        }
        if let Some(c) = contacts.iter().find(|c| !(c.conductance.is_finite() && c.conductance > 0.0)) {
            return Err(HeatError::Contact(c.conductance));
        }
        let sides = Sides::of(&mesh, substances, contacts);
        let (unknown, n) = number(&mesh, substances, &sides);
        if n == 0 {
            return Err(HeatError::Nothing);
        }
        // Contacts couple the nodes of two sides: blocks of their own, all as wide as the widest.
        let nodes = node_count(mesh.order);
        let width = nodes.max(2 * mesh.order + 2);
        let mut blocks = Vec::with_capacity((mesh.element_count() + sides.contacts.len()) * width);
        for element in unknown.chunks_exact(nodes) {
            blocks.extend_from_slice(element);
            blocks.resize(blocks.len() + width - nodes, NONE);
        }
        for contact in &sides.contacts {
            let start = blocks.len();
            for &(k, s) in &contact.sides {
                blocks.extend(side_nodes(mesh.order, s).map(|i| unknown[k * nodes + i]));
            }
            blocks.resize(start + width, NONE);
        }
        let (pattern, places) = Pattern::of_elements(n, &blocks, width)?;
        let pattern = Arc::new(pattern);
        let zero = || vec![0.0; pattern.entries()];
        let mut heat = Self {
            unknown,
            factor: Factor::new(pattern.clone()),
            conduction: zero(),
            capacity: zero(),
            gain: zero(),
            source: vec![0.0; n],
            mean: vec![0.0; n],
            volume: vec![0.0; mesh.elements.len()],
            films: vec![Surface::default(); films],
            place: vec![[0.0; 2]; n],
            pattern,
            mesh,
        };
        let blocks = Blocks { unknowns: &blocks, places: &places, width };
        match heat.mesh.order {
            1 => heat.assemble::<3>(substances, &blocks),
            2 => heat.assemble::<6>(substances, &blocks),
            3 => heat.assemble::<10>(substances, &blocks),
            _ => heat.assemble::<15>(substances, &blocks),
        }
        heat.assemble_contacts(&sides.contacts, &blocks);
        heat.assemble_films(&sides.outer, &blocks, film_of)?;
        Ok(heat)
    }

    fn assemble<const N: usize>(&mut self, substances: &[Option<Substance>], blocks: &Blocks) {
        let mesh = self.mesh.clone();
        let axial = mesh.symmetry == Symmetry::Axial;
        let (mut generated, mut everything) = (0.0, 0.0);
        let mut everywhere = vec![0.0; self.mean.len()];
        for k in 0..mesh.first_exterior {
            let Some(s) = substance(substances, mesh.region[k]) else { continue };
            let x = mesh.coordinates(k);
            let (mut conduction, mut capacity, mut volume) = ([[0.0; N]; N], [[0.0; N]; N], [0.0; N]);
            for q in &Element::of_order(mesh.order).points {
                let g = geometry::<N>(&x, mesh.curved[k], q.xi, &q.n, &q.dn);
                let w = q.weight * g.det * around(axial, g.x[0]);
                for i in 0..N {
                    volume[i] += w * q.n[i];
                    for j in 0..=i {
                        conduction[i][j] += w
                            * (s.conductivity[0] * g.grad[0][i] * g.grad[0][j]
                                + s.conductivity[1] * g.grad[1][i] * g.grad[1][j]);
                        capacity[i][j] += w * q.n[i] * q.n[j];
                    }
                }
            }
            let growth = s.generation * s.temperature_coefficient;
            let at_zero = s.generation - growth * s.reference_k;
            for i in 0..N {
                for j in 0..=i {
                    let at = blocks.place(k, i, j);
                    self.conduction[at] += conduction[i][j];
                    self.capacity[at] += s.heat_capacity * capacity[i][j];
                    self.gain[at] += growth * capacity[i][j];
                }
                let u = self.unknown[k * N + i] as usize;
                self.volume[k * N + i] = volume[i];
                self.place[u] = x[i];
                self.source[u] += at_zero * volume[i];
                self.mean[u] += s.generation * volume[i];
                everywhere[u] += volume[i];
                generated += s.generation * volume[i];
                everything += volume[i];
            }
        }
        if generated > 0.0 {
            self.mean.iter_mut().for_each(|w| *w /= generated);
        } else {
            self.mean = everywhere.into_iter().map(|w| w / everything).collect();
        }
    }

    fn assemble_contacts(&mut self, contacts: &[Interface], blocks: &Blocks) {
        let mesh = self.mesh.clone();
        let per_side = mesh.order + 1;
        for (c, contact) in contacts.iter().enumerate() {
            let block = mesh.element_count() + c;
            let mut matrix = vec![vec![0.0; 2 * per_side]; 2 * per_side];
            let [(a, side_a), (b, side_b)] = contact.sides;
            // The other element runs along the side in the opposite sense.
            for (t, weight) in GAUSS {
                let here = point_on_side(&mesh, a, side_a, t);
                let there = point_on_side(&mesh, b, side_b, 1.0 - t);
                let mut jump: Vec<f64> = side_nodes(mesh.order, side_a).map(|i| here.n[i]).collect();
                jump.extend(side_nodes(mesh.order, side_b).map(|i| -there.n[i]));
                let w = weight * here.measure * contact.conductance;
                for i in 0..jump.len() {
                    for j in 0..=i {
                        matrix[i][j] += w * jump[i] * jump[j];
                    }
                }
            }
            for (i, row) in matrix.iter().enumerate() {
                for (j, &value) in row.iter().enumerate().take(i + 1) {
                    // At the end of a contact both sides share an unknown; then the transposed entry falls on
                    // the diagonal too.
                    let both = i != j && blocks.unknown(block, i) == blocks.unknown(block, j);
                    self.conduction[blocks.place(block, i, j)] += if both { 2.0 * value } else { value };
                }
            }
        }
    }

    fn assemble_films(
        &mut self,
        outer: &[(usize, usize, usize)],
        blocks: &Blocks,
        film_of: impl Fn(&Side) -> Option<usize>,
    ) -> Result<(), HeatError> {
        let mesh = self.mesh.clone();
        let nodes = node_count(mesh.order);
        for &(k, s, beyond) in outer {
            let middle = point_on_side(&mesh, k, s, 0.5);
            let side = Side { middle: middle.x, outward: middle.outward, region: mesh.region[k], beyond };
            let Some(film) = film_of(&side) else { continue };
            let surface = self.films.get_mut(film).ok_or(HeatError::NoFilm(film))?;
            let local: Vec<usize> = side_nodes(mesh.order, s).collect();
            for (a, &i) in local.iter().enumerate() {
                let row = self.unknown[k * nodes + i];
                let mut load = 0.0;
                let mut entries = vec![0.0; a + 1];
                for (t, weight) in GAUSS {
                    let p = point_on_side(&mesh, k, s, t);
                    load += weight * p.measure * p.n[i];
                    for (entry, &j) in entries.iter_mut().zip(&local) {
                        *entry += weight * p.measure * p.n[i] * p.n[j];
                    }
                }
                surface.area_m2 += load;
                surface.load.push((row, load));
                for (value, &j) in entries.into_iter().zip(&local) {
                    let column = self.unknown[k * nodes + j];
                    let at = blocks.place(k, i.max(j), i.min(j)) as u32;
                    surface.entries.push(SurfaceEntry { row, column, at, value });
                }
            }
        }
        Ok(())
    }
}

/// Blocks of coupled unknowns: elements, then contacts.
struct Blocks<'a> {
    unknowns: &'a [u32],
    places: &'a [u32],
    width: usize,
}

impl Blocks<'_> {
    fn place(&self, block: usize, i: usize, j: usize) -> usize {
        self.places[block * self.width * (self.width + 1) / 2 + i * (i + 1) / 2 + j] as usize
    }

    fn unknown(&self, block: usize, i: usize) -> u32 {
        self.unknowns[block * self.width + i]
    }
}

/// A contact's side, seen from both elements: element and number of the side.
struct Interface {
    sides: [(usize, usize); 2],
    conductance: f64,
}

/// What the sides of conducting elements meet.
#[derive(Default)]
struct Sides {
    /// Another element of the same body.
    inner: Vec<[(usize, usize); 2]>,
    contacts: Vec<Interface>,
    /// Element, side, region beyond.
    outer: Vec<(usize, usize, usize)>,
}

impl Sides {
    fn of(mesh: &Mesh, substances: &[Option<Substance>], contacts: &[Contact]) -> Self {
        let conducts = |k: usize| k < mesh.first_exterior && substance(substances, mesh.region[k]).is_some();
        let mut open: HashMap<[u32; 2], (usize, usize)> = HashMap::new();
        let mut sides = Self::default();
        for k in 0..mesh.element_count() {
            let e = mesh.element(k);
            for s in 0..3 {
                let (a, b) = (e[s], e[(s + 1) % 3]);
                let Some(other) = open.remove(&[a.min(b), a.max(b)]) else {
                    open.insert([a.min(b), a.max(b)], (k, s));
                    continue;
                };
                let here = (k, s);
                let regions = [mesh.region[other.0], mesh.region[k]];
                match (conducts(other.0), conducts(k)) {
                    (true, true) => {
                        let contact = contacts
                            .iter()
                            .find(|c| c.regions == regions || c.regions == [regions[1], regions[0]]);
                        match contact {
                            Some(c) => {
                                sides
                                    .contacts
                                    .push(Interface { sides: [other, here], conductance: c.conductance });
                            }
                            None => sides.inner.push([other, here]),
                        }
                    }
                    (true, false) => sides.outer.push((other.0, other.1, regions[1])),
                    (false, true) => sides.outer.push((k, s, regions[0])),
                    (false, false) => {}
                }
            }
        }
        sides
    }
}

/// Number the unknowns: nodes of conducting elements, merged across the sides within a body only. Two bodies
/// that touch in a contact or in a single point thus keep their own.
fn number(mesh: &Mesh, substances: &[Option<Substance>], sides: &Sides) -> (Vec<u32>, usize) {
    let nodes = node_count(mesh.order);
    let mut parent: Vec<u32> = (0..mesh.elements.len() as u32).collect();
    fn root(parent: &mut [u32], mut i: u32) -> u32 {
        while parent[i as usize] != i {
            parent[i as usize] = parent[parent[i as usize] as usize];
            i = parent[i as usize];
        }
        i
    }
    for &[(a, s), (b, r)] in &sides.inner {
        for i in side_nodes(mesh.order, s) {
            for j in side_nodes(mesh.order, r) {
                if mesh.elements[a * nodes + i] == mesh.elements[b * nodes + j] {
                    let (p, q) = (
                        root(&mut parent, (a * nodes + i) as u32),
                        root(&mut parent, (b * nodes + j) as u32),
                    );
                    parent[p.max(q) as usize] = p.min(q);
                }
            }
        }
    }
    let mut unknown = vec![NONE; mesh.elements.len()];
    let mut n = 0;
    for k in 0..mesh.first_exterior {
        if substance(substances, mesh.region[k]).is_none() {
            continue;
        }
        for i in k * nodes..(k + 1) * nodes {
            let r = root(&mut parent, i as u32) as usize;
            if unknown[r] == NONE {
                unknown[r] = n;
                n += 1;
            }
            unknown[i] = unknown[r];
        }
    }
    (unknown, n as usize)
}

fn substance(substances: &[Option<Substance>], region: usize) -> Option<&Substance> {
    substances.get(region)?.as_ref()
}

/// Length of the way around the axis, or one metre of depth.
fn around(axial: bool, x: f64) -> f64 {
    if axial { 2.0 * PI * x } else { 1.0 }
}

/// Local numbers of a side's nodes, in its sense.
fn side_nodes(order: usize, side: usize) -> impl Iterator<Item = usize> {
    let first = 3 + side * (order - 1);
    [side].into_iter().chain(first..first + order - 1).chain([(side + 1) % 3])
}

struct SidePoint {
    x: Point,
    outward: Point,
    /// Area per unit of the side's parameter.
    measure: f64,
    n: [f64; NODES_MAX],
}

/// The point at parameter t (0 to 1) of a side.
fn point_on_side(mesh: &Mesh, k: usize, side: usize, t: f64) -> SidePoint {
    const CORNERS: [Point; 3] = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]];
    let (from, to) = (CORNERS[side], CORNERS[(side + 1) % 3]);
    let along = [to[0] - from[0], to[1] - from[1]];
    let (n, dn) = Element::of_order(mesh.order).shape([from[0] + t * along[0], from[1] + t * along[1]]);
    let nodes = mesh.coordinates(k);
    let (mut x, mut tangent) = ([0.0; 2], [0.0; 2]);
    for (i, node) in nodes.iter().enumerate().take(node_count(mesh.order)) {
        for d in 0..2 {
            x[d] += n[i] * node[d];
            tangent[d] += (dn[i][0] * along[0] + dn[i][1] * along[1]) * node[d];
        }
    }
    let length = tangent[0].hypot(tangent[1]);
    let axial = mesh.symmetry == Symmetry::Axial;
    SidePoint {
        x,
        outward: [tangent[1] / length, -tangent[0] / length],
        measure: length * around(axial, x[0]),
        n,
    }
}
