//! `seek`: one screen, sheets that run, a log that is gone on with, and what makes no sense.
#![allow(clippy::unwrap_used, reason = "tests")]

use crate::in_examples::run;
use serde_json::Value;
use std::path::{Path, PathBuf};

const POT: &str = "gantry-pot.sheet.toml";
const VARY: &str = "body.pole_diameter=24..34mm/3; body.back=6mm,8mm; winding.wire=0.28 mm,0.355 mm grade 2";

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn one_screen_sheets_that_run_and_a_log_that_is_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    let (designs, log) = (folder.path().join("designs"), folder.path().join("log"));
    let asked = ["seek", POT, "--aim", "most pull", "--aim", "lightest", "--vary", VARY, "--log", text(&log)];
    let (code, out, told) = run(&[&asked[..], &["--write", text(&designs)]].concat());
    assert_eq!(code, 0, "{told}");
    assert!(out.lines().count() <= 30 && out.lines().all(|line| line.chars().count() <= 100), "{out}");
    for word in ["As it stands", "Strongest", "Lightest", "pole diameter", "turns", "working load"] {
        assert!(out.contains(word), "{word}: {out}");
    }
    assert!(told.contains("wrote") && told.contains("strongest.sheet.toml"), "{told}");

    // What is written is a sheet with the old one's comments, and pulls what was told.
    let strongest = designs.join("strongest.sheet.toml");
    let sheet = std::fs::read_to_string(&strongest).unwrap();
    assert!(
        sheet.contains("# calipers") && sheet.contains("wire = ") && !sheet.contains("multimeter, leads"),
        "{sheet}"
    );
    // It is a magnet of its own: no claims and no notes of the one that it was found from.
    assert!(
        !sheet.contains("\"18 W\"") && !sheet.contains("1200 N") && !sheet.contains("cast in resin"),
        "{sheet}"
    );
    assert!(sheet.contains("gantry pot 65 x 35, strongest") && sheet.contains("not made yet"), "{sheet}");
    let (_, json, _) = run(&[&asked[..], &["--json"]].concat());
    let values = |json: &str| serde_json::from_str::<Value>(json).unwrap()["answers"][0]["values"].clone();
    let (_, alone, _) = run(&["pull", text(&strongest), "--json"]);
    assert_eq!(values(&json)["pull_1"]["value"], values(&alone)["pull"]["value"]);

    // Cut off in the midst of a line it is gone on with, to the same answer and the same log.
    let whole = std::fs::read(&log).unwrap();
    std::fs::write(&log, &whole[..whole.len() - whole.len() / 3]).unwrap();
    assert_eq!(run(&[&asked[..], &["--json"]].concat()).1, json);
    assert_eq!(std::fs::read(&log).unwrap(), whole);
    let (code, _, told) = run(&[&asked[..], &["--seed", "2"]].concat());
    assert!(code == 1 && told.contains("another seed"), "{told}");
    // Nothing is replaced unasked.
    let (code, _, told) = run(&[&asked[..], &["--write", text(&designs)]].concat());
    assert!(code == 1 && told.contains("--force"), "{told}");
    // The front is a curve.
    let (_, csv, _) = run(&[&asked[..], &["--csv", "--series", "front"]].concat());
    assert!(csv.lines().count() > 2 && csv.contains("pull"), "{csv}");
}

#[test]
fn nonsense_is_refused_with_a_word() {
    for (args, code, word) in [
        (&["--aim", "most beauty"][..], 2, "there are pull"),
        (&["--aim", "pull"], 2, "most"),
        (&["--aim", "most pull", "--within", "masss <= 1 kg"], 2, "did you mean `mass`"),
        (&["--aim", "most pull", "--within", "mass <= 1 V"], 2, "1 V"),
        (&["--aim", "most pull", "--vary", "body.pole=1..2mm"], 2, "no number"),
        (&["--aim", "most pull", "--vary", "winding.wire=soap"], 1, "soap"),
        (&["--aim", "most pull", "--vary", "body.back=5..3mm"], 1, "ends before"),
        (&["--aim", "most pull", "--vary", "body.wall; body.inner_diameter=40..50mm"], 1, "body.wall"),
        (&["--aim", "most pull", "--designs", "3"], 2, "3"),
        (&["--aim", "most pull", "--log", POT], 1, "no log"),
    ] {
        let (found, out, told) = run(&[&["seek", POT], args].concat());
        assert!(found == code && told.contains(word) && out.is_empty(), "{args:?}: {found} {told}");
    }
    let examples = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    assert!(std::fs::read_to_string(examples.join(POT)).unwrap().starts_with("# The pot magnet"));
}
