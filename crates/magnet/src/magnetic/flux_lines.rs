//! Flux lines: contours of the flux function, with as much flux between any two neighbours.

use crate::magnet::Magnet;
use crate::magnetic::solved::Solved;
use coilwright_fem::drawing::{Point, Symmetry};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Lines, and the points of the grid across and along at most.
const LINES: usize = 18;
const POINTS: f64 = 170.0;

/// Flux lines of a solved scene.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct FluxLines {
    /// Flux between two neighbours, all round or over the whole depth, Wb.
    pub(crate) between_wb: f64,
    /// Each line's points, m.
    pub(crate) lines: Vec<Vec<Point>>,
}

/// Values on a grid of rectangles.
struct Grid {
    origin: Point,
    cell: [f64; 2],
    count: [usize; 2],
    values: Vec<f64>,
}

/// A side of the grid's cells: column, row, and whether it runs across.
type Side = (usize, usize, bool);

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
    let grid = Grid::of(x, y, flux_wb);
    let ends =
        grid.values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [a.min(*v), b.max(*v)]);
    let between_wb = (ends[1] - ends[0]) / LINES as f64;
    let levels = (0..LINES).map(|k| ends[0] + (k as f64 + 0.5) * between_wb);
    let lines =
        if between_wb > 0.0 { levels.flat_map(|level| grid.contour(level)).collect() } else { Vec::new() };
    FluxLines { between_wb, lines }
}

impl Grid {
    /// Square cells, so many that the longer side has [`POINTS`].
    fn of(x: [f64; 2], y: [f64; 2], value: impl Fn(Point) -> f64) -> Self {
        let size = [x[1] - x[0], y[1] - y[0]];
        let cells = size.map(|s| (s / (size[0].max(size[1]) / POINTS)).ceil().max(2.0));
        let (cell, count) = ([size[0] / cells[0], size[1] / cells[1]], cells.map(|c| c as usize + 1));
        let mut grid = Self { origin: [x[0], y[0]], cell, count, values: Vec::new() };
        let nodes = (0..count[1]).flat_map(|j| (0..count[0]).map(move |i| (i, j)));
        grid.values = nodes.map(|(i, j)| value(grid.node(i, j))).collect();
        grid
    }

    fn node(&self, i: usize, j: usize) -> Point {
        [self.origin[0] + i as f64 * self.cell[0], self.origin[1] + j as f64 * self.cell[1]]
    }

    fn value(&self, i: usize, j: usize) -> f64 {
        self.values[j * self.count[0] + i]
    }

    /// The lines at a level, cell by cell, put together.
    fn contour(&self, level: f64) -> Vec<Vec<Point>> {
        let mut next: BTreeMap<Side, Vec<Side>> = BTreeMap::new();
        for j in 0..self.count[1] - 1 {
            for i in 0..self.count[0] - 1 {
                for [a, b] in self.crossings(i, j, level) {
                    next.entry(a).or_default().push(b);
                    next.entry(b).or_default().push(a);
                }
            }
        }
        let mut lines = Vec::new();
        // Lines that end at the grid's edge first, then those that close.
        let ends: Vec<Side> = next.iter().filter(|(_, n)| n.len() == 1).map(|(side, _)| *side).collect();
        let all: Vec<Side> = next.keys().copied().collect();
        for start in ends.into_iter().chain(all) {
            let mut sides = vec![start];
            let mut at = start;
            while let Some(to) = next.get_mut(&at).and_then(Vec::pop) {
                if let Some(back) = next.get_mut(&to) {
                    back.retain(|side| *side != at);
                }
                sides.push(to);
                at = to;
            }
            if sides.len() > 1 {
                lines.push(sides.into_iter().map(|side| self.crossing(side, level)).collect());
            }
        }
        lines
    }

    /// The pairs of a cell's sides between which a line passes.
    fn crossings(&self, i: usize, j: usize, level: f64) -> Vec<[Side; 2]> {
        let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
        let above = corners.map(|(i, j)| self.value(i, j) > level);
        let sides: [Side; 4] = [(i, j, true), (i + 1, j, false), (i, j + 1, true), (i, j, false)];
        let crossed: Vec<Side> =
            (0..4).filter(|&k| above[k] != above[(k + 1) % 4]).map(|k| sides[k]).collect();
        match crossed.as_slice() {
            [a, b] => vec![[*a, *b]],
            [a, b, c, d] => {
                // A saddle: its middle says which corners hang together.
                let middle = 0.25 * corners.map(|(i, j)| self.value(i, j)).iter().sum::<f64>() > level;
                if middle == above[0] { vec![[*a, *b], [*c, *d]] } else { vec![[*d, *a], [*b, *c]] }
            }
            _ => Vec::new(),
        }
    }

    /// Where a level crosses a side.
    fn crossing(&self, (i, j, across): Side, level: f64) -> Point {
        let (k, l) = if across { (i + 1, j) } else { (i, j + 1) };
        let (from, to) = (self.value(i, j), self.value(k, l));
        let t = ((level - from) / (to - from)).clamp(0.0, 1.0);
        let (p, q) = (self.node(i, j), self.node(k, l));
        [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contours of x² + y² are circles, closed and as wide as they should be; those of x are straight from edge to edge.
    #[test]
    fn contours_are_where_they_should_be() {
        let bowl = Grid::of([-2.0, 2.0], [-1.5, 1.5], |[x, y]| x * x + y * y);
        let lines = bowl.contour(1.0);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].first(), lines[0].last());
        assert!(lines[0].iter().all(|p| (p[0].hypot(p[1]) - 1.0).abs() < 1e-3));
        let slope = Grid::of([0.0, 1.0], [0.0, 2.0], |[x, _]| x);
        let lines = slope.contour(0.301);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|p| (p[0] - 0.301).abs() < 1e-12));
        assert!((lines[0][0][1] - lines[0][lines[0].len() - 1][1]).abs() > 2.0 - 1e-9);
    }
}
