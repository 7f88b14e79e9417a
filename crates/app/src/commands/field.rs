//! `field`: the field over the face, along the axis, at points.

use super::{Command, answering};
use crate::args::{self, Common, Picture, Sampling};
use crate::ask::{self, FieldQuestion, Map, Question, Region};
use crate::chart;
use crate::console::Console;
use crate::csv;
use crate::files::{self, Output};
use crate::input::{self, Loaded};
use crate::outcome::{Exit, Stop};
use answering::Files;
use coilwright_magnet::quantity::UnitSystem;

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

    /// How uniform the field is in a region: as wide and as long as this about the coil's middle, or between two corners
    #[arg(long, value_name = "LENGTH|R,Z..R,Z", help_heading = "Question", allow_hyphen_values = true, value_parser = args::region)]
    uniform: Option<Region>,

    /// Draw the field over an area, with flux lines; the ending says how: .svg or .png. With --csv the grid's values
    #[arg(long, value_name = "FILE", help_heading = "Output", value_parser = args::picture, conflicts_with = "sweep")]
    map: Option<Picture>,

    /// The area of --map, between two corners (the magnet and its surroundings where absent)
    #[arg(long, value_name = "R,Z..R,Z", help_heading = "Question", allow_hyphen_values = true, requires = "map", value_parser = args::corners)]
    area: Option<[(f64, f64); 2]>,

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
  coilwright field magnet.sheet.toml --map field.png --area=-40mm,-10mm..40mm,30mm
  coilwright field magnet.sheet.toml --uniform 0mm,1mm..5mm,3mm
  coilwright field magnet.sheet.toml --csv --series face_scan > scan.csv";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let question = FieldQuestion {
            standoff_m: self.standoff,
            at: self.at,
            axis: self.axis.is_some(),
            axis_between_m: self.axis.flatten(),
            lines: self.line.clone(),
            uniform: self.uniform,
            keep_out: self.keep_out,
            keeper: self.keeper,
            workpiece: self.workpiece,
        };
        let Some(picture) = &self.map else {
            return answering::answer(&self.common, &Question::Field(question), &self.sampling, console);
        };
        let ready = Files { written: Some((&picture.path, &|| None)), ..Files::default() };
        answering::ready(&self.common, &ready)?;
        let mut sheets = input::sheets(&self.common.sheets, &self.common.assignments)?;
        let Some(sheet) = sheets.pop().filter(|_| sheets.is_empty()) else {
            return Err(Stop::Usage("--map draws one magnet: give one sheet".into()));
        };
        let map = ask::map(&sheet.sheet, &question, self.area).map_err(|e| answering::stop(e, &sheet))?;
        let units = self.common.units.into();
        let drawing = Output { path: picture.path.clone(), bytes: drawn(&map, &sheet, picture, units)? };
        let exit = if self.common.csv && self.common.series.is_empty() {
            let values = csv::map(&map, units).map_err(|error| Stop::Output(std::io::Error::other(error)))?;
            answering::remark(std::slice::from_ref(&sheet), console)?;
            files::write(&[drawing], self.common.force)?;
            console.say(&values)?;
            console.flush()?;
            Exit::Answered
        } else {
            let files = Files { outputs: vec![drawing], ..Files::default() };
            answering::answer_with(&self.common, &Question::Field(question), &self.sampling, files, console)?
        };
        console.tell(&format!("drew `{}`\n", picture.path.display()))?;
        Ok(exit)
    }
}

/// A map as a file's bytes.
fn drawn(map: &Map, sheet: &Loaded, picture: &Picture, units: UnitSystem) -> Result<Vec<u8>, Stop> {
    let svg = chart::map_svg(map, sheet.sheet.name(), units);
    if !picture.pixels {
        return Ok(svg.into_bytes());
    }
    chart::png(&svg).map_err(|error| Stop::Write { path: picture.path.clone(), reason: error.to_string() })
}
