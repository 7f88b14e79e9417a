//! Resistance, power and current: what volts and watts, volts and amperes, wire and turns, an ohmmeter and a supply
//! say of the same winding, all brought to 20 °C.

use super::cause::{Evidence, WARM_K};
use super::statement::{CONTRADICTION, Statement, comparison, sureness};
use super::{Finding, Ledger};
use crate::electrical::{self, Ohms, Resistances, cold_kelvin, mean};
use crate::meters::Meters;
use crate::readings::Readings;
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::{Excitation, Magnet};
use coilwright_magnet::material::{Conductor, conductor, thermal_class};
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::thermal::setting::USUAL_CLASS;
use std::cmp::Ordering;

/// Half-width of a nameplate's number that comes without a tolerance, as a share (common practice, no source).
pub(super) const NAMEPLATE: f64 = 0.05;
/// Share to which a resistance in the sheet is trusted if it has no tolerance: a typical multimeter.
const OHMMETER: f64 = 0.01;

/// Standard uncertainty of a number on the nameplate.
pub(super) fn claimed(sheet: &Sheet, path: &str) -> Option<(f64, f64)> {
    let q = sheet.quantity(path)?;
    let standard =
        if q.half_width > 0.0 { q.standard_uncertainty() } else { NAMEPLATE * q.value / 3f64.sqrt() };
    Some((q.value, standard))
}

/// Compares them all.
pub(super) fn compare(
    sheet: &Sheet,
    magnet: &Magnet,
    readings: Option<&Readings>,
    meters: &mut Meters<'_>,
    ledger: &mut Ledger,
) -> Result<(), Failure> {
    let Some(excitation) = &magnet.excitation else { return Ok(()) };
    let metal = conductor(sheet.word("winding.conductor").unwrap_or("copper"));
    let metal = metal.map_err(|e| Failure::from(sheet.fault("winding.conductor", e.to_string(), "")))?;
    let warm = warmest_factor(sheet, metal);
    let mut statements = nameplate(sheet, warm);
    statements.extend(by_wire(sheet));
    statements.extend(by_ohmmeter(sheet, metal));
    let mut rows = Vec::new();
    if let Some(readings) = readings {
        let all = electrical::resistances(readings, meters)?;
        let cold = cold_kelvin(sheet, Some((readings, meters)))?;
        let ways = [
            ("readings_ohmmeter", "readings: ohmmeter", &all.ohmmeter),
            ("readings_volts_amperes", "readings: volts over amperes", &all.volts_over_amperes),
        ];
        for (key, label, rows) in ways {
            statements.extend(by_readings(key, label, readings, rows, metal, cold));
            ledger.findings.extend(among_themselves(label, readings, rows, metal, cold.0));
        }
        rows = all.volts_over_amperes;
    }
    let evidence = Evidence {
        sheet,
        metal,
        statements: &statements,
        readings: readings.map(|r| (r, rows.as_slice())),
        warmest: warm,
    };
    ledger.causes.extend(evidence.causes());
    resistances(sheet, &statements, ledger);
    let Some(reference) = reference(&statements).cloned() else { return Ok(()) };
    power_and_current(sheet, excitation, &reference, warm, ledger);
    if let Some(suspect) = suspect_leads(&statements) {
        ledger.suspicions.push(("ohmmeter".into(), suspect));
    }
    Ok(())
}

/// Resistance of the winding at the temperature of its thermal class, over that at 20 °C.
fn warmest_factor(sheet: &Sheet, metal: &Conductor) -> f64 {
    let class = ["nameplate.thermal_class", "winding.thermal_class"].iter().find_map(|path| sheet.word(path));
    metal.resistance_factor(class.and_then(thermal_class).unwrap_or(USUAL_CLASS).limit_k)
}

/// What the nameplate means. It does not say at which temperature: any between 20 °C and that of its class.
fn nameplate(sheet: &Sheet, warm: f64) -> Vec<Statement> {
    let volts = sheet.quantity("nameplate.voltage").map(|q| (q.value, q.standard_uncertainty()));
    let rated = |key, label: &str, ohm: f64, relative: f64| Statement {
        low: ohm / warm,
        ..Statement::new(key, label, ohm, ohm * relative).noted("if meant for 20 °C; less if meant warm")
    };
    let mut found = Vec::new();
    if let Some((ohm, u)) = claimed(sheet, "nameplate.resistance") {
        found.push(rated("nameplate_resistance", "nameplate: resistance", ohm, u / ohm));
    }
    if let (Some((v, uv)), Some((p, up))) = (volts, claimed(sheet, "nameplate.power")) {
        let relative = (2.0 * uv / v).hypot(up / p);
        found.push(rated("nameplate_power", "nameplate: volts² over watts", v * v / p, relative));
    }
    if let (Some((v, uv)), Some((i, ui))) = (volts, claimed(sheet, "nameplate.current")) {
        let relative = (uv / v).hypot(ui / i);
        found.push(rated("nameplate_current", "nameplate: volts over amperes", v / i, relative));
    }
    found
}

