//! Duty as physics allows it: a linear thermal system switched on and off.
//!
//! The winding's rise above its surroundings is taken to follow power linearly, with power constant while on.
//! Copper's rising resistance makes a magnet at constant voltage run cooler than this and one at constant
//! current hotter; pass the steady rise at the hot resistance to be on the safe side.

use super::{DutyError, positive_time};

/// How the hot spot's rise answers a step of power: a sum of exponentials, 0 at first and 1 in the end.
#[derive(Clone, Debug, PartialEq)]
pub struct StepResponse {
    parts: Vec<(f64, f64)>,
}

impl StepResponse {
    /// One time constant in s.
    ///
    /// # Errors
    /// Time constant not positive.
    pub fn single(time_constant_s: f64) -> Result<Self, DutyError> {
        Self::new(vec![(1.0, time_constant_s)])
    }

    /// Several: pairs of weight and time constant in s; the weights add up to 1. A magnet's hot spot is
    /// described well by two, the winding against the iron and the whole against the air.
    ///
    /// # Errors
    /// Weights that are not positive or do not add up to 1; time constants not positive.
    pub fn new(parts: Vec<(f64, f64)>) -> Result<Self, DutyError> {
        let sum: f64 = parts.iter().map(|p| p.0).sum();
        if (sum - 1.0).abs() > 1e-9 || parts.iter().any(|p| p.0.is_nan() || p.0 <= 0.0) {
            return Err(DutyError::Weights(sum));
        }
        for &(_, tau) in &parts {
            positive_time(tau)?;
        }
        Ok(Self { parts })
    }

    /// Share of the steady rise reached after a time on.
    pub fn at(&self, seconds: f64) -> f64 {
        self.parts.iter().map(|(w, tau)| -w * (-seconds / tau).exp_m1()).sum()
    }

    /// Highest rise in a long row of equal cycles, over the steady rise of being always on. Each part
    /// separately: (1 - e^(-on/τ)) / (1 - e^(-cycle/τ)), the geometric series of all earlier cycles.
    fn peak_in_cycles(&self, on_s: f64, cycle_s: f64) -> f64 {
        self.parts.iter().map(|(w, tau)| w * (-on_s / tau).exp_m1() / (-cycle_s / tau).exp_m1()).sum()
    }
}

/// How long a magnet may stay on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OnTime {
    /// The limit is passed before switching on.
    NotAtAll,
    /// Up to this many seconds.
    Seconds(f64),
    /// The limit is never reached.
    Unlimited,
}

/// Largest share of a cycle that a magnet may be on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PermittedDuty {
    /// 0 to 1.
    pub duty: f64,
    /// On-time within each cycle in s; without meaning if `duty` is 1.
    pub on_s: f64,
}

/// Highest rise in K in a long row of equal cycles, given the steady rise of being always on.
///
/// # Errors
/// Duty outside 0 to 1, cycle time not positive, rise not finite.
pub fn peak_rise(
    steady_rise_k: f64,
    duty: f64,
    cycle_s: f64,
    response: &StepResponse,
) -> Result<f64, DutyError> {
    let cycle = positive_time(cycle_s)?;
    if !(0.0..=1.0).contains(&duty) {
        return Err(DutyError::Duty(duty));
    }
    if !steady_rise_k.is_finite() {
        return Err(DutyError::Rise(steady_rise_k));
    }
    Ok(steady_rise_k * response.peak_in_cycles(duty * cycle, cycle))
}

/// Largest duty at which the highest rise in a long row of cycles stays within the allowed one.
///
/// # Errors
/// Cycle time or steady rise not positive; allowed rise not finite.
pub fn permitted_duty(
    steady_rise_k: f64,
    allowed_rise_k: f64,
    cycle_s: f64,
    response: &StepResponse,
) -> Result<PermittedDuty, DutyError> {
    let cycle = positive_time(cycle_s)?;
    let share = share_of(allowed_rise_k, steady_rise_k)?;
    if share <= 0.0 {
        return Ok(PermittedDuty { duty: 0.0, on_s: 0.0 });
    }
    if share >= 1.0 {
        return Ok(PermittedDuty { duty: 1.0, on_s: cycle });
    }
    let on_s = rising_root(|on| response.peak_in_cycles(on, cycle) - share, cycle);
    Ok(PermittedDuty { duty: on_s / cycle, on_s })
}

/// Power over continuous power that a duty permits for the same highest rise; at most `1/duty`, which it
/// approaches for cycles short beside every time constant.
///
/// # Errors
/// Duty not above 0 or above 1, cycle time not positive.
pub fn power_ratio(duty: f64, cycle_s: f64, response: &StepResponse) -> Result<f64, DutyError> {
    if duty <= 0.0 {
        return Err(DutyError::Duty(duty));
    }
    Ok(1.0 / peak_rise(1.0, duty, cycle_s, response)?)
}

/// Longest on-time from a steady start, which is 0 K from cold and the rise of a lower steady load from warm.
///
/// # Errors
/// Rises not finite, steady rise not positive.
pub fn longest_on_time(
    steady_rise_k: f64,
    allowed_rise_k: f64,
    start_rise_k: f64,
    response: &StepResponse,
) -> Result<OnTime, DutyError> {
    let slowest = response.parts.iter().map(|p| p.1).fold(0.0, f64::max);
    longest_on_time_by(steady_rise_k, allowed_rise_k, start_rise_k, 60.0 * slowest, |t| response.at(t))
}

/// The same for any step response: a function that rises from 0 to 1 with time in s (computed or measured),
/// looked at up to `horizon_s`; not reached by then counts as unlimited.
///
/// # Errors
/// As [`longest_on_time`]; horizon not positive.
pub fn longest_on_time_by(
    steady_rise_k: f64,
    allowed_rise_k: f64,
    start_rise_k: f64,
    horizon_s: f64,
    response: impl Fn(f64) -> f64,
) -> Result<OnTime, DutyError> {
    let horizon = positive_time(horizon_s)?;
    share_of(allowed_rise_k, steady_rise_k)?;
    if !start_rise_k.is_finite() {
        return Err(DutyError::Rise(start_rise_k));
    }
    if start_rise_k >= allowed_rise_k {
        return Ok(OnTime::NotAtAll);
    }
    if steady_rise_k <= allowed_rise_k {
        return Ok(OnTime::Unlimited);
    }
    // By linearity the way from one steady state to another follows the step response.
    let share = (allowed_rise_k - start_rise_k) / (steady_rise_k - start_rise_k);
    if response(horizon) < share {
        return Ok(OnTime::Unlimited);
    }
    Ok(OnTime::Seconds(rising_root(|t| response(t) - share, horizon)))
}

fn share_of(allowed_rise_k: f64, steady_rise_k: f64) -> Result<f64, DutyError> {
    if !(steady_rise_k.is_finite() && steady_rise_k > 0.0) {
        return Err(DutyError::Rise(steady_rise_k));
    }
    if !allowed_rise_k.is_finite() {
        return Err(DutyError::Rise(allowed_rise_k));
    }
    Ok(allowed_rise_k / steady_rise_k)
}

/// Root of a rising function between 0 and `high`, by halving down to the last bits.
fn rising_root(f: impl Fn(f64) -> f64, high: f64) -> f64 {
    let (mut low, mut high) = (0.0, high);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    // The side on which the limit is kept.
    low
}
