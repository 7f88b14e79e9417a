//! A recorded drive: voltage or current against time, from CSV text.
//!
//! The first line names two columns, `time` and `voltage` or `current`, in SI (`time (s), voltage (V)`); each further
//! line holds one pair, valid until the next. Blank lines and what follows `#` do not count. A value below nothing is
//! the magnet reversed: heat follows the size of the current, and so does the pull of soft iron, which keeps nothing
//! of its past here; so the sign is taken and only its changes are told.

use crate::diagnostic::Diagnostic;
use crate::operating_point::{Pattern, Recorded};

/// Most faults that are told.
const FAULTS_MAX: usize = 20;

/// Read a profile; every fault found is reported with its line.
///
/// # Errors
/// A header that names no known columns; cells that are missing or no numbers; time that does not rise; no rows.
pub fn parse(text: &str, file: &str) -> Result<Pattern, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let fault = |line: usize, message: String, hint: &str| {
        Diagnostic::fault(message, hint).at(&format!("{file}:{line}"), None)
    };
    let lines = text.lines().enumerate().map(|(k, l)| (k + 1, l.split('#').next().unwrap_or("").trim()));
    let mut lines = lines.filter(|(_, l)| !l.is_empty());
    let Some((first, header)) = lines.next() else {
        return Err(vec![fault(
            1,
            "the profile is empty".into(),
            "a header such as `time (s), voltage (V)`, then rows",
        )]);
    };
    let name = |cell: &str| {
        cell.split('(').next().unwrap_or("").trim().trim_start_matches('\u{feff}').to_lowercase()
    };
    let names: Vec<String> = header.split(',').map(name).collect();
    let of = match names.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["time", "voltage"] => Recorded::Voltage,
        ["time", "current"] => Recorded::Current,
        _ => {
            let hint = "a header such as `time (s), voltage (V)` or `time (s), current (A)`";
            return Err(vec![fault(
                first,
                format!("`{header}` names no time with a voltage or current"),
                hint,
            )]);
        }
    };
    let mut rows: Vec<(f64, f64)> = Vec::new();
    for (line, content) in lines {
        let cells: Vec<&str> = content.split(',').map(str::trim).collect();
        if cells.len() != 2 || cells.iter().any(|c| c.is_empty()) {
            faults.push(fault(
                line,
                format!("`{content}` is not two values: a gap"),
                "remove the line or fill the gap",
            ));
            continue;
        }
        let number = |cell: &str| cell.parse::<f64>().ok().filter(|v| v.is_finite());
        let (Some(time), Some(value)) = (number(cells[0]), number(cells[1])) else {
            faults.push(fault(
                line,
                format!("`{content}` is not two numbers"),
                "plain numbers in seconds and volts or amperes",
            ));
            continue;
        };
        if let Some(before) = rows.last().filter(|b| time <= b.0) {
            faults.push(fault(
                line,
                format!("time goes back from {} s to {time} s", before.0),
                "rows in the order of time",
            ));
            continue;
        }
        rows.push((time, value));
    }
    if faults.is_empty() && rows.is_empty() {
        faults.push(fault(first, "no rows follow the header".into(), "one pair of time and value a line"));
    }
    if faults.is_empty() {
        Ok(Pattern::Profile { rows, of })
    } else {
        let more = faults.len().saturating_sub(FAULTS_MAX);
        faults.truncate(FAULTS_MAX);
        if more > 0 {
            faults.push(Diagnostic::fault(format!("and {more} more faults of this kind"), "").at(file, None));
        }
        Err(faults)
    }
}
