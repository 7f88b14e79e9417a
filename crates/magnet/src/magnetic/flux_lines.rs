//! Flux lines: contours of the flux function, with as much flux between any two neighbours.

use crate::magnet::Magnet;
use crate::magnetic::contour::Grid;
use coilwright_fem::drawing::{Point, Symmetry};
use coilwright_fem::magnetostatics::FieldPoint;
use std::f64::consts::PI;

const LINES: usize = 18;

/// Flux lines of a solved scene.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct FluxLines {
    /// Flux between two neighbours, all round or over the whole depth, Wb.
    pub(crate) between_wb: f64,
    /// Each line's points, m.
    pub(crate) lines: Vec<Vec<Point>>,
}

/// The flux lines of a magnet whose field is known at the nodes of a grid of its drawing.
pub(crate) fn flux_lines(magnet: &Magnet, nodes: &Grid, fields: &[FieldPoint]) -> FluxLines {
    let grid = nodes.revalued(|k, p| match magnet.symmetry {
        // Through the circle about the axis that passes the point.
        Symmetry::Axial => 2.0 * PI * p[0] * fields[k].potential,
        Symmetry::PlanarHalf(_) | Symmetry::Planar => magnet.depth_m * fields[k].potential,
    });
    let ends =
        grid.values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [a.min(*v), b.max(*v)]);
    let between_wb = (ends[1] - ends[0]) / LINES as f64;
    let levels = (0..LINES).map(|k| ends[0] + (k as f64 + 0.5) * between_wb);
    let lines =
        if between_wb > 0.0 { levels.flat_map(|level| grid.contour(level)).collect() } else { Vec::new() };
    FluxLines { between_wb, lines }
}
