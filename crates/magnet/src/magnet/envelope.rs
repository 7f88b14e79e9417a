//! How much room a magnet takes up.

use crate::magnet::Magnet;
use coilwright_fem::drawing::Symmetry;

impl Magnet {
    /// Volume of the smallest upright cylinder (axial forms) or box (planar ones, as deep as they are) round all parts of
    /// the magnet, in m³, as it is drawn; what is pulled does not count.
    pub fn envelope_m3(&self) -> f64 {
        let corners = || {
            let own = self.parts.iter().filter(|part| !part.is_workpiece);
            own.flat_map(|part| part.outline.0.iter().map(|node| node.0))
        };
        let extent = |axis: usize| {
            let (low, high) = corners()
                .map(|corner| corner[axis])
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
            (low, high)
        };
        let ((left, right), (bottom, top)) = (extent(0), extent(1));
        let height = top - bottom;
        if height <= 0.0 || !height.is_finite() {
            return 0.0;
        }
        match self.symmetry {
            Symmetry::Axial => std::f64::consts::PI * right * right * height,
            Symmetry::Planar => (right - left) * height * self.depth_m,
            Symmetry::PlanarHalf(_) => 2.0 * right * height * self.depth_m,
        }
    }
}
