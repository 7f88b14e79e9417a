//! What may stand in a sheet: each key, what it is, and which words it takes where it takes a few.

use crate::ask::json_schema;
use coilwright_magnet::material::{permanent_names, soft_names, solid_names, thermal_class_names};
use serde::Serialize;
use serde_json::Value;

/// A key of a sheet.
#[derive(Debug, Serialize)]
pub(super) struct Key {
    path: String,
    /// What it is, in a sentence or two.
    says: String,
    /// The words that it takes; none where it takes a number or a text.
    words: Vec<String>,
}

/// Every key of a table.
pub(super) fn keys() -> Vec<Key> {
    let schema = json_schema();
    let mut found = Vec::new();
    for (table, inside) in properties(&schema) {
        found.extend(properties(inside).map(|(leaf, of)| key(format!("{table}.{leaf}"), of)));
    }
    found
}

fn properties(schema: &Value) -> impl Iterator<Item = (&String, &Value)> {
    schema.get("properties").and_then(Value::as_object).into_iter().flatten()
}

fn key(path: String, of: &Value) -> Key {
    let says = of.get("description").and_then(Value::as_str).unwrap_or_default().to_owned();
    let listed = of.get("enum").and_then(Value::as_array);
    let listed = listed.map(|words| words.iter().filter_map(Value::as_str).map(str::to_owned).collect());
    let words = listed.unwrap_or_else(|| named(&path));
    Key { path, says, words }
}

/// Names of what is built in; a sheet may bring others.
fn named(path: &str) -> Vec<String> {
    let owned = |names: &mut dyn Iterator<Item = &'static str>| names.map(str::to_owned).collect();
    match path {
        "body.material" | "body.pole_material" | "workpiece.material" | "keeper.material" => {
            owned(&mut soft_names())
        }
        "body.grade" => owned(&mut permanent_names()),
        "surroundings.plate_material" => owned(&mut solid_names()),
        "winding.thermal_class" | "nameplate.thermal_class" => owned(&mut thermal_class_names()),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_say_what_they_are_and_which_words_they_take() {
        let keys = keys();
        let find = |path: &str| keys.iter().find(|key| key.path == path).expect("a key");
        assert!(find("body.material").words.iter().any(|word| word == "low-carbon steel"));
        assert_eq!(find("winding.conductor").words, ["copper", "aluminium"]);
        assert!(find("winding.turns").words.is_empty() && !find("winding.turns").says.is_empty());
    }
}
