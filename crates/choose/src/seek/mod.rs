//! The search for a better design: entries of a sheet over their ranges, real wires, limits that must be kept, and one aim or
//! several.
//!
//! Thousands of designs are solved roughly, each from nothing; the few that are picked are asked as any sheet is, and only
//! those answers are told. What is picked is a sheet that can be written.

pub mod aim;
mod binding;
pub mod log;
pub mod number;
mod question;
pub mod search;
mod seeking;
mod space;
mod told;
pub mod vary;

pub use question::{FEWEST, Question};
pub use seeking::{Design, Progress, SoFar};
pub use told::{Found, front};

use crate::seek::log::Log;
use crate::seek::search::{Effort, Point, search};
use crate::seek::seeking::Seeking;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;

/// Search for the best design. `before` is what an earlier run of the same search has solved.
///
/// # Errors
/// Faults of the question or the sheet; no design at all that can be built and solved.
pub fn seek(
    sheet: &Sheet,
    question: &Question,
    before: &Log,
    note: &mut dyn FnMut(Progress<'_>),
) -> Result<Found, Failure> {
    watched(sheet, question, before, &Watch::default(), &mut |so_far| note(so_far.progress()))
}

/// The same for somebody who may stop it, and looks at what it has found so far.
///
/// # Errors
/// As [`seek`], and [`Failure::Stopped`].
pub fn watched(
    sheet: &Sheet,
    question: &Question,
    before: &Log,
    watch: &Watch,
    note: &mut dyn FnMut(&SoFar<'_, '_>),
) -> Result<Found, Failure> {
    let mut seeking = Seeking::new(sheet, question, before, watch, note)?;
    let bounds = seeking.bounds.clone();
    let effort = Effort { points: question.designs, seed: question.seed };
    let starts: Vec<Point> = seeking.space.nearest(sheet).into_iter().collect();
    let counts = seeking.space.counts();
    let known = search(&counts, question.aims.len(), effort, &starts, |batch| {
        seeking.scores(batch, &question.aims, &bounds)
    })?;
    if let Some(why) = seeking.why_nothing() {
        return Err(Failure::Physics(format!(
            "none of {} designs can be built and solved: {why}",
            known.len()
        )));
    }
    told::told(&mut seeking, known)
}
