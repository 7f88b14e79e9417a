//! The law H(B) of an isotropic soft material without hysteresis, in the form a field solver wants it.

use super::{CubicLaw, MU0, arctangent, table};
use std::sync::Arc;

/// H as a function of B, both magnitudes along one direction. Odd, strictly increasing and C¹; cheap to clone.
#[derive(Clone, Debug, PartialEq)]
pub enum SteelLaw {
    /// B = µ0 µr H.
    Linear {
        /// Relative permeability, at least 1.
        mu_r: f64,
    },
    /// A curve that saturates.
    Curve(Arc<CubicLaw>),
}

impl SteelLaw {
    /// A constant permeability.
    pub fn linear(mu_r: f64) -> Result<Self, LawError> {
        if mu_r.is_finite() && (1.0..=1e9).contains(&mu_r) {
            Ok(Self::Linear { mu_r })
        } else {
            Err(LawError::Permeability { mu_r })
        }
    }

    /// A curve through measured points, H in A/m and B in T, from the demagnetised state upwards (the origin
    /// may be left out). Monotone cubics between the points; beyond the last, the law of approach to
    /// saturation, whose slope dB/dH falls to µ0.
    pub fn table(h_a_per_m: &[f64], b_t: &[f64]) -> Result<Self, LawError> {
        table::curve(h_a_per_m, b_t, None).map(|c| Self::Curve(Arc::new(c)))
    }

    /// As [`SteelLaw::table`], with the saturation polarisation known: the curve tends to B = µ0 H + Js.
    pub fn table_with_saturation(
        h_a_per_m: &[f64],
        b_t: &[f64],
        saturation_t: f64,
    ) -> Result<Self, LawError> {
        table::curve(h_a_per_m, b_t, Some(saturation_t)).map(|c| Self::Curve(Arc::new(c)))
    }

    /// B = µ0 H + Js (2/π) atan(π (µr0 − 1) µ0 H / (2 Js)): two numbers, the saturation polarisation Js (T)
    /// and the initial relative permeability µr0. Held as cubics within 1e-8 of the formula.
    pub fn arctangent(saturation_t: f64, initial_mu_r: f64) -> Result<Self, LawError> {
        arctangent::curve(saturation_t, initial_mu_r).map(|c| Self::Curve(Arc::new(c)))
    }

    /// H (A/m) at B (T).
    pub fn h_of_b(&self, b_t: f64) -> f64 {
        self.evaluate(b_t).0
    }

    /// Slope dH/dB (m/H) at B (T), always positive.
    pub fn dh_db(&self, b_t: f64) -> f64 {
        self.evaluate(b_t).1
    }

    /// H (A/m) and dH/dB (m/H) at B (T), in one look-up.
    pub fn evaluate(&self, b_t: f64) -> (f64, f64) {
        match self {
            Self::Linear { mu_r } => {
                let nu = 1.0 / (MU0 * mu_r);
                (nu * b_t, nu)
            }
            Self::Curve(curve) => curve.evaluate(b_t),
        }
    }

    /// Reluctivity H/B (m/H), finite at B = 0.
    pub fn reluctivity(&self, b_t: f64) -> f64 {
        let (h, slope) = self.evaluate(b_t);
        if b_t.abs() < 1e-9 { slope } else { h / b_t }
    }

    /// Energy ∫ H dB (J/m³) from the demagnetised state to B; the exact integral of [`SteelLaw::h_of_b`].
    pub fn energy_density(&self, b_t: f64) -> f64 {
        match self {
            Self::Linear { mu_r } => b_t * b_t / (2.0 * MU0 * mu_r),
            Self::Curve(curve) => curve.energy_density(b_t),
        }
    }

    /// Co-energy ∫ B dH (J/m³) from the demagnetised state to B.
    pub fn coenergy_density(&self, b_t: f64) -> f64 {
        b_t * self.h_of_b(b_t) - self.energy_density(b_t)
    }

    /// B (T) at H (A/m): the inverse of [`SteelLaw::h_of_b`] to rounding.
    pub fn b_of_h(&self, h_a_per_m: f64) -> f64 {
        match self {
            Self::Linear { mu_r } => MU0 * mu_r * h_a_per_m,
            Self::Curve(curve) => curve.b_of_h(h_a_per_m),
        }
    }

    /// Polarisation J = B − µ0 H (T) at B.
    pub fn polarisation(&self, b_t: f64) -> f64 {
        b_t - MU0 * self.h_of_b(b_t)
    }

    /// The polarisation the law tends to (T); none for a constant permeability.
    pub fn saturation_t(&self) -> Option<f64> {
        match self {
            Self::Linear { .. } => None,
            Self::Curve(curve) => Some(curve.saturation_t()),
        }
    }

    /// The flux density up to which the law rests on data (T); beyond it is extrapolated. None if linear.
    pub fn last_point_t(&self) -> Option<f64> {
        match self {
            Self::Linear { .. } => None,
            Self::Curve(curve) => Some(curve.last_point_t()),
        }
    }

    /// The law of a steel that needs `h_scale` times the field for the same polarisation and saturates at
    /// `saturation_scale` times it: J(H) becomes k J(H/s). Air stays air: far beyond saturation dB/dH = µ0.
    /// Both scales must be positive.
    pub fn scaled(&self, h_scale: f64, saturation_scale: f64) -> Self {
        match self {
            Self::Linear { mu_r } => Self::Linear { mu_r: 1.0 + (mu_r - 1.0) * saturation_scale / h_scale },
            Self::Curve(curve) => Self::Curve(Arc::new(curve.scaled(h_scale, saturation_scale))),
        }
    }
}

/// Why a magnetisation law cannot be used. Rows count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LawError {
    /// Columns of different length.
    #[error("the table has {h} values of H but {b} of B")]
    Lengths {
        /// Values of H.
        h: usize,
        /// Values of B.
        b: usize,
    },
    /// Too few points.
    #[error("a B-H table needs at least 3 points besides the origin, this one has {points}")]
    TooShort {
        /// Points besides the origin.
        points: usize,
    },
    /// Not a number, infinite or negative.
    #[error("row {row}: {value} is not a usable {column}")]
    BadNumber {
        /// Row from 1.
        row: usize,
        /// `H` or `B`.
        column: &'static str,
        /// What stands there.
        value: f64,
    },
    /// H or B does not rise from one row to the next.
    #[error(
        "row {row}: {column} does not rise ({previous} then {value}); the curve must be strictly increasing"
    )]
    NotIncreasing {
        /// Row from 1.
        row: usize,
        /// `H` or `B`.
        column: &'static str,
        /// Value of the row before.
        previous: f64,
        /// Value of this row.
        value: f64,
    },
    /// A point that no iron has; most likely the columns or units are mixed up.
    #[error(
        "row {row}: B = {b} T at H = {h} A/m is a relative permeability of {mu_r:.3e}; are columns or units mixed up?"
    )]
    Implausible {
        /// Row from 1.
        row: usize,
        /// A/m.
        h: f64,
        /// T.
        b: f64,
        /// B/(µ0 H).
        mu_r: f64,
    },
    /// A permeability outside 1 to 10⁶.
    #[error("relative permeability {mu_r} is outside 1 to 1e9")]
    Permeability {
        /// As given.
        mu_r: f64,
    },
    /// A saturation polarisation that is not positive, larger than 3 T, or below the table's last point.
    #[error("saturation polarisation {saturation_t} T is outside {lowest:.3} to 3 T")]
    Saturation {
        /// As given, T.
        saturation_t: f64,
        /// Least possible value, T.
        lowest: f64,
    },
}
