//! Duty as standards name it.

use super::{DutyError, positive_time};

/// Cycle time that DIN VDE 0580 assumes where none is given: 5 min (cl. 3.2.2 as cited in the trade's notes).
pub const VDE_CYCLE_S: f64 = 300.0;

/// Which standard's words a duty is stated in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Convention {
    /// IEC 60034-1 S1: on until the temperature is steady.
    ContinuousS1,
    /// IEC 60034-1 S2: on for a stated time from cold, then off until cold again.
    ShortTimeS2,
    /// IEC 60034-1 S3: on and off in equal cycles, switching itself giving no heat.
    IntermittentS3,
    /// DIN VDE 0580: relative duty over a cycle of 5 min, with a longest single on-time for each preferred
    /// value.
    Vde0580,
}

impl Convention {
    /// Short name to show.
    pub fn name(self) -> &'static str {
        match self {
            Self::ContinuousS1 => "S1 continuous",
            Self::ShortTimeS2 => "S2 short-time",
            Self::IntermittentS3 => "S3 intermittent",
            Self::Vde0580 => "ED by DIN VDE 0580",
        }
    }

    /// Where it is defined.
    pub fn source(self) -> &'static str {
        match self {
            Self::Vde0580 => "DIN VDE 0580, cl. 3.2.2 and 3.2.3 (as cited in a solenoid maker's notes)",
            _ => "IEC 60034-1 (cycle and short times from memory)",
        }
    }

    /// Cycle time assumed where none is given: 5 min for DIN VDE 0580, 10 min for S3 (from memory), none
    /// otherwise.
    pub fn default_cycle_s(self) -> Option<f64> {
        match self {
            Self::Vde0580 => Some(VDE_CYCLE_S),
            Self::IntermittentS3 => Some(600.0),
            Self::ContinuousS1 | Self::ShortTimeS2 => None,
        }
    }
}

/// A preferred relative duty with its longest single on-time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preferred {
    /// Relative duty, 1 for continuous.
    pub duty: f64,
    /// Longest single on-time in s; `None` for continuous.
    pub longest_on_s: Option<f64>,
}

/// Preferred relative duties of DIN VDE 0580, lowest first.
pub const PREFERRED: [Preferred; 6] = [
    Preferred { duty: 0.05, longest_on_s: Some(15.0) },
    Preferred { duty: 0.15, longest_on_s: Some(45.0) },
    Preferred { duty: 0.25, longest_on_s: Some(75.0) },
    Preferred { duty: 0.40, longest_on_s: Some(120.0) },
    Preferred { duty: 0.60, longest_on_s: Some(180.0) },
    Preferred { duty: 1.00, longest_on_s: None },
];

/// The rating a magnet needs for a given use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vde0580Rating {
    /// Sum of on-times over sum of cycles.
    pub duty: f64,
    /// Least preferred value that covers it.
    pub rating: Preferred,
    /// The rating is higher than the duty alone asks for, because a single on-time is too long for the lower
    /// one.
    pub raised_by_on_time: bool,
}

/// Relative duty of a use given as pairs of on- and off-time in s: all on-times over all cycles.
///
/// # Errors
/// No cycle, a negative or non-finite time, or nothing on at all.
pub fn relative_duty(cycles: &[(f64, f64)]) -> Result<f64, DutyError> {
    let (mut on, mut all) = (0.0, 0.0);
    for &(on_s, off_s) in cycles {
        for t in [on_s, off_s] {
            if !(t.is_finite() && t >= 0.0) {
                return Err(DutyError::Time(t));
            }
        }
        on += on_s;
        all += on_s + off_s;
    }
    positive_time(on)?;
    Ok(on / all)
}

/// Rating by DIN VDE 0580 for a use given as pairs of on- and off-time in s.
///
/// # Errors
/// As [`relative_duty`].
pub fn vde0580_rating(cycles: &[(f64, f64)]) -> Result<Vde0580Rating, DutyError> {
    let duty = relative_duty(cycles)?;
    let longest = cycles.iter().map(|c| c.0).fold(0.0, f64::max);
    // A duty of 0.25 made of decimals must not end up a step higher for a rounding error.
    let covers = |p: &Preferred| p.duty >= duty * (1.0 - 1e-12);
    let lasts = |p: &Preferred| p.longest_on_s.is_none_or(|most| longest <= most * (1.0 + 1e-12));
    let last = PREFERRED.len() - 1;
    let by_duty = PREFERRED.iter().position(covers).unwrap_or(last);
    let by_both = PREFERRED.iter().position(|p| covers(p) && lasts(p)).unwrap_or(last);
    Ok(Vde0580Rating { duty, rating: PREFERRED[by_both], raised_by_on_time: by_both > by_duty })
}

/// A short-time rating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShortTime {
    /// Longest of the preferred times of IEC 60034-1 (10, 30, 60 and 90 min; from memory) within the time at
    /// hand, in s; `None` if even the shortest is too long.
    pub preferred_s: Option<f64>,
}

/// S2 rating for a longest on-time from cold.
pub fn short_time_rating(longest_on_s: f64) -> ShortTime {
    ShortTime { preferred_s: [5400.0, 3600.0, 1800.0, 600.0].into_iter().find(|t| *t <= longest_on_s) }
}

/// Power over continuous power that gives the same mean heating: 1/duty. An upper bound: it holds only where
/// the cycle is much shorter than the winding's thermal time constant. [`super::power_ratio`] knows better.
///
/// # Errors
/// Duty not above 0 or above 1.
pub fn ideal_power_ratio(duty: f64) -> Result<f64, DutyError> {
    if duty > 0.0 && duty <= 1.0 { Ok(1.0 / duty) } else { Err(DutyError::Duty(duty)) }
}

/// Voltage over continuous voltage at the same resistance: the root of [`ideal_power_ratio`].
///
/// # Errors
/// As [`ideal_power_ratio`].
pub fn ideal_voltage_ratio(duty: f64) -> Result<f64, DutyError> {
    Ok(ideal_power_ratio(duty)?.sqrt())
}
