//! Lines of one value, and areas above it, on a grid of rectangles.

use coilwright_fem::drawing::Point;
use std::collections::BTreeMap;

/// Values on a grid of rectangles.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    origin: Point,
    cell: [f64; 2],
    /// Nodes across and along.
    pub(crate) count: [usize; 2],
    /// Row by row, the lowest first.
    pub(crate) values: Vec<f64>,
    /// Nodes on its rim are beside those next to them: it closes what reaches the edge.
    rimmed: bool,
}

/// A side of the grid's cells: column, row, and whether it runs across.
type Side = (usize, usize, bool);

impl Grid {
    /// Square cells, so many that the longer side has `most`; values are asked for row by row, the lowest first.
    pub(crate) fn of(x: [f64; 2], y: [f64; 2], most: f64, value: impl FnMut(Point) -> f64) -> Self {
        let size = [x[1] - x[0], y[1] - y[0]];
        // A whole number of cells is not one more for its rounding.
        let cells = size.map(|s| (s / (size[0].max(size[1]) / most) - 1e-9).ceil().max(2.0));
        let (cell, count) = ([size[0] / cells[0], size[1] / cells[1]], cells.map(|c| c as usize + 1));
        let mut grid = Self { origin: [x[0], y[0]], cell, count, values: Vec::new(), rimmed: false };
        grid.values = nodes(count).map(|(i, j)| grid.node(i, j)).map(value).collect();
        grid
    }

    /// The same nodes with other values, asked for by their number.
    pub(crate) fn revalued(&self, value: impl Fn(usize, Point) -> f64) -> Self {
        let values = nodes(self.count).enumerate().map(|(k, (i, j))| value(k, self.node(i, j))).collect();
        Self { values, ..*self }
    }

    /// The same with a rim of nothing, so that every area above a level greater than zero is closed.
    pub(crate) fn closed(&self) -> Self {
        let count = self.count.map(|n| n + 2);
        let rim = |i: usize, j: usize| i == 0 || j == 0 || i == count[0] - 1 || j == count[1] - 1;
        let values =
            nodes(count).map(|(i, j)| if rim(i, j) { 0.0 } else { self.value(i - 1, j - 1) }).collect();
        Self { count, values, rimmed: true, ..*self }
    }

    /// Where a node is.
    pub(crate) fn node(&self, i: usize, j: usize) -> Point {
        let [i, j] = match self.rimmed {
            false => [i, j],
            true => [(i, 0), (j, 1)].map(|(k, axis)| k.clamp(1, self.count[axis] - 2) - 1),
        };
        [self.origin[0] + i as f64 * self.cell[0], self.origin[1] + j as f64 * self.cell[1]]
    }

    fn value(&self, i: usize, j: usize) -> f64 {
        self.values[j * self.count[0] + i]
    }

    /// The lines at a level, cell by cell, put together.
    pub(crate) fn contour(&self, level: f64) -> Vec<Vec<Point>> {
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

/// Columns and rows of all nodes, row by row.
fn nodes([across, along]: [usize; 2]) -> impl Iterator<Item = (usize, usize)> {
    (0..along).flat_map(move |j| (0..across).map(move |i| (i, j)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MOST: f64 = 170.0;

    /// Contours of x² + y² are circles, closed and as wide as they should be; those of x are straight from edge to edge.
    #[test]
    fn contours_are_where_they_should_be() {
        let bowl = Grid::of([-2.0, 2.0], [-1.5, 1.5], MOST, |[x, y]| x * x + y * y);
        let lines = bowl.contour(1.0);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].first(), lines[0].last());
        assert!(lines[0].iter().all(|p| (p[0].hypot(p[1]) - 1.0).abs() < 1e-3));
        let slope = Grid::of([0.0, 1.0], [0.0, 2.0], MOST, |[x, _]| x);
        let lines = slope.contour(0.301);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|p| (p[0] - 0.301).abs() < 1e-12));
        assert!((lines[0][0][1] - lines[0][lines[0].len() - 1][1]).abs() > 2.0 - 1e-9);
    }

    /// The half-disc x² + y² < 1 of x ≥ 0, as the area where 2 − x² − y² is above 1, is closed along the edge of the grid and
    /// as large as it should be (shoelace formula): π/2.
    #[test]
    fn an_area_at_the_edge_is_closed() {
        let grid = Grid::of([0.0, 1.2], [-1.2, 1.2], MOST, |[x, y]| 2.0 - x * x - y * y).closed();
        let loops = grid.contour(1.0);
        assert_eq!(loops.len(), 1);
        assert_eq!(loops[0].first(), loops[0].last());
        let twice: f64 = loops[0].windows(2).map(|p| p[0][0] * p[1][1] - p[0][1] * p[1][0]).sum();
        assert!((0.5 * twice.abs() - 0.5 * std::f64::consts::PI).abs() < 1e-3, "{twice}");
    }
}
