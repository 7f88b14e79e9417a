//! Hall probes: what a probe reads where its tip is put, and how sure that is.
//!
//! The element sits behind the tip, averages over its area, and feels only the field along its own axis, which may be
//! tilted. Near a pole edge each of these outweighs the teslameter's own accuracy.

use super::Component;
use coilwright_magnet::quantity::{Dimension, Quantity};
use coilwright_magnet::sheet::Sheet;

/// Geometry of a probe; lengths in m, angle in rad. Tolerances are limits of rectangular distributions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HallProbe {
    /// Diameter of the sensing area.
    pub active_diameter: Quantity,
    /// Sensing element behind the tip.
    pub depth: Quantity,
    /// Tilt of the element's axis from the direction of the field that is meant.
    pub angle: Quantity,
}

/// The field where the tip is, as a model gives it: T, T/m, T/m². `z` points away from the face.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LocalField {
    /// Flux density along z.
    pub axial: f64,
    /// Its derivative along z.
    pub slope: f64,
    /// Its second derivative along z.
    pub curvature: f64,
    /// Magnitude of the flux density across z.
    pub transverse: f64,
}

impl HallProbe {
    /// A probe; what is not given is 0, without tolerance.
    pub fn new(active_diameter: Option<Quantity>, depth: Option<Quantity>, angle: Option<Quantity>) -> Self {
        let none = |dimension| Quantity { value: 0.0, half_width: 0.0, dimension };
        Self {
            active_diameter: active_diameter.unwrap_or_else(|| none(Dimension::Length)),
            depth: depth.unwrap_or_else(|| none(Dimension::Length)),
            angle: angle.unwrap_or_else(|| none(Dimension::Angle)),
        }
    }

    /// `[probe]` of a sheet.
    pub fn from_sheet(sheet: &Sheet) -> Self {
        let quantity = |key| sheet.quantity(key);
        Self::new(quantity("probe.active_diameter"), quantity("probe.depth"), quantity("probe.angle"))
    }

    /// What the probe reads with its tip at the place of the field, T.
    ///
    /// The field `depth` further out, to second order; averaged over a disc of diameter `d` across z, which for a
    /// harmonic field adds `−(d²/32) ∂²B/∂z²` (the mean of `x²` over a disc is `d²/16`, and
    /// `∂²/∂x² + ∂²/∂y² = −∂²/∂z²` in free space); times the cosine of the tilt. The tilt's tolerance `δ` lowers the
    /// mean of the cosine by the factor `1 − δ²/6`. The transverse field comes in through the tilt's sine with a sign
    /// that is not known, so not here but in [`HallProbe::components`].
    pub fn reading(&self, field: &LocalField) -> f64 {
        let (depth, d, tilt) = (self.depth.value, self.active_diameter.value, self.angle);
        let outside = field.axial + depth * field.slope + 0.5 * depth * depth * field.curvature;
        let averaged = outside - d * d / 32.0 * field.curvature;
        averaged * tilt.value.cos() * (1.0 - tilt.half_width.powi(2) / 6.0)
    }

    /// Standard uncertainties that the probe's geometry adds to a reading, T; the same for all readings at one place.
    ///
    /// Tilt: `θ` uniform within `θ₀ ± δ`; the axial field changes by `sin θ₀ δ/√3` to first order and by
    /// `cos θ₀ δ²/√45` to second (the standard deviation of `θ²/2`), the transverse field adds up to
    /// `sin(|θ₀| + δ)` in an unknown direction.
    pub fn components(&self, field: &LocalField) -> [Component; 4] {
        let shared = |name, standard| Component { name, standard, shared: true };
        let (tilt, delta) = (self.angle.value, self.angle.half_width);
        let slope = field.slope + self.depth.value * field.curvature;
        let first = tilt.sin() * delta / 3f64.sqrt();
        let second = tilt.cos() * delta * delta / 45f64.sqrt();
        let diameter = self.active_diameter;
        [
            shared("depth of the element", slope * self.depth.standard_uncertainty()),
            shared(
                "size of the element",
                diameter.value / 16.0 * field.curvature * diameter.standard_uncertainty(),
            ),
            shared("tilt", field.axial * first.hypot(second)),
            shared("transverse field", field.transverse * (tilt.abs() + delta).sin() / 3f64.sqrt()),
        ]
    }

    /// The same in one number, T.
    pub fn standard_uncertainty(&self, field: &LocalField) -> f64 {
        self.components(field).iter().map(|component| component.standard.powi(2)).sum::<f64>().sqrt()
    }
}