/// The resistance that wire and turns (or wire and window) give, if the sheet says enough without the measured one.
fn by_wire(sheet: &Sheet) -> Option<Statement> {
    if !sheet.has("winding.wire") {
        return None;
    }
    let mut without = sheet.clone();
    without.remove("winding.resistance");
    let answer = answer(&without, &Question::Winding).ok()?;
    let measure = answer.measure("resistance_20")?;
    let how = if sheet.has("winding.turns") || sheet.has("winding.layers") {
        "wire, turns and mean turn"
    } else {
        "wire and window, the fill factor assumed"
    };
    let standard = measure.standard();
    Some(Statement::new("wire", "wire and turns", measure.value, standard).noted(how))
}

fn by_ohmmeter(sheet: &Sheet, metal: &Conductor) -> Option<Statement> {
    let q = sheet.quantity("winding.resistance")?;
    let at = sheet.quantity("winding.resistance_at");
    let (kelvin, u_kelvin) = at.map_or((293.15, 2.0), |q| (q.value, q.standard_uncertainty()));
    let relative =
        if q.half_width > 0.0 { q.standard_uncertainty() / q.value } else { OHMMETER / 3f64.sqrt() };
    let (ohm, standard) = at_20(metal, (q.value, relative * q.value), (kelvin, u_kelvin));
    let note = format!("measured at {}", celsius(kelvin));
    Some(Statement {
        measured: true,
        ..Statement::new("ohmmeter", "sheet: ohmmeter", ohm, standard).noted(note)
    })
}

fn by_readings(
    key: &'static str,
    label: &str,
    readings: &Readings,
    rows: &[Ohms],
    metal: &Conductor,
    cold: (f64, f64),
) -> Option<Statement> {
    let rows = Resistances::cold(readings, rows);
    let (ohm, u_ohm) = mean(&rows)?;
    let known: Vec<f64> = rows.iter().filter_map(|o| o.kelvin).collect();
    let (kelvin, u_kelvin) = match known.len() {
        0 => cold,
        n => (known.iter().sum::<f64>() / n as f64, cold.1),
    };
    let (ohm, standard) = at_20(metal, (ohm, u_ohm), (kelvin, u_kelvin));
    let note = format!("{} of {} rows, winding at {}", rows.len(), readings.rows(), celsius(kelvin));
    Some(Statement { measured: true, ..Statement::new(key, label, ohm, standard).noted(note) })
}

/// Two readings of one way that no warmth of the winding reconciles.
fn among_themselves(
    label: &str,
    readings: &Readings,
    rows: &[Ohms],
    metal: &Conductor,
    cold_k: f64,
) -> Option<Finding> {
    let by_size = |a: &&Ohms, b: &&Ohms| a.ohm.total_cmp(&b.ohm);
    let (low, high) = (rows.iter().min_by(by_size)?, rows.iter().max_by(by_size)?);
    let deviation = (high.ohm - low.ohm) / high.own.hypot(low.own);
    // Where a thermometer was in the winding, it says how warm each was.
    let at = |o: &Ohms, usual: f64| metal.resistance_factor(o.kelvin.unwrap_or(usual));
    let possible = at(high, WARM_K[1]) / at(low, cold_k);
    if deviation <= CONTRADICTION || high.ohm / low.ohm <= possible {
        return None;
    }
    let ohms = |o: &Ohms| {
        let text = Dimension::Resistance.text(o.ohm, Some(o.own), UnitSystem::Si);
        format!("{text} on line {}", readings.lines[o.row])
    };
    Some(Finding {
        deviation,
        sentence: format!(
            "The {} contradict each other: {} and {}, farther apart than any warmth makes a winding; {}. Read both again.",
            label.replace("readings: ", "readings by "),
            ohms(low),
            ohms(high),
            sureness(deviation)
        ),
    })
}

/// A resistance brought to 20 °C, with the uncertainty of the temperature it was measured at.
fn at_20(metal: &Conductor, (ohm, u): (f64, f64), (kelvin, u_kelvin): (f64, f64)) -> (f64, f64) {
    let factor = metal.resistance_factor(kelvin);
    let per_kelvin = metal.resistance_factor(kelvin + 1.0) / factor - 1.0;
    (ohm / factor, (ohm / factor) * (u / ohm).hypot(per_kelvin * u_kelvin))
}

