//! Why a design is no better: which limits it touches, and what more of each would give. And why there is none: which limits
//! contradict each other, and the least that one would have to give.

use crate::seek::aim::{Aim, Bound};
use crate::seek::search::{Effort, Point, polish, search};
use crate::seek::seeking::Seeking;
use coilwright_magnet::failure::Failure;

/// Distance from a limit, over its scale, within which a design touches it.
const TOUCHES: f64 = 0.02;
/// Share of a limit that more is given by.
pub(crate) const MORE: f64 = 0.1;
/// Share of a search's effort that each question here takes, and the least.
const EFFORT: usize = 6;
const LEAST_EFFORT: usize = 40;
/// Known designs that a second search begins with.
const STARTS: usize = 6;

/// A limit that a design touches.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Touched {
    pub(crate) bound: Bound,
    /// The limit if there were [`MORE`] of it, SI.
    pub(crate) relaxed: f64,
    /// The aim's number then, SI; none where more of it gives nothing.
    pub(crate) then: Option<f64>,
}

/// Limits that contradict each other.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Contradiction {
    /// The two; one, if nothing that may change meets it; none if no one of them alone is to blame.
    pub(crate) between: Vec<Bound>,
    /// What each limit would have to be at least (or at most), all others kept, SI.
    pub(crate) enough: Vec<(Bound, f64)>,
}

fn effort(seeking: &Seeking<'_>) -> Effort {
    let points = (seeking.question.designs / EFFORT).max(LEAST_EFFORT);
    Effort { points, seed: seeking.question.seed }
}

/// The limits that the best design for an aim touches.
pub(crate) fn touched(seeking: &mut Seeking<'_>, best: &Point, aim: &Aim) -> Result<Vec<Touched>, Failure> {
    let Some(rough) = seeking.rough(best).copied() else { return Ok(Vec::new()) };
    let now = (aim.number().rough)(&rough);
    let touches = |b: &Bound| ((b.expected(&rough) - b.limit) / b.scale()).abs() <= TOUCHES;
    let counts = seeking.space.counts();
    let mut found = Vec::new();
    for (k, bound) in seeking.bounds.clone().into_iter().enumerate().filter(|(_, b)| touches(b)) {
        let relaxed = bound.relaxed(MORE);
        let mut bounds = seeking.bounds.clone();
        bounds[k] = relaxed.clone();
        let effort = effort(seeking);
        let aims = [aim.clone()];
        let known = polish(&counts, 0, effort, best, |batch| seeking.scores(batch, &aims, &bounds))?;
        let then = known.best(0).and_then(|(point, _)| seeking.rough(point)).map(aim.number().rough);
        let then = then.filter(|then| aim.cost(*then) < aim.cost(now));
        found.push(Touched { bound, relaxed: relaxed.limit, then });
    }
    Ok(found)
}

/// Why nothing keeps all limits.
pub(crate) fn contradiction(seeking: &mut Seeking<'_>) -> Result<Contradiction, Failure> {
    let bounds = seeking.bounds.clone();
    let counts = seeking.space.counts();
    let mut enough: Vec<(Bound, f64)> = Vec::new();
    for (k, bound) in bounds.iter().enumerate() {
        let others: Vec<Bound> =
            bounds.iter().enumerate().filter(|(j, _)| *j != k).map(|(_, b)| b.clone()).collect();
        // Best of all that is known: what keeps the others and misses this one least.
        let rank = |point: &Point| {
            let rough = seeking.rough(point);
            let missed = rough.map_or(f64::INFINITY, |r| seeking.missed(r, &others));
            let own = rough.map_or(f64::INFINITY, |r| bound.missed(r));
            (missed, own)
        };
        let order = |a: &Point, b: &Point| {
            let (a, b) = (rank(a), rank(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        };
        let mut ranked: Vec<Point> = seeking.all().map(|(p, _)| p.clone()).collect();
        ranked.sort_by(&order);
        ranked.truncate(STARTS);
        let aims = [Aim::towards(bound)];
        let Effort { points, seed } = effort(seeking);
        // Limits that others were searched for leave little near this one: it is looked for as widely as the best is.
        let effort = Effort { points: 4 * points, seed };
        let known = search(&counts, 1, effort, &ranked, |batch| seeking.scores(batch, &aims, &others))?;
        let Some((point, score)) = known.best(0) else { continue };
        if let (true, Some(rough)) = (score.missed == 0.0, seeking.rough(point)) {
            enough.push((bound.clone(), bound.expected(rough)));
        }
    }
    let keeps = |b: &Bound| {
        let b = b.clone();
        move |r: &coilwright_magnet::model::rough::Rough| b.missed(r) == 0.0
    };
    let nobody = |all: &[&Bound]| {
        let tests: Vec<_> = all.iter().map(|b| keeps(b)).collect();
        !seeking.all().any(|(_, rough)| tests.iter().all(|keep| keep(rough)))
    };
    let alone = bounds.iter().find(|b| nobody(&[b]));
    let between = match alone {
        Some(one) => vec![one.clone()],
        None => {
            let pairs = (0..bounds.len()).flat_map(|a| (a + 1..bounds.len()).map(move |b| [a, b]));
            let pair = pairs.map(|[a, b]| [&bounds[a], &bounds[b]]).find(|pair| nobody(pair));
            pair.map_or_else(Vec::new, |pair| pair.map(Bound::clone).to_vec())
        }
    };
    Ok(Contradiction { between, enough })
}
