//! E-core: three legs on a back, of one depth, wound on the centre one. The right half is drawn; flux runs along the
//! plane x = 0. Back at y = 0, faces at the top.
//!
//! Positive ampere-turns make the centre leg a north pole: currents are positive into the page, and one into the page
//! drives flux upwards on its left.

use crate::magnet::form::section::Section;
use crate::magnet::form::{common, slot};
use crate::magnet::size::Size;
use crate::magnet::{Pole, Reader};
use crate::quantity::Dimension;
use coilwright_fem::drawing::Mirror;
use slot::{Leg, Slot};

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let centre_width = r.need("body.centre_width", "width of the centre leg");
    let window_width = r.need("body.window_width", "width of the window");
    let leg = r.need("body.leg_length", "leg length");
    let depth = r.need("body.depth", "depth");
    let half = 0.5 * centre_width;
    // Each side takes half the centre leg's flux.
    let balanced = (half, 0.15 * half);
    let outer_width = r.or_assume(
        "body.outer_width",
        "width of an outer leg",
        balanced,
        Dimension::Length,
        "half the centre leg's width (area balance)",
    );
    let back = r.or_assume(
        "body.back",
        "thickness of the back",
        balanced,
        Dimension::Length,
        "half the centre leg's width (area balance)",
    );
    let iron = common::iron(r, "body.material", "material of the body");
    let face = back + leg;
    let inside = half + window_width;
    let outside = inside + outer_width;
    let room = Slot { x_m: [half, inside], y_m: [back, face] };
    let (window, wound) =
        slot::leg_window(r, &room, Leg::Rectangular { width_m: centre_width, depth_m: depth }, 1.0);
    Section {
        symmetry: common::planar(r, Mirror::FluxStays),
        depth_m: depth,
        parts: vec![
            common::iron_part("back", [0.0, outside], [0.0, back], &iron),
            common::iron_part("centre leg", [0.0, half], [back, face], &iron),
            common::iron_part("outer leg", [inside, outside], [back, face], &iron),
            slot::conductors("winding", wound.x_m, wound.y_m, 1.0),
        ],
        face_m: face,
        sizes: vec![
            Size::across("body.centre_width", [-half, half], face),
            Size::across("body.window_width", [half, inside], face),
            Size::across("body.outer_width", [inside, outside], 0.0),
            Size::along("body.leg_length", -outside, [back, face]),
            Size::along("body.back", outside, [0.0, back]),
        ],
        poles: vec![
            Pole { name: "centre leg".into(), x_m: [0.0, half], y_m: face },
            Pole { name: "outer leg".into(), x_m: [inside, outside], y_m: face },
        ],
        window: Some((window, 1.0)),
        reach_m: outside,
        ample_thickness_m: back.max(half),
    }
}
