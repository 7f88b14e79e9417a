//! `audit`: what contradicts what.

use super::Command;
use super::answering::{self, Files};
use crate::args::Common;
use crate::ask::Sheet;
use crate::bench;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use coilwright_magnet::watch::Watch;
use std::path::PathBuf;

/// Arguments of `audit`.
#[derive(clap::Args)]
pub(super) struct Audit {
    /// Bench readings as CSV, to be compared too; `-` reads standard input
    #[arg(long, value_name = "FILE", help_heading = "Question")]
    readings: Option<PathBuf>,

    /// Instruments in a file of their own: tables `[instruments.NAME]` as in a sheet
    #[arg(long, value_name = "FILE", help_heading = "Question")]
    instruments: Option<PathBuf>,

    #[command(flatten)]
    common: Common,
}

impl Command for Audit {
    const NAME: &'static str = "audit";
    const ABOUT: &'static str = "Check nameplate, sheet, readings and physics against each other";
    const EXAMPLES: &'static str = "\
Each comparison has its deviation in standard uncertainties of both sides together: up to 2 they
agree, up to 3 it is doubtful, beyond they contradict each other.

Examples:
  coilwright audit bought.sheet.toml
  coilwright audit bought.sheet.toml --readings bench.csv
  coilwright audit bought.sheet.toml --set nameplate.power=14W";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let instruments = self.instruments.as_deref().map(bench::instruments).transpose()?;
        let readings = self.readings.as_deref().map(bench::readings).transpose()?;
        if let Some(readings) = &readings {
            console.tell(&bench::remarks(readings))?;
        }
        let readings = readings.as_ref().map(|r| &r.readings);
        let read = [&self.readings, &self.instruments].into_iter().flatten().map(PathBuf::as_path).collect();
        let ask = |sheet: &Sheet, _: &Watch| {
            bench::audit(&bench::with_instruments(sheet, instruments.as_ref())?, readings)
        };
        answering::answer_by(&self.common, &[], ask, Files { read, ..Files::default() }, console)
    }
}
