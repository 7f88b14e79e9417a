//! Nusselt numbers by published correlations: pure functions of Rayleigh, Reynolds and Prandtl numbers.
//!
//! Equation numbers are those of Incropera, DeWitt, Bergman, Lavine, Fundamentals of Heat and Mass Transfer,
//! 6th edition (from memory). They scatter by 10 to 25 % against experiments.

/// Vertical plate, laminar and turbulent, any Rayleigh number up to 1e12: Churchill and Chu 1975, eq. 9.26.
pub fn churchill_chu_plate(rayleigh: f64, prandtl: f64) -> f64 {
    let f = (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.825 + 0.387 * rayleigh.powf(1.0 / 6.0) / f).powi(2)
}

/// Vertical plate, laminar, Rayleigh number up to 1e9: Churchill and Chu 1975, eq. 9.27; the better of the
/// two there.
pub fn churchill_chu_laminar(rayleigh: f64, prandtl: f64) -> f64 {
    let f = (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(4.0 / 9.0);
    0.68 + 0.670 * rayleigh.powf(0.25) / f
}

/// Vertical plate: the laminar form up to Rayleigh 1e8, the general form from 1e9, and a smooth passage
/// between, so that the coefficient has no jump (the two differ by a quarter at 1e9; the passage is ours).
pub fn vertical(rayleigh: f64, prandtl: f64) -> f64 {
    let s = (rayleigh.log10() - 8.0).clamp(0.0, 1.0);
    let w = s * s * (3.0 - 2.0 * s);
    (1.0 - w) * churchill_chu_laminar(rayleigh, prandtl) + w * churchill_chu_plate(rayleigh, prandtl)
}

/// What an upright cylinder's curvature adds to the plate's Nusselt number; `slender` is height over
/// diameter. Second term of Le Fevre and Ede 1956 (as in Incropera's and Churchill's reviews; from memory).
pub fn curvature_term(slender: f64, prandtl: f64) -> f64 {
    4.0 * (272.0 + 315.0 * prandtl) * slender / (35.0 * (64.0 + 63.0 * prandtl))
}

/// Long horizontal cylinder, on its diameter, Rayleigh number up to 1e12: Churchill and Chu 1975, eq. 9.34.
pub fn churchill_chu_cylinder(rayleigh: f64, prandtl: f64) -> f64 {
    let f = (1.0 + (0.559 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.60 + 0.387 * rayleigh.powf(1.0 / 6.0) / f).powi(2)
}

/// Horizontal plate, hot side up or cold side down, on area over perimeter: McAdams with the usual constants,
/// 0.54 Ra^¼ (1e4 to 1e7) and 0.15 Ra^⅓ (1e7 to 1e11), eqs. 9.30 and 9.31. The larger of the two is taken,
/// which is continuous; it differs from a switch at 1e7 by up to 6 % between 4.7e6 and 1e7.
pub fn horizontal_up(rayleigh: f64) -> f64 {
    (0.54 * rayleigh.powf(0.25)).max(0.15 * rayleigh.cbrt())
}

/// Horizontal plate, hot side down or cold side up, on area over perimeter: 0.27 Ra^¼ (1e5 to 1e10), eq.
/// 9.32.
pub fn horizontal_down(rayleigh: f64) -> f64 {
    0.27 * rayleigh.powf(0.25)
}

/// Flat plate along a flow, mean over its length: laminar to Reynolds 5e5 (eq. 7.30), mixed beyond (eq.
/// 7.38).
pub fn flat_plate(reynolds: f64, prandtl: f64) -> f64 {
    let share = if reynolds <= 5e5 { 0.664 * reynolds.sqrt() } else { 0.037 * reynolds.powf(0.8) - 871.0 };
    share * prandtl.cbrt()
}

/// Cylinder in crossflow, on its diameter, Reynolds × Prandtl above 0.2: Churchill and Bernstein 1977, eq.
/// 7.54.
pub fn churchill_bernstein(reynolds: f64, prandtl: f64) -> f64 {
    let f = (1.0 + (0.4 / prandtl).powf(2.0 / 3.0)).powf(0.25);
    0.3 + 0.62 * reynolds.sqrt() * prandtl.cbrt() / f * (1.0 + (reynolds / 282_000.0).powf(0.625)).powf(0.8)
}
