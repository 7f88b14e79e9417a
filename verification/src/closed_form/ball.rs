//! Spheres in a uniform field: linear, nonlinear, and the spherical shield.

use super::MU_0;

/// Flux density inside a sphere of relative permeability `mu_r` over the applied one: 3 µr/(µr + 2)
/// (Jackson 5.11).
pub fn linear(mu_r: f64) -> f64 {
    3.0 * mu_r / (mu_r + 2.0)
}

/// (H in A/m, B in T) inside a sphere of a material with the increasing law `flux_density` (B of H) in the
/// uniform applied field `applied_t` > 0: the field inside is uniform, B + 2 µ0 H = 3 B0 (Jackson 5.11, which
/// holds for any isotropic law since the demagnetising factor of a sphere is 1/3).
pub fn nonlinear(applied_t: f64, flux_density: impl Fn(f64) -> f64) -> (f64, f64) {
    let (mut low, mut high) = (0.0, 1.5 * applied_t / MU_0);
    for _ in 0..200 {
        let h = 0.5 * (low + high);
        if flux_density(h) + 2.0 * MU_0 * h < 3.0 * applied_t {
            low = h;
        } else {
            high = h;
        }
    }
    let h = 0.5 * (low + high);
    (h, 3.0 * applied_t - 2.0 * MU_0 * h)
}

/// Field inside a spherical shell of inner over outer radius `ratio` and relative permeability `mu_r`, over
/// the applied one (Jackson 5.12, equation 5.121).
pub fn shield(ratio: f64, mu_r: f64) -> f64 {
    9.0 * mu_r / ((2.0 * mu_r + 1.0) * (mu_r + 2.0) - 2.0 * ratio.powi(3) * (mu_r - 1.0).powi(2))
}

/// The arctangent law B = µ0 H + Js (2/π) atan(π (µr − 1) µ0 H / (2 Js)), with saturation polarisation
/// `saturation_t` and initial relative permeability `mu_r`; T for A/m.
pub fn arctangent_law(saturation_t: f64, mu_r: f64, h: f64) -> f64 {
    use std::f64::consts::PI;
    MU_0 * h + saturation_t * 2.0 / PI * (PI * (mu_r - 1.0) * MU_0 * h / (2.0 * saturation_t)).atan()
}

/// Linear interpolation of a table of (H, B) from the origin on, continued with the slope µ0.
pub fn table_law(table: &[(f64, f64)], h: f64) -> f64 {
    let upper = table.partition_point(|&(x, _)| x <= h);
    if upper == table.len() {
        return table.last().map_or(MU_0 * h, |&(x, b)| b + MU_0 * (h - x));
    }
    let ((h0, b0), (h1, b1)) = (if upper == 0 { (0.0, 0.0) } else { table[upper - 1] }, table[upper]);
    b0 + (b1 - b0) * (h - h0) / (h1 - h0)
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    #[test]
    fn linear_sphere() {
        for (mu_r, ratio) in [(10.0, 2.5), (100.0, 2.941_176), (1000.0, 2.994_012)] {
            assert_close(linear(mu_r), ratio, 1e-6);
        }
    }

    #[test]
    fn nonlinear_sphere_by_the_arctangent_law() {
        for (b0, b) in [(0.05, 0.149_799_429_010_483_54), (0.5, 1.496_334_693_922_612_8)] {
            assert_close(nonlinear(b0, |h| arctangent_law(2.1, 1500.0, h)).1, b, 1e-13);
        }
    }

    /// TEAM workshop problem 13's steel (T. Nakata and K. Fujiwara), linear between its points.
    #[test]
    fn nonlinear_sphere_by_a_table() {
        let table: Vec<(f64, f64)> = crate::TEAM_13_STEEL.to_vec();
        for (b0, h, b) in [
            (0.1, 221.933, 0.299442),
            (0.3, 312.811, 0.899214),
            (0.5, 926.365, 1.497672),
            (0.6, 8471.688, 1.778708),
        ] {
            let (h_in, b_in) = nonlinear(b0, |h| table_law(&table, h));
            assert_close(h_in, h, 2e-6);
            assert_close(b_in, b, 2e-6);
        }
    }

    #[test]
    fn spherical_shield() {
        assert_close(shield(0.9, 1000.0), 0.016_366_12, 1e-6);
        assert_close(shield(0.9, 1.0), 1.0, 1e-14);
    }
}
