//! From a drawing to an answer of known accuracy.
//!
//! A mesh is solved at orders 1, 2 and 3, each starting from the one below, so that most Newton steps are cheap. The
//! three values of any answer tell how far the last one still is from its limit, with the fall of the energy as what
//! cannot agree by chance; where the fields of orders 2 and 3 differ most the mesh is refined.

use crate::drawing::{Drawing, DrawingError, Point, cross, sub};
use crate::field::Probe;
use crate::law::Medium;
use crate::magnetostatics::{Magnetostatics, Solution, SolveError, Stopping, each_point};
use crate::mesh::Mesh;
use crate::morph::Motion;
use std::sync::Arc;
use thiserror::Error;

/// Highest order used.
const TOP: usize = 3;
/// Meshes beyond this size are not refined further.
const ELEMENTS_MAX: usize = 30_000;
/// Most refinements.
const ROUNDS: usize = 8;
/// Share of the squared error indicator that the refined elements carry (W. Dörfler, SIAM J. Numer. Anal. 33 (1996)).
const MARKED: f64 = 0.6;
/// What bounds an answer's error: the greatest of three signs of it, each times a factor.
///
/// Near an inward corner of iron values of order p miss by p^(−8/3) (I. Babuška and M. Suri, SIAM Review 36 (1994)
/// 578–632: twice the rate of refinement, from memory). The error at order 3 is then 0.51 of the last step and 0.063 of
/// the one before; where a field is smooth it is less of both. The factors were tuned on invented problems of every
/// form and judged on others (`docs/error-estimate.md`).
#[derive(Clone, Copy, Debug)]
struct Signs {
    /// Of the last step, from order 2 to 3.
    last: f64,
    /// Of the step before, from order 1 to 2: it counts where the last is short because errors of opposite sign
    /// changed alike.
    before: f64,
    /// Of the answer times the relative fall of the energy functional in the last step. That has no sign to cancel, since
    /// every order's space contains the one below.
    fall: f64,
}

/// Fluxes, energies, means.
const OF_WHOLE: Signs = Signs { last: 1.0, before: 0.0, fall: 1.0 };
/// Forces: slopes of the energy.
const OF_FORCE: Signs = Signs { last: 2.0, before: 0.01, fall: 3.0 };
/// Flux densities at points, where elements may be large.
const OF_FIELD: Signs = Signs { last: 1.5, before: 0.01, fall: 3.0 };
/// Share of all stress, regardless of sign, that a force counts as at least: a weak pull is a small difference of
/// large ones, and no surer than they are.
const OF_STRESS: f64 = 0.1;
/// What may remain at each order: the lowest only sets out; the next must be good enough to tell the error of the last.
const REMAINDER: [f64; TOP] = [2e-2, 2e-3, 2e-4];
/// Differences between neighbours are taken on the first mesh on which the answer is known to this share.
const ROUGHLY: f64 = 0.03;
/// From a neighbour the first correction is already small; this makes sure of a second.
const WARM: Stopping = Stopping { remainder: 3e-5, steps: 300 };

/// Why a drawing has no solution.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Failure {
    /// The drawing cannot be meshed.
    #[error(transparent)]
    Drawing(#[from] DrawingError),
    /// The field equations could not be solved.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// A number with its numerical error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value at the highest order.
    pub value: f64,
    /// Estimated bound of the discretisation error, same unit.
    pub error: f64,
}

/// One drawing, solved at rising orders on one mesh.
#[derive(Clone, Debug)]
pub struct Ladder {
    drawing: Drawing,
    /// What solves neighbours.
    level: Magnetostatics,
    /// Which of the solutions is of that order.
    at: usize,
    /// Lowest order first.
    solutions: Vec<Solution>,
    /// How far the functional fell from order 2 to 3, over the energy of the field.
    fall: f64,
    /// The first that was roughly known, if it is not this one.
    rough: Option<Arc<Ladder>>,
    /// When a neighbour is solved.
    warm: Stopping,
}

