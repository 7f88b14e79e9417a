//! Instruments written in TOML: the `[instruments.NAME]` tables of a sheet, or of a file of their own.
//!
//! ```toml
//! [instruments.ohmmeter]
//! of_reading = "0.8 %"     # gain error
//! counts = 3               # of the last digit
//! resolution = "0.1 ohm"   # one count
//! offset = "0.2 ohm"       # leads not subtracted
//!
//! [instruments.probe]      # a Hall probe has three keys more
//! of_reading = "2 %"
//! resolution = "0.1 mT"
//! active_diameter = "1 mm"
//! depth = "0.5 mm ± 0.2 mm"
//! angle = "0 deg ± 5 deg"
//! ```

use super::{HallProbe, Instrument};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::quantity::{Dimension, Quantity};
use coilwright_magnet::sheet::Sheet;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// Instruments of a workshop, by name.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Set {
    /// Every instrument, in alphabetical order.
    pub instruments: Vec<Instrument>,
    /// Those that are Hall probes, by the same names.
    pub probes: BTreeMap<String, HallProbe>,
    /// Keys of a sheet and their texts, as in the file; a probe's with its name.
    keys: Vec<(String, String)>,
    probe_keys: Vec<(String, String, String)>,
}

impl Set {
    /// The instrument of a name.
    pub fn get(&self, name: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|instrument| instrument.name == name)
    }

    /// Gives the instruments to a sheet, in place of its own of the same names. If one of them is a Hall probe, the
    /// sheet's `[probe]` takes from it what it does not say itself.
    pub fn give(&self, sheet: &mut Sheet) -> Result<(), Diagnostic> {
        for instrument in &self.instruments {
            for key in ["of_reading", "counts", "resolution", "offset"] {
                sheet.remove(&format!("instruments.{}.{key}", instrument.name));
            }
        }
        self.keys.iter().try_for_each(|(path, text)| sheet.set(path, text))?;
        let the_probe = self.probes.keys().next().filter(|_| self.probes.len() == 1);
        for (name, key, text) in &self.probe_keys {
            let path = format!("probe.{key}");
            if Some(name) == the_probe && !sheet.has(&path) {
                sheet.set(&path, text)?;
            }
        }
        Ok(())
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    instruments: BTreeMap<String, Table>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    of_reading: Option<Spanned<Number>>,
    counts: Option<Spanned<Number>>,
    resolution: Option<Spanned<String>>,
    offset: Option<Spanned<String>>,
    active_diameter: Option<Spanned<String>>,
    depth: Option<Spanned<String>>,
    angle: Option<Spanned<String>>,
}

/// A bare number, or text such as `0.5 %`.
#[derive(Deserialize)]
#[serde(untagged)]
enum Number {
    Integer(i64),
    Float(f64),
    Text(String),
}

/// Reads a file of instruments; `file` is the name to report. All faults are found at once.
pub fn parse(text: &str, file: &str) -> Result<Set, Vec<Diagnostic>> {
    let parsed: File = toml::from_str(text).map_err(|error| {
        let hint = "tables are written `[instruments.NAME]`, see `docs/readings.md` for their keys";
        let mut fault = Diagnostic::fault(error.message(), hint);
        fault.file = file.to_owned();
        fault.span = error.span();
        vec![fault]
    })?;
    let mut faults = Vec::new();
    let mut set = Set::default();
    for (name, table) in &parsed.instruments {
        read_table(name, table, &mut set, &mut faults);
    }
    for fault in &mut faults {
        fault.file = file.to_owned();
    }
    if faults.is_empty() { Ok(set) } else { Err(faults) }
}

