//! The search itself, over a grid: it knows no magnet, only points, what they cost and by how much they miss.
//!
//! A global stage and a local polish. The global stage is differential evolution (R. Storn and K. Price, J. Global
//! Optimization 11 (1997) 341-359) whose steps lead towards the best found so far (J. Zhang and A. C. Sanderson, IEEE
//! Trans. Evol. Comp. 13 (2009) 945-958); with several aims a generation and its offspring are thinned to the
//! undominated and, of those, the least crowded (S. Kukkonen and J. Lampinen, CEC 2005, 443-450). The polish is a pattern search
//! along the axes and across them. Limits are kept by rules of feasibility alone (K. Deb, Comput. Methods Appl. Mech. Eng. 186
//! (2000) 311-338): what misses less is better, and costs count only among what misses nothing.
//!
//! Every step asks for a whole batch of points, in an order that follows from the seed alone: so batches can be shared by any
//! number of threads, and a run that is begun again with what it knew before goes the same way.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::collections::BTreeMap;

/// A point of the grid: a place on every axis.
pub type Point = Vec<u32>;

/// What a point is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    /// One for each aim; less is better.
    pub costs: Vec<f64>,
    /// By how much limits are missed in all; 0 if none is.
    pub missed: f64,
}

/// How long to search, and from where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Different points that are scored at most.
    pub points: usize,
    /// Seed.
    pub seed: u64,
}

/// What was scored.
#[derive(Clone, Debug, Default)]
pub struct Known(BTreeMap<Point, Score>);

/// Share of the effort that the global stage takes.
const GLOBAL: f64 = 0.6;
/// Points of a generation: so many for each axis, at least and at most, and no more than this part of all.
const EACH_AXIS: usize = 8;
const GENERATION: [usize; 2] = [10, 64];
const GENERATIONS: usize = 6;
/// Share of a generation that counts as its best.
const BEST: f64 = 0.2;
/// Chance that a place is taken from the step and not from the parent.
const CROSSING: f64 = 0.9;
/// Least and greatest length of a step over the difference that it is made of.
const STEP: [f64; 2] = [0.4, 0.9];
/// Generations without a new point after which there is none to be expected.
const STALE: usize = 12;
/// First step of the polish: an axis' length over this.
const FIRST_STEP: u32 = 16;
/// Times that the polish looks across the axes in vain before it ends.
const IN_VAIN: usize = 3;

impl Known {
    /// Scores that were found otherwise.
    pub fn of(scores: impl IntoIterator<Item = (Point, Score)>) -> Self {
        Self(scores.into_iter().collect())
    }

    /// Takes over what another knows.
    pub fn add(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// The score of a point.
    pub fn get(&self, point: &[u32]) -> Option<&Score> {
        self.0.get(point)
    }

    /// Everything, in the order of the points.
    pub fn iter(&self) -> impl Iterator<Item = (&Point, &Score)> {
        self.0.iter()
    }

    /// How many points.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether any misses nothing.
    pub fn any_kept(&self) -> bool {
        self.0.values().any(|score| score.missed == 0.0)
    }

    /// The best point for an aim; none if nothing was scored.
    pub fn best(&self, aim: usize) -> Option<(&Point, &Score)> {
        self.0.iter().min_by(|a, b| by_aim(a.1, b.1, aim))
    }

    /// Points that miss nothing and that no other beats in every aim, each worth once, by the first aim.
    pub fn front(&self) -> Vec<(&Point, &Score)> {
        let mut kept: Vec<_> = self
            .0
            .iter()
            .filter(|(_, score)| score.missed == 0.0 && score.costs.iter().all(|c| c.is_finite()))
            .collect();
        kept.sort_by(|a, b| lexical(&a.1.costs, &b.1.costs));
        kept.dedup_by(|a, b| a.1.costs == b.1.costs);
        let beaten = |one: &Score| {
            kept.iter().any(|(_, other)| other.costs != one.costs && dominates(&other.costs, &one.costs))
        };
        kept.iter().copied().filter(|(_, score)| !beaten(score)).collect()
    }
}

fn lexical(a: &[f64], b: &[f64]) -> std::cmp::Ordering {
    a.iter()
        .zip(b)
        .map(|(a, b)| a.total_cmp(b))
        .find(|order| order.is_ne())
        .unwrap_or(std::cmp::Ordering::Equal)
}

/// The better first, for one of the aims.
fn by_aim(a: &Score, b: &Score, aim: usize) -> std::cmp::Ordering {
    let cost = |score: &Score| score.costs.get(aim).copied().unwrap_or(0.0);
    a.missed.total_cmp(&b.missed).then(cost(a).total_cmp(&cost(b))).then_with(|| lexical(&a.costs, &b.costs))
}

fn dominates(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b)
}

