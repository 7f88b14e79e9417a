//! Duty by superposition of the hot spot's own response.

use super::Bound;

/// Largest duty at which the highest rise in a long row of cycles stays at the limit: superposition of the response
/// of the place that is limited, with power constant while on. `share`: permitted continuous power over power while on.
pub(super) fn permitted(response: &[(f64, f64)], share: f64, cycle_s: f64) -> f64 {
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
pub(super) fn power_at_duty(bound: &Bound, duty: f64, cycle_s: f64) -> Option<f64> {
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
