//! Times of switching a magnet of solid iron, by its field in time: closely for what stands in the sheet, roughly for all
//! that is told beside it and for what everything uncertain makes of it. What is rough is brought to what is close by the
//! ratio of the two for the sheet's own magnet and clamp.

use crate::circuit::events::{Clamp, Release};
use crate::coupled::operating_point::Driven;
use crate::coupled::switch::solid::{BALANCED, Fineness, Solid, Until, Warmth, solved};
use crate::coupled::switch::switched::{SwitchedOff, SwitchedOn, TIMES, at, falls_s, moments_s, times_s};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::variation::{Way, ways, ways_of_conduction};
use crate::magnetic::effects::{Difference, Effects, Sides};
use crate::magnetic::solved::Solved;
use crate::sheet::Sheet;
use crate::uncertainty::band::{Band, Budget};
use rayon::prelude::*;

/// Relative difference between two meshes at which the finer one is good enough.
const GOOD: f64 = 0.05;
/// Relative difference beyond which no time is told.
const POOR: f64 = 0.15;
/// Share of the variance of current, pull, inductance and resistance that may be left out where times are varied: a fortieth
/// of their standard uncertainty.
const LEFT_OUT: f64 = 0.05;

/// How a magnet is switched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Conditions {
    /// How warm its irons are.
    pub(crate) warmth: Warmth,
    /// The sheet's clamp.
    pub(crate) clamp: Clamp,
    /// What an opened contact makes with nothing to take the current over, V.
    pub(crate) opening_v: f64,
    /// How far it is followed.
    pub(crate) until: Until,
    /// Voltage while the current rises, V; that which the current needs in the end, if none.
    pub(crate) supply_v: Option<f64>,
    /// Whether it is switched on as well.
    pub(crate) on: bool,
}

impl Conditions {
    /// Off by the sheet's clamp, and on.
    fn switch(
        &self,
        solid: &Solid,
        driven: &Driven<'_>,
        known: Option<SwitchedOff>,
    ) -> Result<(SwitchedOff, Option<SwitchedOn>), Failure> {
        let off = || known.map_or_else(|| solid.off(self.clamp, self.opening_v, self.until), Ok);
        let on = || self.on.then(|| solid.on(self.supply_v(driven))).transpose();
        let (off, on) = rayon::join(off, on);
        Ok((off?, on?))
    }

    fn supply_v(&self, driven: &Driven<'_>) -> f64 {
        let ohm = driven.winding.resistance_ohm(driven.excitation.kelvin) + driven.supply.lead_ohm;
        match self.supply_v {
            Some(_) => driven.supply.voltage_v,
            None => driven.excitation.current_a.unwrap_or(f64::NAN) * ohm,
        }
    }
}

/// A magnet switched in its field.
#[derive(Clone, Debug)]
pub(crate) struct InField {
    /// Off by the sheet's clamp.
    pub(crate) off: SwitchedOff,
    /// On, if that was asked.
    pub(crate) on: Option<SwitchedOn>,
    /// Moments of the curves after switching off, s; none if it was not asked to be switched on.
    pub(crate) moments_s: Vec<f64>,
    /// Relative numerical error of each of [`TIMES`].
    error: [f64; 7],
    conditions: Conditions,
    rough: Rough,
}

/// The same on a rough mesh.
#[derive(Clone, Debug)]
struct Rough {
    /// What varied magnets are solved on.
    solved: Solved,
    solid: Solid,
    off: SwitchedOff,
    on: Option<SwitchedOn>,
    /// The best pull known over that of this mesh.
    correction: f64,
}

