//! The magnet as it stood on the bench: one arrangement of face and workpiece, solved at every current it was read at.
//!
//! A station is meshed once; every trial of the fit solves its neighbours from the last solution. Currents that differ
//! by little share a solution, from which a reading is carried over by its power law y ∝ (NI)^p. Trials are solved more
//! cheaply than the start, pulls on a rough mesh and fields one order lower; what is missing is added to all of them, and
//! hardly changes from one to the next.

use super::observation::{Kind, Observation};
use coilwright_fem::drawing::{Drawing, Symmetry};
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::solve::Ladder;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnetic::effects::{Difference, Sides};
use coilwright_magnet::magnetic::scene::{Scene, Stage};
use coilwright_magnet::magnetic::solved::{Solved, pull_n};
use std::collections::HashMap;

/// Relative numerical accuracy of a station.
pub(super) const ACCURACY: f64 = 2e-3;
/// How closely a solution repeats, relatively: readings of a tenth of a percent tell trials apart that differ by as little.
const REMAINDER: f64 = 1e-6;
/// Currents that differ by less share a solution.
const ALIKE: f64 = 0.05;
/// Mesh of a field against that of a force, and size at a probed point over the drawing's radius and over the distance
/// to the nearest corner, near which the field varies as fast as that.
const FINER: f64 = 0.6;
const AT_POINT: f64 = 0.02;
const NEAR_CORNER: f64 = 0.3;
/// Steps of the lattice about a place: across, as a share of its height above the face, and up, from height to height.
/// Nowhere does the field vary faster than with the distance to what makes it.
const ACROSS: f64 = 0.2;
const UP: f64 = 1.15;

/// What stands in front of the face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Arrangement {
    /// Nothing: fields are read.
    Open,
    /// The workpiece at a gap as the readings give it (else the sheet's), and its thickness.
    Workpiece {
        /// m.
        gap_m: Option<f64>,
        /// m.
        thickness_m: Option<f64>,
        /// What its gap has in common with others, by index.
        gap_zero: Option<usize>,
    },
}

/// One arrangement with its mesh and solutions.
#[derive(Debug)]
pub(super) struct Station {
    pub(super) arrangement: Arrangement,
    /// Ampere-turns at which it is solved, and the observations made near them.
    pub(super) nodes: Vec<Node>,
    /// Solves the trials.
    solved: Solved,
    /// At the highest order on the finest mesh.
    finest: Solved,
    /// By node and observation, what the trials miss.
    missing: Vec<Vec<Missing>>,
    /// Height of the probe's element when it was meshed, m.
    height_m: f64,
}

/// What a number of a trial misses.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Missing {
    /// A factor on a pull.
    Times(f64),
    /// A difference in a field, T, at so many ampere-turns.
    Plus(f64, f64),
}

impl Missing {
    fn of(pull: bool, high: f64, low: f64, ampere_turns: f64) -> Self {
        if pull && low != 0.0 { Self::Times(high / low) } else { Self::Plus(high - low, ampere_turns) }
    }

    fn added_to(self, y: f64, ampere_turns: f64) -> f64 {
        match self {
            Self::Times(factor) => factor * y,
            Self::Plus(b, 0.0) => y + b,
            Self::Plus(b, at) => y + b * ampere_turns / at,
        }
    }
}

/// One current of a station.
#[derive(Debug)]
pub(super) struct Node {
    /// Ampere-turns beforehand.
    pub(super) ampere_turns: f64,
    /// Observations by index.
    pub(super) observations: Vec<usize>,
}

/// A node solved.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) ampere_turns: f64,
    pub(super) solution: Solution,
    /// What the readings would be at exactly these ampere-turns, in the order of the node's observations; heights as
    /// they were.
    pub(super) values: Vec<f64>,
    /// The field at places that were asked for already: observation, direction, steps across and up.
    lattice: HashMap<(usize, bool, i32, i32), f64>,
}

