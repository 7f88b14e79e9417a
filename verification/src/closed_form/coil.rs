//! Cylindrical coils of uniform current density: field, self and mutual inductance, current sheets.

use super::elliptic::complete;
use super::quadrature::{gauss_legendre, integrate};
use super::{MU_0, loops};
use std::f64::consts::PI;

/// A coil of rectangular section, coaxial with z and centred at z = `centre_m`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coil {
    /// Inner radius, m.
    pub inner_m: f64,
    /// Outer radius, m.
    pub outer_m: f64,
    /// Axial length, m.
    pub length_m: f64,
    /// Height of its middle plane, m.
    pub centre_m: f64,
    /// Ampere-turns in all, spread evenly over the section.
    pub ampere_turns: f64,
}

impl Coil {
    /// B_z in T on the axis at height `z_m`. Closed form of the thick solenoid: D. B. Montgomery,
    /// *Solenoid Magnet Design*, ch. 1 (from memory); the loop's axis field integrated over the section.
    pub fn axis_field(&self, z_m: f64) -> f64 {
        let density = self.ampere_turns / ((self.outer_m - self.inner_m) * self.length_m);
        let end = |u: f64| {
            u * ((self.outer_m + self.outer_m.hypot(u)) / (self.inner_m + self.inner_m.hypot(u))).ln()
        };
        let z = z_m - self.centre_m;
        0.5 * MU_0 * density * (end(z + 0.5 * self.length_m) - end(z - 0.5 * self.length_m))
    }

    /// (B_r, B_z) in T at a point outside the winding, by quadrature of [`loops::field`] over the section.
    /// Points nearer than a tenth of the section's smaller side lose digits.
    pub fn field(&self, r_m: f64, z_m: f64) -> (f64, f64) {
        let rule = gauss_legendre(20);
        let (bottom, top) = (self.centre_m - 0.5 * self.length_m, self.centre_m + 0.5 * self.length_m);
        let area = (self.outer_m - self.inner_m) * self.length_m;
        let part = |pick: fn((f64, f64)) -> f64| {
            integrate(&rule, 4, self.inner_m, self.outer_m, |a| {
                integrate(&rule, 6, bottom, top, |h| pick(loops::field(a, 1.0, r_m, z_m - h)))
            }) * self.ampere_turns
                / area
        };
        (part(|b| b.0), part(|b| b.1))
    }

    /// ∫ r J₁(kr) dr over the winding's radii, divided by its radial build.
    fn radial_transform(&self, rule: &[(f64, f64)], k: f64) -> f64 {
        let build = self.outer_m - self.inner_m;
        let panels = 1 + (k * build / 8.0) as usize;
        integrate(rule, panels, self.inner_m, self.outer_m, |r| r * libm::j1(k * r)) / build
    }

    /// Mutual inductance per product of turns, in H, of two coils with the same middle plane; of a coil with
    /// itself, its inductance per turn squared.
    ///
    /// Hankel transform of the loop's potential (Jackson 5.5, problem 5.10):
    /// M = πµ0 ∫ P₁(k) P₂(k) Z(k) dk with P the mean of r J₁(kr) over the radii and Z the mean of
    /// e^(−k|z − z'|) over both lengths. Relative error about 1e-8: the tail, beyond where k r and k build
    /// are large, is added by its mean, which for a coil with itself is (r₁ + r₂) / (π build² k³) · 2 / (k length).
    pub fn mutual_per_turns(&self, other: &Coil) -> f64 {
        debug_assert!(self.centre_m == other.centre_m, "coils of one middle plane");
        let rule = gauss_legendre(16);
        let (long, short) = (self.length_m.max(other.length_m), self.length_m.min(other.length_m));
        let axial = |k: f64| {
            let ends = (-0.5 * k * (long - short)).exp() - (-0.5 * k * (long + short)).exp();
            // for small k the difference below cancels to 1 − k(...)
            if k * long < 1e-3 {
                return 1.0 - k * (3.0 * long * long + short * short) / (12.0 * long);
            }
            (2.0 * short / k - 2.0 * ends / (k * k)) / (long * short)
        };
        let reach = self.outer_m.max(other.outer_m).max(long);
        let build = |c: &Coil| c.outer_m - c.inner_m;
        let last = 600.0 / self.outer_m.min(other.outer_m).min(4.0 * build(self)).min(4.0 * build(other));
        let panels = (last * reach / 4.0) as usize + 1;
        let body = integrate(&rule, panels, 0.0, last, |k| {
            self.radial_transform(&rule, k) * other.radial_transform(&rule, k) * axial(k)
        });
        let tail = if self == other {
            2.0 * (self.inner_m + self.outer_m)
                / (3.0 * PI * build(self).powi(2) * self.length_m * last.powi(3))
        } else {
            0.0
        };
        PI * MU_0 * (body + tail)
    }

