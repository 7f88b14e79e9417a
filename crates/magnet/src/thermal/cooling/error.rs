//! What the laws of cooling refuse.

/// What keeps a coefficient from being computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CoolingError {
    /// Kelvin must be positive and finite.
    #[error("a temperature of {0} K is not possible")]
    Temperature(f64),
    /// Lengths and thicknesses must be positive and finite.
    #[error("a length of {0} m is not possible here")]
    Length(f64),
    /// Between 0 and 1.
    #[error("an emissivity of {0} is not between 0 and 1")]
    Emissivity(f64),
    /// Pressure and speed must be finite, the first positive, the second not negative.
    #[error("air of {pressure_pa} Pa and {speed_m_s} m/s is not possible")]
    Air {
        /// Given pressure.
        pressure_pa: f64,
        /// Given speed.
        speed_m_s: f64,
    },
    /// Conductivities and coefficients must be positive and finite.
    #[error("a conductivity or coefficient of {0} is not possible here")]
    Conductivity(f64),
    /// Shares of an area must lie between 0 and 1 and fit into each other.
    #[error("an area share of {0} is not possible here")]
    Share(f64),
    /// A fixed-point iteration did not settle.
    #[error("the plate's temperature did not settle: {0}")]
    NotSettled(&'static str),
}
