//! Lines and cells.
//!
//! Written by hand and line by line, because to a general CSV reader a quote that is never closed is one long cell:
//! a single stray `"` would swallow the rest of a log.

use super::FaultKind;
use std::borrow::Cow;
use std::io::{self, BufRead, Read};

/// Longest line that is read, in bytes.
const LONGEST: usize = 1 << 16;

/// Lines of a stream, with their number and the checksum of all bytes.
pub(super) struct Lines<R> {
    reader: R,
    hasher: crc32fast::Hasher,
    line: Vec<u8>,
    number: u64,
    too_long: bool,
    ended: bool,
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(reader: R) -> Self {
        let hasher = crc32fast::Hasher::new();
        Self { reader, hasher, line: Vec::with_capacity(256), number: 0, too_long: false, ended: true }
    }

    /// Reads the next line; false at the end.
    pub(super) fn advance(&mut self) -> io::Result<bool> {
        self.line.clear();
        self.too_long = false;
        loop {
            let start = self.line.len();
            let got = (&mut self.reader).take((LONGEST - start) as u64).read_until(b'\n', &mut self.line)?;
            self.hasher.update(&self.line[start..]);
            let ended = self.line.last() == Some(&b'\n');
            if got == 0 || ended {
                let any = start > 0 || got > 0 || self.too_long;
                if any {
                    self.ended = ended;
                    self.number += 1;
                }
                while let [.., b'\n' | b'\r'] = self.line[..] {
                    self.line.pop();
                }
                return Ok(any);
            }
            if self.line.len() == LONGEST {
                self.too_long = true;
                self.line.clear();
            }
        }
    }

    /// Number of the current line, counted from 1.
    pub(super) fn number(&self) -> u64 {
        self.number
    }

    /// Whether the current line has no line break, so that it may have been cut short.
    pub(super) fn cut_short(&self) -> bool {
        !self.ended
    }

    pub(super) fn checksum(self) -> String {
        format!("crc32:{:08x}", self.hasher.finalize())
    }

    pub(super) fn bytes(&self) -> &[u8] {
        &self.line
    }

    /// Comment, or nothing but blanks and separators.
    pub(super) fn is_blank(&self, delimiter: u8) -> bool {
        if self.too_long {
            return false;
        }
        let first = self.line.iter().find(|&&byte| byte != delimiter && !byte.is_ascii_whitespace());
        matches!(first, None | Some(b'#'))
            // Separators before a `#` are cells, not the margin of a comment.
            && (first.is_none() || self.line.trim_ascii_start().first() == Some(&b'#'))
    }

    /// Hands each cell of the current line to a function, until it fails.
    pub(super) fn cells(
        &self,
        delimiter: u8,
        mut take: impl FnMut(&[u8]) -> Result<(), FaultKind>,
    ) -> Result<(), FaultKind> {
        if self.too_long {
            return Err(FaultKind::TooLong { limit: LONGEST });
        }
        if !self.line.contains(&b'"') {
            return self.line.split(|byte| *byte == delimiter).try_for_each(take);
        }
        let mut rest = &self.line[..];
        loop {
            let (cell, after) = quoted(rest, delimiter)?;
            take(&cell)?;
            match after {
                Some(after) => rest = after,
                None => return Ok(()),
            }
        }
    }
}

/// A cell, and the rest of its line if there is any.
type Split<'a> = (Cow<'a, [u8]>, Option<&'a [u8]>);

/// The first cell of a line, and what follows its separator. Inside quotes, `""` is a quote (RFC 4180).
fn quoted(line: &[u8], delimiter: u8) -> Result<Split<'_>, FaultKind> {
    let blanks = line.iter().take_while(|&&byte| byte == b' ').count();
    let Some(mut rest) = line[blanks..].strip_prefix(b"\"") else {
        let end = line.iter().position(|byte| *byte == delimiter);
        let cell = Cow::Borrowed(&line[..end.unwrap_or(line.len())]);
        return Ok((cell, end.map(|end| &line[end + 1..])));
    };
    let mut cell = Vec::new();
    loop {
        let quote = rest.iter().position(|byte| *byte == b'"').ok_or(FaultKind::OpenQuote)?;
        cell.extend_from_slice(&rest[..quote]);
        rest = &rest[quote + 1..];
        match rest.strip_prefix(b"\"") {
            Some(after) => {
                cell.push(b'"');
                rest = after;
            }
            None => break,
        }
    }
    let end = rest.iter().position(|byte| *byte == delimiter);
    // What stands between the closing quote and the separator belongs to the cell, and will be no number.
    cell.extend_from_slice(rest[..end.unwrap_or(rest.len())].trim_ascii());
    Ok((Cow::Owned(cell), end.map(|end| &rest[end + 1..])))
}

