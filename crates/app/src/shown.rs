//! Answers' numbers as text in the reader's units. The conversion itself is the quantity module's;
//! here it is chosen which unit a row or column takes, and how many digits are written.

use coilwright_magnet::answers::answer::{Answer, Column, Limit, Value};
use coilwright_magnet::quantity::{Dimension, UnitSystem, format_number};
use coilwright_magnet::uncertainty::measure::Measure;

/// From SI to one unit: `shown = SI × factor + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    factor: f64,
    offset: f64,
    /// Symbol of the unit, empty for plain numbers.
    pub symbol: &'static str,
}

impl Scale {
    /// The unit for numbers of a dimension, the largest of which is `largest` (SI, any sign).
    pub fn of(dimension: Dimension, largest: f64, system: UnitSystem) -> Self {
        let (factor, offset, symbol) = dimension.column_unit(largest.abs(), system);
        Self { factor, offset, symbol }
    }

    /// Share of a cycle as the trade writes it.
    const DUTY: Self = Self { factor: 100.0, offset: 0.0, symbol: "% ED" };

    /// The unit for columns of one dimension, as [`Scale::of`]; duties are shown in per cent of the cycle.
    pub fn of_columns<'a>(
        mut columns: impl Iterator<Item = &'a Column> + Clone,
        dimension: Dimension,
        system: UnitSystem,
    ) -> Self {
        let values = columns.clone().flat_map(|c| c.values.iter().copied()).filter(|v| v.is_finite());
        let largest = values.fold(0.0f64, |most, v| most.max(v.abs()));
        let duties = dimension == Dimension::Ratio && columns.all(|c| c.key.starts_with("duty_"));
        if duties { Self::DUTY } else { Self::of(dimension, largest, system) }
    }

    /// The unit that suits a whole column; what is not finite does not count.
    pub fn of_column(column: &Column, system: UnitSystem) -> Self {
        Self::of_columns(std::iter::once(column), column.dimension, system)
    }

    /// A value in this unit.
    pub fn value(&self, si: f64) -> f64 {
        si * self.factor + self.offset
    }

    /// A difference, such as a standard uncertainty, in this unit.
    pub fn difference(&self, si: f64) -> f64 {
        si * self.factor
    }

    /// A value as digits; with a standard uncertainty (SI) to the place of that one's second digit
    /// (JCGM 100:2008, 7.2.6), else four significant figures.
    pub fn digits(&self, si: f64, standard: Option<f64>) -> String {
        let value = self.value(si);
        format_number(value, standard.map(|s| visible(self.difference(s), value)))
    }

    /// An uncertainty or effect (SI) as two significant digits, without sign.
    pub fn digits_of_difference(&self, si: f64) -> String {
        let difference = self.difference(si).abs();
        format_number(difference, Some(difference))
    }

    /// The column's label with its unit, `gap, mm`.
    pub fn heading(&self, label: &str) -> String {
        if self.symbol.is_empty() { label.to_owned() } else { format!("{label}, {}", self.symbol) }
    }
}

/// An uncertainty below a hundred-millionth of the value would only add idle digits.
fn visible(standard: f64, value: f64) -> f64 {
    standard.abs().max(value.abs() * 1e-8)
}

/// A measure as the parts of a table row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parts {
    /// The value's digits.
    pub value: String,
    /// Digits of the standard uncertainty; empty without a band.
    pub standard: String,
    /// Symbol of the unit.
    pub unit: &'static str,
    /// The 95 % interval, `388 … 436`; empty without a band.
    pub interval: String,
}

/// A measure in the unit that suits its size.
pub fn parts(measure: &Measure, system: UnitSystem) -> Parts {
    let scale = Scale::of(measure.dimension, measure.value, system);
    match &measure.band {
        None if measure.dimension == Dimension::Count => {
            Parts { value: count(measure.value), unit: scale.symbol, ..Parts::default() }
        }
        None => Parts { value: scale.digits(measure.value, None), unit: scale.symbol, ..Parts::default() },
        Some(band) => {
            let standard = visible(scale.difference(band.standard), scale.value(measure.value));
            let at = |si: f64| format_number(scale.value(si), Some(standard));
            Parts {
                value: at(measure.value),
                standard: scale.digits_of_difference(band.standard),
                unit: scale.symbol,
                interval: format!("{} … {}", at(band.low), at(band.high)),
            }
        }
    }
}

/// A whole number of turns or layers is shown whole.
fn count(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        format!("{value:.0}")
    } else {
        format_number(value, None)
    }
}

/// `412 ± 12 N`, or `24 V` without a band.
pub fn inline(measure: &Measure, system: UnitSystem) -> String {
    let Parts { value, standard, unit, .. } = parts(measure, system);
    with_unit(if standard.is_empty() { value } else { format!("{value} ± {standard}") }, unit)
}

/// A measure without its band, to the digits that the band leaves: `412 N`.
pub fn value(measure: &Measure, system: UnitSystem) -> String {
    let parts = parts(measure, system);
    with_unit(parts.value, parts.unit)
}

fn with_unit(text: String, unit: &str) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

/// The 95 % interval in words, `388 to 437 N`; empty without a band.
pub fn range(measure: &Measure, system: UnitSystem) -> String {
    let Some(band) = &measure.band else { return String::new() };
    between(measure, (band.low, band.high), band.standard, system)
}

