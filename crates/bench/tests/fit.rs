//! Fits recover hidden magnets within their own bands, say what they cannot tell, and leave nothing out silently.
//!
//! The readings in `examples/readings/` were invented by `examples/invent_readings.rs` from the magnets in
//! `tests/hidden/`, with meshes, probe and meters of its own.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_bench::fit::{Fitted, Options, fit};
use coilwright_bench::readings::{self, Readings};
use coilwright_magnet::answer::{Measure, Value};
use coilwright_magnet::ask::Failure;
use coilwright_magnet::sheet::Sheet;
use serde::Deserialize;
use std::collections::BTreeMap;

const POT: [&str; 3] = [
    include_str!("../../../examples/gantry-pot.sheet.toml"),
    include_str!("../../../examples/readings/gantry-pot.csv"),
    include_str!("hidden/gantry-pot.toml"),
];
const BAR: [&str; 3] = [
    include_str!("../../../examples/lathe-bar.sheet.toml"),
    include_str!("../../../examples/readings/lathe-bar.csv"),
    include_str!("hidden/lathe-bar.toml"),
];
const OPTIONS: Options<'static> = Options { date: "2025-01-31", readings_name: "bench.csv" };

#[derive(Deserialize)]
struct Truth {
    ambient_k: f64,
    r#true: BTreeMap<String, f64>,
}

fn sheet(text: &str) -> Sheet {
    Sheet::parse(text, "test.sheet.toml").unwrap().0
}

fn read(csv: &str) -> Readings {
    readings::read(csv.as_bytes(), &readings::Options::default()).unwrap()
}

fn measure<'a>(fitted: &'a Fitted, key: &str) -> &'a Measure {
    match &fitted.answer.item(key).unwrap_or_else(|| panic!("no {key}")).value {
        Value::Number(m) => m,
        Value::Text(text) => panic!("{key} is {text}"),
    }
}

/// The truth lies in each 95 % interval widened by half: nine such intervals all hold it with a chance above 95 %
/// (two-sided Gaussian beyond 3.0: 0.27 % each).
fn assert_recovered(sheet_text: &str, csv: &str, truth: &str, told: &[&str]) -> Fitted {
    let truth: Truth = toml::from_str(truth).unwrap();
    let sheet = sheet(sheet_text);
    let fitted = fit(&sheet, &read(csv), &OPTIONS).unwrap();
    // Of the readings' resistance at the true temperature: at 20 °C by IEC 60034-1 with 234.5 for copper.
    let at = sheet.value("winding.resistance_at").unwrap() - 273.15;
    for (path, value) in &truth.r#true {
        let value = if path == "winding.resistance" { value * 254.5 / (234.5 + at) } else { *value };
        let m = measure(&fitted, &path.replace('.', "_"));
        let u = m.band.as_ref().unwrap().standard;
        assert!((m.value - value).abs() <= 3.0 * u, "{path}: {} ± {u}, truly {value}", m.value);
    }
    let m = measure(&fitted, "surroundings_temperature");
    assert!((m.value - truth.ambient_k).abs() <= 3.0 * m.band.as_ref().unwrap().standard);
    for path in told {
        assert!(fitted.changed.iter().any(|p| p == path), "{path} is not told: {:?}", fitted.changed);
    }
    assert!(fitted.answer.number("plausibility").unwrap() > 0.01);
    assert!(fitted.left_out.is_empty());
    fitted
}

#[test]
fn the_hidden_pot_is_recovered() {
    let told = ["winding.turns", "workpiece.gap", "calibration.steel_scale", "probe.depth"];
    let fitted = assert_recovered(POT[0], POT[1], POT[2], &told);
    // The calibrated sheet is a sheet; it keeps comments and knows where it comes from.
    let calibrated = sheet(&fitted.sheet_text);
    assert_eq!(calibrated.word("calibration.date"), Some("2025-01-31"));
    assert_eq!(calibrated.word("calibration.readings"), Some("bench.csv"));
    assert_eq!(calibrated.word("calibration.checksum"), Some(read(POT[1]).checksum.as_str()));
    assert!(fitted.sheet_text.contains("# mill scale, oil and roughness"));
    let turns = calibrated.quantity("winding.turns").unwrap();
    let m = measure(&fitted, "winding_turns");
    assert!((turns.standard_uncertainty() / m.band.as_ref().unwrap().standard - 1.0).abs() < 0.01);
    assert!((turns.value - m.value).abs() <= 0.5);
}

