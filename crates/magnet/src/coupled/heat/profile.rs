//! A recorded drive: voltage or current against time, from CSV text.
//!
//! The first line names two columns, `time` and `voltage` or `current`, with their units (`time (h), current (mA)`; SI
//! where none is named); each further line holds one pair, valid until the next. The last line ends the recording: how
//! long its value lasted nobody wrote down, so the drive is off from there on. Blank lines and what follows `#` do not count. A value below nothing is
//! the magnet reversed: heat follows the size of the current, and so does the pull of soft iron, which keeps nothing
//! of its past here; so the sign is taken and only its changes are told.

use crate::coupled::operating_point::{Driven, Pattern, Recorded};
use crate::diagnostic::Diagnostic;
use crate::quantity::{Dimension, Unit, UnitSystem};

/// Most faults that are told.
const FAULTS_MAX: usize = 20;

/// Current density beyond which no row is meant, A/m²: 1000 A/mm² melts copper within milliseconds (our own threshold).
const ABSURD_A_M2: f64 = 1e9;
/// A gap is told if it is this many times the usual distance between rows.
const GAP: f64 = 10.0;
/// Rows from which on a usual distance means anything.
const ROWS_WITH_USUAL: usize = 5;

/// A profile with what is to be said of it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Profile {
    pub(crate) pattern: Pattern,
    pub(crate) remarks: Vec<String>,
}

/// Read a profile; every fault found is reported with its line.
///
/// # Errors
/// A header that names no known columns or units; a value that no winding of this conductor bears; cells that are missing or no numbers; time that does not rise; no rows.
pub(crate) fn parse(text: &str, file: &str, driven: &Driven<'_>) -> Result<Profile, Vec<Diagnostic>> {
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
    let columns: Vec<(String, Option<&str>)> =
        header.trim_start_matches('\u{feff}').split(',').map(column).collect();
    let names: Vec<&str> = columns.iter().map(|c| c.0.as_str()).collect();
    let (of, kind) = match names[..] {
        ["time", "voltage"] => (Recorded::Voltage, Dimension::Voltage),
        ["time", "current"] => (Recorded::Current, Dimension::Current),
        _ => {
            let hint = "a header such as `time (s), voltage (V)` or `time (s), current (A)`";
            return Err(vec![fault(
                first,
                format!("`{header}` names no time with a voltage or current"),
                hint,
            )]);
        }
    };
    let mut units: Vec<&Unit> = Vec::new();
    for ((name, spelling), kind) in columns.iter().zip([Dimension::Time, kind]) {
        match spelling.map_or(Some(&kind.units()[0]), |spelling| kind.unit(spelling)) {
            Some(unit) => units.push(unit),
            None => {
                let known: Vec<&str> = kind.units().iter().map(|u| u.symbol).collect();
                let message = format!("`{}` is no unit of {name}", spelling.unwrap_or_default());
                faults.push(fault(first, message, &format!("known are {}", known.join(", "))));
            }
        }
    }
    let [time_unit, value_unit] = units[..] else { return Err(faults) };
    let winding = driven.winding;
    let ohm = winding.resistance_ohm(driven.excitation.kelvin) + driven.supply.lead_ohm;
    let mut lines_of: Vec<usize> = Vec::new();
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
        let read = |cell: &str, unit: &Unit| number(cell).map(|v| unit.to_si(v)).filter(|v| v.is_finite());
        let (Some(time), Some(value)) = (read(cells[0], time_unit), read(cells[1], value_unit)) else {
            faults.push(fault(
                line,
                format!("`{content}` is not two numbers"),
                "plain numbers in the units of the header",
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
        let amperes = match of {
            Recorded::Voltage => value.abs() / ohm,
            Recorded::Current => value.abs(),
        };
        let density = winding.current_density_a_per_m2(amperes);
        if density > ABSURD_A_M2 {
            faults.push(fault(
                line,
                format!(
                    "{} would be {} in the conductor: no winding bears that",
                    kind.text(value, None, UnitSystem::Si),
                    Dimension::CurrentDensity.text(density, None, UnitSystem::Si)
                ),
                "mend the row, or the unit in the header",
            ));
            continue;
        }
        rows.push((time, value));
        lines_of.push(line);
    }
    if faults.is_empty() && rows.is_empty() {
        faults.push(fault(first, "no rows follow the header".into(), "one pair of time and value a line"));
    }
    if faults.is_empty() {
        let remarks = gaps(&rows, &lines_of, file);
        Ok(Profile { pattern: Pattern::Profile { rows, of }, remarks })
    } else {
        let more = faults.len().saturating_sub(FAULTS_MAX);
        faults.truncate(FAULTS_MAX);
        if more > 0 {
            faults.push(Diagnostic::fault(format!("and {more} more faults of this kind"), "").at(file, None));
        }
        Err(faults)
    }
}

/// A column's name in lower case, and its unit if it names one.
fn column(cell: &str) -> (String, Option<&str>) {
    let (name, rest) = cell.split_once('(').map_or((cell, None), |(name, rest)| (name, Some(rest)));
    let unit = rest.map(|r| r.trim().trim_end_matches(')').trim());
    (name.trim().to_lowercase(), unit)
}

/// What to say of gaps that are much longer than the usual distance between rows, the median.
fn gaps(rows: &[(f64, f64)], lines: &[usize], file: &str) -> Vec<String> {
    if rows.len() < ROWS_WITH_USUAL {
        return Vec::new();
    }
    let apart: Vec<f64> = rows.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let mut sorted = apart.clone();
    sorted.sort_by(f64::total_cmp);
    let usual = sorted[sorted.len() / 2];
    let time = |s: f64| Dimension::Time.text(s, None, UnitSystem::Si);
    let long: Vec<usize> = (0..apart.len()).filter(|k| apart[*k] > GAP * usual).collect();
    let Some(worst) = long.iter().copied().max_by(|a, b| apart[*a].total_cmp(&apart[*b])) else {
        return Vec::new();
    };
    vec![format!(
        "{file}:{}: nothing was recorded for {}, where rows usually lie {} apart; the value before is held meanwhile{}",
        lines[worst + 1],
        time(apart[worst]),
        time(usual),
        match long.len() {
            1 => String::new(),
            n => format!(" ({n} such gaps, this is the longest)"),
        }
    )]
}
