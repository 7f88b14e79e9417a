//! A magnet in section, to be drawn: its parts, and the lengths of its sheet where they are.

use crate::failure::Failure;
use crate::magnet::envelope::span;
use crate::magnet::size::Size;
use crate::magnet::{Magnet, Substance};
use crate::magnetic::contour::Grid;
use crate::magnetic::flux_lines::flux_lines;
use crate::magnetic::scene::Stage;
use crate::magnetic::solved::Solved;
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::uncertainty::measure::Measure;
use coilwright_fem::drawing::{Curve, Outline, Point, Symmetry};
use coilwright_fem::magnetostatics::FieldPoint;
use schemars::JsonSchema;
use serde::Serialize;

/// Relative difference from which a drawn length is not the sheet's: what stands for a plate that is not round is not.
const SAME: f64 = 1e-6;

/// A magnet in section, in metres: x across, y towards the workpiece.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// How the parts are continued.
    pub continued: Continued,
    /// What is drawn, later parts over earlier ones.
    pub parts: Vec<Shape>,
    /// Lengths that the sheet gives, or that were assumed.
    pub sizes: Vec<Shown>,
    /// Height of the face.
    pub face: f64,
    /// Diameter of the wire over its enamel; none without a winding of wire.
    pub wire: Option<f64>,
}

/// How the parts of a figure are continued.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Continued {
    /// Turned about x = 0.
    Turned,
    /// Mirrored at x = 0.
    Mirrored,
    /// They are all of it.
    Whole,
}

/// A part of a figure.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Shape {
    /// Its name.
    pub name: String,
    /// What it is of.
    pub fill: Fill,
    /// It is what is pulled, not the magnet.
    pub workpiece: bool,
    /// Its corners in turn.
    pub outline: Vec<Corner>,
}

/// What a part is of.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Fill {
    /// Iron, by the name of its material.
    Iron(String),
    /// Conductors.
    Winding,
    /// A permanent magnet, by its remanence across and along, T.
    Permanent([f64; 2]),
    /// Nothing magnetic.
    Other,
}

/// A corner of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Corner {
    /// Where it is.
    pub at: [f64; 2],
    /// The arc that leads to the next corner; none if a straight line does.
    pub arc: Option<Arc>,
}

/// An arc.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Arc {
    /// Centre of its circle.
    pub centre: [f64; 2],
    /// It turns counter-clockwise.
    pub ccw: bool,
}

/// A length of the sheet in the figure.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Shown {
    /// Where it stands in the sheet, or can be given.
    pub path: String,
    /// The length; its band where it was assumed.
    #[serde(flatten)]
    pub length: Measure,
    /// Half-width of its tolerance; 0 where none is given.
    pub half_width: f64,
    /// It was assumed.
    pub assumed: bool,
    /// It is a diameter.
    pub diameter: bool,
    /// Its ends.
    pub ends: [[f64; 2]; 2],
}

/// The figure of a sheet's magnet with its workpiece.
///
/// # Errors
/// Faults of the sheet.
pub fn figure(sheet: &Sheet) -> Result<Figure, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let mut figure = of_stage(&magnet, &magnet.stage());
    figure.sizes = magnet.sizes.iter().filter_map(|size| shown(sheet, &magnet, size)).collect();
    Ok(figure)
}

/// A magnet with the plates of a stage, without lengths.
pub(crate) fn of_stage(magnet: &Magnet, stage: &Stage) -> Figure {
    let mut parts: Vec<Shape> = magnet
        .parts
        .iter()
        .map(|part| Shape {
            name: part.name.clone(),
            fill: fill(&part.substance),
            workpiece: part.is_workpiece,
            outline: corners(&part.outline),
        })
        .collect();
    for (k, plate) in stage.plates.iter().enumerate() {
        let from = magnet.face_m + plate.gap_m;
        parts.push(Shape {
            name: if k == 0 { "workpiece".into() } else { "keeper".into() },
            fill: Fill::Iron(plate.iron.name.clone()),
            workpiece: true,
            outline: corners(&Outline::rectangle(plate.x_m, [from, from + plate.thickness_m])),
        });
    }
    let winding = magnet.excitation.as_ref().and_then(|excitation| excitation.winding.as_ref());
    Figure {
        continued: match magnet.symmetry {
            Symmetry::Axial => Continued::Turned,
            Symmetry::PlanarHalf(_) => Continued::Mirrored,
            Symmetry::Planar => Continued::Whole,
        },
        parts,
        sizes: Vec::new(),
        face: magnet.face_m,
        wire: winding.map(|winding| winding.wire.overall_diameter_m),
    }
}