fn read_table(name: &str, table: &Table, set: &mut Set, faults: &mut Vec<Diagnostic>) {
    let mut fault = |message: String, hint: String, span: Option<std::ops::Range<usize>>| {
        let mut fault = Diagnostic::fault(message, hint);
        fault.span = span;
        faults.push(fault);
    };
    let mut number = |key: &'static str, given: &Option<Spanned<Number>>, dimension| {
        let Some(given) = given else { return 0.0 };
        let value = match given.get_ref() {
            Number::Integer(integer) => Ok(*integer as f64),
            Number::Float(float) => Ok(*float),
            Number::Text(text) => Quantity::parse(text, dimension).map(|q| q.value),
        };
        match value {
            Ok(value) if value.is_finite() && value >= 0.0 => return value,
            Ok(value) => {
                fault(format!("`{key}` is {value}, it must be 0 or more"), String::new(), Some(given.span()))
            }
            Err(error) => fault(format!("`{key}`: {error}"), error.hint, Some(given.span())),
        }
        0.0
    };
    let of_reading = number("of_reading", &table.of_reading, Dimension::Ratio);
    let counts = number("counts", &table.counts, Dimension::Count);
    let text = |given: &Option<Spanned<String>>| given.as_ref().map(|text| text.get_ref().clone());
    let texts = [("resolution", &table.resolution), ("offset", &table.offset)];
    let texts = texts.into_iter().filter_map(|(key, given)| Some((key, given.as_ref()?.get_ref().clone())));
    let numbers = [("of_reading", of_reading), ("counts", counts)];
    let numbers = numbers.into_iter().filter(|(_, n)| *n > 0.0).map(|(key, n)| (key, n.to_string()));
    set.keys.extend(numbers.chain(texts).map(|(key, text)| (format!("instruments.{name}.{key}"), text)));
    let of_probe =
        [("active_diameter", &table.active_diameter), ("depth", &table.depth), ("angle", &table.angle)];
    for (key, given) in of_probe {
        if let Some(given) = given {
            set.probe_keys.push((name.to_owned(), key.to_owned(), given.get_ref().clone()));
        }
    }
    match assemble(name, of_reading, counts, text(&table.resolution), text(&table.offset)) {
        Ok(instrument) => set.instruments.push(instrument),
        Err(wrong) => {
            for (key, message, hint) in wrong {
                let at = if key == "offset" { &table.offset } else { &table.resolution };
                let span = at.as_ref().map(Spanned::span).or(table.counts.as_ref().map(Spanned::span));
                fault(message, hint, span);
            }
        }
    }
    let mut quantity = |key: &'static str, given: &Option<Spanned<String>>, dimension| {
        let given = given.as_ref()?;
        let quantity = Quantity::parse(given.get_ref(), dimension);
        quantity.map_err(|error| fault(format!("`{key}`: {error}"), error.hint, Some(given.span()))).ok()
    };
    let active_diameter = quantity("active_diameter", &table.active_diameter, Dimension::Length);
    let depth = quantity("depth", &table.depth, Dimension::Length);
    let angle = quantity("angle", &table.angle, Dimension::Angle);
    if active_diameter.is_some() || depth.is_some() || angle.is_some() {
        set.probes.insert(name.to_owned(), HallProbe::new(active_diameter, depth, angle));
    }
}

/// Kinds of quantity that a bench instrument shows. A thermometer's resolution is a difference.
const SHOWN: [Dimension; 9] = [
    Dimension::Voltage,
    Dimension::Current,
    Dimension::Resistance,
    Dimension::FluxDensity,
    Dimension::Force,
    Dimension::Length,
    Dimension::TemperatureDifference,
    Dimension::Power,
    Dimension::Time,
];

/// Puts an instrument together; a fault is a key, a message and a hint.
pub(super) fn assemble(
    name: &str,
    of_reading: f64,
    counts: f64,
    resolution: Option<String>,
    offset: Option<String>,
) -> Result<Instrument, Vec<(&'static str, String, String)>> {
    let mut faults = Vec::new();
    let mut dimension = None;
    let mut sizes = [0.0; 2];
    for (size, (key, text)) in sizes.iter_mut().zip([("resolution", resolution), ("offset", offset)]) {
        let Some(text) = text else { continue };
        let found = SHOWN.into_iter().find_map(|d| Some((d, Quantity::parse(&text, d).ok()?)));
        match found {
            Some((d, _)) if dimension.is_some_and(|other| other != d) => {
                let hint = "all keys of an instrument are of one kind".to_owned();
                faults.push((key, format!("`{text}` is not of the same kind as the resolution"), hint));
            }
            Some((d, quantity)) if quantity.value >= 0.0 => {
                dimension = Some(d);
                *size = quantity.value;
            }
            Some(_) => faults.push((key, format!("`{text}` is negative"), "give its magnitude".to_owned())),
            None => {
                let hint = "such as \"0.1 mT\", \"0.01 V\", \"0.1 ohm\", \"0.1 K\"".to_owned();
                faults.push((key, format!("`{text}` is no size of a reading"), hint));
            }
        }
    }
    let [resolution, offset] = sizes;
    if counts > 0.0 && resolution == 0.0 && faults.is_empty() {
        let hint = "say what one count is, as in `resolution = \"0.1 ohm\"`".to_owned();
        faults.push(("resolution", format!("{counts} counts of an unknown size"), hint));
    }
    let instrument = Instrument { name: name.to_owned(), dimension, of_reading, counts, resolution, offset };
    if faults.is_empty() { Ok(instrument) } else { Err(faults) }
}
