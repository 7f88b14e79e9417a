//! The field over an area: its values on a grid, areas of like magnitude to be shaded, and flux lines.

use crate::answers::field::read::{Face, USUAL_ACCURACY, solve, stage};
use crate::answers::figure::{Figure, Flux, flux_within, of_stage};
use crate::answers::question::FieldQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::envelope::span;
use crate::magnetic::contour::Grid;
use crate::sheet::Sheet;
use coilwright_fem::drawing::{Point, Symmetry};

/// Nodes along the longer side of an area, less one.
const CELLS: f64 = 240.0;
/// Shades, equally far apart on a logarithmic scale.
const SHADES: usize = 32;
/// Weakest over strongest field that is still told apart.
const WEAKEST: f64 = 1e-3;
/// How much of the air round a magnet is shown, over its reach.
const AROUND: f64 = 0.6;
/// Least over greatest side of an area.
const NARROWEST: f64 = 0.02;

/// The field over an area of a magnet's section. Heights count from the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Map {
    /// The magnet, with what was in front of it; its heights count from the back.
    pub figure: Figure,
    /// It has a face, from which heights count; without one they count from the drawing's zero.
    pub faced: bool,
    /// Places across, from the middle, m.
    pub across_m: Vec<f64>,
    /// Heights above the face, m.
    pub height_m: Vec<f64>,
    /// By height, then across: field across, field along the axis, its magnitude, T.
    pub field_t: Vec<[f64; 3]>,
    /// Likewise the iron or permanent magnet that the place lies in, where no probe reads.
    pub inside: Vec<Option<String>>,
    /// Weakest and strongest magnitude that are told apart, T.
    pub ends_t: [f64; 2],
    /// From weak to strong; what is weaker than the first is everywhere else.
    pub shades: Vec<Shade>,
    /// Flux lines, in the figure's coordinates; none where there is no field.
    pub flux: Option<Flux>,
}

/// Where the field is stronger than something.
#[derive(Clone, Debug, PartialEq)]
pub struct Shade {
    /// The magnitude that is exceeded, T.
    pub above_t: f64,
    /// Closed outlines in the figure's coordinates, m; what is enclosed an odd number of times is within.
    pub outlines: Vec<Vec<Point>>,
}

/// The field of a sheet's magnet as a question wants it, over the magnet and its surroundings or between two corners
/// (distance from the middle, height above the face; m). Solved as for the question's own answer: the same numbers.
///
/// # Errors
/// Faults of the sheet or of the area; a field that cannot be solved, or is nought.
pub fn map(sheet: &Sheet, question: &FieldQuestion, area: Option<[(f64, f64); 2]>) -> Result<Map, Failure> {
    question.check()?;
    let magnet = Magnet::complete(sheet)?;
    let stage = stage(sheet, &magnet, question)?;
    let figure = of_stage(&magnet, &stage);
    let [x, y] = area.map_or_else(|| surroundings(&magnet, &figure), |area| within(&magnet, area));
    let [width, height] = [x[1] - x[0], y[1] - y[0]];
    if width.min(height) < NARROWEST * width.max(height) {
        let hint = format!(
            "give two corners that are apart both across and in height, such as 0mm,0mm..30mm,20mm; one side at least \
             {:.0} % of the other; along a line `--line` tells the field",
            100.0 * NARROWEST
        );
        let message = format!("the area is {:.4} mm wide and {:.4} mm high", 1e3 * width, 1e3 * height);
        return Err(crate::diagnostic::Diagnostic::fault(message, hint).into());
    }
    let face = Face::of(sheet, question);
    let accuracy = sheet.value("accuracy.field").unwrap_or(USUAL_ACCURACY);
    let solved = solve(&magnet, &stage, question, &face, accuracy)?;
    let probe = solved.ladder.probe();
    let mut fields = Vec::new();
    let grid = Grid::of(x, y, CELLS, |p| {
        fields.push(probe.at(p));
        fields[fields.len() - 1].size_t()
    });
    let [columns, rows] = grid.count;
    let strongest = grid.values.iter().copied().fold(0.0, f64::max);
    let weakest = grid.values.iter().copied().fold(f64::INFINITY, f64::min).max(WEAKEST * strongest);
    if strongest <= 0.0 {
        let hint = "give the magnet a current or a permanent magnet, and an area that its field reaches";
        return Err(sheet.fault("form", "there is no field to map", hint).into());
    }
    let closed = grid.closed();
    let shade = |k: usize| {
        let above_t = weakest * (strongest / weakest).powf(k as f64 / SHADES as f64);
        Shade { above_t, outlines: closed.contour(above_t) }
    };
    Ok(Map {
        across_m: (0..columns).map(|i| grid.node(i, 0)[0]).collect(),
        height_m: (0..rows).map(|j| grid.node(0, j)[1] - magnet.face_m).collect(),
        field_t: fields.iter().map(|f| [f.b_t[0], f.b_t[1], f.size_t()]).collect(),
        inside: fields
            .iter()
            .map(|f| solved.scene.solid[f.region].then(|| solved.scene.names[f.region].clone()))
            .collect(),
        ends_t: [weakest, strongest],
        shades: (1..SHADES).map(shade).collect(),
        flux: flux_within(&magnet, &solved, x, y),
        faced: !magnet.free,
        figure,
    })
}

/// The magnet with what is in front of it, and as much air all round as shows where its field goes; in the drawing, m.
fn surroundings(magnet: &Magnet, figure: &Figure) -> [[f64; 2]; 2] {
    let [[left, right], [bottom, top]] =
        [0, 1].map(|axis| span(magnet.parts.iter().map(|part| &part.outline), axis));
    let plates = figure.parts.iter().filter(|part| part.workpiece).flat_map(|part| &part.outline);
    let top = plates.map(|corner| corner.at[1]).fold(top, f64::max);
    let reach = if magnet.symmetry == Symmetry::Planar { 0.5 * (right - left) } else { right };
    let around = AROUND * reach.max(0.5 * (top - bottom));
    let left = if magnet.symmetry == Symmetry::Planar { left } else { -right };
    [[left - around, right + around], [bottom - around, top + around]]
}

/// Between two corners, in the drawing, m.
fn within(magnet: &Magnet, [(x, y), (u, v)]: [(f64, f64); 2]) -> [[f64; 2]; 2] {
    [[x.min(u), x.max(u)], [y.min(v) + magnet.face_m, y.max(v) + magnet.face_m]]
}
