//! Duty as standards name it.

/// Cycle time that DIN VDE 0580 assumes where none is given: 5 min (cl. 3.2.2, from memory).
pub const VDE_CYCLE_S: f64 = 300.0;

/// A preferred relative duty with its longest single on-time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preferred {
    /// Relative duty, 1 for continuous.
    pub duty: f64,
    /// Longest single on-time in s; `None` for continuous.
    pub longest_on_s: Option<f64>,
}

/// Preferred relative duties of DIN VDE 0580 (cl. 3.2.3, from memory), lowest first.
pub const PREFERRED: [Preferred; 6] = [
    Preferred { duty: 0.05, longest_on_s: Some(15.0) },
    Preferred { duty: 0.15, longest_on_s: Some(45.0) },
    Preferred { duty: 0.25, longest_on_s: Some(75.0) },
    Preferred { duty: 0.40, longest_on_s: Some(120.0) },
    Preferred { duty: 0.60, longest_on_s: Some(180.0) },
    Preferred { duty: 1.00, longest_on_s: None },
];

/// Longest of the preferred short times of IEC 60034-1 (S2; 10, 30, 60 and 90 min, from memory) within a longest
/// on-time from cold, both in s; none if even the shortest is too long.
pub fn short_time_rating_s(longest_on_s: f64) -> Option<f64> {
    [5400.0, 3600.0, 1800.0, 600.0].into_iter().find(|t| *t <= longest_on_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each longest on-time is the duty's share of the standard's cycle.
    #[test]
    fn on_times_are_shares_of_the_cycle() {
        for p in PREFERRED {
            assert!(p.longest_on_s.is_none_or(|on_s| (on_s - p.duty * VDE_CYCLE_S).abs() < 1e-9), "{p:?}");
        }
        assert_eq!(short_time_rating_s(1799.0), Some(600.0));
        assert_eq!(short_time_rating_s(599.0), None);
    }
}
