//! The slot that iron leaves for a winding, and where in it the winding lies.

use crate::magnet::winding::complete::{WILD_FILL, WILD_FILL_RELATIVE_STANDARD};
use crate::magnet::winding::window::Window;
use crate::magnet::{Part, Reader, Substance};
use crate::material::{CELSIUS_ZERO_K, conductor};
use crate::quantity::Dimension;
use crate::wire::Wire;
use coilwright_fem::drawing::Outline;
use std::f64::consts::PI;

/// Free space between winding and iron where the sheet names no bobbin, m (common practice, no source).
const CLEARANCE_M: f64 = 0.5e-3;
/// Standard uncertainty of where a winding that is pushed to the face starts, of the room that it leaves (common practice,
/// no source).
const LOOSE_START: f64 = 0.05;

/// A rectangular slot that holds the winding.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Slot {
    pub(crate) x_m: [f64; 2],
    pub(crate) y_m: [f64; 2],
}

/// Where a winding lies: distance from the axis, or from the middle of the leg it goes round, and height.
pub(crate) type Wound = Slot;

/// What a winding goes round.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Leg {
    /// A leg or pole of round section.
    Round,
    /// A leg of rectangular section.
    Rectangular {
        /// Across the drawing's x, m.
        width_m: f64,
        /// Across the drawing, m.
        depth_m: f64,
    },
}

impl Leg {
    /// Length of a turn, m, at a distance (m) from the leg's middle.
    fn turn_m(self, at_m: f64) -> f64 {
        match self {
            Self::Round => 2.0 * PI * at_m,
            Self::Rectangular { width_m, depth_m } => {
                2.0 * (width_m + depth_m) + 2.0 * PI * (at_m - 0.5 * width_m)
            }
        }
    }
}

/// The window of a ring winding in a slot, and the part that shows its conductors.
pub(crate) fn axial_window(r: &mut Reader<'_>, slot: &Slot) -> (Window, Part) {
    let needed = what_it_needs(r, slot, Leg::Round, 1.0);
    let wound = wound(r, &needed);
    must_lie_in(r, &wound, slot);
    ring(&wound)
}

/// The same of a winding whose place is known.
pub(crate) fn ring(wound: &Wound) -> (Window, Part) {
    let [inner, outer] = wound.x_m;
    let window = Window::Axial {
        inner_diameter_m: 2.0 * inner,
        outer_diameter_m: 2.0 * outer,
        length_m: wound.y_m[1] - wound.y_m[0],
    };
    (window, conductors("winding", wound.x_m, wound.y_m, 1.0))
}

/// The window of a winding round each of `coils` legs, in a slot measured from the leg's middle.
pub(crate) fn leg_window(r: &mut Reader<'_>, slot: &Slot, leg: Leg, coils: f64) -> (Window, Wound) {
    let needed = what_it_needs(r, slot, leg, coils);
    let wound = wound(r, &needed);
    must_lie_in(r, &wound, slot);
    let window = match leg {
        Leg::Round => ring(&wound).0,
        Leg::Rectangular { width_m, depth_m } => Window::Racetrack {
            leg_width_m: width_m,
            leg_depth_m: depth_m,
            clearance_m: wound.x_m[0] - 0.5 * width_m,
            build_m: wound.x_m[1] - wound.x_m[0],
            length_m: wound.y_m[1] - wound.y_m[0],
        },
    };
    (window, wound)
}

/// The part of a slot that its winding needs: all of it, unless the wire would not fill it even wound at its loosest.
fn what_it_needs(r: &mut Reader<'_>, slot: &Slot, leg: Leg, coils: f64) -> Slot {
    let path = "winding.outer_diameter";
    if r.sheet.has(path) {
        return *slot;
    }
    let clear = clearance(r);
    let inner = r.sheet.value("winding.inner_diameter").map_or(slot.x_m[0] + clear, |d| 0.5 * d);
    let length = r.sheet.value("winding.length").unwrap_or(slot.y_m[1] - slot.y_m[0] - 2.0 * clear);
    let Some(build) = build(r, leg, inner, length, coils) else { return *slot };
    let room = slot.x_m[1] - clear - inner;
    let loosest = build / (1.0 - 2.0 * WILD_FILL_RELATIVE_STANDARD);
    if loosest.is_nan() || loosest >= room {
        return *slot;
    }
    let outer = 0.5
        * r.or_assume(
            path,
            "outer diameter of the winding",
            (2.0 * (inner + build), 2.0 * WILD_FILL_RELATIVE_STANDARD * build),
            Dimension::Length,
            "what so much wire needs, wild wound: it does not fill its room (common practice)",
        );
    Slot { x_m: [slot.x_m[0], outer + clear], ..*slot }
}

/// Thickness of a winding that its wire needs, m, wound wild over a length (m) from a distance (m) of the leg's middle: from
/// its turns, or from the length of its wire by its resistance.
pub(crate) fn build(r: &Reader<'_>, leg: Leg, inner_m: f64, length_m: f64, coils: f64) -> Option<f64> {
    let s = r.sheet;
    let wire = Wire::parse(s.word("winding.wire")?).ok()?;
    let parallel = s.value("winding.parallel").unwrap_or(1.0);
    let area = match s.value("winding.fill_factor") {
        Some(fill) => wire.conductor_area_m2() / fill,
        None => wire.overall_area_m2() / WILD_FILL,
    };
    if let Some(turns) = s.value("winding.turns") {
        return Some(turns / coils * parallel * area / length_m);
    }
    let ohm = s.value("winding.resistance")?;
    let metal = conductor(s.word("winding.conductor").unwrap_or("copper")).ok()?;
    let kelvin = s.value("winding.resistance_at").unwrap_or(20.0 + CELSIUS_ZERO_K);
    let wire_m = parallel * parallel * ohm / wire.resistance_ohm_per_m(metal.resistivity_ohm_m(kelvin));
    // A winding of thickness b over a length l, whose innermost turn is p long, has the volume (p + π b) b l.
    let section = wire_m / coils * area / length_m;
    let innermost = leg.turn_m(inner_m);
    Some(((innermost * innermost + 4.0 * PI * section).sqrt() - innermost) / (2.0 * PI))
}

