//! The magnet's field at the scale of the drawing: flux lines over shades of its magnitude, and the scale of the shades.

use super::{Frame, SIZE, UNITS, View, centre_line, geometry, opened, outlines, ratio};
use crate::chart;
use crate::svg::{Svg, px};
use coilwright_magnet::answers::figure::{Corner, Figure, Fill, Flux};
use coilwright_magnet::quantity::UnitSystem;
use std::fmt::Display;

/// Width of the scale of shades, its distance from the picture, and the room of its figures.
const BAR: f64 = 16.0;
const BESIDE: f64 = 18.0;
const FIGURES: f64 = 52.0;
/// Room over the scale for its unit.
const HEAD: f64 = 22.0;

/// The picture as an SVG element; none where there is nothing to draw.
pub(in crate::page) fn svg(figure: &Figure, flux: &Flux, units: UnitSystem) -> Option<String> {
    let mut pieces = geometry::pieces(figure);
    let cut = geometry::cut_wide_plates(&mut pieces);
    let frame = Frame::of(&pieces)?;
    let scale = 1e3 * ratio(&frame) * UNITS;
    let [x, y] = flux.area;
    let [width, height] = [x, y].map(|[low, high]| scale * (high - low));
    let view = View { scale, origin: [-scale * x[0], HEAD + scale * y[1]] };
    let size = [width + BESIDE + BAR + FIGURES, HEAD + height + 0.5 * SIZE];
    let mut svg = opened(size, "The field in the magnet's section", view);
    // Where a place of the figure is.
    svg.open("g", &[("data-area", &format!("0 {HEAD} {} {}", px(width), px(height)))]);
    for shade in &flux.shades {
        svg.leaf(
            "path",
            &[("class", &"shade"), ("fill-rule", &"evenodd"), ("d", &chart::shade(shade, view))],
        );
    }
    for piece in pieces.iter().filter(|piece| piece.fill == Fill::Winding) {
        // The pattern of the drawing, which stands on the same page.
        let path = geometry::path(&piece.outline, view, true);
        svg.leaf("path", &[("class", &"coil"), ("fill", &"url(#wires)"), ("d", &path)]);
    }
    for line in &flux.lines {
        let corners: Vec<Corner> = line.iter().map(|&at| Corner { at, arc: None }).collect();
        svg.leaf("path", &[("class", &"flux"), ("d", &geometry::path(&corners, view, false))]);
    }
    outlines(&mut svg, &pieces, cut, view);
    centre_line(&mut svg, figure, &frame, view);
    svg.close("g");
    scale_of_shades(&mut svg, flux, units, [width + BESIDE, HEAD, HEAD + height]);
    svg.close("svg");
    Some(svg.finish())
}

/// Weak at the bottom; the shades lie over each other as in the picture.
fn scale_of_shades(svg: &mut Svg, flux: &Flux, units: UnitSystem, [left, top, bottom]: [f64; 3]) {
    let (field, axis) = chart::strengths(flux, units);
    let count = flux.shades.len() as f64 + 1.0;
    let bar = |svg: &mut Svg, class: &str, share: f64| {
        let high = (bottom - top) * share;
        let place: [(&str, &dyn Display); 5] =
            [("class", &class), ("x", &px(left)), ("y", &px(top)), ("width", &BAR), ("height", &px(high))];
        svg.leaf("rect", &place);
    };
    for k in 1..=flux.shades.len() {
        bar(svg, "shade", 1.0 - k as f64 / count);
    }
    bar(svg, "thin", 1.0);
    svg.text("text", &[("class", &"note"), ("x", &px(left)), ("y", &px(top - 8.0))], &field.heading("|B|"));
    for tick in &axis.major {
        let y = bottom - (bottom - top) * axis.position(*tick);
        let mark = format!("M{} {}h4", px(left + BAR), px(y));
        svg.leaf("path", &[("class", &"thin"), ("d", &mark)]);
        let place: [(&str, &dyn Display); 3] =
            [("class", &"note"), ("x", &px(left + BAR + 7.0)), ("y", &px(y + 0.36 * SIZE))];
        svg.text("text", &place, &axis.label(*tick));
    }
}
