//! What is odd about readings that can be read: a unit mixed up, times repeated, an end perhaps missing.

use super::{Column, Measurand};
use coilwright_magnet::quantity::Dimension;

/// The magnitude that a column should have, from what is known of the magnet and its surroundings.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// Of which columns.
    pub measurand: Measurand,
    /// Which number of the column is meant.
    pub statistic: Statistic,
    /// Least that would not surprise, SI.
    pub low: f64,
    /// Most that would not surprise, SI.
    pub high: f64,
}

/// A number that stands for a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Statistic {
    /// The first reading: the temperature before a warm-up.
    First,
    /// What one in twenty readings exceeds in magnitude: the field near the pole, the current while it is on. A few
    /// wrong readings do not change it.
    Upper,
}

/// Something to mind about readings that were read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Remark {
    /// The numbers make sense in another unit than the header says.
    #[error(
        "`{column}`: {} {given} is not what to expect, {} {likely} would be; is the unit in the header right?",
        short(*number), short(*number)
    )]
    OtherUnit {
        /// Header of the column.
        column: String,
        /// The number that was compared, in the header's unit.
        number: f64,
        /// Unit in the header.
        given: &'static str,
        /// Unit in which the number would be as expected.
        likely: &'static str,
    },
    /// The numbers are unlike what was expected, in whatever unit.
    #[error(
        "`{column}`: {} {unit} is not what to expect ({} to {} {unit})",
        short(*number), short(*low), short(*high)
    )]
    Unexpected {
        /// Header of the column.
        column: String,
        /// The number that was compared.
        number: f64,
        /// Least that was expected.
        low: f64,
        /// Most that was expected.
        high: f64,
        /// Unit of all three.
        unit: &'static str,
    },
    /// Rows with the same time as the row before.
    #[error("{} the time of the row before, the first in line {line}", rows(*count))]
    TimesRepeated {
        /// Line of the first.
        line: u64,
        /// How many.
        count: u64,
    },
    /// A log without dates passed midnight.
    #[error("the times of day pass midnight {}, first in line {line}; taken as the next day", times(*count))]
    Midnight {
        /// Line of the first row after it.
        line: u64,
        /// How many midnights.
        count: u64,
    },
    /// The last line has no line break.
    #[error("line {line}, the last, has no line break: its last number may have lost digits")]
    NoFinalLineBreak {
        /// The last line.
        line: u64,
    },
    /// The header is not UTF-8 and was read as Latin-1.
    #[error("the header is not UTF-8; it was read as Latin-1")]
    Latin1,
}

/// A number to four digits, without zeros at its end.
fn short(number: f64) -> String {
    let places = (3 - number.abs().max(1e-9).log10().floor() as i32).clamp(0, 12);
    let scale = 10f64.powi(places);
    ((number * scale).round() / scale).to_string()
}

fn rows(count: u64) -> String {
    if count == 1 { "1 row has".to_owned() } else { format!("{count} rows have") }
}

fn times(count: u64) -> String {
    if count == 1 { "once".to_owned() } else { format!("{count} times") }
}

impl Expectation {
    /// Compares a column with the expectation, if it is one of those meant.
    pub(super) fn check(&self, column: &Column) -> Option<Remark> {
        if column.measurand != self.measurand {
            return None;
        }
        let expected = |si: f64| (self.low..=self.high).contains(&si);
        let si = self.statistic.of(column)?;
        if expected(si) {
            return None;
        }
        let number = column.unit.from_si(si);
        let dimension = self.measurand.dimension();
        // Of the units that would do, the one that comes closest to the middle of the expected range.
        let off = |si: f64| match dimension {
            Dimension::Temperature => (si - 0.5 * (self.low + self.high)).abs(),
            _ => (si / (self.low * self.high).sqrt()).ln().abs(),
        };
        let candidates = dimension.units().iter().filter(|unit| expected(unit.to_si(number)));
        let likely = candidates.min_by(|a, b| off(a.to_si(number)).total_cmp(&off(b.to_si(number))));
        let (column, given) = (column.head.clone(), column.unit);
        Some(match likely {
            Some(likely) => Remark::OtherUnit { column, number, given: given.symbol, likely: likely.symbol },
            None => Remark::Unexpected {
                column,
                number,
                low: given.from_si(self.low),
                high: given.from_si(self.high),
                unit: given.symbol,
            },
        })
    }
}

impl Statistic {
    /// In SI; `None` for a column without readings.
    fn of(self, column: &Column) -> Option<f64> {
        let mut present = column.iter().flatten();
        if self == Self::First {
            return present.next();
        }
        let mut sizes: Vec<f64> = present.map(f64::abs).collect();
        let at = (sizes.len().checked_sub(1)? as f64 * 0.95).round() as usize;
        Some(*sizes.select_nth_unstable_by(at, f64::total_cmp).1)
    }
}
