//! Pull against gap, current and the workpiece's size, each with its band.
//!
//! The band of a curve is that of the pull at exactly the value of the abscissa: what the sheet does not know of its own
//! gap is no part of the curve over the gap, nor the supply's tolerance of that over the current. The pull is solved at
//! every point. Its relative changes by the uncertain inputs are solved at every point of a dozen (one-sided, from the point's
//! own field), and taken as straight between them in longer curves, over the logarithm of the abscissa; of the inputs that
//! need a solution of their own, those that make 99 % of the variance at the sheet's own point are taken.

use crate::answers::answer::{Answer, Column, Series};
use crate::answers::question::PullQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnetic::effects::{Difference, Sides};
use crate::magnetic::scene::Stage;
use crate::magnetic::solved::{Solved, pull_n};
use crate::quantity::Dimension;
use rayon::prelude::*;

/// What the other points of a curve are known to numerically, relative; it is part of their bands.
const ACCURACY: f64 = 1e-2;
/// Gaps within this ratio share a mesh.
const ALIKE: f64 = 2.6;
/// Gaps of the usual curve, m.
const USUAL_GAPS_M: [f64; 9] = [0.02e-3, 0.05e-3, 0.1e-3, 0.2e-3, 0.5e-3, 1e-3, 2e-3, 3e-3, 5e-3];
/// Shares of the magnet's own current in the usual curve.
const USUAL_CURRENTS: [f64; 6] = [0.25, 0.5, 0.75, 1.0, 1.25, 1.5];
/// Points of a curve at which its changes are solved, at most: every one of the usual curves.
const KNOTS: usize = 12;
/// Share of the variance that the inputs taken make up.
const MOST: f64 = 0.99;

/// What curves are drawn from.
pub(crate) struct Curves<'a, F: Fn(&Magnet) -> Stage + Sync> {
    pub(crate) magnet: &'a Magnet,
    pub(crate) sides: &'a Sides<'a>,
    /// How a magnet is put on stage.
    pub(crate) staged: &'a F,
    /// The magnet's own stage.
    pub(crate) stage: &'a Stage,
    /// Its field.
    pub(crate) solved: &'a Solved,
    /// By way of being uncertain, what one standard uncertainty changes of the pull there.
    pub(crate) changes: &'a [f64],
}

/// A point of a curve.
struct Point {
    pull: f64,
    /// Which of the meshes it is solved on.
    mesh: usize,
}

/// A mesh with the stage that it was made for.
struct Home {
    stage: Stage,
    solved: Solved,
    /// Relative numerical error of a pull on it, a 95 % bound.
    error: f64,
}

