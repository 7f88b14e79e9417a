//! From step to step.
//!
//! A singly diagonally implicit Runge–Kutta method of three stages and third order, L-stable and stiffly accurate (R.
//! Alexander, SIAM J. Numer. Anal. 14 (1977) 1006–1021), with an embedded formula of second order for the error. No stage
//! needs the slope at the start: what has no inertia, like the field in air, may jump with what drives it, and what
//! lasts (the potential in conductors, the linkages) goes on from where it is.

use super::matter::dot;
use super::stage::{Problem, Solver, Stage};
use super::{
    Circuit, Energies, Event, FieldInTime, Level, Moment, Start, Stepping, TimeError, WindingState, counted,
};
use crate::hysteresis::Memory;
use crate::magnetostatics::Solution;
use crate::sparse::NONE;
use std::ops::ControlFlow;

/// Diagonal coefficient of all stages: the middle root of γ³ − 3 γ² + 3 γ / 2 − 1 / 6.
const GAMMA: f64 = 0.435_866_521_508_459;
/// Where the stages are.
const AT: [f64; 3] = [GAMMA, 0.5 * (1.0 + GAMMA), 1.0];
const B_1: f64 = -0.25 * (6.0 * GAMMA * GAMMA - 16.0 * GAMMA + 1.0);
const B_2: f64 = 0.25 * (6.0 * GAMMA * GAMMA - 20.0 * GAMMA + 5.0);
/// Weights of the slopes before each stage.
const BEFORE: [&[f64]; 3] = [&[], &[0.5 * (1.0 - GAMMA)], &[B_1, B_2]];
/// Weights of the method.
const WEIGHTS: [f64; 3] = [B_1, B_2, GAMMA];
/// Those less the weights of the embedded formula, which has second order and does not use the last slope.
const ERROR: [f64; 3] = {
    let second = (0.5 - AT[0]) / (AT[1] - AT[0]);
    [B_1 - (1.0 - second), B_2 - second, GAMMA]
};
/// Share of a step by which is looked ahead for the pieces that circuits will be on.
const AHEAD: f64 = 1e-3;
/// Events without progress that are taken as endless.
const EVENTS_MAX: usize = 20;

impl FieldInTime {
    /// Follow the field from a start. `circuits` belong to the windings by number, `applied_t` is the applied field in T
    /// by time in s. `watch` sees the start, every accepted step, and what happens: circuits that leave a piece of their
    /// characteristic, and `levels` that cross zero, each located by ending a step there. It may stop.
    ///
    /// # Errors A start or circuits that do not fit; drives that are not finite; loops without resistance; steps that
    /// become too short; events without end.
    pub fn run(
        &self,
        circuits: &[Circuit],
        applied_t: impl Fn(f64) -> f64,
        start: &Start,
        stepping: &Stepping,
        levels: &[Level],
        watch: impl FnMut(&Moment) -> ControlFlow<()>,
    ) -> Result<(), TimeError> {
        counted("circuits", circuits.len(), self.windings.len())?;
        counted("potentials", start.potential.len(), self.statics.mesh.nodes.len())?;
        if let Some(k) = circuits.iter().position(|c| !c.characteristic.determined(c.resistance_ohm)) {
            return Err(TimeError::NoResistance(k));
        }
        match self.statics.mesh.order {
            1 => Run::<3>::new(self, circuits, &applied_t, start, stepping, levels)?.follow(watch),
            2 => Run::<6>::new(self, circuits, &applied_t, start, stepping, levels)?.follow(watch),
            3 => Run::<10>::new(self, circuits, &applied_t, start, stepping, levels)?.follow(watch),
            _ => Run::<15>::new(self, circuits, &applied_t, start, stepping, levels)?.follow(watch),
        }
    }
}

/// All that a step leads to.
#[derive(Clone, Debug)]
struct State {
    time_s: f64,
    applied_t: f64,
    /// By unknown.
    potential: Vec<f64>,
    /// Rate of the total potential there, to guess the next from.
    rate: Vec<f64>,
    /// By node.
    nodal: Vec<f64>,
    windings: Vec<WindingState>,
    /// Left for R i + v(i), by circuit.
    emf_v: Vec<f64>,
    eddy_w: f64,
    functional: f64,
    energies: Energies,
    /// Twice the energy of the largest field so far, or of that which errors are relative to (for one radian).
    scale: f64,
    levels: Vec<f64>,
    memory: Vec<Memory>,
}

