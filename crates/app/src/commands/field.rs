//! `field`: the field over the face, along the axis, at points.

use super::{Command, answering};
use crate::args::{self, Common, Sampling};
use crate::ask::{FieldQuestion, Question};
use crate::console::Console;
use crate::outcome::{Exit, Stop};

/// Arguments of `field`.
#[derive(clap::Args)]
pub(super) struct Field {
    /// Height of the face scan above the face (the sheet's probe.standoff where absent)
    #[arg(long, value_name = "LENGTH", help_heading = "Question", allow_hyphen_values = true, value_parser = args::length)]
    standoff: Option<f64>,

    /// The field at a point: distance from the axis, height above the face. May be repeated
    #[arg(long, value_name = "R,Z", help_heading = "Question", allow_hyphen_values = true, value_parser = args::point)]
    at: Vec<(f64, f64)>,

    /// Also along a straight line between two points, as in --at. May be repeated
    #[arg(long, value_name = "R,Z..R,Z", help_heading = "Question", allow_hyphen_values = true, value_parser = args::corners)]
    line: Vec<[(f64, f64); 2]>,

    /// Also scan along the axis; with --axis=-50..50mm between those heights above the face
    #[arg(long, value_name = "FROM..TO", help_heading = "Question", num_args = 0..=1, require_equals = true, value_parser = args::between)]
    axis: Option<Option<[f64; 2]>>,

    /// Also find how far off the field falls to 0.5 mT and 3 mT
    #[arg(long, help_heading = "Question")]
    keep_out: bool,

    /// With the sheet's keeper on the poles
    #[arg(long, help_heading = "Question")]
    keeper: bool,

    /// With the workpiece in place
    #[arg(long, help_heading = "Question")]
    workpiece: bool,

    #[command(flatten)]
    sampling: Sampling,

    #[command(flatten)]
    common: Common,
}

impl Command for Field {
    const NAME: &'static str = "field";
    const ABOUT: &'static str = "Flux density over the face, along the axis, at points; keep-out distance";
    const EXAMPLES: &'static str = "\
Examples:
  coilwright field magnet.sheet.toml --standoff 1mm --plot scan.svg
  coilwright field magnet.sheet.toml --at 0mm,1mm --at 14mm,1mm --units gauss
  coilwright field magnet.sheet.toml --axis --keep-out
  coilwright field magnet.sheet.toml --line 0mm,2mm..40mm,2mm --plot line.svg --series line_1
  coilwright field magnet.sheet.toml --csv --series face_scan > scan.csv";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let question = FieldQuestion {
            standoff_m: self.standoff,
            at: self.at,
            axis: self.axis.is_some(),
            axis_between_m: self.axis.flatten(),
            lines: self.line,
            keep_out: self.keep_out,
            keeper: self.keeper,
            workpiece: self.workpiece,
        };
        answering::answer(&self.common, &Question::Field(question), &self.sampling, console)
    }
}
