//! `winding`: what the wire is and does.

use super::{Command, answering};
use crate::args::{Common, Sampling};
use crate::ask::Question;
use crate::console::Console;
use crate::outcome::{Exit, Stop};

/// Arguments of `winding`.
#[derive(clap::Args)]
pub(super) struct Winding {
    #[command(flatten)]
    sampling: Sampling,

    #[command(flatten)]
    common: Common,
}

impl Command for Winding {
    const NAME: &'static str = "winding";
    const ABOUT: &'static str = "Turns, wire, resistance, current, power, fill";
    const EXAMPLES: &'static str = "\
Examples:
  coilwright winding magnet.sheet.toml
  coilwright winding magnet.sheet.toml --set drive.temperature=80degC
  coilwright winding bought.sheet.toml turned.sheet.toml --json";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        answering::answer(&self.common, &Question::Winding, &self.sampling, console)
    }
}