/// An interval (SI) in a measure's unit, in words, to the digits that a standard uncertainty leaves.
pub fn between(measure: &Measure, (low, high): (f64, f64), standard: f64, system: UnitSystem) -> String {
    let scale = Scale::of(measure.dimension, measure.value, system);
    let standard = visible(scale.difference(standard), scale.value(measure.value));
    let at = |si: f64| format_number(scale.value(si), Some(standard));
    with_unit(format!("{} to {}", at(low), at(high)), scale.symbol)
}

/// A measure with its range, `412 N (388 to 437 N)`; what is added to the range stands within the brackets.
fn with_range(measure: &Measure, added: &str, system: UnitSystem) -> String {
    let (value, range) = (value(measure, system), range(measure, system));
    if range.is_empty() { value } else { format!("{value} ({range}{added})") }
}

/// The sentence of an answer for a reader who knows no standard uncertainties: every `{key}` replaced by the value of
/// that item and its range, which is said once to hold 19 times in 20.
pub fn sentence(answer: &Answer, system: UnitSystem) -> String {
    let mut often = ", 19 times in 20";
    filled(answer, |measure| {
        let added = if measure.band.is_some() { std::mem::take(&mut often) } else { "" };
        with_range(measure, added, system)
    })
}

/// The sentence of an answer, every `{key}` replaced by the item of that key with its standard uncertainty.
pub fn summary(answer: &Answer, system: UnitSystem) -> String {
    filled(answer, |measure| inline(measure, system))
}

/// The summary with the items of its keys in their places. A key that no item has stays.
fn filled(answer: &Answer, mut shown: impl FnMut(&Measure) -> String) -> String {
    let mut text = String::new();
    let mut rest = answer.summary.as_str();
    while let Some((before, after)) = rest.split_once('{') {
        text.push_str(before);
        let place = after.split_once('}').and_then(|(key, after)| Some((answer.item(key)?, after)));
        rest = match place {
            Some((item, after)) => {
                match &item.value {
                    Value::Text(word) => text.push_str(word),
                    Value::Number(measure) => text.push_str(&shown(measure)),
                }
                after
            }
            None => {
                text.push('{');
                after
            }
        };
    }
    text + rest
}

/// How a comparison's needs begin.
const NEED: &str = "--need ";

/// A limit that is exceeded, in words.
pub fn exceeded(limit: &Limit, answer: &Answer, system: UnitSystem) -> String {
    let Some(value) = &limit.value else {
        let text = answer.item(&limit.key).map(|item| match &item.value {
            Value::Text(text) => text.clone(),
            Value::Number(measure) => inline(measure, system),
        });
        return format!("{}: {}", limit.label, text.unwrap_or_default());
    };
    let most = Measure { value: limit.limit, dimension: limit.dimension, band: None };
    let (is, most) = (with_range(value, "", system), self::value(&most, system));
    match limit.by.as_str() {
        "thermal class" => format!("{} is {is}; its thermal class allows {most}", limit.label),
        "backup.hold_time" => format!("{} is {is}; `backup.hold_time` asks for {most}", limit.label),
        by if by.starts_with(NEED) => format!("{} is {is}; needed is {}", limit.label, &by[NEED.len()..]),
        by => format!("{} is {is}; `{by}` allows {most}", limit.label),
    }
}

/// Half the width of a 95 % interval over the coverage factor 2: what decides a cell's digits.
pub fn standard_of(interval: (f64, f64)) -> f64 {
    (interval.1 - interval.0).abs() / 4.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use coilwright_magnet::uncertainty::band::Band;

    fn measure(value: f64, dimension: Dimension, standard: Option<f64>) -> Measure {
        let band = standard.map(|s| Band {
            standard: s,
            low: value - 2.0 * s,
            high: value + 2.0 * s,
            contributors: Vec::new(),
        });
        Measure { value, dimension, band }
    }

    #[test]
    fn a_band_decides_the_digits() {
        let force = measure(412.37, Dimension::Force, Some(12.3));
        assert_eq!(inline(&force, UnitSystem::Si), "412 ± 12 N");
        assert_eq!(parts(&force, UnitSystem::Si).interval, "388 … 437");
        // 1 kgf = 9.80665 N exactly (NIST SP 811, B.8)
        assert_eq!(inline(&force, UnitSystem::GaussKgf), "42.1 ± 1.3 kgf");
    }

    #[test]
    fn a_temperatures_uncertainty_carries_no_offset() {
        let warm = measure(373.15, Dimension::Temperature, Some(1.0));
        assert_eq!(inline(&warm, UnitSystem::Si), "100.0 ± 1.0 °C");
        assert_eq!(inline(&warm, UnitSystem::Imperial), "212.0 ± 1.8 °F");
    }

    #[test]
    fn settings_are_short_and_a_vanishing_band_stays_readable() {
        assert_eq!(inline(&measure(24.0, Dimension::Voltage, None), UnitSystem::Si), "24 V");
        assert_eq!(inline(&measure(1234567.0, Dimension::Count, None), UnitSystem::Si), "1234567");
        assert!(inline(&measure(8.0, Dimension::Force, Some(1e-20)), UnitSystem::Si).len() < 26);
    }
}
