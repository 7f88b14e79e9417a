//! Factors on what correlations and typical values say of heat: by them a calibration, a variation or a sample moves a
//! magnet's heat model.

/// Factors on what correlations and typical values say; 1 unless another is tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatFactors {
    /// On all heat given off.
    pub outside: f64,
    /// On convective coefficients.
    pub convection: f64,
    /// On the conductance of joints inside the magnet.
    pub joints: f64,
    /// On the conductance of the joint to what it is mounted on.
    pub mount: f64,
    /// On the conductivity of what lies between winding and iron.
    pub lining: f64,
    /// On the winding's conductivity across its wires.
    pub winding: f64,
    /// On the heat capacity of everything.
    pub capacity: f64,
}

impl Default for HeatFactors {
    fn default() -> Self {
        Self {
            outside: 1.0,
            convection: 1.0,
            joints: 1.0,
            mount: 1.0,
            lining: 1.0,
            winding: 1.0,
            capacity: 1.0,
        }
    }
}