impl<F: Fn(&Magnet) -> Stage + Sync> Curves<'_, F> {
    /// All curves of a question.
    pub(crate) fn all(&self, question: &PullQuestion, answer: &mut Answer) -> Result<(), Failure> {
        if let (false, Some(plate)) = (self.magnet.free, self.stage.plates.first()) {
            let mut gaps = question.gaps_m.clone();
            if gaps.is_empty() {
                let reach = self.magnet.poles.iter().map(|p| p.x_m[1]).fold(0.0, f64::max);
                gaps = USUAL_GAPS_M.iter().copied().filter(|g| *g < 0.4 * reach).collect();
                gaps.push(plate.gap_m);
                gaps.sort_by(f64::total_cmp);
                gaps.dedup_by(|a, b| (*a / *b - 1.0).abs() < 1e-9);
            }
            let x = Column::new("gap", "gap", Dimension::Length, gaps);
            let place = |_: &Magnet, stage: &mut Stage, x: f64| stage.plates[0].gap_m = x;
            answer.series.push(self.one(
                "pull_gap",
                "Pull against gap, for each exact gap",
                x,
                true,
                place,
            )?);
            if !question.thicknesses_m.is_empty() {
                let x =
                    Column::new("thickness", "thickness", Dimension::Length, question.thicknesses_m.clone());
                let place = |_: &Magnet, stage: &mut Stage, x: f64| stage.plates[0].thickness_m = x;
                let title = "Pull against thickness of the workpiece, for each exact thickness";
                answer.series.push(self.one("pull_thickness", title, x, false, place)?);
            }
            if !question.widths_m.is_empty() {
                let x = Column::new("width", "width", Dimension::Length, question.widths_m.clone());
                let place = |_: &Magnet, stage: &mut Stage, x: f64| stage.plates[0].x_m[1] = 0.5 * x;
                let title = "Pull against width of the workpiece, for each exact width";
                answer.series.push(self.one("pull_width", title, x, false, place)?);
            }
        }
        let current = self.magnet.excitation.as_ref().and_then(|e| e.current_a).filter(|i| *i != 0.0);
        if let Some(current) = current {
            let currents = if question.currents_a.is_empty() {
                USUAL_CURRENTS.iter().map(|k| k * current).collect()
            } else {
                question.currents_a.clone()
            };
            let x = Column::new("current", "current", Dimension::Current, currents);
            let place = |m: &Magnet, stage: &mut Stage, x: f64| {
                let turns = m.excitation.as_ref().map_or(1.0, |e| e.turns * e.ampere_turns.signum());
                stage.ampere_turns = turns * x;
            };
            answer.series.push(self.one(
                "pull_current",
                "Pull against current, for each exact current",
                x,
                false,
                place,
            )?);
        }
        Ok(())
    }

    /// One curve; `place` changes the stage of a magnet to that of an abscissa.
    fn one(
        &self,
        key: &str,
        title: &str,
        x: Column,
        log_x: bool,
        place: impl Fn(&Magnet, &mut Stage, f64) + Sync,
    ) -> Result<Series, Failure> {
        let at = |m: &Magnet, x: f64| {
            let mut stage = (self.staged)(m);
            place(m, &mut stage, x);
            stage
        };
        let (points, homes) =
            self.along(&x.values.iter().map(|x| at(self.magnet, *x)).collect::<Vec<_>>())?;
        let mut column =
            Column::new("pull", "pull", Dimension::Force, points.iter().map(|p| p.pull).collect());
        column.bands = self.bands(&x.values, &points, &homes, &at)?;
        Ok(Series { key: key.into(), title: title.into(), x, ys: vec![column], log_x })
    }

    /// Pulls on a row of stages, on all cores. Each is solved from the first one before it that is alike; others get a
    /// mesh of their own.
    fn along(&self, stages: &[Stage]) -> Result<(Vec<Point>, Vec<Home>), Failure> {
        let mut firsts: Vec<&Stage> = vec![self.stage];
        let mesh_of: Vec<usize> = stages
            .iter()
            .map(|stage| {
                firsts.iter().position(|first| near(first, stage)).unwrap_or_else(|| {
                    firsts.push(stage);
                    firsts.len() - 1
                })
            })
            .collect();
        let mesh = |(k, stage): (usize, &&Stage)| {
            let solved = match k {
                0 => self.solved.clone(),
                _ => Solved::for_pull(self.magnet.scene(stage), ACCURACY)?,
            };
            let moving = solved.scene.moving.clone();
            let motion = solved.ladder.motion(|k| moving[k], [0.0, 1.0])?;
            let estimate = solved.ladder.force(&motion);
            let error = if estimate.value == 0.0 { 0.0 } else { (estimate.error / estimate.value).abs() };
            Ok::<Home, Failure>(Home { stage: (*stage).clone(), solved, error })
        };
        let homes: Vec<Home> =
            firsts.par_iter().enumerate().with_max_len(1).map(mesh).collect::<Result<_, Failure>>()?;
        let work = self.magnet.watch.part(stages.len());
        let points = stages.par_iter().zip(&mesh_of).with_max_len(1).map(|(stage, &mesh)| {
            let home = &homes[mesh];
            let scene = self.magnet.scene(stage);
            let field = if *stage == home.stage {
                (home.solved.ladder.solution().clone(), home.solved.ladder.drawing().clone())
            } else {
                home.solved.clone().neighbour(&scene, None)?
            };
            let pull = pull_n(&scene, &field.1, &field.0)?;
            work.done();
            Ok(Point { pull, mesh })
        });
        let points = points.collect::<Result<_, Failure>>()?;
        Ok((points, homes))
    }

    /// 95 % intervals of a curve's points, see the head of this module.
    fn bands(
        &self,
        xs: &[f64],
        points: &[Point],
        homes: &[Home],
        at: &(impl Fn(&Magnet, f64) -> Stage + Sync),
    ) -> Result<Vec<(f64, f64)>, Failure> {
        let most = points.iter().map(|p| p.pull.abs()).fold(0.0, f64::max);
        // Where nothing pulls there is no relative change.
        let mut order: Vec<usize> = (0..xs.len()).filter(|k| points[*k].pull.abs() > 1e-6 * most).collect();
        order.sort_by(|a, b| xs[*a].total_cmp(&xs[*b]));
        if order.is_empty() {
            return Ok(Vec::new());
        }
        let wanted = self.wanted(xs[order[order.len() / 2]], at);
        let mut knots: Vec<(f64, Vec<f64>)> = Vec::new();
        for k in spread(order.len(), KNOTS).map(|k| order[k]) {
            let (x, pull, home) = (xs[k], points[k].pull, &homes[points[k].mesh]);
            let changes = self.sides.changes(
                &home.solved,
                Some(&[pull]),
                |way| wanted[way],
                Difference::Upper,
                |m| at(m, x),
                |_, scene, drawing, solution| Ok(vec![pull_n(scene, drawing, solution)?]),
            )?;
            knots.push((x, changes.iter().map(|change| change[0] / pull).collect()));
        }
        let band = |(x, point): (&f64, &Point)| {
            let relative = between(&knots, *x);
            let changes = relative.into_iter().map(|r| r * point.pull);
            self.sides.interval(point.pull, changes, None, homes[point.mesh].error * point.pull)
        };
        Ok(xs.iter().zip(points).map(band).collect())
    }

    /// By way: whether the bands take it. What changes the ampere-turns alone costs next to nothing; of the others those
    /// that make most of the variance at the magnet's own stage, without what the abscissa overrides.
    fn wanted(&self, x: f64, at: &(impl Fn(&Magnet, f64) -> Stage + Sync)) -> Vec<bool> {
        let shapes = self.sides.shapes(|m| at(m, x));
        let mut of: Vec<usize> = (0..shapes.len()).filter(|way| shapes[*way]).collect();
        of.sort_by(|a, b| self.changes[*b].abs().total_cmp(&self.changes[*a].abs()));
        let all: f64 = of.iter().map(|way| self.changes[*way].powi(2)).sum();
        let mut wanted: Vec<bool> = shapes.iter().map(|shape| !shape).collect();
        let mut sum = 0.0;
        for way in of {
            if sum >= MOST * all {
                break;
            }
            sum += self.changes[way].powi(2);
            wanted[way] = true;
        }
        wanted
    }
}

