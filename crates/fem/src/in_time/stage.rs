//! One implicit stage: the potential that makes least the field's functional, half the dissipation of the eddies over the
//! stage and the contents of the circuits.

use super::characteristic::Answer;
use super::matter::{Matter, dot};
use super::{Circuit, FieldInTime, TimeError};
use crate::magnetostatics::{Descent, Magnetostatics, Remembered, SolveError, System, line_search};
use crate::sparse::{Factor, SparseError};

/// Iterations of a stage.
const ITERATIONS_MAX: usize = 40;
/// A correction that is not smaller than this share of the one before asks for a new tangent.
const SLOW: f64 = 0.15;

/// What one stage starts from.
pub(crate) struct Problem<'p> {
    /// 1 / (h γ), in 1/s.
    pub(crate) rate: f64,
    /// Total potential that the stage's slope begins at, by unknown.
    pub(crate) base: &'p [f64],
    /// By circuit, in V.
    pub(crate) voltages_v: &'p [f64],
    /// Pieces of the characteristics, taken to go on straight; without, they are followed round their corners.
    pub(crate) held: Option<&'p [usize]>,
    /// How far from its end Newton's method may stop, in the norm of the field's energy, relative.
    pub(crate) settled: f64,
    /// Twice the energy of the largest field so far (for one radian).
    pub(crate) scale: f64,
}

/// A stage at one potential.
#[derive(Clone, Debug)]
pub(crate) struct Stage {
    /// Potential by unknown, without the applied field's.
    pub(crate) potential: Vec<f64>,
    /// Total potential less the base.
    pub(crate) change: Vec<f64>,
    /// Electromotive force left for R i + v(i), and the loop's answer to it, by circuit.
    pub(crate) loops: Vec<(f64, Answer)>,
}

/// A stage with what is to be made least, and its slope.
struct Valued {
    stage: Stage,
    functional: f64,
    gradient: Vec<f64>,
}

impl Descent for Valued {
    fn functional(&self) -> f64 {
        self.functional
    }

    fn gradient(&self) -> &[f64] {
        &self.gradient
    }
}

/// Solves stages, with the factor in hand for as long as it leads there quickly.
pub(crate) struct Solver<'a, const N: usize> {
    pub(crate) system: System<'a, N>,
    pub(crate) matter: &'a Matter,
    statics: &'a Magnetostatics,
    circuits: &'a [Circuit<'a>],
    factor: Factor,
    /// Rate of the matrix in the factor.
    factorised: Option<f64>,
    /// The field's part of it.
    tangent: Vec<f64>,
    /// Solutions for each body and each winding.
    columns: Vec<Vec<f64>>,
    /// By how much a correction with this factor was last smaller than the one before, if there was one.
    contraction: Option<f64>,
}

