//! Heat in a magnet: its section drawn as bodies that conduct, what carries the heat away, and how warm it gets.
//!
//! Nothing here knows the field. Current comes from outside as a function of time and of the winding's mean
//! temperature; what current makes of the field is joined to this in [`crate::coupled::operating_point`].

pub mod body;
pub mod cooling;
pub mod duty;
pub(crate) mod outside;
pub mod run;
pub(crate) mod section;
pub mod setting;
pub mod snapshot;

use crate::failure::Failure;
use coilwright_fem::drawing::DrawingError;
use coilwright_fem::heat::HeatError;

/// The entry of a sheet that is not read here, for the winding's temperature is what is computed.
pub(crate) const COMPUTED: &str = "drive.temperature";

/// Temperature beyond which no winding lasts and no following makes sense, K: 500 °C.
pub const CEILING_K: f64 = 773.15;

/// Why no temperature could be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ThermalError {
    /// The section cannot be drawn or meshed.
    #[error("the thermal section could not be drawn: {0}")]
    Drawing(#[from] DrawingError),
    /// Conduction failed.
    #[error("the temperature could not be solved: {0}")]
    Heat(#[from] HeatError),
    /// The winding's effective conductivity failed.
    #[error("the winding's conductivity is not known: {0}")]
    Cooling(#[from] crate::thermal::cooling::error::CoolingError),
    /// A part that must be there is not.
    #[error("the section has no {0}")]
    Missing(&'static str),
    /// The answer was no longer wanted.
    #[error("stopped before it was answered")]
    Stopped,
}

impl From<ThermalError> for Failure {
    fn from(e: ThermalError) -> Self {
        match e {
            ThermalError::Stopped => Self::Stopped,
            other => Self::Physics(other.to_string()),
        }
    }
}
