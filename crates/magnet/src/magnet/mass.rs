//! What a magnet weighs, by its drawing.

use crate::magnet::{Magnet, Substance};
use crate::material::{soft, solid};
use coilwright_fem::drawing::{Curve, Outline, Symmetry};
use std::f64::consts::PI;

/// Density of a steel that the library does not know, kg/m³ (EN 10088-1 and handbooks: 7700 to 8000).
const STEEL_KG_PER_M3: f64 = 7850.0;

impl Magnet {
    /// Mass of its iron, permanent magnets, wire and enamel, kg. Bobbin, casting, screws and leads do not count. None where a
    /// part is bounded by arcs, or is a permanent magnet of no known grade.
    pub fn mass_kg(&self) -> Option<f64> {
        let mut sum = 0.0;
        for part in self.parts.iter().filter(|part| !part.is_workpiece) {
            match &part.substance {
                Substance::Iron(iron) => {
                    let density = soft(&iron.name).map_or(STEEL_KG_PER_M3, |m| m.thermal.density_kg_per_m3);
                    sum += density * self.volume_m3(&part.outline)?;
                }
                Substance::Permanent { density_kg_per_m3, .. } => {
                    sum += (*density_kg_per_m3)? * self.volume_m3(&part.outline)?;
                }
                _ => {}
            }
        }
        let winding = self.excitation.as_ref().and_then(|e| e.winding.as_ref());
        if let Some(w) = winding {
            let enamel = solid("enamel").map_or(0.0, |m| m.thermal.density_kg_per_m3);
            let room_m3 = w.coils * w.window.volume_m3();
            sum += w.conductor_mass_kg + enamel * (w.overall_fill - w.fill_factor).max(0.0) * room_m3;
        }
        Some(sum)
    }

    /// Volume of a part all round, or over the whole depth and both halves, m³; none if an edge is an arc.
    fn volume_m3(&self, outline: &Outline) -> Option<f64> {
        let nodes = &outline.0;
        if nodes.iter().any(|(_, curve)| !matches!(curve, Curve::Line)) {
            return None;
        }
        let corners = || nodes.iter().zip(nodes.iter().cycle().skip(1)).map(|(p, q)| (p.0, q.0));
        let twice: f64 = corners().map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum();
        // Pappus: the moment about the axis times 2π.
        let moment: f64 =
            corners().map(|(p, q)| (p[0] + q[0]) * (p[0] * q[1] - q[0] * p[1])).sum::<f64>() / 6.0;
        Some(match self.symmetry {
            Symmetry::Axial => 2.0 * PI * moment.abs(),
            Symmetry::Planar => 0.5 * twice.abs() * self.depth_m,
            Symmetry::PlanarHalf(_) => twice.abs() * self.depth_m,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::Sheet;

    /// A tube of steel and a ring of copper, by their volumes.
    #[test]
    fn a_bar_weighs_its_core_and_its_wire() {
        let text = "sheet = 1\nform = \"bar\"\n[body]\ncore_diameter = \"20 mm\"\ncore_length = \"50 mm\"\nhole_diameter = \"6 mm\"\n\
            [winding]\nturns = 500\nwire = \"0.5 mm bare\"\n[drive]\ncurrent = \"1 A\"\n";
        let (sheet, _) = Sheet::parse(text, "s").expect("a sheet");
        let magnet = Magnet::complete(&sheet).expect("a magnet");
        let core = PI / 4.0 * (0.02f64.powi(2) - 0.006f64.powi(2)) * 0.05 * 7860.0;
        let wire = magnet
            .excitation
            .as_ref()
            .and_then(|e| e.winding.as_ref())
            .map_or(0.0, |w| 500.0 * w.mean_turn_length_m * PI / 4.0 * 0.0005f64.powi(2) * 8900.0);
        let mass = magnet.mass_kg().expect("straight edges");
        // Densities of low-carbon steel and copper from memory: 7860 and 8900 kg/m³, good to 1 %.
        assert!((mass / (core + wire) - 1.0).abs() < 0.01, "{mass} {core} {wire}");
    }
}
