//! How heat leaves a magnet: air by published correlations, radiation, plates, contacts, and the winding's
//! own effective conductivity.
//!
//! Everything here is algebra on numbers in SI; the conduction solve that uses these coefficients stands
//! elsewhere.

pub mod air;
pub mod contact;
pub mod correlation;
pub mod error;
pub mod plate;
pub mod winding_conductivity;

use crate::thermal::cooling::air::Air;
use crate::thermal::cooling::correlation::{
    churchill_bernstein, churchill_chu_cylinder, curvature_term, flat_plate, horizontal_down, horizontal_up,
    vertical,
};
use crate::thermal::cooling::error::CoolingError;

/// Stefan–Boltzmann constant in W/(m² K⁴) (CODATA 2018, exact to the digits given).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Standard gravity in m/s² (conventional value).
pub const GRAVITY: f64 = 9.806_65;

/// How a surface stands, seen from outside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Orientation {
    /// A vertical plate; length: its height.
    Vertical,
    /// The shell of an upright cylinder; length: its height.
    VerticalCylinder {
        /// Outer diameter in m.
        diameter_m: f64,
    },
    /// The shell of a lying cylinder; length: its diameter.
    HorizontalCylinder,
    /// A horizontal surface that looks up; length: area over perimeter (a quarter of a disc's diameter).
    LooksUp,
    /// A horizontal surface that looks down; length: area over perimeter.
    LooksDown,
}

/// A surface that gives off heat to air and surroundings of one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// How it stands.
    pub orientation: Orientation,
    /// The length that its [`Orientation`] calls for, in m.
    pub length_m: f64,
    /// Total hemispherical emissivity, 0 to 1.
    pub emissivity: f64,
}

/// Heat transfer of a surface at one pair of temperatures.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatTransfer {
    /// Convective coefficient in W/(m² K), of the difference of surface and air temperature.
    pub convective: f64,
    /// Linearised radiative coefficient in W/(m² K), of the same difference.
    pub radiative: f64,
    /// Which correlation gave the convective part.
    pub method: &'static str,
    /// Relative standard uncertainty of the convective part: 10 % within the correlation's range, 25 %
    /// outside (free-convection correlations scatter by about 20 %, two standard uncertainties; typical,
    /// unsourced).
    pub relative_uncertainty: f64,
    /// Where a correlation was used outside its published range.
    pub outside_range: Option<String>,
}

impl HeatTransfer {
    /// Both parts together in W/(m² K).
    pub fn total(&self) -> f64 {
        self.convective + self.radiative
    }
}

/// Coefficient of a surface in air, with radiation to surroundings at the air's temperature.
///
/// Still air: by orientation, properties at the film temperature (mean of surface and air), expansion 1/T of
/// an ideal gas. Moving air: flat plate or cylinder in crossflow. Both at once are joined by cubes, `Nu³ =
/// Nu_forced³ + Nu_free³` (Incropera et al., section 9.9, assisting and transverse flow).
///
/// # Errors
/// Impossible temperatures, lengths, emissivities or air.
pub fn coefficient(
    surface: &Surface,
    surface_kelvin: f64,
    ambient_kelvin: f64,
    air: Air,
) -> Result<HeatTransfer, CoolingError> {
    let length = positive_length(surface.length_m)?;
    if !(0.0..=1.0).contains(&surface.emissivity) {
        return Err(CoolingError::Emissivity(surface.emissivity));
    }
    for t in [surface_kelvin, ambient_kelvin] {
        if !(t.is_finite() && t > 0.0) {
            return Err(CoolingError::Temperature(t));
        }
    }
    let film = 0.5 * (surface_kelvin + ambient_kelvin);
    let p = air.properties(film)?;
    let difference = surface_kelvin - ambient_kelvin;
    let rayleigh =
        GRAVITY / film * difference.abs() * length.powi(3) / (p.kinematic_viscosity * p.thermal_diffusivity);

    let free = free_convection(surface.orientation, length, difference >= 0.0, rayleigh, p.prandtl)?;
    let mut chosen = free;
    if air.speed_m_s > 0.0 {
        let (forced, nusselt) =
            forced_convection(surface.orientation, length, air.speed_m_s / p.kinematic_viscosity, p.prandtl);
        let joined = (nusselt.powi(3) + chosen.nusselt.powi(3)).cbrt();
        // The weaker mode's range does not matter.
        if nusselt > chosen.nusselt {
            chosen = forced;
        }
        chosen.nusselt = joined;
    }
    Ok(HeatTransfer {
        convective: chosen.nusselt * p.conductivity / length,
        radiative: radiative_coefficient(surface.emissivity, surface_kelvin, ambient_kelvin),
        method: chosen.method,
        relative_uncertainty: if chosen.outside.is_some() { 0.25 } else { 0.10 },
        outside_range: chosen.outside,
    })
}

