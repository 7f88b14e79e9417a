//! Circular current loops: field, vector potential, mutual inductance, force; a loop before iron.

use super::MU_0;
use super::elliptic::complete_complementary;

/// 1 − k² and (a + r)² + z² for a loop of radius `a_m` and a point at `r_m`, `z_m` from its centre.
fn modulus(a_m: f64, r_m: f64, z_m: f64) -> (f64, f64) {
    let far2 = (a_m + r_m).powi(2) + z_m * z_m;
    (((a_m - r_m).powi(2) + z_m * z_m) / far2, far2)
}

/// (B_r, B_z) in T of a loop of radius `a_m` carrying `current_a`, at radius `r_m` and height `z_m` above it.
///
/// W. R. Smythe, *Static and Dynamic Electricity*, 7.10 (from memory). Not defined on the wire itself.
pub fn field(a_m: f64, current_a: f64, r_m: f64, z_m: f64) -> (f64, f64) {
    let (m1, far2) = modulus(a_m, r_m, z_m);
    let (k, e) = complete_complementary(m1);
    let near2 = m1 * far2;
    let scale = MU_0 * current_a / (2.0 * std::f64::consts::PI * far2.sqrt());
    let bz = scale * (k + (a_m * a_m - r_m * r_m - z_m * z_m) / near2 * e);
    let br = if r_m == 0.0 {
        0.0
    } else {
        scale * z_m / r_m * (-k + (a_m * a_m + r_m * r_m + z_m * z_m) / near2 * e)
    };
    (br, bz)
}

/// A_φ in T m of the same loop at the same point (J. D. Jackson, *Classical Electrodynamics*, 5.5).
pub fn vector_potential(a_m: f64, current_a: f64, r_m: f64, z_m: f64) -> f64 {
    if r_m == 0.0 {
        return 0.0;
    }
    mutual_inductance(a_m, r_m, z_m) * current_a / (2.0 * std::f64::consts::PI * r_m)
}

/// Mutual inductance in H of two coaxial circles of radii `a_m` and `b_m`, planes `z_m` apart.
///
/// J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 701:
/// M = µ0 √(ab) [(2/k − k) K − (2/k) E], k² = 4ab / ((a + b)² + z²).
pub fn mutual_inductance(a_m: f64, b_m: f64, z_m: f64) -> f64 {
    let (m1, far2) = modulus(a_m, b_m, z_m);
    let (first, second) = complete_complementary(m1);
    let k = (4.0 * a_m * b_m / far2).sqrt();
    MU_0 * (a_m * b_m).sqrt() * ((2.0 / k - k) * first - 2.0 / k * second)
}

/// Force in N between two coaxial loops per product of their currents (A²), positive where like currents
/// attract: −dM/dz for z > 0, here as 2πb B_r (Maxwell, art. 701, differentiated).
pub fn force_per_current2(a_m: f64, b_m: f64, z_m: f64) -> f64 {
    2.0 * std::f64::consts::PI * b_m * field(a_m, 1.0, b_m, z_m).0
}

/// Pull in N between a loop of radius `a_m` carrying `current_a` and a half-space of relative permeability
/// `mu_r` whose surface lies `height_m` below it.
///
/// Image loop at twice the distance with (µr − 1)/(µr + 1) of the current (Jackson 5.10 and problem 5.17).
pub fn pull_on_half_space(a_m: f64, current_a: f64, height_m: f64, mu_r: f64) -> f64 {
    let image = if mu_r.is_infinite() { 1.0 } else { (mu_r - 1.0) / (mu_r + 1.0) };
    image * current_a * current_a * force_per_current2(a_m, a_m, 2.0 * height_m)
}

