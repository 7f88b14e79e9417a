//! `fit`: readings in, a calibrated sheet out.

use super::{Command, answering};
use crate::args::Common;
use crate::bench;
use crate::console::Console;
use crate::files;
use crate::outcome::{Exit, Stop};
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

/// Arguments of `fit`.
#[derive(clap::Args)]
pub(super) struct Fit {
    /// Bench readings as CSV; `-` reads standard input
    #[arg(long, value_name = "FILE", help_heading = "Question")]
    readings: PathBuf,

    /// Instruments in a file of their own: tables `[instruments.NAME]` as in a sheet
    #[arg(long, value_name = "FILE", help_heading = "Question")]
    instruments: Option<PathBuf>,

    /// Write the calibrated sheet to this file
    #[arg(short, long, value_name = "FILE", help_heading = "Question")]
    output: Option<PathBuf>,

    /// Replace that file if it exists
    #[arg(long, requires = "output", help_heading = "Question")]
    force: bool,

    #[command(flatten)]
    common: Common,
}

impl Command for Fit {
    const NAME: &'static str = "fit";
    const ABOUT: &'static str = "Calibrate a sheet on bench readings; extrapolate a warm-up log";
    const EXAMPLES: &'static str = "\
The readings' header names quantity and unit, where, and by which instrument of the sheet:
  voltage V, current A, field mT by gaussmeter, r mm, z mm, pull N, gap mm
A file with faulty lines is not fitted.

Examples:
  coilwright fit magnet.sheet.toml --readings bench.csv
  coilwright fit magnet.sheet.toml --readings bench.csv -o calibrated.sheet.toml
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
        // What cannot be written is not first fitted and then refused.
        if let Some(path) = &self.output {
            files::refuse(path, self.force)?;
        }
        let instruments = self.instruments.as_deref().map(bench::instruments).transpose()?;
        let read = bench::readings(&self.readings)?;
        console.tell(&bench::remarks(&read))?;
        let date = today();
        let mut found = None;
        let mut exit = answering::answer_by(
            &self.common,
            |sheet| {
                let sheet = bench::with_instruments(sheet, instruments.as_ref())?;
                let fitted = bench::fit(&sheet, &read, &date)?;
                Ok(found.insert(fitted).answer.clone())
            },
            console,
        )?;
        if let (Some(path), Some(fitted)) = (&self.output, &found) {
            if fitted.changed.is_empty() {
                console.tell(
                    "no calibrated sheet was written: the readings tell nothing that stands in one\n",
                )?;
                exit = if exit == Exit::Answered { Exit::Input } else { exit };
            } else {
                files::write(path, fitted.sheet_text.as_bytes(), self.force)?;
                console.tell(&format!("wrote `{}` with {}\n", path.display(), fitted.changed.join(", ")))?;
            }
        }
        Ok(exit)
    }
}

/// Today's date in UTC, as `2025-01-31`; empty where the clock stands before 1970.
fn today() -> String {
    let Ok(since) = SystemTime::now().duration_since(UNIX_EPOCH) else { return String::new() };
    let (year, month, day) = civil(i64::try_from(since.as_secs() / 86_400).unwrap_or(0));
    format!("{year:04}-{month:02}-{day:02}")
}

/// The Gregorian date of a day counted from 1970-01-01: years begin in March, so that the leap day ends one, and
/// months are 153 days to five.
fn civil(days: i64) -> (i64, i64, i64) {
    let days = days + 719_468; // from 0000-03-01
    let era = days.div_euclid(146_097);
    let day = days.rem_euclid(146_097);
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let year = year + 400 * era + i64::from(month >= 10);
    ((year), (month + 2) % 12 + 1, day - (153 * month + 2) / 5 + 1)
}

#[cfg(test)]
mod tests {
    use super::civil;

    /// From `date -u -d @$((days*86400))` (GNU coreutils).
    #[test]
    fn dates() {
        assert_eq!(civil(0), (1970, 1, 1));
        assert_eq!(civil(11_016), (2000, 2, 29));
        assert_eq!(civil(19_782), (2024, 2, 29));
        assert_eq!(civil(19_783), (2024, 3, 1));
        assert_eq!(civil(20_453), (2025, 12, 31));
        assert_eq!(civil(47_540), (2100, 2, 28));
        assert_eq!(civil(47_541), (2100, 3, 1));
    }
}
