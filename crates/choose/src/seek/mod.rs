//! The search for a better design: entries of a sheet over their ranges, real wires, limits that must be kept, and one aim or
//! several.
//!
//! Thousands of designs are solved roughly, each from nothing; the few that are picked are asked as any sheet is, and only
//! those answers are told. What is picked is a sheet that can be written.

pub mod aim;
mod binding;
pub mod number;
pub mod search;
mod space;
mod told;
pub mod vary;

use crate::seek::aim::{Aim, Bound};
use crate::seek::search::{Effort, Known, Point, Score, search};
use crate::seek::space::{Lack, Outcome, Space};
use crate::seek::vary::{Vary, axes};
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::coupled::operating_point::Pattern;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::rough::{Rough, Wanted};
use coilwright_magnet::sheet::Sheet;
use std::collections::BTreeMap;

/// What is sought.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What may change; everything inside the outside of a pot where nothing is named.
    pub vary: Vec<Vary>,
    /// What is to be as great or as small as can be.
    pub aims: Vec<Aim>,
    /// Limits beside those of the sheet.
    pub within: Vec<Bound>,
    /// How many designs are looked at, at most.
    pub designs: usize,
    /// Seed of the search.
    pub seed: u64,
}

/// Fewest designs that make a search.
pub const FEWEST: usize = 20;

/// What was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// As every answer.
    pub answer: Answer,
    /// Sheets of what was picked: a name for each, and its text.
    pub designs: Vec<(String, String)>,
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Designs that were solved.
    pub solved: usize,
    /// Designs that will be at most.
    pub of: usize,
}

/// What a magnet that cannot be misses its limits by, and one that burns.
const NO_MAGNET: f64 = 1000.0;
const RUNS_AWAY: f64 = 100.0;

/// A search under way: what is asked, where, and all that is known so far.
pub(crate) struct Seeking<'a> {
    pub(crate) sheet: &'a Sheet,
    pub(crate) question: &'a Question,
    pub(crate) space: Space,
    /// Limits of the question and of the sheet.
    pub(crate) bounds: Vec<Bound>,
    /// Whether the insulation's own limit counts: no other of the hot spot is given.
    pub(crate) by_class: bool,
    outcomes: BTreeMap<Point, Outcome>,
    watch: &'a mut dyn FnMut(Progress),
}

/// Search for the best design.
///
/// # Errors
/// Faults of the question or the sheet; no design at all that can be built and solved.
pub fn seek(sheet: &Sheet, question: &Question, watch: &mut dyn FnMut(Progress)) -> Result<Found, Failure> {
    let mut seeking = Seeking::new(sheet, question, watch)?;
    let bounds = seeking.bounds.clone();
    let effort = Effort { points: question.designs, seed: question.seed };
    let starts: Vec<Point> = seeking.space.nearest(sheet).into_iter().collect();
    let counts = seeking.space.counts();
    let known = search(&counts, question.aims.len(), effort, &starts, |batch| {
        Ok::<_, Failure>(seeking.scores(batch, &question.aims, &bounds))
    })?;
    if seeking.outcomes.values().all(Result::is_err) {
        let why = seeking.outcomes.values().find_map(|o| match o {
            Err(Lack::NoMagnet(why)) => Some(why.clone()),
            _ => None,
        });
        let why = why.unwrap_or_else(|| "each of them runs away thermally".into());
        return Err(Failure::Physics(format!(
            "none of {} designs can be built and solved: {why}",
            known.len()
        )));
    }
    told::told(&mut seeking, &known)
}

