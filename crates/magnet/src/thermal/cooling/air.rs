//! Dry air: properties against temperature and pressure.

use crate::thermal::cooling::error::CoolingError;

/// Standard atmosphere in Pa (ISO 2533).
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;

/// Specific gas constant of dry air in J/(kg K) (US Standard Atmosphere 1976).
const GAS_CONSTANT: f64 = 287.053;

/// The air around a magnet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Absolute pressure in Pa; thinner air at height carries less heat.
    pub pressure_pa: f64,
    /// Speed of forced flow past the surface in m/s; 0 is still air.
    pub speed_m_s: f64,
}

impl Default for Air {
    /// Still air at sea level.
    fn default() -> Self {
        Self { pressure_pa: STANDARD_PRESSURE_PA, speed_m_s: 0.0 }
    }
}

/// Properties of dry air at one temperature and pressure, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirProperties {
    /// kg/m³.
    pub density: f64,
    /// J/(kg K).
    pub specific_heat: f64,
    /// Dynamic viscosity in Pa s.
    pub viscosity: f64,
    /// W/(m K).
    pub conductivity: f64,
    /// m²/s.
    pub kinematic_viscosity: f64,
    /// m²/s.
    pub thermal_diffusivity: f64,
    /// Ratio of the last two.
    pub prandtl: f64,
}

impl Air {
    /// Properties at a temperature: ideal gas; viscosity and conductivity by the Sutherland-type formulas of
    /// the US Standard Atmosphere 1976 (from memory; checked against Incropera et al., table A.4, and
    /// reference correlations: viscosity to 1.2 %, conductivity to 1.5 % from 250 to 450 K); specific heat by
    /// Dixon's parabola (The Shock Absorber Handbook, appendix B; from memory, 0.2 % to 450 K).
    ///
    /// # Errors
    /// Impossible temperature, pressure or speed.
    pub fn properties(&self, kelvin: f64) -> Result<AirProperties, CoolingError> {
        let (p, v) = (self.pressure_pa, self.speed_m_s);
        if !(p.is_finite() && p > 0.0 && v.is_finite() && v >= 0.0) {
            return Err(CoolingError::Air { pressure_pa: p, speed_m_s: v });
        }
        if !(kelvin.is_finite() && kelvin > 0.0) {
            return Err(CoolingError::Temperature(kelvin));
        }
        let density = p / (GAS_CONSTANT * kelvin);
        let specific_heat = 1002.5 + 275e-6 * (kelvin - 200.0).powi(2);
        let viscosity = 1.458e-6 * kelvin.powf(1.5) / (kelvin + 110.4);
        let conductivity = 2.646_38e-3 * kelvin.powf(1.5) / (kelvin + 245.4 * 10f64.powf(-12.0 / kelvin));
        let kinematic_viscosity = viscosity / density;
        let thermal_diffusivity = conductivity / (density * specific_heat);
        Ok(AirProperties {
            density,
            specific_heat,
            viscosity,
            conductivity,
            kinematic_viscosity,
            thermal_diffusivity,
            prandtl: kinematic_viscosity / thermal_diffusivity,
        })
    }
}
