//! One number has one value: what several commands tell of one state of one magnet is the same to the last bit, and so is its
//! band where both tell one.
#![allow(clippy::unwrap_used, reason = "tests")]

use crate::in_examples::json;
use serde_json::Value;
use std::collections::BTreeMap;

/// What is read from the field is of its own arrangement, with nothing in front or with the workpiece: it is compared
/// between answers about the same one only.
const OF_THE_OPEN_FIELD: &str = "field";

fn values(command: &str, sheet: &str) -> BTreeMap<String, Value> {
    serde_json::from_value(json(&[command, sheet])["answers"][0]["values"].clone()).unwrap()
}

/// Keys that two answers share, and of which they tell different numbers or bands; how many they share.
fn apart(a: &BTreeMap<String, Value>, b: &BTreeMap<String, Value>, but: &[&str]) -> (Vec<String>, usize) {
    let shared: Vec<&String> =
        a.keys().filter(|key| b.contains_key(*key) && !but.contains(&key.as_str())).collect();
    let differ = |key: &&&String| {
        let (a, b) = (&a[**key], &b[**key]);
        let banded = !a["band"].is_null() && !b["band"].is_null();
        a["value"] != b["value"] || banded && a["band"] != b["band"]
    };
    (
        shared.iter().filter(differ).map(|key| format!("{key}: {} {}", a[*key], b[*key])).collect(),
        shared.len(),
    )
}

#[test]
fn the_same_number_is_the_same_in_every_answer() {
    for sheet in ["gantry-pot.sheet.toml", "lathe-bar.sheet.toml"] {
        let winding = values("winding", sheet);
        let field = values(OF_THE_OPEN_FIELD, sheet);
        let pull = values("pull", sheet);
        let heat = values("heat", sheet);
        // The bar's current runs clockwise: its ampere-turns have a sign where a field is meant, and none of their own.
        let turned = if sheet.contains("bar") { &["ampere_turns"][..] } else { &[] };
        for (a, b, but, least) in [
            (&winding, &pull, turned, 1 - turned.len()),
            (&winding, &field, turned, 1 - turned.len()),
            (&winding, &heat, &[], 3),
            (&pull, &heat, &[], 0),
        ] {
            let (differing, shared) = apart(a, b, but);
            assert!(differing.is_empty(), "{sheet}: {differing:#?}");
            assert!(shared >= least, "{sheet}: {shared} shared");
        }
        assert_eq!(field["ampere_turns"], pull["ampere_turns"]);
        let size = |answer: &BTreeMap<String, Value>| answer["ampere_turns"]["value"].as_f64().unwrap().abs();
        assert_eq!(size(&pull), size(&winding));
    }
}

/// A pull that another answer solves on its own meshes agrees within what either claims (0.3 %).
#[test]
fn pulls_agree_within_their_numerical_error() {
    let sheet = "gantry-pot.sheet.toml";
    let of = |command: &str, key: &str| values(command, sheet)[key]["value"].as_f64().unwrap();
    let pull = of("pull", "pull");
    for (command, key) in [("heat", "pull_cold"), ("switch", "pull")] {
        let other = of(command, key);
        assert!((other - pull).abs() < 3e-3 * pull, "{command}: {other} for {pull}");
    }
}
