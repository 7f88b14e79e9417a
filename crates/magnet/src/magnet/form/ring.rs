//! Ring: a permanent magnet with a bore, magnetised along its axis. Underside at y = 0, face (north) at the top.

use crate::magnet::Reader;
use crate::magnet::form::disc;
use crate::magnet::form::section::Section;
use crate::magnet::size::Size;

pub(crate) fn draw(r: &mut Reader<'_>) -> Section {
    let outer = 0.5 * r.need("body.outer_diameter", "outer diameter");
    let inner = 0.5 * r.need("body.inner_diameter", "inner diameter");
    let thickness = r.need("body.thickness", "thickness");
    r.must_be_less("body.inner_diameter", (inner, "the inner radius"), (outer, "the outer radius"));
    let sizes = vec![
        Size::diameter("body.outer_diameter", outer, 0.0),
        Size::diameter("body.inner_diameter", inner, thickness),
        Size::along("body.thickness", outer, [0.0, thickness]),
    ];
    Section { sizes, ..disc::round(r, [inner, outer], thickness, "ring") }
}
