//! The one door from sheets to answers, and the one place where an answer is held against the sheet's limits.

pub use coilwright_magnet::ask::{Failure, answer};
pub use coilwright_magnet::question::{
    FieldQuestion, HeadroomQuestion, HeatQuestion, PullQuestion, Question, SwitchQuestion,
};
pub use coilwright_magnet::sheet::{Form, LARGEST_SHEET, Sheet, json_schema, template};

use crate::shown;
use coilwright_magnet::answer::{Answer, Item, Measure, Value};
use coilwright_magnet::quantity::UnitSystem;

/// What a sheet may limit, and the item of an answer that it limits.
const LIMITS: [(&str, &str); 5] = [
    ("limits.current", "current"),
    ("limits.power", "power"),
    ("limits.mass", "mass"),
    ("limits.temperature", "hot_spot"),
    ("limits.surface_temperature", "surface_temperature"),
];

/// How a sheet's limits fare.
#[derive(Debug, Default, PartialEq)]
pub struct Verdict {
    /// In words, those that are exceeded.
    pub exceeded: Vec<String>,
    /// Paths of those that no answer spoke of.
    pub unjudged: Vec<&'static str>,
}

/// Holds the limits of a sheet against answers about it; the first that knows an item decides.
pub fn judge(sheet: &Sheet, answers: &[&Answer], units: UnitSystem) -> Verdict {
    let mut verdict = Verdict::default();
    for (path, key) in LIMITS {
        let Some(limit) = sheet.value(path) else { continue };
        let found = answers.iter().find_map(|answer| number(answer, key));
        match found {
            None => verdict.unjudged.push(path),
            Some((item, measure)) if measure.value > limit => {
                let allowed = Measure { value: limit, dimension: measure.dimension, band: None };
                verdict.exceeded.push(format!(
                    "{} is {}; `{path}` allows {}",
                    item.label,
                    shown::inline(measure, units),
                    shown::inline(&allowed, units)
                ));
            }
            Some(_) => {}
        }
    }
    verdict
}

fn number<'a>(answer: &'a Answer, key: &str) -> Option<(&'a Item, &'a Measure)> {
    answer.groups.iter().flat_map(|group| &group.items).find(|item| item.key == key).and_then(|item| {
        match &item.value {
            Value::Number(measure) => Some((item, measure)),
            Value::Text(_) => None,
        }
    })
}
