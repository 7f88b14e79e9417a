//! A sweep against single answers.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_choose::sweep::{MAIN, Swept, sweep};
use coilwright_magnet::answers::answer::Value;
use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::{Form, Sheet, template};

const RING: &str = include_str!("../../../examples/loudspeaker-ring.sheet.toml");

fn ring() -> Sheet {
    Sheet::parse(RING, "loudspeaker-ring.sheet.toml").unwrap().0
}

fn over(path: &str, values: &[f64]) -> [Swept; 1] {
    [Swept { path: path.into(), values: values.to_vec() }]
}

/// Every point is a settled answer of its own, band included; where there is no such ring there is a gap and its reason.
#[test]
fn points_are_single_answers_and_gaps_have_reasons() {
    let pull = Question::Pull(PullQuestion::default());
    let found = sweep(&ring(), &pull, &over("body.inner_diameter", &[20e-3, 32e-3, 80e-3])).unwrap();
    let series = found.series.iter().find(|s| s.key == MAIN).unwrap();
    assert_eq!(series.x.values, [20e-3, 32e-3, 80e-3]);
    for k in [0, 1] {
        let mut sheet = ring();
        sheet.set("body.inner_diameter", &format!("{} mm", 1e3 * series.x.values[k])).unwrap();
        let single = ask::answer(&sheet, &pull).unwrap();
        let Value::Number(measure) = &single.item("pull").unwrap().value else { panic!("a number") };
        let band = measure.band.as_ref().unwrap();
        assert_eq!((series.ys[0].values[k], series.ys[0].bands[k]), (measure.value, (band.low, band.high)));
    }
    assert!(series.ys[0].values[2].is_nan());
    assert!(
        found.warnings.iter().any(|w| w.starts_with("body.inner_diameter = 80 mm: ")),
        "{:?}",
        found.warnings
    );
    let most = usize::from(series.ys[0].values[1] > series.ys[0].values[0]);
    assert_eq!(found.number("most"), Some(series.ys[0].values[most]));
    assert_eq!(found.number("at_most"), Some(series.x.values[most]));
    assert_eq!(found.number("at_least"), Some(series.x.values[1 - most]));
    assert!(!found.cautions.is_empty());
    assert!(found.summary.contains("body.inner_diameter"), "{}", found.summary);
}

/// Of two entries every pair is an answer of its own: a curve over the first for each value of the second, by hand from Ohm's
/// law; and the corner at which the number is most is named by both.
#[test]
fn two_entries_make_a_family_of_curves() {
    let (mut sheet, _) = Sheet::parse(&template(Form::Pot), "pot.sheet.toml").unwrap();
    for (path, text) in [("winding.resistance", "40 ohm"), ("winding.resistance_at", "20 degC")] {
        sheet.set(path, text).unwrap();
    }
    let [volts] = over("drive.voltage", &[12.0, 18.0, 24.0]);
    let [leads] = over("drive.lead_resistance", &[0.0, 8.0]);
    let found = sweep(&sheet, &Question::Winding, &[volts.clone(), leads]).unwrap();
    let power = found.series.iter().find(|s| s.ys[0].key.starts_with("power_")).unwrap();
    assert_eq!(power.x.values, [12.0, 18.0, 24.0]);
    assert_eq!(power.ys.len(), 2);
    for (line, lead_ohm) in power.ys.iter().zip([0.0, 8.0]) {
        assert!(line.label.starts_with("drive.lead_resistance = "), "{}", line.label);
        for (volt, watt) in power.x.values.iter().zip(&line.values) {
            let current = volt / (40.0 + lead_ohm);
            assert!(
                (watt / (current * current * 40.0) - 1.0).abs() < 1e-6,
                "{volt} V, {lead_ohm} ohm: {watt} W"
            );
        }
    }
    assert_eq!((found.number("at_most"), found.number("at_most_2")), (Some(24.0), Some(0.0)));
    assert_eq!((found.number("at_least"), found.number("at_least_2")), (Some(12.0), Some(8.0)));
    assert!(sweep(&sheet, &Question::Winding, &[volts.clone(), volts]).is_err());
    assert!(sweep(&sheet, &Question::Winding, &[]).is_err());
}

/// 12 V across a winding at a fixed number of turns: I = V/R, by hand; what does not follow has no curve.
#[test]
fn every_number_that_follows_has_a_curve() {
    let (mut sheet, _) = Sheet::parse(&template(Form::Pot), "pot.sheet.toml").unwrap();
    sheet.set("drive.voltage", "24 V").unwrap();
    let found = sweep(&sheet, &Question::Winding, &over("drive.voltage", &[12.0, 24.0])).unwrap();
    let ys = |key: &str| found.series.iter().find(|s| s.ys[0].key == key).map(|s| s.ys[0].values.clone());
    let current = ys("current").unwrap();
    assert!((current[1] / current[0] - 2.0).abs() < 1e-9);
    let power = ys("power").unwrap();
    assert!((power[1] / power[0] - 4.0).abs() < 1e-9);
    assert_eq!(ys("resistance_20"), None, "the resistance at 20 °C does not follow the voltage");
}

#[test]
fn turns_are_whole_and_words_are_not_swept() {
    let (sheet, _) = Sheet::parse(&template(Form::Pot), "pot.sheet.toml").unwrap();
    let mut sheet = sheet;
    sheet.set("winding.resistance", "").ok();
    sheet.set("winding.wire", "0.35 mm").ok();
    let found = sweep(&sheet, &Question::Winding, &over("winding.turns", &[500.2, 500.4, 900.0])).unwrap();
    assert_eq!(found.series[0].x.values, [500.0, 900.0]);
    let refused = sweep(&ring(), &Question::Winding, &over("surroundings.cooling", &[1.0]));
    assert!(matches!(refused, Err(Failure::Input(_))));
    let none =
        sweep(&ring(), &Question::Pull(PullQuestion::default()), &over("body.inner_diameter", &[0.1, 0.2]));
    assert!(none.unwrap_err().to_string().contains("no value of `body.inner_diameter` has an answer"));
}
