//! What switching on and off comes to, however it was followed.

use crate::circuit::coil::Transient;
use crate::circuit::events::Release;

/// Shares of current and pull to which the time is told.
pub(crate) const SHARES: [f64; 3] = [0.5, 0.95, 0.99];

/// Keys of the times that a switching takes.
pub(crate) const TIMES: [&str; 7] =
    ["release_time", "rise_half", "rise_time", "rise_99", "pull_rise_half", "pull_rise", "pull_rise_99"];

/// One moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Row {
    /// Since the switch was thrown, s.
    pub(crate) time_s: f64,
    /// A.
    pub(crate) current_a: f64,
    /// By the current and the eddies, N; what the iron remembers is not in it.
    pub(crate) pull_n: f64,
}

/// Switched off.
#[derive(Clone, Debug)]
pub(crate) struct SwitchedOff {
    /// In the order of time, the first just after the switch opened.
    pub(crate) rows: Vec<Row>,
    /// When the load is let go.
    pub(crate) release: Release,
    /// When the current is gone for good, s.
    pub(crate) gone_s: f64,
    /// Highest voltage across the coil, V.
    pub(crate) peak_coil_v: f64,
    /// Heat in the winding, J.
    pub(crate) coil_j: f64,
    /// What the clamp takes, J.
    pub(crate) clamp_j: f64,
    /// Heat of the eddies up to where the rows end, J; none where the iron is laminated.
    pub(crate) eddy_j: Option<f64>,
    /// Share of the energy that is unaccounted for.
    pub(crate) imbalance: f64,
}

/// Switched on.
#[derive(Clone, Debug)]
pub(crate) struct SwitchedOn {
    /// In the order of time, the first just after the switch closed.
    pub(crate) rows: Vec<Row>,
    /// Times to [`SHARES`] of the current, s.
    pub(crate) current_s: [f64; 3],
    /// Times to [`SHARES`] of the pull, s; those of the current where nothing is pulled.
    pub(crate) pull_s: [f64; 3],
    /// Share of the energy that is unaccounted for.
    pub(crate) imbalance: f64,
}

/// Rows of a transient of the circuit alone, of which the pull at each current is known.
pub(crate) fn rows_of(way: &Transient, pull_n: impl Fn(f64) -> f64) -> Vec<Row> {
    let row = |(&time_s, &current_a): (&f64, &f64)| Row { time_s, current_a, pull_n: pull_n(current_a) };
    way.time_s.iter().zip(&way.current_a).map(row).collect()
}

/// The times of [`TIMES`], s: not a number for what is never let go or was not switched on, nothing for what was not held.
pub(crate) fn times_s(off: &SwitchedOff, on: Option<&SwitchedOn>) -> [f64; 7] {
    let release_s = match off.release {
        Release::After { time_s, .. } => time_s,
        Release::Already => 0.0,
        Release::Never => f64::NAN,
    };
    let [[a, b, c], [d, e, f]] = on.map_or([[f64::NAN; 3]; 2], |on| [on.current_s, on.pull_s]);
    [release_s, a, b, c, d, e, f]
}

/// Points of a curve.
pub(crate) const POINTS: usize = 161;
/// Where the curves after switching off begin, unless all is over soon after, s.
const FIRST_S: f64 = 1e-4;
/// Share of current and pull that no longer matters to a picture.
const FALLEN: f64 = 0.02;

/// Moments of the curves after switching off, s: a diode is slower than a voltage by orders of magnitude, so that they rise by
/// a ratio, until the slowest has fallen so far that nobody looks.
pub(crate) fn moments_s(slowest: &SwitchedOff, current_a: f64, pull_n: f64, left_n: f64) -> Vec<f64> {
    let low_n = (FALLEN * pull_n).max(left_n);
    let fallen = |r: &&Row| r.current_a <= FALLEN * current_a && r.pull_n <= low_n;
    let last = slowest.rows.iter().find(fallen).or(slowest.rows.last());
    let width = last.map_or(0.0, |r| r.time_s);
    let first = FIRST_S.min(1e-3 * width);
    let ratio = if first > 0.0 { width / first } else { 1.0 };
    (0..POINTS).map(|k| first * ratio.powf(k as f64 / (POINTS - 1) as f64)).collect()
}