    /// Inductance per turn squared, H.
    pub fn inductance_per_turn2(&self) -> f64 {
        self.mutual_per_turns(self)
    }
}

/// Nagaoka's coefficient of a cylindrical current sheet of diameter over length `ratio`: its inductance is
/// this times µ0 N² π r² / l.
///
/// L. Lorenz (1879), as given by E. B. Rosa and F. W. Grover, Bulletin of the Bureau of Standards 8 (1912), in
/// the form of Nagaoka (1909): 4/(3π k') [ (k'²/k²)(K − E) + E − k ], tan of the modular angle = 2r/l.
pub fn nagaoka(ratio: f64) -> f64 {
    let modulus = ratio / ratio.hypot(1.0);
    let complement = 1.0 / ratio.hypot(1.0);
    let (first, second) = complete(modulus);
    let bracket = (complement / modulus).powi(2) * (first - second) + second - modulus;
    4.0 / (3.0 * PI * complement) * bracket
}

/// On-axis field constant of the Helmholtz pair in T m/A: B R / (N I) = µ0 (4/5)^(3/2).
pub fn helmholtz_constant() -> f64 {
    MU_0 * 0.8f64.powf(1.5)
}

#[cfg(test)]
mod tests {
    use super::super::assert_close;
    use super::*;

    const AIR_COIL: Coil =
        Coil { inner_m: 0.01, outer_m: 0.02, length_m: 0.04, centre_m: 0.0, ampere_turns: 1000.0 };

    /// Closed form in 50-digit arithmetic; off-axis values by adaptive quadrature of elliptic integrals.
    #[test]
    fn thick_coil_field() {
        assert_close(AIR_COIL.axis_field(0.0), 0.025_142_905_032_417_874, 1e-13);
        assert_close(AIR_COIL.axis_field(0.02), 0.014_686_654_336_420_86, 1e-13);
        let (br, bz) = AIR_COIL.field(0.015, 0.03);
        assert_close(br, 0.002_984_327_039_006_807, 1e-9);
        assert_close(bz, 0.003_235_106_540_500_89, 1e-9);
        assert_close(AIR_COIL.field(0.0, 0.03).1, AIR_COIL.axis_field(0.03), 1e-10);
    }

    /// Hankel integral with an analytic tail; a high-order finite element code agrees to 3e-7.
    #[test]
    fn thick_coil_inductance() {
        assert_close(AIR_COIL.inductance_per_turn2(), 1.269_756_659_54e-8, 2e-8);
    }

    /// Brooks's coil, square section c, inner radius c: L = 1.6994e-6 a N² H with mean radius a = 1.5 c
    /// (F. W. Grover, *Inductance Calculations*, 1946: 0.016994 a N² µH with a in cm, from memory).
    #[test]
    fn brooks_coil() {
        let c = 0.02;
        let coil = Coil { inner_m: c, outer_m: 2.0 * c, length_m: c, centre_m: 0.0, ampere_turns: 1.0 };
        assert_close(coil.inductance_per_turn2() / (1.5 * c), 1.699_378_2e-6, 1e-6);
        assert_close(coil.inductance_per_turn2() / (1.5 * c), 1.6994e-6, 2e-5);
    }