impl InField {
    /// Switch a magnet whose steady pull is known. `slowest` is the clamp whose fall is as wide as the curves.
    ///
    /// # Errors
    /// The field cannot be solved or followed.
    pub(crate) fn new(
        magnet: &Magnet,
        driven: &Driven<'_>,
        mut conditions: Conditions,
        pull_n: f64,
        slowest: Clamp,
    ) -> Result<Self, Failure> {
        let meshed = |fineness: Fineness| {
            let scene = magnet.scene(&magnet.stage());
            let mut solved = solved(magnet, scene.clone(), fineness)?;
            let (solution, drawing) = solved.neighbour(&scene, None)?;
            let seen = (&scene, &drawing, &solution);
            let (warmth, tolerance) = (conditions.warmth, fineness.tolerance);
            let solid = Solid::new(magnet, driven, warmth, &solved, seen, tolerance)?;
            let correction = if solid.pull_n() > 0.0 { pull_n / solid.pull_n() } else { 1.0 };
            Ok::<_, Failure>((solved, solid.pulling(correction), correction))
        };
        let [roughest, finer @ ..] = &Fineness::ALL;
        let (solved, solid, correction) = meshed(*roughest)?;
        let (mut moments, mut known) = (Vec::new(), None);
        if conditions.on {
            let off = solid.off(slowest, conditions.opening_v, conditions.until)?;
            let left_n = conditions.until.residual_n;
            moments = moments_s(&off, driven.excitation.current_a.unwrap_or(f64::NAN), pull_n, left_n);
            known = (slowest == conditions.clamp).then_some(off);
        }
        conditions.until.time_s = moments.last().copied().unwrap_or(0.0);
        let (off, on) = conditions.switch(&solid, driven, known)?;
        let mut before = times_s(&off, on.as_ref());
        let rough = Rough { solved, solid, off, on, correction };
        for (k, fineness) in finer.iter().enumerate() {
            let (_, solid, _) = meshed(*fineness)?;
            let (off, on) = conditions.switch(&solid, driven, None)?;
            let now = times_s(&off, on.as_ref());
            let ways = [(&off, &on), (&rough.off, &rough.on)];
            let of = |(off, on): (&SwitchedOff, &Option<SwitchedOn>)| {
                off.imbalance.max(on.as_ref().map_or(0.0, |on| on.imbalance))
            };
            let lost = ways.map(of).into_iter().filter(|share| *share > BALANCED).fold(0.0, f64::max);
            let mut error = [0.0; 7];
            for ((error, now), before) in error.iter_mut().zip(now).zip(before) {
                let apart = (now / before).ln().abs();
                *error = lost + if apart.is_nan() { 0.0 } else { apart };
            }
            if error.iter().all(|e| *e <= GOOD) || k + 1 == finer.len() {
                return Ok(Self { off, on, moments_s: moments, error, conditions, rough });
            }
            before = now;
        }
        unreachable!("there are finer meshes than the roughest")
    }

    /// By how much the last two meshes differ on a time, with what of its energy is unaccounted for, if that is too much for
    /// it to be told.
    pub(crate) fn poor(&self, key: &str) -> Option<f64> {
        let at = TIMES.iter().position(|k| *k == key)?;
        Some(self.error[at]).filter(|e| *e > POOR)
    }

    /// The same of the drop-out time by another clamp.
    pub(crate) fn poor_by(&self, off: &SwitchedOff) -> Option<f64> {
        let lost = Some(off.imbalance).filter(|share| *share > BALANCED).unwrap_or(0.0);
        self.poor("release_time").or(Some(lost).filter(|e| *e > POOR))
    }

    /// Off by another clamp, for as long as the curves go on.
    ///
    /// # Errors
    /// The field cannot be followed.
    pub(crate) fn off_by(&self, clamp: Clamp) -> Result<SwitchedOff, Failure> {
        if clamp == self.conditions.clamp {
            return Ok(self.off.clone());
        }
        Ok(self.brought(self.rough.solid.off(clamp, self.conditions.opening_v, self.conditions.until)?))
    }

