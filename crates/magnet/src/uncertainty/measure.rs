//! A number with its dimension and, where anything is uncertain, its band.

use crate::quantity::Dimension;
use crate::uncertainty::band::{Band, Budget};
use schemars::JsonSchema;
use serde::Serialize;

/// A number in SI with its dimension and band.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Measure {
    /// In the SI unit of the dimension.
    pub value: f64,
    /// What kind of quantity it is; says how to show it.
    pub dimension: Dimension,
    /// How sure it is; `None` where the number is exact or a setting.
    pub band: Option<Band>,
}

impl Measure {
    /// Its standard uncertainty, in the value's unit; nought where it is exact.
    pub fn standard(&self) -> f64 {
        self.band.as_ref().map_or(0.0, |band| band.standard)
    }
}

impl Budget {
    /// The value with its band.
    pub fn measure(&self, dimension: Dimension) -> Measure {
        Measure { value: self.value, dimension, band: self.band() }
    }
}
