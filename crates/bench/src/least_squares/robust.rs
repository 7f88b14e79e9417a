//! Losses that keep a few wrong readings from spoiling a fit (Huber 1981; Beaton and Tukey 1974).

/// Loss for the standardised residuals. Tuning constants give 95 % efficiency for Gaussian errors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Robust {
    /// Least squares: every reading counts fully.
    No,
    /// Huber: quadratic up to 1.345, then linear.
    Huber,
    /// Tukey's biweight: readings beyond 4.685 do not count at all. Started from Huber's fit.
    Tukey,
}

/// Huber's constant.
const HUBER: f64 = 1.345;
/// Tukey's constant.
const TUKEY: f64 = 4.685;
/// Median of |z| for a Gaussian of unit standard deviation.
const MEDIAN_DEVIATION: f64 = 0.674_489_750_196_081_7;
/// A residual of more robust standard deviations than this is flagged (Iglewicz and Hoaglin 1993: 3.5).
pub const OUTLIER: f64 = 3.5;

impl Robust {
    /// Losses to pass through, in order; none for least squares.
    pub(super) fn stages(self) -> &'static [Robust] {
        match self {
            Self::No => &[],
            Self::Huber => &[Self::Huber],
            Self::Tukey => &[Self::Huber, Self::Tukey],
        }
    }

    /// Weight `ψ(z)/z` of a residual of `z` standard deviations.
    pub(super) fn weight(self, z: f64) -> f64 {
        let z = z.abs();
        match self {
            Self::No => 1.0,
            Self::Huber => {
                if z <= HUBER {
                    1.0
                } else {
                    HUBER / z
                }
            }
            Self::Tukey => {
                if z < TUKEY {
                    (1.0 - (z / TUKEY).powi(2)).powi(2)
                } else {
                    0.0
                }
            }
        }
    }

    /// Derivative `ψ'(z)`.
    pub(super) fn slope(self, z: f64) -> f64 {
        let z = z.abs();
        match self {
            Self::No => 1.0,
            Self::Huber => {
                if z <= HUBER {
                    1.0
                } else {
                    0.0
                }
            }
            Self::Tukey if z < TUKEY => {
                let t = (z / TUKEY).powi(2);
                (1.0 - t) * (1.0 - 5.0 * t)
            }
            Self::Tukey => 0.0,
        }
    }
}

/// Robust standard deviation of standardised residuals: the median of their magnitudes, scaled to a Gaussian.
///
/// Where the readings' uncertainties are known it is not taken below 1: that readings agree better than expected
/// makes none of them an outlier.
pub(super) fn scale(standardised: &[f64], estimated: bool) -> f64 {
    let mut sizes: Vec<f64> = standardised.iter().map(|z| z.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let n = sizes.len();
    let median = if n % 2 == 1 { sizes[n / 2] } else { 0.5 * (sizes[n / 2 - 1] + sizes[n / 2]) };
    let deviation = median / MEDIAN_DEVIATION;
    // Half or more of the residuals exactly 0 leaves no scale; any positive one then serves.
    if estimated { deviation.max(f64::MIN_POSITIVE) } else { deviation.max(1.0) }
}
