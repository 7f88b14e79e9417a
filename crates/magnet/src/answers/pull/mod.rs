//! Pull on the workpiece: at the sheet's gap, against gap, current and the workpiece's size, and what limits it.

pub mod answer;
pub(crate) mod curves;
pub(crate) mod plain;
pub(crate) mod read;

pub use read::USUAL_ACCURACY;