impl Ladder {
    /// Mesh and solve a drawing.
    pub fn climb(drawing: &Drawing, media: Arc<Vec<Medium>>, applied_t: f64) -> Result<Self, Failure> {
        Self::climb_closely(drawing, media, applied_t, 1.0)
    }

    /// The same, with so much of the usual remainders of Newton's method left.
    fn climb_closely(
        drawing: &Drawing,
        media: Arc<Vec<Medium>>,
        applied_t: f64,
        closely: f64,
    ) -> Result<Self, Failure> {
        let base = Mesh::new(drawing, 1)?;
        let mut solutions: Vec<Solution> = Vec::with_capacity(TOP);
        let mut order = 1;
        loop {
            let mesh = if order == 1 { base.clone() } else { base.with_order(order) };
            let start = solutions.last().map(|below| mesh.interpolate(&below.mesh, &below.potential));
            let mut level = Magnetostatics::new(mesh)?;
            let stopping = Stopping { remainder: closely * REMAINDER[order - 1], ..Stopping::default() };
            solutions.push(level.solve(media.clone(), applied_t, start.as_deref(), stopping)?);
            if order == TOP {
                let fall = fall(&solutions);
                level.keep_tangent();
                return Ok(Self {
                    drawing: drawing.clone(),
                    level,
                    at: TOP - 1,
                    solutions,
                    fall,
                    rough: None,
                    warm: WARM,
                });
            }
            order += 1;
        }
    }

    /// A ladder whose neighbours are solved one order lower, and on the first mesh that was good enough: how they differ
    /// from each other is known as well there, at a small part of the cost.
    ///
    /// # Errors
    /// The field cannot be solved.
    pub fn for_differences(&self) -> Result<Self, Failure> {
        self.rough.as_deref().unwrap_or(self).lower()
    }

    /// A ladder whose neighbours are solved one order lower on the same mesh.
    ///
    /// # Errors
    /// The field cannot be solved.
    pub fn lower(&self) -> Result<Self, Failure> {
        let at = TOP - 2;
        let below = &self.solutions[at];
        let mut level = Magnetostatics::new((*below.mesh).clone())?;
        let own = level.solve(below.media.clone(), below.applied_t, Some(&below.potential), WARM)?;
        level.keep_tangent();
        let solutions = self.solutions[..at].iter().cloned().chain([own]).collect();
        Ok(Self {
            drawing: self.drawing.clone(),
            level,
            at,
            solutions,
            fall: self.fall,
            rough: None,
            warm: self.warm,
        })
    }

    /// A ladder whose neighbours are solved to a remainder so small against their own size, where they are compared with each
    /// other by something that feels it.
    #[must_use]
    pub fn settled_to(mut self, remainder: f64) -> Self {
        self.warm.remainder = remainder;
        self
    }

    /// Mesh and solve, and refine until the relative `error` of what is wanted is no more than `accuracy`, or the mesh has
    /// grown too large; estimates then say what was reached.
    pub fn climb_until(
        drawing: &Drawing,
        media: Arc<Vec<Medium>>,
        applied_t: f64,
        accuracy: f64,
        error: impl Fn(&Ladder) -> f64,
    ) -> Result<Self, Failure> {
        let mut ladder = Self::climb(drawing, media.clone(), applied_t)?;
        let mut rough: Option<Arc<Ladder>> = None;
        let mut closely = 1.0;
        for _ in 0..ROUNDS {
            let reached = error(&ladder);
            if reached <= accuracy || ladder.solution().mesh.element_count() > ELEMENTS_MAX {
                break;
            }
            closely *= 0.3;
            let finer = Self::climb_closely(&ladder.refined(), media.clone(), applied_t, closely)?;
            if rough.is_none() && reached <= ROUGHLY {
                rough = Some(Arc::new(ladder));
            }
            ladder = finer;
        }
        Ok(Self { rough, ..ladder })
    }

