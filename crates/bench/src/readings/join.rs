//! Readings of several files as one, and rows that are known again wherever they stand.

use super::{Column, Measurand, Readings};
use std::collections::HashSet;

/// Why readings cannot be joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum JoinError {
    /// Two logs, each with a clock of its own.
    #[error(
        "two files have times: logs are fitted one at a time, for none says how long after the other it began"
    )]
    TwoLogs,
}

impl Readings {
    /// These readings with those of another file. Rows that are in both count once; columns of one kind, place and
    /// instrument are one.
    ///
    /// # Errors
    /// Both are logs.
    pub fn joined(mut self, other: &Self) -> Result<Self, JoinError> {
        let is_log = |readings: &Self| readings.columns_of(&Measurand::Time).next().is_some();
        let here: HashSet<String> = self.row_keys().into_iter().collect();
        let keys = other.row_keys();
        let new: Vec<usize> = (0..other.rows()).filter(|row| !here.contains(&keys[*row])).collect();
        if is_log(&self) && is_log(other) && !new.is_empty() {
            return Err(JoinError::TwoLogs);
        }
        let before = self.rows();
        for column in &other.columns {
            if !self.columns.iter().any(|own| same(own, column)) {
                self.columns.push(Column { values: vec![f64::NAN; before], ..column.clone() });
            }
        }
        for own in &mut self.columns {
            let from = other.columns.iter().find(|column| same(own, column));
            own.values.extend(new.iter().map(|row| from.map_or(f64::NAN, |column| column.values[*row])));
        }
        self.lines.extend(new.iter().map(|row| other.lines[*row]));
        if !self.checksum.split(' ').any(|sum| sum == other.checksum) {
            self.checksum = format!("{} {}", self.checksum, other.checksum);
        }
        self.faults.listed.extend(other.faults.listed.iter().cloned());
        self.faults.unlisted += other.faults.unlisted;
        self.remarks.extend(other.remarks.iter().cloned());
        Ok(self)
    }

    /// The rows that have a time: a log, if readings of another kind were given with it.
    pub fn log(&self) -> Self {
        let rows: Vec<usize> = (0..self.rows()).filter(|row| self.timed(*row)).collect();
        let mut log = self.clone();
        for (own, all) in log.columns.iter_mut().zip(&self.columns) {
            own.values = rows.iter().map(|row| all.values[*row]).collect();
        }
        log.lines = rows.iter().map(|row| self.lines[*row]).collect();
        log
    }

    /// Whether a row has a time.
    pub fn timed(&self, row: usize) -> bool {
        self.columns_of(&Measurand::Time).next().is_some_and(|time| time.get(row).is_some())
    }

    /// For each row what it says, whatever the order of its columns and their units: a hash (CRC-32, ISO 3309) of what was
    /// measured, where, and of the values to six digits in SI.
    pub fn row_keys(&self) -> Vec<String> {
        let key = |row: usize| {
            let mut parts: Vec<String> = (self.columns.iter())
                .filter_map(|column| {
                    let value = column.get(row)?;
                    Some(format!("{:?} {:?} {value:.5e}", column.measurand, column.places))
                })
                .collect();
            parts.sort_unstable();
            format!("{:08x}", crc32fast::hash(parts.join("\n").as_bytes()))
        };
        (0..self.rows()).map(key).collect()
    }
}

fn same(a: &Column, b: &Column) -> bool {
    a.measurand == b.measurand && a.places == b.places && a.instrument == b.instrument
}