struct Run<'a, const N: usize> {
    field: &'a FieldInTime,
    circuits: &'a [Circuit<'a>],
    applied_t: &'a dyn Fn(f64) -> f64,
    stepping: &'a Stepping,
    level: &'a [Level<'a>],
    solver: Solver<'a, N>,
    state: State,
    /// Piece that each circuit is on.
    pieces: Vec<usize>,
}

impl<'a, const N: usize> Run<'a, N> {
    fn new(
        field: &'a FieldInTime,
        circuits: &'a [Circuit<'a>],
        applied_t: &'a dyn Fn(f64) -> f64,
        start: &Start,
        stepping: &'a Stepping,
        level: &'a [Level<'a>],
    ) -> Result<Self, TimeError> {
        let mut potential = vec![0.0; field.unknowns()];
        for (value, &u) in start.potential.iter().zip(&field.statics.unknown) {
            if u != NONE {
                potential[u as usize] = *value;
            }
        }
        let mut solver = Solver::new(field, circuits, start.applied_t);
        let memory = if start.memory.is_empty() {
            solver.system.memories(&potential).map_err(TimeError::from)?.0
        } else {
            counted("memories", start.memory.len(), solver.system.points_that_remember())?;
            start.memory.clone()
        };
        solver.system.remember(&memory);
        let (functional, _) = solver.system.evaluate(&potential, None).map_err(TimeError::from)?;
        let windings = circuits.len();
        let state = State {
            time_s: start.time_s,
            applied_t: start.applied_t,
            rate: vec![0.0; potential.len()],
            nodal: start.potential.clone(),
            potential,
            windings: vec![WindingState::default(); windings],
            emf_v: vec![0.0; windings],
            eddy_w: 0.0,
            functional,
            energies: Energies::default(),
            scale: 0.0,
            levels: Vec::new(),
            memory,
        };
        let mut run =
            Self { field, circuits, applied_t, stepping, level, solver, state, pieces: vec![0; windings] };
        let least = 2.0 * stepping.energy_j / field.matter.round;
        run.state.scale = run.energy(&run.state.nodal, start.applied_t).max(least);
        Ok(run)
    }

    fn follow(mut self, mut watch: impl FnMut(&Moment) -> ControlFlow<()>) -> Result<(), TimeError> {
        let (begin, end) = (self.state.time_s, self.stepping.end_s);
        let mut stops: Vec<f64> =
            self.stepping.breaks_s.iter().copied().filter(|t| *t > begin && *t < end).collect();
        stops.push(end);
        let mut step = 0.0;
        let (mut idle, mut rejected) = (0, false);
        for (k, &stop) in stops.iter().enumerate() {
            let left = stop - self.state.time_s;
            let first = self.stepping.step_first_s.min(left);
            step = if k == 0 { first } else { step.min(first) };
            self.choose(AHEAD * step)?;
            if k == 0 && self.tell(None, &mut watch).is_break() {
                return Ok(());
            }
            while self.state.time_s < stop {
                let left = stop - self.state.time_s;
                step = step.min(self.stepping.step_max_s);
                if step < 1e-13 * stop.abs().max(begin.abs()) {
                    return Err(TimeError::Stuck { time_s: self.state.time_s });
                }
                // Not a tiny last step.
                let taken = if step >= left { left } else { step.min(0.5 * left.max(step)) };
                let Some((next, error)) = self.attempt(taken)? else {
                    step = 0.25 * taken;
                    continue;
                };
                let scale = if error > 0.0 { 0.9 * error.powf(-1.0 / 3.0) } else { 5.0 };
                if error > 1.0 {
                    // A jump has no order to go by: the second time a step is much shortened.
                    step = taken * scale.clamp(0.1, if rejected { 0.2 } else { 0.9 });
                    rejected = true;
                    continue;
                }
                rejected = false;
                let event = if !self.eventful(&next) {
                    self.accept(next);
                    if taken == left {
                        self.state.time_s = stop;
                    }
                    // A step that hardly differs keeps its factor.
                    if taken == step || scale < 1.0 {
                        step = taken * if (1.0..1.6).contains(&scale) { 1.0 } else { scale.min(5.0) };
                    }
                    None
                } else {
                    let before = self.state.time_s;
                    let (next, event) = self.locate(taken, next)?;
                    self.accept(next);
                    idle =
                        if self.state.time_s - before > 2.0 * self.stepping.event_s { 0 } else { idle + 1 };
                    if idle > EVENTS_MAX {
                        return Err(TimeError::Chattering { time_s: self.state.time_s });
                    }
                    if matches!(event, Event::Piece { .. }) {
                        self.choose(AHEAD * step)?;
                    }
                    Some(event)
                };
                if self.tell(event, &mut watch).is_break() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    fn accept(&mut self, next: State) {
        self.solver.system.remember(&next.memory);
        self.state = next;
    }

    /// Put each circuit on the piece that it will be on a little ahead, found by following all of them round their
    /// corners.
    fn choose(&mut self, ahead: f64) -> Result<(), TimeError> {
        let mut ahead = ahead;
        loop {
            let base = self.total(&self.state.potential, self.state.applied_t);
            let (voltages, applied_t) = self.drives(self.state.time_s + ahead)?;
            let rate = 1.0 / ahead;
            self.solver.system.applied_t = applied_t;
            if let Some(stage) = self.stage(rate, &base, &voltages, None, self.state.potential.clone())? {
                self.pieces = stage.loops.iter().map(|(_, a)| a.piece).collect();
                self.read(&stage, rate);
                self.state.levels = self.levels(&self.state);
                return Ok(());
            }
            ahead *= 0.1;
            if ahead < 1e-18 * self.state.time_s.abs().max(self.stepping.end_s.abs()) {
                return Err(TimeError::Stuck { time_s: self.state.time_s });
            }
        }
    }

    /// What the state lacks at a start.
    fn read(&mut self, stage: &Stage, rate: f64) {
        let total = self.total(&self.state.potential, self.state.applied_t);
        self.state.emf_v = stage.loops.iter().map(|l| l.0).collect();
        self.state.windings = self.windings(stage, &total);
        self.state.eddy_w = self.eddy_w(stage, rate);
    }

    /// Try a step: where it leads, and its error over the tolerance. `None` if a stage does not settle.
    fn attempt(&mut self, step: f64) -> Result<Option<(State, f64)>, TimeError> {
        let n = self.state.potential.len();
        let start = self.total(&self.state.potential, self.state.applied_t);
        let rate = 1.0 / (step * GAMMA);
        let mut slopes: Vec<Vec<f64>> = Vec::with_capacity(3);
        let mut energies = self.state.energies;
        let mut guess_slope = self.state.rate.clone();
        let mut last = None;
        let pieces = self.pieces.clone();
        for s in 0..3 {
            // A little before the end, so that a drive that jumps there is not asked about what comes after.
            let (voltages, applied_t) = self.drives(self.state.time_s + step * AT[s].min(1.0 - 1e-9))?;
            self.solver.system.applied_t = applied_t;
            let mut base = start.clone();
            for (slope, w) in slopes.iter().zip(BEFORE[s]) {
                base.iter_mut().zip(slope).for_each(|(b, k)| *b += step * w * k);
            }
            let of_applied = &self.field.matter.applied;
            let guess: Vec<f64> =
                (0..n).map(|k| base[k] + guess_slope[k] / rate - applied_t * of_applied[k]).collect();
            let Some(stage) = self.stage(rate, &base, &voltages, Some(&pieces), guess)? else {
                return Ok(None);
            };
            let slope: Vec<f64> = stage.change.iter().map(|c| c * rate).collect();
            let share = step * WEIGHTS[s];
            for ((circuit, voltage), (emf, answer)) in self.circuits.iter().zip(&voltages).zip(&stage.loops) {
                let ohmic = circuit.resistance_ohm * answer.current_a;
                energies.supplied_j += share * voltage * answer.current_a;
                energies.ohmic_j += share * ohmic * answer.current_a;
                energies.taken_j += share * (emf - ohmic) * answer.current_a;
            }
            energies.eddy_j += share * self.eddy_w(&stage, rate);
            guess_slope.clone_from(&slope);
            slopes.push(slope);
            last = Some((stage, applied_t));
        }
        let Some((stage, applied_t)) = last else { return Ok(None) };
        let difference: Vec<f64> =
            (0..n).map(|k| step * (0..3).map(|s| ERROR[s] * slopes[s][k]).sum::<f64>()).collect();
        let error = self.solver.error_squared(rate, &stage.loops, &difference);

        let (functional, _) = self.solver.system.evaluate(&stage.potential, None).map_err(TimeError::from)?;
        let (memory, loss) = self.solver.system.memories(&stage.potential).map_err(TimeError::from)?;
        // What was lost on the way is no longer in the functional of the next step.
        let functional = functional - loss;
        energies.hysteresis_j += self.field.matter.round * loss;
        energies.stored_j += self.field.matter.round * (functional - self.state.functional);
        let nodal: Vec<f64> = (self.field.statics.unknown.iter())
            .map(|&u| if u == NONE { 0.0 } else { stage.potential[u as usize] })
            .collect();
        let scale = self.state.scale.max(self.energy(&nodal, applied_t));
        let mut next = State {
            time_s: self.state.time_s + step,
            applied_t,
            windings: self.windings(&stage, &self.total(&stage.potential, applied_t)),
            emf_v: stage.loops.iter().map(|l| l.0).collect(),
            eddy_w: self.eddy_w(&stage, rate),
            potential: stage.potential,
            rate: guess_slope,
            nodal,
            functional,
            energies,
            scale,
            levels: Vec::new(),
            memory,
        };
        next.levels = self.levels(&next);
        if next.levels.iter().any(|l| !l.is_finite()) {
            return Err(TimeError::Drive(next.time_s));
        }
        let size = if scale > 0.0 { (error / scale).sqrt() / self.stepping.tolerance } else { 0.0 };
        Ok(size.is_finite().then_some((next, size)))
    }

    fn stage(
        &mut self,
        rate: f64,
        base: &[f64],
        voltages_v: &[f64],
        held: Option<&[usize]>,
        guess: Vec<f64>,
    ) -> Result<Option<Stage>, TimeError> {
        let (settled, scale) = (self.stepping.settled * self.stepping.tolerance, self.state.scale);
        self.solver.solve(&Problem { rate, base, voltages_v, held, settled, scale }, guess)
    }

    fn drives(&self, time_s: f64) -> Result<(Vec<f64>, f64), TimeError> {
        let voltages: Vec<f64> = self.circuits.iter().map(|c| (c.voltage_v)(time_s)).collect();
        let applied = (self.applied_t)(time_s);
        if applied.is_finite() && voltages.iter().all(|v| v.is_finite()) {
            Ok((voltages, applied))
        } else {
            Err(TimeError::Drive(time_s))
        }
    }

    fn total(&self, potential: &[f64], applied_t: f64) -> Vec<f64> {
        potential.iter().zip(&self.field.matter.applied).map(|(a, g)| a + applied_t * g).collect()
    }

    fn windings(&self, stage: &Stage, total: &[f64]) -> Vec<WindingState> {
        let turns = &self.field.matter.turns;
        (self.circuits.iter().zip(&stage.loops).zip(turns))
            .map(|((circuit, (emf, answer)), turns)| WindingState {
                current_a: answer.current_a,
                linkage_wb: self.field.matter.round * dot(turns, total),
                voltage_v: emf - circuit.resistance_ohm * answer.current_a,
                piece: answer.piece,
            })
            .collect()
    }

    fn eddy_w(&self, stage: &Stage, rate: f64) -> f64 {
        let mut eddies = vec![0.0; stage.change.len()];
        self.field.matter.multiply_add(&self.field.statics, &stage.change, &mut eddies);
        self.field.matter.round * rate * rate * dot(&eddies, &stage.change)
    }

    /// Twice the energy of a field, for one radian.
    fn energy(&self, nodal: &[f64], applied_t: f64) -> f64 {
        let solution = Solution {
            mesh: self.field.statics.mesh.clone(),
            potential: nodal.to_vec(),
            media: self.field.media.clone(),
            applied_t,
            steps: 0,
            correction: 0.0,
        };
        2.0 * solution.energy_drawn() / self.field.matter.round
    }

    fn moment<'m>(&'m self, state: &'m State, event: Option<Event>) -> Moment<'m> {
        Moment {
            time_s: state.time_s,
            potential: &state.nodal,
            applied_t: state.applied_t,
            windings: &state.windings,
            eddy_w: state.eddy_w,
            energies: &state.energies,
            event,
            memory: &state.memory,
            field: self.field,
        }
    }

    fn tell(
        &self,
        event: Option<Event>,
        watch: &mut impl FnMut(&Moment) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        watch(&self.moment(&self.state, event))
    }

    fn levels(&self, state: &State) -> Vec<f64> {
        let moment = self.moment(state, None);
        self.level.iter().map(|level| level(&moment)).collect()
    }

    /// What may happen: signals that are negative before it and not after.
    fn signals(&self, next: &State) -> Vec<Signal> {
        let mut found = Vec::new();
        for (winding, circuit) in self.circuits.iter().enumerate() {
            let left = self.pieces[winding];
            let [low, high] = circuit.characteristic.range(left, circuit.resistance_ohm);
            let (before, after) = (self.state.emf_v[winding], next.emf_v[winding]);
            let event = Event::Piece { winding, left };
            found.push(Signal { before: before - high, after: after - high, event });
            found.push(Signal { before: low - before, after: low - after, event });
        }
        for (level, (&before, &after)) in self.state.levels.iter().zip(&next.levels).enumerate() {
            let rising = before < 0.0;
            let sign = if rising { 1.0 } else { -1.0 };
            let event = Event::Level { level, rising };
            found.push(Signal { before: sign * before, after: sign * after, event });
        }
        found
    }

    /// Whether anything happens in a step.
    fn eventful(&self, next: &State) -> bool {
        self.signals(next).iter().any(Signal::happens)
    }

    /// Shorten a step until it ends where the first thing happens, or just after.
    fn locate(&mut self, step: f64, next: State) -> Result<(State, Event), TimeError> {
        let (mut low, mut high, mut at_high) = (0.0, step, next);
        let mut at_low: Option<Vec<Signal>> = None;
        for round in 0.. {
            // Each root between straight lines; what is over from the start begins at once.
            let estimate = |(k, signal): (usize, &Signal)| {
                let before = at_low.as_ref().map_or(signal.before, |signals| signals[k].after);
                let share = if before < 0.0 { before / (before - signal.after) } else { 0.0 };
                (low + share * (high - low), signal.event)
            };
            let signals = self.signals(&at_high);
            let happening = signals.iter().enumerate().filter(|(_, s)| s.happens());
            let Some((root, event)) = happening.map(estimate).min_by(|a, b| a.0.total_cmp(&b.0)) else {
                break;
            };
            let width = high - low;
            let close = self.stepping.event_s.min(0.5 * width);
            if width <= self.stepping.event_s || width <= 1e-14 * step {
                return Ok((at_high, event));
            }
            // On either side of the root in turn, so that it is soon enclosed; halved now and then for safety.
            let aside = if round % 2 == 0 { 0.4 * close } else { -0.4 * close };
            let at = if round % 4 == 3 { low + 0.5 * width } else { root + aside };
            let at = at.clamp(low + 0.1 * close, high - 0.1 * close);
            let Some((middle, _)) = self.attempt(at)? else { break };
            if self.eventful(&middle) {
                (high, at_high) = (at, middle);
            } else {
                at_low = Some(self.signals(&middle));
                low = at;
            }
        }
        Err(TimeError::Stuck { time_s: self.state.time_s })
    }
}

/// A number that is negative before something happens and not after, at the start of a step and at its end.
#[derive(Clone, Copy, Debug)]
struct Signal {
    before: f64,
    after: f64,
    event: Event,
}

impl Signal {
    fn happens(&self) -> bool {
        match self.event {
            // Resting at a corner is not leaving.
            Event::Piece { .. } => self.after > 0.0,
            Event::Level { .. } => self.before < 0.0 && self.after >= 0.0,
        }
    }
}