/// As [`force_per_current2`] for two windings of square section `side_m` around the filaments' places, uniform
/// current density.
pub fn force_per_current2_of_sections(a_m: f64, b_m: f64, z_m: f64, side_m: f64) -> f64 {
    let rule = super::quadrature::gauss_legendre(4);
    let place = |x: f64| 0.5 * side_m * x;
    let mut sum = 0.0;
    for &(x1, w1) in &rule {
        for &(y1, v1) in &rule {
            for &(x2, w2) in &rule {
                for &(y2, v2) in &rule {
                    let z = z_m + place(y1) - place(y2);
                    sum += w1 * v1 * w2 * v2 / 16.0 * force_per_current2(a_m + place(x1), b_m + place(x2), z);
                }
            }
        }
    }
    sum
}

/// As [`pull_on_half_space`] for a winding of square section `side_m`.
pub fn pull_on_half_space_of_section(a_m: f64, current_a: f64, height_m: f64, side_m: f64, mu_r: f64) -> f64 {
    let image = if mu_r.is_infinite() { 1.0 } else { (mu_r - 1.0) / (mu_r + 1.0) };
    image * current_a * current_a * force_per_current2_of_sections(a_m, a_m, 2.0 * height_m, side_m)
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    /// Rosa and Grover's example (Bulletin of the Bureau of Standards 8, 1912): a = 20 cm, A = 25 cm,
    /// d = 10 cm, M = 248.787 cm (from memory).
    #[test]
    fn mutual_inductance_of_rosa_and_grovers_circles() {
        assert_close(mutual_inductance(0.20, 0.25, 0.10), 0.248_787_36e-6, 1e-7);
    }

    /// Values computed from the elliptic formula and confirmed by differencing M.
    #[test]
    fn force_between_loops() {
        for (a, b, z, f) in [
            (0.1, 0.1, 0.01, 1.239_937e-5),
            (0.1, 0.1, 0.05, 2.069_374_4e-6),
            (0.1, 0.1, 0.1, 7.183_656_7e-7),
            (0.2, 0.25, 0.1, 1.850_904_7e-6),
            (0.05, 0.1, 0.03, 5.148_166_7e-7),
        ] {
            assert_close(force_per_current2(a, b, z), f, 1e-6);
            let h = 1e-5;
            let slope = (mutual_inductance(a, b, z - h) - mutual_inductance(a, b, z + h)) / (2.0 * h);
            assert_close(slope, f, 1e-5);
        }
    }

    /// On the axis: B = µ0 I a² / 2(a² + z²)^(3/2) (Biot and Savart).
    #[test]
    fn axis_field() {
        let (a, z, i) = (0.03, 0.04, 2.0);
        assert_close(field(a, i, 0.0, z).1, MU_0 * i * a * a / (2.0 * 0.05f64.powi(3)), 1e-13);
        assert_close(field(a, i, 1e-7, z).1, field(a, i, 0.0, z).1, 1e-9);
    }

    /// B = curl A, by differences.
    #[test]
    fn field_is_the_curl_of_the_potential() {
        let (a, r, z, h) = (0.05, 0.03, 0.02, 1e-5);
        let (br, bz) = field(a, 1.0, r, z);
        let curl_r = -(vector_potential(a, 1.0, r, z + h) - vector_potential(a, 1.0, r, z - h)) / (2.0 * h);
        let flux = |r: f64| r * vector_potential(a, 1.0, r, z);
        assert_close(curl_r, br, 1e-6);
        assert_close((flux(r + h) - flux(r - h)) / (2.0 * h * r), bz, 1e-6);
    }

    /// A loop of 50 mm radius, 1000 A, 10 mm before perfect iron: 2.741797 N (computed from the image).
    #[test]
    fn pull_on_iron() {
        assert_close(pull_on_half_space(0.05, 1000.0, 0.01, f64::INFINITY), 2.741_797, 1e-6);
        let bundle = pull_on_half_space_of_section(0.05, 1000.0, 0.01, 1e-6, 1000.0);
        assert_close(bundle, 2.741_797 * 999.0 / 1001.0, 1e-6);
    }
}