fn celsius(kelvin: f64) -> String {
    Dimension::Temperature.text(kelvin, None, UnitSystem::Si)
}

/// What the others are compared with: the surest measurement, or without one the surest statement.
fn reference(statements: &[Statement]) -> Option<&Statement> {
    let sure = |s: &&Statement| (!s.measured, s.standard / s.value);
    statements.iter().min_by(|a, b| {
        let (a, b) = (sure(a), sure(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    })
}

fn resistances(sheet: &Sheet, statements: &[Statement], ledger: &mut Ledger) {
    let mut items: Vec<_> = statements.iter().map(|s| s.item("resistance", Dimension::Resistance)).collect();
    if let Some(reference) = reference(statements) {
        for s in statements.iter().filter(|s| s.key != reference.key) {
            let short = s.label.rsplit(": ").next().unwrap_or(&s.label);
            let deviation = s.deviation(reference);
            ledger.deviations.push((format!("{} against {}", s.label, reference.label), deviation));
            items.push(comparison(&format!("deviation_{}", s.key), short, deviation, None));
        }
    }
    ledger.answer.group("Resistance at 20 °C, by every way there is", items);
    ledger.findings.extend(culprit(sheet, statements));
}

/// The statement that contradicts the others, or the two of which one is wrong.
///
/// The nameplate's statements have one origin: what contradicts only them may still be right. A statement that is
/// contradicted from two origins, its own included, is the one that cannot be true.
fn culprit(sheet: &Sheet, statements: &[Statement]) -> Option<Finding> {
    let origin = |s: &Statement| if s.key.starts_with("nameplate") { "nameplate" } else { s.key };
    // Whatever temperature a nameplate means, it means the same throughout.
    let apart = |s: &Statement, o: &Statement| match origin(s) == origin(o) {
        true => s.cold().deviation(&o.cold()),
        false => s.deviation(o),
    };
    let mut accused = Vec::new();
    for s in statements {
        let against: Vec<(&Statement, f64)> = statements
            .iter()
            .map(|o| (o, apart(s, o)))
            .filter(|(o, d)| o.key != s.key && d.abs() > CONTRADICTION)
            .collect();
        let mut origins: Vec<&str> = against.iter().map(|(o, _)| origin(o)).collect();
        origins.sort_unstable();
        origins.dedup();
        let weight: f64 = against.iter().map(|(_, d)| d.abs()).sum();
        if !against.is_empty() {
            accused.push((s, origins.len(), weight, against));
        }
    }
    // Of two that are accused alike a claim is the likelier culprit than a measurement.
    accused.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.measured.cmp(&b.0.measured)).then(b.2.total_cmp(&a.2)));
    let (first, origins, _, against) = accused.first()?;
    let (opponent, strongest) = against.iter().max_by(|a, b| {
        (a.0.measured, a.1.abs()).partial_cmp(&(b.0.measured, b.1.abs())).unwrap_or(Ordering::Equal)
    })?;
    let pair = |verb: &str| {
        format!(
            "at 20 °C {verb} {{resistance_{}}}, {} {{resistance_{}}}",
            first.key,
            opponent.label.replace("sheet: ohmmeter", "the ohmmeter says"),
            opponent.key
        )
    };
    let (claim, other) = (claim(sheet, first), claim(sheet, opponent));
    let (sure, settle) = (sureness(*strongest), settle(statements, sheet));
    let sentence = if *origins >= 2 {
        format!("{} cannot be true: {}; {sure}. {settle}", capital(&claim), pair("it would mean"))
    } else {
        format!("{} or {other} is wrong: {}; {sure}. {settle}", capital(&claim), pair("the first would mean"))
    };
    Some(Finding { deviation: *strongest, sentence })
}

/// A statement as a person would say it.
fn claim(sheet: &Sheet, s: &Statement) -> String {
    let show = |path: &str, dimension: Dimension| {
        sheet.value(path).map_or_else(String::new, |v| dimension.text(v, None, UnitSystem::Si))
    };
    let volts = || show("nameplate.voltage", Dimension::Voltage);
    match s.key {
        "nameplate_power" => {
            format!("the nameplate's {} at {}", show("nameplate.power", Dimension::Power), volts())
        }
        "nameplate_current" => {
            format!("the nameplate's {} at {}", show("nameplate.current", Dimension::Current), volts())
        }
        "nameplate_resistance" => {
            format!("the nameplate's {}", show("nameplate.resistance", Dimension::Resistance))
        }
        "ohmmeter" => format!("the sheet's {}", show("winding.resistance", Dimension::Resistance)),
        "wire" => "the sheet's wire and turns".into(),
        _ => format!("the {}", s.label.replace("readings: ", "readings by ")),
    }
}

