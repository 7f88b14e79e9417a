//! Warm-up and cooling in time.
//!
//! TR-BDF2 as a singly diagonally implicit Runge–Kutta method of second order, L-stable and stiffly accurate,
//! with the embedded third-order formula for the error: M. E. Hosea and L. F. Shampine, Appl. Numer. Math. 20
//! (1996) 21. Both implicit stages have the same matrix, which is factorised again only when the step or the
//! films have changed much.

use super::{Film, Flows, Heat, HeatError, SLOPE_STEP_K, correct_rank_one, largest};
use crate::sparse::SparseError;
use std::ops::ControlFlow;

/// How to step.
#[derive(Clone, Debug, PartialEq)]
pub struct Stepping {
    /// End, in s; the start is 0.
    pub end_s: f64,
    /// Error allowed in one step at any place, in K.
    pub tolerance_k: f64,
    /// Longest step, in s.
    pub step_max_s: f64,
    /// Times at which the drive jumps, rising; steps end there.
    pub breaks_s: Vec<f64>,
    /// Where a rise counts as [`HeatError::Runaway`], in K.
    pub ceiling_k: f64,
}

impl Stepping {
    /// Until a time, to 0.01 K a step, without breaks, up to 2000 K.
    pub fn until(end_s: f64) -> Self {
        Self { end_s, tolerance_k: 0.01, step_max_s: f64::INFINITY, breaks_s: Vec::new(), ceiling_k: 2000.0 }
    }
}

/// One moment of a transient.
#[derive(Debug)]
pub struct Moment<'a> {
    /// s from the start.
    pub time_s: f64,
    /// Temperature of each unknown, in K.
    pub temperature_k: &'a [f64],
    /// Its rate of change, in K/s; with the temperatures of two moments it gives a cubic between them.
    pub rate_k_s: &'a [f64],
    /// Where the heat goes.
    pub flows: &'a Flows,
    /// Balance so far.
    pub energies: &'a HeatEnergies,
}

/// Energies since the start of a transient, in J.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeatEnergies {
    /// Generated.
    pub generated_j: f64,
    /// Given off by each film.
    pub given_j: Vec<f64>,
    /// Stored in the bodies.
    pub stored_j: f64,
}

impl HeatEnergies {
    /// What does not balance, over the largest of the parts.
    pub fn imbalance(&self) -> f64 {
        let given: f64 = self.given_j.iter().sum();
        let largest = self.generated_j.abs().max(given.abs()).max(self.stored_j.abs());
        if largest == 0.0 { 0.0 } else { (self.generated_j - given - self.stored_j).abs() / largest }
    }
}

/// 2 - √2: where the trapezoidal stage ends.
const GAMMA: f64 = 2.0 - std::f64::consts::SQRT_2;
/// Diagonal coefficient of both implicit stages.
const D: f64 = 0.5 * GAMMA;
/// Weight of the first two slopes.
const W: f64 = 0.25 * std::f64::consts::SQRT_2;
/// Weights of the embedded formula less those of the method.
const ERROR: [f64; 3] = [(1.0 - W) / 3.0 - W, (3.0 * W + 1.0) / 3.0 - W, D / 3.0 - D];
/// Corrections of a stage, relative to the tolerance of the step.
const SETTLED: f64 = 0.01;
/// Steps that are refused one after the other before giving up.
const REFUSALS_MAX: usize = 40;
/// Iterations of a stage.
const ITERATIONS_MAX: usize = 10;

impl Heat {
    /// Follow the temperature from `start_k` (by unknown). `drive` gives the generation factor from time and
    /// mean temperature; at a break it is asked a little before and a little after. `watch` sees the start
    /// and every accepted step, and may stop.
    ///
    /// # Errors Temperatures beyond the ceiling; stages that do not settle at any step; films or factors that
    /// are not possible.
    pub fn transient(
        &mut self,
        films: &[Film],
        drive: impl Fn(f64, f64) -> f64,
        start_k: &[f64],
        stepping: &Stepping,
        mut watch: impl FnMut(&Moment) -> ControlFlow<()>,
    ) -> Result<(), HeatError> {
        let mut state = State::new(self, start_k);
        let mut stops: Vec<f64> =
            stepping.breaks_s.iter().copied().filter(|t| *t > 0.0 && *t < stepping.end_s).collect();
        stops.push(stepping.end_s);
        let (mut step, mut refused) = (0.0, 0);
        for (k, &stop) in stops.iter().enumerate() {
            let left = stop - state.time_s;
            state.restart(self, films, &drive, left)?;
            if k == 0 && state.tell(&mut watch).is_break() {
                return Ok(());
            }
            // A first step in which the fastest place changes by about the tolerance's root.
            let fastest = largest(&state.rate);
            let first = if fastest > 0.0 { stepping.tolerance_k.sqrt() * 0.1 / fastest } else { left };
            step = if step == 0.0 { first } else { first.min(step) };
            while state.time_s < stop {
                let left = stop - state.time_s;
                step = step.min(stepping.step_max_s);
                let before = state.time_s;
                // Not a tiny last step.
                let taken = if step >= left { left } else { step.min(0.5 * left.max(step)) };
                match state.attempt(self, films, &drive, taken, stepping.tolerance_k)? {
                    Some(error) => {
                        let scale = if error > 0.0 { 0.9 * error.powf(-1.0 / 3.0) } else { 5.0 };
                        if error <= 1.0 {
                            state.accept(self, if taken == left { stop } else { state.time_s + taken });
                            if state.temperature.iter().any(|t| *t > stepping.ceiling_k) {
                                return Err(HeatError::Runaway { ceiling_k: stepping.ceiling_k });
                            }
                            if state.tell(&mut watch).is_break() {
                                return Ok(());
                            }
                            // A step that hardly differs keeps its factor.
                            if taken == step || scale < 1.0 {
                                step = taken * if (1.0..1.6).contains(&scale) { 1.0 } else { scale.min(5.0) };
                            }
                        } else {
                            step = taken * scale.clamp(0.1, 0.9);
                        }
                    }
                    None => step = 0.25 * taken,
                }
                // However short a strong drive's steps are: what counts is that none of them leads anywhere.
                refused = if state.time_s > before { 0 } else { refused + 1 };
                if refused > REFUSALS_MAX {
                    return Err(HeatError::NotConverged { correction_k: state.correction_k });
                }
            }
        }
        Ok(())
    }
}

