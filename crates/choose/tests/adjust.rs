//! An entry adjusted until a number is as wanted: against Ohm's law, single answers, and what cannot be.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_choose::adjust::{ADJUSTED, Adjust, adjusted};
use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{HeatQuestion, PullQuestion, Question};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::{Form, Sheet, template};
use coilwright_magnet::uncertainty::band::Band;
use coilwright_magnet::watch::Watch;

fn pot() -> Sheet {
    Sheet::parse(&template(Form::Pot), "pot.sheet.toml").unwrap().0
}

fn ask_for(
    sheet: &Sheet,
    question: &Question,
    path: &str,
    key: &str,
    wanted: &str,
) -> Result<Answer, Failure> {
    let adjust = Adjust { path: path.into(), key: key.into(), wanted: wanted.into() };
    adjusted(sheet, question, &adjust, &Watch::default())
}

fn banded<'a>(answer: &'a Answer, key: &str) -> (f64, &'a Band) {
    match &answer.item(key).unwrap().value {
        Value::Number(m) => (m.value, m.band.as_ref().unwrap()),
        Value::Text(text) => panic!("{key}: {text}"),
    }
}

/// V = √(P R): the voltage, and half of the resistance's relative uncertainty in it.
#[test]
fn a_voltage_for_a_power_is_by_ohms_law() {
    let winding = ask::answer(&pot(), &Question::Winding).unwrap();
    let found = ask_for(&pot(), &Question::Winding, "drive.voltage", "power", "5 W").unwrap();
    let (volts, band) = banded(&found, ADJUSTED);
    let by_law = (5.0 * winding.number("resistance").unwrap()).sqrt();
    assert!((volts / by_law - 1.0).abs() < 1e-4, "{volts} V for {by_law} V");
    let (ohm, of_ohm) = banded(&winding, "resistance");
    let relative = 0.5 * of_ohm.standard / ohm;
    assert!(
        (band.standard / volts / relative - 1.0).abs() < 0.02,
        "{} for {relative}",
        band.standard / volts
    );
    assert!(found.summary.starts_with("For power"), "{}", found.summary);
    // What is to be measured next narrows the voltage, and by no more than all of its doubt.
    assert!(!found.next_measurements.is_empty());
    for next in &found.next_measurements {
        let share = band.contributors.iter().find(|c| c.path == next.path).unwrap().share;
        let left = band.standard * (1.0 - share).sqrt();
        assert!((next.remaining / left - 1.0).abs() < 1e-9 && left < band.standard, "{next:?}");
    }
}

/// At the supply's current limit any higher voltage is as good: the least is told, by Ohm's law, and that it is the least.
#[test]
fn the_edge_of_a_plateau_is_told() {
    let mut limited = pot();
    limited.set("drive.current_limit", "0.2 A").unwrap();
    let ohm = ask::answer(&limited, &Question::Winding).unwrap().number("resistance").unwrap();
    limited.set("drive.voltage", "5 V").unwrap();
    let found = ask_for(&limited, &Question::Winding, "drive.voltage", "current", "0.2 A").unwrap();
    let volts = found.number(ADJUSTED).unwrap();
    assert!((volts / (0.2 * ohm) - 1.0).abs() < 1e-3, "{volts} V for {} V", 0.2 * ohm);
    assert!(found.summary.contains("has to be at least"), "{}", found.summary);
}

/// The last magnet that can be is tried as well: below 60 mm the shell of this pot is soon nothing, and on the way there it
/// loses its pull.
#[test]
fn what_is_wanted_near_the_end_of_what_can_be_is_found() {
    let pull = Question::Pull(PullQuestion::default());
    let whole = ask::answer(&pot(), &pull).unwrap().number("pull").unwrap();
    let wanted = format!("{:.1} N", 0.5 * whole);
    let found = ask_for(&pot(), &pull, "body.outer_diameter", "pull", &wanted).unwrap();
    let (narrow, half) = (found.number(ADJUSTED).unwrap(), found.number("pull").unwrap());
    assert!((half / (0.5 * whole) - 1.0).abs() < 1e-3 && narrow < 62e-3, "{half} N at {narrow} m");
}

/// What is found gives what was wanted when it is asked alone; turns are whole.
#[test]
fn what_is_found_gives_what_was_wanted() {
    let pull = Question::Pull(PullQuestion::default());
    let found = ask_for(&pot(), &pull, "workpiece.gap", "pull", "500 N").unwrap();
    let mut there = pot();
    let gap = found.number(ADJUSTED).unwrap();
    there.set("workpiece.gap", &format!("{gap:e} m")).unwrap();
    let alone = ask::answer(&there, &pull).unwrap().number("pull").unwrap();
    assert!((alone / 500.0 - 1.0).abs() < 2e-4, "{alone} N at {gap} m");
    assert_eq!(found.number("pull"), Some(alone));
    let heat = Question::Heat(HeatQuestion::default());
    let warm = ask_for(&pot(), &heat, "drive.voltage", "hot_spot_steady", "90 degC").unwrap();
    assert!((warm.number("hot_spot_steady").unwrap() - 363.15).abs() < 0.05);
    let mut driven = pot();
    driven.remove("winding.resistance");
    driven.remove("drive.voltage");
    driven.set("drive.current", "0.3 A").unwrap();
    let turns = ask_for(&driven, &Question::Winding, "winding.turns", "ampere_turns", "600.1 A").unwrap();
    assert_eq!(turns.number(ADJUSTED), Some(2000.0));
}

#[test]
fn what_cannot_be_is_said() {
    let pull = Question::Pull(PullQuestion::default());
    for (path, key, wanted, word) in [
        ("drive.voltage", "pull", "90 kN", "no value of `drive.voltage`"),
        ("drive.voltage", "pul", "90 N", "did you mean `pull`"),
        ("drive.voltage", "pull", "90 mT", "mT"),
        ("drive.volts", "pull", "90 N", "no number of a sheet"),
        ("body.pole_recess", "pull", "90 N", "to start from"),
        ("winding.turns", "pull", "90 N", "are of the winding as it is"),
        ("workpiece.mass", "pull", "90 N", "does not follow"),
        ("drive.voltage", "pull", "90 N ± 1 N", "no exact value"),
    ] {
        let mut pot = pot();
        pot.set("workpiece.mass", "0.5 kg").unwrap();
        let Err(Failure::Input(faults)) = ask_for(&pot, &pull, path, key, wanted) else { panic!("{path}") };
        let told = format!("{} {}", faults[0].message, faults[0].hint);
        assert!(told.contains(word), "{told}");
    }
    let watch = Watch::new();
    watch.stop();
    let adjust = Adjust { path: "drive.voltage".into(), key: "pull".into(), wanted: "90 N".into() };
    assert!(adjusted(&pot(), &pull, &adjust, &watch) == Err(Failure::Stopped));
}
