//! Times of day in the column of time, turned into seconds.
//!
//! No clock is read here and no time zone known: dates are counted by the Gregorian calendar, an offset from UTC is
//! taken off if it stands in the cell. A log without dates that passes midnight goes on.

use super::fault::FaultKind;
use super::line::is_missing;
use time::{Date, Month};

const DAY_S: f64 = 86_400.0;
/// Time of day that falls by at least this much has passed midnight; by less, it runs backwards. A log may so pause
/// for six hours at midnight, and a clock be set back by eighteen.
const ACROSS_MIDNIGHT_S: f64 = 18.0 * 3600.0;

/// What two numbers with a colon between are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Two {
    /// The header does not say.
    Unsaid,
    HoursMinutes,
    MinutesSeconds,
}

impl Two {
    /// From what stands in the header in place of a unit; `None` if that is no pattern of a time.
    pub(super) fn of_header(pattern: &str) -> Option<Self> {
        let pattern = pattern.to_ascii_lowercase();
        let whole = pattern.trim_end_matches('s').strip_suffix(['.', ',']).unwrap_or(&pattern);
        Some(match whole {
            "" | "hh:mm:ss" | "yyyy-mm-dd hh:mm:ss" | "yyyy-mm-ddthh:mm:ss" => Self::Unsaid,
            "hh:mm" | "yyyy-mm-dd hh:mm" | "yyyy-mm-ddthh:mm" => Self::HoursMinutes,
            "mm:ss" => Self::MinutesSeconds,
            _ => return None,
        })
    }
}

/// How times are written; one way for a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Written {
    dated: bool,
    zoned: bool,
}

/// Reads a column of times.
#[derive(Debug)]
pub(super) struct Clock {
    two: Two,
    written: Option<Written>,
    /// Day from which seconds are counted, so that they keep their digits.
    origin_day: i64,
    /// The last date, as written and as a day: a log has the same in row after row.
    date: ([u8; 10], i64),
    /// Midnights passed by a log without dates.
    days: u32,
}

impl Clock {
    pub(super) fn new(two: Two) -> Self {
        Self { two, written: None, origin_day: 0, date: (*b"          ", 0), days: 0 }
    }

    /// Seconds of a cell, counted from midnight of the first day; NaN where it is missing. `column` is for the fault.
    pub(super) fn read(&mut self, cell: &[u8], column: &str) -> Result<f64, FaultKind> {
        if is_missing(cell) {
            return Ok(f64::NAN);
        }
        let cell = cell.trim_ascii();
        let said = || (column.to_owned(), String::from_utf8_lossy(cell).into_owned());
        let not_a_time = || {
            let (column, text) = said();
            FaultKind::NotATime { column, text }
        };
        let (date, rest) = match cell {
            [_, _, _, _, b'-', _, _, b'-', ..] if cell.len() >= 10 => {
                let (date, rest) = cell.split_at(10);
                let rest = rest.strip_prefix(b"T").or(rest.strip_prefix(b"t")).or(rest.strip_prefix(b" "));
                (Some(date), rest.ok_or_else(not_a_time)?)
            }
            _ => (None, cell),
        };
        let (rest, ahead_s) = offset(rest);
        let written = Written { dated: date.is_some(), zoned: ahead_s.is_some() };
        if written.zoned && !written.dated {
            return Err(not_a_time());
        }
        let two = if written.dated { Two::HoursMinutes } else { self.two };
        let seconds = match seconds(rest.trim_ascii(), two) {
            Some(Some(s)) if !(written.dated && s >= DAY_S) => s,
            Some(None) => {
                let (column, text) = said();
                return Err(FaultKind::TwoNumbers { column, text });
            }
            _ => return Err(not_a_time()),
        };
        let day = match date {
            Some(date) => self.day(date).ok_or_else(|| {
                let (column, text) = said();
                FaultKind::NoSuchDate { column, text }
            })?,
            None => 0,
        };
        match self.written {
            None => (self.written, self.origin_day) = (Some(written), day),
            Some(first) if first != written => {
                let (column, text) = said();
                return Err(FaultKind::WrittenOtherwise { column, text });
            }
            Some(_) => {}
        }
        Ok((day - self.origin_day) as f64 * DAY_S + seconds - ahead_s.unwrap_or(0.0))
    }

