//! What can be wrong with a file of readings.

use std::fmt;

/// Why a file is not accepted.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The bytes could not be read.
    #[error("the file cannot be read: {0}")]
    Io(#[from] std::io::Error),
    /// UTF-16, as some spreadsheets write it.
    #[error("the file is UTF-16 text; save it as UTF-8")]
    Utf16,
    /// Nothing but comments and blank lines.
    #[error("there is no header")]
    Empty,
    /// The header is not understood; every faulty cell is listed.
    #[error("line {line}, header: {}", join(faults))]
    Header {
        /// Line of the header.
        line: u64,
        /// One for each faulty cell.
        faults: Vec<HeaderFault>,
    },
    /// Some lines are faulty, and the reading was not lenient.
    #[error("{0}")]
    Lines(Faults),
    /// No line is a row of readings.
    #[error("there are no readings below the header{}", if .0.is_empty() { String::new() } else { format!(": {}", .0) })]
    NoRows(Faults),
}

/// A header cell that is not understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeaderFault {
    /// The cell, counted from 1.
    pub cell: usize,
    /// As written.
    pub text: String,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub hint: String,
}

impl fmt::Display for HeaderFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cell {} `{}`: {}", self.cell, self.text, self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, " ({})", self.hint) }
    }
}

/// Faulty lines: the first ones in full, the rest counted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    /// The first ones, up to the number asked for.
    pub listed: Vec<Fault>,
    /// How many more there are.
    pub unlisted: usize,
}

impl Faults {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.count() == 0
    }

    /// All, listed or not.
    pub fn count(&self) -> usize {
        self.listed.len() + self.unlisted
    }

    pub(super) fn add(&mut self, fault: Fault, most: usize) {
        if self.listed.len() < most { self.listed.push(fault) } else { self.unlisted += 1 }
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", join(&self.listed))?;
        match (self.unlisted, self.listed.is_empty()) {
            (0, _) => Ok(()),
            (more, true) => write!(f, "{more} faulty lines"),
            (more, false) => write!(f, "; and {more} more faulty lines"),
        }
    }
}

fn join<T: fmt::Display>(faults: &[T]) -> String {
    faults.iter().map(T::to_string).collect::<Vec<_>>().join("; ")
}

/// A faulty line.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("line {line}: {kind}")]
pub struct Fault {
    /// Number of the line, counted from 1.
    pub line: u64,
    /// What is wrong with it.
    pub kind: FaultKind,
}

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FaultKind {
    /// Fewer cells than the header has.
    #[error("{found} of the {expected} cells that the header has")]
    TooFewCells {
        /// In the line.
        found: usize,
        /// In the header.
        expected: usize,
    },
    /// More cells than the header has; a decimal comma between commas does that.
    #[error("more cells than the header's {expected}; decimal commas need semicolons between the cells")]
    TooManyCells {
        /// In the header.
        expected: usize,
    },
    /// A cell that is no number.
    #[error("`{text}` under `{column}` is not a number (its unit belongs in the header)")]
    NotANumber {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// A decimal point in a file with decimal commas, or the reverse, or a thousands separator.
    #[error("`{text}` under `{column}` mixes decimal points and commas: which of them are thousands?")]
    OtherDecimalMark {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// The meter showed that its range was exceeded.
    #[error("the meter was overloaded under `{column}`")]
    Overload {
        /// Header of the column.
        column: String,
    },
    /// A temperature outside what a sheet may give.
    #[error(
        "{text} under `{column}` is no temperature of a magnet, which are between -60 °C and 500 °C: \
         is the unit in the header right, and the thermometer whole? Leave the cell empty if it is not"
    )]
    Temperature {
        /// Header of the column.
        column: String,
        /// The number with the unit of its column.
        text: String,
    },
    /// A number that no bench reads.
    #[error(
        "{text} under `{column}` cannot be ({reason}): is the unit in the header right, and the line whole? Leave the cell \
         empty if it is not"
    )]
    BeyondReason {
        /// Header of the column.
        column: String,
        /// The number with the unit of its column.
        text: String,
        /// What it would have to be.
        reason: &'static str,
    },
    /// A quote that is not closed in its line.
    #[error("a quote is not closed")]
    OpenQuote,
    /// A line so long that it cannot be readings.
    #[error("longer than {limit} bytes")]
    TooLong {
        /// The most that is read.
        limit: usize,
    },
    /// An earlier time than in the row before.
    #[error("time runs backwards, from {before} to {time}: a clock that was set, or two logs in one file?")]
    TimeBackwards {
        /// In this row, with its unit.
        time: String,
        /// In the row before, with its unit.
        before: String,
    },
    /// A time of day where the header gives a unit.
    #[error(
        "`{text}` under `{column}` is a time of day; without a unit, `time`, the header lets them be read"
    )]
    TimeOfDay {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// No time of day where the header gives no unit.
    #[error(
        "`{text}` under `{column}` is not a time such as 14:05:00 or 2025-01-31T14:05:00 \
         (plain numbers need a unit in the header: `time s`)"
    )]
    NotATime {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// Hours and minutes, or minutes and seconds.
    #[error(
        "`{text}` under `{column}` may be hours and minutes or minutes and seconds; \
         the header says which: `time hh:mm` or `time mm:ss`"
    )]
    TwoNumbers {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// The 30th of February.
    #[error("`{text}` under `{column}`: there is no such date")]
    NoSuchDate {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// Some times with a date, or with an offset from UTC, and some without.
    #[error("`{text}` under `{column}`: a date or an offset from UTC stands with all times or with none")]
    WrittenOtherwise {
        /// Header of the column.
        column: String,
        /// The cell.
        text: String,
    },
    /// The last line, without line break: the logger stopped in the middle of it.
    #[error("the last line is torn off: {why}")]
    Torn {
        /// What is wrong with what there is of it.
        why: Box<FaultKind>,
    },
}
