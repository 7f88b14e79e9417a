//! A planned figure in pixels.

use super::Setting;
use super::plan::{Curve, Panel, Plan};
use super::ticks::Axis;
use crate::lettering::{self, FAMILIES};
use crate::svg::{Svg, px};
use std::fmt::Write;

/// Colours that stay apart for all common kinds of colour blindness (Okabe and Ito, "Color Universal Design", 2008),
/// the better visible on white first.
const PALETTE: [&str; 7] = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00", "#000000"];
/// Dashes, so that curves stay apart in grey too.
const DASHES: [&str; 4] = ["", "9 4", "2.5 3.5", "10 3 2.5 3"];

const INK: &str = "#23201b";
const SOFT: &str = "#665f55";
const GRID: &str = "#e3ddd2";
const FAINT: &str = "#f4f0e8";

const WIDTH: f64 = 760.0;
const PANEL: f64 = 330.0;
const PANEL_OF_SEVERAL: f64 = 220.0;
const MARGIN: f64 = 20.0;
const SIZE: f64 = 13.0;
const TITLE: f64 = 17.0;
const LINE: f64 = 19.0;

/// Where a panel's curves are.
struct Frame {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Frame {
    fn x(&self, axis: &Axis, value: f64) -> f64 {
        self.left + (self.right - self.left) * axis.position(value)
    }

