//! `heat` and `switch` as a person runs them.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;

const POT: &str = r#"sheet = 1
name = "test pot"
form = "pot"
invented = true
[body]
outer_diameter = "52 mm"
height = "30 mm"
pole_diameter = "20 mm"
wall = "3 mm"
back = "5 mm"
[winding]
resistance = "72 ohm"
impregnation = "epoxy"
[drive]
voltage = "24 V"
[workpiece]
mass = "0.5 kg"
[surroundings]
temperature = "24 °C"
emissivity = 0.85
"#;

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, args: &[&str]) -> Ran {
    let output = Command::cargo_bin("coilwright")
        .unwrap()
        .current_dir(folder)
        .env("COLUMNS", "100")
        .args(args)
        .output()
        .unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("pot.sheet.toml"), POT).unwrap();
    folder
}

/// The JSON answer; no number in it may be missing.
fn json(folder: &Path, args: &[&str]) -> Value {
    let ran = run(folder, &[args, &["--json"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let mut written: Value = serde_json::from_str(&ran.out).unwrap();
    let answer = written["answers"][0].take();
    for series in answer["series"].as_array().unwrap() {
        let columns = std::iter::once(&series["x"]).chain(series["ys"].as_array().unwrap());
        for column in columns {
            let values = column["values"].as_array().unwrap();
            assert!(!values.is_empty() && values.iter().all(Value::is_number), "{}", column["key"]);
        }
    }
    answer
}

fn number(answer: &Value, key: &str) -> f64 {
    answer["values"][key]["value"].as_f64().unwrap_or_else(|| panic!("no {key}"))
}

#[test]
fn heat_is_told_drawn_and_written() {
    let folder = folder();
    let args = ["heat", "pot.sheet.toml", "--duration", "1h", "--full", "--plot", "w.svg", "--plot", "p.png"];
    let ran = run(folder.path(), &[&args[..], &["--series", "warm_up", "--series", "warm_up_pull"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    for expected in
        ["hot spot", "winding, mean by resistance", "IEC 60085", "pull lost by warming", "caution", "60 min"]
    {
        assert!(ran.out.contains(expected), "{expected}: {}", ran.out);
    }
    assert!(!ran.out.contains("NaN") && !ran.out.contains("not a number"), "{}", ran.out);
    assert!(std::fs::read_to_string(folder.path().join("w.svg")).unwrap().contains("<svg"));
    assert!(std::fs::read(folder.path().join("p.png")).unwrap().starts_with(b"\x89PNG"));
    let answer = json(folder.path(), &["heat", "pot.sheet.toml"]);
    assert!(number(&answer, "energy_imbalance") < 1e-3);
    assert!((number(&answer, "duration") - 1800.0).abs() < 1e-9);
    assert!(number(&answer, "hot_spot") > number(&answer, "surface_temperature"));
    let csv = run(folder.path(), &["heat", "pot.sheet.toml", "--csv", "--series", "warm_up_power"]);
    assert!(csv.out.lines().count() > 60 && csv.out.contains("power"), "{}", csv.out);
}

#[test]
fn a_limit_decides_the_exit_code() {
    let folder = folder();
    let strict = |limit: &str| {
        let set = format!("limits.temperature={limit}");
        run(folder.path(), &["heat", "pot.sheet.toml", "--strict", "--set", &set])
    };
    assert_eq!(strict("120 °C").code, 0);
    let over = strict("50 °C");
    assert_eq!(over.code, 4, "{}", over.err);
    assert!(over.err.contains("limits.temperature"), "{}", over.err);
    let surface = ["--strict", "--set", "limits.surface_temperature=40 °C"];
    assert_eq!(run(folder.path(), &[&["heat", "pot.sheet.toml"], &surface[..]].concat()).code, 4);
}

/// A run that ends in time is no excuse: what is kept after ten minutes and exceeded in the long run is exceeded.
#[test]
fn a_limit_holds_in_the_long_run_too() {
    let folder = folder();
    let short = ["heat", "pot.sheet.toml", "--duration", "10 min"];
    let answer = json(folder.path(), &short);
    for (path, key) in
        [("limits.temperature", "hot_spot"), ("limits.surface_temperature", "surface_temperature")]
    {
        let (end, steady) = (number(&answer, key), number(&answer, &format!("{key}_steady")));
        assert!(steady > end + 5.0, "{key}: {end} K, then {steady} K");
        let strict = |kelvin: f64| {
            let set = format!("{path}={} °C", kelvin - 273.15);
            run(folder.path(), &[&short[..], &["--strict", "--set", &set]].concat())
        };
        let between = strict(0.5 * (end + steady));
        assert_eq!(between.code, 4, "{}", between.err);
        assert!(between.err.contains(path) && between.err.matches("allows").count() == 1, "{}", between.err);
        assert_eq!(strict(steady + 1.0).code, 0);
        assert_eq!(strict(end - 1.0).err.matches("allows").count(), 2);
    }
}

/// The class limits the winding where the sheet names no limit of its own; what burns is said first and judged.
#[test]
fn the_class_and_the_store_are_judged_unasked() {
    let folder = folder();
    let strict = |command: &str, sets: &[&str]| {
        let sets: Vec<&str> = sets.iter().flat_map(|set| ["--set", set]).collect();
        run(folder.path(), &[&[command, "pot.sheet.toml", "--strict"], &sets[..]].concat())
    };
    assert_eq!(strict("heat", &["winding.thermal_class=B"]).code, 0);
    let over = strict("heat", &["winding.thermal_class=B", "drive.voltage=42 V"]);
    assert_eq!(over.code, 4, "{}", over.err);
    assert!(over.err.contains("thermal class"), "{}", over.err);
    assert!(over.out.contains("exceeds class B"), "{}", over.out);
    let burns = ["drive.voltage=200 V", "drive.current_limit=0.8 A"];
    let burns = strict("heat", &burns);
    assert_eq!(burns.code, 4, "{}", burns.err);
    assert!(burns.out.contains("The winding burns") && burns.err.contains("runaway"), "{}", burns.out);
    // A store lasts as long beside laminated iron, which is followed sooner.
    let laminated = ["body.laminated=true", "workpiece.laminated=true"];
    let backup = ["backup.hold_time=20 min", "backup.voltage=24 V"];
    let store = |energy: &str| strict("switch", &[&laminated[..], &backup, &[energy]].concat());
    let (small, large) = (store("backup.energy=2 Wh"), store("backup.energy=60 Wh"));
    assert_eq!((small.code, large.code), (4, 0), "{}{}", small.err, large.err);
    assert!(small.err.contains("backup.hold_time"), "{}", small.err);
    assert!(small.out.contains("The store does not hold"), "{}", small.out);
    assert!(!large.out.contains("The store does not hold"), "{}", large.out);
}

#[test]
fn headroom_is_one_command() {
    let folder = folder();
    let args = [
        "heat",
        "pot.sheet.toml",
        "--headroom",
        "--voltage",
        "12..48V/10",
        "--cooling",
        "still air,forced air,cold plate",
    ];
    let answer = json(folder.path(), &args);
    assert!(number(&answer, "level_still_air") < number(&answer, "level_cold_plate"));
    let ran = run(folder.path(), &[&args[..], &["--full"]].concat());
    for told in ["safe voltage, continuously", "highest voltage at 40 % ED"] {
        assert!(ran.out.contains(told), "{told}: {}", ran.out);
    }
    let bad = run(folder.path(), &["heat", "pot.sheet.toml", "--headroom", "--cooling", "ice"]);
    assert_eq!((bad.code, bad.out.as_str()), (1, ""));
    assert!(bad.err.contains("still air"), "{}", bad.err);
    assert_eq!(run(folder.path(), &["heat", "pot.sheet.toml", "--cooling", "still air"]).code, 2);
    assert_eq!(run(folder.path(), &["heat", "pot.sheet.toml", "--duration", "0 s"]).code, 2);
}

#[test]
fn a_recorded_drive_stands_beside_its_sheet() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("in")).unwrap();
    let sheet = POT.replace("[drive]\n", "[drive]\nprofile = \"run.csv\"\n");
    std::fs::write(folder.path().join("in/pot.sheet.toml"), sheet).unwrap();
    let missing = run(folder.path(), &["heat", "in/pot.sheet.toml"]);
    assert_eq!((missing.code, missing.out.as_str()), (1, ""));
    assert!(missing.err.contains("run.csv") && missing.err.contains("in/pot.sheet.toml:"), "{}", missing.err);
    let profile = folder.path().join("in/run.csv");
    std::fs::write(&profile, "time (s), voltage (V)\n0, 24\n60, twelve\n30,\n").unwrap();
    let bad = run(folder.path(), &["heat", "in/pot.sheet.toml"]);
    assert_eq!((bad.code, bad.out.as_str()), (1, ""));
    assert!(bad.err.contains("run.csv:3") && bad.err.contains("run.csv:4"), "{}", bad.err);
    std::fs::write(&profile, "time (s), voltage (V)\n0, 24\n600, 0\n").unwrap();
    let answer = json(folder.path(), &["heat", "in/pot.sheet.toml"]);
    assert!(number(&answer, "hot_spot") > 300.0);
}

#[test]
fn switching_is_told_and_drawn() {
    let folder = folder();
    let answer = json(folder.path(), &["switch", "pot.sheet.toml"]);
    assert!(number(&answer, "rise_time") > 0.0);
    assert!((number(&answer, "load") - 0.5 * 9.80665).abs() < 1e-9);
    let args =
        ["switch", "pot.sheet.toml", "--load", "20N", "--full", "--plot", "off.svg", "--series", "turn_off"];
    let ran = run(folder.path(), &args);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for expected in
        ["Off by free-wheel diode", "Power failure and backup", "pull left without current", "EN 13155"]
    {
        assert!(ran.out.contains(expected), "{expected}: {}", ran.out);
    }
    std::fs::write(
        folder.path().join("m.sheet.toml"),
        "form = \"disc\"\n[body]\ndiameter = \"20 mm\"\nthickness = \"5 mm\"\ngrade = \"N42\"\n",
    )
    .unwrap();
    for command in ["heat", "switch"] {
        let ran = run(folder.path(), &[command, "m.sheet.toml"]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("no winding"), "{}", ran.err);
    }
}
