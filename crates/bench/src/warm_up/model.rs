//! The magnet's heat model driven as a log says, read where and when the log was.

use super::Place;
use crate::least_squares::Model;
use coilwright_magnet::coupled::operating_point::{Driven, Feed, Pattern};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::winding::Winding;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::thermal::body::Body;
use coilwright_magnet::thermal::run::{Pace, Run};
use coilwright_magnet::thermal::setting::Setting;
use coilwright_magnet::thermal::snapshot::Snapshot;
use nalgebra::DMatrix;
use rayon::prelude::*;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Error allowed in a step, K: small against what a thermometer tells.
const TOLERANCE_K: f64 = 0.02;
/// Moments of a run at least.
const MOMENTS: f64 = 60.0;
/// A change of the drive by more than this share of its greatest value is a switching.
const SWITCHED: f64 = 0.2;

/// What an unknown is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// Factor on the heat given off.
    Outside,
    /// Factor on the heat stored.
    Capacity,
    /// Factor on what conducts from the wires to the iron.
    Winding,
    /// Temperature at the start and of the surroundings, K.
    Start,
    /// Resistance at 20 °C as the meters read it, Ω.
    Resistance,
    /// Error of the power as the meters read it, in standard uncertainties.
    Power,
    /// Zero error of a log's thermometer, K.
    Offset(usize),
    /// Error of a log in proportion to the rise: where and how well the thermometer sits.
    Seat(usize),
}

/// What drives the winding during the log.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Source {
    /// As an ammeter read: time in s, A.
    Current(Vec<(f64, f64)>),
    /// As a voltmeter at the terminals read: time in s, V.
    Voltage(Vec<(f64, f64)>),
    /// As the sheet says.
    Sheet,
}

/// One reading of a log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Seen {
    /// Number of its log; the resistance counts as one more.
    pub(super) log: usize,
    /// Time from the start, s.
    pub(super) time_s: f64,
    /// K, or Ω if no place.
    pub(super) value: f64,
    /// What it would be cold, in the same unit; fitted is the rise above, for that is what a model's relative error is of.
    pub(super) cold: f64,
    /// Where; the winding's resistance if nowhere.
    pub(super) place: Option<Place>,
}

/// The model: a magnet in its setting, a drive, and what was read.
pub(super) struct Warming<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) magnet: &'a Magnet,
    pub(super) winding: &'a Winding,
    pub(super) setting: &'a Setting,
    pub(super) pattern: Pattern,
    pub(super) source: Source,
    /// Relative standard uncertainty of the power as read.
    pub(super) power_relative: f64,
    pub(super) unknowns: Vec<What>,
    /// Step of each unknown for its derivative.
    pub(super) steps: Vec<f64>,
    pub(super) seen: Vec<Seen>,
    pub(super) memory: Mutex<Memory>,
}

/// The last trial's run and derivatives: a fit asks for the same more than once.
#[derive(Debug, Default)]
pub(super) struct Memory {
    run: Option<(Vec<f64>, Run)>,
    jacobian: Option<(Vec<f64>, DMatrix<f64>)>,
}

impl Place {
    pub(super) fn of(self, shot: &Snapshot) -> f64 {
        match self {
            Self::Back => shot.back_k,
            Self::Face => shot.face_k,
            Self::Side => shot.side_k,
            Self::Surface => shot.surface_k,
            Self::HotSpot => shot.hot_k,
        }
    }
}

impl Source {
    /// What was read at a time, straight between readings; at a switching it jumps half-way.
    fn at(rows: &[(f64, f64)], time_s: f64) -> f64 {
        let after = rows.partition_point(|r| r.0 <= time_s);
        let (Some(a), Some(b)) = (after.checked_sub(1).map(|k| rows[k]), rows.get(after)) else {
            return if after == 0 { rows[0].1 } else { rows[after - 1].1 };
        };
        let share = (time_s - a.0) / (b.0 - a.0);
        if (b.1 - a.1).abs() > SWITCHED * a.1.abs().max(b.1.abs()) {
            return if share < 0.5 { a.1 } else { b.1 };
        }
        a.1 + share * (b.1 - a.1)
    }

