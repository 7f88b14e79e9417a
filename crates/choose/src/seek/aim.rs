//! What is sought and within which limits, as a person says it: `most pull`, `mass <= 0.6 kg`.

use crate::need::split;
use crate::seek::number::{NUMBERS, Number, find, unknown};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::model::rough::Rough;
use coilwright_magnet::quantity::{Dimension, Quantity};
use coilwright_magnet::sheet::Sheet;

/// A number that is to be as great, or as small, as can be.
#[derive(Clone, Debug, PartialEq)]
pub struct Aim {
    /// As it was asked.
    pub text: String,
    number: usize,
    /// As great as can be.
    pub most: bool,
}

/// A number that must not be more, or not be less, than a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// As it was asked, or how the sheet says it.
    pub text: String,
    number: usize,
    /// It must be at least the limit.
    pub at_least: bool,
    /// SI.
    pub limit: f64,
    /// What settled numbers are more by than the search's provisional ones, as far as that is known.
    pub(crate) shift: f64,
}

/// Change of a temperature that counts as much as all of another number, K.
const TEMPERATURE_SCALE_K: f64 = 100.0;
/// What a number that does not exist misses a limit by.
const NOT_A_NUMBER: f64 = 10.0;

impl Aim {
    /// Reads `most NUMBER` or `least NUMBER`; or what such a magnet is called, such as `strongest`.
    ///
    /// # Errors
    /// Neither; a number that there is not.
    pub fn parse(text: &str) -> Result<Self, Diagnostic> {
        let text = text.trim();
        let called = |(k, n): (usize, &Number)| {
            let most = if text == n.most {
                true
            } else if text == n.least {
                false
            } else {
                return None;
            };
            Some(Self { text: text.into(), number: k, most })
        };
        if let Some(aim) = NUMBERS.iter().enumerate().find_map(called) {
            return Ok(aim);
        }
        let (word, name) = text.split_once(' ').unwrap_or((text, ""));
        let most = match word {
            "most" | "greatest" | "maximum" | "highest" => true,
            "least" | "smallest" | "minimum" | "lowest" => false,
            _ => {
                let hint = "write `most` or `least` and a number, such as \"most pull\" or \"least mass\"";
                return Err(Diagnostic::fault(format!("`{text}` says no aim"), hint));
            }
        };
        match find(name) {
            Some(number) => Ok(Self { text: text.into(), number, most }),
            None => {
                let (message, hint) = unknown(name);
                Err(Diagnostic::fault(message, hint))
            }
        }
    }

    /// What is aimed at.
    pub fn number(&self) -> &'static Number {
        &NUMBERS[self.number]
    }

    /// What the best magnet is called.
    pub fn called(&self) -> &'static str {
        if self.most { self.number().most } else { self.number().least }
    }

    /// To come as near to a limit as can be, and past it.
    pub(crate) fn towards(bound: &Bound) -> Self {
        Self { text: bound.text.clone(), number: bound.number, most: bound.at_least }
    }

    /// A value as a cost: less is better.
    pub(crate) fn cost(&self, value: f64) -> f64 {
        if value.is_nan() {
            f64::INFINITY
        } else if self.most {
            -value
        } else {
            value
        }
    }
}

impl Bound {
    /// Reads `NUMBER <= VALUE` or `NUMBER >= VALUE`.
    ///
    /// # Errors
    /// No sign, a number that there is not, a value of another kind.
    pub fn parse(text: &str) -> Result<Self, Diagnostic> {
        let text = text.trim();
        let Some((name, at_least, value)) = split(text) else {
            let hint = "write a number, <= or >=, and a value, such as \"mass <= 0.6 kg\"; several between semicolons";
            return Err(Diagnostic::fault(format!("`{text}` says no limit"), hint));
        };
        let Some(number) = find(name) else {
            let (message, hint) = unknown(name);
            return Err(Diagnostic::fault(message, hint));
        };
        let quantity = Quantity::parse(value, NUMBERS[number].dimension)
            .map_err(|error| Diagnostic::fault(format!("`{value}`: {error}"), format!("in `{text}`")))?;
        if quantity.half_width > 0.0 {
            return Err(Diagnostic::fault(
                format!("`{text}`: a limit has no tolerance"),
                "give the value alone",
            ));
        }
        Ok(Self { text: text.into(), number, at_least, limit: quantity.value, shift: 0.0 })
    }

