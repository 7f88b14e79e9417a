//! Whether readings, sheet and meters agree; and if they do not, what explains it most cheaply.
//!
//! All of it is asked of the model made straight at the solution, where leaving out a row of a least-squares fit (a
//! reading, or what was known of an unknown beforehand) has a closed form: the sum of squares falls by
//! `rᵀ (1 − H)⁻¹ r`, with the residuals `r` of those rows and their part `H` of the hat matrix (R. D. Cook and
//! S. Weisberg, *Residuals and Influence in Regression*, 1982, section 2.2).

use super::observation::Observations;
use super::unknown::{Unknown, What};
use crate::least_squares::{OUTLIER, Solution};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// Below this probability readings, sheet and meters do not fit each other with the uncertainties stated.
pub(super) const IMPLAUSIBLE: f64 = 0.01;
/// No more than one reading in so many of a column is left out: more are no slips, and the column is looked at as a whole.
const ONE_IN: usize = 5;
/// So many standard uncertainties between what was known beforehand and what all else says are worth a word.
const CONFLICT: f64 = 3.0;
/// An unknown that the readings narrow by less than this share of its variance says nothing about its prior.
const SILENT: f64 = 1e-3;
/// So many explanations are tried.
const CANDIDATES: usize = 3;
/// An explanation whose remaining sum of squares is larger by no more than this explains nearly as well (3 σ).
const NEARLY: f64 = 9.0;

/// How well everything goes together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Agreement {
    /// Chance of disagreement at least as large if sheet, meters and model were right: that of all residuals together, or
    /// of the prior farthest off if that is less, twice for having looked at two. A reading that was left out counts as
    /// one at the limit of being left out.
    pub(super) plausibility: f64,
    /// Unknowns whose prior is off by more than a few standard uncertainties of the difference, and by how many.
    pub(super) conflicts: Vec<(usize, f64)>,
    /// If all this is implausible: what explains it most cheaply, as a sentence.
    pub(super) explanation: Option<String>,
    /// By how much the bands have to be widened (R. T. Birge, Phys. Rev. 40, 1932, 207): 1 where all is plausible.
    pub(super) widen: f64,
}

/// Of the readings flagged those that may be left out: few of a column, or none of it.
pub(super) fn few(observations: &Observations, flagged: &[usize]) -> Vec<usize> {
    let head = |k: usize| observations.list[k].head.as_str();
    let of_column = |k: usize| observations.list.iter().filter(|o| o.head == head(k)).count();
    let flagged_of = |k: usize| flagged.iter().filter(|other| head(**other) == head(k)).count();
    flagged.iter().copied().filter(|&k| flagged_of(k) * ONE_IN <= of_column(k)).collect()
}

/// A solution with the rows that it was found from.
pub(super) struct Rows<'a> {
    pub(super) observations: &'a Observations,
    pub(super) unknowns: &'a [Unknown],
    pub(super) solution: &'a Solution,
    /// Readings that were used, by index, and how many were left out.
    pub(super) used: &'a [usize],
    pub(super) left_out: usize,
    /// Derivatives of all readings by the unknowns.
    pub(super) jacobian: &'a DMatrix<f64>,
    /// Standard uncertainties of all readings.
    pub(super) noise: &'a [f64],
}

/// What a fit finds if nothing is known of one unknown beforehand.
pub(super) struct Released {
    pub(super) unknown: usize,
    /// Of that unknown, and its standard uncertainty.
    pub(super) value: f64,
    pub(super) standard: f64,
    /// Sum of squares of readings and of all other priors.
    pub(super) squares: f64,
}

/// Whether it all goes together. `refit` fits without the prior of one unknown, from a value of it; nothing if that fails.
pub(super) fn agreement(rows: &Rows<'_>, refit: &dyn Fn(usize, f64) -> Option<Released>) -> Agreement {
    let solution = rows.solution;
    let squares = solution.sum_of_squares + solution.prior_squares + rows.left_out as f64 * OUTLIER.powi(2);
    let dof = (rows.used.len() + rows.left_out) as f64;
    let off: Vec<f64> = (0..rows.unknowns.len()).map(|j| rows.prior_off(j)).collect();
    let worst = off.iter().fold(0.0, |worst: f64, z| worst.max(z.abs()));
    let of_worst = 2.0 * Normal::standard().sf(worst);
    let of_priors = -(off.len() as f64 * (-of_worst).ln_1p()).exp_m1();
    let plausibility = (2.0 * chance(squares, dof).min(of_priors)).min(1.0);
    let implausible = plausibility < IMPLAUSIBLE;
    let conflicts = off.into_iter().enumerate().filter(|(_, z)| z.abs() > CONFLICT).collect();
    Agreement {
        plausibility,
        conflicts,
        explanation: implausible.then(|| rows.explanation((squares, dof), refit)),
        widen: if implausible { (squares / dof).sqrt().max(1.0) } else { 1.0 },
    }
}

/// Chance of a sum of squares at least as large.
fn chance(squares: f64, dof: f64) -> f64 {
    ChiSquared::new(dof.max(1.0)).map_or(1.0, |distribution| distribution.sf(squares.max(0.0)))
}

