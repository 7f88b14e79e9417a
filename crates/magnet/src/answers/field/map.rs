//! The field over an area: its values on a grid, areas of like magnitude to be shaded, and flux lines.

use crate::answers::field::read::{Face, USUAL_ACCURACY, solve, stage};
use crate::answers::figure::{Figure, Flux, of_stage, pictured, surroundings, surveyed};
use crate::answers::question::FieldQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;

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
    /// Flux lines over areas of like magnitude, in the figure's coordinates.
    pub flux: Flux,
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
    let [x, y] = area.map_or_else(|| surroundings(&magnet, &figure, AROUND), |area| within(&magnet, area));
    let [width, height] = [x[1] - x[0], y[1] - y[0]];
    if width.min(height) <= NARROWEST * width.max(height) {
        let hint = format!(
            "give two corners that are apart both across and in height, such as 0mm,0mm..30mm,20mm; one side at least \
             {:.0} % of the other; along a line `--line` tells the field",
            100.0 * NARROWEST
        );
        let length = |metres| Dimension::Length.text(metres, None, UnitSystem::Si);
        let message = format!("the area is {} wide and {} high", length(width), length(height));
        return Err(crate::diagnostic::Diagnostic::fault(message, hint).into());
    }
    let face = Face::of(sheet, question);
    let accuracy = sheet.value("accuracy.field").unwrap_or(USUAL_ACCURACY);
    let solved = solve(&magnet, &stage, question, &face, accuracy)?;
    let (grid, fields) = surveyed(&solved, [x, y]);
    let [columns, rows] = grid.count;
    let Some(flux) = pictured(&magnet, [x, y], &grid, &fields) else {
        let hint = "give the magnet a current or a permanent magnet, and an area that its field reaches";
        return Err(sheet.fault("form", "there is no field to map", hint).into());
    };
    Ok(Map {
        across_m: (0..columns).map(|i| grid.node(i, 0)[0]).collect(),
        height_m: (0..rows).map(|j| grid.node(0, j)[1] - magnet.face_m).collect(),
        field_t: fields.iter().map(|f| [f.b_t[0], f.b_t[1], f.size_t()]).collect(),
        inside: fields
            .iter()
            .map(|f| solved.scene.solid[f.region].then(|| solved.scene.names[f.region].clone()))
            .collect(),
        flux,
        faced: !magnet.free,
        figure,
    })
}

/// Between two corners, in the drawing, m.
fn within(magnet: &Magnet, [(x, y), (u, v)]: [(f64, f64); 2]) -> [[f64; 2]; 2] {
    [[x.min(u), x.max(u)], [y.min(v) + magnet.face_m, y.max(v) + magnet.face_m]]
}