impl<'a, const N: usize> Solver<'a, N> {
    pub(crate) fn new(field: &'a FieldInTime, circuits: &'a [Circuit<'a>], applied_t: f64) -> Self {
        let s = &field.statics;
        let remembers = field.memory.iter().any(Option::is_some);
        let remembered = remembers.then(|| Remembered::fresh(&s.mesh, &field.memory));
        Self {
            system: System::new(
                &s.mesh,
                &s.place,
                &s.unknown,
                &s.pattern,
                &field.media,
                remembered,
                applied_t,
            ),
            matter: &field.matter,
            statics: s,
            circuits,
            factor: Factor::new(s.pattern.clone()),
            factorised: None,
            tangent: Vec::new(),
            columns: Vec::new(),
            contraction: None,
        }
    }

    /// Newton's method from a guess; `None` if it does not settle.
    pub(crate) fn solve(&mut self, problem: &Problem, guess: Vec<f64>) -> Result<Option<Stage>, TimeError> {
        let mut now = self.valued(problem, guess)?;
        let linear = self.system.linear && problem.held.is_some();
        let (mut before, mut stale) = (f64::INFINITY, false);
        for _ in 0..ITERATIONS_MAX {
            let fresh = stale || self.factorised != Some(problem.rate);
            if fresh {
                match self.factorise(problem.rate, &now.stage.potential) {
                    Err(TimeError::Solve(SolveError::Sparse(SparseError::NotPositiveDefinite))) => {
                        return Ok(None);
                    }
                    done => done?,
                }
            }
            let mut d: Vec<f64> = now.gradient.iter().map(|g| -g).collect();
            self.solve_linear(problem.rate, &now.stage.loops, &mut d);
            let decrement = -dot(&d, &now.gradient);
            let moved: Vec<f64> = now.stage.potential.iter().zip(&d).map(|(a, d)| a + d).collect();
            if linear {
                return Ok(Some(self.at(problem, moved)));
            }
            let scale = if problem.scale > 0.0 {
                problem.scale
            } else {
                self.system.quadratic(&self.tangent, &moved).max(f64::MIN_POSITIVE)
            };
            let correction = (decrement.max(0.0) / scale).sqrt();
            if !correction.is_finite() {
                return Ok(None);
            }
            if before.is_finite() {
                self.contraction = Some(correction / before);
            }
            // What remains, as far as a geometric series tells; the first correction is judged by the last with this factor.
            let ratio = self.contraction.unwrap_or(1.0);
            let remains = if ratio < 0.5 { correction * ratio.max(1e-3) / (1.0 - ratio) } else { correction };
            if remains <= problem.settled {
                return Ok(Some(self.at(problem, moved)));
            }
            let at = |point: &[f64]| self.valued(problem, point.to_vec());
            match line_search(at, &now.stage.potential, &d, (now.functional, decrement))? {
                Some((_, next)) => now = next,
                // No descent is left but rounding: settled if the correction is as small as that.
                None if correction < 1e-6 => return Ok(Some(now.stage)),
                None if fresh => return Ok(None),
                None => (),
            }
            stale = ratio > SLOW && before.is_finite();
            before = correction;
        }
        Ok(None)
    }

    fn at(&self, problem: &Problem, potential: Vec<f64>) -> Stage {
        let applied = self.system.applied_t;
        let change: Vec<f64> = (0..potential.len())
            .map(|k| potential[k] + applied * self.matter.applied[k] - problem.base[k])
            .collect();
        let per_volt = self.matter.round * problem.rate;
        let mut loops = Vec::with_capacity(self.circuits.len());
        for (k, (circuit, turns)) in self.circuits.iter().zip(&self.matter.turns).enumerate() {
            let emf = problem.voltages_v[k] - per_volt * dot(turns, &change);
            let held = problem.held.map(|pieces| pieces[k]);
            loops.push((emf, circuit.characteristic.at(emf, circuit.resistance_ohm, held)));
        }
        Stage { potential, change, loops }
    }

    fn valued(&self, problem: &Problem, potential: Vec<f64>) -> Result<Valued, SolveError> {
        let (mut functional, mut gradient) = self.system.evaluate(&potential, None)?;
        let stage = self.at(problem, potential);
        if self.matter.conducts {
            let mut eddies = vec![0.0; gradient.len()];
            self.matter.multiply_add(self.statics, &stage.change, &mut eddies);
            functional += 0.5 * problem.rate * dot(&stage.change, &eddies);
            gradient.iter_mut().zip(&eddies).for_each(|(g, e)| *g += problem.rate * e);
        }
        for ((_, answer), turns) in stage.loops.iter().zip(&self.matter.turns) {
            functional += answer.content_w / (self.matter.round * problem.rate);
            gradient.iter_mut().zip(turns).for_each(|(g, n)| *g -= answer.current_a * n);
        }
        Ok(Valued { stage, functional, gradient })
    }

    fn factorise(&mut self, rate: f64, potential: &[f64]) -> Result<(), TimeError> {
        self.system.evaluate(potential, Some(&mut self.tangent))?;
        let mut matrix = self.tangent.clone();
        if self.matter.conducts {
            matrix.iter_mut().zip(&self.matter.conductance).for_each(|(t, c)| *t += rate * c);
        }
        self.factorised = None;
        self.factor.refill(&matrix)?;
        self.factorised = Some(rate);
        self.contraction = None;
        self.columns = self.borders().cloned().collect();
        self.columns.iter_mut().for_each(|c| self.factor.solve(c));
        Ok(())
    }

    fn borders(&self) -> impl Iterator<Item = &'a Vec<f64>> + use<'a, N> {
        self.matter.bodies.iter().map(|b| &b.0).chain(&self.matter.turns)
    }

    /// How strongly each body and each winding enters the matrix.
    fn weights(&self, rate: f64, loops: &[(f64, Answer)]) -> Vec<f64> {
        let bodies = self.matter.bodies.iter().map(|(_, all)| -rate / all);
        bodies.chain(loops.iter().map(|(_, a)| a.slope * self.matter.round * rate)).collect()
    }

    /// Solve with the matrix of the stage: that in hand, and a dyad for each body and each winding (M. A. Woodbury's
    /// formula).
    fn solve_linear(&mut self, rate: f64, loops: &[(f64, Answer)], x: &mut [f64]) {
        self.factor.solve(x);
        let weights = self.weights(rate, loops);
        let borders: Vec<&Vec<f64>> = self.borders().collect();
        let mut small: Vec<Vec<f64>> = Vec::with_capacity(weights.len());
        for (i, (u, w)) in borders.iter().zip(&weights).enumerate() {
            let mut row: Vec<f64> = self.columns.iter().map(|c| w * dot(u, c)).collect();
            row[i] += 1.0;
            row.push(w * dot(u, x));
            small.push(row);
        }
        for (c, column) in eliminated(small).iter().zip(&self.columns) {
            x.iter_mut().zip(column).for_each(|(x, z)| *x -= c * z);
        }
    }

    /// The error of a step in the norm of the field's energy, squared, from the difference `e` of two formulas: seen through
    /// the stage's own matrix, so that stiff parts do not spoil it.
    pub(crate) fn error_squared(&mut self, rate: f64, loops: &[(f64, Answer)], e: &[f64]) -> f64 {
        let lasting = |of: &[f64]| {
            let mut out = vec![0.0; of.len()];
            self.matter.multiply_add(self.statics, of, &mut out);
            out.iter_mut().for_each(|o| *o *= rate);
            for (turns, (_, answer)) in self.matter.turns.iter().zip(loops) {
                let d = answer.slope * self.matter.round * rate * dot(turns, of);
                out.iter_mut().zip(turns).for_each(|(o, n)| *o += d * n);
            }
            out
        };
        let right = lasting(e);
        let mut error = right.clone();
        self.solve_linear(rate, loops, &mut error);
        // The matrix is the field's part and what lasts.
        self.system.quadratic(&self.tangent, &error).max(0.0)
    }
}

/// Solve a few equations, each row followed by its right-hand side, by elimination with pivots.
fn eliminated(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&a, &b| rows[a][k].abs().total_cmp(&rows[b][k].abs())).unwrap_or(k);
        rows.swap(k, pivot);
        for r in k + 1..n {
            let factor = rows[r][k] / rows[k][k];
            for c in k..=n {
                rows[r][c] -= factor * rows[k][c];
            }
        }
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|c| rows[k][c] * x[c]).sum();
        x[k] = (rows[k][n] - known) / rows[k][k];
    }
    x
}