/// Current and pull at a time between rows. Before the first row and after the last as there.
pub(crate) fn at(rows: &[Row], time_s: f64) -> Row {
    let k = rows.partition_point(|r| r.time_s <= time_s);
    if k == 0 || k == rows.len() {
        let end = if k == 0 { rows.first() } else { rows.last() };
        return Row { time_s, ..end.copied().unwrap_or(NOTHING) };
    }
    let (a, b) = (rows[k - 1], rows[k]);
    let current_a = between(rows, k, |r| r.current_a, time_s);
    // A pull that falls by decades is straight in its logarithm.
    let falls = a.pull_n > 0.0 && b.pull_n > 0.0 && b.pull_n < a.pull_n;
    let logarithm = |r: &Row| r.pull_n.max(1e-6 * b.pull_n).ln();
    let pull_n = if falls {
        between(rows, k, logarithm, time_s).exp()
    } else {
        between(rows, k, |r| r.pull_n, time_s)
    };
    Row { time_s, current_a, pull_n }
}

/// The first time at which something of the rows has risen to a value, s.
pub(crate) fn rises_s(rows: &[Row], of: impl Fn(&Row) -> f64, to: f64) -> Option<f64> {
    let k = rows.iter().position(|r| of(r) >= to)?;
    if k == 0 {
        return Some(rows[0].time_s);
    }
    let (mut low, mut high) = (rows[k - 1].time_s, rows[k].time_s);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let side = if between(rows, k, &of, middle) < to { &mut low } else { &mut high };
        *side = middle;
    }
    Some(high)
}

/// The first time at which the pull has fallen to a value, s.
pub(crate) fn falls_s(rows: &[Row], to_n: f64) -> Option<f64> {
    rises_s(rows, |r| -r.pull_n.max(1e-6 * to_n).ln(), -to_n.ln())
}

/// Halvings of a step that find a moment in it.
const HALVINGS: usize = 40;

/// A value between the rows `k - 1` and `k`, by a cubic that turns nowhere between them if the rows do not (F. N. Fritsch
/// and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304).
fn between(rows: &[Row], k: usize, of: impl Fn(&Row) -> f64, time_s: f64) -> f64 {
    let secant = |j: usize| (of(&rows[j]) - of(&rows[j - 1])) / (rows[j].time_s - rows[j - 1].time_s);
    let slope = |j: usize| {
        if j == 0 || j + 1 == rows.len() {
            return secant(j.max(1));
        }
        let (before, after) = (secant(j), secant(j + 1));
        if before * after <= 0.0 || !(before * after).is_finite() {
            return 0.0;
        }
        let (h, next) = (rows[j].time_s - rows[j - 1].time_s, rows[j + 1].time_s - rows[j].time_s);
        let share = (h + 2.0 * next) / (3.0 * (h + next));
        before * after / (share * after + (1.0 - share) * before)
    };
    let (from, to) = (rows[k - 1], rows[k]);
    let step = to.time_s - from.time_s;
    let t = (time_s - from.time_s) / step;
    let (a, b) = (of(&from), of(&to));
    let (p, q) = (step * slope(k - 1), step * slope(k));
    a + t * (p + t * (3.0 * (b - a) - 2.0 * p - q + t * (p + q - 2.0 * (b - a))))
}

const NOTHING: Row = Row { time_s: 0.0, current_a: 0.0, pull_n: 0.0 };

#[cfg(test)]
mod tests {
    use super::*;

    /// Sources: the functions themselves.
    #[test]
    fn what_happens_between_steps_is_read_on_a_smooth_curve() {
        let times = [0.0, 0.1, 0.3, 0.6, 1.0, 1.5, 2.1];
        let row = |t: &f64| Row { time_s: *t, current_a: 1.0 - (-t).exp(), pull_n: 100.0 * (-4.0 * t).exp() };
        let rows: Vec<Row> = times.iter().map(row).collect();
        let middle = at(&rows, 0.8);
        assert!((middle.pull_n / (100.0 * (-3.2f64).exp()) - 1.0).abs() < 1e-9, "{}", middle.pull_n);
        assert!((middle.current_a - 1.0 + (-0.8f64).exp()).abs() < 3e-3, "{}", middle.current_a);
        let half = rises_s(&rows, |r| r.current_a, 0.5).unwrap();
        assert!((half / 2f64.ln() - 1.0).abs() < 6e-3, "{half}");
        let tenth = falls_s(&rows, 10.0).unwrap();
        assert!((tenth / (0.25 * 10f64.ln()) - 1.0).abs() < 1e-9, "{tenth}");
        assert_eq!((at(&rows, -1.0).pull_n, at(&rows, 9.0).current_a), (100.0, rows[6].current_a));
        assert_eq!(rises_s(&rows, |r| r.current_a, 0.9), None);
    }
}
