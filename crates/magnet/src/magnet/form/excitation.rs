//! The winding of a sheet, completed, and what its drive makes of it.

use crate::magnet::assumption::Assumption;
use crate::magnet::form::section::Section;
use crate::magnet::winding::complete::WindingInputs;
use crate::magnet::winding::error::WindingError;
use crate::magnet::winding::window::Window;
use crate::magnet::{Excitation, Reader, Supply};
use crate::material::{CELSIUS_ZERO_K, Conductor, conductor};
use crate::quantity::{Dimension, Quantity, UnitSystem};
use crate::uncertainty::input::ANY;
use crate::uncertainty::measure::Measure;
use crate::wire::Wire;

/// Relative standard uncertainty of a resistance that only the nameplate tells (common practice, no source).
const NAMEPLATE: f64 = 0.1;

/// How far a winding that is called cold may be from 20 °C, K (common practice, no source).
const OHMS_AT_K: f64 = 2.0;

/// The winding, completed, and what the drive makes of it.
pub(crate) fn excitation(r: &mut Reader<'_>, section: &Section) -> Option<Excitation> {
    let (window, coils) = section.window?;
    let sign = sense(r);
    let kelvin = temperature(r);
    if let Some(ampere_turns) = r.given("winding.ampere_turns", "ampere-turns") {
        return Some(Excitation {
            winding: None,
            contradictions: Vec::new(),
            current_a: None,
            voltage_v: None,
            supply: None,
            lead_ohm: 0.0,
            kelvin,
            ampere_turns: sign * ampere_turns,
            inputs: None,
            variants: Vec::new(),
            turns: 1.0,
        });
    }
    let supply = supply(r);
    let (inputs, completion, variants) = complete_winding(r, window, coils)?;
    let supply = supply?;
    let winding = completion.winding;
    for a in completion.assumptions.iter().filter(|a| !a.follows) {
        if let (Some(value), true) = (a.value, a.standard > 0.0) {
            r.note_input(a.path, a.label, (value, a.standard), (a.dimension, ANY));
        }
    }
    r.assumptions.extend(completion.assumptions.iter().map(Into::into));
    r.warnings.extend(completion.contradictions.iter().map(|c| c.text.clone()));
    let current_a = supply.current_a(winding.resistance_ohm(kelvin));
    limited(r, &supply, winding.resistance_ohm(kelvin));
    Some(Excitation {
        current_a: Some(current_a),
        voltage_v: Some(winding.voltage_v(current_a, supply.lead_ohm, kelvin)),
        lead_ohm: supply.lead_ohm,
        supply: Some(supply),
        kelvin,
        ampere_turns: sign * winding.ampere_turns(current_a),
        inputs: Some(inputs),
        variants,
        turns: winding.turns,
        contradictions: completion.contradictions,
        winding: Some(winding),
    })
}

/// The supply: what the sheet says it holds, within its limits.
fn supply(r: &mut Reader<'_>) -> Option<Supply> {
    let lead_ohm = r.given("drive.lead_resistance", "resistance of the leads").unwrap_or(0.0);
    let mut limit = |path: &str, label: &str| r.given(path, label).unwrap_or(f64::INFINITY);
    let power_w = limit("drive.power_limit", "power limit");
    let (most_v, most_a) =
        (limit("drive.voltage_limit", "voltage limit"), limit("drive.current_limit", "current limit"));
    let voltage = r.given("drive.voltage", "voltage");
    let current = r.given("drive.current", "current");
    let held = Supply { voltage_v: most_v, current_a: most_a, power_w, lead_ohm };
    if voltage.is_some() || current.is_some() {
        let voltage_v = voltage.unwrap_or(f64::INFINITY).min(most_v);
        return Some(Supply { voltage_v, current_a: current.unwrap_or(f64::INFINITY).min(most_a), ..held });
    }
    let Some(v) = r.given("nameplate.voltage", "nameplate voltage") else {
        r.fault(
            "drive",
            "nothing drives the winding",
            "give `drive.voltage` or `drive.current` (or `winding.ampere_turns` alone)",
        );
        return None;
    };
    r.assumptions.push(Assumption {
        path: "drive.voltage".into(),
        label: "voltage".into(),
        value: Some(Measure { value: v, dimension: Dimension::Voltage, band: None }),
        word: String::new(),
        reason: "the nameplate's".into(),
    });
    Some(Supply { voltage_v: v.min(most_v), ..held })
}

/// Say so if a limit of the supply decides the current, and not what it is set to hold.
fn limited(r: &mut Reader<'_>, supply: &Supply, coil_ohm: f64) {
    let held = if r.sheet.has("drive.current") { "current" } else { "voltage" };
    let binding = supply.binding(coil_ohm);
    let set_above = |path: &str, limit: f64| r.sheet.value(path).is_some_and(|set| set > limit);
    let own_limit =
        set_above("drive.voltage", supply.voltage_v) || set_above("drive.current", supply.current_a);
    if binding != held || own_limit {
        let current = Dimension::Current.text(supply.current_a(coil_ohm), None, UnitSystem::Si);
        r.warnings.push(format!("the supply's {binding} limit holds the current at {current}"));
    }
}

/// What can be found wrong without a window.
pub(crate) fn check(r: &mut Reader<'_>) {
    let _ = stuff(r);
}

