//! Statistical tolerance intervals: what some measured units say of all others.

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// Equally likely strata of the deviation that the sample may have had.
const STRATA: usize = 4000;

/// Factor `k` such that, with the given confidence, at least a share of all units lies above the mean of `n` measured ones
/// less `k` of their standard deviations: one-sided, normally distributed, mean and deviation both unknown (ISO 16269-6:2014,
/// from memory). Not a number for fewer than two units, or where share or confidence is not between 0 and 1.
///
/// With S the sample's deviation over the true one, the confidence is the mean of Φ(√n (k S − z)) over S, for z the
/// Gaussian quantile of the share: the definition of the noncentral t, summed over strata of S.
pub fn lower_factor(n: usize, share: f64, confidence: f64) -> f64 {
    let inside = |p: f64| p > 0.0 && p < 1.0;
    let Ok(square) = ChiSquared::new((n as f64 - 1.0).max(f64::MIN_POSITIVE)) else { return f64::NAN };
    if n < 2 || !inside(share) || !inside(confidence) {
        return f64::NAN;
    }
    let normal = Normal::standard();
    let (z, root) = (normal.inverse_cdf(share), (n as f64).sqrt());
    let deviations: Vec<f64> = (0..STRATA)
        .map(|k| (square.inverse_cdf((k as f64 + 0.5) / STRATA as f64) / (n as f64 - 1.0)).sqrt())
        .collect();
    let reached =
        |k: f64| deviations.iter().map(|s| normal.cdf(root * (k * s - z))).sum::<f64>() / STRATA as f64;
    let (mut low, mut high) = (-1e3, 1e3);
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        if reached(middle) < confidence { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 16269-6:2014, annex with factors for one-sided intervals, both parameters unknown, confidence 95 % (from memory;
    /// the same factors stand in G. Hahn and W. Meeker, Statistical Intervals, table A.12).
    #[test]
    fn agrees_with_the_printed_factors() {
        for (n, share, factor) in [
            (5, 0.95, 4.203),
            (10, 0.90, 2.355),
            (10, 0.95, 2.911),
            (10, 0.99, 3.981),
            (20, 0.95, 2.396),
            (20, 0.99, 3.295),
            (30, 0.95, 2.220),
        ] {
            let found = lower_factor(n, share, 0.95);
            assert!((found - factor).abs() < 2e-3 * factor, "{n}, {share}: {found} for {factor}");
        }
    }

    /// Without a known deviation nothing can be said of one unit.
    #[test]
    fn one_unit_says_nothing() {
        assert!(lower_factor(1, 0.95, 0.95).is_nan());
        assert!(lower_factor(5, 1.0, 0.95).is_nan());
    }
}
