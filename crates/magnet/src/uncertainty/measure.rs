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

impl Budget {
    /// The value with its band.
    pub fn measure(&self, dimension: Dimension) -> Measure {
        Measure { value: self.value, dimension, band: self.band() }
    }
}