    /// The virtual displacement of some areas of the drawing (by number): a unit along `direction`.
    pub fn motion(&self, moves: impl Fn(usize) -> bool, direction: Point) -> Result<Motion, DrawingError> {
        Motion::of_areas(&self.solution().mesh, &self.drawing, moves, direction)
    }

    /// The drawing, with the gradings it was meshed with.
    pub fn drawing(&self) -> &Drawing {
        &self.drawing
    }

    /// The best solution.
    pub fn solution(&self) -> &Solution {
        &self.solutions[self.solutions.len() - 1]
    }

    /// All solutions, lowest order first.
    pub fn solutions(&self) -> &[Solution] {
        &self.solutions
    }

    /// Read the best solution at points.
    pub fn probe(&self) -> Probe<'_> {
        Probe::new(self.solution())
    }

    /// Newton steps taken at each order.
    pub fn steps(&self) -> Vec<usize> {
        self.solutions.iter().map(|s| s.steps).collect()
    }

    /// Number of unknowns of a neighbour: at the highest order, unless for differences.
    pub fn unknowns(&self) -> usize {
        self.level.unknowns()
    }

    /// An answer that sums over space, like a flux, and a bound of its error, from its values at the three orders and
    /// the fall of the energy.
    pub fn estimate(&self, answer: impl Fn(&Solution) -> f64) -> Estimate {
        self.judged(OF_WHOLE, self.at_each_order(answer))
    }

    /// The same for several answers that are read together.
    pub fn estimates(&self, answers: impl Fn(&Solution) -> Vec<f64>) -> Vec<Estimate> {
        let [a, b, c] = self.at_each_order(answers);
        a.iter().zip(&b).zip(&c).map(|((&a, &b), &c)| self.judged(OF_WHOLE, [a, b, c])).collect()
    }

    /// Flux density by components at some points. A component alone may agree at two orders by chance where the field
    /// turns; what is compared is the vector.
    pub fn fields(&self, points: &[Point]) -> Vec<[Estimate; 2]> {
        let read = |s: &Solution| {
            let probe = Probe::new(s);
            points.iter().map(|p| probe.at(*p).b_t).collect::<Vec<_>>()
        };
        let [a, b, c] = self.at_each_order(read);
        let size = |v: Point| v[0].hypot(v[1]);
        a.iter()
            .zip(&b)
            .zip(&c)
            .map(|((a, b), c)| {
                let error = self.bound(OF_FIELD, size(sub(*c, *b)), size(sub(*b, *a)), size(*c));
                c.map(|value| Estimate { value, error })
            })
            .collect()
    }

    /// The force along the direction of a motion, by virtual work and, as a check, by the stress on a shell round what
    /// moves: where they differ by more than both errors, so does the force from the truth.
    pub fn force(&self, motion: &Motion) -> Estimate {
        let judged = |[(a, _), (b, _), (c, all)]: [(f64, f64); TOP]| Estimate {
            value: c,
            error: self.bound(OF_FORCE, (c - b).abs(), (b - a).abs(), c.abs().max(OF_STRESS * all)),
        };
        let work = judged(self.at_each_order(|s| s.force_and_stress(motion)));
        let shell = motion.of_shell();
        let stress = judged(self.at_each_order(|s| s.force_and_stress(&shell)));
        let apart = (work.value - stress.value).abs();
        let error = if apart > work.error + stress.error { apart } else { work.error };
        Estimate { error, ..work }
    }

    fn judged(&self, signs: Signs, [a, b, c]: [f64; TOP]) -> Estimate {
        Estimate { value: c, error: self.bound(signs, (c - b).abs(), (b - a).abs(), c.abs()) }
    }

    /// The error of an answer of this size that changed so much in the last step and in the one before.
    fn bound(&self, signs: Signs, last: f64, before: f64, size: f64) -> f64 {
        (signs.last * last).max(signs.before * before).max(signs.fall * self.fall * size)
    }

    /// Energy of the field over the size of the drawing, in N: what forces are small against that are as good as none.
    pub fn force_scale(&self) -> f64 {
        self.solution().energy_drawn() / self.solution().mesh.radius_m
    }

    fn at_each_order<T>(&self, answer: impl Fn(&Solution) -> T) -> [T; TOP] {
        std::array::from_fn(|k| answer(&self.solutions[k]))
    }

    /// Whether a solution is on the mesh of the neighbours, so that they may start from it.
    pub fn can_start_from(&self, solution: &Solution) -> bool {
        solution.potential.len() == self.solutions[self.at].potential.len()
    }

    /// Solve a neighbour: other media, or a drawing of the same structure to which the mesh is
    /// morphed (its bounding circle stays this one's). Starts from `start`, or from this ladder's own solution.
    pub fn nearby(
        &mut self,
        to: &Drawing,
        media: Arc<Vec<Medium>>,
        applied_t: f64,
        start: Option<&Solution>,
    ) -> Result<Solution, Failure> {
        let own = self.at;
        let mesh = if to.areas == self.drawing.areas {
            (*self.solutions[own].mesh).clone()
        } else {
            let base = &self.solutions[own].mesh;
            base.moved(&Motion::between(base, &self.drawing, &self.framed(to))?)?
        };
        self.level.morph(mesh);
        let start = start.unwrap_or(&self.solutions[own]);
        let solution = self.level.solve(media, applied_t, Some(&start.potential), self.warm)?;
        Ok(solution)
    }

    /// A drawing's areas in this ladder's bounding circle.
    pub fn framed(&self, to: &Drawing) -> Drawing {
        Drawing { areas: to.areas.clone(), ..self.drawing.clone() }
    }

    /// The drawing with smaller elements wanted where orders 2 and 3 differ most in energy.
    fn refined(&self) -> Drawing {
        let [.., below, top] = &self.solutions[..] else { unreachable!("a ladder has three orders") };
        let mut difference = top.clone();
        difference.applied_t = 0.0;
        for (d, low) in
            difference.potential.iter_mut().zip(top.mesh.interpolate(&below.mesh, &below.potential))
        {
            *d -= low;
        }
        let mut indicators: Vec<(f64, usize)> = (0..top.mesh.first_exterior)
            .map(|k| {
                let law = &top.media[top.mesh.region[k]].law;
                let mut slopes = Vec::new();
                each_point(top, k, |_, _, b| slopes.push(law.at(b[0].hypot(b[1])).slope));
                let (mut sum, mut slope) = (0.0, slopes.iter());
                each_point(&difference, k, |_, w, b| {
                    sum += w * slope.next().copied().unwrap_or(0.0) * (b[0] * b[0] + b[1] * b[1]);
                });
                (sum, k)
            })
            .collect();
        indicators.sort_by(|p, q| q.0.total_cmp(&p.0).then(p.1.cmp(&q.1)));
        let all: f64 = indicators.iter().map(|i| i.0).sum();
        let mut drawing = self.drawing.clone();
        let mut marked = 0.0;
        for (indicator, k) in indicators {
            if marked > MARKED * all {
                break;
            }
            marked += indicator;
            let [a, b, c] = top.mesh.corners(k);
            let middle = [(a[0] + b[0] + c[0]) / 3.0, (a[1] + b[1] + c[1]) / 3.0];
            // Side of the equilateral triangle of the same area.
            let side = (cross(sub(b, a), sub(c, a)).abs() * 2.0 / 3f64.sqrt()).sqrt();
            drawing.grade(middle, 0.5 * side);
        }
        drawing.size_max_m *= 0.8;
        drawing
    }
}

/// The fall of the functional in the last step over the energy of the field; 0 without a field.
fn fall(solutions: &[Solution]) -> f64 {
    let [.., below, top] = solutions else { return 0.0 };
    let energy = top.energy_drawn();
    if energy > 0.0 { (below.functional() - top.functional()).abs() / energy } else { 0.0 }
}
