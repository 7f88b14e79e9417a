//! Whole runs of the program: what stands on which stream, exit codes, and what is left on disk.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use assert_cmd::Command;
use std::path::Path;

fn coilwright(folder: &Path) -> Command {
    let mut command = Command::cargo_bin("coilwright").unwrap();
    command.current_dir(folder).env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE").env("COLUMNS", "100");
    command
}

/// A folder with a sheet for each form that the program itself wrote.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for form in ["pot", "coil", "disc"] {
        let file = format!("{form}.sheet.toml");
        coilwright(folder.path()).args(["new", form, "-o", &file]).assert().success().stdout("");
    }
    folder
}

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, args: &str) -> Ran {
    let output = coilwright(folder).args(args.split_whitespace()).output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_new_sheet_is_answered_at_once() {
    let folder = folder();
    let ran = run(folder.path(), "winding pot.sheet.toml --full");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("· winding") && ran.out.contains("Ω") && ran.out.contains('±'), "{}", ran.out);
    assert!(!ran.out.contains('\u{1b}'), "no colour in a pipe");
}

#[test]
fn standard_input_is_a_sheet_too() {
    let folder = folder();
    let sheet = std::fs::read(folder.path().join("pot.sheet.toml")).unwrap();
    coilwright(folder.path()).args(["winding", "-"]).write_stdin(sheet).assert().success();
}

#[test]
fn an_existing_sheet_is_kept_unless_forced() {
    let folder = folder();
    let path = folder.path().join("pot.sheet.toml");
    std::fs::write(&path, "mine").unwrap();
    let ran = run(folder.path(), "new pot -o pot.sheet.toml");
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("exists already") && ran.err.contains("--force"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
    assert_eq!(run(folder.path(), "new pot -o pot.sheet.toml --force").code, 0);
    assert!(std::fs::read_to_string(&path).unwrap().contains("[body]"));
    assert_eq!(files(folder.path()), ["coil.sheet.toml", "disc.sheet.toml", "pot.sheet.toml"]);
}

/// `-` is standard input where something is read; nobody means a file of that name.
#[test]
fn a_dash_is_no_file_to_write_to() {
    let folder = folder();
    for args in ["new pot -o -", "new pot -o - --force", "report pot.sheet.toml -o -"] {
        let ran = run(folder.path(), args);
        assert_eq!(ran.code, 1, "{args}: {}", ran.err);
        assert!(ran.err.contains("standard output"), "{args}: {}", ran.err);
        assert!(!folder.path().join("-").exists(), "{args}");
    }
}

#[test]
fn every_fault_of_every_sheet_is_told_and_nothing_is_written() {
    let folder = folder();
    let bad = "sheet = 1\nform = \"pot\"\n[body]\nouter_diamter = \"65 mm\"\nheight = \"35\"\n";
    std::fs::write(folder.path().join("bad.sheet.toml"), bad).unwrap();
    std::fs::write(folder.path().join("latin.sheet.toml"), b"name = \"K\xf6nig\"\n").unwrap();
    let before = files(folder.path());
    let ran = run(
        folder.path(),
        "winding bad.sheet.toml pot.sheet.toml latin.sheet.toml missing.sheet.toml --plot x.svg",
    );
    assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{}", ran.err);
    for expected in [
        "bad.sheet.toml:4:1",
        "bad.sheet.toml:5:11",
        "^^^^",
        "hint",
        "outer_diameter",
        "UTF-8",
        "no such file",
        "faults; nothing was computed",
    ] {
        assert!(ran.err.contains(expected), "{expected}: {}", ran.err);
    }
    assert_eq!(files(folder.path()), before);
}

#[test]
fn a_sheet_of_ten_megabytes_is_refused_quickly() {
    let folder = folder();
    std::fs::write(folder.path().join("big.sheet.toml"), vec![b'#'; 10_000_000]).unwrap();
    let ran = run(folder.path(), "pull big.sheet.toml");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("bytes") && ran.err.len() < 1000, "{}", ran.err);
}

