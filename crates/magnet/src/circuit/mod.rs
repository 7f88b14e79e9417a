//! Switching: how fast current and pull rise and fall, what voltage an opened circuit makes, what is left
//! when the current is gone, and what a backup supply must store.
//!
//! The circuit is one coil, given by its flux linkage against current from the field solution, in a loop with
//! resistance and a constant voltage. Eddy currents in solid iron are not in it; [`events::iron_delay_s`] says when
//! they matter.

pub mod backup;
pub mod coil;
pub mod curve;
pub mod events;
pub mod residual;

use crate::circuit::curve::CurveError;

/// What keeps a transient from being computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SwitchError {
    /// A table that cannot serve as a curve.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// The linkage must be 0 at current 0 and rise with it.
    #[error("flux linkage must start at 0 Wb for 0 A and rise with current")]
    Linkage,
    /// The transient leaves the table; solve the field up to there.
    #[error("current {current_a} A lies beyond the table's last current {last_a} A")]
    BeyondTable {
        /// Current that was needed.
        current_a: f64,
        /// Last current of the table.
        last_a: f64,
    },
    /// A resistance, voltage, time, energy or share that is not possible.
    #[error("{what} of {value} is not possible here")]
    Value {
        /// Which.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// The current never gets there.
    #[error("the current moves from {from_a} A towards {final_a} A and never reaches {to_a} A")]
    NeverReached {
        /// Start.
        from_a: f64,
        /// Wanted.
        to_a: f64,
        /// Limit of the loop.
        final_a: f64,
    },
}

fn positive(what: &'static str, value: f64) -> Result<f64, SwitchError> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(SwitchError::Value { what, value }) }
}

fn not_negative(what: &'static str, value: f64) -> Result<f64, SwitchError> {
    if value.is_finite() && value >= 0.0 { Ok(value) } else { Err(SwitchError::Value { what, value }) }
}
