//! What everything uncertain makes of numbers that are read from a field, to first order.

use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::variation::{Varied, Way, varied, ways};
use crate::magnetic::scene::{Scene, Stage};
use crate::magnetic::solved::Solved;
use crate::quantity::Dimension;
use crate::sheet::{Correlation, Sheet};
use crate::uncertainty::band::{Band, Budget, combined_variance};
use coilwright_fem::drawing::Drawing;
use coilwright_fem::magnetostatics::Solution;
use rayon::prelude::*;
use std::borrow::Cow;
use std::ops::Range;

/// Effects of everything uncertain on several outputs at once: for each output, path, label and change for one
/// standard uncertainty.
pub(crate) type Effects = Vec<Vec<(String, String, f64)>>;

/// Solutions that share one copy of a mesh. A fixed number, so that results do not depend on the number of threads.
const SHARE: usize = 4;
/// Relative change of the ampere-turns up to which the potential is a parabola over them.
const PARABOLA: f64 = 0.2;
/// Outputs at two orders that differ by less, relatively, have changes that are alike relatively.
const ALIKE: f64 = 0.1;

/// A magnet with one thing at a time one standard uncertainty lower and higher.
#[derive(Debug)]
pub struct Sides<'a> {
    magnet: Cow<'a, Magnet>,
    correlations: Vec<Correlation>,
    ways: Vec<Way>,
    /// For each way the magnet lower and higher, where it can be.
    ends: Vec<[Option<Magnet>; 2]>,
}

/// How closely a change is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Difference {
    /// Half of that from one standard uncertainty lower to one higher (JCGM 100:2008, 5.1.3 note 2).
    Both,
    /// Root mean square of the changes to one standard uncertainty lower and higher: where both are losses, as at a peak that
    /// moves, they do not cancel.
    Apart,
    /// From the magnet as it stands to one standard uncertainty higher.
    Upper,
}

/// What a varied magnet needs to be solved.
enum Need {
    /// Nothing: its scene is that of the magnet as it stands.
    Nothing,
    /// The same scene with its ampere-turns times so much.
    AmpereTurns(f64),
    /// All of it.
    Everything,
}

impl<'a> Sides<'a> {
    /// Every way in which the magnet of a sheet may differ.
    pub fn new(sheet: &Sheet, magnet: &'a Magnet) -> Self {
        Self::by(sheet, magnet, ways(sheet, magnet))
    }

    /// Some ways in which it may differ.
    pub(crate) fn by(sheet: &Sheet, magnet: &'a Magnet, ways: Vec<Way>) -> Self {
        let one = |ways: &[Way], k: usize, x| {
            ways[k].can_move(x).then(|| varied(sheet, magnet, &ways[k..=k], &[x]).ok()).flatten()
        };
        Self::of(sheet, Cow::Borrowed(magnet), ways, one)
    }

