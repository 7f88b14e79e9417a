//! TEAM workshop problem 22: two opposed coils that store energy with little stray field.

use super::coil::Coil;

/// Inner coil of the three-parameter case: mean radius 2 m, radial width 0.27 m, height 1.6 m, 22.5 MA/m²
/// (COMPUMAG TEAM problem 22, P. Alotto and others; geometry from memory).
pub const INNER: Coil =
    Coil { inner_m: 1.865, outer_m: 2.135, length_m: 1.6, centre_m: 0.0, ampere_turns: 22.5e6 * 0.27 * 1.6 };

/// Outer coil: mean radius 3.08 m, width 0.394 m, height 0.478 m, −22.5 MA/m².
pub const OUTER: Coil = Coil {
    inner_m: 2.883,
    outer_m: 3.277,
    length_m: 0.478,
    centre_m: 0.0,
    ampere_turns: -22.5e6 * 0.394 * 0.478,
};

/// B_z in T on the axis.
pub fn axis_field(z_m: f64) -> f64 {
    INNER.axis_field(z_m) + OUTER.axis_field(z_m)
}

/// Stored energy in J.
pub fn energy() -> f64 {
    let (i1, i2) = (INNER.ampere_turns, OUTER.ampere_turns);
    0.5 * INNER.inductance_per_turn2() * i1 * i1
        + 0.5 * OUTER.inductance_per_turn2() * i2 * i2
        + INNER.mutual_per_turns(&OUTER) * i1 * i2
}

/// The 22 points (r, z) in m where the problem asks for the stray field.
pub fn stray_points() -> Vec<(f64, f64)> {
    let along = |f: fn(f64) -> (f64, f64)| (0..11).map(move |i| f(i as f64));
    along(|x| (x, 10.0)).chain(along(|x| (10.0, x))).collect()
}

/// Mean of |B|² over the points, T².
pub fn mean_square_stray() -> f64 {
    let points = stray_points();
    let sum: f64 = points
        .iter()
        .map(|&(r, z)| {
            let ((r1, z1), (r2, z2)) = (INNER.field(r, z), OUTER.field(r, z));
            (r1 + r2).powi(2) + (z1 + z2).powi(2)
        })
        .sum();
    sum / points.len() as f64
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    #[test]
    fn axis() {
        for (z, b) in [(0.0, 1.975_158_44), (0.5, 1.818_352_73), (1.0, 1.430_705_84), (2.0, 0.630_788_38)] {
            assert_close(axis_field(z), b, 1e-7);
        }
    }

    /// Hankel integral with Struve functions in SciPy: 179.86651 MJ; published 180.0277 MJ (from memory), 0.1 % away.
    #[test]
    fn stored_energy() {
        assert_close(energy(), 179.866_51e6, 1e-7);
        assert_close(energy(), 180.0277e6, 1.5e-3);
    }

    /// Exact quadrature; digits 7.9138 of the published figure recalled.
    #[test]
    fn stray_field() {
        assert_close(mean_square_stray(), 7.913_805e-7, 1e-6);
    }
}
