//! JSON Schema of the sheet, for completion and checks in editors; derived from the table of keys.

use super::schema::{Form, KEYS, Key, Kind, MATERIAL_KEYS, REGION_KEYS, Range, TABLES};
use crate::quantity::Dimension;
use serde_json::{Map, Value, json};

/// The schema (draft 2020-12) that a sheet satisfies when its TOML is taken as JSON.
///
/// What a schema cannot say (units within a text, crossing outlines) only reading the sheet tells.
pub fn json_schema() -> Value {
    let mut properties = Map::new();
    for key in keys_of("") {
        properties.insert(key.leaf().into(), value_schema(key));
    }
    for (table, heading) in TABLES.iter().filter(|(table, _)| !table.is_empty()) {
        let schema = table_schema(heading, &keys_of(table));
        match table.strip_suffix(".*") {
            Some(name) => {
                let free = json!({"type": "object", "description": heading, "additionalProperties": schema});
                properties.insert(name.into(), free);
            }
            None => {
                properties.insert((*table).into(), schema);
            }
        }
    }
    let blocks = |text: &str, keys: &'static [Key]| {
        let mut schema = table_schema(text, &keys.iter().collect::<Vec<_>>());
        let required: Vec<_> =
            keys.iter().filter(|k| k.required.contain(Form::Profile)).map(|k| k.leaf()).collect();
        schema["required"] = json!(required);
        json!({"type": "array", "items": schema})
    };
    properties.insert("region".into(), blocks("A region of a profile", REGION_KEYS));
    properties.insert("material".into(), blocks("A material of your own", MATERIAL_KEYS));
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A magnet's sheet",
        "description": format!("Version {} of the format", super::SHEET_VERSION),
        "type": "object",
        "required": ["form"],
        "additionalProperties": false,
        "properties": properties,
        "allOf": Form::ALL.map(form_rule),
    })
}

fn keys_of(table: &str) -> Vec<&'static Key> {
    KEYS.iter().filter(|key| key.table() == table).collect()
}

fn table_schema(description: &str, keys: &[&Key]) -> Value {
    let properties: Map<_, _> = keys.iter().map(|key| (key.leaf().to_owned(), value_schema(key))).collect();
    let mut schema = json!({
        "type": "object",
        "description": description,
        "additionalProperties": false,
        "properties": properties,
    });
    let exclusive: Vec<_> = keys
        .iter()
        .flat_map(|key| key.excludes.iter().map(move |other| (key, other)))
        .filter(|(key, other)| other.rsplit_once('.').is_some_and(|(t, _)| t == key.table()))
        .filter_map(|(key, other)| Some((key.leaf(), other.rsplit_once('.')?.1)))
        .map(|(a, b)| json!({"not": {"required": [a, b]}}))
        .collect();
    if !exclusive.is_empty() {
        schema["allOf"] = json!(exclusive);
    }
    schema
}

/// What a form needs, and which keys of which tables it has.
fn form_rule(form: Form) -> Value {
    let mut properties = Map::new();
    let mut needed = Vec::new();
    for (table, _) in TABLES.iter().filter(|(table, _)| !table.is_empty() && !table.ends_with('*')) {
        let all = keys_of(table);
        let has: Vec<_> = all.iter().filter(|k| k.forms.contain(form)).map(|k| k.leaf()).collect();
        let required: Vec<_> = all.iter().filter(|k| k.required.contain(form)).map(|k| k.leaf()).collect();
        if has.is_empty() {
            properties.insert((*table).into(), json!(false));
        } else if has.len() < all.len() || !required.is_empty() {
            properties.insert((*table).into(), json!({"propertyNames": {"enum": has}, "required": required}));
        }
        if !required.is_empty() {
            needed.push((*table).to_owned());
        }
    }
    if form == Form::Profile {
        needed.push("region".into());
    } else {
        properties.insert("region".into(), json!(false));
    }
    json!({
        "if": {"properties": {"form": {"const": form.word()}}, "required": ["form"]},
        "then": {"properties": properties, "required": needed},
    })
}

fn value_schema(key: &Key) -> Value {
    let mut schema = match key.kind {
        Kind::Quantity(Dimension::Count | Dimension::Ratio) => json!({"type": ["number", "string"]}),
        Kind::Quantity(_) | Kind::Text | Kind::AnyQuantity => json!({"type": "string"}),
        Kind::Word(words) => json!({"enum": words}),
        Kind::WordOr(words, _) => json!({"anyOf": [{"enum": words}, {"type": "string"}]}),
        Kind::Flag => json!({"type": "boolean"}),
        Kind::Outline => json!({
            "type": "array",
            "minItems": 3,
            "items": {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 5},
        }),
        Kind::Vector(_) => json!({
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2},
            ],
        }),
        Kind::Curve => json!({
            "type": "array",
            "minItems": 2,
            "items": {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2},
        }),
    };
    if key.path == "sheet" {
        schema = json!({"const": super::SHEET_VERSION});
    }
    let what = match key.dimension() {
        Some(d) => format!("{}; {}{}", key.doc, d.name(), limits(key.range)),
        None => key.doc.to_owned(),
    };
    let assumed =
        if key.assumed.is_empty() { String::new() } else { format!(". If left out: {}", key.assumed) };
    schema["description"] = json!(format!("{what}{assumed}"));
    if !key.example.is_empty() && key.kind != Kind::Flag && key.path != "sheet" {
        schema["examples"] = json!([key.example]);
    }
    schema
}

fn limits(range: Range) -> &'static str {
    match range {
        Range::Any => "",
        Range::Positive => ", greater than zero",
        Range::NotNegative => ", zero or more",
        Range::Share => ", greater than zero and at most 1",
        Range::ShareOrNone => ", 0 to 1",
        Range::Whole => ", a whole number",
    }
}