/// The field of a figure as a picture: flux lines over areas of like magnitude.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Flux {
    /// Flux between two neighbouring lines, all round or over the whole depth.
    pub between: Measure,
    /// Each line's points, as the figure's.
    pub lines: Vec<Vec<[f64; 2]>>,
    /// Weakest magnitude that is told apart.
    pub weakest: Measure,
    /// Strongest magnitude.
    pub strongest: Measure,
    /// Where the field is stronger than something, from weak to strong; what is weaker than the first is everywhere else.
    #[serde(skip)]
    pub shades: Vec<Shade>,
    /// What is shown, as the figure's: across and upwards, m.
    #[serde(skip)]
    pub area: [[f64; 2]; 2],
}

/// Where the field is stronger than something.
#[derive(Clone, Debug, PartialEq)]
pub struct Shade {
    /// The magnitude that is exceeded, T.
    pub above_t: f64,
    /// Closed outlines in the figure's coordinates, m; what is enclosed an odd number of times is within.
    pub outlines: Vec<Vec<Point>>,
}

/// How much of the air round a magnet is shown, over its reach.
const AROUND: f64 = 0.3;
/// Relative accuracy that a picture needs.
const ACCURACY: f64 = 0.02;
/// Nodes along the longer side of a picture, less one.
const CELLS: f64 = 240.0;
/// Shades, equally far apart on a logarithmic scale.
const SHADES: usize = 32;
/// Weakest over strongest field that is still told apart.
const WEAKEST: f64 = 1e-3;

/// The field of a sheet's magnet with its workpiece in place: as a picture, and what it is at any place of the figure.
#[derive(Clone, Debug)]
pub struct Picture {
    /// None where there is no field.
    pub flux: Option<Flux>,
    /// Height of the face in the figure, m; where there is no face, of the drawing's zero.
    pub face_m: f64,
    /// It has a face.
    pub faced: bool,
    solved: Solved,
}

/// The field at a place of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct At {
    /// Across and along the axis, T.
    pub b_t: [f64; 2],
    /// 95 % bound of its numerical error, T.
    pub error_t: f64,
    /// The iron or permanent magnet that the place lies in, where no probe reads.
    pub inside: Option<String>,
}

impl Picture {
    /// Solved for a picture: to a few per cent.
    ///
    /// # Errors
    /// Faults of the sheet, and a field that cannot be solved.
    pub fn of(sheet: &Sheet) -> Result<Self, Failure> {
        let magnet = Magnet::complete(sheet)?;
        let stage = magnet.stage();
        let solved = Solved::for_pull(magnet.scene(&stage), ACCURACY)?;
        let area = surroundings(&magnet, &of_stage(&magnet, &stage), AROUND);
        let (grid, fields) = surveyed(&solved, area);
        let flux = pictured(&magnet, area, &grid, &fields);
        Ok(Self { flux, face_m: magnet.face_m, faced: !magnet.free, solved })
    }

    /// The field at a place of the figure, m.
    pub fn at(&self, place_m: [f64; 2]) -> At {
        let scene = &self.solved.scene;
        let region = self.solved.ladder.probe().at(place_m).region;
        let solid = scene.solid.get(region).is_some_and(|solid| *solid);
        let inside = solid.then(|| scene.names[region].clone());
        let [across, along] = self.solved.ladder.fields(&[place_m])[0];
        At { b_t: [across.value, along.value], error_t: across.error.max(along.error), inside }
    }
}

/// The field of a sheet's magnet with its workpiece; none where there is no field.
///
/// # Errors
/// Faults of the sheet, and a field that cannot be solved.
pub fn flux(sheet: &Sheet) -> Result<Option<Flux>, Failure> {
    Picture::of(sheet).map(|picture| picture.flux)
}

/// A solved field at the nodes of a grid over a rectangle, m: its magnitude, and all of it row by row.
pub(crate) fn surveyed(solved: &Solved, [x, y]: [[f64; 2]; 2]) -> (Grid, Vec<FieldPoint>) {
    let probe = solved.ladder.probe();
    let mut fields: Vec<FieldPoint> = Vec::new();
    let size_t = Grid::of(x, y, CELLS, |p| {
        let field = probe.at(p);
        fields.push(field);
        field.size_t()
    });
    (size_t, fields)
}

