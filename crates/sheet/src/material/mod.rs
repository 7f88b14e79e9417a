//! Materials: magnetisation curves, permanent-magnet grades, conductors, insulation and other solids.
//!
//! Everything is data (`data/*.toml`) with a source, a status and a band for each entry, read at build time
//! and parsed once. A value written down from memory is `typical, unsourced` and has a wide band.

mod arctangent;
mod conductor;
mod cubic;
mod insulation;
mod law;
mod names;
mod permanent;
mod soft;
mod solid;
mod table;

pub use conductor::{Conductor, conductor, conductor_names};
pub use cubic::CubicLaw;
pub use insulation::{ThermalClass, thermal_class, thermal_class_names};
pub use law::{LawError, SteelLaw};
pub use names::UnknownName;
pub use permanent::{PermanentMagnet, permanent, permanent_names};
pub use soft::{SoftMaterial, soft, soft_names};
pub use solid::{Solid, solid, solid_names};

use serde::Deserialize;

/// Magnetic constant, H/m: 4π·10⁻⁷, the value before 2019, 5·10⁻¹⁰ from the measured one (CODATA 2022).
pub const MU0: f64 = 4e-7 * std::f64::consts::PI;

/// Zero of the Celsius scale, K (exact).
pub const CELSIUS_ZERO_K: f64 = 273.15;

/// How far an entry can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// The source named was read.
    Sourced,
    /// From memory or common practice; the band is wide on purpose.
    TypicalUnsourced,
}

impl std::fmt::Display for Status {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Status::Sourced => "sourced",
            Status::TypicalUnsourced => "typical, unsourced",
        })
    }
}

/// How a solid conducts currents, eddies among them.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Electrical {
    /// Resistivity at 20 °C, Ω m.
    pub resistivity_20_ohm_m: f64,
    /// Its relative standard uncertainty.
    pub relative_standard: f64,
    /// Relative rise with temperature near 20 °C, 1/K.
    pub per_kelvin: f64,
}

impl Electrical {
    /// Conductivity at a temperature (K), S/m. However cold, no less than half of the resistivity is left: the straight line
    /// is for where magnets work.
    pub fn conductivity_s_per_m(&self, kelvin: f64) -> f64 {
        let rise = kelvin - CELSIUS_ZERO_K - 20.0;
        1.0 / (self.resistivity_20_ohm_m * (1.0 + self.per_kelvin * rise).max(0.5))
    }
}

/// What heat needs to know of a solid.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thermal {
    /// Thermal conductivity near 20 °C, W/(m K).
    pub conductivity_w_per_mk: f64,
    /// Relative standard uncertainty of the conductivity.
    pub conductivity_relative_standard: f64,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Specific heat near 25 °C, J/(kg K).
    pub specific_heat_j_per_kgk: f64,
}

impl Thermal {
    /// Heat capacity per volume, J/(m³ K).
    pub fn volumetric_heat_j_per_m3k(&self) -> f64 {
        self.density_kg_per_m3 * self.specific_heat_j_per_kgk
    }
}
