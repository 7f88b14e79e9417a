//! What the program writes and reads against the schemas that it publishes, by a validator that knows nothing of it
//! (JSON Schema, draft 2020-12).
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use crate::in_examples::{json, run};
use jsonschema::Validator;
use serde_json::Value;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The schema of a format, which must itself be one.
fn validator(of: &str) -> Validator {
    let schema = serde_json::from_str(&run(&["schema", of]).1).unwrap();
    jsonschema::meta::validate(&schema).unwrap_or_else(|e| panic!("schema of {of}: {e}"));
    jsonschema::validator_for(&schema).unwrap_or_else(|e| panic!("schema of {of}: {e}"))
}

fn assert_valid(validator: &Validator, instance: &Value, what: &str) {
    let errors: Vec<String> =
        validator.iter_errors(instance).map(|e| format!("{} at {}", e, e.instance_path())).take(5).collect();
    assert!(errors.is_empty(), "{what}: {errors:#?}");
}

/// Whether the validator minds a change of an instance that must not pass: it does look.
fn minds(validator: &Validator, instance: &Value, spoil: impl Fn(&mut Value)) -> bool {
    let mut other = instance.clone();
    spoil(&mut other);
    assert_ne!(&other, instance);
    !validator.is_valid(&other)
}

const POT: &str = "gantry-pot.sheet.toml";
const BAR: &str = "lathe-bar.sheet.toml";
const RING: &str = "loudspeaker-ring.sheet.toml";
const READINGS: &str = "readings/gantry-pot.csv";

/// One run at least of every command that has `--json`.
#[test]
fn every_answer_is_as_its_schema_says() {
    let validator = validator("answer");
    let runs: &[&[&str]] = &[
        &["winding", POT],
        &["winding", POT, BAR],
        &["field", POT, "--axis"],
        &["field", RING],
        &["pull", POT],
        &["heat", POT],
        &["heat", BAR, "--duration", "5 min"],
        &["heat", POT, "--headroom", "--voltage", "12..36V/4"],
        &["switch", POT],
        &["audit", POT, "--readings", READINGS],
        &["fit", BAR, "--readings", "readings/lathe-bar.csv"],
        &["compare", RING, "--with", "body.thickness=20mm", "--need", "pull >= 90 N"],
        &["report", RING],
        &["pull", RING, "--sweep", "body.inner_diameter=20mm,32mm,80mm"],
    ];
    for run in runs {
        assert_valid(&validator, &json(run), &run.join(" "));
    }
    let answer = json(&["winding", POT]);
    assert!(minds(&validator, &answer, |a| a["format"] = "one".into()));
    // A number that is none is written as null.
    assert!(minds(&validator, &answer, |a| {
        a["answers"][0]["values"]["current"]["value"] = Value::Null;
    }));
    assert!(minds(&validator, &answer, |a| {
        a["answers"][0].as_object_mut().unwrap().remove("cautions");
    }));
}

#[test]
fn every_example_is_as_the_schema_of_sheets_says() {
    let validator = validator("sheet");
    let mut seen = 0;
    for file in std::fs::read_dir(root().join("examples")).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            let table: toml::Table = toml::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
            let sheet = serde_json::to_value(table).unwrap();
            assert_valid(&validator, &sheet, &path.display().to_string());
            assert!(minds(&validator, &sheet, |s| s["form"] = "teapot".into()), "{}", path.display());
            assert!(minds(&validator, &sheet, |s| s["nonsense"] = "1 mm".into()), "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen >= 3, "only {seen} examples");
}
