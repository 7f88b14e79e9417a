//! Answers as JSON, always SI, and the schemas of what is written and read.

use crate::args::Common;
use crate::ask::{Figure, Flux};
use crate::input::Loaded;
use crate::page::Page;
use crate::shown;
use coilwright_magnet::answers::answer::{ANSWER_VERSION, Advice, Answer, Caution, Limit, Series, Value};
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::uncertainty::band::Band;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What `--json` writes.
#[derive(Serialize, JsonSchema)]
pub(crate) struct Document<'a> {
    /// Version of the program.
    program: &'static str,
    /// Version of this format; a change of meaning raises it.
    format: u32,
    /// As given by `--date`.
    #[serde(skip_serializing_if = "Option::is_none")]
    date: Option<&'a str>,
    /// One for each sheet, in their order; of a report one for each question about its sheet.
    answers: Vec<Written<'a>>,
    /// The magnet of a report in section.
    #[serde(skip_serializing_if = "Option::is_none")]
    figure: Option<&'a Figure>,
    /// Its flux lines.
    #[serde(skip_serializing_if = "Option::is_none")]
    flux: Option<&'a Flux>,
    /// Questions of a report that have no answer.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    unanswered: Vec<Unanswered<'a>>,
    /// What a report rests on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    sources: Vec<&'a str>,
    /// Where the readings of a report came from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    readings: Vec<Origin<'a>>,
}

/// A question without an answer.
#[derive(Serialize, JsonSchema)]
struct Unanswered<'a> {
    /// Which question was asked.
    command: &'a str,
    /// Why it has no answer.
    reason: &'a str,
}

/// One answer.
#[derive(Serialize, JsonSchema)]
struct Written<'a> {
    /// Which question was asked.
    command: &'a str,
    /// Name of the magnet.
    magnet: &'a str,
    /// Where the answer came from.
    sheet: Origin<'a>,
    /// Where the others of a comparison came from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    others: Vec<Origin<'a>>,
    /// The answer in one sentence.
    summary: String,
    /// Every number and fact by its key.
    values: BTreeMap<&'a str, Entry<'a>>,
    /// The keys of the values in the order in which they are read, under headings.
    groups: Vec<Heading<'a>>,
    /// Curves.
    series: &'a [Series],
    /// The sheet's limits, and the numbers that they limit.
    limits: &'a [Limit],
    /// What the sheet did not say and was assumed.
    assumptions: &'a [Assumption],
    /// What to mind.
    warnings: &'a [String],
    /// Safety: `about` names the value's key.
    cautions: &'a [Caution],
    /// Which measurements would narrow the main number most, best first.
    next_measurements: &'a [Advice],
}

/// A sheet that was asked about.
#[derive(Serialize, JsonSchema)]
struct Origin<'a> {
    /// Its file as the user named it.
    file: &'a str,
    /// SHA-256 (FIPS 180-4) of its bytes, in hexadecimal.
    sha256: String,
    /// What `--set` changed, as `path=value`.
    set: &'a [String],
}

/// A number or a fact.
#[derive(Serialize, JsonSchema)]
struct Entry<'a> {
    /// What a person reads.
    label: &'a str,
    /// A short remark. May be empty.
    note: &'a str,
    /// What it is.
    #[serde(flatten)]
    what: What<'a>,
}

/// What an entry is.
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
enum What<'a> {
    /// A number.
    Number {
        /// In SI (temperatures in kelvin).
        value: f64,
        /// Kind of quantity.
        dimension: Dimension,
        /// Symbol of its SI unit; empty for plain numbers.
        unit: &'static str,
        /// How sure it is; `null` where it is exact or a setting.
        band: &'a Option<Band>,
    },
    /// A fact in words.
    Fact {
        /// The words.
        text: &'a str,
    },
}