#[test]
fn the_hidden_bar_is_recovered() {
    assert_recovered(BAR[0], BAR[1], BAR[2], &["winding.turns", "probe.depth"]);
}

/// The pull's band narrows: what a calibration is for.
#[test]
fn a_calibrated_sheet_predicts_better() {
    use coilwright_magnet::question::{PullQuestion, Question};
    let before = sheet(POT[0]);
    let fitted = fit(&before, &read(POT[1]), &OPTIONS).unwrap();
    let question =
        Question::Pull(PullQuestion { gaps_m: vec![1e-4], currents_a: vec![0.4], ..PullQuestion::default() });
    let standard = |sheet: &Sheet| {
        let answer = coilwright_magnet::ask::answer(sheet, &question).unwrap();
        match &answer.item("pull").unwrap().value {
            Value::Number(m) => m.band.as_ref().unwrap().standard,
            Value::Text(_) => f64::NAN,
        }
    };
    let (wide, narrow) = (standard(&before), standard(&sheet(&fitted.sheet_text)));
    assert!(narrow < 0.8 * wide, "{narrow} after, {wide} before");
}

/// A field reading turned from 88.7 to 98.7 mT and a pull with a digit lost are flagged with their lines and left out.
#[test]
fn wrong_readings_are_flagged_and_left_out() {
    let wrong = POT[1].replace(",88.7,11.0,", ",98.7,11.0,").replace(",531.5,0.35", ",53.5,0.35");
    let line = |csv: &str, what: &str| csv.lines().position(|l| l.contains(what)).unwrap() as u64 + 1;
    let lines = [line(&wrong, ",98.7,11.0,"), line(&wrong, ",53.5,0.35")];
    let fitted = fit(&sheet(POT[0]), &read(&wrong), &OPTIONS).unwrap();
    for line in lines {
        assert!(fitted.left_out.contains(&line), "{:?} without {line}", fitted.left_out);
    }
    assert!(fitted.left_out.len() <= 4, "{:?}", fitted.left_out);
    let (clean, robust) = (fit(&sheet(POT[0]), &read(POT[1]), &OPTIONS).unwrap(), &fitted);
    let (a, b) = (measure(&clean, "winding_turns"), measure(robust, "winding_turns"));
    assert!((a.value - b.value).abs() < 2.0 * a.band.as_ref().unwrap().standard);
    assert!(fitted.answer.warnings.iter().any(|w| w.contains("left out")));
}

/// One field reading on the axis cannot tell turns from the probe's height from the steel: by algebra one equation
/// leaves two of three free. And volts over amperes cannot tell a resistance from its temperature.
#[test]
fn what_cannot_be_told_is_said() {
    let one = "current A, field mT @ r=0mm z=0.5mm, voltage V\n0.4,47.7,19.3\n";
    let fitted = fit(&sheet(POT[0]), &read(one), &OPTIONS).unwrap();
    let group = fitted.answer.groups.iter().find(|g| g.title.contains("cannot tell")).expect("it is said");
    let said = |words: &[&str]| {
        group.items.iter().any(|i| matches!(&i.value, Value::Text(t) if words.iter().all(|w| t.contains(w))))
    };
    assert!(said(&["steel scale"]) && said(&["temperature of the cold winding"]), "{group:?}");
    // The steel scale hardly matters at an open face: its band stays the prior's.
    let steel = measure(&fitted, "calibration_steel_scale");
    assert!(!fitted.changed.iter().any(|p| p == "calibration.steel_scale"), "{steel:?}");
}

/// A sheet with the wrong wire: by resistance and AWG 26 there would be (0.4049/0.5106)² = 0.63 as many turns.
#[test]
fn a_sheet_that_contradicts_the_readings_is_said() {
    let fitted = fit(&sheet(&BAR[0].replace("AWG 24", "AWG 26")), &read(BAR[1]), &OPTIONS).unwrap();
    let said =
        |word: &str| fitted.answer.warnings.iter().any(|w| w.starts_with(word) && w.contains("doubtful"));
    assert!(said("turns"), "{:?}", fitted.answer.warnings);
}

