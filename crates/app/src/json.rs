//! Answers as JSON, always SI, and the schemas of what is written and read.

use crate::shown;
use coilwright_magnet::answers::answer::{ANSWER_VERSION, Answer};
use coilwright_magnet::quantity::UnitSystem;
use schemars::JsonSchema;
use serde::Serialize;

/// What `--json` writes: the answer, or for several sheets a list of answers in their order.
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
pub(crate) enum Output<'a> {
    /// About one sheet.
    One(&'a Answer),
    /// About several sheets.
    Several(&'a [Answer]),
}

/// The text of `--json`.
pub(crate) fn text(answers: &[Answer]) -> Result<String, serde_json::Error> {
    // A reader of JSON is spared the places in the sentence; the items keep the numbers.
    let answers: Vec<Answer> =
        answers.iter().map(|a| Answer { summary: shown::summary(a, UnitSystem::Si), ..a.clone() }).collect();
    let output = match &answers[..] {
        [answer] => Output::One(answer),
        several => Output::Several(several),
    };
    serde_json::to_string_pretty(&output).map(|text| text + "\n")
}

/// JSON Schema of `--json`.
pub(crate) fn answer_schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(Output<'static>);
    schema.insert("title".into(), format!("Coilwright answer, version {ANSWER_VERSION}").into());
    schema.to_value()
}
