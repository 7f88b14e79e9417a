//! What a sheet left open and was assumed.

use crate::uncertainty::measure::Measure;
use schemars::JsonSchema;
use serde::Serialize;

/// Something the sheet did not say.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Assumption {
    /// Path in the sheet where it can be given.
    pub path: String,
    /// What a person calls it.
    pub label: String,
    /// The assumed value, or nothing where it is a word.
    pub value: Option<Measure>,
    /// The assumed word, or empty.
    pub word: String,
    /// Why this value.
    pub reason: String,
}
