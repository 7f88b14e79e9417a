//! Windings: closed forms, every way of completing one, packing limits, contradictions.

use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::magnet::winding::complete::{Completion, WindingInputs, complete};
use coilwright_magnet::magnet::winding::error::WindingError;
use coilwright_magnet::magnet::winding::fit::{HEXAGONAL_PACKING, SQUARE_PACKING, most_turns};
use coilwright_magnet::magnet::winding::power_for_ampere_turns_w;
use coilwright_magnet::magnet::winding::window::Window;
use coilwright_magnet::material::{CELSIUS_ZERO_K, conductor};
use coilwright_magnet::quantity::{Dimension, Quantity};
use coilwright_magnet::wire::{Grade, Wire};
use proptest::prelude::*;
use std::f64::consts::PI;

const ROOM: f64 = 20.0 + CELSIUS_ZERO_K;

fn axial() -> Window {
    Window::Axial { inner_diameter_m: 21e-3, outer_diameter_m: 43e-3, length_m: 23.5e-3 }
}

fn inputs() -> WindingInputs {
    WindingInputs::new(axial(), conductor("copper").expect("copper is there"))
}

fn wire(text: &str) -> Option<Wire> {
    Some(Wire::parse(text).expect(text))
}

fn count(turns: f64) -> Option<Quantity> {
    Some(Quantity::exact(turns, Dimension::Count))
}

fn ohm(value: f64, half_width: f64) -> Option<Quantity> {
    Some(Quantity { value, half_width, dimension: Dimension::Resistance })
}

fn done(inputs: &WindingInputs) -> Completion {
    complete(inputs).expect("complete")
}

/// Wire of AWG 24 on a 1000-turn coil of 0.3048 m mean turn is 1000 ft: 25.67 Ω by the wire table
/// (hyperphysics.phy-astr.gsu.edu/hbase/Tables/wirega.html), 0.05 %.
#[test]
fn resistance_by_the_wire_table() {
    let mean = 0.3048 / PI;
    let window =
        Window::Axial { inner_diameter_m: mean - 0.02, outer_diameter_m: mean + 0.02, length_m: 0.03 };
    let copper = conductor("copper").unwrap();
    let given = WindingInputs {
        turns: count(1000.0),
        wire: wire("AWG 24 grade 1"),
        ..WindingInputs::new(window, copper)
    };
    let winding = done(&given).winding;
    assert!((winding.wire_length_m - 304.8).abs() < 1e-9);
    assert!((winding.resistance_20_ohm / 25.67 - 1.0).abs() < 5e-4, "{}", winding.resistance_20_ohm);
    // IEC 60034-1: 1.314342 times that at 100 °C.
    let hot = 100.0 + CELSIUS_ZERO_K;
    assert!((winding.resistance_ohm(hot) / winding.resistance_20_ohm - 1.314342).abs() < 1e-6);
    // Ohm's and Joule's laws.
    let current = winding.current_a(24.0, 1.5, hot);
    assert!((winding.voltage_v(current, 1.5, hot) - 24.0).abs() < 1e-12);
    let heat = winding.power_w(current, hot) + current * current * 1.5;
    assert!((heat - 24.0 * current).abs() < 1e-12);
    assert!((winding.ampere_turns(current) - 1000.0 * current).abs() < 1e-12);
    assert!((winding.current_density_a_per_m2(current) * winding.turn_area_m2() - current).abs() < 1e-12);
    // Mass: conductor share of the volume of the ring (Pappus) times 8890 kg/m³ (IEC 60028, from memory).
    let mass = 8890.0 * winding.fill_factor * winding.window.volume_m3();
    assert!((winding.conductor_mass_kg / mass - 1.0).abs() < 1e-12);
}

/// The volume of a ring of rectangular section, and a race track whose leg shrinks to nothing being a ring.
#[test]
fn windows() {
    let ring = PI / 4.0 * (0.043f64.powi(2) - 0.021f64.powi(2)) * 0.0235;
    assert!((axial().volume_m3() / ring - 1.0).abs() < 1e-12);
    let track = Window::Racetrack {
        leg_width_m: 1e-12,
        leg_depth_m: 1e-12,
        clearance_m: 10.5e-3,
        build_m: 11e-3,
        length_m: 23.5e-3,
    };
    assert!((track.mean_turn_length_m() / axial().mean_turn_length_m() - 1.0).abs() < 1e-9);
    // Around 20 mm × 30 mm with sharp corners (no clearance) the innermost turn is the leg's girth.
    let leg = Window::Racetrack {
        leg_width_m: 0.02,
        leg_depth_m: 0.03,
        clearance_m: 0.0,
        build_m: 0.01,
        length_m: 0.04,
    };
    assert!((leg.turn_length_m(0.0) - 0.1).abs() < 1e-15);
    assert!((leg.mean_turn_length_m() - (0.1 + 2.0 * PI * 0.005)).abs() < 1e-15);
}

