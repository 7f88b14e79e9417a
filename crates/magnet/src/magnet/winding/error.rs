//! Why a winding cannot be completed.

use crate::wire::WireError;

/// Why a winding cannot be completed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WindingError {
    /// A length, count or ratio that cannot be.
    #[error("{label} is {value}; {expected}")]
    Value {
        /// Path in the sheet.
        path: &'static str,
        /// What it is.
        label: &'static str,
        /// As given, SI.
        value: f64,
        /// What would do.
        expected: &'static str,
    },
    /// Neither turns nor wire nor resistance are known.
    #[error("nothing is known of the winding: give its turns, its wire or its resistance")]
    NotEnough,
    /// The wire that follows is none.
    #[error("the wire that follows from the rest is impossible: {0}")]
    Wire(#[from] WireError),
}