#[test]
fn what_ifs_change_the_answer_and_are_checked() {
    let folder = folder();
    let value = |args: &str| -> f64 {
        let ran = run(folder.path(), args);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let answer: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        answer["answers"][0]["values"]["current"]["value"].as_f64().unwrap()
    };
    let (single, double) = (
        value("winding pot.sheet.toml --json --set drive.voltage=6V"),
        value("winding pot.sheet.toml --json --set drive.voltage=12V"),
    );
    // Ohm's law: the resistance at a given temperature is the same.
    assert!((double / single - 2.0).abs() < 1e-9, "{double} {single}");

    let ran = run(folder.path(), "winding pot.sheet.toml --set drive.voltage=12mm --set drive.volts=3V");
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("--set drive.voltage=12mm") && ran.err.contains("2 faults"), "{}", ran.err);
    assert_eq!(run(folder.path(), "winding pot.sheet.toml --set drive.voltage").code, 2);
}

#[test]
fn usage_is_exit_code_2_and_says_so_on_standard_error() {
    let folder = folder();
    for args in [
        "",
        "frobnicate pot.sheet.toml",
        "pull",
        "pull pot.sheet.toml --gap wide",
        "pull pot.sheet.toml --gap 1V",
        "pull pot.sheet.toml --json --csv",
        "pull pot.sheet.toml --units furlong",
        "field pot.sheet.toml --plot scan.txt",
        "field pot.sheet.toml --at 3mm",
        "new stovepipe",
        "new pot --force",
        "schema",
        "field pot.sheet.toml --csv --series nonsense",
        "field pot.sheet.toml --plot x.svg --series nonsense",
    ] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args}: {}", ran.err);
        assert!(!ran.err.is_empty(), "{args}");
    }
    assert_eq!(files(folder.path()).len(), 3);
}

/// A value that no magnet allows is a fault of the input with a hint, whether it stands in the sheet or is asked for; its
/// sign does not make it an option.
#[test]
fn impossible_values_are_refused_with_a_hint() {
    let folder = folder();
    for args in [
        "pull pot.sheet.toml --set workpiece.gap=0mm",
        "pull pot.sheet.toml --set drive.voltage=1e30V",
        "winding pot.sheet.toml --set winding.turns=1e9",
        "winding pot.sheet.toml --set winding.resistance=1e-20ohm",
        "pull pot.sheet.toml --gap 0mm",
        "pull pot.sheet.toml --gap -1mm,1mm",
        "pull pot.sheet.toml --thickness -1mm",
        "pull pot.sheet.toml --width 0..50mm",
        "field pot.sheet.toml --standoff -1mm",
    ] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{args}: {}", ran.err);
        assert!(ran.err.contains("fault") && ran.err.contains("hint"), "{args}: {}", ran.err);
        assert!(!ran.err.contains("'-- "), "{args}: {}", ran.err);
    }
    for args in ["heat pot.sheet.toml --duration -5min", "switch pot.sheet.toml --load -1N"] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args}: {}", ran.err);
        assert!(ran.err.contains("greater than zero") && !ran.err.contains("'-- "), "{args}: {}", ran.err);
    }
}

/// Without a curve that is meant, the values are the rows.
#[test]
fn values_as_csv() {
    let folder = folder();
    for args in ["winding pot.sheet.toml --csv", "field pot.sheet.toml --axis --csv"] {
        let ran = run(folder.path(), args);
        assert_eq!(ran.code, 0, "{args}: {}", ran.err);
        assert!(ran.out.starts_with("key,label,value,unit,low,high\n"), "{args}: {}", ran.out);
        assert!(ran.out.lines().count() > 8, "{args}: {}", ran.out);
    }
}

/// A chart does not replace what is there, least of all what it was drawn from; and nothing is computed to find that out.
#[test]
fn charts_ask_before_they_replace() {
    let folder = folder();
    let drawn = run(folder.path(), "field coil.sheet.toml --plot a.svg");
    assert_eq!(drawn.code, 0, "{}", drawn.err);
    let again = run(folder.path(), "field coil.sheet.toml --plot a.svg");
    assert_eq!((again.code, again.out.as_str()), (1, ""));
    assert!(again.err.contains("--force"), "{}", again.err);
    assert_eq!(run(folder.path(), "field coil.sheet.toml --plot a.svg --force").code, 0);
    std::fs::copy(folder.path().join("coil.sheet.toml"), folder.path().join("coil.svg")).unwrap();
    let own = run(folder.path(), "field coil.svg --plot coil.svg --force");
    assert_eq!(own.code, 1, "{}", own.out);
    assert!(own.err.contains("what was read"), "{}", own.err);
}

