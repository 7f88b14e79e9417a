//! The magnetic field of a magnet: drawn, solved, and read.

pub(crate) mod contour;
pub mod effects;
pub(crate) mod flux_lines;
pub(crate) mod roughly;
pub mod scene;
pub mod solved;
