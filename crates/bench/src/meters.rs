//! Which instrument read a column: the one its header names, the only one of that kind in the sheet, or a typical one.

use crate::instrument::Instrument;
use crate::readings::{Column, Measurand};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;

/// Instruments of a sheet, and what had to be assumed of others.
#[derive(Debug)]
pub struct Meters<'a> {
    sheet: &'a Sheet,
    /// Typical instruments that were taken for want of a better one.
    pub assumptions: Vec<Assumption>,
}

/// Typical hand-held instruments (common practice, no source): share of the reading, counts, resolution, offset.
fn typical(dimension: Dimension) -> Option<[f64; 4]> {
    Some(match dimension {
        Dimension::Voltage => [0.005, 2.0, 0.01, 0.0],
        Dimension::Current => [0.01, 3.0, 1e-3, 0.0],
        Dimension::Resistance => [0.008, 3.0, 0.1, 0.2],
        Dimension::FluxDensity => [0.02, 3.0, 1e-4, 0.0],
        Dimension::Force => [0.01, 0.0, 0.5, 0.0],
        Dimension::Temperature => [0.0, 0.0, 0.1, 2.0],
        Dimension::Power => [0.02, 3.0, 0.1, 0.0],
        _ => return None,
    })
}

impl<'a> Meters<'a> {
    /// The instruments of a sheet.
    pub fn new(sheet: &'a Sheet) -> Self {
        Self { sheet, assumptions: Vec::new() }
    }

    /// The instrument of a column. A name in its header that the sheet does not describe is a fault. A position
    /// without an instrument is taken as exact.
    pub fn of(&mut self, column: &Column) -> Result<Instrument, Failure> {
        if let Some(name) = &column.instrument {
            return match Instrument::from_sheet(self.sheet, name) {
                Some(instrument) => Ok(instrument?),
                None => {
                    let hint = format!("describe it in a table [instruments.{name}]");
                    let message =
                        format!("the readings name an instrument `{name}` that the sheet does not have");
                    Err(self.sheet.fault("instruments", message, hint).into())
                }
            };
        }
        let dimension = column.measurand.dimension();
        let mut alike = Vec::new();
        for name in self.names() {
            if let Some(instrument) = Instrument::from_sheet(self.sheet, &name) {
                let instrument = instrument?;
                if instrument.dimension == Some(shown_by(dimension)) {
                    alike.push(instrument);
                }
            }
        }
        if let [only] = &alike[..] {
            return Ok(only.clone());
        }
        let name = kind(&column.measurand);
        let Some([of_reading, counts, resolution, offset]) = typical(dimension) else {
            return Ok(Instrument::exact(name));
        };
        let reason = match alike.len() {
            0 => "the sheet describes none; a typical hand-held one (common practice)".to_owned(),
            n => format!(
                "{n} in the sheet could be meant; name one in the header (`by NAME`). A typical one is taken"
            ),
        };
        let path = format!("instruments.{name}");
        if !self.assumptions.iter().any(|a| a.path == path) {
            let shown = |size: f64| shown_by(dimension).text(size, None, UnitSystem::Si);
            let mut parts = Vec::new();
            if of_reading > 0.0 {
                parts.push(format!("{} %", 100.0 * of_reading));
            }
            if counts > 0.0 {
                parts.push(format!("{counts} of {}", shown(resolution)));
            }
            if offset > 0.0 {
                parts.push(shown(offset));
            }
            let word = format!("± ({})", parts.join(" + "));
            self.assumptions.push(Assumption { path, label: name.to_owned(), value: None, word, reason });
        }
        Ok(Instrument {
            dimension: Some(shown_by(dimension)),
            of_reading,
            counts,
            resolution,
            offset,
            ..Instrument::exact(name)
        })
    }

    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = self
            .sheet
            .paths()
            .filter_map(|path| {
                path.strip_prefix("instruments.")?.rsplit_once('.').map(|(name, _)| name.to_owned())
            })
            .collect();
        names.dedup();
        names
    }
}

/// The kind of an instrument's resolution: a thermometer's is a difference.
fn shown_by(dimension: Dimension) -> Dimension {
    if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension }
}

/// What an instrument for it is called.
fn kind(measurand: &Measurand) -> &'static str {
    match measurand {
        Measurand::Time => "clock",
        Measurand::Voltage => "voltmeter",
        Measurand::Current => "ammeter",
        Measurand::Resistance => "ohmmeter",
        Measurand::Power => "wattmeter",
        Measurand::Temperature(_) => "thermometer",
        Measurand::Field | Measurand::RadialField => "teslameter",
        Measurand::Pull => "scale",
        Measurand::Position(_) => "ruler",
    }
}