/// Nothing that a sheet, a name or an argument holds steers the terminal: no escape, no mark that turns the text.
#[test]
fn nothing_steers_the_terminal() {
    let folder = folder();
    let nasty = "a\u{1b}[31mb\u{202e}c\u{2066}d\u{7}";
    let toml = std::fs::read_to_string(folder.path().join("coil.sheet.toml")).unwrap();
    let escaped = "a\\u001b[31mb\\u202ec\\u2066d\\u0007";
    let named = format!("name = \"{escaped}\"\n{}", toml.replace("name = ", "notes = "));
    std::fs::write(folder.path().join("nasty.sheet.toml"), named).unwrap();
    let set = format!("winding.{nasty}=3");
    let file = format!("{nasty}.sheet.toml");
    for args in [
        vec!["winding", "nasty.sheet.toml"],
        vec!["winding", "nasty.sheet.toml", "--full"],
        vec!["winding", "coil.sheet.toml", "--set", &set],
        vec!["winding", &file],
    ] {
        let out = std::process::Command::new(env!("CARGO_BIN_EXE_coilwright"))
            .args(&args)
            .current_dir(folder.path())
            .output()
            .unwrap();
        let text = String::from_utf8_lossy(&[out.stdout, out.stderr].concat()).into_owned();
        assert!(text.contains('b'), "{args:?}");
        for bad in ['\u{1b}', '\u{202e}', '\u{2066}', '\u{7}'] {
            assert!(!text.contains(bad), "{args:?}: {text:?}");
        }
    }
}

/// The only list that is asked over is the curve that is meant.
#[test]
fn the_curve_asked_over_needs_no_name() {
    let folder = folder();
    for (args, head) in [
        ("pull pot.sheet.toml --gap 0.1,0.2mm --csv", "gap mm,pull N"),
        ("pull pot.sheet.toml --current 0.1,0.2A --csv", "current A,pull N"),
        ("pull pot.sheet.toml --thickness 5mm,8mm --csv", "thickness mm,pull N"),
    ] {
        let ran = run(folder.path(), args);
        assert_eq!(ran.code, 0, "{args}: {}", ran.err);
        assert!(ran.out.starts_with(head) && ran.out.lines().count() == 3, "{args}: {}", ran.out);
    }
    let both = run(folder.path(), "pull pot.sheet.toml --gap 0.1,0.2mm --current 0.1,0.2A --csv");
    assert_eq!(both.code, 2, "two lists are two curves");
    let ran = run(folder.path(), "pull disc.sheet.toml --current 1A");
    assert_eq!((ran.code, ran.out.as_str()), (1, ""), "a permanent magnet has no current");
    assert!(ran.err.contains("no winding") && ran.err.contains("hint"), "{}", ran.err);
}

#[test]
fn help_and_version_are_answers() {
    let folder = folder();
    for args in ["--help", "help pull", "pull --help", "--version", "new --help"] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args}");
        assert!(ran.out.contains("oilwright"), "{args}");
    }
    for command in ["new", "winding", "field", "pull", "schema"] {
        assert!(run(folder.path(), "--help").out.contains(&format!("  {command} ")));
        assert!(run(folder.path(), &format!("{command} --help")).out.contains("Examples:"));
    }
}

