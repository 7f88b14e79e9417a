//! Gauss–Legendre quadrature.

/// Nodes and weights of the `n`-point rule on [−1, 1], by Newton's method on the Legendre polynomial
/// (Abramowitz and Stegun 25.4.29).
pub(super) fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    let order = n as f64;
    (0..n)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (order + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut p, mut previous) = (1.0, 0.0);
                for j in 0..n {
                    let j = j as f64;
                    (p, previous) = (((2.0 * j + 1.0) * x * p - j * previous) / (j + 1.0), p);
                }
                slope = order * (x * p - previous) / (x * x - 1.0);
                let step = p / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// The integral of `f` over [a, b] with `panels` equal panels of the given rule.
pub(super) fn integrate(rule: &[(f64, f64)], panels: usize, a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let half = 0.5 * (b - a) / panels as f64;
    (0..panels)
        .map(|i| {
            let middle = a + half * (2 * i + 1) as f64;
            half * rule.iter().map(|&(x, w)| w * f(middle + half * x)).sum::<f64>()
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    /// An n-point rule is exact for polynomials of degree 2n − 1.
    #[test]
    fn is_exact_for_polynomials() {
        let rule = gauss_legendre(8);
        assert_close(integrate(&rule, 1, 0.0, 2.0, |x| x.powi(15)), 2f64.powi(16) / 16.0, 1e-13);
        assert_close(integrate(&rule, 4, 0.0, 3.0, f64::exp), 3f64.exp() - 1.0, 1e-14);
    }
}
