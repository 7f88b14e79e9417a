//! Options that all commands which ask something share.

use crate::ask::Region;
use crate::scan;
use clap::{Args, ValueEnum};
use coilwright_choose::lot::Lot;
use coilwright_choose::need::Need;
use coilwright_choose::seek::aim::{Aim, Bound};
use coilwright_choose::seek::vary::{Over, Vary};
use coilwright_choose::sweep::Swept;
use coilwright_magnet::quantity::{Dimension, Quantity, UnitSystem};
use coilwright_magnet::sheet::{TEMPERATURES_K, number_at};
use std::path::PathBuf;

/// Sheets in, answers out.
#[derive(Args, Debug)]
pub(crate) struct Common {
    /// Sheets to ask about; `-` reads standard input
    #[arg(required = true, value_name = "SHEET")]
    pub(crate) sheets: Vec<PathBuf>,

    /// Change an entry for this question only, such as --set drive.voltage=12V; without a value it is taken away
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = assignment)]
    pub(crate) assignments: Vec<Assignment>,

    /// Show everything: all numbers, checks, curves as tables, assumptions and cautions in full
    #[arg(long, help_heading = "Output", conflicts_with_all = ["quiet", "json", "csv"])]
    pub(crate) full: bool,

    /// Show the sentence alone
    #[arg(long, short, help_heading = "Output", conflicts_with_all = ["json", "csv"])]
    pub(crate) quiet: bool,

    /// Write the whole answer as JSON, in SI; `coilwright schema answer` describes it
    #[arg(long, help_heading = "Output", conflicts_with = "csv")]
    pub(crate) json: bool,

    /// The date that --json is to carry, as 2025-01-31; without it the same question gives the same bytes on any day
    #[arg(long, value_name = "DATE", help_heading = "Output")]
    pub(crate) date: Option<String>,

    /// Write the values as CSV; with --series a curve
    #[arg(long, help_heading = "Output")]
    pub(crate) csv: bool,

    /// Draw a curve; the ending says how: .svg or .png. May be repeated
    #[arg(long, value_name = "FILE", help_heading = "Output", value_parser = picture)]
    pub(crate) plot: Vec<Picture>,

    /// Replace files that exist
    #[arg(long, help_heading = "Output")]
    pub(crate) force: bool,

    /// Which curve --csv writes and --plot draws, where there are several. Repeated: one for each --plot
    #[arg(long, value_name = "KEY", help_heading = "Output")]
    pub(crate) series: Vec<String>,

    /// Units of tables, CSV and charts: mm, N, mT, °C; the same with gauss and kgf; or inch, lbf, gauss, °F
    #[arg(long, value_enum, default_value_t, hide_default_value = true, help_heading = "Output")]
    pub(crate) units: Units,

    /// End with exit code 4 if a limit of the sheet is exceeded
    #[arg(long, help_heading = "Output")]
    pub(crate) strict: bool,
}

/// The question asked more than once: bands by sampling, or a sweep.
#[derive(Args, Clone, Debug)]
pub(crate) struct Sampling {
    /// Ask once for each value of an entry, such as --sweep winding.turns=500..4000/8. Twice: for each pair of values, a
    /// curve for each value of the second entry
    #[arg(long, value_name = "PATH=VALUES", help_heading = "Question", conflicts_with = "samples", value_parser = swept)]
    pub(crate) sweep: Vec<Swept>,

    /// An entry to be so adjusted that --until comes out, such as --adjust drive.voltage --until 'pull = 400 N'
    #[arg(long, value_name = "PATH", help_heading = "Question", requires = "until", conflicts_with_all = ["sweep", "samples"])]
    pub(crate) adjust: Option<String>,

    /// What is to come out: a number by its key in --json, and its value
    #[arg(long, value_name = "NUMBER=VALUE", help_heading = "Question", requires = "adjust", value_parser = until)]
    pub(crate) until: Option<(String, String)>,

    /// Also the bands by so many samples of everything uncertain at once, and where first order misleads (200 is a
    /// good number)
    #[arg(long, value_name = "N", help_heading = "Sampling", value_parser = clap::value_parser!(u32).range(20..=100_000))]
    pub(crate) samples: Option<u32>,

    /// Seed of the samples: the same seed gives the same samples
    #[arg(long, value_name = "K", help_heading = "Sampling", default_value_t = 1, requires = "samples")]
    pub(crate) seed: u64,
}

/// `--units`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    #[default]
    Si,
    Gauss,
    Imperial,
}

impl From<Units> for UnitSystem {
    fn from(units: Units) -> Self {
        match units {
            Units::Si => Self::Si,
            Units::Gauss => Self::GaussKgf,
            Units::Imperial => Self::Imperial,
        }
    }
}

