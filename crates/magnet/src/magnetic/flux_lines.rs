//! Flux lines: contours of the flux function, with as much flux between any two neighbours.

use crate::magnet::Magnet;
use crate::magnetic::contour::Grid;
use crate::magnetic::solved::Solved;
use coilwright_fem::drawing::{Point, Symmetry};
use std::f64::consts::PI;

/// Lines, and the points of the grid across and along at most.
const LINES: usize = 18;
const POINTS: f64 = 240.0;

/// Flux lines of a solved scene.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct FluxLines {
    /// Flux between two neighbours, all round or over the whole depth, Wb.
    pub(crate) between_wb: f64,
    /// Each line's points, m.
    pub(crate) lines: Vec<Vec<Point>>,
}

/// The flux lines of a solved scene in a rectangle of its drawing, m.
pub(crate) fn flux_lines(magnet: &Magnet, solved: &Solved, x: [f64; 2], y: [f64; 2]) -> FluxLines {
    let probe = solved.ladder.probe();
    let flux_wb = |p: Point| {
        let potential = probe.at(p).potential;
        match magnet.symmetry {
            // Through the circle about the axis that passes the point.
            Symmetry::Axial => 2.0 * PI * p[0] * potential,
            Symmetry::PlanarHalf(_) | Symmetry::Planar => magnet.depth_m * potential,
        }
    };
    let grid = Grid::of(x, y, POINTS, flux_wb);
    let ends =
        grid.values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [a.min(*v), b.max(*v)]);
    let between_wb = (ends[1] - ends[0]) / LINES as f64;
    let levels = (0..LINES).map(|k| ends[0] + (k as f64 + 0.5) * between_wb);
    let lines =
        if between_wb > 0.0 { levels.flat_map(|level| grid.contour(level)).collect() } else { Vec::new() };
    FluxLines { between_wb, lines }
}