impl Rows<'_> {
    /// Share of an unknown's variance beforehand that the readings leave.
    fn left(&self, j: usize) -> f64 {
        let (unknown, value) = (&self.unknowns[j], self.solution.estimates[j].value);
        (self.solution.covariance[(j, j)] / unknown.standard_at(value).powi(2)).min(1.0)
    }

    /// Standard uncertainties between an unknown's prior and what all else says of it; 0 if nothing else does.
    fn prior_off(&self, j: usize) -> f64 {
        let (unknown, told) = (&self.unknowns[j], 1.0 - self.left(j));
        if told < SILENT {
            return 0.0;
        }
        unknown.deviate(self.solution.estimates[j].value) / told.sqrt()
    }

    /// How much the sum of squares falls without the readings of a column.
    fn without(&self, head: &str) -> (f64, usize) {
        let of_column = |(_, k): &(usize, &usize)| self.observations.list[**k].head == head;
        let places: Vec<(usize, usize)> =
            self.used.iter().enumerate().filter(of_column).map(|(place, k)| (place, *k)).collect();
        let n = places.len();
        let a = DMatrix::from_fn(n, self.unknowns.len(), |i, j| {
            self.jacobian[(places[i].1, j)] / self.noise[places[i].1]
        });
        let r = DVector::from_iterator(n, places.iter().map(|(place, _)| self.solution.standardised[*place]));
        let left = DMatrix::identity(n, n) - &a * &self.solution.covariance * a.transpose();
        // Without an inverse the column alone tells something, and leaving it out explains nothing.
        (left.cholesky().map_or(0.0, |c| r.dot(&c.solve(&r))), n)
    }

    fn explanation(
        &self,
        (squares, dof): (f64, f64),
        refit: &dyn Fn(usize, f64) -> Option<Released>,
    ) -> String {
        let mut single: Vec<(usize, f64)> =
            (0..self.unknowns.len()).map(|j| (j, self.prior_off(j).powi(2))).collect();
        single.sort_by(|a, b| b.1.total_cmp(&a.1));
        // Moved far, the model is not straight: the best few are fitted anew.
        let mut tried: Vec<(Released, f64)> = Vec::new();
        for (j, _) in single.iter().take(CANDIDATES) {
            if let Some(released) = refit(*j, self.without_prior(*j).0) {
                let left = released.squares + self.left_out as f64 * OUTLIER.powi(2);
                tried.push((released, chance(left, dof - 1.0)));
            }
        }
        tried.sort_by(|a, b| a.0.squares.total_cmp(&b.0.squares));
        tried.retain(|(_, chance)| *chance >= IMPLAUSIBLE);
        if let [(best, _), others @ ..] = &tried[..] {
            let also = others.iter().filter(|(other, _)| other.squares - best.squares < NEARLY);
            let also: Vec<String> = also.map(|(other, _)| self.words(other)).collect();
            let nearly = if also.is_empty() {
                String::new()
            } else {
                format!("; nearly as good: {}", also.join("; or "))
            };
            return format!(
                "the cheapest explanation is {}: with that all else fits{nearly}",
                self.words(best)
            );
        }
        let explains = |fall: f64, rows: usize| chance(squares - fall, dof - rows as f64) >= IMPLAUSIBLE;
        let first = single[0].0;
        let (value, standard) = self.without_prior(first);
        let part = self.words(&Released { unknown: first, value, standard, squares });
        let mut heads: Vec<&str> =
            self.used.iter().map(|k| self.observations.list[*k].head.as_str()).collect();
        heads.sort_unstable();
        heads.dedup();
        let columns = heads.iter().map(|head| (*head, self.without(head)));
        let best = columns.max_by(|a, b| a.1.0.total_cmp(&b.1.0));
        match best {
            Some((head, (fall, n))) if explains(fall, n) => format!(
                "the readings of `{head}` go together neither with each other nor with the rest by any one meter's error or \
                 entry of the sheet; without them the others fit"
            ),
            Some((head, _)) => format!(
                "nothing alone explains it; the cheapest part is {part}, and the column that fits worst is \
                 `{head}`"
            ),
            None => format!("nothing alone explains it; the cheapest part is {part}"),
        }
    }

    /// Value and standard uncertainty of an unknown as all else has it, if nothing were known of it beforehand.
    fn without_prior(&self, j: usize) -> (f64, f64) {
        let (unknown, left) = (&self.unknowns[j], self.left(j));
        let told = (1.0 - left).max(SILENT);
        let value = unknown.at(unknown.deviate(self.solution.estimates[j].value) / told);
        (value, unknown.standard_at(value) * (left / told).sqrt())
    }

    /// An unknown that had to be otherwise than known beforehand, in words.
    fn words(&self, released: &Released) -> String {
        let unknown = &self.unknowns[released.unknown];
        let (value, standard) = (released.value, released.standard);
        let (own, meters) = (|scale: f64| scale / 3f64.sqrt(), &self.observations.meters);
        let percent = |share: f64, standard: f64| {
            Dimension::Ratio.text(100.0 * share, Some(100.0 * standard), UnitSystem::Si)
        };
        match unknown.what {
            What::Gain(k) => format!(
                "a {} that is off by {} % of its readings, where {} % is stated",
                unknown.label,
                percent(value * own(meters[k].of_reading), standard * own(meters[k].of_reading)),
                100.0 * meters[k].of_reading
            ),
            What::Offset(k) => {
                let dimension = meters[k].dimension.unwrap_or(Dimension::Ratio);
                let text = |x: f64, u: f64| dimension.text(x, Some(u), UnitSystem::Si);
                let scale = own(meters[k].offset);
                let stated = dimension.text(meters[k].offset, None, UnitSystem::Si);
                format!(
                    "a {} that is off by {}, where {stated} is stated",
                    unknown.label,
                    text(value * scale, standard * scale)
                )
            }
            _ => {
                let text = |x: f64, u: f64| unknown.dimension.text(x, Some(u), UnitSystem::Si);
                format!(
                    "{} of {}, where {} ± {} was to be expected",
                    unknown.label,
                    text(value, standard),
                    text(unknown.mean, unknown.standard),
                    super::report::difference(unknown.dimension).text(
                        unknown.standard,
                        Some(unknown.standard),
                        UnitSystem::Si
                    )
                )
            }
        }
    }
}
