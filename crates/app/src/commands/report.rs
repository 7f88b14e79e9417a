//! `report`: one document about a magnet, to hand to somebody.

use super::Command;
use super::answering;
use crate::args::{self, Assignment, Units};
use crate::ask::{self, Failure, Flux};
use crate::bench::{self, Read};
use crate::beside;
use crate::console::Console;
use crate::files::{self, Output};
use crate::input::{self, Loaded};
use crate::interrupt;
use crate::json;
use crate::outcome::{Exit, Stop};
use crate::page::{Format, Page, Source, Topic};
use crate::topics::{self, Asked, Of};
use coilwright_choose::lot::Lot;
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::watch::Watch;
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::thread::ScopedJoinHandle;

/// Arguments of `report`.
#[derive(clap::Args)]
pub(super) struct Report {
    /// Sheet to report on; `-` reads standard input
    #[arg(value_name = "SHEET")]
    sheet: PathBuf,

    /// Change an entry for this report only, such as --set drive.voltage=12V; without a value it is taken away
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = args::assignment)]
    assignments: Vec<Assignment>,

    /// Bench readings as CSV, to be compared too; again for those of another day
    #[arg(long, value_name = "FILE", help_heading = "Question")]
    readings: Vec<PathBuf>,

    /// Sheet of another magnet, to be compared; again for more
    #[arg(long, value_name = "SHEET", help_heading = "Question")]
    beside: Vec<PathBuf>,

    /// Also what each of so many such magnets holds at least
    #[arg(long, value_name = "N", help_heading = "Question", value_parser = args::lot)]
    lot: Option<Lot>,

    /// Write the report to this file, not to standard output
    #[arg(short, long, value_name = "FILE", help_heading = "Output")]
    output: Option<PathBuf>,

    /// One HTML document, or Markdown for a wiki
    #[arg(long, value_enum, default_value_t, hide_default_value = true, help_heading = "Output")]
    format: Format,

    /// The date that the report is to carry, as 2025-01-31; without it the same question gives the same bytes on any day
    #[arg(long, value_name = "DATE", help_heading = "Output")]
    date: Option<String>,

    /// Write every number of the report as JSON, in SI, to standard output
    #[arg(long, help_heading = "Output")]
    json: bool,

    /// Replace a file that exists
    #[arg(long, help_heading = "Output")]
    force: bool,

    /// Units to show: mm, N, mT, °C; the same with gauss and kgf; or inch, lbf, gauss, °F
    #[arg(long, value_enum, default_value_t, hide_default_value = true, help_heading = "Output")]
    units: Units,
}

impl Command for Report {
    const NAME: &'static str = "report";
    const ABOUT: &'static str = "All answers about one magnet as one document to print, sign and hand on";
    const EXAMPLES: &'static str = "\
The document needs nothing but itself: no network, no program. Made again, it is the same to the bit.
What the magnet has no answer for is said in its place. With --readings they are held against the
sheet, and it is said what they tell; with --json every number of the document goes to standard output.

Example:
  coilwright report magnet.sheet.toml --date 2026-01-31 -o magnet.html
  coilwright report magnet.sheet.toml --lot 40 --beside turned.sheet.toml -o beside.html";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let read: Vec<&Path> = [&self.sheet]
            .into_iter()
            .chain(&self.readings)
            .chain(&self.beside)
            .map(PathBuf::as_path)
            .collect();
        if let Some(path) = &self.output {
            files::refuse(path, self.force, &read)?;
        }
        if self.readings.iter().any(|path| path.as_os_str() == "-") {
            return Err(Stop::Usage("a report names its readings: give them as files".into()));
        }
        let sheets = input::sheets(std::slice::from_ref(&self.sheet), &self.assignments)?;
        answering::remark(&sheets, console)?;
        let sources = self.readings.iter().map(|path| source(path)).collect::<Result<Vec<_>, Stop>>()?;
        let readings = if sources.is_empty() { None } else { Some(bench::joined_readings(&self.readings)?) };
        if let Some(readings) = &readings {
            console.tell(&bench::remarks(readings))?;
        }
        let sheet = &sheets[0];
        let beside = if self.beside.is_empty() { Vec::new() } else { input::sheets(&self.beside, &[])? };
        let figure = ask::figure(&sheet.sheet).map_err(|failure| answering::stop(failure, sheet))?;
        interrupt::begins(1);
        let watch = Watch::new();
        let all = || ask_all(sheet, readings.as_ref(), &self, &watch);
        let (mut topics, flux) = console.during(&sheet.file, &watch, all);
        topics.extend(self.of_a_lot(sheet, console));
        topics.extend(self.compared(sheet, &beside, console));
        let page = Page {
            sheet,
            figure,
            flux: flux.map_err(|failure| topics::reason(&failure)),
            topics,
            readings: sources,
            beside: &beside,
            date: self.date.as_deref(),
            units: self.units.into(),
            made_by: self.again(),
        };
        let document = || {
            page.text(self.format)
                .map_err(|error| Stop::Physics { file: sheet.file.clone(), reason: error.to_string() })
        };
        if let Some(path) = &self.output {
            let output = Output { path: path.clone(), bytes: document()?.into_bytes() };
            files::write(&[output], self.force)?;
            console.tell(&format!("wrote `{}`\n", path.display()))?;
        }
        if self.json {
            console.say(&json::page(&page).map_err(|error| Stop::Output(error.into()))?)?;
        } else if self.output.is_none() {
            console.say(&document()?)?;
        }
        console.flush()?;
        Ok(Exit::Answered)
    }
}

