//! The header: what each column holds. The grammar stands in the module above.

use super::check::Remark;
use super::clock::Two;
use super::line::Lines;
use super::{Column, HeaderFault, ReadError};
use coilwright_magnet::quantity::{Dimension, Quantity};
use std::io::BufRead;

/// What a column holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Measurand {
    /// Time since any moment; of times of day, since the first row.
    Time,
    /// Voltage at the magnet's terminals.
    Voltage,
    /// Current through the winding.
    Current,
    /// Resistance of the winding.
    Resistance,
    /// Electrical power.
    Power,
    /// Temperature of the place named.
    Temperature(String),
    /// Flux density along the axis.
    Field,
    /// Flux density away from the axis.
    RadialField,
    /// Force needed to pull the workpiece off, or measured by a load cell.
    Pull,
    /// Where the readings of the row were taken.
    Position(Axis),
}

/// A direction in which positions are given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Distance from the axis.
    R,
    /// Height of the probe's tip above the face.
    Z,
    /// Along the face, across the poles of a planar magnet.
    X,
    /// Along the face, along the poles of a planar magnet.
    Y,
    /// Between face and workpiece.
    Gap,
    /// Thickness of the workpiece.
    Thickness,
}

/// Where along an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// At this coordinate, m.
    At(f64),
    /// Where the column of that axis says.
    InColumn,
}

impl Axis {
    const ALL: [(&'static str, Self); 6] = [
        ("r", Self::R),
        ("z", Self::Z),
        ("x", Self::X),
        ("y", Self::Y),
        ("gap", Self::Gap),
        ("thickness", Self::Thickness),
    ];

    fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|(n, _)| n.eq_ignore_ascii_case(name)).map(|(_, axis)| axis)
    }
}

/// Names other than those of axes and thermometers.
const NAMES: [(&str, Measurand); 8] = [
    ("time", Measurand::Time),
    ("voltage", Measurand::Voltage),
    ("current", Measurand::Current),
    ("resistance", Measurand::Resistance),
    ("power", Measurand::Power),
    ("field", Measurand::Field),
    ("radial field", Measurand::RadialField),
    ("pull", Measurand::Pull),
];

impl Measurand {
    /// Kind of quantity.
    pub fn dimension(&self) -> Dimension {
        match self {
            Self::Time => Dimension::Time,
            Self::Voltage => Dimension::Voltage,
            Self::Current => Dimension::Current,
            Self::Resistance => Dimension::Resistance,
            Self::Power => Dimension::Power,
            Self::Temperature(_) => Dimension::Temperature,
            Self::Field | Self::RadialField => Dimension::FluxDensity,
            Self::Pull => Dimension::Force,
            Self::Position(_) => Dimension::Length,
        }
    }

    fn named(name: &str) -> Option<Self> {
        let known = NAMES.into_iter().find(|(n, _)| n.eq_ignore_ascii_case(name)).map(|(_, m)| m);
        known.or_else(|| Axis::named(name).map(Self::Position))
    }
}

/// A header that was understood.
pub(super) struct Head {
    pub delimiter: u8,
    pub columns: Vec<Column>,
    /// The column of time holds times of day, and what two numbers are there.
    pub clock: Option<Two>,
}

/// Finds the header and reads it.
pub(super) fn read(lines: &mut Lines<impl BufRead>, remarks: &mut Vec<Remark>) -> Result<Head, ReadError> {
    loop {
        if !lines.advance()? {
            return Err(ReadError::Empty);
        }
        let bytes = lines.bytes();
        if lines.number() == 1 && (bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF])) {
            return Err(ReadError::Utf16);
        }
        let bytes =
            if lines.number() == 1 { bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes) } else { bytes };
        let first = bytes.trim_ascii_start().first();
        if first.is_none() || first == Some(&b'#') {
            continue;
        }
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            // Latin-1 is the first 256 code points of Unicode; ° and µ are all that matters here.
            Err(_) => {
                remarks.push(Remark::Latin1);
                bytes.iter().map(|&byte| char::from(byte)).collect()
            }
        };
        return parse(&text).map_err(|faults| ReadError::Header { line: lines.number(), faults });
    }
}

