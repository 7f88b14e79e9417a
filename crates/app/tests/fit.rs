//! Whole runs of `fit` on the demonstration sheets: what is printed, and what is left on disk.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use assert_cmd::Command;
use std::path::Path;

const EXAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples");

fn run(folder: &Path, args: &str) -> (i32, String, String) {
    let mut command = Command::cargo_bin("coilwright").unwrap();
    let args = args.replace("EXAMPLES", EXAMPLES);
    let output =
        command.current_dir(folder).env("COLUMNS", "100").args(args.split_whitespace()).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

const BAR: &str = "fit EXAMPLES/lathe-bar.sheet.toml --readings EXAMPLES/readings/lathe-bar.csv";

#[test]
fn a_calibrated_sheet_is_written_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bar.sheet.toml");
    let (code, out, err) =
        run(folder.path(), &format!("{BAR} -o bar.sheet.toml --plot r.svg --series residuals"));
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("Told by the readings") && !out.contains('{'), "{out}");
    assert!(err.contains("wrote `bar.sheet.toml`"), "{err}");
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(
        text.contains("[calibration]") && text.contains("crc32:") && text.contains("lathe-bar.csv"),
        "{text}"
    );
    let date = text.lines().find_map(|l| l.strip_prefix("date = \"")).unwrap();
    assert!(date.len() == 11 && date.as_bytes()[4] == b'-', "{date}");
    assert!(folder.path().join("r.svg").exists());
    // The calibrated sheet is a sheet like any other.
    assert_eq!(run(folder.path(), "winding bar.sheet.toml").0, 0);
    // It is not overwritten unless asked for.
    std::fs::write(&path, "mine").unwrap();
    let (code, out, err) = run(folder.path(), &format!("{BAR} -o bar.sheet.toml"));
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.contains("--force") && std::fs::read_to_string(&path).unwrap() == "mine", "{err}");
    assert_eq!(run(folder.path(), &format!("{BAR} -o bar.sheet.toml --force")).0, 0);
    assert!(std::fs::read_to_string(&path).unwrap().contains("[calibration]"));
}

#[test]
fn faulty_readings_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("bench.csv"), "current A, field mT @ r=0mm\n0.2,oops\n0.3,30\n")
        .unwrap();
    let args = "fit EXAMPLES/lathe-bar.sheet.toml --readings bench.csv -o new.sheet.toml";
    let (code, out, err) = run(folder.path(), args);
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.contains("bench.csv:2") && !folder.path().join("new.sheet.toml").exists(), "{err}");
}

#[test]
fn a_log_cut_off_early() {
    let folder = tempfile::tempdir().unwrap();
    let args = "fit EXAMPLES/gantry-pot.sheet.toml --readings EXAMPLES/readings/gantry-warm-up.csv";
    let (code, out, _) = run(folder.path(), args);
    assert!(code == 0 && out.contains("The log is heading for"), "{out}");
}

#[test]
fn usage() {
    let folder = tempfile::tempdir().unwrap();
    for args in [
        "fit EXAMPLES/lathe-bar.sheet.toml",
        "fit EXAMPLES/lathe-bar.sheet.toml EXAMPLES/gantry-pot.sheet.toml --readings EXAMPLES/readings/lathe-bar.csv",
        "fit EXAMPLES/lathe-bar.sheet.toml --readings EXAMPLES/readings/lathe-bar.csv -o x.toml --set drive.voltage=6V",
        "fit EXAMPLES/lathe-bar.sheet.toml --readings EXAMPLES/readings/lathe-bar.csv --force",
    ] {
        let (code, out, err) = run(folder.path(), args);
        assert_eq!((code, out.as_str()), (2, ""), "{args}: {err}");
    }
}
