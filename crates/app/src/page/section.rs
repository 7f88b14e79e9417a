//! An answer as the parts of a section: its sentence, rows with bars, curves, cautions beside what they are about, notes.

use super::band_bar::{Bar, Scales};
use crate::shown;
use coilwright_magnet::answers::answer::{Answer, Caution, Item, Series, Value};
use coilwright_magnet::quantity::UnitSystem;

/// Contributors to a band that are named.
const NAMED: usize = 4;

/// What an answer says.
pub(super) struct Section<'a> {
    /// In one sentence.
    pub(super) sentence: String,
    /// Rows under headings.
    pub(super) groups: Vec<Group<'a>>,
    /// Curves.
    pub(super) curves: Vec<Curve<'a>>,
    /// What is to be known besides: a name and a text.
    pub(super) notes: Vec<(&'static str, String)>,
    /// Cautions about nothing that is shown.
    pub(super) cautions: Vec<&'a Caution>,
}

/// Rows under a heading.
pub(super) struct Group<'a> {
    pub(super) title: &'a str,
    pub(super) rows: Vec<Row<'a>>,
}

/// A number or fact.
pub(super) struct Row<'a> {
    /// Name of the item in its answer.
    pub(super) key: &'a str,
    pub(super) label: &'a str,
    /// A number with its unit, or words.
    pub(super) value: String,
    /// The value in SI, if it is a number.
    pub(super) si: Option<f64>,
    /// The 95 % interval, `388 … 436`; empty without a band.
    pub(super) interval: String,
    pub(super) bar: Option<Bar>,
    pub(super) note: &'a str,
    pub(super) cautions: Vec<&'a Caution>,
}

/// A curve and what it warns of.
pub(super) struct Curve<'a> {
    pub(super) series: &'a Series,
    pub(super) cautions: Vec<&'a Caution>,
}

impl<'a> Section<'a> {
    /// The section of an answer. A caution in the same words stands beside the first number it is about.
    pub(super) fn of(answer: &'a Answer, surroundings_k: f64, units: UnitSystem) -> Self {
        let scales = Scales::of(answer, surroundings_k, units);
        let mut said: Vec<&str> = Vec::new();
        let mut about = |key: &str| -> Vec<&'a Caution> {
            let here = answer.cautions.iter().filter(|caution| caution.about == key);
            let new: Vec<&Caution> = here.filter(|caution| !said.contains(&caution.text.as_str())).collect();
            said.extend(new.iter().map(|caution| caution.text.as_str()));
            new
        };
        let groups = answer.groups.iter().map(|group| Group {
            title: &group.title,
            rows: group
                .items
                .iter()
                .map(|item| row(item, scales.bar(item), about(&item.key), units))
                .collect(),
        });
        let groups = groups.collect();
        let curves = answer.series.iter().filter(|series| drawable(series));
        let curves = curves.map(|series| Curve { series, cautions: about(&series.key) }).collect();
        let cautions =
            answer.cautions.iter().filter(|caution| !said.contains(&caution.text.as_str())).collect();
        Self {
            sentence: shown::sentence(answer, units),
            groups,
            curves,
            notes: notes(answer, units),
            cautions,
        }
    }
}

fn row<'a>(item: &'a Item, bar: Option<Bar>, cautions: Vec<&'a Caution>, units: UnitSystem) -> Row<'a> {
    let (value, interval) = match &item.value {
        Value::Text(text) => (text.clone(), String::new()),
        Value::Number(measure) => (shown::value(measure, units), shown::parts(measure, units).interval),
    };
    Row {
        key: &item.key,
        label: &item.label,
        value,
        si: match &item.value {
            Value::Number(measure) => Some(measure.value),
            Value::Text(_) => None,
        },
        interval,
        bar,
        note: &item.note,
        cautions,
    }
}

/// Whether there is any point to draw.
fn drawable(series: &Series) -> bool {
    series
        .ys
        .iter()
        .any(|column| series.x.values.iter().zip(&column.values).any(|(x, y)| x.is_finite() && y.is_finite()))
}

fn notes(answer: &Answer, units: UnitSystem) -> Vec<(&'static str, String)> {
    let mut notes: Vec<(&'static str, String)> = Vec::new();
    notes.extend(shown::open_limits(answer, units).into_iter().map(|text| ("Limit", sentence(text))));
    notes.extend(answer.warnings.iter().map(|warning| ("Mind", sentence(warning.clone()))));
    if let Some((item, measure)) = shown::main_number(answer) {
        let parts = shown::least_sure(measure, NAMED);
        if !parts.is_empty() {
            notes.push(("Least sure", format!("What makes the range of the {}: {parts}.", item.label)));
        }
        for advice in answer.next_measurements.iter().take(NAMED) {
            let then = shown::then(advice, measure, units);
            notes.push(("Measure next", format!("{}; then the {} is {then}.", advice.text, item.label)));
        }
    }
    notes
}

/// With a full stop.
fn sentence(mut text: String) -> String {
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    text
}
