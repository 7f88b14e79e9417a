//! What all asking commands do: read the sheets, ask, write tables, JSON, CSV and charts.
//!
//! Nothing is written, to standard output or to a file, before every sheet is answered and every chart drawn.

use crate::args::{Common, Sampling};
use crate::ask::{Failure, Question, Sheet};
use crate::bench;
use crate::chart::{self, Curves};
use crate::console::Console;
use crate::files::{self, Output};
use crate::input::{self, Loaded};
use crate::interrupt;
use crate::outcome::{Exit, Faults, Stop};
use crate::terminal::{self, Extent, Layout};
use crate::{csv, diagnostics, json, shown};
use coilwright_choose::sweep::MAIN;
use coilwright_magnet::answers::answer::{Answer, Series, State};
use coilwright_magnet::watch::Watch;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Asks every sheet the same question and shows the answers as the options want.
pub(super) fn answer(
    common: &Common,
    question: &Question,
    sampling: &Sampling,
    console: &mut Console,
) -> Result<Exit, Stop> {
    answer_with(common, question, sampling, Files::default(), console)
}

/// The same, with what is written beside the answers.
pub(super) fn answer_with(
    common: &Common,
    question: &Question,
    sampling: &Sampling,
    files: Files<'_>,
    console: &mut Console,
) -> Result<Exit, Stop> {
    let ask = |sheet: &Sheet, watch: &Watch| bench::answer(sheet, question, sampling, watch);
    let asked = if sampling.sweep.is_empty() { asked_curves(question) } else { vec![MAIN] };
    answer_by(common, &asked, ask, files, console)
}

/// The curves that a question is about: those over the lists it gives.
fn asked_curves(question: &Question) -> Vec<&'static str> {
    let Question::Pull(pull) = question else { return Vec::new() };
    let lists = [
        ("pull_gap", &pull.gaps_m),
        ("pull_current", &pull.currents_a),
        ("pull_thickness", &pull.thicknesses_m),
        ("pull_width", &pull.widths_m),
    ];
    lists.iter().filter(|(_, values)| !values.is_empty()).map(|(key, _)| *key).collect()
}

/// What is read and written beside the sheets and charts.
#[derive(Default)]
pub(super) struct Files<'a> {
    /// Read: not to be overwritten.
    pub(super) read: Vec<&'a Path>,
    /// A file to be written once everything is answered; nothing if there is nothing to write into it.
    pub(super) written: Option<(&'a Path, Content<'a>)>,
    /// Files that are complete, all written or none.
    pub(super) outputs: Vec<Output>,
}

/// What stands in a file once everything is answered, if there is anything.
pub(super) type Content<'a> = &'a dyn Fn() -> Option<Vec<u8>>;

/// The same by any way from a sheet to an answer. `asked` are the curves that are meant where `--series` names none.
pub(super) fn answer_by(
    common: &Common,
    asked: &[&str],
    ask: impl FnMut(&Sheet, &Watch) -> Result<Answer, Failure>,
    files: Files<'_>,
    console: &mut Console,
) -> Result<Exit, Stop> {
    ready(common, &files)?;
    let sheets = input::sheets(&common.sheets, &common.assignments)?;
    remark(&sheets, console)?;
    let mut answers = ask_all(&sheets, ask, console)?;
    tell_apart(&mut answers, &sheets);
    show(common, asked, &sheets, &answers, files, console)
}

/// What cannot be meant, or written, is not first computed and then refused.
pub(super) fn ready(common: &Common, files: &Files<'_>) -> Result<(), Stop> {
    if common.csv && common.series.len() > 1 {
        return Err(Stop::Usage("--csv writes one curve: give --series once".into()));
    }
    let inputs: Vec<&Path> =
        common.sheets.iter().map(PathBuf::as_path).chain(files.read.iter().copied()).collect();
    let places = common.plot.iter().map(|picture| picture.path.as_path());
    for path in places.chain(files.written.map(|(path, _)| path)) {
        files::refuse(path, common.force, &inputs)?;
    }
    Ok(())
}

