//! Coil without iron. Its lower end lies `winding.start` above y = 0 (on it if not given); its upper end is the
//! face, from which heights are counted: the middle of a coil of length l is at −l/2.

use crate::magnet::form::section::Section;
use crate::magnet::form::slot;
use crate::magnet::{Pole, Reader};
use coilwright_fem::drawing::Symmetry;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let inner = 0.5 * r.need("winding.inner_diameter", "inner diameter of the winding");
    let outer = 0.5 * r.need("winding.outer_diameter", "outer diameter of the winding");
    let length = r.need("winding.length", "length of the winding");
    let start = r.given("winding.start", "start of the winding").unwrap_or(0.0);
    r.must_be_less("winding.inner_diameter", (inner, "the inner radius"), (outer, "the outer radius"));
    let face = start + length;
    let (window, conductors) = slot::ring(&slot::Slot { x_m: [inner, outer], y_m: [start, face] });
    Section {
        symmetry: Symmetry::Axial,
        depth_m: 1.0,
        parts: vec![conductors],
        face_m: face,
        sizes: Vec::new(),
        poles: vec![Pole { name: "bore".into(), x_m: [0.0, inner], y_m: face }],
        window: Some((window, 1.0)),
        reach_m: outer,
        // A coil in air makes some tenths of a tesla at most: a quarter of its radius carries all its flux.
        ample_thickness_m: 0.25 * outer,
    }
}
