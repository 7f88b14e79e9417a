//! Warm-up and steady state of a body under a current.

use crate::thermal::body::Body;
use crate::thermal::body::Gauges;
use crate::thermal::snapshot::{Snapshot, Steady};
use crate::thermal::{CEILING_K, ThermalError};
use coilwright_fem::heat::Flows;
use coilwright_fem::heat::HeatError;
use coilwright_fem::heat::Stepping;
use std::ops::ControlFlow;

/// A warm-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// In the order of time, the start first.
    pub shots: Vec<Snapshot>,
    /// Temperatures at the end, by unknown of the body.
    pub field: Vec<f64>,
    /// Energy that does not balance, over the largest of its parts.
    pub imbalance: f64,
    /// It passed [`CEILING_K`] at this time, s.
    pub ran_away_s: Option<f64>,
}

/// How closely to follow a warm-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Pace {
    /// s.
    pub end_s: f64,
    /// Error allowed in a step, K.
    pub tolerance_k: f64,
    /// Longest step, s.
    pub step_max_s: f64,
    /// When the drive jumps, s.
    pub breaks_s: Vec<f64>,
}

impl Run {
    /// The last moment.
    pub fn last(&self) -> &Snapshot {
        &self.shots[self.shots.len() - 1]
    }

    /// The warmest moment.
    pub fn warmest(&self) -> &Snapshot {
        self.shots.iter().max_by(|a, b| a.hot_k.total_cmp(&b.hot_k)).unwrap_or(&self.shots[0])
    }

    /// When a value first reaches a level, s, linearly between moments.
    pub fn reaches(&self, level: f64, value: impl Fn(&Snapshot) -> f64) -> Option<f64> {
        let at = self.shots.iter().position(|s| value(s) >= level)?;
        let Some(before) = at.checked_sub(1) else { return Some(self.shots[0].time_s) };
        let (a, b) = (&self.shots[before], &self.shots[at]);
        let share = (level - value(a)) / (value(b) - value(a));
        Some(a.time_s + share * (b.time_s - a.time_s))
    }

    /// When the hot spot first reaches a temperature (K), s, by the cubic through values and rates of two moments.
    pub fn hot_reaches(&self, kelvin: f64) -> Option<f64> {
        let at = self.shots.iter().position(|s| s.hot_k >= kelvin)?;
        let Some(before) = at.checked_sub(1) else { return Some(self.shots[0].time_s) };
        let (a, b) = (&self.shots[before], &self.shots[at]);
        let h = b.time_s - a.time_s;
        let rise = b.hot_k - a.hot_k;
        let (u, v) = (a.hot_rate_k_s * h, b.hot_rate_k_s * h);
        let value = |t: f64| a.hot_k + t * (u + t * (3.0 * rise - 2.0 * u - v + t * (u + v - 2.0 * rise)));
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if value(middle) < kelvin { low = middle } else { high = middle }
        }
        Some(a.time_s + low * h)
    }

    /// The greatest of a value.
    pub fn greatest(&self, value: impl Fn(&Snapshot) -> f64) -> f64 {
        self.shots.iter().map(value).fold(f64::NEG_INFINITY, f64::max)
    }
}

impl Gauges {
    fn shot(&self, time_s: f64, field: &[f64], rate: Option<&[f64]>, flows: &Flows) -> Snapshot {
        let (surface_k, surface_at) = self.surface_k(field);
        Snapshot {
            time_s,
            hot_k: self.hot_k(field),
            mean_k: flows.mean_k,
            surface_k,
            surface_at,
            side_k: self.side.read(field),
            back_k: self.back.read(field),
            face_k: self.face.read(field),
            square_a2: flows.factor,
            power_w: flows.generated_w * self.scale,
            hot_rate_k_s: rate.map_or(0.0, |r| self.hottest(field).map_or(0.0, |u| r[u])),
        }
    }
}

impl Body {
    /// Follow the temperatures from a start. `square_a2` gives the square of the current from time (s) and mean
    /// temperature of the winding (K); `stop` sees every moment and may end the run.
    ///
    /// # Errors
    /// Temperatures that do not settle. Passing the ceiling is no error: it ends the run.
    pub fn follow(
        &mut self,
        start: &[f64],
        square_a2: impl Fn(f64, f64) -> f64,
        pace: &Pace,
        stop: impl Fn(&Snapshot) -> bool,
    ) -> Result<Run, ThermalError> {
        let stepping = Stepping {
            end_s: pace.end_s,
            tolerance_k: pace.tolerance_k,
            step_max_s: pace.step_max_s,
            breaks_s: pace.breaks_s.clone(),
            ceiling_k: CEILING_K,
        };
        let (heat, films, gauges) = self.apart();
        let mut run = Run { shots: Vec::new(), field: start.to_vec(), imbalance: 0.0, ran_away_s: None };
        let outcome = heat.transient(&films, square_a2, start, &stepping, |now| {
            let shot = gauges.shot(now.time_s, now.temperature_k, Some(now.rate_k_s), now.flows);
            run.imbalance = now.energies.imbalance();
            run.field.copy_from_slice(now.temperature_k);
            run.shots.push(shot);
            if stop(&shot) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        match outcome {
            Ok(()) => Ok(run),
            Err(HeatError::Runaway { .. }) if !run.shots.is_empty() => {
                run.ran_away_s = Some(run.last().time_s);
                Ok(run)
            }
            Err(e) => Err(e.into()),
        }
    }

    /// The steady state under a current whose square (A²) follows the mean temperature (K); none if the temperature
    /// rises beyond [`CEILING_K`].
    ///
    /// # Errors
    /// Temperatures that do not settle.
    pub fn steady(&mut self, square_a2: impl Fn(f64) -> f64) -> Result<Option<Steady>, ThermalError> {
        let start = self.setting.ambient_k;
        if self.setting.cooling == crate::thermal::setting::Cooling::Adiabatic {
            return Ok(None);
        }
        let (heat, films, gauges) = self.apart();
        match heat.steady(&films, square_a2, start, CEILING_K) {
            Ok(found) => {
                let flows = &found.flows;
                let surfaces = (0..films.len())
                    .map(|k| [flows.given_w[k] * gauges.scale, flows.surface_k[k], flows.coefficient[k]])
                    .collect();
                let imbalance = flows.imbalance();
                let shot = gauges.shot(f64::INFINITY, &found.temperature_k, None, flows);
                Ok(Some(Steady { shot, imbalance, surfaces, field: found.temperature_k }))
            }
            Err(HeatError::Runaway { .. }) => Ok(None),
            Err(e) => Err(e.into()),
        }
    }
}
