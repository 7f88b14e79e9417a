//! The one door from sheets to answers, and the one place where an answer is held against the sheet's limits.

pub use coilwright_magnet::answers::question::{
    FieldQuestion, HeadroomQuestion, HeatQuestion, PullQuestion, Question, SwitchQuestion,
};
pub use coilwright_magnet::failure::Failure;
pub use coilwright_magnet::model::ask::answer;
pub use coilwright_magnet::sheet::{Form, LARGEST_SHEET, Sheet, json_schema, template};

use crate::shown;
use coilwright_magnet::answers::answer::{Answer, Group, Item, Value};
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::uncertainty::measure::Measure;

/// What a sheet may limit, and the items of an answer that it limits: at the end of a run and in the long run alike.
const LIMITS: [(&str, &[&str]); 5] = [
    ("limits.current", &["current", "current_hot", "current_steady"]),
    ("limits.power", &["power", "power_hot", "power_steady"]),
    ("limits.mass", &["mass"]),
    ("limits.temperature", &["hot_spot", "hot_spot_steady"]),
    ("limits.surface_temperature", &["surface_temperature", "surface_temperature_steady"]),
];

/// How a sheet's limits fare.
#[derive(Debug, Default, PartialEq)]
pub struct Verdict {
    /// In words, those that are exceeded.
    pub exceeded: Vec<String>,
    /// Paths of those that no answer spoke of.
    pub unjudged: Vec<&'static str>,
}

/// Holds the limits of a sheet against answers about it; for each item the first answer that knows it decides.
pub fn judge(sheet: &Sheet, answers: &[&Answer], units: UnitSystem) -> Verdict {
    let mut verdict = Verdict::default();
    for (path, keys) in LIMITS {
        let stated = sheet.value(path);
        // A winding's class limits it whether or not the sheet says so once more.
        let class = || answers.iter().find_map(|answer| answer.number("class_limit"));
        let default = if path == "limits.temperature" { class() } else { None };
        let Some(limit) = stated.or(default) else { continue };
        let by = if stated.is_some() { format!("`{path}`") } else { "its thermal class".into() };
        let found: Vec<_> =
            keys.iter().filter_map(|key| answers.iter().find_map(|answer| number(answer, key))).collect();
        if found.is_empty() && stated.is_some() {
            verdict.unjudged.push(path);
        }
        for (group, item, measure) in found.into_iter().filter(|(.., measure)| measure.value > limit) {
            verdict.exceeded.push(against(group, item, measure, (&format!("{by} allows"), limit), units));
        }
    }
    let runaway = answers.iter().flat_map(|a| &a.groups).flat_map(|g| &g.items);
    for item in runaway.filter(|i| i.key == "runaway" || i.key.starts_with("runaway_in_")) {
        if let Value::Text(text) = &item.value {
            verdict.exceeded.push(format!("{}: {text}", item.label));
        }
    }
    let held = answers.iter().find_map(|answer| number(answer, "backup_holds"));
    if let Some(((group, item, measure), asked_s)) = held.zip(sheet.value("backup.hold_time"))
        && measure.value < asked_s
    {
        let asks = ("`backup.hold_time` asks for", asked_s);
        verdict.exceeded.push(against(group, item, measure, asks, units));
    }
    verdict
}

/// An item's number beside what it is held against, in words.
fn against(
    group: &Group,
    item: &Item,
    measure: &Measure,
    (by, limit): (&str, f64),
    units: UnitSystem,
) -> String {
    let limit = Measure { value: limit, dimension: measure.dimension, band: None };
    let (is, limit) = (shown::inline(measure, units), shown::inline(&limit, units));
    format!("{}: {} is {is}; {by} {limit}", group.title, item.label)
}

fn number<'a>(answer: &'a Answer, key: &str) -> Option<(&'a Group, &'a Item, &'a Measure)> {
    let mut items = answer.groups.iter().flat_map(|group| group.items.iter().map(move |item| (group, item)));
    let (group, item) = items.find(|(_, item)| item.key == key)?;
    match &item.value {
        Value::Number(measure) => Some((group, item, measure)),
        Value::Text(_) => None,
    }
}
