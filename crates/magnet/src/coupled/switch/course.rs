//! A coil on a store: its temperature, current and pull in time, from the moment the mains fail.
//!
//! Temperature decides the resistance, resistance the current, current the store's state and with it the voltage,
//! which decides the temperature. The whole course of the voltage is assumed, the temperature followed, the store
//! emptied over the resistance that follows, and so on until nothing changes; as the winding's resistance answers
//! slowly and weakly, two or three rounds do.

use crate::circuit::backup::{Discharge, Store};
use crate::coupled::operating_point::{Driven, Feed, Pattern};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::sheet::Sheet;
use crate::thermal::body::Body;
use crate::thermal::run::Pace;
use crate::thermal::setting::Setting;

/// Error allowed in a step of the temperature, K.
const TOLERANCE_K: f64 = 0.02;
/// Moments of a course at least.
const MOMENTS: f64 = 60.0;
/// Rounds after which something is wrong.
const ROUNDS: usize = 12;
/// Relative change of the voltage at which the rounds end.
const CLOSE: f64 = 1e-5;
/// Nothing is followed for longer than this, s.
pub(crate) const LONGEST_S: f64 = 1e6;

/// How warm a failure finds the magnet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Found {
    /// As its surroundings: takes most of the store.
    Cold,
    /// As its drive leaves it: pulls least.
    Warm,
}

/// A magnet that a failure of the mains finds at work.
pub(crate) struct Failing<'a> {
    driven: &'a Driven<'a>,
    body: Body,
    cold: Vec<f64>,
    warm: Vec<f64>,
    /// How warm `warm` is.
    pub(crate) warm_as: &'static str,
}

/// What the coil does on the store.
pub(crate) struct Course {
    /// What the store gives.
    pub(crate) discharge: Discharge,
    /// Mean of the winding at the same moments, K.
    pub(crate) mean_k: Vec<f64>,
    /// The load's resistance, leads included, against time, (s, Ω); may go on beyond the store's end.
    pub(crate) load: Vec<(f64, f64)>,
    /// Whether it ends because the winding passed all bounds.
    pub(crate) burnt: bool,
}

impl<'a> Failing<'a> {
    /// Ready the magnet in both states.
    ///
    /// # Errors
    /// Faults of the surroundings; temperatures that cannot be solved.
    pub(crate) fn new(sheet: &Sheet, magnet: &Magnet, driven: &'a Driven<'a>) -> Result<Self, Failure> {
        let setting = Setting::read(sheet, magnet, false)?.setting;
        let mut body = Body::new(magnet, driven.winding, &setting)?;
        let feed = Feed { driven: driven.clone(), pattern: Pattern::read(sheet)?.0 };
        let cold = body.cold();
        let steady = if feed.pattern.duty() > 0.0 { body.steady(|k| feed.mean_square_a2(k))? } else { None };
        let (warm, warm_as) = match (steady, &feed.pattern) {
            (Some(steady), _) => (steady.field, "winding as warm as it is in the long run"),
            (None, Pattern::Once { on_s }) => {
                let pace =
                    Pace { end_s: *on_s, tolerance_k: TOLERANCE_K, step_max_s: *on_s, breaks_s: Vec::new() };
                let run = body.follow(&cold, |t, k| feed.square_a2(t, k), &pace, |_| false)?;
                (run.field, "winding as warm as at the end of its time on")
            }
            (None, _) => (
                vec![setting.limit.kelvin; cold.len()],
                "no steady state: the winding as warm as its insulation allows",
            ),
        };
        Ok(Self { driven, body, cold, warm, warm_as })
    }

    /// Resistance of coil and leads at the coldest the winding gets, Ω.
    pub(crate) fn cold_ohm(&self) -> f64 {
        self.driven.winding.resistance_ohm(self.body.setting.coldest_k()) + self.driven.supply.lead_ohm
    }

    /// Follow a store from a failure until it is spent, but for [`LONGEST_S`] at most; `shown_s` is one of the moments.
    ///
    /// # Errors
    /// Temperatures that cannot be solved; a store that is not possible.
    pub(crate) fn until_spent(
        &mut self,
        found: Found,
        store: &Store,
        shown_s: f64,
    ) -> Result<Course, Failure> {
        let mut end_s = (1.2 * store.about_s(self.cold_ohm())).max(1.01 * shown_s);
        loop {
            let course = self.course(found, store, end_s.min(LONGEST_S), shown_s)?;
            if course.discharge.spent_s.is_some() || course.burnt || end_s >= LONGEST_S {
                return Ok(course);
            }
            end_s *= 1.5;
        }
    }

    /// Follow a store for a time, or until it is spent.
    ///
    /// # Errors
    /// As [`Failing::until_spent`].
    pub(crate) fn course(
        &mut self,
        found: Found,
        store: &Store,
        end_s: f64,
        shown_s: f64,
    ) -> Result<Course, Failure> {
        let driven = self.driven;
        let ohm = |kelvin: f64| driven.winding.resistance_ohm(kelvin) + driven.supply.lead_ohm;
        let start = if found == Found::Cold { &self.cold } else { &self.warm };
        let pace = Pace {
            end_s,
            tolerance_k: TOLERANCE_K,
            step_max_s: end_s / MOMENTS,
            breaks_s: if shown_s < end_s { vec![shown_s] } else { Vec::new() },
        };
        let first_v = store.first_v(ohm(self.body.setting.ambient_k));
        let mut volts = vec![(0.0, first_v)];
        for _ in 0..ROUNDS {
            let square = |t: f64, k: f64| (between(&volts, t) / ohm(k)).powi(2);
            let run = self.body.follow(start, square, &pace, |_| false)?;
            let load: Vec<(f64, f64)> = run.shots.iter().map(|s| (s.time_s, ohm(s.mean_k))).collect();
            let discharge = store.discharge(&load)?;
            let now: Vec<(f64, f64)> =
                discharge.time_s.iter().copied().zip(discharge.voltage_v.iter().copied()).collect();
            let change = now.iter().map(|(t, v)| (v / between(&volts, *t) - 1.0).abs()).fold(0.0, f64::max);
            volts = now;
            if change < CLOSE {
                let kelvin: Vec<(f64, f64)> = run.shots.iter().map(|s| (s.time_s, s.mean_k)).collect();
                let mean_k = discharge.time_s.iter().map(|t| between(&kelvin, *t)).collect();
                return Ok(Course { discharge, mean_k, load, burnt: run.ran_away_s.is_some() });
            }
        }
        Err(Failure::Physics("temperature and voltage on backup do not settle together".into()))
    }
}

impl Course {
    /// A value at a time within the course, linear between moments; none once the store is spent.
    pub(crate) fn at(&self, values: &[f64], time_s: f64) -> Option<f64> {
        let last = *self.discharge.time_s.last()?;
        let rows: Vec<(f64, f64)> =
            self.discharge.time_s.iter().copied().zip(values.iter().copied()).collect();
        (time_s <= last * (1.0 + 1e-9)).then(|| between(&rows, time_s))
    }
}

/// Linear between rows in the order of time, constant beyond them.
pub(crate) fn between(rows: &[(f64, f64)], time_s: f64) -> f64 {
    let k = rows.partition_point(|r| r.0 <= time_s);
    match (k.checked_sub(1).map(|k| rows[k]), rows.get(k)) {
        (Some(a), Some(b)) => a.1 + (time_s - a.0) / (b.0 - a.0) * (b.1 - a.1),
        (Some(a), None) => a.1,
        (None, first) => first.map_or(f64::NAN, |f| f.1),
    }
}
