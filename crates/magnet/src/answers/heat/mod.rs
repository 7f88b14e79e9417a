//! How warm it gets, as an answer.

pub mod answer;
pub(crate) mod plain;
pub(crate) mod shown;
pub(crate) mod told;
pub(crate) mod verdict;
