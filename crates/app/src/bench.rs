//! The door to what was measured: readings from files, the audit and the fit.

pub(crate) use coilwright_bench::audit::audit;

use crate::args::Sampling;
use crate::ask::{self, Failure, Question, Sheet};
use crate::outcome::{Faults, Stop};
use coilwright_bench::fit::{self, Fitted};
use coilwright_bench::instrument::{self, Set};
use coilwright_bench::readings::{self, ReadError, Readings};
use coilwright_bench::sampled;
use coilwright_choose::adjust::{Adjust, adjusted};
use coilwright_choose::lot::{self, Lot};
use coilwright_choose::sweep;
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::watch::Watch;
use std::fmt::Write;
use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};

/// Answers a question: once, with bands by sampling if they are asked for, over a sweep, or so adjusted that a number comes out.
pub(crate) fn answer(
    sheet: &Sheet,
    question: &Question,
    sampling: &Sampling,
    watch: &Watch,
) -> Result<Answer, Failure> {
    if !sampling.sweep.is_empty() {
        return sweep::watched(sheet, question, &sampling.sweep, watch);
    }
    if let (Some(path), Some((key, wanted))) = (&sampling.adjust, &sampling.until) {
        let adjust = Adjust { path: path.clone(), key: key.clone(), wanted: wanted.clone() };
        return adjusted(sheet, question, &adjust, watch);
    }
    let Some(count) = sampling.samples else { return sampled::answer(sheet, question, watch) };
    let mut answer = ask::watched(sheet, question, watch)?;
    sampled::add_samples(&mut answer, sheet, question, (count as usize, sampling.seed), watch)?;
    Ok(answer)
}

/// What each of a lot holds.
pub(crate) fn lot(sheet: &Sheet, of: &Lot, watch: &Watch) -> Result<Answer, Failure> {
    lot::watched(sheet, of, watch)
}

/// Readings with the name of their file.
pub(crate) struct Read {
    /// The readings.
    pub(crate) readings: Readings,
    /// The file as the user named it.
    pub(crate) file: String,
}

/// Reads a file of readings; `-` is standard input. Any faulty line is a fault.
pub(crate) fn readings(path: &Path) -> Result<Read, Stop> {
    let stdin = path.as_os_str() == "-";
    let file = if stdin { "standard input".to_owned() } else { path.display().to_string() };
    let reader: Box<dyn BufRead> = if stdin {
        Box::new(io::stdin().lock())
    } else {
        match File::open(path) {
            Ok(opened) => Box::new(BufReader::with_capacity(1 << 16, opened)),
            Err(error) => return Err(stop(vec![unreadable(&error, &file)])),
        }
    };
    read(reader, file).map_err(stop)
}

/// Reads readings from the bytes of a file of that name.
pub(crate) fn readings_of(bytes: &[u8], file: String) -> Result<Read, Vec<Diagnostic>> {
    read(bytes, file)
}

fn read(reader: impl BufRead, file: String) -> Result<Read, Vec<Diagnostic>> {
    match readings::read(reader, &readings::Options::default()) {
        Ok(readings) => Ok(Read { readings, file }),
        Err(error) => Err(diagnostics(&error, &file)),
    }
}

/// The bytes of a file of readings.
pub(crate) fn bytes(path: &Path) -> Result<Vec<u8>, Stop> {
    std::fs::read(path).map_err(|error| stop(vec![unreadable(&error, &path.display().to_string())]))
}

/// Reads files of readings as one; their names are told together.
pub(crate) fn joined_readings(paths: &[PathBuf]) -> Result<Read, Stop> {
    let mut all = paths.iter().map(|path| readings(path));
    let first = all.next().ok_or_else(|| Stop::Usage("`--readings` names no file".into()))??;
    all.try_fold(first, |so_far, next| {
        let next = next?;
        let readings = so_far.readings.joined(&next.readings).map_err(|error| {
            let hint = "fit one of them; the sheet that comes out knows nothing of the other";
            stop(vec![Diagnostic::fault(error.to_string(), hint).at(&next.file, None)])
        })?;
        let known = so_far.file.split(" + ").any(|file| file == next.file);
        let file = if known { so_far.file } else { format!("{} + {}", so_far.file, next.file) };
        Ok(Read { readings, file })
    })
}

