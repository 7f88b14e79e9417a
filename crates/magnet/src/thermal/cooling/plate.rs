//! A magnet bolted on a plate: the plate spreads the heat and gives it to the air as an annular fin.

use crate::thermal::cooling::air::Air;
use crate::thermal::cooling::error::CoolingError;
use crate::thermal::cooling::{Orientation, Surface, coefficient, positive_length};

/// A plate the magnet's back is bolted to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plate {
    /// Edge length of the square plate in m.
    pub length_m: f64,
    /// Thickness in m.
    pub thickness_m: f64,
    /// Thermal conductivity in W/(m K).
    pub conductivity: f64,
    /// Emissivity of both faces.
    pub emissivity: f64,
}

/// What a plate carries off.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateCooling {
    /// Watts per kelvin between the mounting circle and the air.
    pub conductance_w_k: f64,
    /// Mean rise of the plate outside the circle over the rise of the circle.
    pub efficiency: f64,
    /// Coefficient of the face on the magnet's side, convection and radiation, W/(m² K).
    pub near_coefficient: f64,
    /// Coefficient of the other face.
    pub far_coefficient: f64,
    /// Correlations used outside their range.
    pub outside_range: Vec<String>,
}

/// Conductance of a plate that carries a round base on one side, at one base temperature.
///
/// The square is taken as a disc of equal area (1 to 2 % of the conductance; typical, unsourced) and its rim
/// is counted by the corrected radius `b + t/2` (Incropera et al., section 3.6.4). Under the base the plate
/// has the base's temperature; its far side there gives off heat too. Each face's coefficient is taken at the
/// plate's mean temperature. `vertical`: the plate hangs on a wall; otherwise it lies or hangs flat with the
/// magnet below or above it.
///
/// A plate no larger than the base has no fin: only its far side counts.
///
/// # Errors
/// Impossible dimensions, temperatures or conductivities.
pub fn plate_conductance(
    plate: &Plate,
    base_radius_m: f64,
    base_kelvin: f64,
    ambient_kelvin: f64,
    vertical: bool,
    air: Air,
) -> Result<PlateCooling, CoolingError> {
    let side = positive_length(plate.length_m)?;
    let thickness = positive_length(plate.thickness_m)?;
    let inner = positive_length(base_radius_m)?;
    if !(plate.conductivity.is_finite() && plate.conductivity > 0.0) {
        return Err(CoolingError::Conductivity(plate.conductivity));
    }
    let outer = side / std::f64::consts::PI.sqrt() + 0.5 * thickness;
    let orientations = if vertical {
        [(Orientation::Vertical, side), (Orientation::Vertical, side)]
    } else {
        [(Orientation::LooksDown, side / 4.0), (Orientation::LooksUp, side / 4.0)]
    };
    let mut efficiency = 1.0;
    // The coefficients depend only weakly (power 1/4 to 1/3) on the mean temperature: the iteration contracts
    // fast.
    for _ in 0..100 {
        let mean = ambient_kelvin + efficiency * (base_kelvin - ambient_kelvin);
        let mut outside_range = Vec::new();
        let mut face = [0.0; 2];
        for (h, (orientation, length_m)) in face.iter_mut().zip(orientations) {
            let surface = Surface { orientation, length_m, emissivity: plate.emissivity };
            let found = coefficient(&surface, mean, ambient_kelvin, air)?;
            *h = found.total();
            outside_range.extend(found.outside_range);
        }
        let sum = face[0] + face[1];
        let next = if outer > inner {
            annular_fin_efficiency(inner, outer, (sum / (plate.conductivity * thickness)).sqrt())
        } else {
            1.0
        };
        if (next - efficiency).abs() < 1e-10 {
            let ring = std::f64::consts::PI * (outer.powi(2) - inner.powi(2)).max(0.0);
            let under = std::f64::consts::PI * inner.min(outer).powi(2);
            return Ok(PlateCooling {
                conductance_w_k: next * sum * ring + face[1] * under,
                efficiency: next,
                near_coefficient: face[0],
                far_coefficient: face[1],
                outside_range,
            });
        }
        efficiency = next;
    }
    Err(CoolingError::NotSettled("100 steps"))
}

