//! Where field, heat and circuit meet.

pub mod heat;
pub mod operating_point;
pub(crate) mod switch;