/// Reads a side file of instruments.
pub(crate) fn instruments(path: &Path) -> Result<Set, Stop> {
    let file = path.display().to_string();
    let text = std::fs::read_to_string(path).map_err(|error| {
        let hint = "a file of tables `[instruments.NAME]`, as in a sheet";
        stop(vec![Diagnostic::fault(format!("cannot be read: {error}"), hint).at(&file, None)])
    })?;
    instrument::parse(&text, &file)
        .map_err(|diagnostics| Stop::Input(vec![Faults { text: Some(text), diagnostics }]))
}

/// A sheet with the instruments of a side file, if there is one.
pub(crate) fn with_instruments(sheet: &Sheet, set: Option<&Set>) -> Result<Sheet, Failure> {
    let mut sheet = sheet.clone();
    if let Some(set) = set {
        set.give(&mut sheet)?;
    }
    Ok(sheet)
}

/// Fits a sheet; what is wrong with no other file is wrong with the readings.
pub(crate) fn fit(sheet: &Sheet, read: &Read, date: &str, watch: &Watch) -> Result<Fitted, Failure> {
    let options = fit::Options { date, readings_name: &read.file };
    fit::watched(sheet, &read.readings, &options, watch).map_err(|failure| match failure {
        Failure::Input(faults) => {
            let placed = |fault: Diagnostic| {
                if fault.file.is_empty() { fault.at(&read.file, None) } else { fault }
            };
            Failure::Input(faults.into_iter().map(placed).collect())
        }
        other => other,
    })
}

fn stop(diagnostics: Vec<Diagnostic>) -> Stop {
    Stop::Input(vec![Faults { text: None, diagnostics }])
}

const CSV: &str =
    "a CSV of readings, its header naming quantity and unit: `voltage V, current A, field mT @ r=0mm z=1mm`";

fn unreadable(error: &io::Error, file: &str) -> Diagnostic {
    match error.kind() {
        io::ErrorKind::NotFound => Diagnostic::fault("there is no such file", CSV),
        io::ErrorKind::IsADirectory => {
            Diagnostic::fault("this is a directory", "name the file of readings in it")
        }
        _ => Diagnostic::fault(error.to_string(), ""),
    }
    .at(file, None)
}

/// One diagnostic for each faulty line or header cell.
fn diagnostics(error: &ReadError, file: &str) -> Vec<Diagnostic> {
    let at = |line: u64| format!("{file}:{line}");
    match error {
        ReadError::Header { line, faults } => faults
            .iter()
            .map(|f| {
                let message = format!("header cell {}, `{}`: {}", f.cell, f.text, f.message);
                Diagnostic::fault(message, f.hint.clone()).at(&at(*line), None)
            })
            .collect(),
        ReadError::Lines(faults) | ReadError::NoRows(faults) if !faults.listed.is_empty() => {
            let listed = faults.listed.iter();
            let mut all: Vec<Diagnostic> =
                listed.map(|f| Diagnostic::fault(f.kind.to_string(), "").at(&at(f.line), None)).collect();
            if faults.unlisted > 0 {
                let more = format!("{} more lines are faulty", faults.unlisted);
                all.push(
                    Diagnostic::fault(more, "mend or remove the lines; none is left out silently")
                        .at(file, None),
                );
            }
            all
        }
        ReadError::Empty => {
            vec![Diagnostic::fault("the file is empty: there is no header", CSV).at(file, None)]
        }
        ReadError::NoRows(_) => {
            let hint = "one line for each moment or reading";
            vec![Diagnostic::fault(error.to_string(), hint).at(file, None)]
        }
        ReadError::Io(error) => vec![unreadable(error, file)],
        other => vec![Diagnostic::fault(other.to_string(), "").at(file, None)],
    }
}

/// What is odd about readings, a line each.
pub(crate) fn remarks(read: &Read) -> String {
    let colour = crate::style::CAUTION;
    read.readings.remarks.iter().fold(String::new(), |mut text, remark| {
        let _ = writeln!(text, "{}: {colour}remark{colour:#}: {remark}", read.file);
        text
    })
}
