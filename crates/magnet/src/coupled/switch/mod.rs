//! Switching of a magnet whose field is known.

pub(crate) mod clamps;
pub(crate) mod course;
pub(crate) mod iron;
pub(crate) mod state;
