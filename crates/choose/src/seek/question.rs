//! What is asked of a search.

use crate::seek::aim::{Aim, Bound};
use crate::seek::vary::Vary;

/// What is sought.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What may change; everything inside the outside of a pot where nothing is named.
    pub vary: Vec<Vary>,
    /// What is to be as great or as small as can be.
    pub aims: Vec<Aim>,
    /// Limits beside those of the sheet.
    pub within: Vec<Bound>,
    /// How many designs are looked at, at most.
    pub designs: usize,
    /// Seed of the search.
    pub seed: u64,
}

/// Fewest designs that make a search.
pub const FEWEST: usize = 20;
