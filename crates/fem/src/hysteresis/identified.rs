//! Cells from what is known of an iron: its commutation curve and its coercive field.
//!
//! Fresh iron, and the tips of all loops about zero, have each cell's own field at H − κ, or at 0 below. Coming down from
//! saturation it is at H + κ. Both are linear in the parts' saturations, which must not be negative: least squares with
//! that constraint (C. L. Lawson and R. J. Hanson, Solving Least Squares Problems, 1974, ch. 23, from memory).

use super::{Cell, HysteresisError, Hysteretic, Saturating};
use crate::law::MU_0;

/// Frictions offered, over the coercive field.
const FRICTIONS: [f64; 14] =
    [0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0];
/// Fields of parts offered, over the coercive field, in quarters of a decade: from and to.
const QUARTERS: [i32; 2] = [-2, 14];
/// What is known counts as given back if no flux density is missed by more than this share of it; that of the coercive
/// field, which is to vanish, by this share of the remanence, or else of the largest.
const GIVEN_BACK: f64 = 5e-3;
/// Makes the saturations definite: so small that few serve where many would.
const RIDGE: f64 = 1e-5;

impl Hysteretic {
    /// The law that gives a commutation curve, as pairs of field strength in A/m and flux density in T, and of the loop from
    /// saturation the coercive field in A/m and, if it is known, the remanent flux density in T.
    ///
    /// # Errors A curve that does not rise; none found that gives it all back to 0.5 % of every flux density.
    pub fn identified(
        curve: &[(f64, f64)],
        coercive_a_m: f64,
        remanence_t: Option<f64>,
    ) -> Result<Self, HysteresisError> {
        let rises = curve.windows(2).all(|p| p[1].0 > p[0].0 && p[1].1 > p[0].1);
        let first = curve.first().is_some_and(|p| p.0 > 0.0 && p.1 > MU_0 * p.0);
        let finite = curve.iter().flat_map(|p| [p.0, p.1]).chain([coercive_a_m]).all(f64::is_finite);
        let [.., (_, largest)] = curve else { return Err(HysteresisError::Table) };
        let holds = remanence_t.is_none_or(|b| b > 0.0 && b < *largest);
        if !(rises && first && finite && holds && curve.len() >= 3 && coercive_a_m > 0.0) {
            return Err(HysteresisError::Table);
        }
        let mut offered = Vec::new();
        for k in FRICTIONS {
            for m in QUARTERS[0]..=QUARTERS[1] {
                offered.push((k * coercive_a_m, coercive_a_m * 10f64.powf(0.25 * f64::from(m))));
            }
        }
        let part = |h: f64, field: f64| h / (field * field + h * h).sqrt();
        let (mut rows, mut right): (Vec<Vec<f64>>, Vec<f64>) = (Vec::new(), Vec::new());
        // A known polarisation: the cells' own fields by friction, what all sum up to, over what it is judged.
        let mut know = |own: &dyn Fn(f64) -> f64, sum: f64, scale: f64| {
            rows.push(offered.iter().map(|(k, a)| part(own(*k), *a) / scale).collect());
            right.push(sum / scale);
        };
        for &(h, b) in curve {
            know(&|friction| (h - friction).max(0.0), b - MU_0 * h, b);
        }
        let scale = remanence_t.unwrap_or(*largest);
        know(&|friction| friction - coercive_a_m, MU_0 * coercive_a_m, scale);
        if let Some(b) = remanence_t {
            know(&|friction| friction, b, scale);
        }
        let saturations = least_squares_not_negative(&rows, &right);
        let missed = (rows.iter().zip(&right))
            .map(|(r, b)| (r.iter().zip(&saturations).map(|(r, s)| r * s).sum::<f64>() - b).abs())
            .fold(0.0, f64::max);
        if missed > GIVEN_BACK {
            return Err(HysteresisError::NotFitted(missed));
        }

        let mut cells = Vec::new();
        for friction in FRICTIONS.map(|k| k * coercive_a_m) {
            let parts: Vec<Saturating> = (offered.iter().zip(&saturations))
                .filter(|((k, _), s)| *k == friction && **s > 0.0)
                .map(|((_, a), s)| Saturating { saturation_t: *s, field_a_m: *a })
                .collect();
            if !parts.is_empty() {
                cells.push(Cell { friction_a_m: friction, parts });
            }
        }
        Self::new(cells)
    }
}

/// The x ≥ 0 that makes |A x − b|² + ridge² |x|² least.
fn least_squares_not_negative(rows: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let n = rows[0].len();
    let product = |a: usize, b: usize| rows.iter().map(|r| r[a] * r[b]).sum::<f64>();
    let mut gram: Vec<Vec<f64>> = (0..n).map(|a| (0..n).map(|b| product(a, b)).collect()).collect();
    (0..n).for_each(|k| gram[k][k] += RIDGE * RIDGE);
    let target: Vec<f64> = (0..n).map(|k| rows.iter().zip(right).map(|(r, b)| r[k] * b).sum()).collect();
    let mut x = vec![0.0; n];
    let mut free: Vec<usize> = Vec::new();
    let scale = target.iter().fold(0.0_f64, |m, t| m.max(t.abs()));
    for _ in 0..10 * n {
        let slope = |k: usize| target[k] - (0..n).map(|j| gram[k][j] * x[j]).sum::<f64>();
        let steepest = (0..n).filter(|k| !free.contains(k)).max_by(|&a, &b| slope(a).total_cmp(&slope(b)));
        match steepest {
            Some(k) if slope(k) > 1e-12 * scale => free.push(k),
            _ => break,
        }
        loop {
            let z = solve(&gram, &target, &free);
            // As far towards it as nothing turns negative; what reaches zero is held there.
            let least = (free.iter().zip(&z))
                .filter(|(_, z)| **z <= 0.0)
                .map(|(&k, z)| x[k] / (x[k] - z))
                .fold(1.0, f64::min);
            for (&k, z) in free.iter().zip(&z) {
                x[k] += least * (z - x[k]);
            }
            if z.iter().all(|z| *z > 0.0) {
                break;
            }
            let floor = 1e-15 * x.iter().fold(0.0_f64, |m, v| m.max(*v));
            free.retain(|&k| x[k] > floor);
            (0..n).filter(|k| !free.contains(k)).for_each(|k| x[k] = 0.0);
            if free.is_empty() {
                break;
            }
        }
    }
    x
}

/// The equations of some unknowns, by Cholesky's factors.
fn solve(gram: &[Vec<f64>], target: &[f64], free: &[usize]) -> Vec<f64> {
    let n = free.len();
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let known: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            let value = gram[free[i]][free[j]] - known;
            l[i][j] = if i == j { value.max(f64::MIN_POSITIVE).sqrt() } else { value / l[j][j] };
        }
    }
    let mut y = vec![0.0; n];
    for i in 0..n {
        let known: f64 = (0..i).map(|k| l[i][k] * y[k]).sum();
        y[i] = (target[free[i]] - known) / l[i][i];
    }
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| l[k][i] * y[k]).sum();
        y[i] = (y[i] - known) / l[i][i];
    }
    y
}
