//! From a sheet to the parts of each kind of magnet.
//!
//! Every form fills a [`Section`]: its parts in the drawing's coordinates, where the face and the poles are, and the
//! window of its winding. What all forms share (winding, drive, workpiece, keeper) is done here.

mod bar;
mod coil;
mod common;
mod disc;
mod e_core;
mod excitation;
mod horseshoe;
mod overlap;
mod permanent;
mod pot;
mod potted_disc;
mod profile;
mod ring;
mod slot;

use crate::diagnostic::Diagnostic;
use crate::magnet::{Magnet, Part, Plate, Pole, Reader};
use crate::sheet::{Form, Sheet};
use crate::winding::Window;
use coilwright_fem::drawing::Symmetry;

/// What a form draws.
#[derive(Debug)]
pub(crate) struct Section {
    pub(crate) symmetry: Symmetry,
    /// Depth of a planar magnet, m; 1 for an axial one.
    pub(crate) depth_m: f64,
    pub(crate) parts: Vec<Part>,
    pub(crate) face_m: f64,
    pub(crate) poles: Vec<Pole>,
    /// Window of one coil, and how many coils of that kind are in series.
    pub(crate) window: Option<(Window, f64)>,
    /// Half-width of the body at the face (outer radius), m.
    pub(crate) reach_m: f64,
    /// Thickness of a workpiece that does not throttle this magnet, m.
    pub(crate) ample_thickness_m: f64,
}

/// Complete a sheet of any form.
pub(crate) fn complete(sheet: &Sheet) -> Result<Magnet, Vec<Diagnostic>> {
    let mut reader = Reader::new(sheet);
    let section = match sheet.form() {
        Form::Pot => pot::draw(&mut reader),
        Form::Bar => bar::draw(&mut reader),
        Form::Coil => coil::draw(&mut reader),
        Form::Horseshoe => horseshoe::draw(&mut reader),
        Form::ECore => e_core::draw(&mut reader),
        Form::Disc => disc::draw(&mut reader),
        Form::Ring => ring::draw(&mut reader),
        Form::PottedDisc => potted_disc::draw(&mut reader),
        Form::Profile => profile::draw(&mut reader),
    };
    let free = sheet.form() == Form::Profile;
    let (workpiece, keeper): (Option<Plate>, Option<Plate>) = if free {
        (None, None)
    } else {
        (Some(common::workpiece(&mut reader, &section)), common::keeper(&mut reader, &section))
    };
    // A body that cannot be has no window to complete a winding in; what can be said of the winding still is.
    let excitation = if reader.faults.is_empty() {
        excitation::excitation(&mut reader, &section)
    } else {
        excitation::check(&mut reader);
        None
    };
    let applied_t = reader.given("surroundings.applied_field", "applied field").unwrap_or(0.0);
    if !reader.faults.is_empty() {
        return Err(reader.faults);
    }
    Ok(Magnet {
        name: sheet.name().to_string(),
        form: sheet.form(),
        symmetry: section.symmetry,
        depth_m: section.depth_m,
        parts: section.parts,
        face_m: section.face_m,
        poles: section.poles,
        excitation,
        workpiece,
        keeper,
        applied_t,
        free,
        inputs: reader.inputs,
        assumptions: reader.assumptions,
        warnings: reader.warnings,
    })
}
