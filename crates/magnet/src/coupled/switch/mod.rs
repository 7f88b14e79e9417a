//! Switching of a magnet whose steady field is known: of laminated iron by its circuit, of solid iron by its field in time.

pub(crate) mod clamps;
pub(crate) mod course;
pub(crate) mod in_field;
pub(crate) mod iron;
pub(crate) mod solid;
pub(crate) mod state;
pub(crate) mod switched;
