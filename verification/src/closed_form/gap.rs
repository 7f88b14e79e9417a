//! Pull over short gaps: Maxwell's B²/2µ0, and the first term of the fringing at a pole's edge.

use super::MU_0;
use std::f64::consts::PI;

/// Maxwell's pull per area in Pa at flux density `flux_density_t`: B²/(2 µ0) (Maxwell, art. 643).
pub fn maxwell_pressure(flux_density_t: f64) -> f64 {
    flux_density_t * flux_density_t / (2.0 * MU_0)
}

/// Permeance in H of a short gap between a pole face of `area_m2` with right-angled edges of total length
/// `edge_m` and a flat of perfect iron, and its derivative with respect to the gap in H/m.
///
/// µ0 [ A/g + (2/π) s (ln(h/g) + c) ]: far from the gap the field between flat and side wall is that of a
/// right-angled wedge, B = µ0 V / (ρ π/2), whence the logarithm (conformal mapping of a corner over a plane;
/// J. J. Thomson, *Recent Researches*, 1893, from memory). `reach_m` is the height h to which the side wall
/// feels the flat; the constant c of order 1 is left out. The derivative does not depend on either.
pub fn permeance(area_m2: f64, edge_m: f64, gap_m: f64, reach_m: f64) -> (f64, f64) {
    let fringe = 2.0 / PI * edge_m;
    (
        MU_0 * (area_m2 / gap_m + fringe * (reach_m / gap_m).ln()),
        -MU_0 * (area_m2 / (gap_m * gap_m) + fringe / gap_m),
    )
}

/// Pull in N of two gaps in series under `ampere_turns`, given each one's [`permeance`]: −½ (NI)² dP/dg of
/// P = P₁P₂/(P₁ + P₂).
pub fn pull_of_two_gaps(ampere_turns: f64, first: (f64, f64), second: (f64, f64)) -> f64 {
    let sum = first.0 + second.0;
    let slope = ((second.0 / sum).powi(2)) * first.1 + ((first.0 / sum).powi(2)) * second.1;
    -0.5 * ampere_turns * ampere_turns * slope
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    /// B²/2µ0 in N/cm² at the round figures of the trade's tables.
    #[test]
    fn pressure() {
        for (b, n_per_cm2) in [
            (0.5, 9.947),
            (1.0, 39.789),
            (1.2, 57.296),
            (1.5, 89.525),
            (1.6, 101.859),
            (1.8, 128.916),
            (2.0, 159.155),
        ] {
            assert_close(maxwell_pressure(b) * 1e-4, n_per_cm2, 1e-4);
        }
    }

    /// Without edges the pull is Maxwell's pressure on both faces.
    #[test]
    fn series_gaps_without_edges() {
        let (a1, a2, g, ni) = (3e-4, 5e-4, 1e-4, 100.0);
        let pull = pull_of_two_gaps(ni, permeance(a1, 0.0, g, 1.0), permeance(a2, 0.0, g, 1.0));
        let flux = ni * MU_0 / (g / a1 + g / a2);
        assert_close(pull, maxwell_pressure(flux / a1) * a1 + maxwell_pressure(flux / a2) * a2, 1e-12);
    }

    /// Fitzgerald and Umans, *Electric Machinery*, example 1.1 (figures from memory): 9 cm², 0.5 mm, 30 cm, 500
    /// turns, µr 70000: gap reluctance 4.42e5 A/Wb and 0.80 A for 1 T.
    #[test]
    fn textbook_core() {
        let reluctance = 1.0 / permeance(9e-4, 0.0, 5e-4, 1.0).0;
        assert_close(reluctance, 4.42e5, 1e-3);
        let core = 0.3 / (70_000.0 * MU_0 * 9e-4);
        assert_close((reluctance + core) * 9e-4 / 500.0, 0.80, 1e-2);
    }
}