    fn breaks_s(&self) -> Vec<f64> {
        let (Self::Current(rows) | Self::Voltage(rows)) = self else { return Vec::new() };
        let pairs =
            rows.windows(2).filter(|w| (w[1].1 - w[0].1).abs() > SWITCHED * w[0].1.abs().max(w[1].1.abs()));
        pairs.map(|w| 0.5 * (w[0].0 + w[1].0)).collect()
    }
}

impl Warming<'_> {
    fn of(&self, what: What, p: &[f64]) -> Option<f64> {
        self.unknowns.iter().position(|u| *u == what).map(|k| p[k])
    }

    /// The body and winding at a trial.
    fn body(&self, p: &[f64]) -> Result<(Body, Winding), Failure> {
        let mut winding = self.winding.clone();
        winding.resistance_20_ohm = self.of(What::Resistance, p).unwrap_or(winding.resistance_20_ohm);
        let scale = |what, usual: f64| self.of(what, p).unwrap_or(usual);
        let setting = Setting {
            conductance_scale: scale(What::Outside, self.setting.conductance_scale),
            capacity_scale: scale(What::Capacity, self.setting.capacity_scale),
            winding_scale: scale(What::Winding, self.setting.winding_scale),
            ambient_k: scale(What::Start, self.setting.ambient_k),
            ..self.setting.clone()
        };
        Ok((Body::new(self.magnet, &winding, &setting)?, winding))
    }

    fn gain(&self, p: &[f64]) -> f64 {
        1.0 + self.of(What::Power, p).unwrap_or(0.0) * self.power_relative
    }

    /// The run that a trial makes of the log.
    fn run(&self, p: &[f64]) -> Result<Run, Failure> {
        let (mut body, winding) = self.body(p)?;
        let gain = self.gain(p);
        let end_s = self.seen.iter().map(|s| s.time_s).fold(0.0, f64::max);
        let driven = Driven::of(self.sheet, self.magnet)?;
        let feed = Feed { driven, pattern: self.pattern.clone() };
        let mut breaks_s = match self.source {
            Source::Sheet if !matches!(feed.pattern, Pattern::Cycles { .. }) => feed.pattern.breaks_s(end_s),
            _ => self.source.breaks_s(),
        };
        breaks_s.retain(|t| *t > 0.0 && *t < end_s);
        let square = |time_s: f64, kelvin: f64| {
            gain * match &self.source {
                Source::Current(rows) => Source::at(rows, time_s).powi(2),
                Source::Voltage(rows) => (Source::at(rows, time_s) / winding.resistance_ohm(kelvin)).powi(2),
                // A cycle is short against what warms; its ripple is left out.
                Source::Sheet => match feed.pattern {
                    Pattern::Cycles { .. } => feed.mean_square_a2(kelvin),
                    _ => feed.square_a2(time_s, kelvin),
                },
            }
        };
        let pace = Pace { end_s, tolerance_k: TOLERANCE_K, step_max_s: end_s / MOMENTS, breaks_s };
        let cold = body.cold();
        let run = body.follow(&cold, square, &pace, |_| false)?;
        match run.ran_away_s {
            None => Ok(run),
            Some(_) => Err(Failure::Physics("the fitted magnet runs away thermally".into())),
        }
    }

    /// Temperatures in the long run if the drive stays as it is at the log's end: hot spot, winding mean, hottest place
    /// outside, back, K. None if there is no steady state.
    pub(super) fn steady(&self, p: &[f64], kept: Kept) -> Result<Option<Vec<f64>>, Failure> {
        let (mut body, winding) = self.body(p)?;
        let gain = self.gain(p);
        let steady = body.steady(|kelvin| {
            gain * match kept {
                Kept::Current(amperes) => amperes.powi(2),
                Kept::Voltage(volts) => (volts / winding.resistance_ohm(kelvin)).powi(2),
            }
        })?;
        Ok(steady.map(|s| vec![s.shot.hot_k, s.shot.mean_k, s.shot.surface_k, s.shot.back_k]))
    }

    /// Rises read from the temperatures of a run.
    fn compose(&self, run: &Run, p: &[f64]) -> Vec<f64> {
        let mut winding = self.winding.clone();
        winding.resistance_20_ohm = self.of(What::Resistance, p).unwrap_or(winding.resistance_20_ohm);
        let start = self.of(What::Start, p).unwrap_or(self.setting.ambient_k);
        let read = |seen: &Seen| {
            let value = |shot: &Snapshot| match seen.place {
                Some(place) => place.of(shot),
                None => winding.resistance_ohm(shot.mean_k),
            };
            let after = run.shots.partition_point(|s| s.time_s <= seen.time_s).clamp(1, run.shots.len() - 1);
            let (a, b) = (&run.shots[after - 1], &run.shots[after]);
            let share = ((seen.time_s - a.time_s) / (b.time_s - a.time_s)).clamp(0.0, 1.0);
            let true_value = value(a) + share * (value(b) - value(a));
            if seen.place.is_none() {
                return true_value - seen.cold;
            }
            let seat = self.of(What::Seat(seen.log), p).unwrap_or(0.0);
            let offset = self.of(What::Offset(seen.log), p).unwrap_or(0.0);
            true_value + seat * (true_value - start) + offset - seen.cold
        };
        self.seen.iter().map(read).collect()
    }
}