#[test]
fn json_is_a_list_of_answers_that_say_where_they_come_from() {
    let folder = folder();
    let one: serde_json::Value =
        serde_json::from_str(&run(folder.path(), "winding pot.sheet.toml --json").out).unwrap();
    assert_eq!((&one["format"], &one["program"]), (&2.into(), &env!("CARGO_PKG_VERSION").into()));
    assert!(one.get("date").is_none(), "the same question gives the same bytes on any day");
    let one = &one["answers"][0];
    assert_eq!(one["command"], "winding");
    assert_eq!((&one["values"]["power"]["unit"], &one["values"]["turns"]["unit"]), (&"W".into(), &"".into()));
    assert_eq!(one["sheet"]["file"], "pot.sheet.toml");
    assert_eq!(one["sheet"]["sha256"].as_str().unwrap().len(), 64);
    let two = run(folder.path(), "winding pot.sheet.toml coil.sheet.toml --json");
    let two: serde_json::Value = serde_json::from_str(&two.out).unwrap();
    let two = two["answers"].as_array().unwrap();
    assert_eq!(two.len(), 2);
    assert_eq!(two[0]["values"], one["values"]);
    assert_eq!(one["magnet"], "my magnet");
    assert_eq!(two[1]["magnet"], "my magnet (coil.sheet.toml)", "two of one name are told apart");
    for format in ["answer", "sheet"] {
        let schema = run(folder.path(), &format!("schema {format}"));
        let schema: serde_json::Value = serde_json::from_str(&schema.out).unwrap();
        assert!(schema["$schema"].as_str().unwrap().contains("json-schema.org"), "{format}");
    }
}

#[test]
fn a_face_scan_as_csv_and_as_pictures() {
    let folder = folder();
    let args = "field pot.sheet.toml coil.sheet.toml --csv --series face_scan --units gauss --plot a.svg --plot b.png";
    let ran = run(folder.path(), args);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("drew `a.svg`") && ran.err.contains("drew `b.png`"), "{}", ran.err);
    let mut lines = ran.out.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    assert_eq!(header[0], "magnet");
    assert!(header[1].ends_with(" mm") && header[2].ends_with('G'), "{header:?}");
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    assert!(rows.len() > 40 && rows.iter().all(|row| row.len() == header.len()));
    assert!(rows.iter().all(|row| row[1..].iter().all(|cell| cell.parse::<f64>().is_ok())));
    let svg = std::fs::read_to_string(folder.path().join("a.svg")).unwrap();
    roxmltree::Document::parse(&svg).unwrap();
    assert!(std::fs::read(folder.path().join("b.png")).unwrap().starts_with(b"\x89PNG"));
    assert_eq!(files(folder.path()).len(), 5, "no temporary files stay");
}

#[test]
fn a_picture_that_cannot_be_written_leaves_nothing() {
    let folder = folder();
    let ran = run(folder.path(), "field coil.sheet.toml --plot nowhere/a.svg");
    assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{}", ran.err);
    assert!(ran.err.contains("directory does not exist"), "{}", ran.err);
    assert_eq!(files(folder.path()).len(), 3);
}

#[test]
fn a_limit_counts_only_with_strict() {
    let folder = folder();
    let args = "winding pot.sheet.toml --set limits.current=1mA";
    assert_eq!(run(folder.path(), args).code, 0);
    let ran = run(folder.path(), &format!("{args} --strict"));
    assert_eq!(ran.code, 4);
    assert!(ran.err.contains("limits.current") && ran.out.contains("winding"), "{}", ran.err);
    let ran =
        run(folder.path(), "winding pot.sheet.toml --set limits.current=1kA --set limits.power=1MW --strict");
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
}

#[test]
fn colour_is_kept_out_when_asked() {
    let folder = folder();
    let styled = |no_color: Option<&str>| {
        let mut command = coilwright(folder.path());
        command.args(["winding", "pot.sheet.toml"]);
        match no_color {
            Some(value) => command.env("NO_COLOR", value),
            None => command.env("CLICOLOR_FORCE", "1"),
        };
        let output = command.output().unwrap().stdout;
        (output.contains(&0x1b), anstream::adapter::strip_bytes(&output).into_vec())
    };
    let (forced, plain) = (styled(None), styled(Some("1")));
    assert!(forced.0 && !plain.0);
    assert_eq!(forced.1, plain.1, "nothing is said by colour alone");
}

#[cfg(unix)]
#[test]
fn a_reader_that_leaves_is_no_error() {
    let folder = folder();
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("coilwright"))
        .args(["field", "coil.sheet.toml", "--json"])
        .current_dir(folder.path())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), output.stderr.as_slice()), (Some(0), &b""[..]));
}

