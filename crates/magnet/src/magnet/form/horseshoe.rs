//! Horseshoe: two wound legs on a yoke, of one depth. The right half is drawn; flux crosses the plane x = 0 through
//! the yoke. Yoke at y = 0, faces at the top.
//!
//! Positive ampere-turns make the leg at x > 0 a north pole. Currents are positive into the page, and one into the
//! page drives flux upwards on its left: the leg's outer side carries the positive half, its inner side the return.

use crate::magnet::form::section::Section;
use crate::magnet::form::{common, slot};
use crate::magnet::{Pole, Reader};
use crate::quantity::Dimension;
use coilwright_fem::drawing::Mirror;
use slot::Slot;

/// Share of all ampere-turns in the coil of one leg.
const PER_LEG: f64 = 0.5;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let width = r.need("body.leg_width", "leg width");
    let leg = r.need("body.leg_length", "leg length");
    let half_spacing = 0.5 * r.need("body.leg_spacing", "distance between the legs");
    let depth = r.need("body.depth", "depth");
    let yoke = r.or_assume(
        "body.yoke",
        "thickness of the yoke",
        (width, 0.15 * width),
        Dimension::Length,
        "as thick as a leg is wide (area balance)",
    );
    let iron = common::iron(r, "body.material", "material of the body");
    let face = yoke + leg;
    let (inside, outside) = (half_spacing, half_spacing + width);
    let middle = half_spacing + 0.5 * width;
    // Both coils share the space between the legs.
    let room = Slot { x_m: [0.5 * width, middle], y_m: [yoke, face] };
    let (window, wound) = slot::leg_window(r, &room, [width, depth]);
    let [near, far] = wound.x_m;
    let inner_side = [middle - far, middle - near];
    let outer_side = [middle + near, middle + far];
    Section {
        symmetry: common::planar(r, Mirror::FluxCrosses),
        depth_m: depth,
        parts: vec![
            common::iron_part("yoke", [0.0, outside], [0.0, yoke], &iron),
            common::iron_part("leg", [inside, outside], [yoke, face], &iron),
            slot::conductors("winding, inner side", inner_side, wound.y_m, -PER_LEG),
            slot::conductors("winding, outer side", outer_side, wound.y_m, PER_LEG),
        ],
        face_m: face,
        poles: vec![Pole { name: "leg".into(), x_m: [inside, outside], y_m: face }],
        window: Some((window, 2.0)),
        reach_m: outside,
        ample_thickness_m: width,
    }
}
