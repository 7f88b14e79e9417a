//! Horseshoe: two wound legs on a yoke, of one depth. The right half is drawn; flux crosses the plane x = 0 through
//! the yoke. Yoke at y = 0, faces at the top.
//!
//! Legs of round bar are drawn as square ones of the same section at the same distance of their middles.
//!
//! Positive ampere-turns make the leg at x > 0 a north pole. Currents are positive into the page, and one into the
//! page drives flux upwards on its left: the leg's outer side carries the positive half, its inner side the return.

use crate::magnet::form::section::Section;
use crate::magnet::form::{common, slot};
use crate::magnet::size::Size;
use crate::magnet::{Pole, Reader};
use crate::quantity::Dimension;
use coilwright_fem::drawing::Mirror;
use slot::{Leg, Slot};
use std::f64::consts::PI;

/// Share of all ampere-turns in the coil of one leg.
const PER_LEG: f64 = 0.5;

/// Coils, one a leg.
const COILS: f64 = 2.0;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let round = r.given("body.leg_diameter", "diameter of the legs");
    let (width, depth) = match round {
        Some(diameter) => (0.5 * PI.sqrt() * diameter, 0.5 * PI.sqrt() * diameter),
        None => (r.need("body.leg_width", "leg width"), r.need("body.depth", "depth")),
    };
    let leg = r.need("body.leg_length", "leg length");
    let clear = 0.5 * r.need("body.leg_spacing", "distance between the legs");
    // Squares of the same section are narrower than the rounds whose middles they share.
    let half_spacing = clear + 0.5 * (round.unwrap_or(width) - width);
    if round.is_some() {
        r.warnings.push(
            "round legs are computed as square ones of the same section, their middles as far apart".into(),
        );
    }
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
    let room = Slot { x_m: [0.5 * round.unwrap_or(width), middle], y_m: [yoke, face] };
    let section = round.map_or(Leg::Rectangular { width_m: width, depth_m: depth }, |_| Leg::Round);
    let (window, wound) = slot::leg_window(r, &room, section, COILS);
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
        sizes: vec![
            Size::across("body.leg_width", [inside, outside], 0.0),
            Size::across("body.leg_spacing", [-inside, inside], face),
            Size::along("body.leg_length", -outside, [yoke, face]),
            Size::along("body.yoke", outside, [0.0, yoke]),
        ],
        poles: vec![Pole { name: "leg".into(), x_m: [inside, outside], y_m: face }],
        window: Some((window, COILS)),
        reach_m: outside,
        ample_thickness_m: width,
    }
}