/// What the shell is given is a script that this shell reads (`bash -n`: POSIX shell, `set -n`), and knows every command and
/// option; the manual is `roff` with the words of the help.
#[test]
fn completions_and_manual_follow_the_definitions() {
    let folder = tempfile::tempdir().unwrap();
    let script = run(folder.path(), "completions bash");
    assert_eq!((script.code, script.err.as_str()), (0, ""));
    for word in ["winding", "audit", "--readings", "--keeper", "--headroom"] {
        assert!(script.out.contains(word), "no {word}");
    }
    std::fs::write(folder.path().join("script"), &script.out).unwrap();
    Command::new("bash").current_dir(folder.path()).args(["-n", "script"]).assert().success();

    let page = run(folder.path(), "manual pull");
    assert_eq!((page.code, page.err.as_str()), (0, ""));
    assert!(
        page.out.contains(".TH coilwright-pull 1") && page.out.contains("Gaps between face and workpiece")
    );
    assert!(run(folder.path(), "manual").out.contains(".TH coilwright 1"));
    let unknown = run(folder.path(), "manual pul");
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("no command `pul`") && unknown.err.contains("winding"), "{}", unknown.err);
}

/// Ctrl-C (SIGINT, POSIX) ends the run at once and says how far it came; 130 is what a shell calls that end (common practice,
/// no source).
#[cfg(unix)]
#[test]
fn an_interrupt_says_what_was_finished() {
    let folder = folder();
    let program = assert_cmd::cargo::cargo_bin("coilwright");
    let child = std::process::Command::new(program)
        .current_dir(folder.path())
        .args(["heat", "--headroom", "pot.sheet.toml", "pot.sheet.toml", "pot.sheet.toml", "pot.sheet.toml"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_secs(1));
    Command::new("kill").args(["-INT", &child.id().to_string()]).assert().success();
    let output = child.wait_with_output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(130), "{err}");
    assert!(err.contains("stopped: ") && err.contains("nothing was written"), "{err}");
    assert!(output.stdout.is_empty());
    assert_eq!(files(folder.path()).len(), 3);
}

/// A map is drawn as SVG and PNG, whole or not at all; its grid goes to standard output; what cannot be meant is said.
#[test]
fn a_map_of_the_field() {
    let folder = folder();
    let drawn = run(folder.path(), "field disc.sheet.toml --map m.svg --quiet --units gauss");
    assert_eq!((drawn.code, drawn.err.as_str()), (0, "drew `m.svg`\n"), "{}", drawn.err);
    assert!(drawn.out.starts_with("Strongest"), "{}", drawn.out);
    let svg = std::fs::read_to_string(folder.path().join("m.svg")).unwrap();
    let document = roxmltree::Document::parse(&svg).unwrap();
    let words: Vec<&str> = document.descendants().filter_map(|node| node.text()).collect();
    for said in ["|B|, kG", "Distance from the axis, mm", "Height above the face, mm"] {
        assert!(words.contains(&said), "{said}");
    }
    assert!(words.iter().any(|text| text.contains("flux lines passes")), "{words:?}");

    let again = run(folder.path(), "field disc.sheet.toml --map m.svg --quiet");
    assert!(again.code == 1 && again.err.contains("--force"), "{}", again.err);
    let grid = run(folder.path(), "field disc.sheet.toml --map m.png --csv --area -20mm,-15mm..20mm,25mm");
    assert_eq!(grid.code, 0, "{}", grid.err);
    let mut rows = grid.out.lines();
    assert_eq!(rows.next(), Some("across mm,height mm,b_across T,b_axial T,b_size T,inside"));
    assert!(
        rows.next().unwrap().starts_with("-20,-15,")
            && grid.out.trim_end().lines().last().unwrap().starts_with("20,25,")
    );
    assert_eq!(grid.out.lines().count(), 1 + 241 * 241);
    assert!(grid.out.lines().any(|row| row.ends_with(",magnet")), "the magnet itself is named");
    assert!(std::fs::read(folder.path().join("m.png")).unwrap().starts_with(b"\x89PNG"));

    let two = run(folder.path(), "field disc.sheet.toml pot.sheet.toml --map n.svg");
    assert!(two.code == 2 && two.err.contains("give one sheet"), "{}", two.err);
    let flat = run(folder.path(), "field disc.sheet.toml --map n.svg --area 0mm,1mm..9mm,1mm");
    assert!(flat.code == 1 && flat.err.contains("--line"), "{}", flat.err);
    assert!(!folder.path().join("n.svg").exists());
}
