//! Bench readings from a CSV.
//!
//! # The format
//!
//! One header line, then one line for each moment or reading. Blank lines and lines that begin with `#` are
//! skipped. Cells are separated by tabs, semicolons or commas: whichever of these, in this order, stands in the
//! header. Cells may be quoted (`"1,5"`); a quote does not reach over a line's end. Numbers have a decimal point, or
//! a decimal comma throughout (with tabs, semicolons or quotes); thousands separators are refused. An empty cell,
//! `-`, `--`, `n/a`, `na` or `nan` is a missing reading. The text is UTF-8, with or without byte order mark; a header
//! in Latin-1 is understood. Lines end with LF or CR LF.
//!
//! A header cell is
//!
//! ```text
//! quantity unit [@ place place ...] [by instrument]
//!
//! time s | voltage V | current A | resistance ohm | power W | field mT | radial field mT | pull N |
//! r mm | z mm | x mm | y mm | gap mm | thickness mm | anything-else °C
//! ```
//!
//! * The unit is any that a sheet understands for that quantity; `(V)`, `[V]` and `/ V` are read as `V`.
//! * `field` is the flux density along the axis, `radial field` across it. `anything-else` is a thermometer's
//!   place, in words: `back`, `ambient`, `winding`.
//! * A place is `r=10mm` or, naming the column that holds it, `r` or `r mm`. `r` is the distance from the axis,
//!   `z` the height of the probe's tip above the face, `x` and `y` along the face, `gap` from face to workpiece,
//!   `thickness` that of the workpiece. Readings of field and pull for which the header gives no place take it from
//!   the columns of that name. Along `r` and `x` the other side of the middle is negative.
//! * `by` names the instrument, as in `[instruments.NAME]` of a sheet; also that of positions, `r mm by ruler`,
//!   `gap mm by shims`.
//! * `time` without a unit, or `time hh:mm:ss`, holds times of day: `14:05:00`, `14:05:00.5`, or with a date
//!   `2025-01-31T14:05:00` or `2025-01-31 14:05`, to which `Z` or an offset such as `+01:00` may be added. They become
//!   seconds since the first row. Two numbers without a date, `14:05`, are read only if the header says what they are,
//!   `time hh:mm` or `time mm:ss`; `05:30.5` are minutes and seconds. Hours (or minutes, if they come first) may go
//!   on beyond a day's, as on a stopwatch. Without dates, a time of day that is earlier by 18 h or more than the row
//!   before is that of the next day.
//!
//! ```text
//! time s; voltage V by meter; current A; back °C; field mT @ r=0mm z=1mm by probe
//! 0;      24,02;              0,462;     21,5;    81,3
//! ```

mod check;
mod clock;
mod fault;
mod header;
mod join;
mod line;

pub use check::{Expectation, Remark, Statistic};
pub use fault::{Fault, FaultKind, Faults, HeaderFault, ReadError};
pub use header::{Axis, Measurand, Place};

use clock::Clock;
use coilwright_magnet::quantity::{Dimension, Unit};
use coilwright_magnet::sheet::{TEMPERATURES_K, beyond_reason};
use header::Head;
use line::{Cell, Decimal, Lines};
use std::io::BufRead;

/// How to read.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Return the good lines together with the faults, where otherwise any fault is an error.
    pub lenient: bool,
    /// How many faulty lines are reported one by one; the rest is counted.
    pub reports: usize,
    /// What magnitude a column is expected to have, to notice a unit mixed up.
    pub expectations: Vec<Expectation>,
}

impl Default for Options {
    fn default() -> Self {
        Self { lenient: false, reports: 20, expectations: Vec::new() }
    }
}

/// Readings as columns in SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    /// In the order of the file.
    pub columns: Vec<Column>,
    /// Number of the line, counted from 1, that each row stood in.
    pub lines: Vec<u64>,
    /// CRC-32 of the bytes (ISO 3309), as `crc32:` and eight hexadecimal digits: whether a file has changed.
    pub checksum: String,
    /// Faulty lines that were left out; none unless the reading was lenient.
    pub faults: Faults,
    /// What is odd but can be read.
    pub remarks: Vec<Remark>,
}

/// One column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Header cell as written.
    pub head: String,
    /// What was measured.
    pub measurand: Measurand,
    /// Unit of the file.
    pub unit: &'static Unit,
    /// Where it was measured, as far as the header says.
    pub places: Vec<(Axis, Place)>,
    /// Instrument named in the header.
    pub instrument: Option<String>,
    /// In SI; NaN marks a missing reading, which is why they are not public.
    values: Vec<f64>,
}

impl Column {
    /// Reading of a row in SI, kelvin for temperatures; `None` where it is missing.
    pub fn get(&self, row: usize) -> Option<f64> {
        self.values.get(row).copied().filter(|value| !value.is_nan())
    }

