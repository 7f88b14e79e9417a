//! `compare`: magnets side by side, needs, and what cannot be compared; `--sweep`: one over a range.
#![allow(clippy::unwrap_used, reason = "tests")]

use crate::in_examples::{json, run};
use serde_json::Value;

const RING: &str = "loudspeaker-ring.sheet.toml";

#[test]
fn one_table_one_chart_and_every_number_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let chart = folder.path().join("pulls.svg");
    let thick = "body.thickness=20 mm ± 0.1 mm; body.remanence=0.41 T";
    let args = ["compare", RING, "--with", thick, "--gap", "0.2mm"];
    let (code, out, _) = run(&args);
    assert_eq!(code, 0);
    assert!(out.contains("surely more than") && out.contains(", more"), "{out}");
    let table = out.lines().find(|line| line.starts_with("  pull ")).unwrap();
    assert_eq!(table.matches(" N (").count(), 2, "two magnets, each with its range: {table}");
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");

    let (_, json, _) = run(&[&args[..], &["--json"]].concat());
    let document: Value = serde_json::from_str(&json).unwrap();
    let answer = &document["answers"][0];
    assert_eq!(answer["others"][0]["set"].as_array().unwrap().len(), 2);
    assert_eq!(answer["sheet"]["sha256"], answer["others"][0]["sha256"]);
    let values = &answer["values"];
    let pull = |key: &str| values[key]["value"].as_f64().unwrap();
    assert!((pull("pull_2_more") - (pull("pull_2") - pull("pull_1"))).abs() < 1e-9);
    assert_eq!(values["gap"]["value"], 0.2e-3);

    let (_, _, told) = run(&[&args[..], &["--plot", chart.to_str().unwrap()]].concat());
    let svg = std::fs::read_to_string(&chart).unwrap();
    assert!(told.contains("drew") && svg.contains("thickness") && svg.contains("loudspeaker ring"), "{told}");
}

#[test]
fn a_need_decides() {
    let with = ["compare", RING, "--with", "workpiece.gap=1mm", "--need", "pull >= 60 N", "--strict"];
    let (code, out, err) = run(&with);
    assert_eq!(code, 4);
    assert!(out.contains("Meets every need: loudspeaker ring 72 x 32 x 15. Misses a need:"), "{out}");
    assert!(err.contains("needed is pull >= 60 N"), "{err}");
    assert!(out.contains("meets all") && out.contains("misses"), "{out}");
    for (need, word) in [("weight <= 1 kg", "pull_warm"), ("pull >= 60 V", "60 V"), ("pull", "says no need")]
    {
        let (code, _, err) = run(&["compare", RING, RING, "--need", need]);
        assert!(code == 2 && err.contains(word), "{need}: {code} {err}");
    }
}

/// Three magnets, one of each kind, fit a screen, and no caution is left out.
#[test]
fn three_magnets_fit_a_screen() {
    let args = ["compare", "gantry-pot.sheet.toml"];
    let laminated = ["--set", "body.laminated=true", "--set", "workpiece.laminated=true"];
    let (code, out, err) = run(&["compare", RING, "--electromagnet=12V", "--with", "body.thickness=20mm"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("pull per kg") && out.contains("pot 72 x 15 for 12 V"), "{out}");
    assert!(out.lines().count() <= 30 && out.lines().all(|line| line.chars().count() <= 100), "{out}");
    let answer = &json(&[&args[..], &["--permanent=N35"], &laminated].concat())["answers"][0];
    let (_, screen, _) = run(&[&args[..], &["--permanent=N35"], &laminated].concat());
    assert!(screen.lines().count() <= 30, "{screen}");
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    let cautions = answer["cautions"].as_array().unwrap();
    for caution in cautions {
        let same = |c: &&Value| c["danger"] == caution["danger"] && c["source"] == caution["source"];
        let told = cautions.iter().filter(same).any(|c| words.contains(c["brief"].as_str().unwrap()));
        assert!(told, "{caution}: {screen}");
    }
}

#[test]
fn one_magnet_is_no_comparison_and_a_faulty_what_if_is_told() {
    let (code, _, err) = run(&["compare", RING]);
    assert!(code == 2 && err.contains("--with"), "{err}");
    let (code, _, err) = run(&["compare", RING, "--with", "body.thickness=20 V"]);
    assert!(code == 1 && err.contains("body.thickness"), "{err}");
    for (option, word) in [("--gap", "workpiece.gap"), ("--height", "inside the magnets")] {
        let (code, _, err) = run(&["compare", RING, RING, option, "-1mm"]);
        assert!(code == 1 && err.contains(word), "{option}: {err}");
    }
    let (_, out, _) = run(&["compare", RING, RING, "--quiet"]);
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("just as much as") && out.contains("once more"), "{out}");
    let (code, _, err) = run(&["compare", RING, "nowhere.sheet.toml"]);
    assert!(code == 1 && err.contains("nowhere.sheet.toml"), "{err}");
}

#[test]
fn a_sweep_is_a_table_a_csv_and_a_chart() {
    let folder = tempfile::tempdir().unwrap();
    let chart = folder.path().join("sweep.svg");
    let args = ["pull", RING, "--sweep", "workpiece.gap=0.1..1.6mm/5"];
    let (code, out, _) = run(&args);
    assert_eq!(code, 0);
    assert!(out.contains("Pull: most ") && out.contains("workpiece.gap = 0.1 mm, least"), "{out}");
    assert!(out.lines().count() <= 32 && out.contains("0.1") && out.contains("1.6"), "{out}");
    let (_, csv, _) = run(&[&args[..], &["--csv"]].concat());
    assert_eq!(csv.lines().count(), 6, "{csv}");
    let (_, _, told) = run(&[&args[..], &["--plot", chart.to_str().unwrap()]].concat());
    assert!(
        told.contains("drew") && std::fs::read_to_string(&chart).unwrap().contains("workpiece.gap"),
        "{told}"
    );
    let (_, out, _) = run(&["pull", RING, "--sweep", "surroundings.temperature=0..40degC/2", "--quiet"]);
    assert!(out.contains("does not follow surroundings.temperature"), "{out}");
    let (code, _, err) = run(&["pull", RING, "--sweep", "body.grade=N35..N52"]);
    assert!(code == 2 && err.contains("no number of a sheet"), "{err}");
    let (code, _, err) = run(&["pull", RING, "--sweep", "workpiece.gap=1V..2V"]);
    assert!(code == 2 && err.contains("`V`"), "{err}");
}