/// Where the sheet says the winding lies, or else what the slot leaves inside the bobbin's walls.
pub(crate) fn wound(r: &mut Reader<'_>, slot: &Slot) -> Wound {
    let clear = clearance(r);
    if !r.sheet.has("winding.outer_diameter") {
        let (label, word) = ("outer diameter of the winding", "as far as its room goes");
        r.listed("winding.outer_diameter", label, word, "not given; a wound bobbin is commonly full");
    }
    let mut number = |path: &str, label: &str, fallback: f64| r.given(path, label).unwrap_or(fallback);
    let inner =
        number("winding.inner_diameter", "inner diameter of the winding", 2.0 * (slot.x_m[0] + clear));
    let outer =
        number("winding.outer_diameter", "outer diameter of the winding", 2.0 * (slot.x_m[1] - clear));
    let [first, last] = [slot.y_m[0] + clear, slot.y_m[1] - clear];
    let given = r.given("winding.length", "length of the winding");
    let start = match given {
        Some(length) if length < (last - first) * (1.0 - 1e-6) => r.or_assume_within(
            "winding.start",
            "start of the winding",
            (last - length, LOOSE_START * (last - length - first)),
            (Dimension::Length, [first, last - length]),
            "at the face, where it pulls most, for the winding is shorter than its room (common practice)",
        ),
        _ => r.given("winding.start", "start of the winding").unwrap_or(first),
    };
    let length = given.unwrap_or(last - start);
    let wound = Slot { x_m: [0.5 * inner, 0.5 * outer], y_m: [start, start + length] };
    if outer <= inner || length <= 0.0 {
        r.fault(
            place(r),
            format!(
                "no room is left for the winding: {:.2} mm across, {:.2} mm along",
                500.0 * (outer - inner),
                1e3 * length
            ),
            "check the body's dimensions, `winding.bobbin_wall` and the window's own",
        );
    }
    wound
}

/// Where a fault of the winding's room is shown: a sheet that says nothing of the winding has only its body to blame.
fn place(r: &Reader<'_>) -> &'static str {
    if r.sheet.has("winding") { "winding" } else { "body" }
}

fn must_lie_in(r: &mut Reader<'_>, wound: &Wound, slot: &Slot) {
    let out = |a: [f64; 2], b: [f64; 2]| {
        let slack = 1e-9 * (b[0].abs() + b[1].abs());
        a[0] < b[0] - slack || a[1] > b[1] + slack
    };
    let empty = wound.x_m[1] <= wound.x_m[0] || wound.y_m[1] <= wound.y_m[0];
    if !empty && (out(wound.x_m, slot.x_m) || out(wound.y_m, slot.y_m)) {
        r.fault(
            place(r),
            format!("the winding overlaps the iron: it is {wound}"),
            format!("the slot is {slot}"),
        );
    }
}

/// That a winding overlaps none of some rectangles of iron.
pub(crate) fn must_clear(r: &mut Reader<'_>, wound: &Wound, iron: &[(&str, Slot)]) {
    let meet = |a: [f64; 2], b: [f64; 2]| {
        let slack = 1e-9 * (b[0].abs() + b[1].abs());
        a[0] < b[1] - slack && a[1] > b[0] + slack
    };
    for (name, part) in iron {
        if meet(wound.x_m, part.x_m) && meet(wound.y_m, part.y_m) {
            r.fault(
                "winding",
                format!("the winding overlaps the {name}: it is {wound}"),
                format!("the {name} is {part}"),
            );
        }
    }
}

impl std::fmt::Display for Slot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let ([a, b], [c, d]) = (self.x_m.map(|v| 1e3 * v), self.y_m.map(|v| 1e3 * v));
        write!(f, "{a:.2} to {b:.2} mm from the middle and {c:.2} to {d:.2} mm high")
    }
}

/// The clearance between winding and iron: the bobbin's wall.
pub(crate) fn clearance(r: &mut Reader<'_>) -> f64 {
    let whole = ["inner_diameter", "outer_diameter", "start", "length"];
    if whole.iter().all(|k| r.sheet.has(&format!("winding.{k}"))) {
        return 0.0;
    }
    r.or_assume(
        "winding.bobbin_wall",
        "clearance of the winding",
        (CLEARANCE_M, 0.3 * CLEARANCE_M),
        Dimension::Length,
        "bobbin or insulation all round (common practice)",
    )
}

/// A rectangle of conductors that carries a share of the ampere-turns.
pub(crate) fn conductors(name: &str, x_m: [f64; 2], y_m: [f64; 2], share: f64) -> Part {
    Part {
        name: name.into(),
        outline: Outline::rectangle(x_m, y_m),
        substance: Substance::Conductors { share },
        is_workpiece: false,
    }
}