impl<'a> Seeking<'a> {
    fn new(
        sheet: &'a Sheet,
        question: &'a Question,
        watch: &'a mut dyn FnMut(Progress),
    ) -> Result<Self, Failure> {
        if question.aims.is_empty() {
            let hint = "such as \"most pull\", \"least mass\" or \"coolest\"";
            return Err(Diagnostic::fault("there is no aim to search for", hint).into());
        }
        if question.designs < FEWEST {
            let message = format!("{} designs are no search", question.designs);
            return Err(Diagnostic::fault(message, format!("look at {FEWEST} at least")).into());
        }
        let twice =
            |k: &usize| question.aims[..*k].iter().any(|a| a.number().key == question.aims[*k].number().key);
        if let Some(k) = (0..question.aims.len()).find(twice) {
            let message = format!("`{}` is aimed at twice", question.aims[k].number().label);
            return Err(Diagnostic::fault(message, "name each number once").into());
        }
        let axes = axes(sheet, &question.vary)?;
        let mut bounds = question.within.clone();
        bounds.extend(Bound::of_sheet(sheet));
        let long_run = Pattern::read(sheet)?.0.duty() > 0.0;
        let workpiece = Magnet::complete(sheet).map_or(true, |magnet| magnet.workpiece.is_some());
        let mut wanted = Wanted { heat: long_run, ..Wanted::default() };
        let numbers = question.aims.iter().map(Aim::number).chain(bounds.iter().map(Bound::number));
        for number in numbers {
            let own = number.wanted;
            if (own.heat || own.pull_warm) && !long_run {
                let message =
                    format!("there is no `{}`: the drive is on once and never settles", number.label);
                return Err(sheet
                    .fault("drive.on_time", message, "search by cold numbers, or give a duty")
                    .into());
            }
            if (own.pull || own.pull_warm) && !workpiece {
                let message = format!("there is no `{}`: nothing is in front of the coil", number.label);
                return Err(sheet.fault("form", message, "give a [workpiece], or aim at the field").into());
            }
            wanted.pull |= own.pull;
            wanted.pull_warm |= own.pull_warm;
            wanted.field |= own.field;
        }
        let by_class = long_run && !bounds.iter().any(|b| b.number().key == "hot_spot" && !b.at_least);
        let space = Space::new(sheet, axes, wanted);
        Ok(Self { sheet, question, space, bounds, by_class, outcomes: BTreeMap::new(), watch })
    }

    /// The numbers of a point that was solved.
    pub(crate) fn rough(&self, point: &[u32]) -> Option<&Rough> {
        self.outcomes.get(point)?.as_ref().ok()
    }

    /// Every point that was solved with its numbers.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&Point, &Rough)> {
        self.outcomes.iter().filter_map(|(point, outcome)| Some((point, outcome.as_ref().ok()?)))
    }

    /// How many points were looked at.
    pub(crate) fn tried(&self) -> usize {
        self.outcomes.len()
    }

    /// Scores of a batch by aims and limits; what is not known yet is solved.
    pub(crate) fn scores(&mut self, batch: &[Point], aims: &[Aim], bounds: &[Bound]) -> Vec<Score> {
        let new: Vec<Point> = batch.iter().filter(|p| !self.outcomes.contains_key(*p)).cloned().collect();
        let outcomes = self.space.outcomes(&new);
        self.outcomes.extend(new.into_iter().zip(outcomes));
        (self.watch)(Progress { solved: self.outcomes.len(), of: self.question.designs });
        batch.iter().map(|point| self.score(&self.outcomes[point], aims, bounds)).collect()
    }

    fn score(&self, outcome: &Outcome, aims: &[Aim], bounds: &[Bound]) -> Score {
        let none = |missed: f64| Score { costs: vec![f64::INFINITY; aims.len()], missed };
        match outcome {
            Ok(rough) => Score {
                costs: aims.iter().map(|aim| aim.cost((aim.number().rough)(rough))).collect(),
                missed: self.missed(rough, bounds),
            },
            Err(Lack::RunsAway) => none(RUNS_AWAY),
            Err(Lack::NoMagnet(_)) => none(NO_MAGNET),
        }
    }

    /// By how much a magnet misses limits, room for its turns and its insulation's class.
    pub(crate) fn missed(&self, rough: &Rough, bounds: &[Bound]) -> f64 {
        let mut missed: f64 = bounds.iter().map(|b| b.missed((b.number().rough)(rough))).sum();
        missed += (rough.turns / rough.room_for_turns.max(1e-9) - 1.0).max(0.0);
        if let Some(class) = self.class_of(rough) {
            missed += class.missed((class.number().rough)(rough));
        }
        missed
    }

    /// The insulation's own limit, where it counts.
    pub(crate) fn class_of(&self, rough: &Rough) -> Option<Bound> {
        Bound::of_class(rough.class_k).filter(|_| self.by_class)
    }
}

/// Points of a search that keep everything.
pub(crate) fn any_kept(known: &Known) -> bool {
    known.iter().any(|(_, score)| score.missed == 0.0)
}
