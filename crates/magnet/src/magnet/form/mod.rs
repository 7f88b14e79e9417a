//! From a sheet to the parts of each kind of magnet.
//!
//! Every form fills a [`Section`]: its parts in the drawing's coordinates, where the face and the poles are, and the
//! window of its winding. What all forms share (winding, drive, workpiece, keeper) is done here.

pub(crate) mod bar;
pub(crate) mod coil;
pub(crate) mod common;
pub(crate) mod coverage;
pub(crate) mod disc;
pub(crate) mod e_core;
pub(crate) mod excitation;
pub(crate) mod horseshoe;
pub(crate) mod overlap;
pub(crate) mod permanent;
pub(crate) mod pot;
pub(crate) mod potted_disc;
pub(crate) mod profile;
pub(crate) mod ring;
pub(crate) mod section;
pub(crate) mod slot;

use crate::diagnostic::Diagnostic;
use crate::magnet::{Magnet, Plate, Reader};
use crate::sheet::{Form, Sheet};
use crate::watch::Watch;

impl Magnet {
    /// Complete a sheet of any form; every fault found is reported.
    pub fn complete(sheet: &Sheet) -> Result<Self, Vec<Diagnostic>> {
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
        // An air coil is made for its field: no plate is assumed in front of it.
        let plated = !free && (sheet.form() != Form::Coil || sheet.has("workpiece"));
        let workpiece: Option<Plate> = plated.then(|| common::workpiece(&mut reader, &section));
        let keeper = if free { None } else { common::keeper(&mut reader, &section) };
        // A body that cannot be has no window to complete a winding in; what can be said of the winding still is.
        let excitation = if reader.faults.is_empty() {
            excitation::excitation(&mut reader, &section)
        } else {
            excitation::check(&mut reader);
            None
        };
        let sizes = common::sizes(&section, workpiece.as_ref());
        let applied_t = reader.given("surroundings.applied_field", "applied field").unwrap_or(0.0);
        if !reader.faults.is_empty() {
            return Err(reader.faults);
        }
        Ok(Self {
            name: sheet.name().to_string(),
            form: sheet.form(),
            symmetry: section.symmetry,
            depth_m: section.depth_m,
            parts: section.parts,
            face_m: section.face_m,
            poles: section.poles,
            sizes,
            excitation,
            workpiece,
            keeper,
            applied_t,
            free,
            inputs: reader.inputs,
            assumptions: reader.assumptions,
            warnings: reader.warnings,
            watch: Watch::default(),
        })
    }
}