/// What a trial changes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Geometry {
    /// Added to every gap, m.
    pub(super) gap_shift_m: f64,
    /// Height of the probe's element: above the face, or behind the tip where the readings give the tip's, m.
    pub(super) height_m: f64,
    /// Diameter of its active area, m.
    pub(super) width_m: f64,
    /// How far each observation's probe is from where its reading says, along the face and up, m.
    pub(super) moved_m: Vec<[f64; 2]>,
}

impl Arrangement {
    /// That of a reading of field or pull.
    pub(super) fn of(o: &Observation) -> Option<Self> {
        match o.kind {
            Kind::Field { .. } => Some(Self::Open),
            Kind::Pull { gap_m, thickness_m } => {
                Some(Self::Workpiece { gap_m, thickness_m, gap_zero: o.spots.gap.zero })
            }
            Kind::Resistance(_) | Kind::VoltsOverAmperes(..) => None,
        }
    }

    /// What its gap has in common with others.
    pub(super) fn gap_zero(self) -> Option<usize> {
        match self {
            Self::Open => None,
            Self::Workpiece { gap_zero, .. } => gap_zero,
        }
    }

    fn stage(self, magnet: &Magnet, geometry: &Geometry, ampere_turns: f64) -> Stage {
        match self {
            Self::Open => Stage { plates: Vec::new(), ampere_turns },
            Self::Workpiece { gap_m, thickness_m, .. } => {
                let mut stage = Stage { ampere_turns, ..magnet.stage() };
                for plate in &mut stage.plates {
                    plate.gap_m = gap_m.unwrap_or(plate.gap_m) + geometry.gap_shift_m;
                    plate.thickness_m = thickness_m.unwrap_or(plate.thickness_m);
                }
                stage
            }
        }
    }
}

impl Station {
    /// Mesh an arrangement for the observations made in it, given with their ampere-turns beforehand.
    pub(super) fn new(
        arrangement: Arrangement,
        magnet: &Magnet,
        geometry: &Geometry,
        observed: &[(usize, f64)],
        all: &[Observation],
    ) -> Result<Self, Failure> {
        let nodes = nodes(observed);
        let most =
            nodes.iter().map(|n| n.ampere_turns).fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
        let scene = magnet.scene(&arrangement.stage(magnet, geometry, most));
        let (solved, finest) = match arrangement {
            Arrangement::Open => {
                let finest = for_fields(scene, magnet, geometry, observed, all)?;
                (finest.lower()?, finest)
            }
            Arrangement::Workpiece { .. } => {
                let finest = Solved::for_pull(scene, ACCURACY)?;
                (finest.for_differences()?, finest)
            }
        };
        let missing = vec![Vec::new(); nodes.len()];
        let [solved, finest] = [solved, finest].map(|solved| solved.settled_to(REMAINDER));
        Ok(Self { arrangement, nodes, solved, finest, missing, height_m: geometry.height_m })
    }

    /// Finds what trials miss about a magnet. `factors` multiply the nodes' ampere-turns.
    pub(super) fn bring_up(
        &mut self,
        magnet: &Magnet,
        geometry: &Geometry,
        factors: &[f64],
        all: &[Observation],
    ) -> Result<(), Failure> {
        let pull = self.arrangement != Arrangement::Open;
        self.missing = vec![Vec::new(); self.nodes.len()];
        let mut missing = self.missing.clone();
        let (mut low, mut high) = (None, None);
        // The mesh was solved at the highest current: each starts from the one above it.
        for (node, factor) in factors.iter().enumerate().rev() {
            let below = self.solve(node, magnet, geometry, *factor, low.as_ref(), all)?;
            std::mem::swap(&mut self.solved, &mut self.finest);
            let above = self.solve(node, magnet, geometry, *factor, high.as_ref(), all);
            std::mem::swap(&mut self.solved, &mut self.finest);
            let above = above?;
            let pairs = above.values.iter().zip(&below.values);
            missing[node] = pairs.map(|(h, l)| Missing::of(pull, *h, *l, below.ampere_turns)).collect();
            (low, high) = (Some(below), Some(above));
        }
        self.missing = missing;
        Ok(())
    }

