//! The warm-up that a drive makes, where it leads, and how well its convection is known.

use crate::coupled::operating_point::{Feed, Pattern};
use crate::failure::Failure;
use crate::thermal::body::Body;
use crate::thermal::run::{Pace, Run};
use crate::thermal::setting::Cooling;
use crate::thermal::snapshot::Snapshot;
use crate::thermal::snapshot::Steady;

/// Error allowed in a step, K.
const TOLERANCE_K: f64 = 0.01;
/// Moments of a curve at least.
const MOMENTS: f64 = 90.0;

/// A warm-up with its steady state.
pub(crate) struct WarmUp {
    pub(crate) run: Run,
    /// With cycles: at mean power.
    pub(crate) steady: Option<Steady>,
    /// The warmest moment of a cycle after many cycles.
    pub(crate) periodic: Option<Snapshot>,
    /// Continuous warm-up at mean power until it is nearly steady, for its times.
    pub(crate) long: Option<Run>,
}

impl WarmUp {
    /// What counts in the long run.
    pub(crate) fn lasting(&self) -> Option<&Snapshot> {
        self.periodic.as_ref().or(self.steady.as_ref().map(|s| &s.shot))
    }
}

/// Follow the drive from cold, and find where it leads.
pub(crate) fn warm_up(body: &mut Body, feed: &Feed<'_>, end_s: f64) -> Result<WarmUp, Failure> {
    let cold = body.cold();
    let pace = Pace {
        end_s,
        tolerance_k: TOLERANCE_K,
        step_max_s: end_s / MOMENTS,
        breaks_s: feed.pattern.breaks_s(end_s),
    };
    let run = body.follow(&body.start(), |t, k| feed.square_a2(t, k), &pace, |_| false)?;
    let steady = match feed.pattern.duty() {
        0.0 => None,
        _ => body.steady(|k| feed.mean_square_a2(k))?,
    };
    let periodic = match (&steady, &feed.pattern) {
        (Some(steady), Pattern::Cycles { on_s, cycle_s }) => {
            Some(periodic(body, |k| feed.driven.current_a(k).powi(2), (*on_s, *cycle_s), steady)?)
        }
        _ => None,
    };
    let long = match &steady {
        Some(steady) => {
            let goal = steady.shot;
            let start = body.setting.ambient_k;
            let near = |now: f64, end: f64| (end - now).abs() <= 0.01 * (end - start).abs().max(0.5);
            let pace = Pace {
                end_s: 1e7,
                tolerance_k: TOLERANCE_K,
                step_max_s: f64::INFINITY,
                breaks_s: Vec::new(),
            };
            let done = |s: &Snapshot| near(s.mean_k, goal.mean_k) && near(s.back_k, goal.back_k);
            Some(body.follow(&cold, |_, k| feed.mean_square_a2(k), &pace, done)?)
        }
        None => None,
    };
    Ok(WarmUp { run, steady, periodic, long })
}

/// The warmest moment of a cycle once the cycles repeat, started from the steady state of their mean power. `square_a2`: the
/// square of the current while on, by mean temperature.
///
/// A cycle is begun in the middle of its time on, where what is slow is about as warm as on average. Begun as it is
/// switched on, it would be as far off as half of what a cycle swings, and settle no faster than the magnet warms up.
pub(crate) fn periodic(
    body: &mut Body,
    square_a2: impl Fn(f64) -> f64,
    (on_s, cycle_s): (f64, f64),
    steady: &Steady,
) -> Result<Snapshot, Failure> {
    const CYCLES: usize = 30;
    let mut field = steady.field.clone();
    let (off_at_s, on_at_s) = (0.5 * on_s, cycle_s - 0.5 * on_s);
    let at = |t: f64, k: f64| if t < off_at_s || t >= on_at_s { square_a2(k) } else { 0.0 };
    let breaks_s = vec![off_at_s, on_at_s];
    let pace = Pace { end_s: cycle_s, tolerance_k: 0.02, step_max_s: f64::INFINITY, breaks_s };
    let mut best = steady.shot;
    for _ in 0..CYCLES {
        let run = body.follow(&field, at, &pace, |_| false)?;
        field.clone_from(&run.field);
        let warmest = run.shots.iter().copied().max_by(|a, b| a.hot_k.total_cmp(&b.hot_k)).unwrap_or(best);
        let change = (warmest.hot_k - best.hot_k).abs();
        best = warmest;
        if change < 0.05 {
            break;
        }
    }
    Ok(best)
}

/// Relative standard uncertainty of convection where most heat leaves, and what was used outside its range.
pub(crate) fn correlation(body: &Body, warm: &WarmUp) -> (f64, Vec<String>) {
    let Some(steady) = &warm.steady else {
        return (if body.setting.cooling == Cooling::Adiabatic { 0.0 } else { 0.1 }, Vec::new());
    };
    let given: f64 = steady.surfaces.iter().map(|s| s[0].abs()).sum();
    let (mut air, mut doubtful, mut outside) = (0.0, 0.0, 0.0);
    for ([watts, kelvin, _], exchange) in steady.surfaces.iter().zip(&body.exchanges) {
        let share = watts.abs() / given.max(f64::MIN_POSITIVE);
        let Some((doubt, remark)) = exchange.doubt(*kelvin) else { continue };
        air += share;
        doubtful += share * doubt;
        outside += if remark.is_some() { share } else { 0.0 };
    }
    let remark = (outside > 0.05).then(|| {
        format!(
            "for {:.0} % of the heat the correlations of convection are used outside their published range (small \
             horizontal surfaces); they are taken to be good to 25 % there",
            100.0 * outside
        )
    });
    (if air > 0.0 { doubtful / air } else { 0.0 }, remark.into_iter().collect())
}