/// Tells the remarks on sheets.
pub(super) fn remark(sheets: &[Loaded], console: &mut Console) -> Result<(), Stop> {
    for sheet in sheets.iter().filter(|sheet| !sheet.remarks.is_empty()) {
        console.tell(&diagnostics::render(&sheet.remarks, Some(&sheet.text)))?;
    }
    Ok(())
}

/// Shows answers and writes files as the options want; one for each sheet, or one about all.
pub(super) fn show(
    common: &Common,
    asked: &[&str],
    sheets: &[Loaded],
    answers: &[Answer],
    files: Files<'_>,
    console: &mut Console,
) -> Result<Exit, Stop> {
    let pictures = draw(common, asked, answers)?;
    let text = text(common, asked, sheets, answers, console.width)?;
    let drawn = pictures.len();
    let mut outputs = pictures;
    if let Some((path, bytes)) = files.written {
        outputs.extend(bytes().map(|bytes| Output { path: path.to_owned(), bytes }));
    }
    outputs.extend(files.outputs);
    files::write(&outputs, common.force)?;
    console.say(&text)?;
    console.flush()?;
    for picture in &outputs[..drawn] {
        console.tell(&format!("drew `{}`\n", picture.path.display()))?;
    }
    strict(common, sheets, answers, console)
}

fn ask_all(
    sheets: &[Loaded],
    mut ask: impl FnMut(&Sheet, &Watch) -> Result<Answer, Failure>,
    console: &Console,
) -> Result<Vec<Answer>, Stop> {
    let mut answers = Vec::new();
    let mut faulty = Vec::new();
    interrupt::begins(sheets.len());
    for (index, loaded) in sheets.iter().enumerate() {
        let what = match sheets.len() {
            1 => loaded.file.clone(),
            all => format!("{} ({} of {all})", loaded.file, index + 1),
        };
        let watch = Watch::new();
        let answer = console.during(&what, &watch, || ask(&loaded.sheet, &watch));
        match answer {
            Ok(answer) => {
                interrupt::answered(&loaded.file);
                answers.push(answer);
            }
            Err(Failure::Input(diagnostics)) => {
                faulty.push(Faults { text: Some(loaded.text.clone()), diagnostics });
            }
            Err(failure) => return Err(stop(failure, loaded)),
        }
    }
    if faulty.is_empty() { Ok(answers) } else { Err(Stop::Input(faulty)) }
}

/// Why a sheet has no answer.
pub(super) fn stop(failure: Failure, sheet: &Loaded) -> Stop {
    match failure {
        Failure::Input(diagnostics) => {
            Stop::Input(vec![Faults { text: Some(sheet.text.clone()), diagnostics }])
        }
        other => Stop::Physics { file: sheet.file.clone(), reason: other.to_string() },
    }
}

/// Magnets of the same name are told apart by their files.
fn tell_apart(answers: &mut [Answer], sheets: &[Loaded]) {
    let names: Vec<String> = answers.iter().map(|answer| answer.magnet.clone()).collect();
    for (answer, loaded) in answers.iter_mut().zip(sheets) {
        if names.iter().filter(|name| **name == answer.magnet).count() > 1 {
            answer.magnet = format!("{} ({})", answer.magnet, loaded.file);
        }
    }
}

