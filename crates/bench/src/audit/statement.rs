//! Statements about one quantity, and how far apart two of them are.
//!
//! The statistic is the normalised deviation ζ = (a − b)/√(u²(a) + u²(b)), with the standard uncertainties of both
//! (the zeta score of ISO 13528:2015, 9.6, from memory): up to 2 the two agree, up to 3 they are doubtful, beyond they
//! contradict each other. A statement may leave a range open, such as a rating that may be meant for a cold or a warm
//! winding; the deviation then is from the nearer end, and none inside.

use coilwright_magnet::answers::answer::Item;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::uncertainty::band::Band;
use statrs::distribution::{ContinuousCDF, Normal};

/// Deviations beyond this are doubtful.
pub(super) const DOUBTFUL: f64 = 2.0;
/// Deviations beyond this contradict.
pub(super) const CONTRADICTION: f64 = 3.0;

/// What somebody or something says of a quantity.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Statement {
    /// Stable name, such as `nameplate_power`.
    pub(super) key: &'static str,
    /// What a person calls it.
    pub(super) label: String,
    /// SI.
    pub(super) value: f64,
    /// Least that it may mean, SI.
    pub(super) low: f64,
    /// Most that it may mean, SI.
    pub(super) high: f64,
    /// Standard uncertainty, SI.
    pub(super) standard: f64,
    /// Where it comes from.
    pub(super) note: String,
    /// Measured on the bench, not claimed or computed.
    pub(super) measured: bool,
}

impl Statement {
    /// A claim or a computed value.
    pub(super) fn new(key: &'static str, label: impl Into<String>, value: f64, standard: f64) -> Self {
        let (label, note) = (label.into(), String::new());
        Self { key, label, value, low: value, high: value, standard, note, measured: false }
    }

    /// With a remark.
    pub(super) fn noted(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }

    /// The same without what it leaves open.
    pub(super) fn cold(&self) -> Self {
        Self { low: self.value, high: self.value, ..self.clone() }
    }

    /// ζ of this statement from another: positive if this one says more.
    pub(super) fn deviation(&self, other: &Self) -> f64 {
        let apart = if self.low > other.high {
            self.low - other.high
        } else if self.high < other.low {
            self.high - other.low
        } else {
            return 0.0;
        };
        apart / self.standard.hypot(other.standard)
    }

    /// As a row of an answer.
    pub(super) fn item(&self, prefix: &str, dimension: Dimension) -> Item {
        let item = Item::number(&format!("{prefix}_{}", self.key), &self.label, self.value, dimension);
        let item = item.with_note(self.note.clone());
        if self.standard == 0.0 {
            return item;
        }
        let (low, high) = (self.low - 2.0 * self.standard, self.high + 2.0 * self.standard);
        item.with_band(Band { standard: self.standard, low, high, contributors: Vec::new() })
    }
}

/// What a deviation means.
pub(super) fn verdict(deviation: f64) -> &'static str {
    match deviation.abs() {
        d if d <= DOUBTFUL => "agrees",
        d if d <= CONTRADICTION => "doubtful",
        _ => "contradicts",
    }
}

/// How sure a deviation is not chance, in words.
pub(super) fn sureness(deviation: f64) -> String {
    let chance = 2.0 * Normal::standard().sf(deviation.abs());
    if chance < 1e-9 {
        return "chance would do that less than once in a thousand million times".into();
    }
    let once_in = 1.0 / chance;
    let scale = 10f64.powf(once_in.log10().floor() - 1.0);
    let rounded = (once_in / scale).round() * scale;
    format!("chance would do that once in {rounded:.0} times")
}

/// The row of one comparison: the deviation of what is named, in standard uncertainties, and what it means.
pub(super) fn comparison(key: &str, what: &str, deviation: f64, note: Option<&str>) -> Item {
    // Rounded to what a deviation is worth; −0 is 0.
    let shown = (10.0 * deviation).round() / 10.0 + 0.0;
    Item::number(key, &format!("deviation/std, {what}"), shown, Dimension::Ratio)
        .with_note(note.unwrap_or_else(|| verdict(deviation)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn statement(value: f64, standard: f64) -> Statement {
        Statement::new("x", "x", value, standard)
    }

    /// Worked by hand: 5 apart, u = √(3² + 4²) = 5.
    #[test]
    fn a_deviation_counts_both_uncertainties() {
        let (a, b) = (statement(15.0, 3.0), statement(10.0, 4.0));
        assert!((a.deviation(&b) - 1.0).abs() < 1e-12 && (b.deviation(&a) + 1.0).abs() < 1e-12);
        let open = Statement { low: 9.0, ..statement(15.0, 3.0) };
        assert_eq!(open.deviation(&b), 0.0);
        assert_eq!(open.deviation(&statement(1.0, 4.0)), 1.6);
    }

    /// Two-sided Gaussian tail: 2.58 standard deviations are 1 in 100, 3.29 are 1 in 1000 (JCGM 100:2008, table G.1).
    #[test]
    fn chance_in_words() {
        assert_eq!(sureness(2.5758), "chance would do that once in 100 times");
        assert_eq!(sureness(-3.2905), "chance would do that once in 1000 times");
        assert!(sureness(8.0).contains("thousand million"));
        assert_eq!([1.9, -2.5, 3.1].map(verdict), ["agrees", "doubtful", "contradicts"]);
    }
}