/// +1 if the current goes counter-clockwise seen looking at the face, which makes the middle a north pole.
fn sense(r: &mut Reader<'_>) -> f64 {
    let direction = r.word_or_assume(
        "winding.direction",
        "direction of the current, looking at the face",
        "counter-clockwise",
        "not given; only the names of the poles depend on it",
    );
    let wound = if direction == "clockwise" { -1.0 } else { 1.0 };
    if r.sheet.word("drive.polarity") == Some("reversed") { -wound } else { wound }
}

/// Temperature of the winding: as stated, else that of the surroundings.
fn temperature(r: &mut Reader<'_>) -> f64 {
    let room = 20.0 + CELSIUS_ZERO_K;
    if let Some(kelvin) = r.given("drive.temperature", "temperature of the winding") {
        return kelvin;
    }
    let surroundings = r.given("surroundings.temperature", "temperature of the surroundings").unwrap_or(room);
    r.or_assume(
        "drive.temperature",
        "temperature of the winding",
        (surroundings, 0.0),
        Dimension::Temperature,
        "cold: as warm as its surroundings",
    )
}

fn complete_winding(
    r: &mut Reader<'_>,
    window: Window,
    coils: f64,
) -> Option<(
    WindingInputs,
    crate::magnet::winding::complete::Completion,
    Vec<crate::magnet::winding::variant::Variant>,
)> {
    let (metal, wire) = stuff(r);
    let (conductor, wire) = (metal?, wire.ok()?);
    // Reading them notes their tolerances.
    for (path, label) in [
        ("winding.turns", "turns"),
        ("winding.resistance", "measured resistance"),
        ("winding.resistance_at", "temperature of that measurement"),
        ("winding.fill_factor", "fill factor (conductor)"),
    ] {
        r.given(path, label);
    }
    let s = r.sheet;
    let room = 20.0 + CELSIUS_ZERO_K;
    let resistance_at_k = if s.has("winding.resistance") {
        r.or_assume(
            "winding.resistance_at",
            "temperature of that measurement",
            (room, OHMS_AT_K),
            Dimension::Temperature,
            "not given; a cold winding in a room",
        )
    } else {
        room
    };
    let silent = ["winding.turns", "winding.layers", "winding.wire", "winding.resistance"];
    let by_nameplate = if silent.iter().any(|path| s.has(path)) { None } else { nameplate_ohm(r) };
    let inputs = WindingInputs {
        coils,
        parallel: s.value("winding.parallel").unwrap_or(1.0),
        wire,
        turns: s.quantity("winding.turns"),
        layers: s.value("winding.layers"),
        fill_factor: s.quantity("winding.fill_factor"),
        resistance: s.quantity("winding.resistance").or(by_nameplate),
        resistance_at_k,
        ..WindingInputs::new(window, conductor)
    };
    match crate::magnet::winding::complete::complete(&inputs)
        .and_then(|c| Ok((c, crate::magnet::winding::variant::variants(&inputs)?)))
    {
        Ok((completion, variants)) => Some((inputs, completion, variants)),
        Err(e) => {
            let path = match &e {
                WindingError::Value { path, .. } => path,
                _ => "winding",
            };
            let hint = match &e {
                WindingError::NotEnough => {
                    "an ohmmeter's reading is the quickest: `resistance = \"48 ohm ± 1 %\"` under [winding]; the \
                     nameplate's voltage with its power or current serves, too"
                }
                _ => "two of turns, wire, resistance and fill factor are enough",
            };
            r.fault(path, e.to_string(), hint);
            None
        }
    }
}

/// Resistance by the nameplate's volts and watts, or amperes, where nothing else is known of the winding; said as an
/// assumption.
fn nameplate_ohm(r: &mut Reader<'_>) -> Option<Quantity> {
    let volts = r.sheet.value("nameplate.voltage").filter(|v| *v > 0.0)?;
    let by_power = r.sheet.value("nameplate.power").filter(|p| *p > 0.0).map(|p| volts * volts / p);
    let by_current = r.sheet.value("nameplate.current").filter(|i| *i > 0.0).map(|i| volts / i);
    let ohm = by_power.or(by_current)?;
    let said = if by_power.is_some() { "volts and watts" } else { "volts and amperes" };
    let value = r.or_assume(
        "winding.resistance",
        "resistance at 20 °C",
        (ohm, NAMEPLATE * ohm),
        Dimension::Resistance,
        &format!("by the nameplate's {said}, which often contradict the coil (common practice); measure it"),
    );
    Some(Quantity { value, half_width: 0.0, dimension: Dimension::Resistance })
}

/// Metal and wire of the winding; what is wrong with them is noted.
fn stuff(r: &mut Reader<'_>) -> (Option<&'static Conductor>, Result<Option<Wire>, ()>) {
    let metal = r.word_or_assume("winding.conductor", "metal of the wire", "copper", "not given; most are");
    let metal = conductor(&metal);
    let metal = metal.map_err(|e| r.fault("winding.conductor", e.to_string(), "copper or aluminium")).ok();
    let wire = r.sheet.word("winding.wire").map(Wire::parse).transpose();
    let hint = "such as \"0.4 mm grade 2\", \"0.4 mm bare\" or \"AWG 27\"";
    (metal, wire.map_err(|e| r.fault("winding.wire", e.to_string(), hint)))
}
