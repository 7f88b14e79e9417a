//! Flux density: across the face, along the axis and any line, at points, over an area; how uniform it is, and how far away
//! it still matters.

pub mod answer;
pub(crate) mod keep_out;
pub mod map;
pub(crate) mod plain;
pub(crate) mod read;
pub(crate) mod region;
pub(crate) mod track;
pub(crate) mod turnover;
pub(crate) mod uniformity;

pub use read::{USUAL_STANDOFF_M, scan_reach_m};