    /// What the rough mesh tells of another clamp, as the fine one would: late and lossy by the same shares as with the
    /// sheet's.
    fn brought(&self, off: SwitchedOff) -> SwitchedOff {
        let (fine, rough) = (&self.off, &self.rough.off);
        let ratio = |fine: f64, rough: f64| if rough > 0.0 { fine / rough } else { 1.0 };
        let half = 0.5 * self.rough.solid.pull_n();
        let late = match (fine.release, rough.release) {
            (Release::After { time_s: a, .. }, Release::After { time_s: b, .. }) => ratio(a, b),
            _ => falls_s(&fine.rows, half).zip(falls_s(&rough.rows, half)).map_or(1.0, |(a, b)| ratio(a, b)),
        };
        let mut off = off;
        off.rows.iter_mut().for_each(|row| row.time_s *= late);
        if let Release::After { time_s, .. } = &mut off.release {
            *time_s *= late;
        }
        off.gone_s *= ratio(fine.gone_s, rough.gone_s);
        off
    }

    /// Polarity reversed at a voltage: times to no current and to 90 % of the opposite, s; by the rough mesh, brought to the
    /// fine one as the turn-on is.
    ///
    /// # Errors
    /// The field cannot be followed.
    pub(crate) fn reversed(&self, supply_v: f64) -> Result<[f64; 2], Failure> {
        let ratio = match (&self.on, &self.rough.on) {
            (Some(fine), Some(rough)) => fine.current_s[1] / rough.current_s[1],
            _ => 1.0,
        };
        Ok(self.rough.solid.reversed(supply_v)?.map(|time_s| ratio * time_s))
    }

    /// By what share the drop-out time changes with another clamp, by the rough mesh; none where nothing drops out.
    ///
    /// # Errors
    /// The field cannot be followed.
    pub(crate) fn change_by(&self, clamp: Clamp) -> Result<Option<f64>, Failure> {
        let off = self.rough.solid.off(clamp, self.conditions.opening_v, self.conditions.until)?;
        Ok(match (self.rough.off.release, off.release) {
            (Release::After { time_s: now, .. }, Release::After { time_s: then, .. }) => {
                Some(then / now - 1.0)
            }
            _ => None,
        })
    }

    /// When the pull falls to a value with the sheet's own clamp, by the rough mesh, s.
    pub(crate) fn roughly_falls_s(&self, to_n: f64) -> Option<f64> {
        falls_s(&self.rough.off.rows, to_n)
    }

    /// Bands of the times and of the pull at the curves' moments, from magnets that differ in one thing at a time, on the
    /// rough mesh. `known` are the effects of each way of the magnet on numbers that tell whether it matters.
    ///
    /// # Errors
    /// A varied magnet's field cannot be solved or followed.
    pub(crate) fn bands(&self, sheet: &Sheet, magnet: &Magnet, known: &[Vec<f64>]) -> Result<Bands, Failure> {
        let mut all: Vec<Way> = ways(sheet, magnet);
        let of_magnet = all.len();
        all.extend(ways_of_conduction(magnet));
        let sides = Sides::by(sheet, magnet, all);
        let matters = matter(known, of_magnet);
        let rough = &self.rough;
        let base: Vec<f64> = self.read(&rough.off, rough.on.as_ref()).collect();
        let changes = sides.changes(
            &rough.solved,
            None,
            |way| matters.get(way).copied().unwrap_or(true),
            Difference::Upper,
            Magnet::stage,
            |side, scene, drawing, solution| {
                if std::ptr::eq(side, magnet) {
                    return Ok(vec![1.0; base.len()]);
                }
                let driven = Driven::of(sheet, side)?;
                let seen = (scene, drawing, solution);
                let (warmth, tolerance) = (self.conditions.warmth, Fineness::ALL[0].tolerance);
                let solid = Solid::new(side, &driven, warmth, &rough.solved, seen, tolerance)?;
                let (off, on) = self.conditions.switch(&solid.pulling(rough.correction), &driven, None)?;
                let ratio = |(now, base): (f64, &f64)| if *base > 0.0 { now / base } else { 1.0 };
                Ok(self.read(&off, on.as_ref()).zip(&base).map(ratio).collect())
            },
        )?;
        let effects = sides.named(&changes, 0..base.len());
        Ok(Bands { effects, error: self.error })
    }

