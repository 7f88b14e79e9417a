//! A field over an area: shades of its magnitude, flux lines, the outlines of what is there, axes, and the scale of its shades.

use super::{ramp, ticks};
use crate::ask::Map;
use crate::lettering::{self, FAMILIES};
use crate::page::drawing::View;
use crate::page::drawing::geometry::{self, Piece};
use crate::shown::{self, Scale};
use crate::svg::{Svg, px};
use coilwright_magnet::answers::figure::{Continued, Corner, Fill, Flux, Shade};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use std::fmt::{Display, Write};

/// Ink of the flux lines.
pub(super) const FLUX: &str = "#0b3f5c";
const INK: &str = "#20262b";
const SOFT: &str = "#59656f";

/// The longer side of the picture, and its least width: room for the words beneath.
const LONGER: f64 = 560.0;
const NARROWEST: f64 = 420.0;
const MARGIN: f64 = 20.0;
const SIZE: f64 = 13.0;
const TITLE: f64 = 17.0;
const LINE: f64 = 18.0;
/// Width of the scale, and its distance from the picture.
const BAR: f64 = 18.0;
const BESIDE: f64 = 24.0;
/// Colours of the scale.
const STEPS: usize = 64;

/// The map as an SVG document.
pub(crate) fn svg(map: &Map, magnet: &str, units: UnitSystem) -> String {
    let ends = |values: &[f64]| [values[0], values[values.len() - 1]];
    let (across, heights) = (ends(&map.across_m), ends(&map.height_m));
    let [wide, high] = [across[1] - across[0], heights[1] - heights[0]];
    let scale = LONGER / wide.max(high);
    let letters = Scale::of(Dimension::Length, wide.max(high), units);
    let axis = |[low, high]: [f64; 2]| {
        let wanted = (7.0 * scale * (high - low) / LONGER).max(2.0);
        ticks::linear(letters.value(low), letters.value(high), wanted, false)
    };
    let (x, y) = (axis(across), axis(heights));
    let (field, shades) = strengths(&map.flux, units);

    let width_of = |text: &str| lettering::width(text, SIZE, false);
    let widest =
        |axis: &ticks::Axis| axis.major.iter().map(|t| width_of(&axis.label(*t))).fold(0.0, f64::max);
    let left = MARGIN + LINE + widest(&y) + 10.0;
    let [right, top] = [left + scale * wide, MARGIN + TITLE + 48.0];
    let bottom = top + scale * high;
    let bar = right + BESIDE;
    let width = (bar + BAR + 8.0 + widest(&shades) + MARGIN).max(left + NARROWEST);
    let notes = notes(map, units);
    let lines: Vec<String> =
        notes.iter().flat_map(|note| lettering::lines(note, SIZE, false, width - 2.0 * MARGIN)).collect();
    let below = bottom + SIZE + 30.0;
    let height = below + LINE * lines.len() as f64 + 14.0;

    let mut svg = Svg::default();
    svg.open(
        "svg",
        &[
            ("xmlns", &"http://www.w3.org/2000/svg"),
            ("viewBox", &format!("0 0 {} {}", px(width), px(height))),
            ("width", &px(width)),
            ("height", &px(height)),
            ("role", &"img"),
            ("aria-labelledby", &"map-title map-desc"),
            ("font-family", &FAMILIES),
            ("font-size", &SIZE),
            ("fill", &INK),
        ],
    );
    let title = "Magnitude of the flux density, and flux lines";
    svg.text("title", &[("id", &"map-title")], &format!("{title}: {magnet}"));
    svg.text("desc", &[("id", &"map-desc")], &notes.join(" "));
    svg.leaf("rect", &[("width", &px(width)), ("height", &px(height)), ("fill", &"#ffffff")]);
    svg.text(
        "text",
        &[
            ("x", &px(MARGIN)),
            ("y", &px(MARGIN + TITLE * 0.85)),
            ("font-size", &TITLE),
            ("font-weight", &"bold"),
        ],
        title,
    );
    svg.text("text", &[("x", &px(MARGIN)), ("y", &px(MARGIN + TITLE + 18.0)), ("fill", &SOFT)], magnet);

    let face = map.figure.face;
    let view = View { scale, origin: [left - scale * across[0], top + scale * (heights[1] + face)] };
    let frame: [(&str, &dyn Display); 4] =
        [("x", &px(left)), ("y", &px(top)), ("width", &px(right - left)), ("height", &px(bottom - top))];
    svg.open("defs", &[]);
    svg.open("clipPath", &[("id", &"map-area")]);
    svg.leaf("rect", &frame);
    svg.close("clipPath");
    svg.close("defs");
    svg.open("g", &[("clip-path", &"url(#map-area)")]);
    picture(&mut svg, map, view, &frame);
    svg.close("g");
    let mut rim = frame.to_vec();
    rim.extend([("fill", &"none" as &dyn Display), ("stroke", &SOFT)]);
    svg.leaf("rect", &rim);

    // Axes: ticks outside, so that they do not pass for part of the picture.
    for tick in &x.major {
        let at = left + (right - left) * x.position(*tick);
        tick_line(&mut svg, [at, bottom], [at, bottom + 5.0]);
        words(&mut svg, [at, bottom + 5.0 + SIZE], "middle", &x.label(*tick));
    }
    for tick in &y.major {
        let at = bottom - (bottom - top) * y.position(*tick);
        tick_line(&mut svg, [left - 5.0, at], [left, at]);
        words(&mut svg, [left - 8.0, at + 0.36 * SIZE], "end", &y.label(*tick));
    }
    let middle = match map.figure.continued {
        Continued::Turned => "Distance from the axis",
        Continued::Mirrored | Continued::Whole => "Across",
    };
    words(&mut svg, [0.5 * (left + right), bottom + 9.0 + 2.0 * SIZE], "middle", &letters.heading(middle));
    words(
        &mut svg,
        [MARGIN, top - 10.0],
        "start",
        &letters.heading(if map.faced { "Height above the face" } else { "Height" }),
    );

    scale_bar(&mut svg, [bar, top, bottom], &shades);
    words(&mut svg, [bar + BAR, top - 10.0], "end", &field.heading("|B|"));
    for (k, line) in lines.iter().enumerate() {
        words(&mut svg, [MARGIN, below + LINE * (k as f64 + 1.0)], "start", line);
    }
    svg.close("svg");
    svg.finish()
}