/// π/4 and π/(2√3), the shares that circles cover in square and hexagonal packing, and the count in a finite
/// window: exact in small ones, tending to the hexagonal share in large ones.
#[test]
fn packing() {
    assert!((SQUARE_PACKING - PI / 4.0).abs() < 1e-9);
    assert!((HEXAGONAL_PACKING - 0.906_899_682_1).abs() < 1e-9);
    let window = |depth: f64, length: f64| Window::Axial {
        inner_diameter_m: 0.01,
        outer_diameter_m: 0.01 + 2.0 * depth,
        length_m: length,
    };
    let d = 1e-3;
    assert_eq!(most_turns(&window(d, 10.0 * d), d), 10.0);
    assert_eq!(most_turns(&window(0.9 * d, 10.0 * d), d), 0.0);
    // Three nested layers need 1 + √3 diameters of depth: 10 + 9 + 10.
    assert_eq!(most_turns(&window((1.0 + 3f64.sqrt()) * d, 10.0 * d), d), 29.0);
    assert_eq!(most_turns(&window((1.0 + 3f64.sqrt()) * d, 10.5 * d), d), 30.0);
    assert_eq!(most_turns(&window(2.0 * d, 2.0 * d), d), 4.0);
    let large = window(1000.0 * d, 1000.0 * d);
    let share = most_turns(&large, d) * PI / 4.0 * d * d / large.area_m2();
    assert!(share < HEXAGONAL_PACKING && share > 0.998 * HEXAGONAL_PACKING, "{share}");
}

#[test]
fn what_is_not_given_is_assumed_and_said() {
    // Wire alone: fill of a wild winding, 0.45 to 0.5 of copper (mycoil.info, glossary) within its band.
    let c = done(&WindingInputs { wire: wire("0.5 mm grade 2"), ..inputs() });
    let fill = c.assumptions.iter().find(|a| a.path == "winding.fill_factor").unwrap();
    assert!((fill.value.unwrap() - 0.475).abs() < fill.standard && !fill.follows);
    assert!(c.assumptions.iter().any(|a| a.path == "winding.turns" && a.follows));
    assert!(c.contradictions.is_empty());
    let shown = Assumption::from(fill);
    let band = shown.value.unwrap().band.unwrap();
    assert!((band.high - band.low - 4.0 * fill.standard).abs() < 1e-12 && !shown.reason.is_empty());
    // A wire without grade says so.
    let c = done(&WindingInputs { wire: wire("0.5 mm"), turns: count(400.0), ..inputs() });
    assert!(c.assumptions.iter().any(|a| a.path == "winding.wire" && a.word == "grade 1"));
    // Turns alone: the wire follows from the assumed fill.
    let c = done(&WindingInputs { turns: count(400.0), ..inputs() });
    assert!(!c.winding.wire_is_given && (c.winding.fill_factor - 0.475).abs() < 1e-12);
    let w = c.assumptions.iter().find(|a| a.label == "wire").unwrap();
    assert!(w.reason.contains("nearest preferred size"), "{}", w.reason);
    // Nothing at all.
    assert_eq!(complete(&inputs()), Err(WindingError::NotEnough));
    // Layers and wire: whole turns.
    let c = done(&WindingInputs { wire: wire("0.5 mm grade 2"), layers: Some(10.0), ..inputs() });
    assert_eq!(c.winding.turns, 10.0 * (23.5e-3 / c.winding.wire.overall_diameter_m).floor());
    assert_eq!(c.winding.layers, 10.0);
}

#[test]
fn measured_resistance_rules_and_contradicts() {
    let base = WindingInputs { wire: wire("0.5 mm grade 2"), turns: count(420.0), ..inputs() };
    let expected = done(&base).winding.resistance_20_ohm;
    // As measured warm, the same coil: no contradiction, and the resistance comes back.
    let warm = 45.0 + CELSIUS_ZERO_K;
    let hot = expected * (234.5 + 45.0) / (234.5 + 20.0);
    let agreed = WindingInputs { resistance: ohm(hot, 0.01 * hot), resistance_at_k: warm, ..base.clone() };
    let c = done(&agreed);
    assert!(c.contradictions.is_empty(), "{:?}", c.contradictions);
    assert!((c.winding.resistance_20_ohm / expected - 1.0).abs() < 1e-12);
    assert!(c.winding.resistance_contributors.is_empty());
    // 20 % more than turns and wire can explain.
    let c = done(&WindingInputs { resistance: ohm(1.2 * expected, 0.0), ..base.clone() });
    let [found] = c.contradictions.as_slice() else { panic!("{:?}", c.contradictions) };
    assert_eq!(found.about, "winding.resistance");
    assert!(
        (found.stated / found.implied - 1.2).abs() < 1e-9 && found.text.contains("1.200"),
        "{}",
        found.text
    );
    assert!((c.winding.resistance_20_ohm / expected - 1.2).abs() < 1e-12);
    // Stated fill and layers against turns and wire.
    let fill = Quantity::exact(0.7, Dimension::Ratio);
    let c = done(&WindingInputs { fill_factor: Some(fill), layers: Some(30.0), ..base });
    let about: Vec<&str> = c.contradictions.iter().map(|c| c.about).collect();
    assert_eq!(about, ["winding.fill_factor", "winding.layers"]);
}

