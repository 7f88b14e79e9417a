//! The magnet's face from its middle outwards, with the room above it in which a probe goes over it.

use super::{Frame, Piece, View, geometry, opened, outlines};
use crate::svg::px;
use coilwright_magnet::answers::figure::{Figure, Fill};

/// Units across, and how much of the magnet is shown below its face, over what is shown above.
const WIDTH: f64 = 700.0;
const BELOW: f64 = 0.35;

/// So far across and so high above the face, m; none where there is nothing to draw. `data-face` says how high the face is.
pub(in crate::page) fn svg(figure: &Figure, across_m: f64, height_m: f64) -> Option<String> {
    let pieces: Vec<Piece> = geometry::pieces(figure).into_iter().filter(|piece| !piece.workpiece).collect();
    Frame::of(&pieces)?;
    let scale = WIDTH / across_m;
    let view = View { scale, origin: [0.0, scale * (height_m + figure.face)] };
    let size = [WIDTH, scale * height_m * (1.0 + BELOW)];
    let mut svg = opened(size, "The face in section, with the height of the probe", view);
    svg.open("g", &[("data-face", &px(scale * height_m))]);
    for piece in &pieces {
        let class = if piece.fill == Fill::Winding { "coil" } else { "body" };
        svg.leaf("path", &[("class", &class), ("d", &geometry::path(&piece.outline, view, true))]);
    }
    outlines(&mut svg, &pieces, None, view);
    svg.close("g");
    svg.close("svg");
    Some(svg.finish())
}