/// Decimal mark of a file: that of the first number that has one.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Decimal(Option<u8>);

/// What a cell holds.
#[derive(Debug, PartialEq)]
pub(super) enum Cell {
    Number(f64),
    Missing,
    Overload,
    OtherDecimal(String),
    NoNumber(String),
}

/// Whether a cell says that there is no reading.
pub(super) fn is_missing(cell: &[u8]) -> bool {
    let cell = cell.trim_ascii();
    cell.is_empty()
        || [&b"-"[..], b"--", b"n/a", b"na", b"nan"].iter().any(|no| cell.eq_ignore_ascii_case(no))
}

/// Reads a cell. Tried as a number first: nearly all of a log's millions of cells are.
pub(super) fn number(cell: &[u8], decimal: &mut Decimal) -> Cell {
    /// Longer than any number that a meter or spreadsheet writes.
    const LONGEST_NUMBER: usize = 40;
    let cell = cell.trim_ascii();
    let mut pointed = [0; LONGEST_NUMBER];
    let mut mark = None;
    let mut marks = 0;
    if let Some(pointed) = pointed.get_mut(..cell.len()) {
        for (to, &byte) in pointed.iter_mut().zip(cell) {
            *to = byte;
            if byte == b'.' || byte == b',' {
                *to = b'.';
                mark = Some(byte);
                marks += 1;
            }
        }
        match (plain_number(pointed), mark) {
            (Some(number), None) => return Cell::Number(number),
            (Some(number), Some(mark)) if *decimal.0.get_or_insert(mark) == mark => {
                return Cell::Number(number);
            }
            (Some(_), Some(_)) => return Cell::OtherDecimal(String::from_utf8_lossy(cell).into_owned()),
            (None, _) => {}
        }
    }
    let overload = [&b"OL"[..], b"O.L", b"0L", b"0.L", b"OVLD", b"overload"];
    let text = String::from_utf8_lossy(cell).into_owned();
    if is_missing(cell) {
        Cell::Missing
    } else if marks > 1 && cell.iter().all(|byte| byte.is_ascii_digit() || b"+-.,eE".contains(byte)) {
        Cell::OtherDecimal(text)
    } else if overload.iter().any(|ol| cell.eq_ignore_ascii_case(ol)) {
        Cell::Overload
    } else {
        Cell::NoNumber(text)
    }
}

/// A finite number; also with the typographic minus that spreadsheets write.
fn plain_number(cell: &[u8]) -> Option<f64> {
    let text = std::str::from_utf8(cell).ok()?;
    let number: f64 = match text.strip_prefix('\u{2212}') {
        Some(size) if !size.starts_with(['+', '-']) => -size.parse::<f64>().ok()?,
        _ => text.parse().ok()?,
    };
    number.is_finite().then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_numbers_or_say_why_not() {
        let read = |text: &str| number(text.as_bytes(), &mut Decimal::default());
        assert_eq!(read(" -1.5e-3 "), Cell::Number(-1.5e-3));
        assert_eq!(read("1,5"), Cell::Number(1.5));
        assert_eq!(read("+7"), Cell::Number(7.0));
        assert_eq!(read("\u{2212}0,25"), Cell::Number(-0.25));
        for missing in ["", " ", "-", "--", "N/A", "nan", "NaN"] {
            assert_eq!(read(missing), Cell::Missing, "{missing}");
        }
        for overload in ["OL", "ol", "0L", "O.L"] {
            assert_eq!(read(overload), Cell::Overload, "{overload}");
        }
        for thousands in ["1.234,5", "1,234.5", "1,234,567", "1.234.567"] {
            assert_eq!(read(thousands), Cell::OtherDecimal(thousands.to_owned()));
        }
        for no in ["24 V", "inf", "-infinity", "1e999", "0x10", "1_000", "one", "12:30:00"] {
            assert_eq!(read(no), Cell::NoNumber(no.to_owned()));
        }
    }

    #[test]
    fn the_decimal_mark_is_one_for_the_file() {
        let mut decimal = Decimal::default();
        assert_eq!(number(b"3", &mut decimal), Cell::Number(3.0));
        assert_eq!(number(b"3,5", &mut decimal), Cell::Number(3.5));
        assert_eq!(number(b"1.234", &mut decimal), Cell::OtherDecimal("1.234".to_owned()));
    }
}
