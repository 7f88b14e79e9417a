//! What is said of a winding twice, and how sure a mean turn is.

use crate::quantity::Dimension;

/// Relative standard uncertainty of the mean turn: crossings, a bulged or slack winding (common practice, no source).
pub(crate) const MEAN_TURN_RELATIVE_STANDARD: f64 = 0.01;

/// Two statements about one quantity that differ by more than they may, or a winding that does not fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Contradiction {
    /// Path of the statement in the sheet.
    pub about: &'static str,
    /// What a person calls it.
    pub label: &'static str,
    /// Kind of the two values.
    pub dimension: Dimension,
    /// What the sheet says, SI.
    pub stated: f64,
    /// What the rest of the sheet implies, SI.
    pub implied: f64,
    /// Relative standard uncertainty of their ratio.
    pub relative_standard: f64,
    /// In words with numbers.
    pub text: String,
}
