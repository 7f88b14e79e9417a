//! A search under way: what is asked, where, and all that is known so far.

use crate::seek::aim::{Aim, Bound};
use crate::seek::log::{Log, line};
use crate::seek::question::{FEWEST, Question};
use crate::seek::search::{Effort, Known, Point, Score, polish};
use crate::seek::space::{Lack, Outcome, Space};
use crate::seek::vary::axes;
use coilwright_magnet::coupled::operating_point::Pattern;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::rough::{Rough, Wanted};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;
use std::collections::BTreeMap;

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress<'a> {
    /// Designs that are known.
    pub solved: usize,
    /// Designs that will be at most, if limits need no second look.
    pub of: usize,
    /// Lines for a [`Log`] about those that are new; may be empty.
    pub lines: &'a str,
}

/// A search as far as it has come.
pub struct SoFar<'s, 'a> {
    seeking: &'s Seeking<'a>,
    lines: &'s str,
}

/// A design that keeps all limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Provisional numbers by aim, SI.
    pub numbers: Vec<f64>,
    /// What has to stand in the sheet's text, path by path; no text takes an entry out.
    pub entries: Vec<(String, String)>,
}

impl SoFar<'_, '_> {
    /// How far it has come.
    pub fn progress(&self) -> Progress<'_> {
        let solved = self.seeking.outcomes.len();
        Progress { solved, of: self.seeking.question.designs.max(solved), lines: self.lines }
    }

    /// Designs that none beats in every aim, in the order of the last of these.
    pub fn front(&self) -> Vec<Design> {
        let seeking = self.seeking;
        let known = seeking.known();
        let design = |point: &Point| {
            let rough = seeking.rough(point)?;
            let numbers = seeking.question.aims.iter().map(|aim| (aim.number().rough)(rough)).collect();
            Some(Design { numbers, entries: seeking.space.entries(point).ok()? })
        };
        let mut front: Vec<Design> =
            known.front().into_iter().filter_map(|(point, _)| design(point)).collect();
        front.sort_by(|a, b| a.numbers[a.numbers.len() - 1].total_cmp(&b.numbers[b.numbers.len() - 1]));
        front
    }
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
    /// Of the hot spot against that limit, as [`Bound`] has it.
    pub(crate) class_shift: f64,
    outcomes: BTreeMap<Point, Outcome>,
    /// What was solved before; it counts from where it is asked for.
    before: &'a Log,
    pub(crate) watch: &'a Watch,
    /// Who is told how far it has come; lent out while that is looked at.
    note: Option<&'a mut Note<'a>>,
}

/// Somebody who is told how far a search has come.
pub(crate) type Note<'a> = dyn FnMut(&SoFar<'_, '_>) + 'a;

impl<'a> Seeking<'a> {
    /// Ready to search, if the question makes sense.
    pub(crate) fn new(
        sheet: &'a Sheet,
        question: &'a Question,
        before: &'a Log,
        watch: &'a Watch,
        note: &'a mut Note<'a>,
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
        Ok(Self {
            sheet,
            question,
            space,
            bounds,
            by_class,
            class_shift: 0.0,
            outcomes: BTreeMap::new(),
            before,
            watch,
            note: Some(note),
        })
    }

    /// The numbers of a point that was solved.
    pub(crate) fn rough(&self, point: &[u32]) -> Option<&Rough> {
        self.outcomes.get(point)?.as_ref().ok()
    }

    /// Every point that was solved with its numbers.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&Point, &Rough)> {
        self.outcomes.iter().filter_map(|(point, outcome)| Some((point, outcome.as_ref().ok()?)))
    }

    /// Why no point has numbers, if none has.
    pub(crate) fn why_nothing(&self) -> Option<String> {
        if self.outcomes.values().any(Result::is_ok) {
            return None;
        }
        let why = self.outcomes.values().find_map(|outcome| match outcome {
            Err(Lack::NoMagnet(why)) => Some(why.clone()),
            _ => None,
        });
        Some(why.unwrap_or_else(|| "each of them runs away thermally".into()))
    }

    /// How many points were looked at.
    pub(crate) fn tried(&self) -> usize {
        self.outcomes.len()
    }

    /// Scores of a batch by aims and limits; what is not known yet is solved.
    pub(crate) fn scores(
        &mut self,
        batch: &[Point],
        aims: &[Aim],
        bounds: &[Bound],
    ) -> Result<Vec<Score>, Failure> {
        self.watch.check()?;
        let mut new: Vec<Point> = Vec::new();
        for point in batch {
            if self.outcomes.contains_key(point) {
                continue;
            }
            match self.before.0.get(point) {
                Some(outcome) => {
                    self.outcomes.insert(point.clone(), outcome.clone());
                }
                None => new.push(point.clone()),
            }
        }
        let outcomes = self.space.outcomes(&new);
        let lines: String = new.iter().zip(&outcomes).map(|(point, outcome)| line(point, outcome)).collect();
        self.outcomes.extend(new.into_iter().zip(outcomes));
        if let Some(note) = self.note.take() {
            note(&SoFar { seeking: self, lines: &lines });
            self.note = Some(note);
        }
        Ok(batch.iter().map(|point| self.score(&self.outcomes[point], aims, bounds)).collect())
    }

    /// Everything that was solved, scored by the question's aims and by the limits as they are now.
    fn known(&self) -> Known {
        let score = |outcome| self.score(outcome, &self.question.aims, &self.bounds);
        Known::of(self.outcomes.iter().map(|(point, outcome)| (point.clone(), score(outcome))))
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
        let mut missed: f64 = bounds.iter().map(|b| b.missed(rough)).sum();
        missed += (rough.turns / rough.room_for_turns.max(1e-9) - 1.0).max(0.0);
        if let Some(class) = self.class_of(rough) {
            missed += class.missed(rough);
        }
        missed
    }

    /// The insulation's own limit, where it counts.
    pub(crate) fn class_of(&self, rough: &Rough) -> Option<Bound> {
        Bound::of_class(rough.class_k, self.class_shift).filter(|_| self.by_class)
    }

    /// Search again near the best for each aim, once more is known of what settled numbers are.
    pub(crate) fn again(&mut self, known: &mut Known) -> Result<(), Failure> {
        let (aims, bounds) = (self.question.aims.clone(), self.bounds.clone());
        *known = self.known();
        let counts = self.space.counts();
        for aim in 0..aims.len() {
            let Some(from) = known.best(aim).map(|(point, _)| point.clone()) else { continue };
            let effort = Effort { points: (self.question.designs / 8).max(FEWEST), seed: self.question.seed };
            let near = polish(&counts, aim, effort, &from, |batch| self.scores(batch, &aims, &bounds))?;
            known.add(near);
        }
        Ok(())
    }
}