    fn y(&self, axis: &Axis, value: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * axis.position(value)
    }
}

/// The figure as an SVG document.
pub(super) fn draw(plan: &Plan, prefix: &str, setting: Setting) -> String {
    let subtitled = !plan.subtitle.is_empty() && setting == Setting::File;
    let ticks = plan.panels.iter().flat_map(|p| p.y.major.iter().map(|t| p.y.label(*t)));
    let widest = ticks.map(|label| lettering::width(&label, SIZE, false)).fold(0.0, f64::max);
    let left = MARGIN + widest + 10.0;
    let right = WIDTH - MARGIN - 12.0;
    let height_of_panel = if plan.panels.len() == 1 { PANEL } else { PANEL_OF_SEVERAL };

    let title = lettering::lines(&plan.title, TITLE, true, WIDTH - 2.0 * MARGIN);
    let mut y = MARGIN + TITLE * title.len() as f64 + 6.0 * title.len().saturating_sub(1) as f64;
    let subtitle = y + 18.0;
    if subtitled {
        y = subtitle;
    }
    y += 14.0;
    // Each panel: heading, legend, frame, tick labels.
    let mut frames = Vec::new();
    let mut legends = Vec::new();
    for panel in &plan.panels {
        let legend = legend(panel, left, right, y + SIZE + LINE + 2.0);
        let rows = legend.last().map_or(0.0, |entry| (entry.y - legend[0].y) / LINE + 1.0);
        let top = y + SIZE + 16.0 + LINE * rows;
        frames.push(Frame { left, right, top, bottom: top + height_of_panel });
        legends.push((y + SIZE, legend));
        y = top + height_of_panel + SIZE + 22.0;
    }
    let height = (y + SIZE + 10.0).ceil();

    let mut svg = Svg::default();
    let view = format!("0 0 {WIDTH} {height}");
    let labelled = format!("{prefix}-title {prefix}-desc");
    let ends = ends(plan, &frames[0]).map_or(String::new(), |[from, to]| format!("{} {}", px(from), px(to)));
    let mut attributes: Vec<(&str, &dyn std::fmt::Display)> = Vec::new();
    if setting == Setting::File {
        // Inside HTML the element needs no namespace.
        attributes.push(("xmlns", &"http://www.w3.org/2000/svg"));
    } else {
        // What stands above or below a figure can keep to its abscissa.
        attributes.push(("data-ends", &ends));
    }
    attributes.extend([
        ("viewBox", &view as &dyn std::fmt::Display),
        ("width", &WIDTH),
        ("height", &height),
        ("role", &"img"),
        ("aria-labelledby", &labelled),
        ("font-family", &FAMILIES),
        ("font-size", &SIZE),
        ("fill", &INK),
    ]);
    svg.open("svg", &attributes);
    svg.text("title", &[("id", &format!("{prefix}-title"))], &full_title(plan));
    svg.text("desc", &[("id", &format!("{prefix}-desc"))], &description(plan));
    if setting == Setting::File {
        svg.leaf("rect", &[("width", &WIDTH), ("height", &height), ("fill", &"#ffffff")]);
    }
    for (index, line) in title.iter().enumerate() {
        let y = MARGIN + TITLE * 0.85 + (TITLE + 6.0) * index as f64;
        let at: [(&str, &dyn std::fmt::Display); 4] =
            [("x", &px(MARGIN)), ("y", &px(y)), ("font-size", &TITLE), ("font-weight", &"bold")];
        svg.text("text", &at, line);
    }
    if subtitled {
        svg.text("text", &[("x", &px(MARGIN)), ("y", &px(subtitle)), ("fill", &SOFT)], &plan.subtitle);
    }
    let last = plan.panels.len() - 1;
    for (index, (panel, frame)) in plan.panels.iter().zip(&frames).enumerate() {
        grid(&mut svg, plan, panel, frame);
        let heading: [(&str, &dyn std::fmt::Display); 3] =
            [("x", &px(MARGIN)), ("y", &px(legends[index].0)), ("font-weight", &"bold")];
        svg.text("text", &heading, &panel.y_label);
        for entry in &legends[index].1 {
            entry.draw(&mut svg);
        }
        for curve in &panel.curves {
            band(&mut svg, plan, panel, curve, frame);
        }
        for curve in &panel.curves {
            line(&mut svg, plan, panel, curve, frame);
        }
        if index == last {
            let y = frame.bottom + SIZE * 2.0 + 18.0;
            let at: [(&str, &dyn std::fmt::Display); 4] = [
                ("x", &px(0.5 * (left + right))),
                ("y", &px(y)),
                ("text-anchor", &"middle"),
                ("font-weight", &"bold"),
            ];
            svg.text("text", &at, &plan.x_label);
        }
    }
    svg.close("svg");
    svg.finish()
}

/// Where the first panel's curves begin and end across.
fn ends(plan: &Plan, frame: &Frame) -> Option<[f64; 2]> {
    let points = plan.panels[0].curves.iter().flat_map(|curve| curve.lines.iter().flatten());
    points.map(|point| frame.x(&plan.x, point.0)).fold(None, |ends, x| match ends {
        None => Some([x, x]),
        Some([from, to]) => Some([x.min(from), x.max(to)]),
    })
}

fn full_title(plan: &Plan) -> String {
    if plan.subtitle.is_empty() { plan.title.clone() } else { format!("{}: {}", plan.title, plan.subtitle) }
}

/// For who cannot see the picture.
fn description(plan: &Plan) -> String {
    let mut out = format!("Line chart over {}.", plan.x_label);
    for panel in &plan.panels {
        let names: Vec<&str> = panel.curves.iter().map(|c| c.name.as_str()).collect();
        let _ = write!(out, " {}: {}.", panel.y_label, names.join("; "));
    }
    out
}

fn grid(svg: &mut Svg, plan: &Plan, panel: &Panel, frame: &Frame) {
    let rule = |svg: &mut Svg, from: (f64, f64), to: (f64, f64), colour: &str| {
        let at: [(&str, &dyn std::fmt::Display); 5] = [
            ("x1", &px(from.0)),
            ("y1", &px(from.1)),
            ("x2", &px(to.0)),
            ("y2", &px(to.1)),
            ("stroke", &colour),
        ];
        svg.leaf("line", &at);
    };
    for (ticks, colour) in [(&plan.x.minor, FAINT), (&plan.x.major, GRID)] {
        for tick in ticks {
            let x = frame.x(&plan.x, *tick);
            rule(svg, (x, frame.top), (x, frame.bottom), colour);
        }
    }
    for tick in &panel.y.major {
        let y = frame.y(&panel.y, *tick);
        rule(svg, (frame.left, y), (frame.right, y), GRID);
        let at: [(&str, &dyn std::fmt::Display); 4] = [
            ("x", &px(frame.left - 8.0)),
            ("y", &px(y + SIZE * 0.36)),
            ("text-anchor", &"end"),
            ("fill", &SOFT),
        ];
        svg.text("text", &at, &panel.y.label(*tick));
    }
    // The abscissa's line, or the line of zero where the panel has both signs.
    let floor = if panel.y.low < 0.0 && panel.y.high > 0.0 { 0.0 } else { panel.y.low };
    let y = frame.y(&panel.y, floor);
    rule(svg, (frame.left, y), (frame.right, y), SOFT);
    let mut free_from = f64::NEG_INFINITY;
    for tick in &plan.x.major {
        let label = plan.x.label(*tick);
        let x = frame.x(&plan.x, *tick);
        let half = 0.5 * lettering::width(&label, SIZE, false);
        // A label that would run into its neighbour is left out; its line stays.
        if x - half < free_from {
            continue;
        }
        free_from = x + half + 8.0;
        let at: [(&str, &dyn std::fmt::Display); 4] = [
            ("x", &px(x)),
            ("y", &px(frame.bottom + SIZE + 7.0)),
            ("text-anchor", &"middle"),
            ("fill", &SOFT),
        ];
        svg.text("text", &at, &label);
    }
}

/// Palette index, dashes and whether it is of readings; a band's patch has none.
type Look = (usize, usize, bool);

/// A key with its curve's stroke.
struct Entry {
    x: f64,
    y: f64,
    name: String,
    look: Option<Look>,
}

const SAMPLE: f64 = 28.0;

/// Keys in rows. A lone curve needs none, for its name is the panel's heading; its band does.
fn legend(panel: &Panel, left: f64, right: f64, top: f64) -> Vec<Entry> {
    let mut names: Vec<(String, Option<Look>)> = Vec::new();
    if panel.curves.len() > 1 {
        names.extend(panel.curves.iter().map(|c| (c.name.clone(), Some((c.colour, c.dash, c.read)))));
    }
    if panel.banded {
        names.push(("95 % interval".into(), None));
    }
    let (mut x, mut y) = (left, top);
    let mut entries = Vec::new();
    for (name, look) in names {
        let width = SAMPLE + 7.0 + lettering::width(&name, SIZE, false);
        if x > left && x + width > right {
            (x, y) = (left, y + LINE);
        }
        entries.push(Entry { x, y, name, look });
        x += width + 22.0;
    }
    entries
}

impl Entry {
    fn draw(&self, svg: &mut Svg) {
        let middle = self.y - SIZE * 0.34;
        match self.look {
            Some((colour, _, true)) => reading(svg, (self.x + 0.5 * SAMPLE, middle), colour),
            Some((colour, dash, false)) => {
                let path = format!("M{} {}h{SAMPLE}", px(self.x), px(middle));
                stroke(svg, &path, (colour, dash));
            }
            None => svg.leaf(
                "rect",
                &[
                    ("x", &px(self.x)),
                    ("y", &px(middle - 6.0)),
                    ("width", &SAMPLE),
                    ("height", &12),
                    ("fill", &PALETTE[0]),
                    ("fill-opacity", &"0.18"),
                ],
            ),
        }
        let at: [(&str, &dyn std::fmt::Display); 2] = [("x", &px(self.x + SAMPLE + 7.0)), ("y", &px(self.y))];
        svg.text("text", &at, &self.name);
    }
}

fn colour_of(index: usize) -> &'static str {
    PALETTE[index % PALETTE.len()]
}

