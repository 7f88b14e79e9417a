//! Whole runs of `audit` on the demonstration sheets.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use assert_cmd::Command;
use std::path::Path;

fn run(args: &[&str]) -> (i32, String, String) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut command = Command::cargo_bin("coilwright").unwrap();
    let output = command.current_dir(root).env("COLUMNS", "100").args(args).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_bought_magnet_does_not_agree_with_itself() {
    let (code, out, err) = run(&["audit", "gantry-pot.sheet.toml", "--full"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(
        out.contains("The nameplate's 18 W at 24 V cannot be true") && out.contains("contradicts"),
        "{out}"
    );
    assert!(!out.contains('{'), "a key was not replaced: {out}");
    assert!(out.contains("caution"), "{out}");
}

#[test]
fn with_readings_it_is_settled() {
    let args = ["audit", "gantry-pot.sheet.toml", "--readings", "readings/gantry-pot.csv"];
    let (code, out, _) = run(&[&args[..], &["--full"]].concat());
    assert_eq!(code, 0);
    let words: String = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("agree, which settles it") && words.contains("readings: volts over amperes"),
        "{out}"
    );
    let (_, json, _) = run(&[&args[..], &["--json"]].concat());
    let answer: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(answer["answers"][0]["command"], "audit");
}

#[test]
fn faulty_readings_are_named_with_their_lines() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.csv");
    std::fs::write(&file, "voltage V, current A\n12.0,0.25\n12.1,oops\n12.2\n").unwrap();
    let (code, out, err) = run(&["audit", "gantry-pot.sheet.toml", "--readings", file.to_str().unwrap()]);
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.contains("bench.csv:3") && err.contains("bench.csv:4") && err.contains("2 faults"), "{err}");
    let (code, _, err) = run(&["audit", "gantry-pot.sheet.toml", "--readings", "nowhere.csv"]);
    assert!(code == 1 && err.contains("no such file"), "{err}");
}

#[test]
fn nothing_to_compare() {
    let (code, out, _) = run(&["audit", "loudspeaker-ring.sheet.toml", "--full"]);
    assert!(code == 0 && out.contains("Nothing to compare") && out.contains("To add"), "{out}");
}
