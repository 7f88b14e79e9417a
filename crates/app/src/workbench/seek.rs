//! A search that the page asks for: aims and limits as a person says them, the front as it grows, then what was found.

use super::asked::Asked;
use super::part::{Candidate, Part};
use super::settle::{self, Turn};
use crate::args;
use crate::ask::Failure;
use crate::page::{self, Topic};
use crate::shown;
use crate::topics;
use coilwright_choose::seek::aim::Aim;
use coilwright_choose::seek::log::Log;
use coilwright_choose::seek::{Design, FEWEST, Question, SoFar, front, watched};
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::uncertainty::measure::Measure;
use serde::Deserialize;

/// Designs of a search at most: a page is no place to wait for more.
const MOST: usize = 5000;

/// What is sought.
#[derive(Debug, Deserialize)]
pub(super) struct Sought {
    /// Round which sheet, without its what-ifs: what is found is written into it.
    #[serde(flatten)]
    asked: Asked,
    aims: Vec<String>,
    /// Limits, between semicolons.
    within: String,
    /// What may change, between semicolons.
    vary: String,
    designs: usize,
}

impl Sought {
    /// As a question of the page: it supersedes its page's searches and nothing else.
    pub(super) fn asked(&self) -> Asked {
        Asked { client: format!("{} seek", self.asked.client), set: Vec::new(), ..self.asked.clone() }
    }

    /// Searches, and sends the front as it grows, then the answer or why there is none.
    pub(super) fn run(&self, file: &str, turn: &Turn) {
        if let Err(reason) = self.found(file, turn) {
            let html = format!("<p class=\"failed\">{}</p>", page::escaped(&reason.replace('`', "")));
            turn.send(Part::Put { id: "seek-found".into(), html, failed: true });
        }
        turn.send(Part::Settled);
    }

    fn found(&self, file: &str, turn: &Turn) -> Result<(), String> {
        let asked = self.asked();
        let ready = settle::ready(&asked, file).ok_or("The sheet is wrong: mend it first.")?;
        let question = self.question()?;
        let units = asked.units();
        let mut note = |so_far: &SoFar<'_, '_>| turn.send(grown(so_far, &question.aims, units));
        let sheet = &ready.loaded.sheet;
        let found = watched(sheet, &question, &Log::default(), turn.watch(), &mut note);
        let answer = found.map(|found| found.answer).map_err(|failure: Failure| topics::reason(&failure))?;
        let topic = Topic { command: "seek", title: "", made_by: None, answer: Ok(answer) };
        let html = settle::page(&ready, &asked).section_part(&topic).map_err(|error| error.to_string())?;
        turn.send(Part::Put { id: "seek-found".into(), html, failed: false });
        Ok(())
    }

    fn question(&self) -> Result<Question, String> {
        Ok(Question {
            vary: args::varies(&self.vary)?.0,
            aims: self.aims.iter().map(|aim| args::aim(aim)).collect::<Result<_, _>>()?,
            within: args::bounds(&self.within)?.0,
            designs: self.designs.clamp(FEWEST, MOST),
            seed: 1,
        })
    }
}

/// The front so far, to be chosen from.
fn grown(so_far: &SoFar<'_, '_>, aims: &[Aim], units: UnitSystem) -> Part {
    let progress = so_far.progress();
    let designs = so_far.front();
    let rows: Vec<Vec<f64>> = designs.iter().map(|design| design.numbers.clone()).collect();
    let chart = match aims {
        [_, _, ..] if rows.len() > 1 => page::front_part(&front(aims, &rows), units).unwrap_or_default(),
        _ => String::new(),
    };
    Part::Front {
        solved: progress.solved,
        of: progress.of,
        chart,
        designs: designs.into_iter().map(|design| candidate(design, aims, units)).collect(),
    }
}

fn candidate(design: Design, aims: &[Aim], units: UnitSystem) -> Candidate {
    let number = |(aim, value): (&Aim, &f64)| {
        let number = aim.number();
        let measure = Measure { value: *value, dimension: number.dimension, band: None };
        format!("{} {}", number.label, shown::value(&measure, units))
    };
    let label = aims.iter().zip(&design.numbers).map(number).collect::<Vec<_>>().join(", ");
    Candidate { label, entries: design.entries }
}