#[test]
fn wire_that_does_not_fit() {
    let of =
        |turns: f64| done(&WindingInputs { turns: count(turns), wire: wire("0.5 mm grade 2"), ..inputs() });
    let most = most_turns(&axial(), 0.544e-3);
    assert!(of(1000.0).contradictions[0].text.starts_with("does not fit"));
    assert!(of(most + 1.0).contradictions[0].text.contains("0.907"));
    assert!((of(most + 1.0).contradictions[0].implied - most).abs() < 1e-9);
    assert!(of(880.0).contradictions[0].text.starts_with("hardly fits"));
    assert!(of(600.0).contradictions.is_empty());
    assert!(of(100.0).contradictions[0].text.contains("fill only"));
}

#[test]
fn impossible_inputs() {
    let bad = |i: WindingInputs| matches!(complete(&i), Err(WindingError::Value { .. }));
    let w = || wire("0.5 mm");
    assert!(bad(WindingInputs { turns: count(-5.0), wire: w(), ..inputs() }));
    assert!(bad(WindingInputs { turns: count(f64::NAN), wire: w(), ..inputs() }));
    assert!(bad(WindingInputs { parallel: 0.0, wire: w(), ..inputs() }));
    assert!(bad(WindingInputs { resistance: ohm(0.0, 0.0), wire: w(), ..inputs() }));
    assert!(bad(WindingInputs { resistance: ohm(5.0, 0.0), resistance_at_k: 0.0, wire: w(), ..inputs() }));
    let fill = Quantity::exact(1.2, Dimension::Ratio);
    assert!(bad(WindingInputs { fill_factor: Some(fill), wire: w(), ..inputs() }));
    let window = Window::Axial { inner_diameter_m: 0.05, outer_diameter_m: 0.04, length_m: 0.02 };
    assert!(bad(WindingInputs { window, wire: w(), ..inputs() }));
    // 1 MΩ in 3 turns: a wire of some nanometres.
    let absurd = WindingInputs { turns: count(3.0), resistance: ohm(1e6, 0.0), ..inputs() };
    assert!(matches!(complete(&absurd), Err(WindingError::Wire(_))));
}

proptest! {
    /// Whichever two of turns, wire, resistance and fill factor are given, the other two come back.
    #[test]
    fn every_pair_gives_the_same_winding(
        mm in 0.1f64..1.0, fill in 0.05f64..0.95, parallel in 1u8..4, coils in 1u8..3,
    ) {
        let base = WindingInputs { parallel: f64::from(parallel), coils: f64::from(coils), ..inputs() };
        let wire = Wire::new(mm * 1e-3, Grade::One).unwrap();
        let turns = fill * base.coils * axial().area_m2() / (base.parallel * wire.conductor_area_m2());
        let wire = Some(wire);
        let whole = done(&WindingInputs { turns: count(turns), wire: wire.clone(), ..base.clone() }).winding;
        prop_assert!((whole.fill_factor / fill - 1.0).abs() < 1e-12);
        let r = ohm(whole.resistance_20_ohm, 0.0);
        let fill = Some(Quantity::exact(whole.fill_factor, Dimension::Ratio));
        for given in [
            WindingInputs { wire: wire.clone(), resistance: r, ..base.clone() },
            WindingInputs { turns: count(turns), resistance: r, ..base.clone() },
            WindingInputs { turns: count(turns), fill_factor: fill, ..base.clone() },
            WindingInputs { wire: wire.clone(), fill_factor: fill, ..base.clone() },
            WindingInputs { resistance: r, fill_factor: fill, ..base.clone() },
        ] {
            let again = done(&given).winding;
            for (a, b) in [
                (again.turns, whole.turns),
                (again.wire.diameter_m, whole.wire.diameter_m),
                (again.resistance_20_ohm, whole.resistance_20_ohm),
                (again.fill_factor, whole.fill_factor),
                (again.conductor_mass_kg, whole.conductor_mass_kg),
            ] {
                prop_assert!((a / b - 1.0).abs() < 1e-9, "{a} against {b}");
            }
        }
        // Power for given ampere-turns depends on the copper in the window only.
        let ni = 900.0;
        let direct = whole.power_w(ni / whole.turns, ROOM);
        let copper = whole.conductor;
        let by_fill = power_for_ampere_turns_w(ni / whole.coils, &axial(), whole.fill_factor, copper, ROOM);
        prop_assert!((direct / (whole.coils * by_fill) - 1.0).abs() < 1e-9);
    }
}
