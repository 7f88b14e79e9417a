//! The band bar: a 95 % interval as a line with a mark at the value, on one scale for all rows that share a unit.

use crate::shown;
use crate::svg::px;
use coilwright_magnet::answers::answer::{Answer, Item, Value};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::uncertainty::measure::Measure;

/// A bar narrower than this share of its scale tells nothing and is left out.
const LEAST: f64 = 0.004;
/// A limit farther off than this many times the numbers would press them together and is left to the words.
const FAR: f64 = 3.0;

/// Ends, mark and limit as shares of the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bar {
    low: f64,
    high: f64,
    mark: f64,
    limit: Option<f64>,
    /// Where zero is, if the scale has both signs.
    zero: Option<f64>,
}

/// The scales of one answer: one a unit.
pub(super) struct Scales<'a> {
    scales: Vec<(Unit, [f64; 2])>,
    answer: &'a Answer,
    units: UnitSystem,
}

/// Numbers of one kind in one unit share a scale.
type Unit = (Dimension, &'static str);

impl<'a> Scales<'a> {
    /// The scales of an answer; temperatures are shown from the surroundings' (K).
    pub(super) fn of(answer: &'a Answer, surroundings_k: f64, units: UnitSystem) -> Self {
        let mut scales: Vec<(Unit, [f64; 2])> = Vec::new();
        for (item, measure) in measures(answer) {
            let Some(band) = &measure.band else { continue };
            let start = if measure.dimension == Dimension::Temperature { surroundings_k } else { 0.0 };
            let end = band.high.abs().max(if measure.value < 0.0 { band.low.abs() } else { 0.0 });
            let limit = limit(answer, item).filter(|limit| *limit > start && *limit < FAR * end);
            // What may be negative is shown about zero.
            let low = if measure.value < 0.0 { -end } else { band.low.min(start) };
            let high = limit.map_or(end, |limit| limit.max(end));
            let unit = unit(measure, units);
            match scales.iter_mut().find(|(known, _)| *known == unit) {
                Some((_, ends)) => *ends = [ends[0].min(low), ends[1].max(high)],
                None => scales.push((unit, [low, high])),
            }
        }
        Self { scales, answer, units }
    }

    /// The bar of an item; none where it has no band, or one too narrow to see.
    pub(super) fn bar(&self, item: &Item) -> Option<Bar> {
        let Value::Number(measure) = &item.value else { return None };
        let band = measure.band.as_ref()?;
        let unit = unit(measure, self.units);
        let (_, [from, to]) = self.scales.iter().find(|(known, _)| *known == unit)?;
        let share = |value: f64| ((value - from) / (to - from)).clamp(0.0, 1.0);
        let bar = Bar {
            low: share(band.low),
            high: share(band.high),
            mark: share(measure.value),
            limit: limit(self.answer, item).filter(|limit| (*from..=*to).contains(limit)).map(share),
            zero: (*from < 0.0 && measure.dimension != Dimension::Temperature).then(|| share(0.0)),
        };
        (bar.high - bar.low >= LEAST).then_some(bar)
    }
}

impl Bar {
    /// As inline SVG that is as wide as its place. The figures stand beside it, so that it need not be read out.
    pub(super) fn svg(&self) -> String {
        let percent = |share: f64| format!("{}%", px(100.0 * share));
        let width = percent((self.high - self.low).max(0.0));
        let line = |class: &str, at: f64, [top, bottom]: [f64; 2]| {
            let x = percent(at);
            format!("<line class=\"{class}\" x1=\"{x}\" x2=\"{x}\" y1=\"{top}\" y2=\"{bottom}\"/>")
        };
        let limit = self.limit.map_or(String::new(), |at| line("limit", at, [0.0, 18.0]));
        let zero = self.zero.map_or(String::new(), |at| line("zero", at, [3.0, 15.0]));
        format!(
            "<svg class=\"bar\" width=\"100%\" height=\"18\" aria-hidden=\"true\">{zero}<rect class=\"band\" x=\"{}\" y=\"7\" \
             width=\"{width}\" height=\"4\"/>{limit}{}</svg>",
            percent(self.low),
            line("mark", self.mark, [3.0, 15.0]),
        )
    }
}

fn measures(answer: &Answer) -> impl Iterator<Item = (&Item, &Measure)> {
    answer.groups.iter().flat_map(|group| &group.items).filter_map(|item| match &item.value {
        Value::Number(measure) => Some((item, measure)),
        Value::Text(_) => None,
    })
}

fn unit(measure: &Measure, units: UnitSystem) -> Unit {
    (measure.dimension, shown::Scale::of(measure.dimension, measure.value, units).symbol)
}

/// What limits an item, SI.
fn limit(answer: &Answer, item: &Item) -> Option<f64> {
    answer.limits.iter().find(|limit| limit.key == item.key).map(|limit| limit.limit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use coilwright_magnet::uncertainty::band::Band;

    fn item(key: &str, value: f64, half: f64) -> Item {
        let band =
            Band { standard: 0.5 * half, low: value - half, high: value + half, contributors: Vec::new() };
        Item::number(key, key, value, Dimension::Force).with_band(band)
    }

    fn bar(items: Vec<Item>, of: usize) -> Option<Bar> {
        let mut answer = Answer::new("pull", "m");
        answer.group("Pull", items.clone());
        Scales::of(&answer, 293.15, UnitSystem::Si).bar(&items[of])
    }

    #[test]
    fn rows_of_one_unit_share_a_scale_from_zero() {
        let rows = vec![item("cold", 600.0, 200.0), item("warm", 400.0, 80.0)];
        let warm = bar(rows.clone(), 1).expect("a bar");
        assert_eq!((warm.low, warm.mark, warm.high), (0.4, 0.5, 0.6));
        assert_eq!(bar(rows, 0).expect("a bar").high, 1.0);
    }

    #[test]
    fn signed_numbers_stand_about_zero_and_a_speck_is_no_bar() {
        let below = bar(vec![item("a", -30.0, 10.0)], 0).expect("a bar");
        assert_eq!((below.low, below.high, below.zero), (0.0, 0.25, Some(0.5)));
        assert_eq!(bar(vec![item("a", 900.0, 1.0), item("b", 1.0, 0.1)], 1), None);
    }
}