/// Keys under a heading.
#[derive(Serialize, JsonSchema)]
struct Heading<'a> {
    /// The heading.
    title: &'a str,
    /// Keys in `values`.
    keys: Vec<&'a str>,
}

/// The text of `--json`.
pub(crate) fn text(
    common: &Common,
    sheets: &[Loaded],
    answers: &[Answer],
) -> Result<String, serde_json::Error> {
    // An answer about several sheets is the only one.
    let others = sheets.get(answers.len()..).unwrap_or_default();
    let answers = sheets.iter().zip(answers).map(|(sheet, answer)| written(sheet, others, answer)).collect();
    pretty(&Document { answers, ..Document::dated(common.date.as_deref()) })
}

/// The same of a page: everything that stands on it.
pub(crate) fn page(page: &Page<'_>) -> Result<String, serde_json::Error> {
    let answers = page.topics.iter().filter_map(|topic| topic.answer.as_ref().ok());
    let unanswered = page.topics.iter().filter_map(|topic| {
        let reason = topic.answer.as_ref().err()?;
        Some(Unanswered { command: topic.command, reason })
    });
    let readings = page.readings.iter().map(|source| Origin {
        file: &source.file,
        sha256: source.sha256.clone(),
        set: &[],
    });
    pretty(&Document {
        answers: answers
            .map(|answer| {
                let beside = if answer.command == "compare" { page.beside } else { &[] };
                written(page.sheet, beside, answer)
            })
            .collect(),
        figure: Some(&page.figure),
        flux: page.flux.as_ref().ok().and_then(Option::as_ref),
        unanswered: unanswered.collect(),
        sources: page.sources(),
        readings: readings.collect(),
        ..Document::dated(page.date)
    })
}

impl<'a> Document<'a> {
    /// Without anything yet.
    fn dated(date: Option<&'a str>) -> Self {
        Self {
            program: env!("CARGO_PKG_VERSION"),
            format: ANSWER_VERSION,
            date,
            answers: Vec::new(),
            figure: None,
            flux: None,
            unanswered: Vec::new(),
            sources: Vec::new(),
            readings: Vec::new(),
        }
    }
}

fn pretty(document: &Document<'_>) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(document).map(|text| text + "\n")
}

fn written<'a>(sheet: &'a Loaded, others: &'a [Loaded], answer: &'a Answer) -> Written<'a> {
    let items = answer.groups.iter().flat_map(|g| &g.items);
    let values = items.map(|item| {
        let what = match &item.value {
            Value::Number(m) => What::Number {
                value: m.value,
                dimension: m.dimension,
                unit: m.dimension.si_symbol(),
                band: &m.band,
            },
            Value::Text(text) => What::Fact { text },
        };
        (item.key.as_str(), Entry { label: &item.label, note: &item.note, what })
    });
    let heading = |g: &'a coilwright_magnet::answers::answer::Group| Heading {
        title: &g.title,
        keys: g.items.iter().map(|i| i.key.as_str()).collect(),
    };
    Written {
        command: &answer.command,
        magnet: &answer.magnet,
        sheet: origin(sheet),
        others: others.iter().map(origin).collect(),
        // A reader of JSON is spared the places in the sentence; the values keep the numbers.
        summary: shown::summary(answer, UnitSystem::Si),
        values: values.collect(),
        groups: answer.groups.iter().map(heading).collect(),
        series: &answer.series,
        limits: &answer.limits,
        assumptions: &answer.assumptions,
        warnings: &answer.warnings,
        cautions: &answer.cautions,
        next_measurements: &answer.next_measurements,
    }
}

fn origin(sheet: &Loaded) -> Origin<'_> {
    Origin { file: &sheet.file, sha256: sheet.sha256(), set: &sheet.set }
}

/// JSON Schema of `--json`.
pub(crate) fn answer_schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(Document<'static>);
    schema.insert("title".into(), format!("Coilwright answers, format {ANSWER_VERSION}").into());
    schema.to_value()
}
