//! How much room a magnet takes up.

use crate::magnet::Magnet;
use coilwright_fem::drawing::{Outline, Symmetry};

/// Least and greatest coordinate of the nodes of outlines along an axis of the drawing.
pub(crate) fn span<'a>(outlines: impl IntoIterator<Item = &'a Outline>, axis: usize) -> [f64; 2] {
    let nodes = outlines.into_iter().flat_map(|outline| outline.0.iter().map(|(at, _)| at[axis]));
    nodes.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], x| [low.min(x), high.max(x)])
}

impl Magnet {
    /// Volume of the smallest upright cylinder (axial forms) or box (planar ones, as deep as they are) round all parts of
    /// the magnet, in m³, as it is drawn; what is pulled does not count.
    pub fn envelope_m3(&self) -> f64 {
        let [[left, right], [bottom, top]] = [0, 1].map(|axis| self.extent_m(axis));
        let height = top - bottom;
        match self.symmetry {
            _ if !(height.is_finite() && height > 0.0) => 0.0,
            Symmetry::Axial => std::f64::consts::PI * right * right * height,
            Symmetry::Planar => (right - left) * height * self.depth_m,
            Symmetry::PlanarHalf(_) => 2.0 * right * height * self.depth_m,
        }
    }

    /// Height of all parts together, m.
    pub fn envelope_height_m(&self) -> f64 {
        let [bottom, top] = self.extent_m(1);
        top - bottom
    }

    /// Radius of that cylinder, m; none of a planar form.
    pub fn envelope_radius_m(&self) -> Option<f64> {
        let [_, right] = self.extent_m(0);
        (self.symmetry == Symmetry::Axial && right.is_finite()).then_some(right)
    }

    /// Least and greatest coordinate of the parts along an axis of the drawing, m.
    fn extent_m(&self, axis: usize) -> [f64; 2] {
        span(self.parts.iter().filter(|part| !part.is_workpiece).map(|part| &part.outline), axis)
    }
}