fn text(
    common: &Common,
    asked: &[&str],
    sheets: &[Loaded],
    answers: &[Answer],
    width: usize,
) -> Result<String, Stop> {
    if common.json {
        return json::text(common, sheets, answers).map_err(|error| Stop::Output(error.into()));
    }
    let units = common.units.into();
    if common.csv {
        let key = match common.series.as_slice() {
            [] if asked.len() > 1 => {
                return Err(Stop::Usage(format!("which curve? Add --series with one of {}", keys(answers))));
            }
            [] if !asked.is_empty() => Some(asked[0]),
            [] => {
                return csv::values(answers, units)
                    .map_err(|error| Stop::Output(std::io::Error::other(error)));
            }
            [key, ..] => Some(key.as_str()),
        };
        let chosen = choose(answers, key)?;
        return csv::text(&chosen, units).map_err(|error| Stop::Output(std::io::Error::other(error)));
    }
    let layout = Layout { width, units };
    let extent = match (common.full, common.quiet) {
        (true, _) => Extent::Everything,
        (_, true) => Extent::Sentence,
        // Who asks for a picture gets the picture, and is told where it is.
        _ if !common.plot.is_empty() => return Ok(String::new()),
        _ => Extent::Screen,
    };
    let texts: Vec<String> = answers.iter().map(|answer| terminal::render(answer, extent, layout)).collect();
    Ok(texts.join(if extent == Extent::Sentence { "" } else { "\n\n" }))
}

fn draw(common: &Common, asked: &[&str], answers: &[Answer]) -> Result<Vec<Output>, Stop> {
    let mut drawn = Vec::new();
    for (index, picture) in common.plot.iter().enumerate() {
        // One --series serves all pictures; several go with the pictures in turn.
        let key = common.series.get(index).or(common.series.last());
        let chosen = choose(answers, key.map(String::as_str).or(asked.first().copied()))?;
        let curves: Vec<Curves<'_>> =
            chosen.iter().map(|(magnet, series)| Curves { magnet, series }).collect();
        let failed =
            |error: chart::ChartError| Stop::Write { path: picture.path.clone(), reason: error.to_string() };
        let svg = chart::svg(&curves, common.units.into(), "chart").map_err(failed)?;
        let bytes = if picture.pixels { chart::png(&svg).map_err(failed)? } else { svg.into_bytes() };
        drawn.push(Output { path: picture.path.clone(), bytes });
    }
    Ok(drawn)
}

/// The named series of every answer, or the first.
fn choose<'a>(answers: &'a [Answer], key: Option<&str>) -> Result<Vec<(&'a str, &'a Series)>, Stop> {
    let find = |answer: &'a Answer| {
        let series = answer.series.iter().find(|series| key.is_none_or(|key| series.key == key));
        series.map(|series| (answer.magnet.as_str(), series))
    };
    answers.iter().map(|answer| find(answer).ok_or_else(|| no_series(answer, key))).collect()
}

fn no_series(answer: &Answer, key: Option<&str>) -> Stop {
    let of = &answer.command;
    let have = keys(std::slice::from_ref(answer));
    Stop::Usage(match key {
        _ if answer.series.is_empty() => {
            format!("this answer of `{of}` has no curve; the table or --json shows all of it")
        }
        Some(key) => format!("there is no curve `{key}`; there is {have}"),
        None => format!("there is {have}"),
    })
}

fn keys(answers: &[Answer]) -> String {
    let mut keys: Vec<&str> = Vec::new();
    for series in answers.iter().flat_map(|answer| &answer.series) {
        if !keys.contains(&series.key.as_str()) {
            keys.push(&series.key);
        }
    }
    keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ")
}

/// With `--strict`, what exceeds a limit or is not judged is said and decides the exit code.
fn strict(
    common: &Common,
    sheets: &[Loaded],
    answers: &[Answer],
    console: &mut Console,
) -> Result<Exit, Stop> {
    if !common.strict {
        return Ok(Exit::Answered);
    }
    let mut text = String::new();
    let mut exit = Exit::Answered;
    for (loaded, answer) in sheets.iter().zip(answers) {
        for limit in &answer.limits {
            match limit.state {
                State::Exceeded => {
                    exit = Exit::Limit;
                    let words = shown::exceeded(limit, answer, common.units.into());
                    let _ = writeln!(text, "{}: limit exceeded: {words}", loaded.file);
                }
                State::NotJudged => {
                    let _ = writeln!(
                        text,
                        "{}: `{}` is not judged by `{}`",
                        loaded.file, limit.by, answer.command
                    );
                }
                State::Kept | State::Doubtful => {}
            }
        }
    }
    console.tell(&text)?;
    Ok(exit)
}
