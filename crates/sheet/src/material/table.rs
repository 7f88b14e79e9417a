//! From a measured B–H table to a curve: checks, then monotone cubic interpolation of H over B.

use super::cubic::Knot;
use super::{CubicLaw, LawError, MU0};

/// More than any iron has.
const HIGHEST_MU_R: f64 = 1e6;
/// Less than air; the slack is for rounded tables far into saturation.
const LOWEST_MU_R: f64 = 0.5;

/// The curve through the table's points. With `saturation` (T) known the curve tends to it; otherwise it
/// follows from the slope at the last point.
pub(super) fn curve(h: &[f64], b: &[f64], saturation: Option<f64>) -> Result<CubicLaw, LawError> {
    let points = checked(h, b)?;
    let mut slopes = slopes(&points);
    if let Some(js) = saturation {
        let (b_end, h_end) = points[points.len() - 1];
        let missing = js - (b_end - MU0 * h_end);
        if !(missing >= -1e-9 && js <= 3.0) {
            return Err(LawError::Saturation { saturation_t: js, lowest: b_end - MU0 * h_end });
        }
        // J = Js - c/H passes through the last point with dJ/dH = c/H² = (Js - J)/H.
        slopes[points.len() - 1] = 1.0 / (MU0 + missing.max(0.0) / h_end);
    }
    let knots = points.iter().zip(slopes).map(|(&(b, h), slope)| Knot { b, h, slope });
    Ok(CubicLaw::from_knots(knots.collect(), saturation))
}

/// The points as (B, H) with the origin first.
fn checked(h: &[f64], b: &[f64]) -> Result<Vec<(f64, f64)>, LawError> {
    if h.len() != b.len() {
        return Err(LawError::Lengths { h: h.len(), b: b.len() });
    }
    let mut points = vec![(0.0, 0.0)];
    for (i, (&h, &b)) in h.iter().zip(b).enumerate() {
        let row = i + 1;
        for (column, value) in [("H", h), ("B", b)] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(LawError::BadNumber { row, column, value });
            }
        }
        if i == 0 && h == 0.0 && b == 0.0 {
            continue;
        }
        let (b_before, h_before) = points[points.len() - 1];
        for (column, previous, value) in [("H", h_before, h), ("B", b_before, b)] {
            if value <= previous {
                return Err(LawError::NotIncreasing { row, column, previous, value });
            }
        }
        let mu_r = b / (MU0 * h);
        if !(LOWEST_MU_R..=HIGHEST_MU_R).contains(&mu_r) {
            return Err(LawError::Implausible { row, h, b, mu_r });
        }
        points.push((b, h));
    }
    if points.len() < 4 {
        return Err(LawError::TooShort { points: points.len() - 1 });
    }
    Ok(points)
}

/// Slopes dH/dB at the points: weighted harmonic means of the chords (Fritsch & Butland, SIAM J. Sci. Stat.
/// Comput. 5 (1984) 300; the usual PCHIP), at the ends the parabola through three points. At the origin that
/// parabola is Rayleigh's law of the initial magnetisation.
fn slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let width: Vec<f64> = points.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let chord: Vec<f64> = points.windows(2).map(|w| (w[1].1 - w[0].1) / (w[1].0 - w[0].0)).collect();
    let n = points.len();
    let mut slopes = Vec::with_capacity(n);
    slopes.push(end_slope(width[0], width[1], chord[0], chord[1]));
    for i in 1..n - 1 {
        let (left, right) = (2.0 * width[i] + width[i - 1], width[i] + 2.0 * width[i - 1]);
        slopes.push((left + right) / (left / chord[i - 1] + right / chord[i]));
    }
    slopes.push(end_slope(width[n - 2], width[n - 3], chord[n - 2], chord[n - 3]));
    slopes
}

fn end_slope(width: f64, next_width: f64, chord: f64, next_chord: f64) -> f64 {
    ((2.0 * width + next_width) * chord - width * next_chord) / (width + next_width)
}