/// One `--set`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Assignment {
    /// Dotted path.
    pub(crate) path: String,
    /// As it would stand in a sheet.
    pub(crate) text: String,
}

/// `PATH=VALUE`.
pub(crate) fn assignment(text: &str) -> Result<Assignment, String> {
    match text.split_once('=') {
        Some((path, value)) if !path.trim().is_empty() => {
            Ok(Assignment { path: path.trim().into(), text: value.trim().into() })
        }
        _ => Err("write PATH=VALUE, such as drive.voltage=12V".into()),
    }
}

/// One `--sweep`.
fn swept(text: &str) -> Result<Swept, String> {
    let Some((path, values)) = text.split_once('=') else {
        return Err("write PATH=VALUES, such as winding.turns=500..4000/8".into());
    };
    let path = path.trim();
    let Some(dimension) = number_at(path) else {
        return Err(format!(
            "`{path}` is no number of a sheet; `coilwright new` writes a sheet with every key, and words are compared with \
             `coilwright compare SHEET --with {path}=...`"
        ));
    };
    Ok(Swept { path: path.into(), values: scan::parse(values, dimension)? })
}

/// A key and what its number is to be.
fn until(text: &str) -> Result<(String, String), String> {
    let (key, value) = text
        .split_once('=')
        .filter(|(key, _)| !key.ends_with(['<', '>']))
        .ok_or("write NUMBER=VALUE, such as 'pull = 400 N': it is to come out exactly")?;
    Ok((key.trim().into(), value.trim().into()))
}

/// `--lot`: how many are made alike.
pub(crate) fn lot(text: &str) -> Result<Lot, String> {
    let count = text.trim().parse().map_err(|_| "write how many are made alike, such as 40".to_owned())?;
    Lot::new(count, 1).map_err(|fault| format!("{}; {}", fault.message, fault.hint))
}

/// One `--with` of a comparison.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Alternative(pub(crate) Vec<Assignment>);

/// Assignments between semicolons.
pub(crate) fn alternative(text: &str) -> Result<Alternative, String> {
    text.split(';').map(assignment).collect::<Result<_, _>>().map(Alternative)
}

/// What a magnet has to do.
pub(crate) fn need(text: &str) -> Result<Need, String> {
    Need::parse(text).map_err(|fault| fault.to_string())
}

/// What is aimed at.
pub(crate) fn aim(text: &str) -> Result<Aim, String> {
    Aim::parse(text).map_err(|fault| fault.to_string())
}

/// Limits between semicolons.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Bounds(pub(crate) Vec<Bound>);

/// Limits between semicolons.
pub(crate) fn bounds(text: &str) -> Result<Bounds, String> {
    let parts = text.split(';').filter(|part| !part.trim().is_empty());
    let all: Result<Vec<Bound>, _> =
        parts.map(|part| Bound::parse(part).map_err(|fault| fault.to_string())).collect();
    all.map(Bounds)
}

/// What may change, between semicolons.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Varies(pub(crate) Vec<Vary>);

/// What may change, between semicolons: an entry alone, or with its range or list.
pub(crate) fn varies(text: &str) -> Result<Varies, String> {
    text.split(';')
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .map(vary)
        .collect::<Result<_, _>>()
        .map(Varies)
}

fn vary(text: &str) -> Result<Vary, String> {
    let Some((path, values)) = text.split_once('=') else {
        return Ok(Vary { path: text.into(), over: Over::Free });
    };
    let (path, values) = (path.trim(), values.trim());
    let between = values.contains("..") && !values.contains([',', '/']);
    let over = if path == "winding.wire" {
        if between {
            Over::Between(ends(&scan::parse(values, Dimension::Length)?))
        } else {
            Over::Wires(values.split(',').map(|wire| wire.trim().to_owned()).collect())
        }
    } else {
        let Some(dimension) = number_at(path) else {
            return Err(format!(
                "`{path}` is no number of a sheet; `coilwright new` writes a sheet with every key"
            ));
        };
        let all = scan::parse(values, dimension)?;
        if between { Over::Between(ends(&all)) } else { Over::These(all) }
    };
    Ok(Vary { path: path.into(), over })
}

/// First and last.
fn ends(values: &[f64]) -> [f64; 2] {
    [values.first(), values.last()].map(|value| value.copied().unwrap_or(f64::NAN))
}

/// One `--plot`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Picture {
    /// Where to.
    pub(crate) path: PathBuf,
    /// As pixels, not as SVG.
    pub(crate) pixels: bool,
}

/// A picture's place, told by its ending.
pub(crate) fn picture(text: &str) -> Result<Picture, String> {
    let path = PathBuf::from(text);
    match path.extension().and_then(|ending| ending.to_str()).map(str::to_ascii_lowercase).as_deref() {
        Some("svg") => Ok(Picture { path, pixels: false }),
        Some("png") => Ok(Picture { path, pixels: true }),
        _ => Err("a chart is written as .svg or .png".into()),
    }
}

