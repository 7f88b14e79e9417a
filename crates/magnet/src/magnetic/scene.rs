//! From a magnet to a drawing with its media: what is in front of the face, how much current flows.

use crate::magnet::envelope::span;
use crate::magnet::{Iron, Magnet, Plate, Substance};
use crate::material::SteelLaw;
use crate::watch::Watch;
use coilwright_fem::drawing::Curve;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::drawing::Outline;
use coilwright_fem::drawing::Point;
use coilwright_fem::drawing::Symmetry;
use coilwright_fem::law::Law;
use coilwright_fem::law::LawPoint;
use coilwright_fem::law::Linear;
use coilwright_fem::law::Medium;
use std::sync::Arc;

/// What stands in front of the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Plates in front of the face, the one that is pulled first.
    pub plates: Vec<Plate>,
    /// Ampere-turns with their sign.
    pub ampere_turns: f64,
}

/// A drawing ready to be solved.
#[derive(Clone, Debug)]
pub struct Scene {
    /// What is meshed.
    pub drawing: Drawing,
    /// Media by region.
    pub media: Arc<Vec<Medium>>,
    /// Names by region; 0 is the air.
    pub names: Vec<String>,
    /// By area of the drawing: whether it is pulled.
    pub moving: Vec<bool>,
    /// By region: iron or a permanent magnet, in which no probe reads.
    pub solid: Vec<bool>,
    /// Share of the ampere-turns by region.
    pub shares: Vec<f64>,
    /// From the solver's numbers (per metre, or half the magnet) to those of the whole magnet.
    pub scale: f64,
    /// Pull in space over that of what is drawn.
    pub in_space: f64,
    /// Uniform applied field, T.
    pub applied_t: f64,
    /// Direction along y in which attraction acts: towards the rest of the drawing.
    pub towards: f64,
    /// Who waits for what is solved of it.
    pub watch: Watch,
}

#[derive(Debug)]
struct Steel(SteelLaw);

impl Law for Steel {
    fn at(&self, b_t: f64) -> LawPoint {
        let (h, slope) = self.0.evaluate(b_t);
        let reluctivity = if b_t > 1e-9 { h / b_t } else { slope };
        LawPoint { reluctivity, slope, energy: self.0.energy_density(b_t) }
    }

    fn linear(&self) -> Option<f64> {
        match self.0 {
            SteelLaw::Linear { mu_r } => Some(Linear::relative(mu_r).permeability),
            SteelLaw::Curve(_) => None,
        }
    }
}

/// The medium of an iron part.
pub(crate) fn iron_medium(iron: &Iron) -> Medium {
    Medium::of(Steel(iron.law.clone()))
}

/// Growth of the element size away from a small one. A linear field costs a single step, so it is meshed finer.
const GROWTH: f64 = 0.9;
const GROWTH_LINEAR: f64 = 0.35;
/// Size at a conductor's corner over its sides.
const AT_CONDUCTOR: f64 = 0.4;
/// Size along a conductor's long sides over its short one, and the most places on a side.
const AT_SIDE: f64 = 0.6;
const ALONG_MOST: f64 = 40.0;
/// Directions looked in round a corner.
const ROUND: u32 = 16;
/// Size at a pole's edge over the gap.
const AT_EDGE: f64 = 0.25;
/// The gap that counts there, at most, over the magnet's reach.
const AT_EDGE_MOST: f64 = 0.03;
/// Size on the plate opposite an edge over that at the edge.
const OPPOSITE: f64 = 4.0;
/// Sizes at corners of iron over the drawing's radius: where iron turns round air, and where it ends in air.
const AT_INNER_CORNER: f64 = 0.012;
const AT_OUTER_CORNER: f64 = 0.03;

impl Magnet {
    /// The stage the sheet describes: the workpiece at its gap, the sheet's drive.
    pub fn stage(&self) -> Stage {
        Stage { plates: self.workpiece.iter().cloned().collect(), ampere_turns: self.ampere_turns() }
    }

    /// Nothing in front of the face.
    pub fn open_stage(&self) -> Stage {
        Stage { plates: Vec::new(), ampere_turns: self.ampere_turns() }
    }

