//! Checks one value against its key.

use super::schema::{Key, Kind, Range};
use super::suggest::{cut, nearest};
use crate::quantity::{Dimension, Quantity, UnitSystem};

/// A value as the sheet has it.
pub(super) enum Raw {
    Text(String),
    /// A bare number, as written.
    Number(String),
    Flag(bool),
    Date(String),
    /// Something no key takes, by name.
    Other(&'static str),
}

impl Raw {
    pub(super) fn of(value: &toml::de::DeValue<'_>) -> Self {
        use toml::de::DeValue;
        match value {
            DeValue::String(s) => Self::Text(s.to_string()),
            DeValue::Integer(i) if i.radix() == 10 => Self::Number(i.as_str().to_owned()),
            DeValue::Integer(i) => match u64::from_str_radix(i.as_str(), i.radix()) {
                Ok(n) => Self::Number(n.to_string()),
                Err(_) => Self::Other("number too large to read"),
            },
            DeValue::Float(f) => Self::Number(f.as_str().to_owned()),
            DeValue::Boolean(b) => Self::Flag(*b),
            DeValue::Datetime(d) => Self::Date(d.to_string()),
            DeValue::Array(_) => Self::Other("list"),
            DeValue::Table(_) => Self::Other("table"),
        }
    }

    /// The text of `--set path=text`.
    pub(super) fn of_argument(text: &str, kind: Kind) -> Self {
        let text = text.trim();
        let unquoted = ['"', '\''].iter().find_map(|q| text.strip_prefix(*q)?.strip_suffix(*q));
        match (kind, text) {
            (Kind::Flag, "true") => Self::Flag(true),
            (Kind::Flag, "false") => Self::Flag(false),
            _ => Self::Text(unquoted.unwrap_or(text).to_owned()),
        }
    }
}

/// A value that passed.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Datum {
    Quantity(Quantity),
    Word(String),
    Flag(bool),
}

/// Why a value did not pass.
pub(super) struct Wrong {
    pub(super) message: String,
    pub(super) hint: String,
    /// Offending bytes within the text of the value, if it is part of it only.
    pub(super) range: Option<std::ops::Range<usize>>,
}

impl Wrong {
    pub(super) fn new(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { message: message.into(), hint: hint.into(), range: None }
    }
}

/// Sizes beyond physical reason, either way; nought is another matter.
const SIZES: [(Dimension, std::ops::RangeInclusive<f64>, &str); 9] = [
    (Dimension::Length, 1e-9..=100.0, "between 1 nm and 100 m"),
    (Dimension::Voltage, 1e-9..=1e5, "between 1 nV and 100 kV"),
    (Dimension::Current, 1e-9..=1e5, "between 1 nA and 100 kA"),
    (Dimension::AmpereTurns, 1e-6..=1e8, "between 1 µA and 100 MA"),
    (Dimension::Resistance, 1e-9..=1e9, "between 1 nΩ and 1 GΩ"),
    (Dimension::Power, 1e-12..=1e9, "between 1 pW and 1 GW"),
    (Dimension::FluxDensity, 1e-12..=100.0, "between 1 pT and 100 T"),
    (Dimension::Force, 1e-9..=1e8, "between 1 nN and 100 MN"),
    (Dimension::Count, 1e-6..=1e7, "at most ten million"),
];
/// Temperatures at which a magnet can be used, K: from the coldest outdoors to where no winding lasts. The laws of copper
/// and of the insulation hold in between.
pub const TEMPERATURES_K: std::ops::RangeInclusive<f64> = 213.15..=773.15;

/// Checks a value; `path` is for the message.
pub(super) fn read(key: &Key, path: &str, raw: &Raw) -> Result<Datum, Wrong> {
    match key.kind {
        Kind::Quantity(dimension) => quantity(key, path, dimension, raw).map(Datum::Quantity),
        Kind::Word(words) => word(path, words, raw, None).map(Datum::Word),
        Kind::WordOr(words, dimension) => match raw {
            Raw::Text(text) if text.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '-') => {
                quantity(key, path, dimension, raw).map(Datum::Quantity)
            }
            _ => word(path, words, raw, Some(dimension)).map(Datum::Word),
        },
        Kind::Flag => match raw {
            Raw::Flag(flag) => Ok(Datum::Flag(*flag)),
            Raw::Text(text) if matches!(text.as_str(), "true" | "false") => {
                Err(Wrong::new(format!("`{path}` is text"), format!("write `{text}` without quotes")))
            }
            other => Err(Wrong::new(format!("`{path}` is {}", named(other)), "write `true` or `false`")),
        },
        Kind::Text => match raw {
            Raw::Text(text) | Raw::Date(text) => Ok(Datum::Word(text.clone())),
            other => Err(Wrong::new(
                format!("`{path}` is {}; text was expected", named(other)),
                format!("write it in quotes, such as \"{}\"", key.example),
            )),
        },
        Kind::AnyQuantity => match raw {
            Raw::Text(text) if Dimension::ALL.iter().any(|d| Quantity::parse(text, *d).is_ok()) => {
                Ok(Datum::Word(text.clone()))
            }
            Raw::Text(text) => Err(Wrong::new(
                format!("`{path}`: `{}` is not a number with a unit", cut(text)),
                format!("write it as \"{}\"", key.example),
            )),
            other => Err(Wrong::new(
                format!("`{path}` is {}; a number with a unit was expected", named(other)),
                format!("write it as \"{}\"", key.example),
            )),
        },
        Kind::Outline | Kind::Vector(_) | Kind::Curve => Err(Wrong::new(
            format!("`{path}` cannot be read here"),
            "it stands in a [[region]] or [[material]]",
        )),
    }
}

