//! Pot magnet: a shell with a back, a centre pole and the winding between them. Back at y = 0, rim at the top.

use crate::magnet::form::section::Section;
use crate::magnet::form::{common, slot};
use crate::magnet::size::Size;
use crate::magnet::{Pole, Reader};
use crate::quantity::Dimension;
use coilwright_fem::drawing::Symmetry;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let outer = 0.5 * r.need("body.outer_diameter", "outer diameter");
    let height = r.need("body.height", "height");
    // Half the outside across is common practice where the pole was not measured.
    let pole = 0.5
        * r.or_assume(
            "body.pole_diameter",
            "pole diameter",
            (1.0 * outer, 0.08 * outer),
            Dimension::Length,
            "half the outer diameter (common practice)",
        );
    let hole = 0.5 * r.given("body.hole_diameter", "hole through the pole").unwrap_or(0.0);
    let recess = r.given("body.pole_recess", "recess of the pole").unwrap_or(0.0);
    // Flux that leaves through the pole returns through the wall: equal areas.
    let balanced = (outer * outer - pole * pole + hole * hole).max(0.0).sqrt();
    let inner = match r.given("body.inner_diameter", "inner diameter of the shell") {
        Some(inner) => {
            if r.sheet.has("body.wall") {
                r.fault(
                    "body.wall",
                    "both the wall and the inner diameter are given",
                    "one follows from the other: remove either",
                );
            }
            0.5 * inner
        }
        None => {
            let wall = outer - balanced;
            outer
                - r.or_assume(
                    "body.wall",
                    "wall thickness",
                    (wall, 0.15 * wall),
                    Dimension::Length,
                    "as much area as the pole (area balance)",
                )
        }
    };
    // All the pole's flux passes through the back at the pole's edge.
    let even = if pole > 0.0 { (pole * pole - hole * hole) / (2.0 * pole) } else { 0.0 };
    let back = r.or_assume(
        "body.back",
        "thickness of the back",
        (even, 0.15 * even),
        Dimension::Length,
        "as much area round the pole's edge as the pole has (area balance)",
    );
    r.must_be_less("body.pole_diameter", (pole, "the pole's radius"), (inner, "the shell's inner radius"));
    r.must_be_less("body.wall", (inner, "the shell's inner radius"), (outer, "its outer radius"));
    r.must_be_less("body.hole_diameter", (hole, "the hole's radius"), (pole, "the pole's radius"));
    r.must_be_less("body.back", (back, "the back's thickness"), (height, "the height"));
    if back < height {
        r.must_be_less(
            "body.pole_recess",
            (recess, "the pole's recess"),
            (height - back, "the pole's length"),
        );
    }

    let shell = common::iron(r, "body.material", "material of the body");
    let core = if r.sheet.has("body.pole_material") {
        common::iron(r, "body.pole_material", "material of the pole")
    } else {
        shell.clone()
    };
    let window = slot::Slot { x_m: [pole, inner], y_m: [back, height - recess.max(0.0)] };
    let (window, conductors) = slot::axial_window(r, &window);
    Section {
        symmetry: Symmetry::Axial,
        depth_m: 1.0,
        parts: vec![
            common::iron_part("back", [hole, outer], [0.0, back], &shell),
            common::iron_part("wall", [inner, outer], [back, height], &shell),
            common::iron_part("pole", [hole, pole], [back, height - recess], &core),
            conductors,
        ],
        face_m: height,
        sizes: vec![
            Size::diameter("body.outer_diameter", outer, 0.0),
            Size::diameter("body.hole_diameter", hole, 0.0),
            Size::diameter("body.pole_diameter", pole, height - recess),
            Size::diameter("body.inner_diameter", inner, height),
            Size::across("body.wall", [inner, outer], 0.0),
            Size::along("body.height", outer, [0.0, height]),
            Size::along("body.back", -outer, [0.0, back]),
            Size::along("body.pole_recess", -pole, [height - recess, height]),
        ],
        poles: vec![
            Pole { name: "centre pole".into(), x_m: [hole, pole], y_m: height - recess },
            Pole { name: "outer ring".into(), x_m: [inner, outer], y_m: height },
        ],
        window: Some((window, 1.0)),
        reach_m: outer,
        ample_thickness_m: back.max(even),
    }
}
