//! The magnet in section, to scale, as a workshop drawing (ISO 128 for lines and hatching, ISO 129-1 for dimensions, ISO 5455
//! for the scale; from memory). Lengths are drawn from the figure and lettered from the sheet: they must agree.

mod detail;
mod face;
mod flux;
pub(crate) mod geometry;
mod sizes;

use crate::shown::Scale;
use crate::svg::{Svg, px};
use coilwright_magnet::answers::figure::{Continued, Figure, Fill};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
pub(super) use face::svg as face_svg;
pub(super) use flux::svg as flux_svg;
use geometry::{Frame, Piece};
use std::fmt::{Display, Write};

/// Units of the drawing to a millimetre of paper.
const UNITS: f64 = 4.0;
/// Most that the section may take of the paper, mm.
const ROOM_MM: [f64; 2] = [142.0, 92.0];
/// Scales (ISO 5455, from memory).
const SCALES: [f64; 13] = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
/// Distance between hatches.
const HATCH: f64 = 9.0;
/// Wires nearer to each other than this are drawn at [`WIRES_APART`]: a sign, not a count.
const WIRES_LEAST: f64 = 2.4;
const WIRES_APART: f64 = 5.0;
/// Lettering of 3.5 mm, less the accents.
const SIZE: f64 = 12.5;

/// From metres to the drawing's units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    /// Units to a metre.
    pub(crate) scale: f64,
    /// Where the origin is.
    pub(crate) origin: [f64; 2],
}

impl View {
    /// Where a point is.
    pub(crate) fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [self.origin[0] + self.scale * x, self.origin[1] - self.scale * y]
    }
}

/// The drawing as an SVG element; none where there is nothing to draw.
pub(super) fn svg(figure: &Figure, units: UnitSystem) -> Option<String> {
    let mut pieces = geometry::pieces(figure);
    let cut = geometry::cut_wide_plates(&mut pieces);
    let frame = Frame::of(&pieces)?;
    let ratio = ratio(&frame);
    let scale = 1e3 * ratio * UNITS;
    let letters = Scale::of(Dimension::Length, frame.width(), units);
    let plan = sizes::plan(figure, &frame, scale, letters);
    let [left, top] = [plan.left(), plan.top()];
    let view = View { scale, origin: [left - scale * frame.x[0], top + scale * frame.y[1]] };
    let section = [left + scale * frame.width() + plan.right(), top + scale * frame.height() + plan.bottom()];
    let gap = plan.hidden_gap.map(|gap| detail::Detail::of(figure, gap, letters));
    let notes = notes(ratio, letters, figure);
    let height = section[1] + gap.as_ref().map_or(24.0 + 18.0 * notes.len() as f64, detail::Detail::height);
    let width = section[0].max(460.0);

    let mut svg = opened([width, height], "The magnet in section, to scale", view);
    patterns(&mut svg, figure, scale);
    section_of(&mut svg, &pieces, cut, view);
    bore(&mut svg, figure, &pieces, view);
    centre_line(&mut svg, figure, &frame, view);
    plan.draw(&mut svg, view, &frame);
    let beside = match &gap {
        Some(detail) => detail.draw(&mut svg, &pieces, view, [12.0, section[1]]),
        None => 12.0,
    };
    for (index, note) in notes.iter().enumerate() {
        let (class, text) = note;
        let y = px(section[1] + 20.0 + 18.0 * index as f64);
        svg.text("text", &[("x", &px(beside)), ("y", &y), ("class", class)], text);
    }
    svg.close("svg");
    Some(svg.finish())
}

/// An element of a size in the drawing's units, on paper as large as its scale says.
fn opened([width, height]: [f64; 2], label: &str, view: View) -> Svg {
    let mut svg = Svg::default();
    let paper = |units: f64| format!("{}mm", px(units / UNITS));
    svg.open(
        "svg",
        &[
            ("viewBox", &format!("0 0 {} {}", px(width), px(height))),
            ("width", &paper(width)),
            ("height", &paper(height)),
            ("role", &"img"),
            ("aria-label", &label),
            ("data-units-per-mm", &px(1e-3 * view.scale)),
            ("data-origin", &format!("{} {}", px(view.origin[0]), px(view.origin[1]))),
            ("font-size", &SIZE),
        ],
    );
    svg
}

