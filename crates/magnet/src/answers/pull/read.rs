//! What is solved for a pull, and what is read from it.

use crate::answers::question::PullQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnetic::scene::{Scene, Stage};
use crate::magnetic::solved::{flux_per_turn_wb, pull_n};
use crate::sheet::Sheet;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::magnetostatics::Solution;
/// Relative accuracy asked of the solver where the sheet asks for none.
pub const USUAL_ACCURACY: f64 = 3e-3;

/// Friction of steel on steel, dry to slightly oily, and its standard uncertainty (common practice, no source).
pub(crate) const FRICTION: (f64, f64) = (0.15, 0.04);

/// What is pulled: the workpiece, or the keeper if asked for.
pub(crate) fn stage(sheet: &Sheet, magnet: &Magnet, question: &PullQuestion) -> Result<Stage, Failure> {
    if magnet.free {
        if !magnet.parts.iter().any(|p| p.is_workpiece) {
            let hint = "mark one [[region]] with body = \"workpiece\"";
            return Err(sheet.fault("region", "nothing is marked as what is pulled", hint).into());
        }
        return Ok(magnet.open_stage());
    }
    if question.keeper {
        let Some(keeper) = &magnet.keeper else {
            let hint = "add a [keeper] with its thickness, diameters and gap";
            return Err(sheet.fault("keeper", "the sheet has no keeper", hint).into());
        };
        return Ok(Stage { plates: vec![keeper.clone()], ampere_turns: magnet.ampere_turns() });
    }
    if magnet.workpiece.is_none() {
        let hint = "add a [workpiece] with its thickness, width and gap; `field` and `winding` need none";
        return Err(sheet
            .fault("form", "there is no workpiece: an air coil alone pulls on nothing", hint)
            .into());
    }
    Ok(magnet.stage())
}

/// Pull, flux through a turn, inductance of one turn and of all.
pub(crate) fn read(
    magnet: &Magnet,
    scene: &Scene,
    drawing: &Drawing,
    solution: &Solution,
) -> Result<[f64; 4], Failure> {
    let flux = flux_per_turn_wb(scene, solution);
    let per_turn = if magnet.ampere_turns() == 0.0 { 0.0 } else { flux / magnet.ampere_turns() };
    let turns = magnet.excitation.as_ref().map_or(1.0, |e| e.turns);
    Ok([pull_n(scene, drawing, solution)?, flux, per_turn, per_turn * turns * turns])
}
