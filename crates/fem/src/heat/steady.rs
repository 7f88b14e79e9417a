//! The steady state, directly.

use super::transient::Stepping;
use super::{Film, Heat, HeatError, SLOPE_STEP_K, Steady, correct_rank_one, largest};
use std::ops::ControlFlow;

/// Newton steps before giving up.
const STEPS_MAX: usize = 40;
/// Largest change in a Newton step, K.
const LONGEST_STEP_K: f64 = 60.0;
/// Longest time followed before a steady state counts as never reached, in s.
const FOLLOW_S: f64 = 1e9;

impl Heat {
    /// The steady state that a body at `start_k` warms up to. `drive` gives the generation factor from the
    /// mean temperature of what generates heat; `ceiling_k` is where a rise counts as [`HeatError::Runaway`].
    ///
    /// Newton's method with the exact derivative of conduction, generation and the drive, and that of each
    /// film by its mean temperature. Where it fails, or leads to a state that is not stable, the warm-up
    /// itself is followed.
    ///
    /// # Errors
    /// No steady state below the ceiling; films or factors that are not possible.
    pub fn steady(
        &mut self,
        films: &[Film],
        drive: impl Fn(f64) -> f64,
        start_k: f64,
        ceiling_k: f64,
    ) -> Result<Steady, HeatError> {
        // Films have no coefficient worth the name at no difference; begin above.
        let guess = self.uniform(start_k + 30.0);
        match self.newton(films, &drive, guess, ceiling_k) {
            Ok(steady) => Ok(steady),
            Err(e @ (HeatError::Film { .. } | HeatError::Factor(_) | HeatError::NoFilm(_))) => Err(e),
            Err(_) => self.follow(films, &drive, start_k, ceiling_k),
        }
    }

    fn newton(
        &mut self,
        films: &[Film],
        drive: &impl Fn(f64) -> f64,
        mut temperature_k: Vec<f64>,
        ceiling_k: f64,
    ) -> Result<Steady, HeatError> {
        let mut net = Vec::new();
        let (mut correction_k, mut settled) = (f64::INFINITY, false);
        for _ in 0..STEPS_MAX {
            let flows = self.flows(&temperature_k, films, drive, &mut net)?;
            // Settled: the last correction was negligible, and the flows are those of the corrected field.
            if settled {
                return Ok(Steady { temperature_k, flows });
            }
            self.factor.refill(&self.tangent(&flows, films, 0.0))?;
            self.factor.solve(&mut net);
            let slope = (drive(flows.mean_k + SLOPE_STEP_K) - drive(flows.mean_k - SLOPE_STEP_K))
                / (2.0 * SLOPE_STEP_K);
            if slope != 0.0 {
                let mut z = self.unit_generation(&temperature_k);
                self.factor.solve(&mut z);
                if !correct_rank_one(&mut net, &z, &self.mean, slope) {
                    return Err(HeatError::Runaway { ceiling_k });
                }
            }
            let before = std::mem::replace(&mut correction_k, largest(&net));
            // A supply of fixed voltage heats a cold winding far more than a warm one: from below, a whole step
            // leads beyond every ceiling.
            let share = (LONGEST_STEP_K / correction_k).min(1.0);
            temperature_k.iter_mut().zip(&net).for_each(|(t, d)| *t += share * d);
            // Very stiff contacts leave corrections of rounding, which stop shrinking.
            settled = correction_k < 1e-7 || (correction_k < 1e-5 && correction_k > 0.5 * before);
            if !temperature_k.iter().all(|t| *t > 1.0 && *t < ceiling_k) {
                return Err(HeatError::Runaway { ceiling_k });
            }
        }
        Err(HeatError::NotConverged { correction_k })
    }

    /// Warm up with ever longer steps until nothing moves any more or the ceiling is reached.
    fn follow(
        &mut self,
        films: &[Film],
        drive: &impl Fn(f64) -> f64,
        start_k: f64,
        ceiling_k: f64,
    ) -> Result<Steady, HeatError> {
        let stepping = Stepping { tolerance_k: 0.5, ceiling_k, ..Stepping::until(FOLLOW_S) };
        let start = self.uniform(start_k);
        let mut last = start.clone();
        self.transient(
            films,
            |_, mean| drive(mean),
            &start,
            &stepping,
            |now| {
                last.copy_from_slice(now.temperature_k);
                let still = now.time_s > 0.0 && largest(now.rate_k_s) * now.time_s < 1e-3;
                if still { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
            },
        )?;
        // Whether still or only nearly: below the ceiling there is no runaway, and Newton's method has the last word.
        self.newton(films, drive, last, ceiling_k)
    }
}