    /// Readings of all rows in SI.
    pub fn iter(&self) -> impl Iterator<Item = Option<f64>> {
        self.values.iter().map(|value| (!value.is_nan()).then_some(*value))
    }

    /// The greatest of its values by size, SI; nought without any.
    pub fn greatest(&self) -> f64 {
        self.iter().flatten().fold(0.0, |most: f64, value| most.max(value.abs()))
    }

    /// Number of readings that are there.
    pub fn present(&self) -> usize {
        self.values.iter().filter(|value| !value.is_nan()).count()
    }
}

impl Readings {
    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.lines.len()
    }

    /// Columns of one kind.
    pub fn columns_of<'a>(&'a self, measurand: &'a Measurand) -> impl Iterator<Item = &'a Column> {
        self.columns.iter().filter(move |column| column.measurand == *measurand)
    }

    /// What is odd about the columns by what is known of the magnet; also part of [`read`] with
    /// [`Options::expectations`].
    pub fn check(&self, expectations: &[Expectation]) -> Vec<Remark> {
        let all = expectations.iter().flat_map(|e| self.columns.iter().filter_map(|column| e.check(column)));
        all.collect()
    }

    /// Where the reading of a column in a row was taken, along one axis, m: from the column's header, or from the
    /// column of that axis. `None` if neither says.
    pub fn place(&self, column: &Column, axis: Axis, row: usize) -> Option<f64> {
        match column.places.iter().find(|(a, _)| *a == axis) {
            Some((_, Place::At(metres))) => Some(*metres),
            _ => self.columns_of(&Measurand::Position(axis)).next()?.get(row),
        }
    }
}

/// Reads a CSV to its end.
///
/// Streams: beyond the rows themselves, memory does not grow with the file. Errors: see [`ReadError`].
///
/// ```
/// use coilwright_bench::readings::{Axis, Measurand, Options, read};
/// let csv = "time s; current A; field mT @ r=0mm z=1mm; back °C\n0; 0,462; 81,3; 21,5\n60; 0,455; 80,1;\n";
/// let readings = read(csv.as_bytes(), &Options::default())?;
/// let field = readings.columns_of(&Measurand::Field).next().unwrap();
/// assert_eq!(field.get(0), Some(0.0813));
/// assert_eq!(readings.place(field, Axis::Z, 0), Some(0.001));
/// assert_eq!(readings.columns[3].get(1), None);
/// # Ok::<(), coilwright_bench::readings::ReadError>(())
/// ```
pub fn read(reader: impl BufRead, options: &Options) -> Result<Readings, ReadError> {
    let mut lines = Lines::new(reader);
    let mut remarks = Vec::new();
    let header = header::read(&mut lines, &mut remarks)?;
    let mut table = Table::new(header, options);
    while lines.advance()? {
        table.take(&mut lines);
    }
    if lines.cut_short() {
        remarks.push(Remark::NoFinalLineBreak { line: lines.number() });
    }
    table.finish(lines.checksum(), remarks)
}

/// A number of a column in SI; an error for a temperature that no magnet survives or that does not exist, and for what no bench
/// reads.
fn plausible(column: &Column, number: f64) -> Result<f64, FaultKind> {
    let si = column.unit.to_si(number);
    let told = || (column.head.clone(), format!("{number} {}", column.unit.symbol));
    if column.measurand.dimension() == Dimension::Temperature && !TEMPERATURES_K.contains(&si) {
        let (column, text) = told();
        return Err(FaultKind::Temperature { column, text });
    }
    let reason = match column.measurand {
        Measurand::Pull if si < 0.0 => Some("a pull is not below nought"),
        _ => beyond_reason(column.measurand.dimension(), si),
    };
    reason.map_or(Ok(si), |reason| {
        let (column, text) = told();
        Err(FaultKind::BeyondReason { column, text, reason })
    })
}

/// Rows as they come in.
struct Table<'a> {
    options: &'a Options,
    delimiter: u8,
    columns: Vec<Column>,
    time: Option<usize>,
    clock: Option<Clock>,
    /// The last time that was taken, s, and its text if it is a time of day.
    last_s: f64,
    last_text: Vec<u8>,
    text: Vec<u8>,
    midnights: Option<(u64, u64)>,
    lines: Vec<u64>,
    faults: Faults,
    decimal: Decimal,
    row: Vec<f64>,
    repeated: Option<(u64, u64)>,
}

impl<'a> Table<'a> {
    fn new(head: Head, options: &'a Options) -> Self {
        let time = head.columns.iter().position(|column| column.measurand == Measurand::Time);
        Self {
            options,
            delimiter: head.delimiter,
            time,
            clock: head.clock.map(Clock::new),
            last_s: f64::NAN,
            last_text: Vec::new(),
            text: Vec::new(),
            midnights: None,
            row: Vec::with_capacity(head.columns.len()),
            columns: head.columns,
            lines: Vec::new(),
            faults: Faults::default(),
            decimal: Decimal::default(),
            repeated: None,
        }
    }

