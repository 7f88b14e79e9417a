//! Potted disc: a permanent magnet on the back of a steel cup whose wall comes round to the face. Back at y = 0, rim
//! at the top; the magnet is north at its top, the rim south.

use crate::magnet::form::section::Section;
use crate::magnet::form::{common, permanent};
use crate::magnet::size::Size;
use crate::magnet::{Pole, Reader};
use crate::quantity::Dimension;
use coilwright_fem::drawing::Symmetry;

/// Wall over outer diameter, and clear ring between magnet and wall over outer diameter (common practice, no source).
const WALL_SHARE: f64 = 0.1;
const CLEAR_SHARE: f64 = 0.06;
/// Relative standard uncertainty of what is assumed by proportion.
const PROPORTION_RELATIVE_STANDARD: f64 = 0.15;
/// Flux density of a closed magnet over that at which a steel cup is used to the full (common practice, no source):
/// what share of the magnet's area its return path needs.
const FLUX_RATIO: f64 = 0.7;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let outer = 0.5 * r.need("body.outer_diameter", "outer diameter");
    let height = r.need("body.height", "height");
    let proportion = |value: f64| (value, PROPORTION_RELATIVE_STANDARD * value);
    let wall = r.or_assume(
        "body.wall",
        "wall thickness",
        proportion(2.0 * WALL_SHARE * outer),
        Dimension::Length,
        "a tenth of the outer diameter (common practice)",
    );
    let bore = outer - wall;
    let magnet = 0.5
        * r.or_assume(
            "body.magnet_diameter",
            "diameter of the magnet",
            {
                let clear = proportion(4.0 * CLEAR_SHARE * outer);
                (2.0 * bore - clear.0, clear.1)
            },
            Dimension::Length,
            "the bore less a clear ring of 6 % of the outer diameter (common practice)",
        );
    if magnet <= 0.0 {
        r.fault(
            "body.wall",
            format!("a bore of {:.2} mm across leaves no room for a magnet", 2e3 * bore),
            "check `body.wall` and `body.outer_diameter`, or give `body.magnet_diameter`",
        );
    }
    let back = back(r, magnet, height);
    let thickness = r.or_assume(
        "body.magnet_thickness",
        "thickness of the magnet",
        (height - back, 0.0),
        Dimension::Length,
        "flush with the rim",
    );
    r.must_be_less("body.wall", (wall, "the wall's thickness"), (outer, "the outer radius"));
    r.must_be_less("body.magnet_diameter", (magnet, "the magnet's radius"), (bore, "the cup's inner radius"));
    r.must_be_less("body.back", (back, "the back's thickness"), (height, "the height"));
    let top = back + thickness;
    if top > height * (1.0 + 1e-9) {
        r.fault(
            "body.magnet_thickness",
            format!(
                "the magnet ({:.3} mm) stands out of the cup, which is {:.3} mm deep",
                1e3 * thickness,
                1e3 * (height - back)
            ),
            "measure height, back and magnet again",
        );
    }
    let cup = common::iron(r, "body.material", "material of the cup");
    Section {
        symmetry: Symmetry::Axial,
        depth_m: 1.0,
        parts: vec![
            common::iron_part("back", [0.0, outer], [0.0, back], &cup),
            common::iron_part("wall", [bore, outer], [back, height], &cup),
            permanent::magnet(r, [0.0, magnet], [back, top]),
        ],
        face_m: height,
        sizes: vec![
            Size::diameter("body.outer_diameter", outer, 0.0),
            Size::diameter("body.magnet_diameter", magnet, top),
            Size::across("body.wall", [bore, outer], 0.0),
            Size::along("body.height", outer, [0.0, height]),
            Size::along("body.back", -outer, [0.0, back]),
            Size::along("body.magnet_thickness", -magnet, [back, top]),
        ],
        poles: vec![
            Pole { name: "magnet".into(), x_m: [0.0, magnet], y_m: top },
            Pole { name: "rim".into(), x_m: [bore, outer], y_m: height },
        ],
        window: None,
        reach_m: outer,
        ample_thickness_m: back.max(0.5 * FLUX_RATIO * magnet),
    }
}

/// The back: what a flush magnet of known thickness leaves, or else enough for its flux at its edge.
fn back(r: &mut Reader<'_>, magnet: f64, height: f64) -> f64 {
    let (value, standard, reason) = match r.given("body.magnet_thickness", "thickness of the magnet") {
        Some(thickness) => (height - thickness, 0.0, "what a magnet flush with the rim leaves"),
        None => {
            let even = 0.5 * FLUX_RATIO * magnet;
            (
                even,
                PROPORTION_RELATIVE_STANDARD * even,
                "carries the magnet's flux at its edge (area balance)",
            )
        }
    };
    let back =
        r.or_assume("body.back", "thickness of the back", (value, standard), Dimension::Length, reason);
    if back <= 0.0 {
        r.fault(
            "body.magnet_thickness",
            "the magnet leaves no room for a back",
            format!("it must be thinner than the cup is high, {:.3} mm", 1e3 * height),
        );
    }
    back
}
