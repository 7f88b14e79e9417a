//! Exact results of magnetostatics: what the table of checks compares the program with.
//!
//! None of this uses the program. Each function names the formula's source; the tests at the foot of each
//! module hold it to figures printed elsewhere, so that the yardstick is itself measured.
//!
//! SI throughout: metres, amperes, tesla, henries, newtons. Coaxial arrangements lie about the z axis.

pub mod ball;
pub mod coil;
pub mod cylinder;
pub mod elliptic;
pub mod gap;
pub mod loops;
mod quadrature;
pub mod smes;

/// Permeability of free space in H/m: the value before the 2019 revision of the SI, which the published
/// figures use and from which the present one differs by 2e-10 (CODATA 2018, from memory).
pub const MU_0: f64 = 4e-7 * std::f64::consts::PI;

#[cfg(test)]
pub(crate) fn assert_close(observed: f64, expected: f64, relative: f64) {
    let deviation = (observed - expected).abs() / expected.abs();
    assert!(deviation <= relative, "{observed} differs from {expected} by {deviation:.2e} > {relative:.0e}");
}
