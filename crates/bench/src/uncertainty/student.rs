//! Student's t: coverage factors for few degrees of freedom.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Factor `k` such that `± k u` covers the given probability: two-sided Student t (JCGM 100:2008, annex G.3).
///
/// Degrees of freedom are truncated to the next lower integer (G.4.1), but not below 1; infinite ones give
/// the Gaussian factor. `coverage` lies strictly between 0 and 1.
pub fn coverage_factor(coverage: f64, dof: f64) -> f64 {
    let dof = if dof.is_finite() { dof.floor().max(1.0) } else { dof };
    student_quantile(0.5 + coverage / 2.0, dof)
}

/// Quantile of Student's t at a cumulative probability between 0 and 1; Gaussian for infinite degrees of freedom.
pub fn student_quantile(probability: f64, dof: f64) -> f64 {
    // Beyond 10⁸ degrees of freedom t and the Gaussian agree to 1e-8, and t's inverse gets slow.
    if dof > 1e8 {
        return Normal::standard().inverse_cdf(probability);
    }
    match StudentsT::new(0.0, 1.0, dof) {
        Ok(t) => t.inverse_cdf(probability),
        // Only for dof not above 0, which `Inputs::new` refuses.
        Err(_) => f64::NAN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008 table G.2 (95 %, 99 %), from memory; t(99 %, 16) = 2.92 is used in its H.1.
    #[test]
    fn agrees_with_the_printed_table() {
        let table = [
            (1.0, 12.71, 63.66),
            (2.0, 4.30, 9.92),
            (5.0, 2.57, 4.03),
            (10.0, 2.23, 3.17),
            (16.0, 2.12, 2.92),
            (50.0, 2.01, 2.68),
            (f64::INFINITY, 1.960, 2.576),
        ];
        for (dof, t95, t99) in table {
            assert!((coverage_factor(0.95, dof) - t95).abs() < 0.0051, "{dof}");
            assert!((coverage_factor(0.99, dof) - t99).abs() < 0.0051, "{dof}");
        }
    }

    /// Closed forms of the t quantile for 1 and 2 degrees of freedom: tan(π(p − ½)); (2p−1)√(2/(1 − (2p−1)²)).
    #[test]
    fn agrees_with_the_closed_forms() {
        for p in [0.003, 0.2, 0.5, 0.77, 0.975, 0.9999] {
            let cauchy = (std::f64::consts::PI * (p - 0.5)).tan();
            let two = (2.0 * p - 1.0) * (2.0 / (1.0 - (2.0 * p - 1.0f64).powi(2))).sqrt();
            assert!((student_quantile(p, 1.0) - cauchy).abs() < 1e-9 * (1.0 + cauchy.abs()), "{p}");
            assert!((student_quantile(p, 2.0) - two).abs() < 1e-9 * (1.0 + two.abs()), "{p}");
        }
    }

    #[test]
    fn truncates_degrees_of_freedom() {
        assert_eq!(coverage_factor(0.99, 16.66), coverage_factor(0.99, 16.0));
        assert_eq!(coverage_factor(0.95, 0.4), coverage_factor(0.95, 1.0));
    }
}
