//! Disc: a permanent magnet magnetised along its axis. Underside at y = 0, face (north) at the top.

use crate::magnet::form::permanent;
use crate::magnet::form::section::Section;
use crate::magnet::size::Size;
use crate::magnet::{Pole, Reader};
use coilwright_fem::drawing::Symmetry;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let radius = 0.5 * r.need("body.diameter", "diameter");
    let thickness = r.need("body.thickness", "thickness");
    let sizes = vec![
        Size::diameter("body.diameter", radius, 0.0),
        Size::along("body.thickness", radius, [0.0, thickness]),
    ];
    Section { sizes, ..round(r, [0.0, radius], thickness, "face") }
}

/// A disc or ring, without its sizes.
pub(crate) fn round(r: &mut Reader<'_>, x_m: [f64; 2], thickness: f64, pole: &str) -> Section {
    Section {
        symmetry: Symmetry::Axial,
        depth_m: 1.0,
        parts: vec![permanent::magnet(r, x_m, [0.0, thickness])],
        face_m: thickness,
        sizes: Vec::new(),
        poles: vec![Pole { name: pole.into(), x_m, y_m: thickness }],
        window: None,
        reach_m: x_m[1],
        // Half the width: even at 1.5 T in the plate that carries away 1.5 T of the face's flux on either side.
        ample_thickness_m: 0.5 * (x_m[1] - x_m[0]),
    }
}
