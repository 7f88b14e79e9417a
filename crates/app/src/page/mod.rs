//! A page: all that is known of one magnet, made of answers.
//!
//! A [`Page`] holds what is shown; [`section`] puts it into rows, and [`html`] and [`markdown`] write it down. Nothing here
//! computes: every number stands in an answer, and the same page is the same bytes on any day.

mod band_bar;
mod card;
pub(crate) mod drawing;
mod faces;
mod headline;
mod html;
mod markdown;
mod parts;
mod section;

use crate::ask::{Figure, Flux};
use crate::chart::ChartError;
use crate::input::Loaded;
use crate::shown;
use coilwright_magnet::answers::answer::{Answer, Caution};
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::material::CELSIUS_ZERO_K;
use coilwright_magnet::quantity::UnitSystem;
use section::Section;

pub(crate) use html::{text as escaped, units as units_in_words};
pub(crate) use parts::{STYLE, front_part, probe_part, scan_part};

/// The surroundings of a sheet that says nothing of them, K.
const ROOM_K: f64 = 20.0 + CELSIUS_ZERO_K;

/// What any page rests on.
const SOURCES: [&str; 2] = [
    "JCGM 100:2008 (standard uncertainties, 95 % intervals)",
    "ISO 128, ISO 129-1 and ISO 5455 (the drawing; from memory)",
];

/// All that is known of one magnet.
pub(crate) struct Page<'a> {
    /// Its sheet.
    pub(crate) sheet: &'a Loaded,
    /// The magnet in section.
    pub(crate) figure: Figure,
    /// Its flux lines, or why there are none, in a sentence.
    pub(crate) flux: Result<Option<Flux>, String>,
    /// Questions with their answers, in the order of reading.
    pub(crate) topics: Vec<Topic>,
    /// Files of readings.
    pub(crate) readings: Vec<Source>,
    /// Sheets of the magnets beside which it is shown.
    pub(crate) beside: &'a [Loaded],
    /// As the user gives it.
    pub(crate) date: Option<&'a str>,
    /// Units to show.
    pub(crate) units: UnitSystem,
    /// What makes the page again.
    pub(crate) made_by: String,
}

/// A question with its answer.
#[derive(Clone)]
pub(crate) struct Topic {
    /// The command that answers it, as in the answer.
    pub(crate) command: &'static str,
    /// Heading.
    pub(crate) title: &'static str,
    /// What asks it again, if one command does.
    pub(crate) made_by: Option<String>,
    /// The answer, or why there is none, in a sentence.
    pub(crate) answer: Result<Answer, String>,
}

/// A file that was read.
#[derive(Clone)]
pub(crate) struct Source {
    /// Its name as the user gave it.
    pub(crate) file: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub(crate) sha256: String,
}

/// How a page is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Format {
    /// One self-contained HTML document.
    #[default]
    Html,
    /// Markdown, for a wiki.
    Md,
}

impl Page<'_> {
    /// The page as text.
    pub(crate) fn text(&self, format: Format) -> Result<String, ChartError> {
        match format {
            Format::Html => html::document(self),
            Format::Md => Ok(markdown::document(self)),
        }
    }

    /// Name of the magnet.
    fn name(&self) -> &str {
        self.sheet.sheet.name()
    }

    fn answers(&self) -> impl Iterator<Item = &Answer> {
        self.topics.iter().filter_map(|topic| topic.answer.as_ref().ok())
    }

    /// What was assumed for any of the answers, once.
    fn assumptions(&self) -> Vec<&Assumption> {
        let mut found: Vec<&Assumption> = Vec::new();
        for assumption in self.answers().flat_map(|answer| &answer.assumptions) {
            if !found.iter().any(|f| f.path == assumption.path && f.label == assumption.label) {
                found.push(assumption);
            }
        }
        found
    }

    fn cautions(&self) -> impl Iterator<Item = &Caution> {
        self.answers().flat_map(|answer| &answer.cautions)
    }

    /// The parts of an answer's section.
    fn section<'a>(&self, answer: &'a Answer) -> Section<'a> {
        let surroundings_k = self.sheet.sheet.value("surroundings.temperature").unwrap_or(ROOM_K);
        Section::of(answer, surroundings_k, self.units)
    }

    /// What the page itself and its cautions rest on, once.
    pub(crate) fn sources(&self) -> Vec<&str> {
        let mut found: Vec<&str> = SOURCES.to_vec();
        if self.answers().any(|answer| answer.command == "winding") {
            found.extend(card::SOURCES);
        }
        for source in self.cautions().map(|caution| caution.source.as_str()) {
            if !source.is_empty() && !found.contains(&source) {
                found.push(source);
            }
        }
        found
    }
}

/// An assumption's value and range as text.
fn assumed(assumption: &Assumption, units: UnitSystem) -> (String, String) {
    match &assumption.value {
        Some(measure) => (shown::value(measure, units), shown::parts(measure, units).interval),
        None => (assumption.word.clone(), String::new()),
    }
}

/// Text by stretches, and whether each is code: it stands between backticks. Where these do not pair up none is.
fn stretches(text: &str) -> Vec<(&str, bool)> {
    let parts: Vec<&str> = text.split('`').collect();
    if parts.len().is_multiple_of(2) {
        return vec![(text, false)];
    }
    parts.into_iter().enumerate().map(|(index, part)| (part, index % 2 == 1)).collect()
}