    /// Solve a node for a magnet, starting from a state of it if there is one. `factor` multiplies its ampere-turns.
    pub(super) fn solve(
        &mut self,
        node: usize,
        magnet: &Magnet,
        geometry: &Geometry,
        factor: f64,
        start: Option<&State>,
        all: &[Observation],
    ) -> Result<State, Failure> {
        let ampere_turns = self.nodes[node].ampere_turns * factor;
        let scene = magnet.scene(&self.arrangement.stage(magnet, geometry, ampere_turns));
        let (solution, drawing) = self.solved.neighbour(&scene, start.map(|s| &s.solution))?;
        let pull = match self.arrangement {
            Arrangement::Open => None,
            Arrangement::Workpiece { .. } => Some(pull_n(&scene, &drawing, &solution)?),
        };
        let mut state = State { ampere_turns, solution, values: Vec::new(), lattice: HashMap::new() };
        state.values = match pull {
            Some(pull) => self.whole(node, vec![pull; self.nodes[node].observations.len()], ampere_turns),
            None => self.read(node, magnet, &mut state, geometry, all),
        };
        Ok(state)
    }

    /// Numbers of a node with what the trials miss.
    fn whole(&self, node: usize, values: Vec<f64>, ampere_turns: f64) -> Vec<f64> {
        let missing = self.missing[node].iter().copied().chain(std::iter::repeat(Missing::Times(1.0)));
        values.into_iter().zip(missing).map(|(y, missing)| missing.added_to(y, ampere_turns)).collect()
    }

    /// Field readings of a node, as [`State::values`] has them, with the probe where a geometry has it; empty for pulls.
    pub(super) fn read(
        &self,
        node: usize,
        magnet: &Magnet,
        state: &mut State,
        geometry: &Geometry,
        all: &[Observation],
    ) -> Vec<f64> {
        let probed = self.probe(node, magnet, state, geometry, all);
        self.whole(node, probed, state.ampere_turns)
    }

    /// Field readings of a node not by what was read off its state before: another probe's, or along another direction.
    pub(super) fn afresh(
        &self,
        node: usize,
        magnet: &Magnet,
        state: &mut State,
        geometry: &Geometry,
        all: &[Observation],
    ) -> Vec<f64> {
        let kept = std::mem::take(&mut state.lattice);
        let probed = self.probe(node, magnet, state, geometry, all);
        state.lattice = kept;
        probed
    }

    /// Changes of all readings of the station for one standard uncertainty of each way of a magnet, as they are in the state
    /// of a node; by way, in the order of nodes and their observations. 0 for ways that are not wanted.
    pub(super) fn changes(
        &self,
        sides: &Sides<'_>,
        (node, state): (usize, &State),
        geometry: &Geometry,
        (wanted, difference): (impl Fn(usize) -> bool, Difference),
        all: &[Observation],
    ) -> Result<Vec<Vec<f64>>, Failure> {
        let observations: Vec<usize> = self.nodes.iter().flat_map(|n| n.observations.clone()).collect();
        let stage = |magnet: &Magnet| self.arrangement.stage(magnet, geometry, state.ampere_turns);
        let outputs = |magnet: &Magnet, scene: &Scene, drawing: &Drawing, solution: &Solution| {
            if self.arrangement != Arrangement::Open {
                let pull = pull_n(scene, drawing, solution)?;
                let whole = self.missing[node].first().map_or(pull, |m| m.added_to(pull, state.ampere_turns));
                return Ok(vec![whole; observations.len()]);
            }
            let (probe, round) = (Probe::new(solution), magnet.symmetry == Symmetry::Axial);
            let read = |&k: &usize| match all[k].kind {
                Kind::Field { axial, x_m, tip_m } => {
                    let height = tip_m.unwrap_or(0.0) + geometry.height_m;
                    let b = read_probe(&probe, round, axial, x_m, magnet.face_m + height, geometry.width_m);
                    along(b, round && !axial, x_m)
                }
                _ => 0.0,
            };
            Ok(observations.iter().map(read).collect())
        };
        sides.changes(&self.solved, None, wanted, difference, stage, outputs)
    }

