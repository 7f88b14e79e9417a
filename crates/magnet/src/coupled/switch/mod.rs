//! Switching of a magnet whose field is known.

pub(crate) mod clamps;
pub(crate) mod course;
pub(crate) mod in_field;
pub(crate) mod iron;
pub(crate) mod solid;
pub(crate) mod state;
pub(crate) mod switched;