/// Paper over magnet: the largest of the standard's that leaves the section its room.
fn ratio(frame: &Frame) -> f64 {
    let fits = |ratio: &&f64| {
        1e3 * frame.width() * **ratio <= ROOM_MM[0] && 1e3 * frame.height() * **ratio <= ROOM_MM[1]
    };
    SCALES.iter().rev().find(fits).copied().unwrap_or(SCALES[0])
}

/// A ratio as it is lettered.
fn ratio_text(ratio: f64) -> String {
    if ratio >= 1.0 { format!("{} : 1", px(ratio)) } else { format!("1 : {}", px(1.0 / ratio)) }
}

/// Class and text of what is lettered beside the drawing.
fn notes(ratio: f64, letters: Scale, figure: &Figure) -> Vec<(&'static str, String)> {
    let mut notes = vec![(
        "note",
        format!("Scale {} printed at full size; lengths in {}.", ratio_text(ratio), letters.symbol),
    )];
    if figure.sizes.iter().any(|size| size.assumed) {
        notes.push(("note assumed", "In this hand: assumed, with its 95 % range.".into()));
    }
    notes
}

fn patterns(svg: &mut Svg, figure: &Figure, scale: f64) {
    svg.open("defs", &[]);
    for (id, angle, apart) in [("hatch-a", 45, HATCH), ("hatch-b", 135, HATCH), ("hatch-c", 135, 0.6 * HATCH)]
    {
        let (apart, turned) = (px(apart), format!("rotate({angle})"));
        pattern(svg, id, &apart, &[("patternTransform", &turned)]);
        svg.leaf("line", &[("class", &"hatch"), ("x1", &0), ("y1", &0), ("x2", &0), ("y2", &apart)]);
        svg.close("pattern");
    }
    let apart = figure.wire.map_or(WIRES_APART, |wire| scale * wire);
    let apart = if apart < WIRES_LEAST { WIRES_APART } else { apart };
    let [middle, radius] = [px(0.5 * apart), px(0.36 * apart)];
    pattern(svg, "wires", &px(apart), &[]);
    svg.leaf("circle", &[("class", &"wire"), ("cx", &middle), ("cy", &middle), ("r", &radius)]);
    svg.close("pattern");
    svg.close("defs");
}

fn pattern(svg: &mut Svg, id: &str, apart: &str, more: &[(&str, &dyn Display)]) {
    let mut attributes: Vec<(&str, &dyn Display)> =
        vec![("id", &id), ("width", &apart), ("height", &apart), ("patternUnits", &"userSpaceOnUse")];
    attributes.extend(more.iter().copied());
    svg.open("pattern", &attributes);
}

/// The parts, later ones over earlier ones; what is of one piece is drawn without joints.
fn section_of(svg: &mut Svg, pieces: &[Piece], cut: Option<f64>, view: View) {
    for piece in pieces {
        fill(svg, piece, view);
        outlines_of(svg, piece, pieces, cut, view);
        if let Fill::Permanent(remanence) = piece.fill {
            magnetisation(svg, piece, remanence, view);
        }
    }
}

/// The outlines of all parts.
fn outlines(svg: &mut Svg, pieces: &[Piece], cut: Option<f64>, view: View) {
    for piece in pieces {
        outlines_of(svg, piece, pieces, cut, view);
    }
}

fn outlines_of(svg: &mut Svg, piece: &Piece, pieces: &[Piece], cut: Option<f64>, view: View) {
    let mut path = String::new();
    for edge in geometry::visible_edges(piece, pieces) {
        // A plate that goes on is broken off, not ended.
        let broken = cut.is_some_and(|cut| edge.iter().all(|end| (end.at[0].abs() - cut).abs() < 1e-12));
        if broken {
            break_line(svg, [view.at(edge[0].at), view.at(edge[1].at)]);
        } else {
            path.push_str(&geometry::path(&edge, view, false));
        }
    }
    let class = if piece.fill == Fill::Other { "thin" } else { "edge" };
    svg.leaf("path", &[("class", &class), ("d", &path)]);
}