    /// Draw the magnet on a stage.
    pub fn scene(&self, stage: &Stage) -> Scene {
        let mut names = vec!["air".to_string()];
        let mut media = vec![Medium::vacuum()];
        let mut solid = vec![false];
        let mut shares = vec![0.0];
        let mut outlines: Vec<(Outline, bool)> = Vec::new();
        for part in &self.parts {
            let area = area_m2(&part.outline);
            let (medium, share) = match &part.substance {
                Substance::Vacuum => (Medium::vacuum(), 0.0),
                Substance::Conductors { share } => {
                    (Medium::vacuum().with_current_density(share * stage.ampere_turns / area), *share)
                }
                Substance::AmpereTurns(own) => (Medium::vacuum().with_current_density(own / area), 0.0),
                Substance::Iron(iron) => (iron_medium(iron), 0.0),
                Substance::Permanent { remanence_t, recoil_permeability, .. } => {
                    (Medium::of(Linear::relative(*recoil_permeability)).with_remanence(*remanence_t), 0.0)
                }
            };
            names.push(part.name.clone());
            solid.push(matches!(part.substance, Substance::Iron(_) | Substance::Permanent { .. }));
            media.push(medium);
            shares.push(share);
            outlines.push((part.outline.clone(), part.is_workpiece));
        }
        for (k, plate) in stage.plates.iter().enumerate() {
            let y = self.face_m + plate.gap_m;
            names.push(if k == 0 { "workpiece".into() } else { "keeper".into() });
            media.push(iron_medium(&plate.iron));
            solid.push(true);
            shares.push(0.0);
            outlines.push((Outline::rectangle(plate.x_m, [y, y + plate.thickness_m]), k == 0));
        }
        let mut drawing = self.frame(&outlines);
        for (k, (outline, _)) in outlines.iter().enumerate() {
            drawing.paint(k + 1, outline.clone());
        }
        self.grade(&mut drawing, stage, &outlines, &media);
        if media.iter().all(|m| m.law.linear().is_some()) {
            drawing.growth = GROWTH_LINEAR;
            drawing.size_max_m *= 0.6;
        }
        let half = matches!(self.symmetry, Symmetry::PlanarHalf(_));
        Scene {
            drawing,
            media: Arc::new(media),
            names,
            moving: outlines.iter().map(|o| o.1).collect(),
            solid,
            shares,
            scale: self.depth_m * if half { 2.0 } else { 1.0 },
            in_space: stage.plates.first().map_or(1.0, |p| p.in_space.value),
            applied_t: self.applied_t,
            towards: towards(&outlines),
            watch: self.watch.clone(),
        }
    }

    /// An empty drawing whose circle holds everything with room to spare.
    fn frame(&self, outlines: &[(Outline, bool)]) -> Drawing {
        let [[left, right], [low, high]] = [0, 1].map(|axis| span(outlines.iter().map(|(o, _)| o), axis));
        let whole = self.symmetry == Symmetry::Planar;
        let centre = [if whole { 0.5 * (left + right) } else { 0.0 }, 0.5 * (low + high)];
        let far = outlines
            .iter()
            .flat_map(|(o, _)| bulge(o))
            .map(|p| (p[0] - centre[0]).hypot(p[1] - centre[1]))
            .fold(0.0, f64::max);
        let mut drawing = Drawing::new(self.symmetry, centre, 1.35 * far);
        drawing.growth = GROWTH;
        drawing.size_max_m = 0.2 * drawing.radius_m;
        drawing
    }

    /// Small elements where the field is singular: at the poles' edges, then at every other corner.
    fn grade(&self, drawing: &mut Drawing, stage: &Stage, outlines: &[(Outline, bool)], media: &[Medium]) {
        let gap = stage.plates.iter().map(|p| p.gap_m).fold(f64::INFINITY, f64::min);
        let reach = self.poles.iter().map(|p| p.x_m[1]).fold(0.0, f64::max);
        let edge = AT_EDGE * gap.min(AT_EDGE_MOST * reach);
        for pole in &self.poles {
            for x in pole.x_m.into_iter().filter(|x| *x > 0.0) {
                drawing.grade([x, pole.y_m], edge);
                // The plate opposite is smooth: the field there varies over the gap.
                for plate in stage.plates.iter().filter(|p| p.x_m[0] <= x && x <= p.x_m[1]) {
                    drawing.grade([x, self.face_m + plate.gap_m], OPPOSITE * edge);
                }
            }
        }
        self.grade_corners(drawing, outlines, media);
    }

