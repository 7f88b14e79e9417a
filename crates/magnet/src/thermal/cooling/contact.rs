//! Joints, coatings and cold plates: typical values with wide bands, for where a sheet is silent.

use crate::thermal::cooling::error::CoolingError;

/// A typical value with the range it may reasonably lie in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Likely value, SI.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Where it comes from.
    pub source: &'static str,
}

/// Dry joint of two machined steel faces in air, bolted by hand, in W/(m² K).
///
/// Incropera et al., table 3.2 (from memory) has 2.75e-4 m² K/W, thus 3600 W/(m² K), for aluminium of 10 µm
/// roughness in air at 1 bar; steel is harder and conducts worse.
pub fn dry_contact() -> Estimate {
    Estimate { value: 2500.0, low: 1000.0, high: 6000.0, source: "typical, unsourced" }
}

/// The same joint with heat-conducting grease, in W/(m² K). Incropera et al., table 3.2 (from memory) has
/// 0.525e-4 m² K/W, thus 19 000 W/(m² K), for silicone oil.
pub fn greased_contact() -> Estimate {
    Estimate { value: 12_000.0, low: 5000.0, high: 25_000.0, source: "typical, unsourced" }
}

/// A gap filled by a layer of a given conductivity, in W/(m² K): `k / t`. The range allows for half and
/// double the thickness, since a winding seldom lies evenly.
///
/// # Errors
/// Thickness or conductivity not positive.
pub fn filled_gap(thickness_m: f64, conductivity: f64) -> Result<Estimate, CoolingError> {
    let t = crate::thermal::cooling::positive_length(thickness_m)?;
    if !(conductivity.is_finite() && conductivity > 0.0) {
        return Err(CoolingError::Conductivity(conductivity));
    }
    let value = conductivity / t;
    Ok(Estimate { value, low: 0.5 * value, high: 2.0 * value, source: "layer of given thickness, k/t" })
}

/// Cold plate with water channels or pressed-in tubes, per area of its face, in W/(m² K).
pub fn cold_plate() -> Estimate {
    Estimate { value: 4000.0, low: 1500.0, high: 10_000.0, source: "typical, unsourced" }
}

/// How much water warms on its way through: `P / (ρ c V̇)`, with 4.18 MJ/(m³ K) (water at 20 to 40 °C, from
/// memory).
pub fn coolant_rise_kelvin(power_w: f64, flow_m3_s: f64) -> f64 {
    power_w / (4.18e6 * flow_m3_s)
}

/// Emissivity of a finish by name, or `None` for an unknown one. Values as tables for thermography have
/// them, which scatter by 10 to 20 % (common practice, no source).
pub fn emissivity(finish: &str) -> Option<Estimate> {
    let (value, low, high) = match finish {
        "matt lacquer" | "matt paint" => (0.96, 0.92, 0.98),
        "glossy lacquer" | "glossy paint" => (0.87, 0.80, 0.95),
        "rough steel" => (0.95, 0.90, 0.97),
        "rolled steel" => (0.66, 0.55, 0.80),
        "rusted steel" => (0.69, 0.60, 0.85),
        "polished steel" => (0.07, 0.05, 0.15),
        "oxidised zinc" => (0.28, 0.20, 0.35),
        "bright zinc" | "nickel" => (0.10, 0.05, 0.23),
        "aluminium sheet" => (0.09, 0.05, 0.15),
        "black anodised aluminium" => (0.85, 0.75, 0.90),
        _ => return None,
    };
    let source = "emissivities as tables for thermography have them (common practice, no source)";
    Some(Estimate { value, low, high, source })
}
