//! `switch`: turning on, off and over; what a power failure does.

use super::{Command, answering};
use crate::args::{self, Common, Sampling};
use crate::ask::{Question, SwitchQuestion};
use crate::console::Console;
use crate::outcome::{Exit, Stop};

/// Arguments of `switch`.
#[derive(clap::Args)]
pub(super) struct Switch {
    /// What is held (the workpiece's weight where absent, or else 5 % of the pull)
    #[arg(long, value_name = "FORCE", help_heading = "Question", allow_hyphen_values = true, value_parser = args::force)]
    load: Option<f64>,

    #[command(flatten)]
    sampling: Sampling,

    #[command(flatten)]
    common: Common,
}

impl Command for Switch {
    const NAME: &'static str = "switch";
    const ABOUT: &'static str = "Turn-on, turn-off, clamp voltage, residual pull, hold-up on a power failure";
    const EXAMPLES: &'static str = "\
Curves: turn_on, turn_on_pull, turn_off (current with each clamp), turn_off_pull, hold_up.

Examples:
  coilwright switch magnet.sheet.toml
  coilwright switch magnet.sheet.toml --load 20N --plot off.svg --series turn_off
  coilwright switch magnet.sheet.toml --set clamp.kind=zener --set clamp.voltage=47V";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let question = SwitchQuestion { load_n: self.load, brief: false };
        answering::answer(&self.common, &Question::Switch(question), &self.sampling, console)
    }
}
