//! An uncertain number of a sheet.

use crate::quantity::Dimension;

/// No limits to what an input can be.
pub const ANY: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];

/// Something of which the sheet is not sure.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Path in the sheet.
    pub path: String,
    /// What a person calls it.
    pub label: String,
    /// Value in SI.
    pub value: f64,
    /// Standard uncertainty, SI.
    pub standard: f64,
    /// Kind of quantity.
    pub dimension: Dimension,
    /// What it can be no less and no more than, SI.
    pub limits: [f64; 2],
}
