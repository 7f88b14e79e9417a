//! Uniformly magnetised cylinders of recoil permeability 1: equivalent to a current sheet on the mantle.

use super::loops;
use super::quadrature::{gauss_legendre, integrate};
use super::{MU_0, coil::nagaoka};

/// A cylinder magnetised along z with remanence `remanence_t` and recoil permeability 1; face at z = 0, the
/// body below.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cylinder {
    /// Radius, m.
    pub radius_m: f64,
    /// Height, m.
    pub height_m: f64,
    /// Remanence, T.
    pub remanence_t: f64,
}

impl Cylinder {
    /// B_z in T on the axis, `z_m` above the face: B_r/2 [ (z + L)/√(R² + (z + L)²) − z/√(R² + z²) ].
    /// The axis field of a solenoidal sheet µ0 K = B_r (any text, e.g. Jackson problem 5.3).
    pub fn axis_field(&self, z_m: f64) -> f64 {
        let end = |u: f64| u / u.hypot(self.radius_m);
        0.5 * self.remanence_t * (end(z_m + self.height_m) - end(z_m))
    }

    /// (B_r, B_z) in T at a point outside, by quadrature of [`loops::field`] over the sheet, panels graded
    /// towards the face.
    pub fn field(&self, r_m: f64, z_m: f64) -> (f64, f64) {
        let rule = gauss_legendre(30);
        let sheet_a_per_m = self.remanence_t / MU_0;
        let part = |pick: fn((f64, f64)) -> f64| {
            let (mut sum, mut near, mut far) = (0.0, 0.0, self.height_m / 256.0);
            while near < self.height_m {
                sum += integrate(&rule, 1, near, far, |d| {
                    pick(loops::field(self.radius_m, sheet_a_per_m, r_m, z_m + d))
                });
                (near, far) = (far, 2.0 * far);
            }
            sum
        };
        (part(|b| b.0), part(|b| b.1))
    }

    /// Mean of B_z over the body, T: B_r K(2R/L), with Nagaoka's coefficient K, for the mean flux of the sheet
    /// through itself is its inductance. 1 − K is the magnetometric demagnetising factor
    /// (R. I. Joseph, J. Appl. Phys. 37 (1966) 4639, from memory).
    pub fn mean_flux_density(&self) -> f64 {
        self.remanence_t * nagaoka(2.0 * self.radius_m / self.height_m)
    }
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    const MAGNET: Cylinder = Cylinder { radius_m: 0.025, height_m: 0.03, remanence_t: 1.26 };

    /// Closed form in multiple precision.
    #[test]
    fn axis() {
        for (z_mm, b) in [
            (0.5, 0.474_639_545_369_185_9),
            (1.0, 0.465_220_350_709_668_4),
            (2.0, 0.446_215_865_408_254_2),
            (5.0, 0.389_098_921_723_187_1),
            (10.0, 0.300_262_805_420_120_1),
            (20.0, 0.169_931_250_370_659_7),
        ] {
            assert_close(MAGNET.axis_field(z_mm * 1e-3), b, 1e-13);
            assert_close(MAGNET.field(0.0, z_mm * 1e-3).1, b, 1e-10);
        }
    }

    /// Elliptic integrals over the sheet, in multiple precision.
    #[test]
    fn near_the_edge() {
        let (br, bz) = MAGNET.field(0.024, 0.001);
        assert_close(br, 0.544_964_053_061_256_2, 1e-9);
        assert_close(bz, 0.357_037_887_369_914_8, 1e-9);
    }

    /// Demagnetising factor of a cylinder as long as wide: 0.3116 (literature, from memory), 0.3115774 computed.
    #[test]
    fn demagnetising_factor() {
        let cube_like = Cylinder { radius_m: 0.01, height_m: 0.02, remanence_t: 1.0 };
        assert_close(1.0 - cube_like.mean_flux_density(), 0.311_577_4, 1e-6);
    }
}