/// At most `count` of `of` places, the ends among them.
fn spread(of: usize, count: usize) -> impl Iterator<Item = usize> {
    let count = count.min(of);
    (0..count).map(move |k| if count == 1 { 0 } else { (k * (of - 1) + (count - 1) / 2) / (count - 1) })
}

/// Values between knots, straight over the logarithm of the abscissa (or the abscissa, where it is not above 0), and
/// as at the last knot beyond.
fn between(knots: &[(f64, Vec<f64>)], x: f64) -> Vec<f64> {
    let above = knots.partition_point(|knot| knot.0 < x);
    match (above.checked_sub(1).map(|k| &knots[k]), knots.get(above)) {
        (Some((a, low)), Some((b, high))) => {
            let share = if *a > 0.0 { (x / a).ln() / (b / a).ln() } else { (x - a) / (b - a) };
            low.iter().zip(high).map(|(l, h)| l + share * (h - l)).collect()
        }
        (Some((_, end)), None) | (None, Some((_, end))) => end.clone(),
        (None, None) => Vec::new(),
    }
}

/// Whether one mesh serves two stages well: same plates, gaps alike.
fn near(a: &Stage, b: &Stage) -> bool {
    a.plates.len() == b.plates.len()
        && a.plates.iter().zip(&b.plates).all(|(p, q)| {
            let ratio = p.gap_m / q.gap_m;
            p.x_m == q.x_m && p.thickness_m == q.thickness_m && ratio < ALIKE && ratio > 1.0 / ALIKE
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_spread_to_the_ends() {
        let list = |of, count| spread(of, count).collect::<Vec<_>>();
        assert_eq!(list(10, 4), [0, 3, 6, 9]);
        assert_eq!(list(2, 4), [0, 1]);
        assert_eq!(list(1, 4), [0]);
        assert!(list(0, 4).is_empty());
    }

    #[test]
    fn between_knots_it_is_straight_over_the_logarithm() {
        let knots = [(1.0, vec![0.0]), (100.0, vec![1.0])];
        assert!((between(&knots, 10.0)[0] - 0.5).abs() < 1e-12);
        assert_eq!((between(&knots, 1.0), between(&knots, 1000.0)), (vec![0.0], vec![1.0]));
    }
}