    /// Nagaoka's coefficients: exact to six digits, and the printed table (Nagaoka 1909, Rosa and Grover) to the
    /// last unit of its fifth digit, save the entry at 7.5, which is 1.3e-4 high.
    #[test]
    fn current_sheet() {
        for (ratio, k) in [
            (0.1, 0.958807),
            (0.2, 0.920093),
            (0.25, 0.901649),
            (0.5, 0.818136),
            (1.0, 0.688423),
            (2.0, 0.52551),
            (3.0, 0.429199),
            (4.0, 0.365432),
            (5.0, 0.319825),
            (10.0, 0.203324),
        ] {
            assert!((nagaoka(ratio) - k).abs() < 6e-7, "2r/l = {ratio}: {}", nagaoka(ratio));
        }
        let printed = [
            0.818136, 0.688423, 0.595045, 0.52551, 0.471865, 0.429199, 0.394401, 0.365438, 0.340898,
            0.319825, 0.301502, 0.285406, 0.271144, 0.258407, 0.246982, 0.236581, 0.227147, 0.218528,
            0.210617, 0.203315,
        ];
        for (i, k) in printed.into_iter().enumerate() {
            let ratio = 0.5 * (i + 1) as f64;
            let allowed = if ratio == 7.5 { 1.4e-4 } else { 5e-5 };
            assert_close(nagaoka(ratio), k, allowed);
        }
    }

    /// A thin winding tends to the current sheet, from below and in proportion to its build t: extrapolated; what
    /// is left is of the order (t/r)² = 4e-4 of the thicker one.
    #[test]
    fn thin_winding_is_a_current_sheet() {
        let (r, l) = (0.02, 0.04);
        let of_build = |build: f64| {
            let (inner_m, outer_m) = (r - 0.5 * build, r + 0.5 * build);
            Coil { inner_m, outer_m, length_m: l, centre_m: 0.0, ampere_turns: 1.0 }.inductance_per_turn2()
        };
        let sheet = nagaoka(1.0) * MU_0 * PI * r * r / l;
        let (thick, thin) = (of_build(4e-4), of_build(2e-4));
        assert!(thick < thin && thin < sheet);
        assert_close(2.0 * thin - thick, sheet, 4e-4);
    }

    /// Wheeler's single-layer formula (Proc. IRE 16 (1928) 1398, from memory), r = 0.5 in, l = 1 in, 50 turns:
    /// 43.1034 µH, within 0.1 % of the exact sheet.
    #[test]
    fn wheelers_formula_is_close() {
        let (r, l, n) = (0.0127, 0.0254, 50.0);
        let sheet = nagaoka(2.0 * r / l) * MU_0 * n * n * PI * r * r / l;
        assert_close(sheet, 43.1448e-6, 2e-6);
        assert_close(sheet, 43.1034e-6, 1.1e-3);
    }

    /// Fabry's factor G of the best uniform coil, 0.1792 at outer/inner radius 3.0951 and length/inner diameter
    /// 1.8618 (Montgomery, ch. 2: 0.179, from memory): B = G √(λ W / (ρ a)) in gauss, watts and centimetres,
    /// where µ0 is 0.4π.
    #[test]
    fn fabry_factor() {
        let (alpha, beta) = (3.09515, 1.86177);
        let coil =
            Coil { inner_m: 1.0, outer_m: alpha, length_m: 2.0 * beta, centre_m: 0.0, ampere_turns: 1.0 };
        let density = 1.0 / ((alpha - 1.0) * 2.0 * beta);
        let volume = 2.0 * PI * beta * (alpha * alpha - 1.0);
        assert_close(0.4 * PI * coil.axis_field(0.0) / MU_0 / (density * volume.sqrt()), 0.179_226_6, 1e-6);
    }

    #[test]
    fn helmholtz_pair() {
        assert_close(helmholtz_constant(), 8.991_763e-7, 1e-6);
    }
}