/// Efficiency of an annular fin with an adiabatic rim, between radii `inner_m` and `outer_m`, `m_per_m` =
/// √(Σh / k t) with Σh the sum of both faces' coefficients (Incropera et al., eq. 3.91). `outer_m > inner_m >
/// 0`.
pub fn annular_fin_efficiency(inner_m: f64, outer_m: f64, m_per_m: f64) -> f64 {
    let (a, b) = (m_per_m * inner_m, m_per_m * outer_m);
    // Each I is scaled by e^{-x}, each K by e^{x}; of the products one needs e^{b-a}, the other e^{a-b}.
    let shrink = (2.0 * (a - b)).exp();
    let flow = k_scaled(1, a) * i_scaled(1, b) - shrink * i_scaled(1, a) * k_scaled(1, b);
    let rise = k_scaled(0, a) * i_scaled(1, b) + shrink * i_scaled(0, a) * k_scaled(1, b);
    2.0 * inner_m / (m_per_m * (outer_m.powi(2) - inner_m.powi(2))) * flow / rise
}

/// Modified Bessel function `e^{-x} I_n(x)` by the trapezoidal rule on DLMF 10.32.3, which converges
/// geometrically for a periodic integrand.
fn i_scaled(n: u32, x: f64) -> f64 {
    let points = 64 + 8 * (x.sqrt() as u32);
    let sum: f64 = (0..points)
        .map(|k| {
            let angle = 2.0 * std::f64::consts::PI * f64::from(k) / f64::from(points);
            (x * (angle.cos() - 1.0)).exp() * (f64::from(n) * angle).cos()
        })
        .sum();
    sum / f64::from(points)
}

/// Modified Bessel function `e^{x} K_n(x)`, x > 0, by the trapezoidal rule on DLMF 10.32.9, whose integrand
/// dies off doubly exponentially.
fn k_scaled(n: u32, x: f64) -> f64 {
    // Where x (cosh t - 1) exceeds 750 nothing is left in a double.
    let end = (750.0 / x + 1.0).acosh();
    let points = 400;
    let step = end / f64::from(points);
    let term = |t: f64| (-x * (t.cosh() - 1.0)).exp() * (f64::from(n) * t).cosh();
    step * (0.5 * term(0.0) + (1..=points).map(|k| term(f64::from(k) * step)).sum::<f64>())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz and Stegun, tables 9.8 and 9.11 (scaled functions): x = 1 and 5.
    #[test]
    fn bessel_functions_match_the_tables() {
        for (n, x, i, k) in [
            (0, 1.0, 1.266_065_877_8, 0.421_024_438_2),
            (1, 1.0, 0.565_159_104_0, 0.601_907_230_2),
            (0, 5.0, 27.239_871_823_6, 3.691_098_334e-3),
            (1, 5.0, 24.335_642_142_5, 4.044_613_446e-3),
        ] {
            assert!((i_scaled(n, x) * f64::exp(x) / i - 1.0).abs() < 1e-9);
            assert!((k_scaled(n, x) * f64::exp(-x) / k - 1.0).abs() < 1e-9);
        }
    }

    /// Wronskian I0 K1 + I1 K0 = 1/x (DLMF 10.28.2), over the range that plates need.
    #[test]
    fn the_wronskian_holds() {
        for x in [1e-4, 1e-2, 0.3, 3.0, 30.0, 300.0] {
            let w = i_scaled(0, x) * k_scaled(1, x) + i_scaled(1, x) * k_scaled(0, x);
            assert!((w * x - 1.0).abs() < 1e-11, "{x}: {w}");
        }
    }
}
