//! `seek`: the search for a better design.

use super::Command;
use super::answering::{self, Files};
use crate::args::{self, Common};
use crate::console::Console;
use crate::files::{self, Output};
use crate::input;
use crate::interrupt;
use crate::outcome::{Exit, Faults, Stop};
use coilwright_choose::seek::aim::{Aim, Bound};
use coilwright_choose::seek::log::{self, Log};
use coilwright_choose::seek::vary::Vary;
use coilwright_choose::seek::{FEWEST, Progress, Question, seek};
use coilwright_magnet::watch::Watch;
use std::fs::File;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Arguments of `seek`.
#[derive(clap::Args)]
pub(super) struct Seek {
    /// What is to be as great or as small as can be, such as --aim "most pull"; twice for the designs between two aims
    #[arg(long, value_name = "AIM", required = true, help_heading = "Question", value_parser = args::aim)]
    aim: Vec<Aim>,

    /// What may change, such as --vary "winding.wire; body.pole_diameter=20..36mm"; of a pot all inside it if left out
    #[arg(long, value_name = "PATH=VALUES", help_heading = "Question", value_parser = args::varies)]
    vary: Vec<args::Varies>,

    /// Limits beside those of the sheet, such as --within "mass <= 0.6 kg; hot spot <= 120 degC"
    #[arg(long, value_name = "LIMITS", help_heading = "Question", value_parser = args::bounds)]
    within: Vec<args::Bounds>,

    /// How many designs to solve at most
    #[arg(long, value_name = "N", help_heading = "Question", default_value_t = 600, value_parser = clap::value_parser!(u32).range(FEWEST as i64..=1_000_000))]
    designs: u32,

    /// Seed of the search: the same seed finds the same designs
    #[arg(long, value_name = "K", help_heading = "Question", default_value_t = 1)]
    seed: u64,

    /// Write each design that is shown as a sheet into this folder
    #[arg(long, value_name = "FOLDER", help_heading = "Output")]
    write: Option<PathBuf>,

    /// Note every solved design in this file; a run that was ended goes on from it
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    log: Option<PathBuf>,

    #[command(flatten)]
    common: Common,
}

impl Command for Seek {
    const NAME: &'static str = "seek";
    const ABOUT: &'static str = "The best design within limits: dimensions, wire and turns together";
    const EXAMPLES: &'static str = "\
An aim is most or least of a number, or a word for it: strongest, lightest, coolest. Numbers: pull,
pull warm, field, hot spot, surface temperature, mass, power, power warm, current, current density,
ampere-turns, turns, conductor mass, wire length, resistance, volume.
A wire is one that is made (IEC 60317-0-1), 0.1 to 1.6 mm if no range is given; its turns are as many
as find room, or with winding.turns among what may change, fewer. Limits of the sheet and of the
winding's thermal class are kept too.

Examples:
  coilwright seek magnet.sheet.toml --aim 'most pull' --designs 40
  coilwright seek magnet.sheet.toml --aim strongest --aim lightest --vary 'winding.wire; body.pole_diameter=20..36mm; body.back=4..10mm' --designs 40";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        if self.common.sheets.len() != 1 {
            return Err(Stop::Usage("`seek` takes one sheet: it is searched round".into()));
        }
        if self.write.is_some() && !self.common.assignments.is_empty() {
            return Err(Stop::Usage("--set is for what-ifs: it cannot be written into a sheet".into()));
        }
        answering::ready(&self.common, &Files::default())?;
        if let Some(folder) = &self.write {
            let names =
                self.aim.iter().map(|aim| aim.called().replace([' ', ','], "-")).chain(["balanced".into()]);
            for name in names {
                refuse(&place(folder, &name), folder, self.common.force)?;
            }
        }
        let sheets = input::sheets(&self.common.sheets, &self.common.assignments)?;
        answering::remark(&sheets, console)?;
        let question = Question {
            vary: self.vary.into_iter().flat_map(|v| v.0).collect::<Vec<Vary>>(),
            aims: self.aim,
            within: self.within.into_iter().flat_map(|b| b.0).collect::<Vec<Bound>>(),
            designs: self.designs as usize,
            seed: self.seed,
        };
        let (before, mut log) = match &self.log {
            Some(path) => {
                let head = log::head(&sheets[0].sheet, &sheets[0].set, &question, env!("CARGO_PKG_VERSION"));
                let (before, file) = go_on(path, &head)?;
                (before, Some(file))
            }
            None => (Log::default(), None),
        };
        interrupt::begins(1);
        if let Some(path) = &self.log {
            interrupt::wrote(&format!("{}, from which the same command goes on", path.display()));
        }
        let mut broken = Ok(());
        let (watch, mut solved) = (Watch::new(), 0);
        watch.part(question.designs);
        let mut note = |now: Progress<'_>| {
            (solved..now.solved).for_each(|_| watch.done());
            solved = now.solved;
            if let (Some(file), true) = (&mut log, broken.is_ok()) {
                broken = file.write_all(now.lines.as_bytes());
            }
        };
        let search = || seek(&sheets[0].sheet, &question, &before, &mut note);
        let found = console.during("designs", &watch, search);
        broken?;
        let found = found.map_err(|failure| answering::stop(failure, &sheets[0]))?;
        let mut outputs = Vec::new();
        if let Some(folder) = &self.write {
            for (name, text) in &found.designs {
                outputs.push(Output { path: place(folder, name), bytes: text.clone().into_bytes() });
            }
            if !folder.is_dir() && !outputs.is_empty() {
                std::fs::create_dir(folder)
                    .map_err(|error| Stop::Write { path: folder.clone(), reason: error.to_string() })?;
            }
        }
        let wrote: Vec<String> =
            outputs.iter().map(|output| format!("`{}`", output.path.display())).collect();
        let files = Files { outputs, ..Files::default() };
        let exit = answering::show(&self.common, &["front"], &sheets, &[found.answer], files, console)?;
        match (&self.write, wrote.is_empty()) {
            (Some(_), false) => console.tell(&format!("wrote {}\n", wrote.join(", ")))?,
            (Some(_), true) => console.tell("no sheet was written: no design keeps all limits\n")?,
            _ => {}
        }
        Ok(exit)
    }
}

/// What stands in a log, and the log ready to be gone on with; a new one where there is none.
fn go_on(path: &Path, head: &str) -> Result<(Log, File), Stop> {
    let stop = |error: std::io::Error| Stop::Write { path: path.to_owned(), reason: error.to_string() };
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        Err(error) if error.kind() == ErrorKind::InvalidData => "not text".into(),
        Err(error) => return Err(stop(error)),
    };
    let (before, whole) = log::read(&text, head).map_err(|fault| {
        Stop::Input(vec![Faults {
            text: None,
            diagnostics: vec![fault.at(&path.display().to_string(), None)],
        }])
    })?;
    let mut file = File::options().create(true).append(true).open(path).map_err(stop)?;
    file.set_len(whole as u64).map_err(stop)?;
    if whole == 0 {
        file.write_all(head.as_bytes()).map_err(stop)?;
    }
    Ok((before, file))
}

/// Where the sheet of a design goes.
fn place(folder: &Path, name: &str) -> PathBuf {
    folder.join(format!("{name}.sheet.toml"))
}

/// A folder that is not there yet will be made; the one above it must be there.
fn refuse(path: &Path, folder: &Path, replace: bool) -> Result<(), Stop> {
    if folder.is_dir() { files::refuse(path, replace, &[]) } else { files::refuse(folder, false, &[]) }
}