    /// The times, and the pull at the curves' moments.
    fn read<'a>(
        &'a self,
        off: &'a SwitchedOff,
        on: Option<&SwitchedOn>,
    ) -> impl Iterator<Item = f64> + use<'a> {
        let pulls = self.moments_s.iter().map(|t| at(&off.rows, *t).pull_n);
        times_s(off, on).into_iter().chain(pulls)
    }
}

/// By way, whether it is among the few that make nearly all of the variance of any of the known numbers.
fn matter(known: &[Vec<f64>], ways: usize) -> Vec<bool> {
    let mut found = vec![false; ways];
    for effects in known {
        let mut order: Vec<usize> = (0..ways.min(effects.len())).collect();
        order.sort_by(|a, b| effects[*b].abs().total_cmp(&effects[*a].abs()).then(a.cmp(b)));
        let mut left: f64 = effects.iter().map(|e| e * e).sum();
        let enough = LEFT_OUT * left;
        for way in order {
            if left <= enough {
                break;
            }
            left -= effects[way] * effects[way];
            found[way] = true;
        }
    }
    found
}

/// Off by several clamps at once.
///
/// # Errors
/// As [`InField::off_by`].
pub(crate) fn off_by_all(field: &InField, clamps: &[Clamp]) -> Result<Vec<SwitchedOff>, Failure> {
    clamps.par_iter().with_max_len(1).map(|clamp| field.off_by(*clamp)).collect()
}

/// What everything uncertain makes of [`TIMES`] and of pulls at the curves' moments, relative.
#[derive(Clone, Debug)]
pub(crate) struct Bands {
    effects: Effects,
    error: [f64; 7],
}

impl Bands {
    /// The band of one of [`TIMES`], with what else moves it, relative. Times differ by factors.
    pub(crate) fn of_time(&self, key: &str, value: f64, more: &[(String, String, f64)]) -> Option<Band> {
        let k = TIMES.iter().position(|own| *own == key)?;
        let mut budget = Budget::new(value);
        for (path, label, effect) in self.effects[k].iter().chain(more) {
            budget.add(path, label, value * effect);
        }
        budget.add("solver", "numerical error", 0.5 * value * self.error[k]);
        let factor = (2.0 * budget.standard() / value).exp();
        Some(Band { low: value / factor, high: value * factor, ..budget.band()? })
    }

    /// The 95 % intervals of the pull at the moments, N: each by the factor to which it is known there. A pull that only falls
    /// is at any moment no greater than it can have been before, so nor is the upper end; late in the decay, where the factor
    /// grows beyond measure, this is what holds.
    pub(crate) fn of_pulls(&self, pulls_n: impl IntoIterator<Item = f64>) -> Vec<(f64, f64)> {
        let mut most_n = f64::INFINITY;
        let interval = |(effects, pull_n): (&Vec<(String, String, f64)>, f64)| {
            let standard = effects.iter().fold(0.0, |sum: f64, (.., effect)| sum.hypot(*effect));
            let factor = (2.0 * standard).exp();
            most_n = most_n.min(pull_n * factor);
            (pull_n / factor, most_n)
        };
        self.effects[TIMES.len()..].iter().zip(pulls_n).map(interval).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_that_make_nearly_no_variance_are_left_out() {
        let pull = vec![3.0, 0.1, -4.0, 0.2];
        let current = vec![0.0, 0.0, 0.0, -1e-3];
        assert_eq!(matter(std::slice::from_ref(&pull), 4), [true, false, true, false]);
        assert_eq!(matter(&[pull, current], 4), [true, false, true, true]);
    }
}