    /// The limits that a sheet states itself.
    pub fn of_sheet(sheet: &Sheet) -> Vec<Self> {
        let known = [
            ("limits.current", "current"),
            ("limits.power", "power"),
            ("limits.mass", "mass"),
            ("limits.temperature", "hot_spot"),
            ("limits.surface_temperature", "surface_temperature"),
        ];
        let one = |(path, key): (&str, &str)| {
            Some(Self {
                text: path.into(),
                number: find(key)?,
                at_least: false,
                limit: sheet.value(path)?,
                shift: 0.0,
            })
        };
        known.into_iter().filter_map(one).collect()
    }

    /// The limit of the insulation, K, with what settled hot spots are more by.
    pub(crate) fn of_class(kelvin: f64, shift: f64) -> Option<Self> {
        Some(Self {
            text: "thermal class".into(),
            number: find("hot_spot")?,
            at_least: false,
            limit: kelvin,
            shift,
        })
    }

    /// What is limited.
    pub fn number(&self) -> &'static Number {
        &NUMBERS[self.number]
    }

    /// What a provisional number is expected to be once it is settled.
    pub(crate) fn expected(&self, rough: &Rough) -> f64 {
        (self.number().rough)(rough) + self.shift
    }

    /// By how much a magnet is expected to miss it, over its scale; 0 if it is kept.
    pub(crate) fn missed(&self, rough: &Rough) -> f64 {
        self.missed_by(self.expected(rough))
    }

    /// The same of a value.
    pub(crate) fn missed_by(&self, value: f64) -> f64 {
        if value.is_nan() {
            return NOT_A_NUMBER;
        }
        let beyond = if self.at_least { self.limit - value } else { value - self.limit };
        (beyond / self.scale()).max(0.0)
    }

    /// What a miss is measured by.
    pub(crate) fn scale(&self) -> f64 {
        match self.number().dimension {
            Dimension::Temperature => TEMPERATURE_SCALE_K,
            _ => self.limit.abs().max(f64::MIN_POSITIVE),
        }
    }

    /// The same, moved by a share of its scale towards what allows more.
    pub(crate) fn relaxed(&self, share: f64) -> Self {
        let by = if self.at_least { -share } else { share };
        Self { limit: self.limit + by * self.scale(), ..self.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn aims_and_limits_are_read_or_refused_with_a_word() {
        for (text, key, most) in [
            ("most pull", "pull", true),
            ("least mass", "mass", false),
            ("coolest", "hot_spot", false),
            ("least hot spot", "hot_spot", false),
            ("most flux-density", "field", true),
        ] {
            let aim = Aim::parse(text).expect(text);
            assert_eq!((aim.number().key, aim.most), (key, most), "{text}");
        }
        let bound = Bound::parse("hot spot <= 120 degC").expect("a limit");
        assert!((bound.limit - 393.15).abs() < 1e-9 && !bound.at_least);
        assert!(bound.missed_by(393.0) == 0.0 && (bound.missed_by(403.15) - 0.1).abs() < 1e-9);
        assert!(Bound::parse("pull >= 400 N").expect("a limit").missed_by(300.0) > 0.0);
        for (text, word) in
            [("pull", "no aim"), ("most pul", "did you mean `pull`"), ("most beauty", "there are pull")]
        {
            let fault = Aim::parse(text).expect_err(text);
            assert!(format!("{} {}", fault.message, fault.hint).contains(word), "{text}: {fault}");
        }
        for (text, word) in [
            ("mass 0.6 kg", "no limit"),
            ("masss <= 0.6 kg", "did you mean `mass`"),
            ("mass <= 0.6 V", "0.6 V"),
            ("mass <= 0.6 kg ± 0.1 kg", "no tolerance"),
        ] {
            let fault = Bound::parse(text).expect_err(text);
            assert!(format!("{} {}", fault.message, fault.hint).contains(word), "{text}: {fault}");
        }
    }
}