    /// Field readings of a node from its solution; empty for pulls.
    ///
    /// The field of a solution jumps a little from element to element, and a fit that moves the probe would stumble
    /// over that. So it is taken from the solution only on a lattice about each place, and is smooth between.
    fn probe(
        &self,
        node: usize,
        magnet: &Magnet,
        state: &mut State,
        geometry: &Geometry,
        all: &[Observation],
    ) -> Vec<f64> {
        if self.arrangement != Arrangement::Open {
            return Vec::new();
        }
        let State { solution, lattice, .. } = state;
        let mut probe = None;
        let round = magnet.symmetry == Symmetry::Axial;
        let mut values = Vec::with_capacity(self.nodes[node].observations.len());
        for &k in &self.nodes[node].observations {
            let Kind::Field { axial, x_m, tip_m } = all[k].kind else {
                values.push(0.0);
                continue;
            };
            let ([dx, dy], tip) = (geometry.moved_m[k], tip_m.unwrap_or(0.0));
            let (before, height) = (tip + self.height_m, tip + geometry.height_m + dy);
            let mut read = |x: f64, height: f64| {
                let probe = probe.get_or_insert_with(|| Probe::new(solution));
                read_probe(probe, round, axial, x, magnet.face_m + height, geometry.width_m)
            };
            let b = if before > 0.0 && height > 0.0 {
                let side = ACROSS * before;
                let at = [dx / side, (height / before).ln() / UP.ln()];
                between(at, |i, j| {
                    *lattice
                        .entry((k, axial, i, j))
                        .or_insert_with(|| read(x_m + side * f64::from(i), before * UP.powi(j)))
                })
            } else {
                read(x_m + dx, height)
            };
            values.push(along(b, round && !axial, x_m));
        }
        values
    }
}

/// A radial field is away from the axis, which is the other way on its other side.
fn along(b: f64, radial: bool, x_m: f64) -> f64 {
    if radial && x_m < 0.0 { -b } else { b }
}

/// Between the points of a lattice: cubic in each direction, with a continuous slope (E. Catmull and R. Rom, A class of
/// local interpolating splines, 1974).
fn between(at: [f64; 2], mut point: impl FnMut(i32, i32) -> f64) -> f64 {
    let weights = at.map(|x| {
        let whole = if (x - x.round()).abs() < 1e-9 { x.round() } else { x.floor() };
        let t = x - whole;
        let weights = [
            0.5 * t * (t * (2.0 - t) - 1.0),
            0.5 * (t * t * (3.0 * t - 5.0) + 2.0),
            0.5 * t * (t * (4.0 - 3.0 * t) + 1.0),
            0.5 * t * t * (t - 1.0),
        ];
        (whole as i32, if t.abs() < 1e-9 { [0.0, 1.0, 0.0, 0.0] } else { weights })
    });
    let [(i, across), (j, up)] = weights;
    let mut sum = 0.0;
    for (a, u) in (-1..).zip(across).filter(|(_, u)| *u != 0.0) {
        for (b, v) in (-1..).zip(up).filter(|(_, v)| *v != 0.0) {
            sum += u * v * point(i + a, j + b);
        }
    }
    sum
}

/// What a probe of an active width reads: the mean over its disc (a rule of degree 5: A. H. Stroud, Approximate
/// Calculation of Multiple Integrals, 1971, S2 5-1).
fn read_probe(probe: &Probe<'_>, round: bool, axial: bool, x: f64, y: f64, width_m: f64) -> f64 {
    let part = |u: f64, v: f64| {
        let at = if round { u.hypot(v) } else { u };
        let b = probe.at([at, y]).b_t;
        // Away from the middle the radial field has the direction of the radius; what is read is along the scan.
        if axial {
            b[1]
        } else if round && at > 0.0 {
            b[0] * u / at
        } else {
            b[0]
        }
    };
    if width_m == 0.0 {
        return part(x, 0.0);
    }
    let ring = 0.5 * width_m * (2.0f64 / 3.0).sqrt();
    (0..6).fold(0.25 * part(x, 0.0), |mean, k| {
        let angle = std::f64::consts::FRAC_PI_3 * f64::from(k);
        mean + 0.125 * part(x + ring * angle.cos(), ring * angle.sin())
    })
}