    /// The same about the magnet as it would be with each of its ways so many standard uncertainties off already.
    ///
    /// # Errors
    /// There is no such magnet.
    pub fn about(sheet: &Sheet, magnet: &Magnet, deviates: &[f64]) -> Result<Sides<'static>, Failure> {
        let ways = ways(sheet, magnet);
        let here = varied(sheet, magnet, &ways, deviates)?.magnet;
        let one = |ways: &[Way], k: usize, x| {
            let mut moved = deviates.to_vec();
            moved[k] += x;
            ways[k].can_move(moved[k]).then(|| varied(sheet, magnet, ways, &moved).ok()).flatten()
        };
        Ok(Sides::of(sheet, Cow::Owned(here), ways, one))
    }

    fn of(
        sheet: &Sheet,
        magnet: Cow<'a, Magnet>,
        ways: Vec<Way>,
        one: impl Fn(&[Way], usize, f64) -> Option<Varied>,
    ) -> Self {
        let side = |k, x| one(&ways, k, x).map(|varied| varied.magnet);
        let ends = (0..ways.len()).map(|k| [side(k, -1.0), side(k, 1.0)]).collect();
        // A sheet whose correlations cannot be read does not come this far.
        Self { magnet, correlations: sheet.correlations().unwrap_or_default(), ways, ends }
    }

    /// The ways, in their order.
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    /// Kind of quantity of what a way moves: of an entry its own, else a ratio.
    pub fn dimension(&self, way: usize) -> Dimension {
        let input = self.magnet.inputs.iter().find(|input| input.path == self.ways[way].path);
        input.map_or(Dimension::Ratio, |input| input.dimension)
    }

    /// Number of ways.
    pub fn count(&self) -> usize {
        self.ways.len()
    }

    /// By way, whether it changes what has to be solved beyond the ampere-turns, once staged.
    pub fn shapes(&self, stage: impl Fn(&Magnet) -> Stage) -> Vec<bool> {
        let home = stage(&self.magnet);
        let of = |side: &Magnet| matches!(self.need(side, &stage(side), &home), Need::Everything);
        self.ends.iter().map(|pair| pair.iter().flatten().any(of)).collect()
    }

    /// Changes of the outputs for one standard uncertainty, by way and output, on all cores; 0 for ways that are not
    /// wanted. `stage` puts a varied magnet on stage; `outputs` reads the numbers. All are solved at the order for
    /// differences; `known` are the outputs at the highest, to which the changes are brought, relative as they are.
    ///
    /// Magnets whose scenes differ by the ampere-turns alone share three fields, or two: the potential is a parabola over so
    /// small a change, or a straight line.
    pub fn changes(
        &self,
        solved: &Solved,
        known: Option<&[f64]>,
        wanted: impl Fn(usize) -> bool,
        difference: Difference,
        stage: impl Fn(&Magnet) -> Stage + Sync,
        outputs: impl Fn(&Magnet, &Scene, &Drawing, &Solution) -> Result<Vec<f64>, Failure> + Sync,
    ) -> Result<Vec<Vec<f64>>, Failure> {
        let home = stage(&self.magnet);
        let scene = self.magnet.scene(&home);
        let solved = &solved.for_differences()?;
        let mut here = solved.clone();
        let (solution, drawing) = here.neighbour(&scene, None)?;
        // All others start from there, unless it needed a mesh of its own.
        let start = here.ladder.can_start_from(&solution).then_some(&solution);
        let base = outputs(&self.magnet, &scene, &drawing, &solution)?;

        let mut jobs: Vec<(&Magnet, Stage, Need)> = Vec::new();
        let mut places: Vec<[Option<usize>; 2]> = vec![[None; 2]; self.count()];
        for way in (0..self.count()).filter(|way| wanted(*way)) {
            let [low, high] = &self.ends[way];
            let chosen = match difference {
                Difference::Upper if high.is_some() => [None, high.as_ref()],
                _ => [low.as_ref(), high.as_ref()],
            };
            for (place, side) in places[way].iter_mut().zip(chosen) {
                *place = side.map(|side| {
                    let staged = stage(side);
                    let need = self.need(side, &staged, &home);
                    jobs.push((side, staged, need));
                    jobs.len() - 1
                });
            }
        }
        let needs = jobs.iter().map(|job| &job.2);
        let driven = Driven::new((solved, start), &self.magnet, &home, &solution, needs, difference)?;
        let work = self.magnet.watch.part(jobs.len());
        let one = |own: &mut Solved, (side, staged, need): &(&Magnet, Stage, Need)| match need {
            Need::Nothing => outputs(side, &scene, &drawing, &solution),
            Need::AmpereTurns(factor) => {
                let scene = side.scene(staged);
                let mut moved = driven.at(*factor);
                moved.media = scene.media.clone();
                outputs(side, &scene, &drawing, &moved)
            }
            Need::Everything => {
                let scene = side.scene(staged);
                let (solution, drawing) = own.neighbour(&scene, start)?;
                outputs(side, &scene, &drawing, &solution)
            }
        };
        let values: Vec<Vec<f64>> = jobs
            .par_chunks(SHARE)
            .flat_map_iter(|jobs| {
                let (mut own, one) = (solved.clone(), &one);
                jobs.iter().map(move |job| one(&mut own, job).inspect(|_| work.done()))
            })
            .collect::<Result<_, Failure>>()?;
        let change = |[low, high]: &[Option<usize>; 2], k: usize| match (low, high) {
            (Some(low), Some(high)) if difference == Difference::Apart => {
                apart(values[*low][k] - base[k], values[*high][k] - base[k])
            }
            (Some(low), Some(high)) => 0.5 * (values[*high][k] - values[*low][k]),
            // At the edge of what is possible one side stands for both.
            (None, Some(high)) => values[*high][k] - base[k],
            (Some(low), None) => base[k] - values[*low][k],
            (None, None) => 0.0,
        };
        let scale = |k: usize| match known.map(|known| known[k] / base[k]) {
            Some(ratio) if (ratio - 1.0).abs() < ALIKE => ratio,
            _ => 1.0,
        };
        Ok(places.iter().map(|pair| (0..base.len()).map(|k| scale(k) * change(pair, k)).collect()).collect())
    }

    /// The same with names, by output.
    pub(crate) fn named(&self, changes: &[Vec<f64>], outputs: Range<usize>) -> Effects {
        let one = |k: usize| {
            let ways = self.ways.iter().zip(changes);
            ways.map(|(way, change)| (way.path.clone(), way.label.clone(), change[k])).collect()
        };
        outputs.map(one).collect()
    }

    /// The 95 % interval of a value from the changes for one standard uncertainty of each way, of what else goes with a
    /// path, and the solver's error; correlations between paths counted.
    pub(crate) fn interval(
        &self,
        value: f64,
        changes: impl Iterator<Item = f64>,
        also: Option<(&str, f64)>,
        solver_error: f64,
    ) -> (f64, f64) {
        let ways = self.ways.iter().map(|way| way.path.as_str()).zip(changes);
        let all: Vec<(&str, f64)> = ways.chain(also).chain([("solver", 0.5 * solver_error)]).collect();
        // Impossible correlations are refused where the answer's own bands are correlated.
        let standard = combined_variance(&all, &self.correlations).max(0.0).sqrt();
        (value - 2.0 * standard, value + 2.0 * standard)
    }

    fn need(&self, side: &Magnet, staged: &Stage, home: &Stage) -> Need {
        let (a, b) = (side, &*self.magnet);
        let same = staged.plates == home.plates
            && a.symmetry == b.symmetry
            && a.depth_m == b.depth_m
            && a.face_m == b.face_m
            && a.poles == b.poles
            && a.applied_t == b.applied_t
            && a.parts == b.parts;
        let factor = staged.ampere_turns / home.ampere_turns;
        match same {
            true if staged.ampere_turns == home.ampere_turns => Need::Nothing,
            true if (factor - 1.0).abs() < PARABOLA => Need::AmpereTurns(factor),
            _ => Need::Everything,
        }
    }
}

