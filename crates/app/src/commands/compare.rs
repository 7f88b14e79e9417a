//! `compare`: several magnets side by side.

use super::Command;
use super::answering::{self, Files};
use crate::args::{self, Alternative, Common};
use crate::beside;
use crate::console::Console;
use crate::input::{self, Loaded};
use crate::interrupt;
use crate::outcome::{Exit, Faults, Stop};
use coilwright_choose::compare::{self, Question};
use coilwright_choose::equal::disc_as_strong;
use coilwright_choose::nearest::pot_as_large;
use coilwright_choose::need::Need;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;

/// Arguments of `compare`.
#[derive(clap::Args)]
pub(super) struct Compare {
    /// One more magnet: the first sheet with something otherwise, such as --with "drive.voltage=12V; workpiece.gap=1mm"
    #[arg(long, value_name = "PATH=VALUE", help_heading = "Question", value_parser = args::alternative)]
    with: Vec<Alternative>,

    /// One more magnet: the disc of this grade (N42 if none is named) that is as wide as the first and holds as much
    #[arg(long, value_name = "GRADE", help_heading = "Question", num_args = 0..=1, require_equals = true, default_missing_value = "N42")]
    permanent: Option<String>,

    /// One more magnet: the strongest pot as wide and as high as the first, wound for this voltage (24 V if none is named)
    #[arg(long, value_name = "VOLTAGE", help_heading = "Question", num_args = 0..=1, require_equals = true, default_missing_value = "24 V", value_parser = args::voltage)]
    electromagnet: Option<f64>,

    /// Gap between face and workpiece for all; the first sheet's if it is not given
    #[arg(long, value_name = "LENGTH", help_heading = "Question", allow_hyphen_values = true, value_parser = args::length)]
    gap: Option<f64>,

    /// Height above the face at which fields are compared; the first sheet's probe's if it is not given
    #[arg(long, value_name = "LENGTH", help_heading = "Question", allow_hyphen_values = true, value_parser = args::length)]
    height: Option<f64>,

    /// What a magnet has to do, such as --need "pull >= 400 N at 0.2 mm"; may be repeated
    #[arg(long, value_name = "NEED", help_heading = "Question", value_parser = args::need)]
    need: Vec<Need>,

    #[command(flatten)]
    common: Common,
}

impl Command for Compare {
    const NAME: &'static str = "compare";
    const ABOUT: &'static str =
        "Several magnets side by side, before one workpiece; which of them meets a need";
    const EXAMPLES: &'static str = "\
Every magnet is asked the same, before the first sheet's workpiece. A difference is called sure if
all of its 95 % interval is on one side of nothing; what two magnets share falls out of it.
A need names one of: pull, pull_warm, field, volume, pull_per_room, mass, pull_per_mass, power,
pull_per_watt, current, temperature, release, price, pull_per_price, hold_up. With needs the magnets
are ranked: by those that are kept, and by the one kept most tightly. With --strict the exit code
is 4 if any magnet misses a need.

Examples:
  coilwright compare bought.sheet.toml turned.sheet.toml --gap 0.2mm --plot pulls.svg
  coilwright compare bought.sheet.toml --permanent=N35 --quiet
  coilwright compare ring.sheet.toml --electromagnet=12V
  coilwright compare bought.sheet.toml --with 'drive.voltage=12V; workpiece.gap=1mm' --need 'power <= 12 W'";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        answering::ready(&self.common, &Files::default())?;
        let mut sheets = input::sheets(&self.common.sheets, &self.common.assignments)?;
        for Alternative(changes) in &self.with {
            let all: Vec<_> = self.common.assignments.iter().chain(changes).cloned().collect();
            sheets.extend(input::sheets(&self.common.sheets[..1], &all)?);
        }
        if let Some(grade) = &self.permanent {
            sheets.push(as_strong(&sheets[0], grade, self.gap)?);
        }
        if let Some(voltage_v) = self.electromagnet {
            let watch = Watch::new();
            let found = || as_large(&sheets[0], voltage_v, self.gap, &watch);
            let found = console.during("designs of a pot", &watch, found)?;
            sheets.push(found);
        }
        if sheets.len() < 2 {
            let hint = "name a second sheet, or say what is to be otherwise: --with drive.voltage=12V";
            return Err(Stop::Usage(format!("a comparison needs two magnets: {hint}")));
        }
        answering::remark(&sheets[..self.common.sheets.len()], console)?;
        let subjects = beside::subjects(&sheets, self.common.sheets.len(), &self.with);
        let question = Question { gap_m: self.gap, height_m: self.height, needs: self.need };
        interrupt::begins(1);
        let watch = Watch::new();
        let what = format!("{} magnets", subjects.len());
        let answer = console.during(&what, &watch, || compare::watched(&subjects, &question, &watch));
        let answer = answer.map_err(|failure| stop(failure, &sheets))?;
        answering::show(&self.common, &["pull_gap"], &sheets, &[answer], Files::default(), console)
    }
}

/// The disc that holds as much as a magnet.
fn as_strong(of: &Loaded, grade: &str, gap_m: Option<f64>) -> Result<Loaded, Stop> {
    let file = format!("--permanent={grade}");
    made(of, gap_m, &file, |sheet| disc_as_strong(sheet, grade, &file))
}

/// The strongest pot in the room of a magnet.
fn as_large(of: &Loaded, voltage_v: f64, gap_m: Option<f64>, watch: &Watch) -> Result<Loaded, Stop> {
    let file = format!("--electromagnet={voltage_v}V");
    made(of, gap_m, &file, |sheet| pot_as_large(sheet, voltage_v, &file, watch))
}

/// A sheet that is made from a magnet's, at the gap of the comparison.
fn made(
    of: &Loaded,
    gap_m: Option<f64>,
    file: &str,
    make: impl Fn(&Sheet) -> Result<Sheet, Failure>,
) -> Result<Loaded, Stop> {
    let mut sheet = of.sheet.clone();
    let found = match gap_m {
        Some(gap_m) => sheet.set("workpiece.gap", &format!("{gap_m:e} m")).map_err(Failure::from),
        None => Ok(()),
    };
    let found = found.and_then(|()| make(&sheet));
    let sheet = found.map_err(|failure| stop(failure, std::slice::from_ref(of)))?;
    let text = sheet.source_text().to_owned();
    Ok(Loaded { sheet, file: file.to_owned(), text, set: Vec::new(), remarks: Vec::new() })
}

fn stop(failure: Failure, sheets: &[Loaded]) -> Stop {
    match failure {
        Failure::Input(diagnostics) => {
            let of = |file: &str| sheets.iter().find(|loaded| loaded.file == file);
            let text = diagnostics.first().and_then(|d| of(&d.file)).map(|loaded| loaded.text.clone());
            Stop::Input(vec![Faults { text, diagnostics }])
        }
        other => Stop::Physics { file: sheets[0].file.clone(), reason: other.to_string() },
    }
}
