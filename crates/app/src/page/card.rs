//! The winding card: what whoever winds the coil needs, with limits to accept it by and room for what is found.

use super::Page;
use crate::shown;
use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::caution;

/// Numbers on the card: key in the answer, and the entry of the sheet that may have been assumed for it.
const NUMBERS: [(&str, &str); 9] = [
    ("wire_diameter", "winding.wire"),
    ("wire_overall_diameter", "winding.wire"),
    ("turns", "winding.turns"),
    ("turns_per_layer", "winding.turns"),
    ("layers", "winding.turns"),
    ("mean_turn_length", "winding.outer_diameter"),
    ("wire_length", "winding.turns"),
    ("conductor_mass", "winding.turns"),
    ("resistance_20", "winding.resistance"),
];
/// Words on the card: what they are about, and where they stand.
const WORDS: [(&str, &[&str]); 4] = [
    ("conductor", &["winding.conductor"]),
    ("direction of the current, looking at the face", &["winding.direction"]),
    ("impregnation", &["winding.impregnation"]),
    ("thermal class", &["winding.thermal_class", "nameplate.thermal_class"]),
];

/// What the card rests on.
pub(super) const SOURCES: [&str; 2] = [
    "IEC 60034-1 and DIN VDE 0580 (tests of a winding; from memory)",
    "EN 50191 (places for electrical tests; from memory)",
];

/// A line of the card.
pub(super) struct Line {
    pub(super) what: String,
    pub(super) asked: String,
    /// It does not stand in the sheet.
    pub(super) assumed: bool,
    /// From where to where it is accepted; empty where nothing limits it.
    pub(super) accept: String,
}

/// The lines of the card of a winding's answer.
pub(super) fn lines(page: &Page<'_>, answer: &Answer) -> Vec<Line> {
    let assumed = |path: &str| page.assumptions().iter().any(|assumption| assumption.path == path);
    let mut lines = Vec::new();
    for (what, paths) in WORDS {
        let given = paths.iter().find_map(|path| page.sheet.sheet.word(path));
        let taken = || page.assumptions().into_iter().find(|a| a.path == paths[0] && !a.word.is_empty());
        let word = given.map(str::to_owned).or_else(|| taken().map(|assumption| assumption.word.clone()));
        if let Some(asked) = word {
            lines.push(Line { what: what.into(), asked, assumed: given.is_none(), accept: String::new() });
        }
    }
    for (key, path) in NUMBERS {
        let Some(item) = answer.item(key) else { continue };
        let Value::Number(measure) = &item.value else { continue };
        lines.push(Line {
            what: item.label.clone(),
            asked: shown::value(measure, page.units),
            assumed: assumed(path),
            accept: shown::range(measure, page.units),
        });
    }
    let by = "by the standard that applies, such as IEC 60034-1 or DIN VDE 0580 (from memory)";
    for what in ["insulation resistance", "voltage test, winding to iron"] {
        lines.push(Line { what: what.into(), asked: by.into(), assumed: false, accept: String::new() });
    }
    lines
}

/// What is to be known to use the card.
pub(super) fn notes() -> [String; 2] {
    [
        "Accepted is the 95 % range of this report: a winding outside it is another than the one computed here. Resistance is \
         measured with the winding at the room's temperature all through, and taken to 20 °C."
            .into(),
        format!(
            "Caution: a voltage test can kill. It is made by whoever is licensed to, at a place made for it (EN 50191, from \
             memory). {}",
            caution::DEFER
        ),
    ]
}
