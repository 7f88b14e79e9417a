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
        run(folder.path(), &format!("{BAR} -o bar.sheet.toml --plot r.svg --series residuals --full"));
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

/// Files as they come from loggers and spreadsheets: each fault with file, line and what to do; nothing is written.
#[test]
fn nasty_files_are_named_and_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let gauss = std::fs::read_to_string(format!("{EXAMPLES}/readings/lathe-bar.csv")).unwrap();
    assert!(gauss.contains("field mT"));
    let gauss = gauss.replace("field mT", "field G");
    let many = format!("voltage V, current A\n{}", "12.0,x\n".repeat(30));
    let files: [(&str, &[&str]); 12] = [
        ("", &["bench.csv: fault: the file is empty", "hint: a CSV of readings"]),
        ("voltage V, current A\n", &["no readings below the header", "one line for each moment"]),
        ("volts, amps\n12,0.25\n", &["bench.csv:1", "`voltage V`", "`current A`"]),
        ("voltage V; shine lm\n12,0;3\n", &["header cell 2, `shine lm`", "known are time, voltage"]),
        ("voltage V, current A\n12,0,0,25\n", &["bench.csv:2", "decimal commas need semicolons"]),
        (
            "voltage V;current A\r\n12,0;0,25\r\n6.0;0,12\r\n",
            &["bench.csv:3", "mixes decimal points and commas"],
        ),
        ("voltage V, current A\n12.0,0.25\n6.0", &["bench.csv:3", "torn off: 1 of the 2 cells"]),
        ("time, back °C\n14:05,21\n", &["bench.csv:2", "`time hh:mm` or `time mm:ss`"]),
        ("time s, back °C\n0,21\n60,22\n30,23\n", &["bench.csv:4", "runs backwards, from 60 s to 30 s"]),
        (&many, &["bench.csv:21", "10 more lines are faulty"]),
        (&gauss, &["bench.csv: fault", "mT would be as expected", "mend the header"]),
        ("power W\n12\n", &["bench.csv: fault", "nothing that tells"]),
    ];
    for (csv, said) in files {
        std::fs::write(folder.path().join("bench.csv"), csv).unwrap();
        let args = "fit EXAMPLES/lathe-bar.sheet.toml --readings bench.csv -o new.sheet.toml";
        let (code, out, err) = run(folder.path(), args);
        assert_eq!((code, out.as_str()), (1, ""), "{csv}: {err}");
        for words in said {
            assert!(err.contains(words), "{csv}: no `{words}` in {err}");
        }
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "{csv}: a file was left");
    }
}

/// A byte order mark, CR LF, semicolons and decimal commas, missing cells, a repeated time and a last line without break
/// are no faults; what is odd is remarked upon.
#[test]
fn odd_files_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let csv = "\u{feff}time; voltage V; current A; back °C\r\n23:59:00; 24,00; 0,500; 21,5\r\n\
               23:59:00; 24,00; ; 21,6\r\n;;;\r\n00:01:00; 24,00; 0,498; 22,4";
    std::fs::write(folder.path().join("bench.csv"), csv).unwrap();
    let (code, _, err) = run(folder.path(), "audit EXAMPLES/gantry-pot.sheet.toml --readings bench.csv");
    assert_eq!(code, 0, "{err}");
    for words in [
        "1 row has the time of the row before, the first in line 3",
        "midnight once, first in line 5",
        "line 5, the last",
    ] {
        assert!(err.contains(words), "no `{words}` in {err}");
    }
}

/// Instruments in a side file count as the sheet's own; faults in it are shown where they stand.
#[test]
fn instruments_in_a_side_file() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("bench.csv", "resistance ohm by bridge\n52.10\n");
    let args = "audit EXAMPLES/gantry-pot.sheet.toml --readings bench.csv";
    let (code, _, err) = run(folder.path(), args);
    assert!(code == 1 && err.contains("an instrument `bridge` that the sheet does not have"), "{err}");
    write("meters.toml", "[instruments.bridge]\nof_reading = \"0.05 %\"\nresolution = \"0.01 ohm\"\n");
    let (code, out, err) = run(folder.path(), &format!("{args} --instruments meters.toml"));
    assert!(code == 0 && out.contains("readings: ohmmeter"), "{out}{err}");
    write("meters.toml", "[instruments.bridge]\nof_reading = \"0.05 %\"\nresolution = \"0.01 ohn\"\n");
    let (code, out, err) = run(folder.path(), &format!("{args} --instruments meters.toml"));
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.contains("meters.toml:3"), "{err}");
}

/// A place that cannot be written to is refused before the fit, and named.
#[test]
fn a_place_that_cannot_be_written() {
    let folder = tempfile::tempdir().unwrap();
    for (place, why) in [("missing/new.toml", "its directory does not exist"), (".", "it is a directory")] {
        let (code, out, err) = run(folder.path(), &format!("{BAR} -o {place}"));
        assert_eq!((code, out.as_str()), (1, ""), "{err}");
        assert!(err.contains(why) && err.contains(place), "{err}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
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
    ] {
        let (code, out, err) = run(folder.path(), args);
        assert_eq!((code, out.as_str()), (2, ""), "{args}: {err}");
    }
}
