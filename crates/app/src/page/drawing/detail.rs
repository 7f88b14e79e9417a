//! What is too thin to be seen at the drawing's scale, enlarged in a circle (ISO 128).

use super::geometry::Piece;
use super::{SCALES, UNITS, View, fill, geometry, ratio_text, sizes};
use crate::shown::Scale;
use crate::svg::{Svg, px};
use coilwright_magnet::answers::figure::{Figure, Fill, Shown};

/// Radius of the detail, and of the circle in the drawing that says where it is.
const RADIUS: f64 = 46.0;
const THERE: f64 = 10.0;
/// Least height of the gap in the detail.
const LEAST: f64 = 11.0;

/// The gap, enlarged.
pub(super) struct Detail<'a> {
    gap: &'a Shown,
    text: String,
    /// Its middle, in the magnet, m.
    middle: [f64; 2],
    ratio: f64,
}

impl<'a> Detail<'a> {
    /// At the outermost part of the magnet that reaches the face, on the left.
    pub(super) fn of(figure: &Figure, gap: &'a Shown, letters: Scale) -> Self {
        let at_face = |y: f64| (y - figure.face).abs() < 1e-9;
        let mut middle = 0.0;
        for part in figure.parts.iter().filter(|part| !part.workpiece && part.fill != Fill::Other) {
            let xs = || part.outline.iter().filter(|corner| at_face(corner.at[1])).map(|corner| corner.at[0]);
            let (low, high) = (xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max));
            if high.is_finite() && 0.5 * (low + high) > middle {
                middle = 0.5 * (low + high);
            }
        }
        let [low, high] = gap.ends.map(|end| end[1]);
        let large = |ratio: &&f64| 1e3 * UNITS * **ratio * (high - low) >= LEAST;
        let ratio = SCALES.iter().find(large).copied().unwrap_or(SCALES[SCALES.len() - 1]);
        Self { gap, text: sizes::lettered(gap, letters), middle: [-middle, 0.5 * (low + high)], ratio }
    }

    /// What it takes beneath the section.
    pub(super) fn height(&self) -> f64 {
        2.0 * RADIUS + 34.0
    }

    /// Draws it with its upper left corner at a place; gives back where notes may stand beside it.
    pub(super) fn draw(&self, svg: &mut Svg, pieces: &[Piece], view: View, [left, top]: [f64; 2]) -> f64 {
        let there = view.at(self.middle);
        circle(svg, there, THERE);
        let name: [(&str, &dyn std::fmt::Display); 2] =
            [("x", &px(there[0] - THERE - 12.0)), ("y", &px(there[1] - THERE + 2.0))];
        svg.text("text", &name, "A");

        let centre = [left + RADIUS, top + RADIUS + 22.0];
        let scale = 1e3 * UNITS * self.ratio;
        let origin = [centre[0] - scale * self.middle[0], centre[1] + scale * self.middle[1]];
        let near = View { scale, origin };
        svg.open("clipPath", &[("id", &"detail-a")]);
        circle(svg, centre, RADIUS);
        svg.close("clipPath");
        svg.open("g", &[("clip-path", &"url(#detail-a)")]);
        for piece in pieces {
            fill(svg, piece, near);
            let edges = geometry::visible_edges(piece, pieces);
            let path: String = edges.iter().map(|edge| geometry::path(edge, near, false)).collect();
            svg.leaf("path", &[("class", &"edge"), ("d", &path)]);
        }
        svg.close("g");
        circle(svg, centre, RADIUS);
        let at: [(&str, &dyn std::fmt::Display); 2] = [("x", &px(left)), ("y", &px(top + 14.0))];
        svg.text("text", &at, &format!("A ({})", ratio_text(self.ratio)));

        let [low, high] = self.gap.ends.map(|end| near.at([self.middle[0], end[1]])[1]);
        let edge = centre[0] + RADIUS;
        let ends = [[edge, low], [edge, high]];
        let line = [[edge + 16.0, low], [edge + 16.0, high]];
        sizes::dimension(svg, (self.gap, &self.text), ends, line, false);
        edge + 56.0
    }
}

fn circle(svg: &mut Svg, [x, y]: [f64; 2], radius: f64) {
    svg.leaf("circle", &[("class", &"thin"), ("cx", &px(x)), ("cy", &px(y)), ("r", &radius)]);
}
