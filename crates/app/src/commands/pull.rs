//! `pull`: the force on a workpiece.

use super::{Command, answering};
use crate::args::{self, Common, Sampling, Scan};
use crate::ask::{PullQuestion, Question, Sheet};
use crate::bench;
use crate::console::Console;
use crate::outcome::{Exit, Stop};
use coilwright_choose::lot::Lot;
use coilwright_magnet::watch::Watch;

/// Arguments of `pull`.
#[derive(clap::Args)]
pub(super) struct Pull {
    /// Gaps between face and workpiece
    #[arg(long, value_name = "VALUES", help_heading = "Question", allow_hyphen_values = true, value_parser = args::lengths)]
    gap: Option<Scan>,

    /// Currents
    #[arg(long, value_name = "VALUES", help_heading = "Question", allow_hyphen_values = true, value_parser = args::currents)]
    current: Option<Scan>,

    /// Thicknesses of the workpiece
    #[arg(long, value_name = "VALUES", help_heading = "Question", allow_hyphen_values = true, value_parser = args::lengths)]
    thickness: Option<Scan>,

    /// Widths (or diameters) of the workpiece
    #[arg(long, value_name = "VALUES", help_heading = "Question", allow_hyphen_values = true, value_parser = args::lengths)]
    width: Option<Scan>,

    /// Pull on the sheet's keeper instead of the workpiece
    #[arg(long, help_heading = "Question")]
    keeper: bool,

    /// Also the force that makes the workpiece slide along the face
    #[arg(long, help_heading = "Question")]
    shear: bool,

    /// What each of so many made alike holds at least: supply, surroundings, gap and workpiece at the worst of their limits,
    /// warm. What differs from unit to unit stands in the sheet's `lot.varies`
    #[arg(long, value_name = "N", help_heading = "Question", conflicts_with_all = ["gap", "current", "thickness", "width", "keeper", "shear", "samples", "sweep", "adjust"], value_parser = args::lot)]
    lot: Option<Lot>,

    #[command(flatten)]
    sampling: Sampling,

    #[command(flatten)]
    common: Common,
}

impl Command for Pull {
    const NAME: &'static str = "pull";
    const ABOUT: &'static str = "Holding force against gap, current, workpiece; what limits it";
    const EXAMPLES: &'static str = "\
Values are lists or ranges: 0.1mm,0.2mm · 0.05..5mm · 0.05..5mm/40 (40 points) · 0.05..5mm/40/lin.
A range over a factor of ten or more is spaced logarithmically unless /lin is given.

Examples:
  coilwright pull magnet.sheet.toml
  coilwright pull magnet.sheet.toml --gap 0.05..5mm --plot pull.svg
  coilwright pull magnet.sheet.toml --current 0.1..0.5A/9 --units gauss
  coilwright pull magnet.sheet.toml --samples 200
  coilwright pull magnet.sheet.toml --sweep workpiece.thickness=2..10mm/5 --csv
  coilwright pull magnet.sheet.toml --sweep workpiece.gap=0.1..1mm/4 --sweep drive.voltage=12V,24V
  coilwright pull magnet.sheet.toml --adjust drive.voltage --until 'pull = 400 N'
  coilwright pull magnet.sheet.toml --lot 40
  coilwright pull bought.sheet.toml turned.sheet.toml --gap 0.05..5mm --csv > pulls.csv";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        if let Some(lot) = self.lot {
            let ask = |sheet: &Sheet, watch: &Watch| bench::lot(sheet, &lot, watch);
            return answering::answer_by(&self.common, &[], ask, answering::Files::default(), console);
        }
        let values = |scan: Option<Scan>| scan.unwrap_or_default().0;
        let question = PullQuestion {
            gaps_m: values(self.gap),
            currents_a: values(self.current),
            thicknesses_m: values(self.thickness),
            widths_m: values(self.width),
            keeper: self.keeper,
            shear: self.shear,
        };
        answering::answer(&self.common, &Question::Pull(question), &self.sampling, console)
    }
}
