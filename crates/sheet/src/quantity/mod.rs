//! Numbers with a unit and a tolerance: read from text, shown in the user's units; SI inside.

use schemars::JsonSchema;
use serde::Serialize;

pub mod kind;
mod parse;
mod show;
mod unit;
mod units;

pub use parse::{QuantityError, QuantityFault};
pub use show::{Shown, UnitSystem, format_number};
pub use unit::Unit;

/// Kind of quantity. Finer than physical dimension: a temperature is not a temperature difference,
/// and ampere-turns are not amperes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Dimension {
    Ratio,
    /// A part of a whole, such as a loss or a duty: a ratio that is shown in per cent. Sheets read it as a ratio.
    Share,
    Count,
    Length,
    Area,
    Volume,
    Angle,
    Mass,
    Density,
    Time,
    Speed,
    Force,
    Pressure,
    Energy,
    Power,
    Voltage,
    Current,
    AmpereTurns,
    CurrentDensity,
    Resistance,
    ResistancePerLength,
    Resistivity,
    Inductance,
    FluxDensity,
    FieldStrength,
    Magnetisation,
    Flux,
    FluxLinkage,
    Temperature,
    TemperatureDifference,
    TemperatureCoefficient,
    ThermalConductivity,
    ThermalConductance,
    HeatTransferCoefficient,
    HeatCapacity,
    SpecificHeat,
    Charge,
    /// Battery capacity and the like, shown in watt-hours.
    StoredEnergy,
}

/// A value with a tolerance, in SI (kelvin for temperatures).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// In the SI unit of the dimension.
    pub value: f64,
    /// Half-width of the tolerance, same unit; 0 if none was given.
    pub half_width: f64,
    /// What kind of quantity it is.
    pub dimension: Dimension,
}

impl Quantity {
    /// A value that is exact, in the SI unit of the dimension.
    pub fn exact(value: f64, dimension: Dimension) -> Self {
        Self { value, half_width: 0.0, dimension }
    }

    /// Standard uncertainty of a rectangular distribution of that half-width (JCGM 100:2008, 4.3.7).
    pub fn standard_uncertainty(&self) -> f64 {
        self.half_width / 3f64.sqrt()
    }
}
