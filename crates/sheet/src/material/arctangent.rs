//! The arctangent law B = µ0 H + Js (2/π) atan(π (µr0 − 1) µ0 H / (2 Js)) as a curve of cubic pieces.

use super::cubic::Knot;
use super::{CubicLaw, LawError, MU0};
use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

/// Largest relative error of H between the knots.
const ACCURACY: f64 = 1e-8;
/// Where the pieces end, in units of the field that gives half the saturation polarisation. Beyond, the
/// law of approach to saturation differs from the arctangent by Js/(3 x³), below 1e-9 T.
const LAST_X: f64 = 1000.0;

/// Point x of the law, x = tan(π J / (2 Js)): B, H and dH/dB are all explicit in it.
struct Law {
    saturation: f64,
    /// H per unit of x, A/m.
    h_unit: f64,
}

impl Law {
    fn knot(&self, x: f64) -> Knot {
        let h = self.h_unit * x;
        let b = MU0 * h + FRAC_2_PI * self.saturation * x.atan();
        let db_dx = MU0 * self.h_unit + FRAC_2_PI * self.saturation / (1.0 + x * x);
        Knot { b, h, slope: self.h_unit / db_dx }
    }

    /// Knots after `left` up to `right`, halved in `u` = asinh x until the cubic between them is accurate.
    fn refine(&self, left: f64, right: f64, depth: u32, knots: &mut Vec<Knot>) {
        let (a, z) = (self.knot(left.sinh()), self.knot(right.sinh()));
        let middle = 0.5 * (left + right);
        let accurate = [0.25, 0.5, 0.75].iter().all(|t| {
            let exact = self.knot((left + t * (right - left)).sinh());
            (hermite(a, z, exact.b) - exact.h).abs() <= ACCURACY * exact.h
        });
        if accurate || depth == 0 {
            knots.push(z);
        } else {
            self.refine(left, middle, depth - 1, knots);
            self.refine(middle, right, depth - 1, knots);
        }
    }
}

pub(super) fn curve(saturation_t: f64, initial_mu_r: f64) -> Result<CubicLaw, LawError> {
    if !(saturation_t > 0.0 && saturation_t <= 3.0) {
        return Err(LawError::Saturation { saturation_t, lowest: 0.0 });
    }
    if !(initial_mu_r > 1.0 && initial_mu_r <= 1e6) {
        return Err(LawError::Permeability { mu_r: initial_mu_r });
    }
    let h_unit = saturation_t / (FRAC_PI_2 * (initial_mu_r - 1.0) * MU0);
    let law = Law { saturation: saturation_t, h_unit };
    let mut knots = vec![law.knot(0.0)];
    let last = LAST_X.asinh();
    let coarse = 16;
    for i in 0..coarse {
        let (left, right) = (i as f64 / coarse as f64 * last, (i + 1) as f64 / coarse as f64 * last);
        law.refine(left, right, 12, &mut knots);
    }
    Ok(CubicLaw::from_knots(knots, Some(saturation_t)))
}

/// The cubic with the values and slopes of two knots, at B.
fn hermite(a: Knot, z: Knot, b: f64) -> f64 {
    let width = z.b - a.b;
    let t = (b - a.b) / width;
    let chord = z.h - a.h;
    a.h + chord * t * t * (3.0 - 2.0 * t) + width * t * (1.0 - t) * (a.slope * (1.0 - t) - z.slope * t)
}
