//! Switching, as an answer.

pub mod answer;
pub(crate) mod hold_up;
pub(crate) mod ready;
pub(crate) mod told;
