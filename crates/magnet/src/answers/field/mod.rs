//! Flux density: across the face, along the axis, at points, and how far away it still matters.

pub mod answer;
pub(crate) mod keep_out;
pub(crate) mod plain;
pub(crate) mod read;
pub(crate) mod track;
pub(crate) mod turnover;