/// A permanent ring: the field is proportional to its remanence, so readings of 1.05 times what the sheet's 0.38 T gives
/// mean 0.399 T.
#[test]
fn a_ring_has_a_remanence() {
    use coilwright_magnet::question::{FieldQuestion, Question};
    let text = include_str!("../../../examples/loudspeaker-ring.sheet.toml")
        .replace("0.9 mm ± 0.1 mm", "0.9 mm ± 0.01 mm")
        + "[instruments.teslameter]\nof_reading = \"0.1 %\"\nresolution = \"0.01 mT\"\n";
    let ring = sheet(&text);
    let radii = [20.0, 24.0, 28.0, 32.0];
    let at = radii.map(|r| (1e-3 * r, 0.9e-3)).to_vec();
    let mut exact = ring.clone();
    exact.set_value("probe.active_diameter", 0.0);
    let field = coilwright_magnet::ask::answer(
        &exact,
        &Question::Field(FieldQuestion { at, ..FieldQuestion::default() }),
    );
    let field = field.unwrap();
    let mut csv = "r mm, field mT\n".to_owned();
    for (k, r) in radii.iter().enumerate() {
        csv += &format!("{r},{:.2}\n", 1050.0 * field.number(&format!("b_z_{}", k + 1)).unwrap());
    }
    let fitted = fit(&ring, &read(&csv), &OPTIONS).unwrap();
    let m = measure(&fitted, "body_remanence");
    // The probe's tilt adds up to 0.2 % near the edges, its disc of 1.5 mm 0.1 %.
    assert!((m.value - 1.05 * 0.38).abs() < 0.003, "{m:?}");
    assert!(fitted.changed.contains(&"body.remanence".to_owned()));
}

/// 1 mT is 10 G, 1 kgf 9.80665 N, 1 A 1000 mA (SI Brochure; NIST SP 811): a header with the wrong unit is named, not fitted.
#[test]
fn units_mixed_up_are_named() {
    let pot = sheet(POT[0]);
    for (right, wrong, likely) in [
        ("field mT by gaussmeter", "field G by gaussmeter", "mT"),
        ("field mT by gaussmeter", "field T by gaussmeter", "mT"),
        ("pull N by force_gauge", "pull kgf by force_gauge", "N"),
        ("current A", "current mA", "A"),
    ] {
        let csv = POT[1].replace(right, wrong);
        assert_ne!(csv, POT[1]);
        match fit(&pot, &read(&csv), &OPTIONS) {
            Err(Failure::Input(faults)) => {
                let all: String = faults.iter().map(|f| f.message.as_str()).collect();
                assert!(all.contains("is the unit in the header right?"), "{all}");
                assert!(
                    all.contains(&format!("; {likely} would be")) || wrong.starts_with("current"),
                    "{all}"
                );
            }
            other => panic!("{wrong}: {other:?}"),
        }
    }
    // 74 °F are 23.3 °C, the surroundings.
    let log: String =
        (0..20).map(|k| format!("{},{:.1}\n", 60 * k, 140.0 - 66.0 * (-0.1 * f64::from(k)).exp())).collect();
    let fitted = fit(&pot, &read(&format!("time s, back °C\n{log}")), &OPTIONS).unwrap();
    assert!(
        fitted.answer.warnings.iter().any(|w| w.contains("74.0000 °F would be")),
        "{:?}",
        fitted.answer.warnings
    );
}

#[test]
fn faulty_lines_are_never_fitted() {
    let csv = "voltage V, current A\n12.0,0.25\n12.1,oops\n";
    let options = readings::Options { lenient: true, ..readings::Options::default() };
    let lenient = readings::read(csv.as_bytes(), &options).unwrap();
    match fit(&sheet(POT[0]), &lenient, &OPTIONS) {
        Err(Failure::Input(faults)) => assert!(faults[0].message.contains("line 3"), "{faults:?}"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn nothing_to_fit_is_a_fault() {
    match fit(&sheet(POT[0]), &read("power W\n12\n"), &OPTIONS) {
        Err(Failure::Input(faults)) => assert!(faults[0].message.contains("nothing that tells")),
        other => panic!("{other:?}"),
    }
    let unknown = "field mT @ r=0mm by borrowed\n12\n";
    assert!(matches!(fit(&sheet(POT[0]), &read(unknown), &OPTIONS), Err(Failure::Input(_))));
}

/// The same readings give the same bits.
#[test]
fn a_fit_repeats_itself() {
    let run = || fit(&sheet(BAR[0]), &read(BAR[1]), &OPTIONS).unwrap().answer;
    assert_eq!(run(), run());
}
