//! Duty: how the trade names being switched on part of the time, and how much of it a magnet's warm-up
//! permits.
//!
//! [`convention`](Convention) and the rating tables say what standards call things; [`StepResponse`] and the
//! functions that take one say what the physics allows. The two differ: a rating is a promise on a label, a
//! permitted duty a number.

mod rating;
mod response;

pub use rating::{
    Convention, PREFERRED, Preferred, ShortTime, VDE_CYCLE_S, Vde0580Rating, ideal_power_ratio,
    ideal_voltage_ratio, relative_duty, short_time_rating, vde0580_rating,
};
pub use response::{
    OnTime, PermittedDuty, StepResponse, longest_on_time, longest_on_time_by, peak_rise, permitted_duty,
    power_ratio,
};

/// What keeps a duty from being computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum DutyError {
    /// Times must be finite and positive.
    #[error("a time of {0} s is not possible here")]
    Time(f64),
    /// On-time over cycle time, above 0 and at most 1.
    #[error("a duty of {0} is not between 0 and 1")]
    Duty(f64),
    /// The weights of a step response must be positive and add up to 1.
    #[error("the weights of a step response must be positive and add up to 1, not {0}")]
    Weights(f64),
    /// Temperature rises must be finite, a steady rise positive.
    #[error("a temperature rise of {0} K is not possible here")]
    Rise(f64),
}

fn positive_time(seconds: f64) -> Result<f64, DutyError> {
    if seconds.is_finite() && seconds > 0.0 { Ok(seconds) } else { Err(DutyError::Time(seconds)) }
}