    /// Iron that turns round a corner of the air crowds the flux in its inside; a corner of iron in the air, at its
    /// outside. Where iron runs on smoothly nothing happens.
    fn grade_corners(&self, drawing: &mut Drawing, outlines: &[(Outline, bool)], media: &[Medium]) {
        let radius = drawing.radius_m;
        let solid = |region: usize| {
            let m = &media[region];
            m.law.linear() != Some(Linear::VACUUM.permeability) || m.remanence_t != [0.0; 2]
        };
        let corners: Vec<Point> = outlines.iter().flat_map(|(o, _)| o.0.iter().map(|n| n.0)).collect();
        let round: Vec<Point> = corners
            .iter()
            .flat_map(|p| {
                (0..ROUND).map(|k| {
                    let angle = (f64::from(k) + 0.5) / f64::from(ROUND) * 2.0 * std::f64::consts::PI;
                    let x = p[0] + 1e-5 * radius * angle.cos();
                    let mirrored = drawing.symmetry != Symmetry::Planar;
                    [if mirrored { x.abs() } else { x }, p[1] + 1e-5 * radius * angle.sin()]
                })
            })
            .collect();
        // A winding is smooth inside, but its size sets that of its own field.
        let conductors = outlines.iter().zip(&media[1..]).filter(|(_, m)| m.current_density != 0.0);
        for (outline, _) in conductors.map(|(o, _)| o) {
            let nodes = &outline.0;
            // The field of a long winding varies across it all along.
            let side = |k: usize| (nodes[k].0, nodes[(k + 1) % nodes.len()].0);
            let length = |(p, q): (Point, Point)| (p[0] - q[0]).hypot(p[1] - q[1]);
            let across = (0..nodes.len()).map(|k| length(side(k))).fold(f64::INFINITY, f64::min);
            for (p, q) in (0..nodes.len()).map(side) {
                let pieces = (length((p, q)) / across).min(ALONG_MOST).floor() as u32;
                for k in 1..pieces {
                    let t = f64::from(k) / f64::from(pieces);
                    drawing.grade([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])], AT_SIDE * across);
                }
            }
            for (k, &(p, _)) in nodes.iter().enumerate() {
                let q = nodes[(k + 1) % nodes.len()].0;
                let size = AT_CONDUCTOR * (p[0] - q[0]).hypot(p[1] - q[1]);
                drawing.grade(p, size);
                drawing.grade(q, size);
            }
        }
        let regions = drawing.regions_at(&round);
        for (p, regions) in corners.iter().zip(regions.chunks(ROUND as usize)) {
            let share = regions.iter().filter(|r| solid(**r)).count() as f64 / f64::from(ROUND);
            if share > 0.6 && share < 1.0 {
                drawing.grade(*p, AT_INNER_CORNER * radius);
            } else if share > 0.0 && share < 0.4 {
                drawing.grade(*p, AT_OUTER_CORNER * radius);
            }
        }
    }
}

impl Scene {
    /// Number of the region of that name.
    pub fn region(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|n| n == name)
    }

    /// From the solver's force on what moves, N, to the attraction of the whole magnet in space.
    pub fn pull_scale(&self) -> f64 {
        self.towards * self.scale * self.in_space
    }
}

/// −1 if what moves stands above the rest, +1 if below.
fn towards(outlines: &[(Outline, bool)]) -> f64 {
    let middle = |moving: bool| {
        let ys: Vec<f64> =
            outlines.iter().filter(|o| o.1 == moving).flat_map(|(o, _)| o.0.iter().map(|n| n.0[1])).collect();
        let (low, high) =
            ys.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |s, y| (s.0.min(*y), s.1.max(*y)));
        0.5 * (low + high)
    };
    if middle(true) < middle(false) { 1.0 } else { -1.0 }
}

/// Nodes of an outline and middles of its arcs.
fn bulge(outline: &Outline) -> Vec<Point> {
    let nodes = &outline.0;
    let mut points: Vec<Point> = nodes.iter().map(|n| n.0).collect();
    for (k, &(p, curve)) in nodes.iter().enumerate() {
        if let Curve::Arc { centre, .. } = curve {
            let q = nodes[(k + 1) % nodes.len()].0;
            let radius = (p[0] - centre[0]).hypot(p[1] - centre[1]);
            let middle = [0.5 * (p[0] + q[0]) - centre[0], 0.5 * (p[1] + q[1]) - centre[1]];
            let size = middle[0].hypot(middle[1]);
            let towards =
                if size > 1e-9 * radius { [middle[0] / size, middle[1] / size] } else { [1.0, 0.0] };
            points.push([centre[0] + radius * towards[0], centre[1] + radius * towards[1]]);
        }
    }
    points
}

/// Area of an outline, in m²: the polygon's and its circular segments'.
fn area_m2(outline: &Outline) -> f64 {
    let nodes = &outline.0;
    let mut twice = 0.0;
    for (k, &(p, curve)) in nodes.iter().enumerate() {
        let q = nodes[(k + 1) % nodes.len()].0;
        twice += p[0] * q[1] - p[1] * q[0];
        if let Curve::Arc { centre, ccw } = curve {
            let (u, v) = ([p[0] - centre[0], p[1] - centre[1]], [q[0] - centre[0], q[1] - centre[1]]);
            let full = 2.0 * std::f64::consts::PI;
            let turn = (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]);
            let turn = if ccw { turn.rem_euclid(full) } else { -(-turn).rem_euclid(full) };
            let radius_squared = u[0] * u[0] + u[1] * u[1];
            twice += radius_squared * (turn - turn.sin());
        }
    }
    0.5 * twice.abs()
}