/// Paper, and what the material is marked with.
fn fill(svg: &mut Svg, piece: &Piece, view: View) {
    let path = geometry::path(&piece.outline, view, true);
    svg.leaf("path", &[("class", &"paper"), ("d", &path)]);
    let mark = match piece.fill {
        Fill::Iron(_) => piece.hatch,
        Fill::Winding => "wires",
        Fill::Permanent(_) | Fill::Other => return,
    };
    let (fill, kind) = (format!("url(#{mark})"), if mark == "wires" { "winding" } else { "iron" });
    svg.leaf("path", &[("class", &kind), ("fill", &fill), ("d", &path)]);
}

/// A thin line with a zigzag: here the part goes on (ISO 128).
fn break_line(svg: &mut Svg, [[x, from], [_, to]]: [[f64; 2]; 2]) {
    let (low, high) = (from.min(to), from.max(to));
    let middle = 0.5 * (low + high);
    let path =
        format!("M{x} {}V{}l4 2l-8 4l4 2V{}", px(low - 5.0), px(middle - 4.0), px(high + 5.0), x = px(x),);
    svg.leaf("path", &[("class", &"thin"), ("d", &path)]);
}

/// An arrow along the magnetisation, its head towards the north pole.
fn magnetisation(svg: &mut Svg, piece: &Piece, [across, along]: [f64; 2], view: View) {
    let Some(frame) = Frame::of(std::slice::from_ref(piece)) else { return };
    let size = across.hypot(along);
    if size == 0.0 {
        return;
    }
    let direction = [across / size, -along / size];
    let middle = view.at(frame.middle());
    let half = 0.3 * view.scale * frame.width().min(frame.height());
    let end = |sign: f64| [middle[0] + sign * half * direction[0], middle[1] + sign * half * direction[1]];
    let (tail, head) = (end(-1.0), end(1.0));
    let path = format!("M{} {}L{} {}", px(tail[0]), px(tail[1]), px(head[0]), px(head[1]));
    svg.leaf("path", &[("class", &"magnetisation"), ("d", &path)]);
    svg.leaf("path", &[("class", &"head"), ("d", &arrow(head, direction, 14.0))]);
    let beside = [head[0] + 12.0 * direction[1].abs() + 4.0, head[1] + 12.0 * direction[0].abs() + 5.0];
    svg.text("text", &[("x", &px(beside[0])), ("y", &px(beside[1]))], "N");
}

/// A filled arrow head with its tip at a point.
fn arrow([x, y]: [f64; 2], [dx, dy]: [f64; 2], length: f64) -> String {
    let base = [x - length * dx, y - length * dy];
    let half = 0.18 * length;
    let mut path = format!("M{} {}", px(x), px(y));
    for sign in [-1.0, 1.0] {
        let _ = write!(path, "L{} {}", px(base[0] - sign * half * dy), px(base[1] + sign * half * dx));
    }
    path + "Z"
}

/// The ends of a bore, which show behind the section.
fn bore(svg: &mut Svg, figure: &Figure, pieces: &[Piece], view: View) {
    for [from, to] in geometry::bore(figure, pieces) {
        let ([x, y], [end, _]) = (view.at(from), view.at(to));
        let path = format!("M{} {}H{}", px(x), px(y), px(end));
        svg.leaf("path", &[("class", &"edge"), ("d", &path)]);
    }
}

fn centre_line(svg: &mut Svg, figure: &Figure, frame: &Frame, view: View) {
    if figure.continued == Continued::Whole {
        return;
    }
    let [x, bottom] = view.at([0.0, frame.y[0]]);
    let path = format!("M{} {}V{}", px(x), px(bottom + 12.0), px(view.at([0.0, frame.y[1]])[1] - 12.0));
    svg.leaf("path", &[("class", &"centre"), ("d", &path)]);
}