fn word(path: &str, words: &[&str], raw: &Raw, or: Option<Dimension>) -> Result<String, Wrong> {
    let list: Vec<_> = words.iter().map(|w| format!("\"{w}\"")).collect();
    let or = or.map_or(String::new(), |d| format!(", or a {} such as \"130 °C\"", d.name()));
    let allowed = format!("{}{or}", list.join(", "));
    let Raw::Text(text) = raw else {
        return Err(Wrong::new(
            format!("`{path}` is {}; a word was expected", named(raw)),
            format!("one of {allowed}"),
        ));
    };
    if let Some(found) = words.iter().find(|w| *w == text) {
        return Ok((*found).to_owned());
    }
    let hint = match nearest(text, words.iter().copied()) {
        Some(meant) => format!("did you mean \"{meant}\"? One of {allowed}"),
        None => format!("one of {allowed}"),
    };
    Err(Wrong::new(format!("`{path}` cannot be \"{}\"", cut(text)), hint))
}

pub(super) fn quantity(key: &Key, path: &str, dimension: Dimension, raw: &Raw) -> Result<Quantity, Wrong> {
    let text = match raw {
        Raw::Text(text) | Raw::Number(text) => text,
        other => {
            return Err(Wrong::new(
                format!("`{path}` is {}; a {} was expected", named(other), dimension.name()),
                format!("write it as \"{}\"", key.example),
            ));
        }
    };
    let quantity = Quantity::parse(text, dimension).map_err(|e| Wrong {
        message: format!("`{path}`: {e}"),
        hint: e.hint,
        range: matches!(raw, Raw::Text(_)).then_some(e.range),
    })?;
    in_range(key, path, &quantity)?;
    Ok(quantity)
}

fn in_range(key: &Key, path: &str, q: &Quantity) -> Result<(), Wrong> {
    let shown = q.dimension.text(q.value, None, UnitSystem::Si);
    let wrong =
        |must: &str, hint: String| Err(Wrong::new(format!("`{path}` must be {must}; it is {shown}"), hint));
    let example = format!("{}, such as \"{}\"", key.doc, key.example);
    match key.range {
        Range::Positive if q.value <= 0.0 => {
            let spare = match key.assumed {
                "" => String::new(),
                assumed => format!("; if it is not known, leave the line out ({assumed})"),
            };
            return wrong("greater than zero", format!("{example}{spare}"));
        }
        Range::NotNegative if q.value < 0.0 => {
            let turned = match path {
                "drive.voltage" | "drive.current" => "; to reverse the leads write `polarity = \"reversed\"`",
                "winding.ampere_turns" => "; to reverse it set `direction`",
                _ => "",
            };
            return wrong("zero or more", format!("{example}{turned}"));
        }
        Range::Share if q.value <= 0.0 || q.value > 1.0 => {
            return wrong("greater than zero and at most 1 (100 %)", example);
        }
        Range::ShareOrNone if !(0.0..=1.0).contains(&q.value) => {
            return wrong("between 0 and 1 (100 %)", example);
        }
        Range::Whole if q.value < 1.0 || q.value.fract() != 0.0 || q.value > 1e9 => {
            return wrong("a whole number, 1 or more", example);
        }
        _ => {}
    }
    // On the whole half-width: what a tolerance reaches is computed too.
    let ends = [q.value - q.half_width, q.value + q.half_width];
    if q.dimension == Dimension::Temperature && !ends.iter().all(|k| TEMPERATURES_K.contains(k)) {
        return Err(Wrong::new(
            format!("`{path}` must be between -60 °C and 500 °C, its tolerance included; it is {shown}"),
            format!("{example}; is it meant in °C? A `K` counts from absolute zero"),
        ));
    }
    match beyond_reason(q.dimension, q.value) {
        Some(words) => wrong(words, example),
        None => Ok(()),
    }
}

/// What the size of a value (SI) has to be, where it is beyond physical reason; it is of either sign, and may be nought.
pub fn beyond_reason(dimension: Dimension, value: f64) -> Option<&'static str> {
    let (_, sizes, words) = SIZES.iter().find(|(own, ..)| *own == dimension)?;
    let size = value.abs();
    (size > 0.0 && !sizes.contains(&size)).then_some(*words)
}

pub(super) fn named(raw: &Raw) -> String {
    match raw {
        Raw::Text(t) => format!("the text \"{}\"", cut(t)),
        Raw::Number(n) => format!("the bare number {}", cut(n)),
        Raw::Flag(f) => format!("`{f}`"),
        Raw::Date(d) => format!("the date {d}"),
        Raw::Other(what) => format!("a {what}"),
    }
}