/// What is carried from step to step.
struct State {
    time_s: f64,
    temperature: Vec<f64>,
    /// dT/dt there.
    rate: Vec<f64>,
    flows: Flows,
    energies: HeatEnergies,
    next: Vec<f64>,
    next_rate: Vec<f64>,
    next_flows: Flows,
    next_energies: HeatEnergies,
    /// Step and factor of the matrix in hand; a step of 0 is none.
    factorised: f64,
    /// A⁻¹ u of the rank-one part.
    drive_shape: Vec<f64>,
    correction_k: f64,
}

impl State {
    fn new(heat: &Heat, start_k: &[f64]) -> Self {
        let n = heat.unknowns();
        Self {
            time_s: 0.0,
            temperature: start_k.to_vec(),
            rate: vec![0.0; n],
            flows: Flows::default(),
            energies: HeatEnergies { given_j: vec![0.0; heat.films.len()], ..HeatEnergies::default() },
            next: vec![0.0; n],
            next_rate: vec![0.0; n],
            next_flows: Flows::default(),
            next_energies: HeatEnergies::default(),
            factorised: 0.0,
            drive_shape: Vec::new(),
            correction_k: 0.0,
        }
    }

    fn tell(&self, watch: &mut impl FnMut(&Moment) -> ControlFlow<()>) -> ControlFlow<()> {
        watch(&Moment {
            time_s: self.time_s,
            temperature_k: &self.temperature,
            rate_k_s: &self.rate,
            flows: &self.flows,
            energies: &self.energies,
        })
    }

    /// Slopes after a jump of the drive, from the balance itself.
    fn restart(
        &mut self,
        heat: &mut Heat,
        films: &[Film],
        drive: &impl Fn(f64, f64) -> f64,
        left: f64,
    ) -> Result<(), HeatError> {
        let just_after = self.time_s + 1e-9 * left;
        let mut net = Vec::new();
        self.flows = heat.flows(&self.temperature, films, |mean| drive(just_after, mean), &mut net)?;
        heat.factor.refill(&heat.capacity)?;
        heat.factor.solve(&mut net);
        self.rate = net;
        self.factorised = 0.0;
        Ok(())
    }