/// What a supply holds while the winding warms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kept {
    /// A.
    Current(f64),
    /// V at the terminals.
    Voltage(f64),
}

impl Model for &Warming<'_> {
    type Error = Failure;

    fn predict(&self, p: &[f64]) -> Result<Vec<f64>, Failure> {
        Ok(self.compose(&self.last_run(p)?, p))
    }

    fn jacobian(&self, p: &[f64]) -> Option<Result<DMatrix<f64>, Failure>> {
        Some(self.derivatives(p))
    }
}

impl Warming<'_> {
    fn remembered(&self) -> MutexGuard<'_, Memory> {
        // A panic in another thread ends the process's answer anyhow.
        self.memory.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn last_run(&self, p: &[f64]) -> Result<Run, Failure> {
        if let Some((_, run)) = self.remembered().run.as_ref().filter(|(at, _)| at == p) {
            return Ok(run.clone());
        }
        let run = self.run(p)?;
        self.remembered().run = Some((p.to_vec(), run.clone()));
        Ok(run)
    }

    /// One-sided differences; what only concerns the thermometers needs no new run.
    fn derivatives(&self, p: &[f64]) -> Result<DMatrix<f64>, Failure> {
        if let Some((_, known)) = self.remembered().jacobian.as_ref().filter(|(at, _)| at == p) {
            return Ok(known.clone());
        }
        let base_run = self.last_run(p)?;
        let base = self.compose(&base_run, p);
        let columns: Result<Vec<Vec<f64>>, Failure> = (0..p.len())
            .into_par_iter()
            .map(|j| {
                let mut moved = p.to_vec();
                moved[j] += self.steps[j];
                let values = match self.unknowns[j] {
                    What::Offset(_) | What::Seat(_) => self.compose(&base_run, &moved),
                    _ => self.compose(&self.run(&moved)?, &moved),
                };
                Ok(values.iter().zip(&base).map(|(a, b)| (a - b) / self.steps[j]).collect())
            })
            .collect();
        let columns = columns?;
        let jacobian = DMatrix::from_fn(base.len(), p.len(), |k, j| columns[j][k]);
        self.remembered().jacobian = Some((p.to_vec(), jacobian.clone()));
        Ok(jacobian)
    }
}
