//! Instruments: from a data sheet's accuracy to the standard uncertainty of a reading.
//!
//! An accuracy `±(0.5 % of reading + 3 counts)` is taken as limits of a rectangular distribution, `u = a/√3`
//! (JCGM 100:2008, 4.3.7; EURAMET cg-15 does the same, from memory). Of its parts the gain error and the zero offset
//! are the same in every reading by one instrument; the counts (linearity, noise) and the rounding to the display are
//! each reading's own. So readings by one instrument are correlated, and a ratio of two of them is surer than either.

mod file;
mod hall;

pub use file::{Set, parse};
pub use hall::{HallProbe, LocalField};

use crate::uncertainty::{Inputs, UncertaintyError};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
use nalgebra::DMatrix;

/// One range of one instrument. Limits are half-widths, in SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Name, as after `by` in the header of readings.
    pub name: String,
    /// What it measures, as far as its units say. Differences of temperature for a thermometer.
    pub dimension: Option<Dimension>,
    /// Gain error as a share of the reading.
    pub of_reading: f64,
    /// Further error in counts of the last digit.
    pub counts: f64,
    /// Size of the last digit.
    pub resolution: f64,
    /// Zero error, such as the resistance of the leads or the temperature of the place beside the one meant.
    pub offset: f64,
}

/// One part of a reading's uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// What it comes from.
    pub name: &'static str,
    /// Standard uncertainty, signed if its effect on several readings has a sign; in the reading's unit.
    pub standard: f64,
    /// Whether it is the same error in all readings by the instrument.
    pub shared: bool,
}

impl Instrument {
    /// An instrument without error.
    pub fn exact(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            dimension: None,
            of_reading: 0.0,
            counts: 0.0,
            resolution: 0.0,
            offset: 0.0,
        }
    }

    /// `[instruments.NAME]` of a sheet. `None` if the sheet has no such table; a fault at the key that is wrong.
    pub fn from_sheet(sheet: &Sheet, name: &str) -> Option<Result<Self, Vec<Diagnostic>>> {
        let table = format!("instruments.{name}");
        sheet.has(&table).then(|| {
            let path = |key: &str| format!("{table}.{key}");
            let text = |key: &str| sheet.word(&path(key)).map(str::to_owned);
            let number = |key: &str| sheet.value(&path(key)).unwrap_or(0.0);
            let (of_reading, counts) = (number("of_reading"), number("counts"));
            file::assemble(name, of_reading, counts, text("resolution"), text("offset")).map_err(|faults| {
                faults
                    .into_iter()
                    .map(|(key, message, hint)| sheet.fault(&path(key), message, hint))
                    .collect()
            })
        })
    }

    /// The parts of a reading's uncertainty.
    pub fn components(&self, reading: f64) -> [Component; 4] {
        let limits =
            |name, half_width: f64, shared| Component { name, standard: half_width / 3f64.sqrt(), shared };
        [
            limits("gain", self.of_reading * reading, true),
            limits("counts", self.counts * self.resolution, false),
            limits("resolution", 0.5 * self.resolution, false),
            limits("offset", self.offset, true),
        ]
    }

    /// Standard uncertainty of one reading.
    pub fn standard_uncertainty(&self, reading: f64) -> f64 {
        self.components(reading).iter().map(|component| component.standard.powi(2)).sum::<f64>().sqrt()
    }

    /// Standard uncertainty that each reading has for itself; the noise of a fit in which gain and offset are
    /// parameters.
    pub fn own_uncertainty(&self, reading: f64) -> f64 {
        let own = self.components(reading).into_iter().filter(|component| !component.shared);
        own.map(|component| component.standard.powi(2)).sum::<f64>().sqrt()
    }

    /// Covariance matrix of several readings by this instrument.
    pub fn covariance(&self, readings: &[f64]) -> DMatrix<f64> {
        let components: Vec<_> = readings.iter().map(|&reading| self.components(reading)).collect();
        DMatrix::from_fn(readings.len(), readings.len(), |i, j| {
            let parts = components[i].iter().zip(&components[j]);
            parts.filter(|(a, _)| a.shared || i == j).map(|(a, b)| a.standard * b.standard).sum()
        })
    }

    /// Named readings by this instrument as correlated inputs.
    pub fn inputs(&self, readings: &[(&str, f64)]) -> Result<Inputs, UncertaintyError> {
        let names: Vec<String> = readings.iter().map(|(name, _)| (*name).to_owned()).collect();
        let values: Vec<f64> = readings.iter().map(|(_, value)| *value).collect();
        Inputs::from_covariance(&names, &values, &self.covariance(&values), f64::INFINITY)
    }
}