    /// Try a step. `None` if a stage did not settle, else its error over the tolerance.
    fn attempt(
        &mut self,
        heat: &mut Heat,
        films: &[Film],
        drive: &impl Fn(f64, f64) -> f64,
        step: f64,
        tolerance_k: f64,
    ) -> Result<Option<f64>, HeatError> {
        let n = self.temperature.len();
        // A little before the end, so that a drive that jumps there is not asked about what comes after.
        let times = [GAMMA, 1.0 - 1e-9].map(|c| self.time_s + c * step);
        let first = self.rate.clone();

        let base: Vec<f64> = (0..n).map(|i| self.temperature[i] + step * D * first[i]).collect();
        let guess: Vec<f64> = (0..n).map(|i| self.temperature[i] + step * GAMMA * first[i]).collect();
        let at = |t: f64| move |mean: f64| drive(t, mean);
        let Some((middle, middle_flows)) =
            self.stage(heat, films, at(times[0]), &base, guess, step, tolerance_k)?
        else {
            return Ok(None);
        };
        let second: Vec<f64> = (0..n).map(|i| (middle[i] - base[i]) / (step * D)).collect();

        let base: Vec<f64> =
            (0..n).map(|i| self.temperature[i] + step * W * (first[i] + second[i])).collect();
        let guess: Vec<f64> = (0..n).map(|i| base[i] + step * D * second[i]).collect();
        let Some((last, last_flows)) =
            self.stage(heat, films, at(times[1]), &base, guess, step, tolerance_k)?
        else {
            return Ok(None);
        };
        let third: Vec<f64> = (0..n).map(|i| (last[i] - base[i]) / (step * D)).collect();

        // The error, smoothed by the step's own matrix so that stiff parts do not spoil it.
        let raw: Vec<f64> =
            (0..n).map(|i| (ERROR[0] * first[i] + ERROR[1] * second[i] + ERROR[2] * third[i]) / D).collect();
        let mut error = vec![0.0; n];
        heat.pattern.multiply_add(&heat.capacity, &raw, &mut error);
        heat.factor.solve(&mut error);

        let weights = [(&self.flows, W), (&middle_flows, W), (&last_flows, D)];
        let mut energies = self.energies.clone();
        for (flows, w) in weights {
            energies.generated_j += step * w * flows.generated_w;
            for (sum, given) in energies.given_j.iter_mut().zip(&flows.given_w) {
                *sum += step * w * given;
            }
        }
        self.next = last;
        self.next_rate = third;
        self.next_flows = last_flows;
        self.next_energies = energies;
        let size = largest(&error) / tolerance_k;
        Ok(size.is_finite().then_some(size))
    }

    /// Solve `C (T - base) / (step D) = net heat (T)`; the factor in hand serves as long as it leads there
    /// quickly.
    #[allow(clippy::too_many_arguments)]
    fn stage(
        &mut self,
        heat: &mut Heat,
        films: &[Film],
        drive: impl Fn(f64) -> f64,
        base: &[f64],
        guess: Vec<f64>,
        step: f64,
        tolerance_k: f64,
    ) -> Result<Option<(Vec<f64>, Flows)>, HeatError> {
        let capacity_scale = 1.0 / (step * D);
        for fresh in [false, true] {
            let mut now = guess.clone();
            let mut net = Vec::new();
            let mut before = f64::INFINITY;
            for _ in 0..ITERATIONS_MAX {
                let flows = match heat.flows(&now, films, &drive, &mut net) {
                    Ok(flows) => flows,
                    // A wild iterate may leave the range of a film; a shorter step will not.
                    Err(HeatError::Film { .. }) if before.is_finite() => break,
                    Err(e) => return Err(e),
                };
                if self.factorised != step || (fresh && before.is_infinite()) {
                    match heat.factor.refill(&heat.tangent(&flows, films, capacity_scale)) {
                        Ok(()) => {}
                        Err(SparseError::NotPositiveDefinite) => return Ok(None),
                        Err(e) => return Err(e.into()),
                    }
                    self.factorised = step;
                    self.drive_shape = heat.unit_generation(&now);
                    heat.factor.solve(&mut self.drive_shape);
                }
                let lag: Vec<f64> = base.iter().zip(&now).map(|(b, t)| (b - t) * capacity_scale).collect();
                heat.pattern.multiply_add(&heat.capacity, &lag, &mut net);
                heat.factor.solve(&mut net);
                let (up, down) = (flows.mean_k + SLOPE_STEP_K, flows.mean_k - SLOPE_STEP_K);
                let slope = (drive(up) - drive(down)) / (2.0 * SLOPE_STEP_K);
                if slope != 0.0 && !correct_rank_one(&mut net, &self.drive_shape, &heat.mean, slope) {
                    break;
                }
                now.iter_mut().zip(&net).for_each(|(t, d)| *t += d);
                let correction = largest(&net);
                self.correction_k = correction;
                let ratio = correction / before;
                // What remains, as far as a geometric series tells.
                let remains =
                    if ratio < 0.9 { correction * ratio.max(1e-3) / (1.0 - ratio) } else { correction };
                if remains <= SETTLED * tolerance_k {
                    let flows = heat.flows(&now, films, &drive, &mut net)?;
                    return Ok(Some((now, flows)));
                }
                if !(ratio < 0.9 || before.is_infinite()) || now.iter().any(|t| *t <= 1.0) {
                    break;
                }
                before = correction;
            }
            // Not settled with this factor: once more with a fresh one.
        }
        Ok(None)
    }

    fn accept(&mut self, heat: &Heat, time_s: f64) {
        let change: Vec<f64> = self.next.iter().zip(&self.temperature).map(|(a, b)| a - b).collect();
        let mut heat_in = vec![0.0; change.len()];
        heat.pattern.multiply_add(&heat.capacity, &change, &mut heat_in);
        self.next_energies.stored_j = self.energies.stored_j + heat_in.iter().sum::<f64>();
        self.time_s = time_s;
        std::mem::swap(&mut self.temperature, &mut self.next);
        std::mem::swap(&mut self.rate, &mut self.next_rate);
        self.flows = self.next_flows.clone();
        self.energies = self.next_energies.clone();
    }
}
