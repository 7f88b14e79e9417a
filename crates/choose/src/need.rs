//! What a magnet has to do to be chosen: `pull >= 400 N at 0.2 mm`.

use crate::topic::{TOPICS, Topic};
use coilwright_magnet::answers::answer::State;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::quantity::{Dimension, Quantity};

/// Least and greatest gap at which a pull is needed, m.
const GAPS_M: [f64; 2] = [1e-9, 1.0];

/// A number that must not be less, or not be more, than a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// As it was asked.
    pub text: String,
    /// Place in the list of topics.
    pub(crate) topic: usize,
    /// Whether the number must be at least the limit.
    pub(crate) at_least: bool,
    /// SI.
    pub(crate) limit: f64,
    /// For a pull, the gap at which it is needed, m.
    pub(crate) gap_m: Option<f64>,
}

impl Need {
    /// Reads `NUMBER >= VALUE` or `NUMBER <= VALUE`; a pull may be needed `at` a gap.
    ///
    /// # Errors
    /// A number that is not compared, no sign, a value of another kind, a gap where none has a meaning.
    pub fn parse(text: &str) -> Result<Self, Diagnostic> {
        let text = text.trim();
        let fault = |message: String, hint: &str| Diagnostic::fault(message, hint);
        let Some((name, at_least, rest)) = split(text) else {
            let hint = "write a number, >= or <=, and a value, such as \"pull >= 400 N at 0.2 mm\"";
            return Err(fault(format!("`{text}` says no need"), hint));
        };
        let Some(topic) = TOPICS.iter().position(|t| t.key == name) else {
            let names: Vec<&str> = TOPICS.iter().map(|t| t.key).collect();
            let hint = format!("there are {}", names.join(", "));
            return Err(fault(format!("there is no number `{name}` to need"), &hint));
        };
        let (value, gap) = match rest.split_once(" at ") {
            Some((value, gap)) => (value, Some(gap)),
            None => (rest, None),
        };
        let Topic { dimension, .. } = TOPICS[topic];
        let read = |text: &str, dimension: Dimension| {
            Quantity::parse(text.trim(), dimension).map_err(|e| fault(format!("`{}`: {e}", text.trim()), ""))
        };
        let limit = read(value, dimension)?.value;
        let gap_m = gap.map(|gap| read(gap, Dimension::Length).map(|q| q.value)).transpose()?;
        if gap_m.is_some() && name != "pull" {
            return Err(fault(
                format!("`{text}`: only a pull is needed at a gap"),
                "leave out what follows `at`",
            ));
        }
        if gap_m.is_some_and(|gap| !(GAPS_M[0]..=GAPS_M[1]).contains(&gap)) {
            return Err(fault(format!("`{text}`: a gap must be greater than zero, and 1 m at most"), ""));
        }
        Ok(Self { text: text.into(), topic, at_least, limit, gap_m })
    }

    /// By how much a number keeps the limit: the logarithm of how many times what it must be at least, or of how many
    /// times it would fit into what it may be at most; temperatures from absolute zero.
    pub(crate) fn margin(&self, value: f64) -> f64 {
        let ratio = (value / self.limit).ln();
        let margin = if self.at_least { ratio } else { -ratio };
        if margin.is_nan() { f64::NEG_INFINITY } else { margin }
    }

    /// How a number with its 95 % interval fares.
    pub(crate) fn judge(&self, value: f64, (low, high): (f64, f64)) -> State {
        judged(value, (low, high), self.at_least, self.limit)
    }
}

/// How a number with its 95 % interval fares against a limit.
pub(crate) fn judged(value: f64, (low, high): (f64, f64), at_least: bool, limit: f64) -> State {
    let kept = |x: f64| if at_least { x >= limit } else { x <= limit };
    match (kept(value), kept(low) && kept(high)) {
        (_, true) => State::Kept,
        (true, false) => State::Doubtful,
        (false, false) => State::Exceeded,
    }
}

/// The number, whether it must be at least the value, and the value, of `NUMBER >= VALUE` or `NUMBER <= VALUE`.
pub(crate) fn split(text: &str) -> Option<(&str, bool, &str)> {
    let signs = [(">=", true), ("≥", true), ("<=", false), ("≤", false)];
    signs.into_iter().find_map(|(sign, at_least)| {
        let (name, rest) = text.split_once(sign)?;
        Some((name.trim(), at_least, rest.trim()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn needs_are_read_or_refused_with_a_word() {
        let need = Need::parse("pull >= 400 N at 0.2 mm").expect("a need");
        assert_eq!((need.at_least, need.limit, need.gap_m), (true, 400.0, Some(0.2e-3)));
        let warm = Need::parse("temperature ≤ 80 °C").expect("a need");
        assert!((warm.limit - 353.15).abs() < 1e-9 && !warm.at_least);
        for (text, word) in [
            ("pull 400 N", "no need"),
            ("weight >= 4 kg", "pull, pull_warm"),
            ("pull >= 4 V", "4 V"),
            ("power <= 5 W at 1 mm", "only a pull"),
            ("pull >= 4 N at -1 mm", "greater than zero"),
            ("pull >= 4 N at 1 km", "1 m at most"),
        ] {
            let fault = Need::parse(text).expect_err(text);
            assert!(format!("{} {}", fault.message, fault.hint).contains(word), "{text}: {fault}");
        }
    }

    #[test]
    fn a_need_is_judged_by_all_of_the_interval() {
        let need = Need::parse("pull >= 400 N").expect("a need");
        assert_eq!(need.judge(500.0, (450.0, 550.0)), State::Kept);
        assert_eq!(need.judge(420.0, (380.0, 460.0)), State::Doubtful);
        assert_eq!(need.judge(390.0, (300.0, 480.0)), State::Exceeded);
    }
}