    /// One line: a row, a fault, or nothing.
    fn take(&mut self, lines: &mut Lines<impl BufRead>) {
        if lines.is_blank(self.delimiter) {
            return;
        }
        let number = lines.number();
        match self.parse(lines).and_then(|()| self.check_time(number)) {
            // Rows of a file that will be refused need not be kept.
            Ok(()) if self.options.lenient || self.faults.is_empty() => {
                for (column, value) in self.columns.iter_mut().zip(&self.row) {
                    column.values.push(*value);
                }
                self.lines.push(number);
            }
            Ok(()) => {}
            Err(kind) => {
                let kind = if lines.cut_short() { FaultKind::Torn { why: Box::new(kind) } } else { kind };
                self.faults.add(Fault { line: number, kind }, self.options.reports);
            }
        }
    }

    fn parse(&mut self, lines: &mut Lines<impl BufRead>) -> Result<(), FaultKind> {
        self.row.clear();
        let (columns, row, decimal) = (&self.columns, &mut self.row, &mut self.decimal);
        let (mut clock, text, time) = (self.clock.as_mut(), &mut self.text, self.time);
        let mut found = 0;
        lines.cells(self.delimiter, |cell| {
            found += 1;
            let Some(column) = columns.get(found - 1) else {
                // A separator at the end of every line is a habit of loggers, not a cell.
                let trailing = found == columns.len() + 1 && line::is_missing(cell);
                return if trailing {
                    Ok(())
                } else {
                    Err(FaultKind::TooManyCells { expected: columns.len() })
                };
            };
            let name = || column.head.clone();
            if time == Some(found - 1)
                && let Some(clock) = &mut clock
            {
                row.push(clock.read(cell, &column.head)?);
                text.clear();
                text.extend_from_slice(cell.trim_ascii());
                return Ok(());
            }
            row.push(match line::number(cell, decimal) {
                Cell::Number(number) => plausible(column, number)?,
                Cell::Missing => f64::NAN,
                Cell::Overload => return Err(FaultKind::Overload { column: name() }),
                Cell::OtherDecimal(text) => return Err(FaultKind::OtherDecimalMark { column: name(), text }),
                Cell::NoNumber(text) if column.measurand == Measurand::Time && text.contains(':') => {
                    return Err(FaultKind::TimeOfDay { column: name(), text });
                }
                Cell::NoNumber(text) => return Err(FaultKind::NotANumber { column: name(), text }),
            });
            Ok(())
        })?;
        if self.row.len() < self.columns.len() {
            return Err(FaultKind::TooFewCells { found: self.row.len(), expected: self.columns.len() });
        }
        Ok(())
    }

    /// Time must not run backwards; that it stands still is only remarked upon.
    fn check_time(&mut self, number: u64) -> Result<(), FaultKind> {
        let Some(t) = self.time else { return Ok(()) };
        let before = self.last_s;
        if let Some(clock) = &mut self.clock {
            let (time, days) = clock.going_on(self.row[t], before);
            if clock.passed(days) {
                self.midnights.get_or_insert((number, 0)).1 += 1;
            }
            self.row[t] = time;
        }
        let time = self.row[t];
        if time < before {
            let unit = self.columns[t].unit;
            let number = |si| format!("{} {}", unit.from_si(si), unit.symbol);
            let text = |text: &[u8]| String::from_utf8_lossy(text).into_owned();
            let [time, before] = match &self.clock {
                Some(_) => [text(&self.text), text(&self.last_text)],
                None => [number(time), number(before)],
            };
            return Err(FaultKind::TimeBackwards { time, before });
        }
        if time == before {
            self.repeated.get_or_insert((number, 0)).1 += 1;
        }
        if !time.is_nan() {
            self.last_s = time;
            std::mem::swap(&mut self.text, &mut self.last_text);
        }
        Ok(())
    }

    fn finish(self, checksum: String, mut remarks: Vec<Remark>) -> Result<Readings, ReadError> {
        let Self { options, mut columns, lines, faults, repeated, .. } = self;
        if !options.lenient && !faults.is_empty() {
            return Err(ReadError::Lines(faults));
        }
        if lines.is_empty() {
            return Err(ReadError::NoRows(faults));
        }
        if let (Some(_), Some(t)) = (&self.clock, self.time) {
            let times = &mut columns[t].values;
            let first = times.iter().copied().find(|time| !time.is_nan()).unwrap_or(0.0);
            times.iter_mut().for_each(|time| *time -= first);
        }
        if let Some((line, count)) = self.midnights {
            remarks.push(Remark::Midnight { line, count });
        }
        if let Some((line, count)) = repeated {
            remarks.push(Remark::TimesRepeated { line, count });
        }
        for expectation in &options.expectations {
            remarks.extend(columns.iter().filter_map(|column| expectation.check(column)));
        }
        Ok(Readings { columns, lines, checksum, faults, remarks })
    }
}
