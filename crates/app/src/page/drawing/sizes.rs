//! Dimensions (ISO 129-1): thin lines beside the section, the shorter nearer to it, each lettered with its tolerance.

use super::geometry::Frame;
use super::{SIZE, View, arrow};
use crate::lettering;
use crate::shown::Scale;
use crate::svg::{Svg, px};
use coilwright_magnet::answers::figure::{Figure, Shown};
use coilwright_magnet::quantity::format_number;

/// From the section to the first dimension, and from one to the next.
const FIRST: f64 = 26.0;
const NEXT: f64 = 24.0;
/// How far a line of an end runs beyond the dimension's.
const BEYOND: f64 = 5.0;
/// A dimension shorter than this has its arrows outside.
const SHORT: f64 = 26.0;
/// A gap shorter than this is shown in a detail.
const HIDDEN: f64 = 12.0;
/// Length of an arrow head.
const HEAD: f64 = 9.0;

/// Where a dimension stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Above,
    Below,
    Left,
    Right,
}

/// A dimension in its place.
struct Placed<'a> {
    size: &'a Shown,
    side: Side,
    /// The how manieth on its side, the nearest first.
    level: usize,
    text: String,
}

/// All dimensions in their places.
pub(super) struct Plan<'a> {
    placed: Vec<Placed<'a>>,
    /// The gap, where it is too thin to be seen.
    pub(super) hidden_gap: Option<&'a Shown>,
    /// How far lettering stands out to the right of the section.
    beside: f64,
}

/// Places the dimensions of a figure round its frame.
pub(super) fn plan<'a>(figure: &'a Figure, frame: &Frame, scale: f64, letters: Scale) -> Plan<'a> {
    let gap = |size: &Shown| size.path == "workpiece.gap" && scale * size.length.value < HIDDEN;
    // The width of a plate that is broken off cannot be shown; its thickness can.
    let inside = |size: &Shown| upright(size) || size.ends[1][0] <= frame.x[1] * (1.0 + 1e-9);
    let mut sizes: Vec<&Shown> = figure.sizes.iter().filter(|size| !gap(size) && inside(size)).collect();
    sizes.sort_by(|a, b| a.length.value.total_cmp(&b.length.value));
    let mut placed: Vec<Placed<'_>> = Vec::new();
    for size in sizes {
        let [x, y] = size.ends[0];
        let side = match (upright(size), y > 0.5 * figure.face, x > 0.0) {
            (false, true, _) => Side::Above,
            (false, false, _) => Side::Below,
            (true, _, true) => Side::Right,
            (true, _, false) => Side::Left,
        };
        let level = placed.iter().filter(|other| other.side == side).count();
        placed.push(Placed { size, side, level, text: lettered(size, letters) });
    }
    // Lettering outside its arrows stands to the right of them.
    let beside = placed.iter().filter(|p| !upright(p.size)).map(|p| {
        let (length, text) = (scale * p.size.length.value, lettering::width(&p.text, SIZE, false));
        let to_edge = scale * (frame.x[1] - p.size.ends[1][0]);
        if outside(length, text) { 2.0 * HEAD + text - to_edge } else { 0.0 }
    });
    let beside = beside.fold(0.0, f64::max);
    Plan { placed, hidden_gap: figure.sizes.iter().find(|size| gap(size)), beside }
}

/// Whether it is a height.
fn upright(size: &Shown) -> bool {
    size.ends[0][0] == size.ends[1][0]
}

/// Whether lettering has no room between its arrows.
fn outside(length: f64, text: f64) -> bool {
    length < SHORT || text > length - 6.0
}

/// The length with its tolerance; an assumed one with half its 95 % range.
pub(super) fn lettered(size: &Shown, letters: Scale) -> String {
    let sign = if size.diameter { "⌀ " } else { "" };
    let standard = size.length.band.as_ref().map(|band| band.standard);
    let value = letters.digits(size.length.value, standard);
    let half = size.length.band.as_ref().map_or(size.half_width, |band| 0.5 * (band.high - band.low));
    match (half > 0.0, standard) {
        (false, _) => format!("{sign}{value}"),
        (true, None) => format!("{sign}{value} ± {}", tolerance(half, letters)),
        (true, Some(_)) => format!("{sign}{value} ± {}", letters.digits_of_difference(half)),
    }
}

/// A tolerance as it was given, or to two digits where another unit makes it unwieldy.
fn tolerance(half: f64, letters: Scale) -> String {
    let given = format_number(letters.difference(half), None);
    let digits = given.trim_start_matches(['0', '.']).chars().filter(char::is_ascii_digit).count();
    if digits <= 3 { given } else { letters.digits_of_difference(half) }
}

