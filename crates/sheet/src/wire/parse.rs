//! Reading a wire from text.

use super::{Grade, Wire};
use crate::quantity::{Dimension, Quantity};

/// Why a text does not name a wire.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WireError {
    /// Not understood.
    #[error("'{text}' is not a wire: {reason}; write it like '0.4 mm grade 2', '0.4 mm bare' or 'AWG 27'")]
    Text {
        /// As given.
        text: String,
        /// What is wrong.
        reason: String,
    },
    /// A conductor that is no winding wire.
    #[error("a conductor of {diameter_mm} mm is outside 0.01 mm to 15 mm")]
    Size {
        /// mm.
        diameter_mm: f64,
    },
    /// A gauge outside the range.
    #[error("AWG {number} is outside 0000 to 50")]
    Gauge {
        /// Gauge number.
        number: i32,
    },
    /// A British gauge outside the range.
    #[error("SWG {number} is outside 0 to 50")]
    BritishGauge {
        /// Gauge number.
        number: i32,
    },
}

pub(super) fn wire(text: &str) -> Result<Wire, WireError> {
    let fault = |reason: String| WireError::Text { text: text.to_string(), reason };
    let lower = text.trim().to_lowercase();
    let (size, grade) = without_grade(&lower).map_err(fault)?;
    let enamel = grade.unwrap_or(Grade::One);
    let (gauge, size) = gauge_of(&size);
    let mut wire = match gauge {
        Some(gauge) => {
            let (number, tolerance) = split_tolerance(&size);
            let number = gauge_number(number).map_err(fault)?;
            let mut wire = match gauge {
                Gauge::American => Wire::awg(number, enamel)?,
                Gauge::British => Wire::swg(number, enamel)?,
            };
            if let Some(tolerance) = tolerance {
                wire.diameter_half_width_m = half_width_m(tolerance, wire.diameter_m).map_err(fault)?;
            }
            wire
        }
        None => {
            let size = Quantity::parse(&size, Dimension::Length).map_err(|e| fault(e.to_string()))?;
            let mut wire = Wire::new(size.value, enamel)?;
            if size.half_width > 0.0 {
                wire.diameter_half_width_m = size.half_width;
            }
            wire
        }
    };
    if wire.diameter_half_width_m >= 0.5 * wire.diameter_m {
        return Err(fault("its tolerance is not less than half the diameter".into()));
    }
    wire.grade_is_assumed = grade.is_none();
    Ok(wire)
}

enum Gauge {
    American,
    British,
}

/// The gauge that a size is told by, before or behind its number, and the size without it. `cul`, enamelled copper in the
/// trade's German, is followed by a diameter in mm.
fn gauge_of(size: &str) -> (Option<Gauge>, String) {
    let (number, tolerance) = split_tolerance(size);
    let tolerance = tolerance.map_or(String::new(), |t| format!(" ± {t}"));
    for (word, gauge) in [("awg", Gauge::American), ("swg", Gauge::British)] {
        if let Some(number) = number.strip_prefix(word).or(number.strip_suffix(word)) {
            return (Some(gauge), format!("{}{tolerance}", number.trim()));
        }
    }
    match number.strip_prefix("cul").or(number.strip_suffix("cul")).map(str::trim) {
        Some(bare)
            if bare.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') && !bare.is_empty() =>
        {
            (None, format!("{bare} mm{tolerance}"))
        }
        Some(with_unit) => (None, format!("{with_unit}{tolerance}")),
        None => (None, size.to_owned()),
    }
}

/// The text with the grade cut out of it, and the grade if it names one.
fn without_grade(text: &str) -> Result<(String, Option<Grade>), String> {
    if let Some((before, after)) = text.split_once("bare") {
        return Ok((format!("{before}{after}"), Some(Grade::Bare)));
    }
    for (short, grade) in [("g1", Grade::One), ("g2", Grade::Two), ("g3", Grade::Three)] {
        if let Some(before) = text.trim_end().strip_suffix(short)
            && !before.ends_with(|c: char| c.is_alphanumeric())
        {
            return Ok((before.trim_end().to_owned(), Some(grade)));
        }
    }
    let Some((before, after)) = text.split_once("grade") else {
        return Ok((text.to_string(), None));
    };
    let after = after.trim_start();
    let word = after.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    let grade = match word {
        "1" => Grade::One,
        "2" => Grade::Two,
        "3" => Grade::Three,
        _ => return Err(format!("'{word}' is no grade (1, 2 or 3)")),
    };
    Ok((format!("{before}{}", &after[word.len()..]), Some(grade)))
}

fn split_tolerance(text: &str) -> (&str, Option<&str>) {
    for sign in ["±", "+/-"] {
        if let Some((number, tolerance)) = text.split_once(sign) {
            return (number.trim(), Some(tolerance.trim()));
        }
    }
    (text.trim(), None)
}

/// `1 %` or `0.01 mm` as metres of half-width.
fn half_width_m(text: &str, diameter_m: f64) -> Result<f64, String> {
    let (dimension, scale) =
        if text.ends_with('%') { (Dimension::Ratio, diameter_m) } else { (Dimension::Length, 1.0) };
    let tolerance = Quantity::parse(text, dimension).map_err(|e| e.to_string())?.value;
    if tolerance < 0.0 { Err(format!("the tolerance '{text}' is negative")) } else { Ok(scale * tolerance) }
}

/// `27`, `0`, `00`, `4/0`.
fn gauge_number(text: &str) -> Result<i32, String> {
    let noughts = match text.strip_suffix("/0") {
        Some(count) => count.parse().ok(),
        None if !text.is_empty() && text.chars().all(|c| c == '0') => i32::try_from(text.len()).ok(),
        None => None,
    };
    match noughts {
        Some(count) => Ok(1i32.saturating_sub(count)),
        None => text.parse::<u16>().map(i32::from).map_err(|_| format!("'{text}' is no gauge number")),
    }
}
