//! Whether the wire goes into the window: packing of round wire.

use crate::magnet::winding::Winding;
use crate::magnet::winding::contradiction::Contradiction;
use crate::magnet::winding::window::Window;
use crate::quantity::Dimension;

/// Share of the area that circles cover in square packing, π/4.
pub const SQUARE_PACKING: f64 = std::f64::consts::FRAC_PI_4;

/// Share of the area that circles cover at most, π/(2√3): hexagonal packing, the orthocyclic winding's limit.
pub const HEXAGONAL_PACKING: f64 = 0.906_899_682_117_108_9;

/// Below this share over the enamel the winding does not nearly fill its window, and its mean turn is not the
/// window's (our own limit).
const SPARSE: f64 = 0.35;

/// Greatest number of wires of an overall diameter (m) in a window, layers nested in the gaps of the one below:
/// 1 + (depth/D − 1)·2/√3 layers of L/D wires, every other one shorter by one if half a diameter is missing.
pub fn most_turns(window: &Window, overall_diameter_m: f64) -> f64 {
    // A millionth of slack: a window of exactly n diameters holds n wires.
    let across = window.depth_m() / overall_diameter_m + 1e-6;
    let along = window.length_m() / overall_diameter_m + 1e-6;
    if across < 1.0 || along < 1.0 {
        return 0.0;
    }
    let layers = 1.0 + ((across - 1.0) * 2.0 / 3f64.sqrt()).floor();
    let shorter = if along.fract() >= 0.5 { 0.0 } else { (layers / 2.0).floor() };
    let nested = layers * along.floor() - shorter;
    nested.max(across.floor() * along.floor())
}

/// What a sentence about a magnet has to say first where its winding cannot be wound: how many turns find room at most, the
/// wire being as thin as its grade allows. Nothing where it fits.
pub(crate) fn lacks_room(winding: &Winding) -> Option<String> {
    let (turns, most) = (winding.turns, room_for(winding));
    let told = || {
        format!("The winding does not fit: at most {:.0} of its {turns:.0} turns find room.", most.floor())
    };
    (turns > most).then(told)
}

/// The most turns that find room, the wire being as thin as its grade allows.
pub(crate) fn room_for(winding: &Winding) -> f64 {
    let least = winding.wire.overall_diameter_m - winding.wire.overall_half_width_m;
    most_turns(&winding.window, least) * winding.coils / winding.parallel
}

/// What to say about how the wire fills the window.
pub(crate) fn remarks(winding: &Winding) -> Vec<Contradiction> {
    let overall = winding.wire.overall_diameter_m;
    let (fill, turns, name) = (winding.overall_fill, winding.turns, &winding.wire.name);
    let most = room_for(winding);
    let remark = |stated: f64, implied: f64, text: String| Contradiction {
        about: "winding.turns",
        label: "turns in the window",
        dimension: Dimension::Count,
        stated,
        implied,
        relative_standard: winding.wire.overall_half_width_m / overall,
        text,
    };
    let needs = format!("{turns:.0} turns of {name} would need a fill of {fill:.3} on overall diameter");
    if turns > most {
        return vec![remark(
            turns,
            most,
            format!(
                "does not fit: {needs}; the most that round wire can fill is {HEXAGONAL_PACKING:.3}, and in this \
                 window at most {most:.0} turns find room"
            ),
        )];
    }
    if fill > SQUARE_PACKING {
        return vec![remark(
            turns,
            most,
            format!(
                "hardly fits: {needs}; layers on top of each other reach {SQUARE_PACKING:.3}, only layers nested \
                 turn by turn (orthocyclic) reach up to {HEXAGONAL_PACKING:.3}"
            ),
        )];
    }
    if fill < SPARSE {
        let text = format!(
            "{turns:.0} turns of {name} fill only {:.0} % of the window (over the enamel); the mean turn is taken \
             through the middle of the whole window: give the winding's true size if it is smaller",
            100.0 * fill
        );
        return vec![remark(turns, most, text)];
    }
    Vec::new()
}
