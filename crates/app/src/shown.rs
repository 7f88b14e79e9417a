//! Answers' numbers as text in the reader's units. The conversion itself is the quantity module's;
//! here it is chosen which unit a row or column takes, and how many digits are written.

use coilwright_magnet::answers::answer::{Advice, Answer, Caution, Column, Item, Limit, State, Value};
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

/// A part of an answer's sentence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece<'a> {
    /// Words as they stand.
    Words(&'a str),
    /// The item that stands in this place.
    Item(&'a Item),
}

/// The summary in parts, the items of its keys in their places. A key that no item has stays.
pub fn pieces(answer: &Answer) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut rest = answer.summary.as_str();
    let mut from = 0;
    while let Some(open) = rest[from..].find('{').map(|at| from + at) {
        let place =
            rest[open + 1..].split_once('}').and_then(|(key, after)| Some((answer.item(key)?, after)));
        match place {
            Some((item, after)) => {
                pieces.extend([Piece::Words(&rest[..open]), Piece::Item(item)]);
                (rest, from) = (after, 0);
            }
            None => from = open + 1,
        }
    }
    pieces.push(Piece::Words(rest));
    pieces.retain(|piece| *piece != Piece::Words(""));
    pieces
}

fn filled(answer: &Answer, mut shown: impl FnMut(&Measure) -> String) -> String {
    let mut text = String::new();
    for piece in pieces(answer) {
        match piece {
            Piece::Words(words) => text.push_str(words),
            Piece::Item(Item { value: Value::Text(word), .. }) => text.push_str(word),
            Piece::Item(Item { value: Value::Number(measure), .. }) => text.push_str(&shown(measure)),
        }
    }
    text
}

/// The first number with a band: the one the command is about.
pub fn main_number(answer: &Answer) -> Option<(&Item, &Measure)> {
    answer.groups.iter().flat_map(|group| &group.items).find_map(|item| match &item.value {
        Value::Number(measure) if measure.band.is_some() => Some((item, measure)),
        _ => None,
    })
}

/// What makes a number unsure, the largest shares of its variance first: `gap (68 %), remanence (21 %)`.
pub fn least_sure(measure: &Measure, most: usize) -> String {
    let contributors = measure.band.iter().flat_map(|band| &band.contributors);
    let parts = contributors.filter(|c| c.share >= 0.05).take(most);
    parts.map(|c| format!("{} ({:.0} %)", c.label, 100.0 * c.share)).collect::<Vec<_>>().join(", ")
}

/// The range that a number would have once a measurement is made: `700 to 790 N`.
pub fn then(advice: &Advice, measure: &Measure, system: UnitSystem) -> String {
    let ends = (measure.value - 2.0 * advice.remaining, measure.value + 2.0 * advice.remaining);
    between(measure, ends, advice.remaining, system)
}

/// Whether two cautions say the same of different numbers.
pub fn same_kind(a: &Caution, b: &Caution) -> bool {
    a.danger == b.danger && a.source == b.source
}

/// Cautions, each kind once (by its last, which is the worst of a kind), worst first.
pub fn once_each<'a>(cautions: impl IntoIterator<Item = &'a Caution>) -> Vec<&'a Caution> {
    let mut found: Vec<&Caution> = Vec::new();
    for caution in cautions {
        match found.iter_mut().find(|f| same_kind(f, caution)) {
            Some(earlier) => *earlier = caution,
            None => found.push(caution),
        }
    }
    found.sort_by_key(|c| c.danger);
    found
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

/// The limits that are not surely kept, in words, each once.
pub fn open_limits(answer: &Answer, system: UnitSystem) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    // A warning may say it already.
    let straddles = answer.warnings.iter().any(|w| w.contains("straddles the limit"));
    for limit in &answer.limits {
        let words = match limit.state {
            State::Exceeded => "exceeded",
            State::Doubtful if !straddles => "not surely kept",
            State::Doubtful | State::NotJudged | State::Kept => continue,
        };
        let text = format!("{words}: {}", exceeded(limit, answer, system));
        if !told.contains(&text) {
            told.push(text);
        }
    }
    told
}

/// Most rows of a curve that is shown as a table.
const ROWS: usize = 12;

/// Which rows to show of a curve with `total` points: few, evenly chosen, the first and last among them.
pub fn chosen_rows(total: usize) -> Vec<usize> {
    if total <= ROWS {
        return (0..total).collect();
    }
    (0..ROWS).map(|row| (row * (total - 1) + (ROWS - 1) / 2) / (ROWS - 1)).collect()
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

    #[test]
    fn the_first_and_last_row_are_among_the_chosen() {
        assert_eq!(chosen_rows(3), [0, 1, 2]);
        for total in [13, 40, 281] {
            let rows = chosen_rows(total);
            assert_eq!((rows[0], rows[ROWS - 1], rows.len()), (0, total - 1, ROWS), "{total}");
            assert!(rows.windows(2).all(|pair| pair[0] < pair[1]), "{total}: {rows:?}");
        }
    }
}