    /// Adds the days that a log without dates has lasted; one more if it has passed midnight since `before`.
    pub(super) fn going_on(&self, seconds: f64, before: f64) -> (f64, u32) {
        let undated = self.written.is_some_and(|w| !w.dated);
        let time = seconds + f64::from(self.days) * DAY_S;
        // A stopwatch beyond 24 h knows no midnight.
        let of_day = before - f64::from(self.days) * DAY_S < DAY_S;
        if undated && of_day && before - time >= ACROSS_MIDNIGHT_S {
            (time + DAY_S, self.days + 1)
        } else {
            (time, self.days)
        }
    }

    /// A row was taken with so many midnights before it; whether that is one more.
    pub(super) fn passed(&mut self, days: u32) -> bool {
        std::mem::replace(&mut self.days, days) != days
    }

    /// Days of a date since any; `None` if there is no such date.
    fn day(&mut self, text: &[u8]) -> Option<i64> {
        if self.date.0 != *text {
            let month = Month::try_from(u8::try_from(digits(&text[5..7])?).ok()?).ok()?;
            let day = u8::try_from(digits(&text[8..10])?).ok()?;
            let date = Date::from_calendar_date(i32::try_from(digits(&text[..4])?).ok()?, month, day).ok()?;
            self.date = (text.try_into().ok()?, i64::from(date.to_julian_day()));
        }
        Some(self.date.1)
    }
}

/// Cuts an offset from UTC (`Z`, `+01:00`, `+0100`, `-05`) off a time: how far its clock is ahead, s.
fn offset(text: &[u8]) -> (&[u8], Option<f64>) {
    if let Some(rest) = text.strip_suffix(b"Z").or(text.strip_suffix(b"z")) {
        return (rest, Some(0.0));
    }
    let Some(at) = text.iter().position(|b| b"+-".contains(b)) else { return (text, None) };
    let sign = if text[at] == b'-' { -1.0 } else { 1.0 };
    let (hours, minutes) = match &text[at + 1..] {
        [h @ .., b':', m1, m2] if h.len() == 2 => (digits(h), digits(&[*m1, *m2])),
        [h1, h2, m1, m2] => (digits(&[*h1, *h2]), digits(&[*m1, *m2])),
        [h1, h2] => (digits(&[*h1, *h2]), Some(0)),
        _ => (None, None),
    };
    match (hours, minutes) {
        (Some(h @ ..24), Some(m @ ..60)) => (&text[..at], Some(sign * f64::from(60 * h + m) * 60.0)),
        _ => (text, None),
    }
}

/// Seconds of `hh:mm:ss.s`, or of two numbers with a colon: `Some(None)` if these may be either. `None` if it is no
/// time. Hours, or minutes where they come first, may exceed a day's, as on a stopwatch.
fn seconds(text: &[u8], two: Two) -> Option<Option<f64>> {
    let (whole, fraction) = match text.iter().position(|b| b".,".contains(b)) {
        Some(at) => (&text[..at], Some(fraction(&text[at + 1..])?)),
        None => (text, None),
    };
    let mut fields = whole.split(|b| *b == b':');
    let first = digits(fields.next()?)?;
    let pair = |field: &[u8]| if field.len() == 2 { digits(field).filter(|n| *n < 60) } else { None };
    let second = pair(fields.next()?)?;
    let third = fields.next().map(pair);
    if fields.next().is_some() {
        return None;
    }
    let whole = match (third, two) {
        (Some(third), _) => 3600.0 * f64::from(first) + 60.0 * f64::from(second) + f64::from(third?),
        (None, Two::MinutesSeconds) => 60.0 * f64::from(first) + f64::from(second),
        // Nobody gives a fraction of a minute in this way.
        (None, Two::Unsaid) if fraction.is_some() => 60.0 * f64::from(first) + f64::from(second),
        (None, Two::Unsaid) => return Some(None),
        (None, Two::HoursMinutes) if fraction.is_some() => return None,
        (None, Two::HoursMinutes) => 3600.0 * f64::from(first) + 60.0 * f64::from(second),
    };
    Some(Some(whole + fraction.unwrap_or(0.0)))
}

/// A whole number of one to four digits.
fn digits(text: &[u8]) -> Option<u32> {
    let fine = (1..=4).contains(&text.len()) && text.iter().all(u8::is_ascii_digit);
    fine.then(|| text.iter().fold(0, |n, b| 10 * n + u32::from(b - b'0')))
}

/// What stands behind a decimal mark.
fn fraction(text: &[u8]) -> Option<f64> {
    let fine = (1..=9).contains(&text.len()) && text.iter().all(u8::is_ascii_digit);
    let number = |text: &[u8]| text.iter().fold(0, |n: u32, b| 10 * n + u32::from(b - b'0'));
    fine.then(|| f64::from(number(text)) / 10f64.powi(text.len() as i32))
}