/// Shades, flux lines, outlines.
fn picture(svg: &mut Svg, map: &Map, view: View, frame: &[(&str, &dyn Display)]) {
    let mut ground = frame.to_vec();
    let pale = ramp::colour(0.0);
    ground.push(("fill", &pale));
    svg.leaf("rect", &ground);
    let count = map.flux.shades.len() as f64;
    for (k, shade) in (1..).zip(&map.flux.shades) {
        let path = closed(shade, view);
        if !path.is_empty() {
            let fill = ramp::colour(f64::from(k) / count);
            svg.leaf("path", &[("fill", &fill), ("fill-rule", &"evenodd"), ("d", &path)]);
        }
    }
    let mut path = String::new();
    for line in &map.flux.lines {
        line_to(&mut path, line, view);
    }
    stroke(svg, &path, FLUX, 0.9, "");

    let pieces = geometry::pieces(&map.figure);
    let is = |kind: fn(&Fill) -> bool| pieces.iter().filter(move |piece| kind(&piece.fill));
    for piece in is(|fill| matches!(fill, Fill::Other)) {
        stroke(svg, &edges(piece, &pieces, view), SOFT, 0.8, "");
    }
    for piece in is(|fill| matches!(fill, Fill::Winding)) {
        // A winding is crossed from corner to corner (common practice, no source).
        if let [a, b, c, d] = piece.outline.as_slice() {
            let ends = [[a, c], [b, d]].map(|[from, to]| [from.at, to.at]);
            let mut path = String::new();
            ends.iter().for_each(|line| line_to(&mut path, line, view));
            stroke(svg, &path, INK, 0.7, "");
        }
        stroke(svg, &edges(piece, &pieces, view), INK, 1.1, "");
    }
    for piece in is(|fill| matches!(fill, Fill::Iron(_) | Fill::Permanent(_))) {
        stroke(svg, &edges(piece, &pieces, view), INK, 2.0, "");
        if let Fill::Permanent(remanence) = piece.fill {
            arrow(svg, piece, remanence, view);
        }
    }
    for ends in geometry::bore(&map.figure, &pieces) {
        let mut path = String::new();
        line_to(&mut path, &ends, view);
        stroke(svg, &path, INK, 1.1, "");
    }
    if map.figure.continued != Continued::Whole {
        let [low, high] = [0, map.height_m.len() - 1].map(|k| map.height_m[k] + map.figure.face);
        let mut path = String::new();
        line_to(&mut path, &[[0.0, low], [0.0, high]], view);
        stroke(svg, &path, SOFT, 0.8, "14 3 3 3");
    }
}

/// The unit of a picture's shades, and their scale.
pub(crate) fn strengths(flux: &Flux, units: UnitSystem) -> (Scale, ticks::Axis) {
    let field = Scale::of(Dimension::FluxDensity, flux.strongest.value, units);
    (field, ticks::logarithmic(field.value(flux.weakest.value), field.value(flux.strongest.value)))
}

/// The outlines of a shade as a path.
pub(crate) fn closed(shade: &Shade, view: View) -> String {
    let mut path = String::new();
    for outline in &shade.outlines {
        line_to(&mut path, outline, view);
        path.push('Z');
    }
    path
}

fn edges(piece: &Piece, all: &[Piece], view: View) -> String {
    geometry::visible_edges(piece, all)
        .iter()
        .map(|edge: &[Corner; 2]| geometry::path(edge, view, false))
        .collect()
}

