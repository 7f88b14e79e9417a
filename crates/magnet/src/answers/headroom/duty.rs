//! Duty by superposition of the hot spot's own response.

use crate::answers::headroom::permit::Bound;

/// Largest duty at which the highest rise in a long row of cycles stays at the limit: superposition of the response
/// of the place that is limited, with power constant while on. `share`: permitted continuous power over power while on.
pub(crate) fn permitted(response: &[(f64, f64)], share: f64, cycle_s: f64) -> f64 {
    if share >= 1.0 {
        return 1.0;
    }
    let Some(&(end, _)) = response.last().filter(|_| share > 0.0) else { return 0.0 };
    let at = |t: f64| -> f64 {
        let k = response.partition_point(|r| r.0 <= t);
        match (k.checked_sub(1), response.get(k)) {
            (Some(j), Some(next)) => {
                let before = response[j];
                before.1 + (next.1 - before.1) * (t - before.0) / (next.0 - before.0)
            }
            (Some(_), None) => 1.0,
            (None, _) => 0.0,
        }
    };
    let peak = |on: f64| {
        let mut sum = 0.0;
        let mut t = 0.0;
        while t <= end {
            sum += at(t + on) - at(t);
            t += cycle_s;
        }
        sum
    };
    let (mut low, mut high) = (0.0, cycle_s);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if peak(middle) < share { low = middle } else { high = middle }
    }
    low / cycle_s
}

/// Power while on (W) that a duty permits.
pub(crate) fn power_at_duty(bound: &Bound, duty: f64, cycle_s: f64) -> Option<f64> {
    if bound.heat.power_w == 0.0 {
        return None;
    }
    let (mut low, mut high) = (duty, 1.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if permitted(&bound.response, middle, cycle_s) < duty { low = middle } else { high = middle }
    }
    Some(bound.heat.power_w / high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One time constant τ: in a long row of cycles the rise peaks at (1 − e^(−on/τ))/(1 − e^(−cycle/τ)) of that of
    /// being on for good (sum of a geometric series).
    #[test]
    fn one_time_constant_has_a_closed_form() {
        let tau_s = 400.0;
        let response: Vec<(f64, f64)> =
            (0..4000).map(|k| f64::from(k) * 2.0).map(|t| (t, 1.0 - (-t / tau_s).exp())).collect();
        for (cycle_s, share) in [(300.0, 0.5), (60.0, 0.2), (1500.0, 0.8)] {
            let on_s = -tau_s * (1.0 - share * (1.0 - f64::exp(-cycle_s / tau_s))).ln();
            let found = permitted(&response, share, cycle_s);
            assert!((found - on_s / cycle_s).abs() < 2e-4, "{found} for {}", on_s / cycle_s);
        }
        assert_eq!(permitted(&response, 1.0, 300.0).total_cmp(&1.0), std::cmp::Ordering::Equal);
        assert!(permitted(&response, 0.0, 300.0) < 1e-9);
    }
}