/// Whether a child may stand in its parent's place.
fn replaces(child: &Score, parent: &Score) -> bool {
    if child.missed > 0.0 || parent.missed > 0.0 {
        return child.missed <= parent.missed;
    }
    dominates(&child.costs, &parent.costs)
}

/// What the two stages share.
struct Run<'a, F> {
    /// Places on each axis.
    axes: &'a [u32],
    score: F,
    known: Known,
    rng: Pcg64,
    points: usize,
}

impl<F, E> Run<'_, F>
where
    F: FnMut(&[Point]) -> Result<Vec<Score>, E>,
{
    /// Whether another point may be scored.
    fn may(&self) -> bool {
        self.known.len() < self.points
    }

    /// Score what is not known yet of a batch, as far as the effort goes; how many there were.
    fn learn(&mut self, batch: &[Point]) -> Result<usize, E> {
        let mut new: Vec<Point> = Vec::new();
        for point in batch {
            if self.known.get(point).is_none()
                && !new.contains(point)
                && self.known.len() + new.len() < self.points
            {
                new.push(point.clone());
            }
        }
        if new.is_empty() {
            return Ok(0);
        }
        let scores = (self.score)(&new)?;
        let count = new.len();
        self.known.0.extend(new.into_iter().zip(scores));
        Ok(count)
    }

    /// A random number from 0 to 1.
    fn chance(&mut self) -> f64 {
        self.rng.random::<f64>()
    }

    /// A random place below a count.
    fn below(&mut self, count: usize) -> usize {
        ((self.chance() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// A point of the grid from coordinates, folded back at the ends.
    fn folded(&self, at: &[f64]) -> Point {
        let fold = |(x, &count): (&f64, &u32)| {
            let last = f64::from(count - 1);
            let x = if *x < 0.0 { -x } else { *x };
            let x = if x > last { (2.0 * last - x).max(0.0) } else { x };
            x.round() as u32
        };
        at.iter().zip(self.axes).map(fold).collect()
    }

    /// So many points, spread evenly over every axis by itself (a Latin hypercube).
    fn spread(&mut self, count: usize) -> Vec<Point> {
        let mut columns: Vec<Vec<u32>> = Vec::new();
        for &places in self.axes {
            let mut column: Vec<u32> = (0..count)
                .map(|k| ((k as f64 + self.chance()) / count as f64 * f64::from(places)) as u32)
                .map(|k| k.min(places - 1))
                .collect();
            for k in (1..count).rev() {
                let other = self.below(k + 1);
                column.swap(k, other);
            }
            columns.push(column);
        }
        (0..count).map(|k| columns.iter().map(|column| column[k]).collect()).collect()
    }

    /// The global stage.
    fn evolve(&mut self, starts: &[Point], until: usize) -> Result<(), E> {
        let most = (self.points / GENERATIONS).clamp(GENERATION[0], GENERATION[1]);
        let count = (EACH_AXIS * self.axes.len()).clamp(GENERATION[0], most).min(self.points.max(4));
        let mut population: Vec<Point> = starts.iter().take(count).cloned().collect();
        let more = self.spread(count - population.len());
        population.extend(more);
        self.learn(&population)?;
        population.retain(|point| self.known.get(point).is_some());
        let mut stale = 0;
        while self.known.len() < until && population.len() >= 4 && stale < STALE {
            let ranked = self.ranked(population);
            let best = ((BEST * ranked.len() as f64).ceil() as usize).max(2);
            let children: Vec<Point> = (0..ranked.len()).map(|k| self.child(&ranked, k, best)).collect();
            stale = if self.learn(&children)? == 0 { stale + 1 } else { 0 };
            population = self.thinned(ranked, children);
        }
        Ok(())
    }

    /// A child of the k-th of a generation whose best stand first.
    fn child(&mut self, ranked: &[Point], k: usize, best: usize) -> Point {
        let towards = self.below(best);
        let [one, other] = [self.below(ranked.len()), self.below(ranked.len())];
        let length = STEP[0] + (STEP[1] - STEP[0]) * self.chance();
        let sure = self.below(self.axes.len());
        let mut at = Vec::with_capacity(self.axes.len());
        for axis in 0..self.axes.len() {
            let own = f64::from(ranked[k][axis]);
            let value = |k: usize| f64::from(ranked[k][axis]);
            let crossing = self.chance() < CROSSING || axis == sure;
            at.push(if crossing {
                own + length * (value(towards) - own) + length * (value(one) - value(other))
            } else {
                own
            });
        }
        let found = self.folded(&at);
        // Where a generation has come together its steps no longer leave the point: one place is moved by one.
        if found == ranked[k] {
            let up = if self.chance() < 0.5 { 1.0 } else { -1.0 };
            at = ranked[k].iter().map(|&x| f64::from(x)).collect();
            at[sure] += up;
            return self.folded(&at);
        }
        found
    }

    /// A generation after its children: each child in its parent's place where it is no worse, beside it where neither is
    /// better; then as many as before, the best.
    fn thinned(&self, parents: Vec<Point>, children: Vec<Point>) -> Vec<Point> {
        let count = parents.len();
        let mut next: Vec<Point> = Vec::with_capacity(2 * count);
        for (parent, child) in parents.into_iter().zip(children) {
            let (Some(was), Some(is)) = (self.known.get(&parent), self.known.get(&child)) else {
                next.push(parent);
                continue;
            };
            if replaces(is, was) {
                next.push(child);
            } else if is.missed > was.missed || (was.missed == 0.0 && dominates(&was.costs, &is.costs)) {
                next.push(parent);
            } else {
                next.extend([parent, child]);
            }
        }
        if next.len() > count {
            next = self.ranked(next);
            next.truncate(count);
        }
        next
    }

    /// The best first: what misses least, then front by front, and in a front the least crowded.
    fn ranked(&self, points: Vec<Point>) -> Vec<Point> {
        let scores: Vec<&Score> = points.iter().filter_map(|p| self.known.get(p)).collect();
        let mut order: Vec<usize> = (0..points.len()).collect();
        let beaten_by = |k: usize| {
            let better = |other: &&Score| {
                other.missed < scores[k].missed
                    || (other.missed == scores[k].missed
                        && other.costs != scores[k].costs
                        && dominates(&other.costs, &scores[k].costs))
            };
            scores.iter().filter(|s| better(s)).count()
        };
        let worse: Vec<usize> = (0..points.len()).map(beaten_by).collect();
        let room: Vec<f64> = if scores.first().is_some_and(|s| s.costs.len() > 1) {
            crowding(&scores)
        } else {
            vec![0.0; points.len()]
        };
        order.sort_by(|&a, &b| {
            worse[a].cmp(&worse[b]).then(room[b].total_cmp(&room[a])).then(points[a].cmp(&points[b]))
        });
        order.into_iter().map(|k| points[k].clone()).collect()
    }

    /// The local stage: from a point to one that no neighbour beats, for one aim.
    fn polish(&mut self, from: &Point, aim: usize, until: usize) -> Result<(), E> {
        let mut at = from.clone();
        let mut steps: Vec<u32> = self.axes.iter().map(|n| (n / FIRST_STEP).max(1)).collect();
        let mut last: Option<Vec<f64>> = None;
        let (mut across, mut in_vain) = (false, 0);
        while self.known.len() < until && in_vain < IN_VAIN {
            // Where a step has led somewhere better, the next of its kind may too; then the axes; then across them.
            let batch = match &last {
                Some(step) => self.onwards(&at, step),
                None if across => self.across_axes(&at, &steps),
                None => self.along_axes(&at, &steps),
            };
            self.learn(&batch)?;
            let best = batch
                .iter()
                .filter_map(|point| Some((point, self.known.get(point)?)))
                .min_by(|a, b| by_aim(a.1, b.1, aim));
            match (best, self.known.get(&at)) {
                (Some((point, score)), Some(now)) if by_aim(score, now, aim).is_lt() => {
                    last = Some(
                        point.iter().zip(&at).map(|(to, from)| f64::from(*to) - f64::from(*from)).collect(),
                    );
                    at = point.clone();
                    (across, in_vain) = (false, 0);
                }
                _ if last.is_some() => last = None,
                _ if !across => across = true,
                _ if steps.iter().all(|s| *s == 1) => {
                    (across, in_vain) = (false, in_vain + 1);
                }
                _ => {
                    across = false;
                    steps.iter_mut().for_each(|s| *s = (*s / 2).max(1));
                }
            }
        }
        Ok(())
    }

    /// Farther the same way: as far again, and twice as far.
    fn onwards(&self, at: &Point, step: &[f64]) -> Vec<Point> {
        let farther = |times: f64| {
            let moved: Vec<f64> = at.iter().zip(step).map(|(x, step)| f64::from(*x) + times * step).collect();
            self.folded(&moved)
        };
        [1.0, 2.0].map(farther).into_iter().filter(|point| point != at).collect()
    }

    /// Neighbours of a point along each axis, up and down.
    fn along_axes(&self, at: &Point, steps: &[u32]) -> Vec<Point> {
        let mut found = Vec::new();
        for axis in 0..at.len() {
            for sign in [-1.0, 1.0] {
                let mut moved: Vec<f64> = at.iter().map(|&x| f64::from(x)).collect();
                moved[axis] += sign * f64::from(steps[axis]);
                found.push(self.folded(&moved));
            }
        }
        found.retain(|point| point != at);
        found
    }

    /// Neighbours across the axes by chance: along a limit, where no single axis leads on.
    fn across_axes(&mut self, at: &Point, steps: &[u32]) -> Vec<Point> {
        let mut found = Vec::new();
        for _ in 0..2 * at.len() {
            let moved: Vec<f64> = (at.iter().zip(steps))
                .map(|(&x, step)| {
                    let turn = (self.chance() * 3.0).floor() - 1.0;
                    f64::from(x) + turn * (f64::from(*step) * (1.0 + 2.0 * self.chance())).floor()
                })
                .collect();
            found.push(self.folded(&moved));
        }
        found.retain(|point| point != at);
        found
    }
}

/// How far apart the neighbours of each score are, over the whole of each aim; the ends have all the room there is.
fn crowding(scores: &[&Score]) -> Vec<f64> {
    let mut room = vec![0.0; scores.len()];
    for aim in 0..scores[0].costs.len() {
        let mut order: Vec<usize> = (0..scores.len()).collect();
        order.sort_by(|&a, &b| scores[a].costs[aim].total_cmp(&scores[b].costs[aim]));
        let value = |k: usize| scores[order[k]].costs[aim];
        let last = order.len() - 1;
        let whole = value(last) - value(0);
        for (k, &of) in order.iter().enumerate() {
            if k == 0 || k == last {
                room[of] = f64::INFINITY;
            } else if whole > 0.0 && whole.is_finite() {
                room[of] += (value(k + 1) - value(k - 1)) / whole;
            }
        }
    }
    room
}

/// Search a grid with so many places on each axis. `starts` are points to begin with; `score` scores a batch.
///
/// # Errors
/// What `score` ends the search with.
pub fn search<E>(
    axes: &[u32],
    aims: usize,
    effort: Effort,
    starts: &[Point],
    score: impl FnMut(&[Point]) -> Result<Vec<Score>, E>,
) -> Result<Known, E> {
    let all: f64 = axes.iter().map(|n| f64::from(*n)).product();
    let points = if all < effort.points as f64 { all as usize } else { effort.points };
    let rng = Pcg64::seed_from_u64(effort.seed);
    let mut run = Run { axes, score, known: Known::default(), rng, points };
    run.evolve(starts, (GLOBAL * points as f64).ceil() as usize)?;
    for aim in 0..aims {
        let left = points.saturating_sub(run.known.len());
        let until = run.known.len() + left / (aims - aim);
        let Some(from) = run.known.best(aim).map(|(point, _)| point.clone()) else { break };
        run.polish(&from, aim, until)?;
    }
    // What the polish did not need goes to a second look at the whole.
    if run.may() && run.known.len() < points {
        let starts: Vec<Point> =
            (0..aims).filter_map(|aim| run.known.best(aim)).map(|(point, _)| point.clone()).collect();
        run.evolve(&starts, points)?;
    }
    Ok(run.known)
}

/// From a point to the best near it for one aim: the local stage alone.
///
/// # Errors
/// What `score` ends the search with.
pub fn polish<E>(
    axes: &[u32],
    aim: usize,
    effort: Effort,
    from: &Point,
    score: impl FnMut(&[Point]) -> Result<Vec<Score>, E>,
) -> Result<Known, E> {
    let rng = Pcg64::seed_from_u64(effort.seed);
    let mut run = Run { axes, score, known: Known::default(), rng, points: effort.points };
    run.learn(std::slice::from_ref(from))?;
    run.polish(from, aim, effort.points)?;
    Ok(run.known)
}