impl Plan<'_> {
    fn room(&self, side: Side) -> f64 {
        match self.placed.iter().filter(|placed| placed.side == side).count() {
            0 => 16.0,
            count => FIRST + NEXT * (count - 1) as f64 + SIZE + 8.0,
        }
    }

    pub(super) fn left(&self) -> f64 {
        self.room(Side::Left)
    }

    pub(super) fn right(&self) -> f64 {
        self.room(Side::Right).max(self.beside)
    }

    pub(super) fn top(&self) -> f64 {
        self.room(Side::Above)
    }

    pub(super) fn bottom(&self) -> f64 {
        self.room(Side::Below)
    }

    pub(super) fn draw(&self, svg: &mut Svg, view: View, frame: &Frame) {
        let [left, bottom] = view.at([frame.x[0], frame.y[0]]);
        let [right, top] = view.at([frame.x[1], frame.y[1]]);
        for placed in &self.placed {
            let off = FIRST + NEXT * placed.level as f64;
            let ends = placed.size.ends.map(|[x, y]| view.at([x.clamp(frame.x[0], frame.x[1]), y]));
            let line = match placed.side {
                Side::Above => ends.map(|[x, _]| [x, top - off]),
                Side::Below => ends.map(|[x, _]| [x, bottom + off]),
                Side::Left => ends.map(|[_, y]| [left - off, y]),
                Side::Right => ends.map(|[_, y]| [right + off, y]),
            };
            // Lettering that has no room between its arrows stands on the side of the section's middle.
            let [low, high] = placed.size.ends.map(|end| end[1]);
            let beneath = 0.5 * (low + high) > frame.middle()[1];
            dimension(svg, (placed.size, &placed.text), ends, line, beneath);
        }
    }
}

/// One dimension: its line with arrows, the lines from the ends that it measures, its lettering, which stands beneath or
/// above the arrows of a height if it has no room between them.
pub(super) fn dimension(
    svg: &mut Svg,
    (size, text): (&Shown, &str),
    ends: [[f64; 2]; 2],
    line: [[f64; 2]; 2],
    beneath: bool,
) {
    let class = if size.assumed { "size assumed" } else { "size" };
    svg.open("g", &[("class", &class), ("data-path", &size.path)]);
    for (end, at) in ends.iter().zip(&line) {
        let d = [at[0] - end[0], at[1] - end[1]];
        let far = d[0].hypot(d[1]).max(1e-9);
        let to = [at[0] + BEYOND * d[0] / far, at[1] + BEYOND * d[1] / far];
        straight(svg, "ext", [*end, to]);
    }
    let [a, b] = line;
    let length = (b[0] - a[0]).hypot(b[1] - a[1]);
    let d = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    let short = length < SHORT;
    straight(svg, "dim", [a, b]);
    // Arrows point outwards from within, or inwards from without.
    let sign = if short { -1.0 } else { 1.0 };
    svg.leaf("path", &[("class", &"head"), ("d", &arrow(a, [-sign * d[0], -sign * d[1]], HEAD))]);
    svg.leaf("path", &[("class", &"head"), ("d", &arrow(b, [sign * d[0], sign * d[1]], HEAD))]);
    let width = lettering::width(text, SIZE, false);
    // Lettering is read from below and from the right.
    let upright = d[1].abs() > 0.5;
    let out = outside(length, width);
    let along = if out { 0.5 * length + HEAD * 1.6 + 0.5 * width } else { 0.0 };
    let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
    if short {
        let tail =
            |from: [f64; 2], sign: f64, by: f64| [from[0] + sign * by * d[0], from[1] + sign * by * d[1]];
        straight(svg, "tail", [a, tail(a, -1.0, 2.0 * HEAD)]);
        straight(svg, "tail", [b, tail(b, 1.0, 2.0 * HEAD)]);
    }
    let (x, y) = if upright {
        (middle[0] - 4.0, middle[1] + if beneath { along } else { -along })
    } else {
        (middle[0] + along, middle[1] - 4.0)
    };
    // Beside its line it stands level with it.
    let drop = if out { 4.0 + 0.36 * SIZE } else { 0.0 };
    let (x, y) = if upright { (x + drop, y) } else { (x, y + drop) };
    let turned = format!("rotate(-90 {} {})", px(x), px(y));
    let (x, y) = (px(x), px(y));
    let mut attributes: Vec<(&str, &dyn std::fmt::Display)> =
        vec![("x", &x), ("y", &y), ("text-anchor", &"middle")];
    if upright {
        attributes.push(("transform", &turned));
    }
    svg.text("text", &attributes, text);
    svg.close("g");
}

fn straight(svg: &mut Svg, class: &str, [a, b]: [[f64; 2]; 2]) {
    let at: [(&str, &dyn std::fmt::Display); 5] =
        [("class", &class), ("x1", &px(a[0])), ("y1", &px(a[1])), ("x2", &px(b[0])), ("y2", &px(b[1]))];
    svg.leaf("line", &at);
}