impl Report {
    /// The command line that makes the report again.
    fn again(&self) -> String {
        let mut words = self.asked(&["report"]);
        words.extend(self.with_readings());
        words.extend(self.beside.iter().flat_map(|path| ["--beside".into(), path.display().to_string()]));
        words.extend(self.lot.iter().flat_map(|lot| ["--lot".into(), lot.count.to_string()]));
        if let Some(date) = &self.date {
            words.extend(["--date".into(), date.clone()]);
        }
        let ending = match self.format {
            Format::Html => "html",
            Format::Md => {
                words.extend(["--format".into(), "md".into()]);
                "md"
            }
        };
        words.extend(["-o".into(), format!("report.{ending}")]);
        topics::command_line(&words)
    }

    /// What each of a lot holds, if that is asked.
    fn of_a_lot(&self, sheet: &Loaded, console: &Console) -> Option<Topic> {
        let lot = self.lot.as_ref()?;
        let watch = Watch::new();
        let answer = console.during("the lot", &watch, || bench::lot(&sheet.sheet, lot, &watch));
        let words = self.asked(&["pull", "--lot", &lot.count.to_string()]);
        Some(Topic {
            command: "lot",
            title: "Many made alike",
            made_by: Some(topics::command_line(&words)),
            answer: answer.map_err(|failure| topics::reason(&failure)),
        })
    }

    /// It before others, if any are named.
    fn compared(&self, sheet: &Loaded, others: &[Loaded], console: &Console) -> Option<Topic> {
        if others.is_empty() {
            return None;
        }
        let watch = Watch::new();
        let topic = console.during("the comparison", &watch, || beside::topic(sheet, others, &watch));
        let files: Vec<String> = self.beside.iter().map(|path| path.display().to_string()).collect();
        let words: Vec<&str> =
            [beside::COMMAND].into_iter().chain(files.iter().map(String::as_str)).collect();
        Some(Topic { made_by: Some(topics::command_line(&self.asked(&words))), ..topic })
    }

    fn with_readings(&self) -> impl Iterator<Item = String> {
        self.readings.iter().flat_map(|path| ["--readings".into(), path.display().to_string()])
    }

    /// The command line of a question alone; none of what takes more files than its command does.
    fn made_by(&self, asked: &Asked) -> Option<String> {
        let mut words = self.asked(asked.words);
        match asked.of {
            Of::Model(_) => {}
            Of::Audit if self.readings.len() > 1 => return None,
            Of::Audit | Of::Fit => words.extend(self.with_readings()),
        }
        Some(topics::command_line(&words))
    }

    /// A command about the sheet as it is reported on.
    fn asked(&self, command: &[&str]) -> Vec<String> {
        let (name, options) = command.split_first().unwrap_or((&"", &[]));
        let mut words = vec!["coilwright".to_owned(), (*name).to_owned(), self.sheet.display().to_string()];
        words.extend(options.iter().map(|word| (*word).to_owned()));
        for Assignment { path, text } in &self.assignments {
            words.extend(["--set".into(), format!("{path}={text}")]);
        }
        let units = match self.units {
            Units::Si => None,
            Units::Gauss => Some("gauss"),
            Units::Imperial => Some("imperial"),
        };
        words.extend(units.into_iter().flat_map(|word| ["--units".to_owned(), word.to_owned()]));
        words
    }
}

/// Asks everything, each question on a thread of its own. What cannot be answered says why.
fn ask_all(
    sheet: &Loaded,
    readings: Option<&Read>,
    report: &Report,
    watch: &Watch,
) -> (Vec<Topic>, Result<Option<Flux>, Failure>) {
    let questions = topics::questions(readings.is_some());
    let date = report.date.as_deref().unwrap_or_default();
    let (answers, flux): (Vec<Result<Answer, Failure>>, _) = std::thread::scope(|scope| {
        let flux = scope.spawn(|| ask::flux(&sheet.sheet));
        let asked: Vec<_> = questions
            .iter()
            .map(|asked| scope.spawn(move || topics::ask(&sheet.sheet, &asked.of, readings, (date, watch))))
            .collect();
        (asked.into_iter().map(joined).collect(), joined(flux))
    });
    let topic = |(answer, asked): (Result<Answer, Failure>, &Asked)| Topic {
        command: asked.command,
        title: asked.title,
        made_by: report.made_by(asked),
        answer: answer.map_err(|failure| topics::reason(&failure)),
    };
    (answers.into_iter().zip(&questions).map(topic).collect(), flux)
}

/// What a thread found; its panic goes on here.
fn joined<T>(thread: ScopedJoinHandle<'_, T>) -> T {
    thread.join().unwrap_or_else(|panic| resume_unwind(panic))
}

/// A file of readings with its checksum.
fn source(path: &Path) -> Result<Source, Stop> {
    let bytes = bench::bytes(path)?;
    Ok(Source { file: path.display().to_string(), sha256: input::checksum(&bytes) })
}
