//! `fit`: readings in, a calibrated sheet out.

use super::Command;
use super::answering::{self, Content, Files};
use crate::args::Common;
use crate::bench;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use coilwright_bench::fit::Fitted;
use std::cell::RefCell;
use std::path::PathBuf;

/// Arguments of `fit`.
#[derive(clap::Args)]
pub(super) struct Fit {
    /// Bench readings as CSV; `-` reads standard input; again for those of another day
    #[arg(long, value_name = "FILE", required = true, help_heading = "Question")]
    readings: Vec<PathBuf>,

    /// Instruments in a file of their own: tables `[instruments.NAME]` as in a sheet
    #[arg(long, value_name = "FILE", help_heading = "Question")]
    instruments: Option<PathBuf>,

    /// Write the calibrated sheet to this file
    #[arg(short, long, value_name = "FILE", help_heading = "Question")]
    output: Option<PathBuf>,

    #[command(flatten)]
    common: Common,
}

impl Command for Fit {
    const NAME: &'static str = "fit";
    const ABOUT: &'static str = "Calibrate a sheet on bench readings; extrapolate a warm-up log";
    const EXAMPLES: &'static str = "\
The readings' header names quantity and unit, where, and by which instrument of the sheet:
  voltage V, current A, field mT by gaussmeter, r mm, z mm, pull N, gap mm
A file with faulty lines is not fitted. A sheet that was calibrated before is fitted from what it was before that: give
the old readings with the new ones.

Examples:
  coilwright fit magnet.sheet.toml --readings bench.csv
  coilwright fit magnet.sheet.toml --readings bench.csv -o calibrated.sheet.toml
  coilwright fit calibrated.sheet.toml --readings bench.csv --readings later.csv -o better.sheet.toml
  coilwright fit magnet.sheet.toml --readings bench.csv --plot residuals.svg --series residuals
  coilwright fit magnet.sheet.toml --readings warm-up.csv --plot warm.svg --series warm_up_1";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        if self.common.sheets.len() != 1 {
            return Err(Stop::Usage("`fit` takes one sheet: readings are of one magnet".into()));
        }
        if self.output.is_some() && !self.common.assignments.is_empty() {
            return Err(Stop::Usage(
                "--set is for what-ifs: it cannot be written into a calibrated sheet".into(),
            ));
        }
        let instruments = self.instruments.as_deref().map(bench::instruments).transpose()?;
        let read = bench::joined_readings(&self.readings)?;
        console.tell(&bench::remarks(&read))?;
        let date = today();
        let found = RefCell::new(None);
        let calibrated = || {
            let found = found.borrow();
            let fitted: &Fitted = found.as_ref().filter(|f: &&Fitted| !f.changed.is_empty())?;
            Some(fitted.sheet_text.clone().into_bytes())
        };
        let files = Files {
            read: self.readings.iter().chain(self.instruments.as_ref()).map(PathBuf::as_path).collect(),
            written: self.output.as_deref().map(|path| (path, &calibrated as Content<'_>)),
            outputs: Vec::new(),
        };
        let mut exit = answering::answer_by(
            &self.common,
            &[],
            |sheet, watch| {
                let sheet = bench::with_instruments(sheet, instruments.as_ref())?;
                let fitted = bench::fit(&sheet, &read, &date, watch)?;
                Ok(found.borrow_mut().insert(fitted).answer.clone())
            },
            files,
            console,
        )?;
        if let (Some(path), Some(fitted)) = (&self.output, &*found.borrow()) {
            if fitted.changed.is_empty() {
                console.tell(
                    "no calibrated sheet was written: the readings tell nothing that stands in one\n",
                )?;
                exit = if exit == Exit::Answered { Exit::Input } else { exit };
            } else {
                console.tell(&format!("wrote `{}` with {}\n", path.display(), fitted.changed.join(", ")))?;
            }
        }
        Ok(exit)
    }
}

/// Today's date in UTC, as `2025-01-31`.
fn today() -> String {
    time::OffsetDateTime::now_utc().date().to_string()
}