/// The picture of a field that was surveyed over a rectangle, m; none where there is no field.
pub(crate) fn pictured(
    magnet: &Magnet,
    area: [[f64; 2]; 2],
    size_t: &Grid,
    fields: &[FieldPoint],
) -> Option<Flux> {
    let strongest = size_t.values.iter().copied().fold(0.0, f64::max);
    if strongest <= 0.0 {
        return None;
    }
    let weakest = size_t.values.iter().copied().fold(f64::INFINITY, f64::min).max(WEAKEST * strongest);
    let closed = size_t.closed();
    let shade = |k: usize| {
        let above_t = weakest * (strongest / weakest).powf(k as f64 / SHADES as f64);
        Shade { above_t, outlines: closed.contour(above_t) }
    };
    let found = flux_lines(magnet, size_t, fields);
    let measure = |value, dimension| Measure { value, dimension, band: None };
    Some(Flux {
        between: measure(found.between_wb, Dimension::Flux),
        lines: found.lines,
        weakest: measure(weakest, Dimension::FluxDensity),
        strongest: measure(strongest, Dimension::FluxDensity),
        shades: (1..SHADES).map(shade).collect(),
        area,
    })
}

/// The magnet with what is in front of it, and as much air all round as shows where its field goes: a share of its reach; in
/// the drawing, m.
pub(crate) fn surroundings(magnet: &Magnet, figure: &Figure, around: f64) -> [[f64; 2]; 2] {
    let [[left, right], [bottom, top]] =
        [0, 1].map(|axis| span(magnet.parts.iter().map(|part| &part.outline), axis));
    let plates = figure.parts.iter().filter(|part| part.workpiece).flat_map(|part| &part.outline);
    let top = plates.map(|corner| corner.at[1]).fold(top, f64::max);
    let reach = if magnet.symmetry == Symmetry::Planar { 0.5 * (right - left) } else { right };
    let around = around * reach.max(0.5 * (top - bottom));
    let left = if magnet.symmetry == Symmetry::Planar { left } else { -right };
    [[left - around, right + around], [bottom - around, top + around]]
}

fn fill(substance: &Substance) -> Fill {
    match substance {
        Substance::Vacuum => Fill::Other,
        Substance::Conductors { .. } | Substance::AmpereTurns(_) => Fill::Winding,
        Substance::Iron(iron) => Fill::Iron(iron.name.clone()),
        Substance::Permanent { remanence_t, .. } => Fill::Permanent(*remanence_t),
    }
}

fn corners(outline: &Outline) -> Vec<Corner> {
    let arc = |curve: Curve| match curve {
        Curve::Line => None,
        Curve::Arc { centre, ccw } => Some(Arc { centre, ccw }),
    };
    outline.0.iter().map(|&(at, curve)| Corner { at, arc: arc(curve) }).collect()
}

/// A size with what the sheet says of it, or was assumed; none if neither, or if it is drawn otherwise.
fn shown(sheet: &Sheet, magnet: &Magnet, size: &Size) -> Option<Shown> {
    let given = sheet.quantity(size.path).map(|quantity| {
        let length = Measure { value: quantity.value, dimension: Dimension::Length, band: None };
        (length, quantity.half_width, false)
    });
    let assumed = || {
        let assumption = magnet.assumptions.iter().find(|assumption| assumption.path == size.path)?;
        Some((assumption.value.clone()?, 0.0, true))
    };
    let (length, half_width, assumed) = given.or_else(assumed)?;
    let drawn_so = (size.length_m() - length.value).abs() <= SAME * length.value.abs();
    (drawn_so && length.value > 0.0).then(|| Shown {
        path: size.path.into(),
        length,
        half_width,
        assumed,
        diameter: size.is_diameter,
        ends: size.ends,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::{Form, template};

    /// Every form has a figure, and every length in it is as long as the sheet says.
    #[test]
    fn every_form_is_drawn_with_its_sizes() {
        for form in Form::ALL {
            let (sheet, _) = Sheet::parse(&template(form), "sheet").expect("a template is a sheet");
            let figure = figure(&sheet).expect("a template is a magnet");
            assert!(!figure.parts.is_empty(), "{form}");
            let least = match form {
                Form::Profile => 0,
                Form::Disc => 4,
                _ => 5,
            };
            assert!(figure.sizes.len() >= least, "{form}: {:#?}", figure.sizes);
            for size in &figure.sizes {
                let [[x, y], [u, v]] = size.ends;
                let drawn = (u - x).hypot(v - y);
                assert!((drawn / size.length.value - 1.0).abs() < SAME, "{form}: {}", size.path);
                assert!(size.assumed || sheet.has(&size.path), "{form}: {}", size.path);
            }
        }
    }
}
