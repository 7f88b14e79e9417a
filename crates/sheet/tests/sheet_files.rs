//! The starting sheets, the examples, the editors' schema, and whatever else may be thrown at the reader.

use coilwright_sheet::sheet::{Form, Sheet, json_schema, template};
use proptest::prelude::*;

const EXAMPLES: [(&str, &str, Form); 3] = [
    ("gantry-pot", include_str!("../../../examples/gantry-pot.sheet.toml"), Form::Pot),
    ("lathe-bar", include_str!("../../../examples/lathe-bar.sheet.toml"), Form::Bar),
    ("loudspeaker-ring", include_str!("../../../examples/loudspeaker-ring.sheet.toml"), Form::Ring),
];

#[test]
fn examples_are_sound_and_marked_invented() {
    for (file, text, form) in EXAMPLES {
        let (sheet, remarks) = Sheet::parse(text, file).unwrap_or_else(|e| panic!("{file}: {e:#?}"));
        assert!(remarks.is_empty(), "{file}: {remarks:?}");
        assert_eq!(sheet.form(), form);
        assert_eq!(sheet.flag("invented"), Some(true));
        assert!(text.contains("INVENTED DATA"));
        assert_eq!(sheet.value("workpiece.thickness"), Some(0.004));
    }
}

/// Ohm's law: the nameplate of the gantry's pot cannot be true, which is what the demo is about.
#[test]
fn the_gantry_pots_nameplate_contradicts_itself() {
    let (sheet, _) = Sheet::parse(EXAMPLES[0].1, "f").unwrap();
    let value = |path: &str| sheet.value(path).unwrap();
    let (v, i, p) = (value("nameplate.voltage"), value("nameplate.current"), value("nameplate.power"));
    assert!((v * i / p - 1.0).abs() > 0.2, "{} W against {p} W", v * i);
    assert!((v * v / value("winding.resistance") / p - 1.0).abs() > 0.2);
}

#[test]
fn starting_sheets_are_sound() {
    for form in Form::ALL {
        let text = template(form);
        let (sheet, remarks) =
            Sheet::parse(&text, form.word()).unwrap_or_else(|e| panic!("{form}: {e:#?}\n{text}"));
        assert!(remarks.is_empty(), "{form}: {remarks:?}");
        assert_eq!(sheet.form(), form);
    }
}

/// Every line that is commented out may be taken in, but for those that replace another.
#[test]
fn what_is_commented_out_is_sound_too() {
    for form in Form::ALL {
        let text = template(form);
        let (sheet, _) = Sheet::parse(&text, form.word()).unwrap();
        let mut table = String::new();
        let mut tried = 0;
        for line in text.lines().take_while(|l| !l.contains("[[")) {
            let bare = line.trim_start_matches("# ");
            if let Some(name) = bare.strip_prefix('[').and_then(|l| l.strip_suffix(']')) {
                table = format!("{name}.");
            }
            let assignment = bare.split_once(" = ").filter(|(key, _)| !key.contains(' '));
            if let (true, Some((key, rest))) = (line.starts_with("# "), assignment) {
                let value = rest.split("  #").next().unwrap().trim();
                if let Err(fault) = sheet.clone().set(&format!("{table}{key}"), value) {
                    let replaces = ["cannot stand beside", "does not apply to a"]
                        .iter()
                        .any(|m| fault.message.contains(m));
                    assert!(replaces, "{form}: {line}: {fault}");
                }
                tried += 1;
            }
        }
        assert!(tried > 30, "{form}: {tried}");
    }
}

#[test]
fn the_schema_knows_every_key_of_the_starting_sheets() {
    let schema = json_schema();
    for form in Form::ALL {
        let (sheet, _) = Sheet::parse(&template(form), "f").unwrap();
        for path in sheet.paths() {
            let pointer = format!("/properties/{}", path.replace('.', "/properties/"));
            let entry = schema.pointer(&pointer).unwrap_or_else(|| panic!("{path} is not in the schema"));
            assert!(entry["description"].is_string(), "{path}");
        }
        let rule = schema["allOf"]
            .as_array()
            .unwrap()
            .iter()
            .find(|r| r["if"]["properties"]["form"]["const"] == form.word());
        assert!(rule.is_some(), "{form}");
    }
    assert_eq!(schema["properties"]["drive"]["properties"]["voltage"]["type"], "string");
    assert_eq!(schema["properties"]["winding"]["properties"]["turns"]["type"][0], "number");
    assert_eq!(schema["additionalProperties"], false);
}

/// A starting sheet with some stretches replaced, doubled or cut out.
fn damaged() -> impl Strategy<Value = String> {
    let cut = (any::<prop::sample::Index>(), 0usize..12, "\\PC{0,6}|[=\\[\\]{}\"'#\n.]{0,4}|nan|1e999|-");
    (prop::sample::select(Form::ALL.to_vec()), prop::collection::vec(cut, 1..6)).prop_map(|(form, cuts)| {
        let mut text: Vec<char> = template(form).chars().collect();
        for (index, length, insert) in cuts {
            let at = index.index(text.len());
            let end = (at + length).min(text.len());
            text.splice(at..end, insert.chars());
        }
        text.into_iter().collect()
    })
}

/// What is wrong can be pointed at, and has words.
fn told(text: &str) -> Result<(), TestCaseError> {
    if let Err(all) = Sheet::parse(text, "f") {
        prop_assert!(!all.is_empty());
        for fault in all {
            prop_assert!(!fault.message.is_empty());
            if let Some(span) = fault.span {
                prop_assert!(text.get(span.clone()).is_some(), "{span:?}: {}", fault.message);
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn damaged_sheets_are_told(text in damaged()) {
        told(&text)?;
    }

    #[test]
    fn any_text_is_told(text in "\\PC{0,80}|[a-z=\\[\\]\"{}., \n#0-9]{0,120}") {
        told(&text)?;
    }

    #[test]
    fn any_bytes_are_told(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let read = Sheet::parse_bytes(&bytes, "f");
        prop_assert!(read.is_err());
    }

    #[test]
    fn any_setting_is_told(path in "[a-z_.]{0,20}|body.pole_diameter|winding.turns", text in "\\PC{0,20}") {
        let (mut sheet, _) = Sheet::parse(&template(Form::Pot), "f").unwrap();
        if let Err(fault) = sheet.set(&path, &text) {
            prop_assert!(!fault.message.is_empty());
        }
    }
}