/// Linearised coefficient of radiation to large surroundings, `ε σ (T₁² + T₂²)(T₁ + T₂)` in W/(m² K); exact
/// for the difference of the two temperatures (any text on heat transfer, such as Incropera et al., eq. 1.9).
pub fn radiative_coefficient(emissivity: f64, surface_kelvin: f64, surroundings_kelvin: f64) -> f64 {
    emissivity
        * STEFAN_BOLTZMANN
        * (surface_kelvin.powi(2) + surroundings_kelvin.powi(2))
        * (surface_kelvin + surroundings_kelvin)
}

struct Chosen {
    nusselt: f64,
    method: &'static str,
    outside: Option<String>,
}

/// Nusselt number of free convection on the surface's own length.
fn free_convection(
    orientation: Orientation,
    length_m: f64,
    warmer_than_air: bool,
    rayleigh: f64,
    prandtl: f64,
) -> Result<Chosen, CoolingError> {
    let (nusselt, method, range, more) = match orientation {
        Orientation::Vertical => {
            (vertical(rayleigh, prandtl), "Churchill–Chu, vertical plate", 0.1..=1e12, None)
        }
        Orientation::VerticalCylinder { diameter_m } => {
            let slender = length_m / positive_length(diameter_m)?;
            let limit = 35.0 / (rayleigh / prandtl).powf(0.25);
            // Beyond some ten times the plate criterion the curvature term is no longer a correction.
            let thin = slender > 10.0 / limit;
            (
                vertical(rayleigh, prandtl) + curvature_term(slender, prandtl),
                "Churchill–Chu, vertical plate, with the curvature term of Le Fevre and Ede",
                0.1..=1e12,
                thin.then(|| format!("a cylinder {slender:.1} times as high as wide")),
            )
        }
        Orientation::HorizontalCylinder => (
            churchill_chu_cylinder(rayleigh, prandtl),
            "Churchill–Chu, horizontal cylinder",
            1e-5..=1e12,
            None,
        ),
        Orientation::LooksUp if warmer_than_air => up(rayleigh),
        Orientation::LooksDown if !warmer_than_air => up(rayleigh),
        Orientation::LooksUp | Orientation::LooksDown => {
            (horizontal_down(rayleigh), "McAdams, horizontal plate, stable side", 1e5..=1e10, None)
        }
    };
    let outside = more.or_else(|| {
        (!range.contains(&rayleigh)).then(|| {
            format!(
                "{method}: Rayleigh number {rayleigh:.2e} outside {:.0e} to {:.0e}",
                range.start(),
                range.end()
            )
        })
    });
    Ok(Chosen { nusselt, method, outside })
}

fn up(rayleigh: f64) -> (f64, &'static str, std::ops::RangeInclusive<f64>, Option<String>) {
    (horizontal_up(rayleigh), "McAdams, horizontal plate, unstable side", 1e4..=1e11, None)
}

/// Forced convection; the second value is the Nusselt number on the surface's own length.
fn forced_convection(
    orientation: Orientation,
    length_m: f64,
    reynolds_per_m: f64,
    prandtl: f64,
) -> (Chosen, f64) {
    // Length along the flow. Of a horizontal surface, four times area over perimeter: a disc's diameter, a
    // square's side.
    let cylinder = match orientation {
        Orientation::VerticalCylinder { diameter_m } => Some(diameter_m),
        Orientation::HorizontalCylinder => Some(length_m),
        _ => None,
    };
    let (nusselt, flow_length, method, outside) = if let Some(diameter) = cylinder {
        let re = reynolds_per_m * diameter;
        let outside = (re * prandtl < 0.2 || re > 1e7)
            .then(|| format!("Churchill–Bernstein: Reynolds number {re:.2e} outside its range"));
        (churchill_bernstein(re, prandtl), diameter, "Churchill–Bernstein, cylinder in crossflow", outside)
    } else {
        let flow = match orientation {
            Orientation::LooksUp | Orientation::LooksDown => 4.0 * length_m,
            _ => length_m,
        };
        let re = reynolds_per_m * flow;
        let outside = (re > 1e8).then(|| format!("flat plate: Reynolds number {re:.2e} above 1e8"));
        (flat_plate(re, prandtl), flow, "flat plate along the flow", outside)
    };
    let own = nusselt * length_m / flow_length;
    (Chosen { nusselt: own, method, outside }, own)
}

fn positive_length(length_m: f64) -> Result<f64, CoolingError> {
    if length_m.is_finite() && length_m > 0.0 { Ok(length_m) } else { Err(CoolingError::Length(length_m)) }
}