fn settle(statements: &[Statement], sheet: &Sheet) -> String {
    let has = |key: &str| statements.iter().any(|s| s.key == key);
    let ohm = has("ohmmeter") || has("readings_ohmmeter");
    if ohm && has("readings_volts_amperes") {
        let agree = statements
            .iter()
            .filter(|s| s.measured)
            .all(|a| statements.iter().filter(|b| b.measured).all(|b| a.deviation(b).abs() <= CONTRADICTION));
        return if agree {
            "The ohmmeter and the supply's volts and amperes agree, which settles it.".into()
        } else {
            "Measure with another meter, its leads shorted and subtracted first.".into()
        };
    }
    let volts = sheet
        .value("nameplate.voltage")
        .map_or_else(String::new, |v| format!(" at {}", Dimension::Voltage.text(v, None, UnitSystem::Si)));
    if ohm {
        format!(
            "Volts and amperes read together at the terminals{volts} settle it, if they agree with the ohmmeter."
        )
    } else {
        format!("An ohmmeter on the cold winding, and volts and amperes read together{volts}, settle it.")
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Nameplate watts and amperes against what the reference resistance draws at the nameplate's voltage.
fn power_and_current(
    sheet: &Sheet,
    excitation: &Excitation,
    ohm: &Statement,
    warm: f64,
    ledger: &mut Ledger,
) {
    let rated = sheet.value("nameplate.voltage");
    let Some(volts) = rated.or(excitation.voltage_v).filter(|v| *v > 0.0) else { return };
    let r = ohm.value;
    let at = format!(
        "{} across {}, cold; {:.0} % of that at the temperature of its class",
        Dimension::Voltage.text(volts, None, UnitSystem::Si),
        Dimension::Resistance.text(r, Some(ohm.standard), UnitSystem::Si),
        100.0 / warm
    );
    let drawn = |key, value: f64| Statement {
        low: value / warm,
        ..Statement::new(key, "computed", value, value * ohm.standard / r).noted(at.clone())
    };
    let mut rows = |title: &str, kind: &str, path: &str, dimension, computed: Statement| {
        // What follows from the very statement that is compared would agree by construction.
        if ohm.key == path.replace('.', "_") {
            return;
        }
        let mut items = Vec::new();
        let mut deviation = None;
        if let Some((value, standard)) = claimed(sheet, path) {
            let claim = Statement::new("claimed", "claimed", value, standard).noted("nameplate");
            deviation = Some(claim.deviation(&computed));
            items.push(claim.item(kind, dimension));
        }
        items.push(computed.item(kind, dimension));
        if let Some(d) = deviation {
            items.push(comparison(&format!("deviation_{kind}"), "claimed", d, None));
            ledger.deviations.push((format!("{kind} claimed against computed"), d));
            ledger.answer.group(title, items);
        }
    };
    rows("Power", "power", "nameplate.power", Dimension::Power, drawn("computed", volts * volts / r));
    rows("Current", "current", "nameplate.current", Dimension::Current, drawn("computed", volts / r));
    if let (Some(v), Some((i, ui)), Some((p, up))) =
        (rated, claimed(sheet, "nameplate.current"), claimed(sheet, "nameplate.power"))
    {
        let product = Statement::new("volts_amperes", "nameplate: volts times amperes", v * i, v * ui);
        let watts = Statement::new("watts", "nameplate: watts", p, up);
        let d = watts.deviation(&product);
        ledger.deviations.push(("nameplate's watts against its volts times amperes".into(), d));
        let items = vec![
            watts.item("plate", Dimension::Power),
            product.item("plate", Dimension::Power),
            comparison("deviation_plate", "watts", d, None),
        ];
        ledger.answer.group("The nameplate against itself", items);
    }
}

/// Two-wire leads add 0.05 to 1 Ω (common practice, no source): say so if that would explain an ohmmeter.
fn suspect_leads(statements: &[Statement]) -> Option<String> {
    const LEADS: std::ops::Range<f64> = 0.05..1.0;
    let find = |key: &str| statements.iter().find(|s| s.key == key);
    let supply = find("readings_volts_amperes")?;
    let ohmmeter = find("readings_ohmmeter").or_else(|| find("ohmmeter"))?;
    let more = ohmmeter.value - supply.value;
    let significant = ohmmeter.deviation(supply) > super::statement::DOUBTFUL;
    (significant && LEADS.contains(&more)).then(|| {
        format!(
            "the ohmmeter reads {} more than volts over amperes: as much as its own leads have; short their tips, \
             subtract what it then shows, and compare again",
            Dimension::Resistance.text(more, Some(0.1 * more), UnitSystem::Si)
        )
    })
}