fn stroke(svg: &mut Svg, path: &str, (colour, dash): (usize, usize)) {
    let shade = colour_of(colour);
    let dash = DASHES[dash % DASHES.len()];
    let mut attributes: Vec<(&str, &dyn std::fmt::Display)> = vec![
        ("d", &path),
        ("fill", &"none"),
        ("stroke", &shade),
        ("stroke-width", &"2"),
        ("stroke-linejoin", &"round"),
    ];
    if !dash.is_empty() {
        attributes.push(("stroke-dasharray", &dash));
    }
    svg.leaf("path", &attributes);
}

/// A reading: a ring, so that the curve through it shows.
fn reading(svg: &mut Svg, (x, y): (f64, f64), colour: usize) {
    let shade = colour_of(colour);
    let at: [(&str, &dyn std::fmt::Display); 6] = [
        ("cx", &px(x)),
        ("cy", &px(y)),
        ("r", &"3.2"),
        ("fill", &"none"),
        ("stroke", &shade),
        ("stroke-width", &"1.5"),
    ];
    svg.leaf("circle", &at);
}

fn line(svg: &mut Svg, plan: &Plan, panel: &Panel, curve: &Curve, frame: &Frame) {
    let mut path = String::new();
    let at = |point: &(f64, f64)| (frame.x(&plan.x, point.0), frame.y(&panel.y, point.1));
    if curve.read {
        for point in curve.lines.iter().flatten() {
            reading(svg, at(point), curve.colour);
        }
        return;
    }
    for stretch in &curve.lines {
        for (index, point) in stretch.iter().enumerate() {
            let (x, y) = at(point);
            let _ = write!(path, "{}{} {}", if index == 0 { 'M' } else { 'L' }, px(x), px(y));
        }
    }
    stroke(svg, &path, (curve.colour, curve.dash));
    // Few points are shown as such: the line between them is only a guide.
    let count: usize = curve.lines.iter().map(Vec::len).sum();
    let beside_readings = panel.curves.iter().any(|c| c.read);
    if plan.dotted
        || (count <= 12 && !beside_readings)
        || curve.lines.iter().any(|stretch| stretch.len() == 1)
    {
        let shade = colour_of(curve.colour);
        for point in curve.lines.iter().flatten() {
            let (x, y) = at(point);
            svg.leaf("circle", &[("cx", &px(x)), ("cy", &px(y)), ("r", &"3"), ("fill", &shade)]);
        }
    }
}

fn band(svg: &mut Svg, plan: &Plan, panel: &Panel, curve: &Curve, frame: &Frame) {
    if curve.read {
        for &(x, low, high) in curve.bands.iter().flatten() {
            let x = frame.x(&plan.x, x);
            let path = format!("M{} {}V{}", px(x), px(frame.y(&panel.y, low)), px(frame.y(&panel.y, high)));
            stroke(svg, &path, (curve.colour, 0));
        }
        return;
    }
    for stretch in &curve.bands {
        let mut path = String::new();
        let low = stretch.iter().map(|(x, low, _)| (*x, *low));
        let high = stretch.iter().rev().map(|(x, _, high)| (*x, *high));
        for (index, (x, y)) in low.chain(high).enumerate() {
            let (x, y) = (frame.x(&plan.x, x), frame.y(&panel.y, y));
            let _ = write!(path, "{}{} {}", if index == 0 { 'M' } else { 'L' }, px(x), px(y));
        }
        path.push('Z');
        let shade = colour_of(curve.colour);
        svg.leaf("path", &[("d", &path), ("fill", &shade), ("fill-opacity", &"0.18")]);
    }
}
