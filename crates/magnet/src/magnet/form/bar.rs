//! Bar magnet: a coil on a straight core, which may have a flange (head) at the far end and a pole shoe at the face.
//! Far end at y = 0, face at the top. Where the coil stands out beyond the core, its end is the face.

use crate::magnet::form::section::Section;
use crate::magnet::form::{common, slot};
use crate::magnet::size::Size;
use crate::magnet::winding::complete::WILD_FILL_RELATIVE_STANDARD;
use crate::magnet::{Pole, Reader};
use crate::quantity::Dimension;
use coilwright_fem::drawing::Symmetry;
use slot::{Leg, Slot};

/// A disc of iron at one end of the core.
struct Flange {
    radius: f64,
    thickness: f64,
}

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let core = 0.5 * r.need("body.core_diameter", "core diameter");
    let length = r.need("body.core_length", "core length");
    let hole = 0.5 * r.given("body.hole_diameter", "hole through the core").unwrap_or(0.0);
    let head = flange(r, ["body.head_diameter", "body.head_thickness"], "head", core);
    let shoe = flange(r, ["body.face_diameter", "body.face_thickness"], "pole shoe", core);
    r.must_be_less("body.hole_diameter", (hole, "the hole's radius"), (core, "the core's radius"));
    let thickness = |f: &Option<Flange>| f.as_ref().map_or(0.0, |f| f.thickness);
    let (below, above) = (thickness(&head), length - thickness(&shoe));
    r.must_be_less("body.core_length", (below, "the head"), (above, "the core up to its pole shoe"));

    let iron = common::iron(r, "body.material", "material of the core");
    let mut solid = vec![("core", Slot { x_m: [hole, core], y_m: [0.0, length] })];
    if let Some(f) = &head {
        solid.push(("head", Slot { x_m: [core, f.radius], y_m: [0.0, below] }));
    }
    if let Some(f) = &shoe {
        solid.push(("pole shoe", Slot { x_m: [core, f.radius], y_m: [above, length] }));
    }
    let mut parts: Vec<_> =
        solid.iter().map(|(name, s)| common::iron_part(name, s.x_m, s.y_m, &iron)).collect();

    let room = Slot { x_m: [core, f64::NAN], y_m: [below, above] };
    let flanges = [&head, &shoe].into_iter().flatten().map(|f| f.radius).fold(0.0, f64::max);
    let outer = outer(r, &room, flanges);
    let wound = slot::wound(r, &Slot { x_m: [core, outer], ..room });
    // The whole of the core's section, hole included, is out of bounds, at any height.
    r.must_be_less(
        "winding.inner_diameter",
        (core * (1.0 - 1e-9), "the core's radius"),
        (wound.x_m[0], "the winding's inner radius"),
    );
    slot::must_clear(r, &wound, &solid[1..]);
    let (window, conductors) = slot::ring(&wound);
    parts.push(conductors);

    let face = length.max(wound.y_m[1]);
    if face > length * (1.0 + 1e-9) {
        r.warnings.push(format!(
            "the winding stands {:.2} mm proud of the core: heights and gaps are counted from its end",
            1e3 * (face - length)
        ));
    }
    let tip = shoe.as_ref().map_or(core, |f| f.radius);
    Section {
        symmetry: Symmetry::Axial,
        depth_m: 1.0,
        parts,
        face_m: face,
        sizes: vec![
            Size::diameter("body.core_diameter", core, length),
            Size::diameter("body.hole_diameter", hole, 0.0),
            Size::diameter("body.head_diameter", head.as_ref().map_or(0.0, |f| f.radius), 0.0),
            Size::diameter("body.face_diameter", tip, length),
            Size::along("body.core_length", tip, [0.0, length]),
            Size::along("body.head_thickness", -core, [0.0, below]),
            Size::along("body.face_thickness", -tip, [above, length]),
        ],
        poles: vec![Pole { name: "pole".into(), x_m: [hole, tip], y_m: length }],
        window: Some((window, 1.0)),
        reach_m: tip.max(wound.x_m[1]),
        // The core's flux leaves through a cylinder of this height at its edge: equal areas.
        ample_thickness_m: 0.5 * core,
    }
}

/// A flange of which at least the diameter is given.
fn flange(r: &mut Reader<'_>, [across, along]: [&str; 2], name: &str, core: f64) -> Option<Flange> {
    if !r.sheet.has(across) && !r.sheet.has(along) {
        return None;
    }
    let radius = 0.5 * r.need(across, &format!("diameter of the {name}"));
    let even = 0.5 * core;
    let thickness = r.or_assume(
        along,
        &format!("thickness of the {name}"),
        (even, 0.15 * even),
        Dimension::Length,
        "as much area round the core's edge as the core has (area balance)",
    );
    r.must_be_less(across, (core, "the core's radius"), (radius, &format!("the {name}'s radius")));
    Some(Flange { radius, thickness })
}

/// Outer radius of the slot: what the sheet says, or else what the wire needs, or the flanges leave, or is usual.
fn outer(r: &mut Reader<'_>, room: &Slot, flanges: f64) -> f64 {
    let path = "winding.outer_diameter";
    let label = "outer diameter of the winding";
    let core = room.x_m[0];
    if let Some(outer) = r.given(path, label) {
        return 0.5 * outer;
    }
    let clear = slot::clearance(r);
    let inner =
        r.given("winding.inner_diameter", "inner diameter of the winding").unwrap_or(2.0 * (core + clear));
    let length =
        r.given("winding.length", "length of the winding").unwrap_or(room.y_m[1] - room.y_m[0] - 2.0 * clear);
    let (diameter, standard, reason) = match slot::build(r, Leg::Round, 0.5 * inner, length, 1.0) {
        Some(build) => (
            inner + 2.0 * build,
            2.0 * WILD_FILL_RELATIVE_STANDARD * build,
            "what so much wire needs, wild wound (common practice)",
        ),
        None if flanges > core => (2.0 * flanges, 0.1 * flanges, "as far as the flange"),
        None => (4.0 * core, 0.8 * core, "twice the core's diameter (common practice)"),
    };
    // The slot ends a clearance beyond the winding.
    clear + 0.5 * r.or_assume(path, label, (diameter, standard), Dimension::Length, reason)
}
