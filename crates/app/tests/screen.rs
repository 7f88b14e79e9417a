//! The first screen: every command on every example fits it, in units of every kind, and hides no caution.

use std::path::PathBuf;
use std::process::Command;

const POT: &str = "examples/gantry-pot.sheet.toml";
const BAR: &str = "examples/lathe-bar.sheet.toml";
const RING: &str = "examples/loudspeaker-ring.sheet.toml";

/// Every command on every example that it can be asked about.
const RUNS: [&[&str]; 17] = [
    &["winding", POT],
    &["winding", BAR],
    &["field", POT],
    &["field", BAR, "--keep-out"],
    &["field", RING],
    &["pull", POT],
    &["pull", BAR],
    &["pull", RING],
    &["heat", POT],
    &["heat", BAR],
    &["heat", BAR, "--headroom"],
    &["switch", POT],
    &["switch", BAR],
    &["audit", POT],
    &["audit", POT, "--readings", "examples/readings/gantry-pot.csv"],
    &["audit", BAR],
    &["fit", BAR, "--readings", "examples/readings/lathe-bar.csv"],
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn screen(args: &[&str], columns: usize, more: &[&str]) -> String {
    let ran = Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .args(args)
        .args(more)
        .env("COLUMNS", columns.to_string())
        .current_dir(root())
        .output()
        .expect("the program starts");
    assert!(ran.status.success(), "{args:?}: {}", String::from_utf8_lossy(&ran.stderr));
    String::from_utf8(ran.stdout).expect("UTF-8")
}

#[test]
fn a_default_answer_fits_a_screen() {
    let mut long = Vec::new();
    for args in RUNS {
        for (columns, most) in [(60, 45), (100, 30)] {
            let text = screen(args, columns, &[]);
            let (lines, widest) =
                (text.lines().count(), text.lines().map(|l| l.chars().count()).max().unwrap());
            if lines > most || widest > columns {
                long.push(format!("{args:?} at {columns}: {lines} lines, {widest} columns"));
            }
            assert!(!text.contains('±') || args[0] == "fit" || args[0] == "audit", "{text}");
            assert!(text.contains("--full"), "{text}");
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

/// What a caution is about is never left out, only said once.
#[test]
fn every_kind_of_caution_is_on_the_screen() {
    for args in RUNS {
        let json: serde_json::Value = serde_json::from_str(&screen(args, 100, &["--json"])).unwrap();
        let text = screen(args, 100, &[]).split_whitespace().collect::<Vec<_>>().join(" ");
        let cautions = json["answers"][0]["cautions"].as_array().unwrap();
        for caution in cautions {
            let same =
                |c: &&serde_json::Value| c["danger"] == caution["danger"] && c["source"] == caution["source"];
            let told = cautions.iter().filter(same).any(|c| text.contains(c["brief"].as_str().unwrap()));
            assert!(told, "{args:?}: {caution}");
        }
        let deferred = text.matches("Local codes").count();
        assert_eq!(deferred, usize::from(!cautions.is_empty()), "{args:?}");
    }
}

#[test]
fn units_and_extents() {
    let gauss = screen(&["field", RING], 100, &["--units", "gauss"]);
    assert!(gauss.contains(" G ") || gauss.contains(" kG "), "{gauss}");
    let imperial = screen(&["pull", POT], 100, &["--units", "imperial"]);
    assert!(imperial.contains("lbf") && imperial.contains(" in"), "{imperial}");
    let sentence = screen(&["pull", POT], 200, &["--quiet"]);
    assert_eq!(sentence.lines().count(), 1);
    assert!(sentence.contains(" to ") && sentence.contains("19 times in 20"), "{sentence}");
    let full = screen(&["pull", POT], 100, &["--full"]);
    assert!(full.lines().count() > 80 && full.contains('±') && full.contains("numerical error"), "{full}");
}
