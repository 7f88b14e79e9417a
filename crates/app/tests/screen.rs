//! The first screen: every command on every example fits it, in units of every kind, and hides no caution.

use coilwright::terminal::{Extent, Layout, render};
use coilwright_bench::sampled;
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::answers::question::{Question, SwitchQuestion};
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::sheet::Sheet;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;
use std::sync::Mutex;

const POT: &str = "examples/gantry-pot.sheet.toml";
const BAR: &str = "examples/lathe-bar.sheet.toml";
const RING: &str = "examples/loudspeaker-ring.sheet.toml";

/// Every command, on every example for which it says something else. In two halves, for two cores.
const MAGNETIC: [&[&str]; 7] = [
    &["winding", POT],
    &["field", BAR, "--keep-out"],
    &["field", RING],
    &["field", RING, "--line", "0mm,2mm..50mm,2mm", "--uniform", "0mm,5mm..5mm,15mm"],
    &["pull", POT],
    &["switch", POT],
    &["audit", POT, "--readings", "examples/readings/gantry-pot.csv"],
];
const THERMAL: [&[&str]; 5] = [
    &["heat", POT],
    &["heat", BAR],
    &["heat", BAR, "--headroom"],
    &["switch", BAR],
    &["fit", BAR, "--readings", "examples/readings/lathe-bar.csv"],
];

/// Lines at 100 columns that are no more than 45 at 60, as words and their breaks go.
const SHORT: usize = 23;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The answer about switching, which takes its time: asked once for all widths.
fn switched(path: &str, width: usize) -> String {
    static ASKED: Mutex<BTreeMap<String, Answer>> = Mutex::new(BTreeMap::new());
    let mut asked = ASKED.lock().expect("no test panics while it asks");
    let answer = asked.entry(path.into()).or_insert_with(|| {
        let text = std::fs::read_to_string(root().join(path)).expect("the example");
        let (sheet, _) = Sheet::parse(&text, path).expect("a sheet");
        sampled::answer(&sheet, &Question::Switch(SwitchQuestion::default())).expect("an answer")
    });
    let styled = render(answer, Extent::Screen, Layout { width, units: UnitSystem::Si });
    anstream::adapter::strip_str(&styled).to_string()
}

fn screen(args: &[&str], columns: usize, more: &[&str]) -> String {
    if let ["switch", sheet] = args
        && more.is_empty()
    {
        return switched(sheet, columns);
    }
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

/// It fits, and what a caution is about is never left out, only said once.
fn fits_and_hides_no_caution(runs: &[&[&str]]) {
    let mut long = Vec::new();
    for args in runs {
        let mut wide = String::new();
        for (columns, most) in [(100, 30), (60, 45)] {
            // What is short on a wide screen is not long on a narrow one.
            if columns == 60 && wide.lines().count() < SHORT {
                continue;
            }
            let text = screen(args, columns, &[]);
            let (lines, widest) =
                (text.lines().count(), text.lines().map(|l| l.chars().count()).max().unwrap_or(0));
            if lines > most || widest > columns {
                long.push(format!("{args:?} at {columns}: {lines} lines, {widest} columns"));
            }
            assert!(!text.contains('±') || args[0] == "fit" || args[0] == "audit", "{text}");
            assert!(text.contains("--full"), "{text}");
            if columns == 100 {
                wide = text;
            }
        }
        let wide = wide.split_whitespace().collect::<Vec<_>>().join(" ");
        let json: serde_json::Value = serde_json::from_str(&screen(args, 100, &["--json"])).expect("JSON");
        let cautions = json["answers"][0]["cautions"].as_array().expect("a list");
        for caution in cautions {
            let same =
                |c: &&serde_json::Value| c["danger"] == caution["danger"] && c["source"] == caution["source"];
            let told =
                cautions.iter().filter(same).any(|c| wide.contains(c["brief"].as_str().expect("words")));
            assert!(told, "{args:?}: {caution}");
        }
        let deferred = wide.matches("Local codes").count();
        assert_eq!(deferred, usize::from(!cautions.is_empty()), "{args:?}");
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn what_is_magnetic_fits_a_screen() {
    fits_and_hides_no_caution(&MAGNETIC);
}

#[test]
fn what_is_warm_fits_a_screen() {
    fits_and_hides_no_caution(&THERMAL);
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