/// Groups of nearly equal ampere-turns.
fn nodes(observed: &[(usize, f64)]) -> Vec<Node> {
    let mut sorted = observed.to_vec();
    sorted.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    let mut nodes: Vec<Vec<(usize, f64)>> = Vec::new();
    for (k, ampere_turns) in sorted {
        match nodes.last_mut() {
            Some(node)
                if (ampere_turns - node[0].1).abs() <= ALIKE * ampere_turns.abs().max(node[0].1.abs()) =>
            {
                node.push((k, ampere_turns));
            }
            _ => nodes.push(vec![(k, ampere_turns)]),
        }
    }
    let middle = |node: &[(usize, f64)]| node.iter().map(|n| n.1).sum::<f64>() / node.len() as f64;
    nodes
        .iter()
        .map(|node| Node { ampere_turns: middle(node), observations: node.iter().map(|n| n.0).collect() })
        .collect()
}

/// Solve an open face until the field is known where it was read.
fn for_fields(
    mut scene: Scene,
    magnet: &Magnet,
    geometry: &Geometry,
    observed: &[(usize, f64)],
    all: &[Observation],
) -> Result<Solved, Failure> {
    let mut wanted: Vec<[f64; 2]> = Vec::new();
    for &(k, _) in observed {
        if let Kind::Field { x_m, tip_m, .. } = all[k].kind {
            let x_m = if magnet.symmetry == Symmetry::Planar { x_m } else { x_m.abs() };
            let p = [x_m, magnet.face_m + tip_m.unwrap_or(0.0) + geometry.height_m];
            if !wanted.contains(&p) {
                wanted.push(p);
            }
        }
    }
    scene.drawing.growth *= FINER;
    scene.drawing.size_max_m *= FINER;
    let corners: Vec<[f64; 2]> =
        scene.drawing.areas.iter().flat_map(|a| a.outline.0.iter().map(|n| n.0)).collect();
    for p in &wanted {
        let nearest = corners.iter().map(|c| (c[0] - p[0]).hypot(c[1] - p[1])).fold(f64::INFINITY, f64::min);
        let size = (AT_POINT * scene.drawing.radius_m).min(NEAR_CORNER * nearest);
        let least = 1e-3 * scene.drawing.radius_m;
        scene.drawing.grade(*p, size.max(least));
    }
    let most = |ladder: &Ladder| {
        let probe = Probe::new(ladder.solution());
        wanted.iter().map(|p| probe.at(*p).size_t()).fold(0.0, f64::max)
    };
    let error = |ladder: &Ladder| {
        let error = |p: &[f64; 2]| ladder.estimate(|s| Probe::new(s).at(*p).b_t[1]).error;
        wanted.iter().map(error).fold(0.0, f64::max) / most(ladder).max(f64::MIN_POSITIVE)
    };
    let ladder = Ladder::climb_until(&scene.drawing, scene.media.clone(), scene.applied_t, ACCURACY, error)?;
    Ok(Solved { scene, ladder })
}

#[cfg(test)]
mod tests {
    use super::between;

    /// Catmull and Rom's splines reproduce quadratics, and are continuous with their slope where cells meet.
    #[test]
    fn between_the_points_it_is_smooth() {
        let quadratic = |x: f64, y: f64| 3.0 + x - 2.0 * y + 0.5 * x * x - x * y + 0.25 * y * y;
        for at in [[0.3, -1.7], [0.0, 0.0], [-2.0, 0.5], [4.999, 3.001]] {
            let found = between(at, |i, j| quadratic(f64::from(i), f64::from(j)));
            assert!((found - quadratic(at[0], at[1])).abs() < 1e-12, "{at:?}: {found}");
        }
        let rough = |i: i32, j: i32| f64::from((i * 7 + j * 13).rem_euclid(5));
        let at = |x: f64| between([x, 0.4], rough);
        let slope = |x: f64| (at(x + 1e-6) - at(x - 1e-6)) / 2e-6;
        assert!((at(1.0 + 1e-7) - at(1.0 - 1e-7)).abs() < 1e-5);
        assert!((slope(1.0 + 1e-5) - slope(1.0 - 1e-5)).abs() < 1e-3);
    }
}
