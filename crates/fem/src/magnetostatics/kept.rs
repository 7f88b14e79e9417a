//! Solving neighbours with the factor of a field that is solved.

use super::system::System;
use super::{Descent, SolveError, Stopping, line_search};
use crate::sparse::Factor;
use std::sync::Arc;

/// Most steps before a neighbour is better solved with tangents of its own, one of which costs about as much as six of
/// these.
const STEPS: usize = 16;
/// To what share of the one before a correction must shrink.
const SHRINKS: f64 = 0.9;

/// The tangent of a solved field and its factor. Neighbours are reached by quasi-Newton steps from it, each of which
/// learns from the ones before how their tangent differs (BFGS: H. Matthies and G. Strang, Int. J. Numer. Methods Eng. 14
/// (1979) 1613–1626, from memory), so that nothing need be factorised.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    pub(super) tangent: Arc<Vec<f64>>,
    pub(super) factor: Factor,
}

/// One step: its change of the potential and of the gradient, and one over their product.
struct Secant {
    moved: Vec<f64>,
    turned: Vec<f64>,
    weight: f64,
}

impl Kept {
    /// Lead a potential to that of a neighbour; the number of steps and the last correction if it came there, else
    /// nothing, and the potential is nearer by what was gained.
    pub(super) fn lead<const N: usize>(
        &mut self,
        system: &System<'_, N>,
        a: &mut Vec<f64>,
        stopping: Stopping,
    ) -> Result<Option<(usize, f64)>, SolveError> {
        let at = |point: &[f64]| system.state(point, false);
        let mut now = at(a)?;
        let mut secants = Vec::new();
        let (mut before, mut shrunk) = (None::<f64>, 0.0);
        for step in 1..=STEPS.min(stopping.steps) {
            let d = self.direction(now.gradient(), &secants);
            let decrement: f64 = -dot(&d, now.gradient());
            if !decrement.is_finite() {
                return Ok(None);
            }
            let moved: Vec<f64> = a.iter().zip(&d).map(|(a, d)| a + d).collect();
            let scale = system.quadratic(&self.tangent, &moved).max(f64::MIN_POSITIVE);
            let correction = (decrement.max(0.0) / scale).sqrt();
            // What remains is a geometric series, as slow as the slower of the last two steps.
            let shrinks = before.map(|b| correction / b);
            let remainder = shrinks.map_or(correction, |s| {
                let s = s.max(shrunk).min(1.0);
                correction * s / (1.0 - s)
            });
            if remainder <= stopping.remainder {
                *a = moved;
                return Ok(Some((step, correction)));
            }
            if shrinks.is_some_and(|s| s > SHRINKS) {
                return Ok(None);
            }
            let Some((point, state)) = line_search(at, a, &d, (now.functional(), decrement))? else {
                return Ok(None);
            };
            let moved = difference(&point, a);
            let turned = difference(state.gradient(), now.gradient());
            let product = dot(&moved, &turned);
            if product > 0.0 {
                secants.push(Secant { moved, turned, weight: 1.0 / product });
            }
            (*a, now) = (point, state);
            (before, shrunk) = (Some(correction), shrinks.unwrap_or(0.0));
        }
        Ok(None)
    }

    /// Down the gradient, by the factor and what the steps taught (J. Nocedal, Math. Comput. 35 (1980) 773–782).
    fn direction(&mut self, gradient: &[f64], secants: &[Secant]) -> Vec<f64> {
        let mut d: Vec<f64> = gradient.iter().map(|g| -g).collect();
        let mut shares = Vec::with_capacity(secants.len());
        for secant in secants.iter().rev() {
            let share = secant.weight * dot(&secant.moved, &d);
            add(&mut d, -share, &secant.turned);
            shares.push(share);
        }
        self.factor.solve(&mut d);
        for (secant, share) in secants.iter().zip(shares.into_iter().rev()) {
            let other = secant.weight * dot(&secant.turned, &d);
            add(&mut d, share - other, &secant.moved);
        }
        d
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn difference(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

fn add(to: &mut [f64], factor: f64, of: &[f64]) {
    to.iter_mut().zip(of).for_each(|(to, of)| *to += factor * of);
}
