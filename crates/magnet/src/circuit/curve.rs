//! A table as a monotone curve with a continuous slope.

/// Table points joined by monotone cubics.
///
/// Slopes by Fritsch and Butland's weighted harmonic mean (SIAM J. Sci. Stat. Comput. 5 (1984) 300): a
/// monotone table gives a monotone curve, and a straight one stays exactly straight.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

/// What a table lacks.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// Two points are the least.
    #[error("it has fewer than two points")]
    TooShort,
    /// Abscissae must be finite and rise.
    #[error("its point {0} (counted from 0) does not lie beyond the one before")]
    Abscissa(usize),
    /// Ordinates must be finite and must not fall.
    #[error("its point {0} (counted from 0) falls, or is no number")]
    Ordinate(usize),
}

impl Curve {
    /// From abscissae that rise and ordinates that do not fall.
    ///
    /// # Errors
    /// A table that is too short, not finite or not monotone.
    pub fn new(x: Vec<f64>, y: Vec<f64>) -> Result<Self, CurveError> {
        if x.len() < 2 || x.len() != y.len() {
            return Err(CurveError::TooShort);
        }
        for k in 0..x.len() {
            if !x[k].is_finite() || (k > 0 && x[k] <= x[k - 1]) {
                return Err(CurveError::Abscissa(k));
            }
            if !y[k].is_finite() || (k > 0 && y[k] < y[k - 1]) {
                return Err(CurveError::Ordinate(k));
            }
        }
        let slope = slopes(&x, &y);
        Ok(Self { x, y, slope })
    }

    /// First and last abscissa.
    pub fn range(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }

    /// The table's abscissae.
    pub fn knots(&self) -> &[f64] {
        &self.x
    }

    /// Ordinate, or `None` outside the table.
    pub fn value(&self, x: f64) -> Option<f64> {
        let (k, t, h) = self.place(x)?;
        let (a, b) = (self.slope[k] * h, self.slope[k + 1] * h);
        let rise = self.y[k + 1] - self.y[k];
        Some(self.y[k] + t * (a + t * (3.0 * rise - 2.0 * a - b + t * (a + b - 2.0 * rise))))
    }

    /// Slope, or `None` outside the table.
    pub fn derivative(&self, x: f64) -> Option<f64> {
        let (k, t, h) = self.place(x)?;
        let (a, b) = (self.slope[k] * h, self.slope[k + 1] * h);
        let rise = self.y[k + 1] - self.y[k];
        Some((a + t * (2.0 * (3.0 * rise - 2.0 * a - b) + 3.0 * t * (a + b - 2.0 * rise))) / h)
    }

    /// Least abscissa with at least this ordinate, or `None` if the table does not get there.
    pub fn inverse(&self, y: f64) -> Option<f64> {
        let k = self.y.iter().position(|v| *v >= y)?;
        if k == 0 {
            return (self.y[0] == y).then_some(self.x[0]);
        }
        let (mut low, mut high) = (self.x[k - 1], self.x[k]);
        loop {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                return Some(high);
            }
            if self.value(middle)? < y { low = middle } else { high = middle }
        }
    }

    fn place(&self, x: f64) -> Option<(usize, f64, f64)> {
        let (first, last) = self.range();
        if !(first..=last).contains(&x) {
            return None;
        }
        let k = self.x.partition_point(|v| *v <= x).clamp(1, self.x.len() - 1) - 1;
        let h = self.x[k + 1] - self.x[k];
        Some((k, (x - self.x[k]) / h, h))
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let secant: Vec<f64> = y.windows(2).zip(&h).map(|(w, h)| (w[1] - w[0]) / h).collect();
    if n == 2 {
        return vec![secant[0]; 2];
    }
    let mut slope = vec![0.0; n];
    for k in 1..n - 1 {
        let (a, b) = (secant[k - 1], secant[k]);
        if a > 0.0 && b > 0.0 {
            let (u, v) = (2.0 * h[k] + h[k - 1], h[k] + 2.0 * h[k - 1]);
            slope[k] = (u + v) / (u / a + v / b);
        }
    }
    slope[0] = end_slope(h[0], h[1], secant[0], secant[1]);
    slope[n - 1] = end_slope(h[n - 2], h[n - 3], secant[n - 2], secant[n - 3]);
    slope
}

/// One-sided three-point slope, cut back where it would break monotony.
fn end_slope(near: f64, next: f64, near_secant: f64, next_secant: f64) -> f64 {
    let three_point = ((2.0 * near + next) * near_secant - near * next_secant) / (near + next);
    three_point.clamp(0.0, 3.0 * near_secant)
}