fn parse(text: &str) -> Result<Head, Vec<HeaderFault>> {
    let delimiter = [b'\t', b';', b','].into_iter().find(|d| text.as_bytes().contains(d)).unwrap_or(b',');
    let mut cells: Vec<String> = text
        .split(char::from(delimiter))
        .map(|cell| cell.trim().trim_matches('"').trim().to_owned())
        .collect();
    while cells.len() > 1 && cells.last().is_some_and(String::is_empty) {
        cells.pop();
    }
    let mut columns: Vec<(usize, Column)> = Vec::new();
    let mut clock = None;
    let mut faults = Vec::new();
    for (i, cell) in cells.iter().enumerate() {
        let fault = |(message, hint): (String, String)| HeaderFault {
            cell: i + 1,
            text: cell.clone(),
            message,
            hint,
        };
        match parse_cell(cell) {
            Ok((column, two)) => {
                let same = |other: &Column| {
                    other.measurand == column.measurand
                        && (column.measurand == Measurand::Time
                            || other.places == column.places && other.instrument == column.instrument)
                };
                clock = clock.or(two);
                if columns.iter().any(|(_, other)| same(other)) {
                    let hint = "tell them apart by place (`@ r=10mm`) or instrument (`by meter2`)";
                    faults.push(fault(("another column holds the same".to_owned(), hint.to_owned())));
                }
                columns.push((i + 1, column));
            }
            Err(what) => faults.push(fault(what)),
        }
    }
    for (cell, column) in &columns {
        for (axis, _) in column.places.iter().filter(|(_, place)| *place == Place::InColumn) {
            if !columns.iter().any(|(_, other)| other.measurand == Measurand::Position(*axis)) {
                faults.push(HeaderFault {
                    cell: *cell,
                    text: column.head.clone(),
                    message: "it names a column for its place that is not there".to_owned(),
                    hint: "give the place itself, as in `@ r=10mm`, or add the column `r mm`".to_owned(),
                });
            }
        }
    }
    faults.sort_by_key(|fault| fault.cell);
    let columns = columns.into_iter().map(|(_, column)| column).collect();
    if faults.is_empty() { Ok(Head { delimiter, columns, clock }) } else { Err(faults) }
}

/// `quantity unit [@ place ...] [by instrument]`, and what times of day mean if it is their column; an error is a
/// message and a hint.
fn parse_cell(cell: &str) -> Result<(Column, Option<Two>), (String, String)> {
    let (rest, instrument) = match cell.rsplit_once(" by ") {
        Some((rest, name)) => (rest, Some(name.trim().to_owned())),
        None => (cell, None),
    };
    let (what, places) = rest.split_once('@').unwrap_or((rest, ""));
    let what = what.replace(['(', ')', '[', ']', '/'], " ");
    let words: Vec<&str> = what.split_whitespace().collect();
    let two = match words.split_first() {
        Some((name, pattern)) if Measurand::named(name) == Some(Measurand::Time) => {
            Two::of_header(&pattern.join(" "))
        }
        _ => None,
    };
    // Times of day are counted in seconds.
    let words = if two.is_some() { vec!["time", "s"] } else { words };
    let known = Measurand::named(&words.join(" "));
    let (unit, name) = match words.split_last() {
        Some((unit, name)) if known.is_none() && !name.is_empty() => (*unit, name.join(" ")),
        _ => {
            let name = words.join(" ");
            let such_as = match known {
                Some(measurand) => format!("{name} {}", measurand.dimension().units()[0].symbol),
                None => likely(&name).unwrap_or_else(|| "voltage V".to_owned()),
            };
            let hint = format!("a column is named by quantity and unit, such as `{such_as}`");
            return Err(("quantity or unit is missing".to_owned(), hint));
        }
    };
    let measurand = match Measurand::named(&name) {
        Some(measurand) => measurand,
        None if Dimension::Temperature.unit(unit).is_some() => Measurand::Temperature(name.to_lowercase()),
        None => {
            let names: Vec<&str> =
                NAMES.iter().map(|(n, _)| *n).chain(Axis::ALL.iter().map(|(n, _)| *n)).collect();
            let hint = match likely(&name).or_else(|| likely(unit)) {
                Some(likely) => format!("such as `{likely}`"),
                None => format!("known are {}, and any place with a unit of temperature", names.join(", ")),
            };
            return Err((format!("`{name}` is not a quantity that is measured here"), hint));
        }
    };
    let dimension = measurand.dimension();
    let unit = dimension.unit(unit).ok_or_else(|| {
        let units: Vec<&str> = dimension.units().iter().map(|unit| unit.symbol).collect();
        (format!("`{unit}` is not a unit of {}", dimension.name()), format!("one of {}", units.join(", ")))
    })?;
    let places = parse_places(places)?;
    let column = Column { head: cell.to_owned(), measurand, unit, places, instrument, values: Vec::new() };
    Ok((column, two))
}