/// Root mean square of two changes, with the sign of their difference.
fn apart(down: f64, up: f64) -> f64 {
    (0.5 * (down * down + up * up)).sqrt().copysign(up - down)
}

/// First-order effects of everything uncertain. `stage` puts a varied magnet on stage; `outputs` reads the numbers.
pub(crate) fn effects(
    sheet: &Sheet,
    magnet: &Magnet,
    solved: &Solved,
    stage: impl Fn(&Magnet) -> Stage + Sync,
    outputs: impl Fn(&Magnet, &Scene, &Drawing, &Solution) -> Result<Vec<f64>, Failure> + Sync,
) -> Result<Effects, Failure> {
    let sides = Sides::new(sheet, magnet);
    let changes = sides.changes(solved, None, |_| true, Difference::Both, stage, outputs)?;
    Ok(sides.named(&changes, 0..changes.first().map_or(0, Vec::len)))
}

/// A field over the ampere-turns, near those of the magnet as it stands.
struct Driven<'a> {
    base: &'a Solution,
    /// Potentials with the ampere-turns this much lower and higher, relative; none if none is wanted.
    ends: Option<(f64, [Vec<f64>; 2])>,
}

impl<'a> Driven<'a> {
    fn new<'n>(
        (solved, start): (&Solved, Option<&Solution>),
        magnet: &Magnet,
        home: &Stage,
        base: &'a Solution,
        needs: impl Iterator<Item = &'n Need>,
        difference: Difference,
    ) -> Result<Self, Failure> {
        let most = needs.fold(0.0, |most: f64, need| match need {
            Need::AmpereTurns(factor) => most.max((factor - 1.0).abs()),
            _ => most,
        });
        if most == 0.0 {
            return Ok(Self { base, ends: None });
        }
        let at = |factor: f64| {
            let stage = Stage { ampere_turns: factor * home.ampere_turns, ..home.clone() };
            solved.clone().neighbour(&magnet.scene(&stage), start).map(|(solution, _)| solution.potential)
        };
        let ends = match difference {
            Difference::Both | Difference::Apart => {
                let (low, high) = rayon::join(|| at(1.0 - most), || at(1.0 + most));
                [low?, high?]
            }
            Difference::Upper => {
                let high = at(1.0 + most)?;
                [base.potential.iter().zip(&high).map(|(a, high)| 2.0 * a - high).collect(), high]
            }
        };
        Ok(Self { base, ends: Some((most, ends)) })
    }

    /// The parabola through the three potentials, at a factor on the ampere-turns. Media are those of the base.
    fn at(&self, factor: f64) -> Solution {
        let mut found = self.base.clone();
        if let Some((most, [low, high])) = &self.ends {
            let t = (factor - 1.0) / most;
            let ends = low.iter().zip(high);
            for (a, (low, high)) in found.potential.iter_mut().zip(ends) {
                *a += 0.5 * t * ((high - low) + t * (high + low - 2.0 * *a));
            }
        }
        found
    }
}

/// The band of a value from the effects on it and the solver's error (a 95 % bound).
pub(crate) fn band(value: f64, effects: &[(String, String, f64)], solver_error: f64) -> Band {
    let mut budget = Budget::new(value);
    for (path, label, effect) in effects {
        budget.add(path, label, *effect);
    }
    budget.add("solver", "numerical error", 0.5 * solver_error.abs());
    budget.band().unwrap_or(Band { standard: 0.0, low: value, high: value, contributors: Vec::new() })
}
