//! `heat`: warm-up, steady state, headroom.

use super::Command;
use super::answering::{self, Files};
use crate::args::{self, Common, Sampling, Scan};
use crate::ask::{HeadroomQuestion, HeatQuestion, Question, Sheet};
use crate::bench;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use crate::topics;
use coilwright_magnet::watch::Watch;

/// Arguments of `heat`.
#[derive(clap::Args)]
pub(super) struct Heat {
    /// How long to follow the warm-up (30 min where absent)
    #[arg(long, value_name = "TIME", help_heading = "Question", allow_hyphen_values = true, value_parser = args::time)]
    duration: Option<f64>,

    /// How warm the whole magnet is at the start (as its surroundings where absent)
    #[arg(long, value_name = "TEMPERATURE", help_heading = "Question", allow_hyphen_values = true, conflicts_with = "headroom", value_parser = args::temperature)]
    start: Option<f64>,

    /// With the workpiece attached, which carries heat away too
    #[arg(long, help_heading = "Question")]
    workpiece: bool,

    /// How far the drive may be raised, and for how long, instead of the warm-up
    #[arg(long, help_heading = "Question", conflicts_with = "samples")]
    headroom: bool,

    /// Voltages for the headroom (half to twice the sheet's where absent)
    #[arg(long, value_name = "VALUES", help_heading = "Question", allow_hyphen_values = true, requires = "headroom", value_parser = args::voltages)]
    voltage: Option<Scan>,

    /// Currents for the headroom, for a sheet that gives a current
    #[arg(long, value_name = "VALUES", help_heading = "Question", allow_hyphen_values = true, requires = "headroom", conflicts_with = "voltage", value_parser = args::currents)]
    current: Option<Scan>,

    /// Coolings for the headroom, such as "still air,forced air,cold plate" (the sheet's where absent)
    #[arg(
        long,
        value_name = "WORDS",
        help_heading = "Question",
        requires = "headroom",
        value_delimiter = ','
    )]
    cooling: Vec<String>,

    /// Cycle time for the permitted duty (the sheet's, or 5 min as in DIN VDE 0580)
    #[arg(long, value_name = "TIME", help_heading = "Question", allow_hyphen_values = true, requires = "headroom", value_parser = args::time)]
    cycle: Option<f64>,

    #[command(flatten)]
    sampling: Sampling,

    #[command(flatten)]
    common: Common,
}

impl Command for Heat {
    const NAME: &'static str = "heat";
    const ABOUT: &'static str = "Warm-up and steady state, what it costs of pull; headroom";
    const EXAMPLES: &'static str = "\
The drive is the sheet's: a voltage, a current, a supply with limits, a duty, or a recorded profile
(drive.profile names a CSV with `time (s), voltage (V)` or `time (s), current (A)`; other units in the header count
too, and the last row ends it).

Curves: warm_up (temperatures), warm_up_pull (with field), warm_up_power (with current, resistance);
with --headroom: headroom (hot spot against voltage), duty, headroom_pull, on_time_still_air and so on.

Examples:
  coilwright heat magnet.sheet.toml
  coilwright heat magnet.sheet.toml --duration 2h --plot warm-up.svg
  coilwright heat magnet.sheet.toml --duration 10min --start 60degC
  coilwright heat magnet.sheet.toml --set surroundings.cooling='forced air' --workpiece
  coilwright heat magnet.sheet.toml --headroom --voltage 12..36V --cooling 'still air,cold plate'
  coilwright heat magnet.sheet.toml --csv --series warm_up_pull > pull.csv";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let headroom = self.headroom.then(|| HeadroomQuestion {
            levels: self.voltage.or(self.current).unwrap_or_default().0,
            coolings: self.cooling.iter().map(|word| word.trim().to_owned()).collect(),
            cycle_s: self.cycle,
        });
        let question = HeatQuestion {
            duration_s: self.duration,
            start_k: self.start,
            workpiece: self.workpiece,
            profile: None,
            headroom,
        };
        let ask = |sheet: &Sheet, watch: &Watch| {
            let profile = topics::profile(sheet)?;
            let question = Question::Heat(HeatQuestion { profile, ..question.clone() });
            bench::answer(sheet, &question, &self.sampling, watch)
        };
        answering::answer_by(&self.common, &[], ask, Files::default(), console)
    }
}