/// The header that a word from other habits stands for: the plural of a unit, a symbol, or a bare unit.
fn likely(word: &str) -> Option<String> {
    const HABITS: [(&str, &[&str]); 8] = [
        ("time s", &["t", "seconds", "timestamp", "datetime", "date"]),
        ("voltage V", &["u", "volt", "volts"]),
        ("current A", &["i", "amp", "amps", "ampere", "amperes"]),
        ("resistance ohm", &["ohms"]),
        ("power W", &["p", "watt", "watts"]),
        ("back °C", &["temp", "temperature"]),
        ("field mT", &["b", "bz", "flux", "flux density", "induction", "gauss", "tesla"]),
        ("pull N", &["f", "force", "holding force", "load", "newton", "newtons"]),
    ];
    let lower = word.to_lowercase();
    let habit = HABITS.iter().find(|(_, words)| words.contains(&lower.as_str())).map(|(head, _)| *head);
    habit.map(str::to_owned).or_else(|| {
        let (name, _) = NAMES.iter().find(|(_, measurand)| measurand.dimension().unit(word).is_some())?;
        Some(format!("{name} {word}"))
    })
}

/// `r=10mm z = 1 mm`, or `r mm z mm`, or `r z`.
fn parse_places(text: &str) -> Result<Vec<(Axis, Place)>, (String, String)> {
    let hint = || "a place is written `r=10mm z=1mm`".to_owned();
    let spaced = text.replace('=', " = ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut places: Vec<(Axis, Place)> = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let axis = Axis::named(words[at]).ok_or_else(|| {
            (format!("`{}` is not a direction", words[at]), "r, z, x, y, gap or thickness".to_owned())
        })?;
        at += 1;
        let end =
            words[at..].iter().position(|word| Axis::named(word).is_some()).map_or(words.len(), |n| at + n);
        let place = match &words[at..end] {
            ["=", value @ ..] => {
                let value = value.join(" ");
                let quantity = Quantity::parse(&value, Dimension::Length);
                let quantity = quantity.map_err(|error| (format!("`{value}`: {error}"), hint()))?;
                if quantity.half_width > 0.0 {
                    let hint = "how sure it is, says the instrument of a column: `r mm by ruler`".to_owned();
                    return Err((format!("`{value}`: a place has no tolerance"), hint));
                }
                Place::At(quantity.value)
            }
            [] => Place::InColumn,
            [unit] if Dimension::Length.unit(unit).is_some() => Place::InColumn,
            other => return Err((format!("`{}` is not a place", other.join(" ")), hint())),
        };
        if places.iter().any(|(a, _)| *a == axis) {
            return Err((format!("`{}` is given twice", words[at - 1]), hint()));
        }
        places.push((axis, place));
        at = end;
    }
    Ok(places)
}
