//! The magnetic field of a magnet: drawn, solved, and read.

pub mod effects;
pub mod scene;
pub mod solved;
