//! What the README shows is true.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;

/// The sheet in the README is one, and its magnet has a winding and a pull.
#[test]
fn the_sheet_in_the_readme_is_answered() {
    let readme = include_str!("../../../README.md");
    let text = readme.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    let (sheet, remarks) = Sheet::parse(text, "README.md").unwrap();
    assert!(remarks.is_empty(), "{remarks:?}");
    assert!(answer(&sheet, &Question::Winding).unwrap().number("turns").unwrap() > 100.0);
    assert!(
        answer(&sheet, &Question::Pull(PullQuestion::default())).unwrap().number("pull").unwrap() > 100.0
    );
}

/// A magnet of which only size and nameplate are known: R = V²/P, and it is said where that is from.
#[test]
fn a_nameplate_is_enough_to_begin() {
    let text = "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\n\
                [nameplate]\nvoltage = \"24 V\"\npower = \"8 W\"\n";
    let (sheet, _) = Sheet::parse(text, "pot").unwrap();
    let winding = answer(&sheet, &Question::Winding).unwrap();
    assert!((winding.number("resistance_20").unwrap() - 72.0).abs() < 0.1);
    assert!(
        winding.assumptions.iter().any(|a| a.path == "winding.resistance" && a.reason.contains("nameplate"))
    );
    let nothing = text.replace("power = \"8 W\"\n", "");
    let faults =
        format!("{:?}", answer(&Sheet::parse(&nothing, "pot").unwrap().0, &Question::Winding).unwrap_err());
    assert!(faults.contains("ohmmeter"), "{faults}");
}