/// The magnetisation, towards the north pole.
fn arrow(svg: &mut Svg, piece: &Piece, [across, along]: [f64; 2], view: View) {
    let size = across.hypot(along);
    if size == 0.0 {
        return;
    }
    let [x, y] = [0, 1].map(|axis| geometry::span(piece.outline.iter().map(|corner| corner.at), axis));
    let half = 0.3 * (x[1] - x[0]).min(y[1] - y[0]);
    let (u, v) = (across / size, along / size);
    let at = |forth: f64, aside: f64| {
        [
            0.5 * (x[0] + x[1]) + half * (forth * u - aside * v),
            0.5 * (y[0] + y[1]) + half * (forth * v + aside * u),
        ]
    };
    let mut path = String::new();
    for line in [[at(-1.0, 0.0), at(1.0, 0.0)], [at(0.45, 0.3), at(1.0, 0.0)], [at(0.45, -0.3), at(1.0, 0.0)]]
    {
        line_to(&mut path, &line, view);
    }
    stroke(svg, &path, INK, 2.0, "");
}

/// Points as part of a path.
fn line_to(path: &mut String, points: &[[f64; 2]], view: View) {
    for (k, point) in points.iter().enumerate() {
        let [x, y] = view.at(*point);
        let _ = write!(path, "{}{:.1} {:.1}", if k == 0 { 'M' } else { 'L' }, x, y);
    }
}

fn stroke(svg: &mut Svg, path: &str, colour: &str, width: f64, dashes: &str) {
    if path.is_empty() {
        return;
    }
    let mut attributes: Vec<(&str, &dyn Display)> = vec![
        ("fill", &"none"),
        ("stroke", &colour),
        ("stroke-width", &width),
        ("stroke-linejoin", &"round"),
        ("d", &path),
    ];
    if !dashes.is_empty() {
        attributes.push(("stroke-dasharray", &dashes));
    }
    svg.leaf("path", &attributes);
}

fn tick_line(svg: &mut Svg, [x, y]: [f64; 2], [u, v]: [f64; 2]) {
    svg.leaf("line", &[("x1", &px(x)), ("y1", &px(y)), ("x2", &px(u)), ("y2", &px(v)), ("stroke", &SOFT)]);
}

fn words(svg: &mut Svg, [x, y]: [f64; 2], anchor: &str, text: &str) {
    svg.text("text", &[("x", &px(x)), ("y", &px(y)), ("text-anchor", &anchor)], text);
}

/// The scale of the shades, weak at the bottom.
fn scale_bar(svg: &mut Svg, [left, top, bottom]: [f64; 3], axis: &ticks::Axis) {
    let step = (bottom - top) / STEPS as f64;
    for k in 0..STEPS {
        let fill = ramp::colour(k as f64 / (STEPS - 1) as f64);
        // Each reaches a little under the next, lest the ground show between them.
        let (y, height) = (bottom - step * (k + 1) as f64, if k == 0 { step } else { step + 0.6 });
        let place: [(&str, &dyn Display); 5] =
            [("x", &px(left)), ("y", &px(y)), ("width", &BAR), ("height", &px(height)), ("fill", &fill)];
        svg.leaf("rect", &place);
    }
    let (height, frame) = (px(bottom - top), "none");
    svg.leaf(
        "rect",
        &[
            ("x", &px(left)),
            ("y", &px(top)),
            ("width", &BAR),
            ("height", &height),
            ("fill", &frame),
            ("stroke", &SOFT),
        ],
    );
    for tick in &axis.major {
        let y = bottom - (bottom - top) * axis.position(*tick);
        tick_line(svg, [left + BAR, y], [left + BAR + 4.0, y]);
        words(svg, [left + BAR + 7.0, y + 0.36 * SIZE], "start", &axis.label(*tick));
    }
}

/// What a reader must know of the picture.
fn notes(map: &Map, units: UnitSystem) -> Vec<String> {
    let depth = if map.figure.continued == Continued::Turned { "all round" } else { "over the whole depth" };
    let between = shown::inline(&map.flux.between, units);
    let mut notes = vec![format!("Between two neighbouring flux lines passes {between}, {depth}.")];
    let has = |kind: fn(&Fill) -> bool| map.figure.parts.iter().any(|part| kind(&part.fill));
    let signs = [
        (has(|fill| matches!(fill, Fill::Iron(_))), "Thick outline: iron."),
        (has(|fill| matches!(fill, Fill::Permanent(_))), "Arrow: permanent magnet, towards its north pole."),
        (has(|fill| *fill == Fill::Winding), "Crossed from corner to corner: winding."),
        (
            map.inside.iter().any(Option::is_some),
            "No probe reads what is computed inside iron or a permanent magnet.",
        ),
    ];
    let said: Vec<&str> = signs.into_iter().filter(|(shown, _)| *shown).map(|(_, words)| words).collect();
    notes.push(said.join(" "));
    notes
}