/// Values of a scan option, in SI.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Scan(pub(crate) Vec<f64>);

/// Lengths.
pub(crate) fn lengths(text: &str) -> Result<Scan, String> {
    scan::parse(text, Dimension::Length).map(Scan)
}

/// Currents.
pub(crate) fn currents(text: &str) -> Result<Scan, String> {
    scan::parse(text, Dimension::Current).map(Scan)
}

/// Voltages.
pub(crate) fn voltages(text: &str) -> Result<Scan, String> {
    scan::parse(text, Dimension::Voltage).map(Scan)
}

/// One time, in seconds.
pub(crate) fn time(text: &str) -> Result<f64, String> {
    positive(text, Dimension::Time)
}

/// One temperature that a magnet may have, in kelvin.
pub(crate) fn temperature(text: &str) -> Result<f64, String> {
    let found = Quantity::parse(text, Dimension::Temperature).map_err(|error| error.to_string())?.value;
    match TEMPERATURES_K.contains(&found) {
        true => Ok(found),
        false => Err("it must be between -60 °C and 500 °C; a `K` counts from absolute zero".into()),
    }
}

/// One force, in newtons.
pub(crate) fn force(text: &str) -> Result<f64, String> {
    positive(text, Dimension::Force)
}

fn positive(text: &str, dimension: Dimension) -> Result<f64, String> {
    let value = Quantity::parse(text, dimension).map_err(|error| error.to_string())?.value;
    if value > 0.0 { Ok(value) } else { Err("it must be greater than zero".into()) }
}

/// One length, in metres.
pub(crate) fn length(text: &str) -> Result<f64, String> {
    Quantity::parse(text, Dimension::Length).map(|length| length.value).map_err(|error| error.to_string())
}

pub(crate) fn voltage(text: &str) -> Result<f64, String> {
    let found = Quantity::parse(text, Dimension::Voltage).map_err(|error| error.to_string())?.value;
    if found > 0.0 { Ok(found) } else { Err("a voltage greater than zero is expected".into()) }
}

/// A point `r,z` in metres.
pub(crate) fn point(text: &str) -> Result<(f64, f64), String> {
    match scan::parse(text, Dimension::Length)?.as_slice() {
        [r, z] => Ok((*r, *z)),
        _ => {
            Err("write two lengths: distance from the axis and height above the face, such as 10mm,1mm"
                .into())
        }
    }
}

/// Two points, `R,Z..R,Z`, in metres.
pub(crate) fn corners(text: &str) -> Result<[(f64, f64); 2], String> {
    let wrong = || "write two points with two dots between them, such as 0mm,1mm..30mm,1mm".to_owned();
    let (from, to) = text.split_once("..").ok_or_else(wrong)?;
    if to.contains("..") {
        return Err(wrong());
    }
    Ok([point(from)?, point(to)?])
}

/// A region by its width, or by two corners.
pub(crate) fn region(text: &str) -> Result<Region, String> {
    if text.contains("..") { corners(text).map(Region::Between) } else { length(text).map(Region::Wide) }
}

/// Two lengths, `FROM..TO`, in metres; what has no unit takes that of the other.
pub(crate) fn between(text: &str) -> Result<[f64; 2], String> {
    match scan::ends(text, Dimension::Length)? {
        Some(ends) => Ok(ends),
        None => Err("write two lengths with two dots between them, such as -50..50mm".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_points_and_two_lengths() {
        assert_eq!(corners("0mm,1mm..30mm,-1mm").unwrap(), [(0.0, 1e-3), (30e-3, -1e-3)]);
        assert!(corners("0mm,1mm").is_err() && corners("1mm..2mm").is_err());
        assert!(corners("0mm,1mm..3mm,1mm..4mm,1mm").is_err());
        assert_eq!(between("-150..150mm").unwrap(), [-0.15, 0.15]);
        assert!(between("50mm").is_err() && between("1..2").is_err() && between("1..2V").is_err());
    }

    #[test]
    fn assignments_and_pictures() {
        let set = assignment("drive.voltage = 24 V = x").unwrap();
        assert_eq!((set.path.as_str(), set.text.as_str()), ("drive.voltage", "24 V = x"));
        assert!(assignment("drive.voltage").is_err() && assignment("=5").is_err());
        assert_eq!(assignment("drive.lead_resistance=").unwrap().text, "");
        assert!(picture("a/b.PNG").unwrap().pixels && !picture("x.svg").unwrap().pixels);
        assert!(picture("magnet.sheet.toml").is_err());
    }

    #[test]
    fn points_are_two_lengths() {
        assert_eq!(point("10mm,1mm").unwrap(), (0.01, 0.001));
        assert!(point("10mm").is_err());
    }
}
