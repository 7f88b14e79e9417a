//! A second fit counts no reading twice: with the readings of both it finds what one fit of all finds, wherever the first
//! came between. That is arithmetic, and needs no source.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_bench::fit::{Fitted, Options, fit};
use coilwright_bench::readings::{self, Readings};
use coilwright_magnet::answers::answer::Value;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;
use std::collections::BTreeSet;

const POT: &str = include_str!("../../../examples/gantry-pot.sheet.toml");
const READINGS: &str = include_str!("../../../examples/readings/gantry-pot.csv");

fn sheet(text: &str) -> Sheet {
    Sheet::parse(text, "test.sheet.toml").unwrap().0
}

fn read(csv: &str) -> Readings {
    readings::read(csv.as_bytes(), &readings::Options::default()).unwrap()
}

/// The header and the rows at these volts.
fn at(volts: &[&str]) -> String {
    let header = |line: &str| line.starts_with("voltage V");
    let wanted = |line: &&str| header(line) || volts.iter().any(|v| line.starts_with(&format!("{v},")));
    READINGS.lines().filter(wanted).map(|line| line.to_owned() + "\n").collect()
}

/// The volts of the demonstration's settings, in their order.
fn settings() -> Vec<&'static str> {
    let mut found: Vec<&str> = Vec::new();
    for line in READINGS.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
        let volts = line.split(',').next().unwrap();
        if !found.contains(&volts) {
            found.push(volts);
        }
    }
    found
}

fn fitted(text: &str, csv: &str) -> Result<Fitted, Failure> {
    fit(&sheet(text), &read(csv), &Options { date: "2025-01-31", readings_name: "bench.csv" })
}

/// Value and standard uncertainty of an unknown.
fn told(fitted: &Fitted, key: &str) -> (f64, f64) {
    match &fitted.answer.item(key).unwrap_or_else(|| panic!("no {key}")).value {
        Value::Number(m) => (m.value, m.band.as_ref().unwrap().standard),
        Value::Text(text) => panic!("{key} is {text}"),
    }
}

#[test]
fn a_second_fit_starts_from_before_the_first() {
    let settings = settings();
    let (old, new, all) = (at(&settings[..1]), at(&settings[1..2]), at(&settings[..2]));
    let first = fitted(POT, &old).unwrap();
    let at_once = fitted(POT, &all).unwrap();
    let second = fitted(&first.sheet_text, &all).unwrap();
    assert!(first.changed.iter().any(|path| path == "workpiece.gap"), "{:?}", first.changed);
    for key in ["workpiece_gap", "winding_turns", "probe_standoff", "calibration_steel_scale", "probe_depth"]
    {
        if at_once.answer.item(key).is_some() {
            assert_eq!(told(&second, key), told(&at_once, key), "{key}");
        }
    }
    // An entry keeps the place that it first got, so the order may differ; what is said may not.
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<BTreeSet<_>>();
    assert_eq!(lines(&second.sheet_text), lines(&at_once.sheet_text));

    // Without the old readings it would forget them.
    let Err(Failure::Input(faults)) = fitted(&first.sheet_text, &new) else {
        panic!("the old readings are not missed")
    };
    assert!(faults[0].message.contains("bench.csv"), "{faults:?}");
    assert!(faults[0].hint.contains("--readings bench.csv --readings NEW.csv"), "{faults:?}");
}

/// A faulty line is one wherever it stands: it stays to be refused when its file is joined with a sound one.
#[test]
fn faults_stay_when_files_are_joined() {
    let lenient = readings::Options { lenient: true, ..readings::Options::default() };
    let csv = "pull N, gap mm\nabc,0.3\n12,0.3\n";
    let faulty = readings::read(csv.as_bytes(), &lenient).unwrap();
    let both = read("pull N, gap mm\n30,0.2\n").joined(&faulty).unwrap();
    assert_eq!((both.rows(), both.faults.count()), (2, 1));
}

/// A log with the old readings beside it is still that log: its first moment, not theirs, is where it began.
#[test]
fn a_log_beside_other_readings_stays_a_log() {
    let rows =
        |ohm: f64| format!("time s, resistance ohm, current A, voltage V\n0,{ohm},,\n60,{},,\n", ohm + 1.0);
    let old = read("resistance ohm, current A, voltage V\n47.5,,\n,0.121,5.8\n");
    let log = read(&rows(48.0));
    let both = old.joined(&log).unwrap();
    assert_eq!(both.rows(), 4);
    assert_eq!(both.log().row_keys(), log.row_keys());
    assert_eq!(both.log().lines, log.lines);
    assert_eq!(read("resistance ohm\n47.5\n").log().rows(), 0);
}

/// Without anything of the magnet to fit, a log alone is still fitted, and the sheet says by what.
#[test]
fn a_log_alone_is_kept_too() {
    let log = include_str!("../../../examples/readings/gantry-warm-up.csv");
    let first = fitted(POT, log).unwrap();
    assert!(
        first.changed.iter().any(|path| path == "calibration.thermal_conductance_scale"),
        "{:?}",
        first.changed
    );
    assert!(sheet(&first.sheet_text).word("calibration.rows").is_some());
    let again = fitted(&first.sheet_text, log).unwrap();
    assert_eq!(again.sheet_text, first.sheet_text);
}

/// 0.121 A is 121 mA (SI Brochure): a row says the same whatever its units and the order of its columns.
#[test]
fn rows_are_known_again() {
    let csv = "current A, pull N, gap mm\n0.121,52.5,0.35\n0.242,190.0,0.35\n";
    let other = "gap mm, current mA, pull N\n0.35,242,190.0\n0.50,121,30.0\n0.35,121,52.5\n";
    let (one, two) = (read(csv), read(other));
    let keys = two.row_keys();
    assert_eq!(one.row_keys(), [keys[2].clone(), keys[0].clone()]);
    let both = one.clone().joined(&two).unwrap();
    assert_eq!(both.rows(), 3);
    assert_eq!(both.row_keys()[2], keys[1]);
    assert_eq!(both.checksum, format!("{} {}", one.checksum, two.checksum));
    // Two logs have two clocks.
    let log = |ohm: f64| read(&format!("time s, resistance ohm\n0,{ohm}\n60,{}\n", ohm + 1.0));
    let (early, late) = (log(40.0), log(41.5));
    assert!(early.clone().joined(&late).unwrap_err().to_string().contains("one at a time"));
    assert_eq!(early.clone().joined(&early).unwrap(), early);
}
