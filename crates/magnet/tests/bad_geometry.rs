//! Bad input, from bytes to a refusal: every kind of it gives a fault with cause, place and remedy; several at once.

use coilwright_magnet::answers::question::{FieldQuestion, PullQuestion, Question};
use coilwright_magnet::diagnostic::{Diagnostic, Severity};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::Sheet;

const POT: &str = "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"60 mm\"\nheight = \"36 mm\"\n\
                   pole_diameter = \"24 mm\"\ninner_diameter = \"53 mm\"\nback = \"6 mm\"\n";
const COIL: &str = "[winding]\nampere_turns = \"900 A\"\n";

fn refusal(bytes: &[u8]) -> Vec<Diagnostic> {
    let refused = match Sheet::parse_bytes(bytes, "bad.sheet.toml") {
        Ok((sheet, _)) => Magnet::complete(&sheet).err(),
        Err(faults) => Some(faults),
    };
    let all = refused.unwrap_or_else(|| panic!("not refused:\n{}", String::from_utf8_lossy(bytes)));
    let faults: Vec<_> = all.into_iter().filter(|d| d.severity == Severity::Fault).collect();
    assert!(!faults.is_empty());
    assert!(faults.iter().all(|f| f.file == "bad.sheet.toml" && !f.message.is_empty() && !f.hint.is_empty()));
    faults
}

/// These faults, words of each and the line where it is, from 1; returns how many there are in all.
fn refused_for(text: &str, wanted: &[(&str, usize)]) -> usize {
    let faults = refusal(text.as_bytes());
    for (words, line) in wanted {
        let fault = faults.iter().find(|f| f.message.contains(words));
        let fault = fault.unwrap_or_else(|| panic!("no \"{words}\" in {faults:#?}"));
        assert_eq!(fault.line_and_column(text).map(|p| p.0), Some(*line), "{fault:?}\n{text}");
    }
    faults.len()
}

/// The same, and nothing else.
fn refused_only_for(text: &str, wanted: &[(&str, usize)]) {
    assert_eq!(refused_for(text, wanted), wanted.len(), "{text}");
}

#[test]
fn text_that_is_no_sheet() {
    assert!(refusal(b"sheet = 1\nform = \"pot\xff\"\n")[0].message.contains("0xFF"));
    let large = [POT.as_bytes(), &vec![b'#'; 10 << 20]].concat();
    assert!(refusal(&large)[0].message.contains(&large.len().to_string()));
    assert!(!refusal(b"").is_empty() && !refusal(b"\0\0\0").is_empty());
    // Headings within headings, a hundred thousand deep.
    let deep = format!("{POT}{COIL}a = {}", "[".repeat(100_000));
    assert!(!refusal(deep.as_bytes()).is_empty());
}

#[test]
fn one_bad_number() {
    for (line, words) in [
        ("pole_diamter = \"20 mm\"", "`body.pole_diamter` is not a key"),
        ("pole_diameter = \"20\"", "has no unit"),
        ("pole_diameter = 20", "has no unit"),
        ("pole_diameter = \"20 V\"", "`V` is a unit of voltage"),
        ("pole_diameter = \"20 furlong\"", "furlong"),
        ("pole_diameter = \"nan mm\"", "not a finite number"),
        ("pole_diameter = \"inf mm\"", "not a finite number"),
        ("pole_diameter = \"-20 mm\"", "must be greater than zero"),
        ("pole_diameter = \"0 mm\"", "must be greater than zero"),
        ("pole_diameter = \"20 km\"", "between 1 nm and 100 m"),
        ("pole_diameter = \"1e999 mm\"", "`body.pole_diameter`"),
    ] {
        refused_only_for(&format!("{}{COIL}", POT.replace("pole_diameter = \"24 mm\"", line)), &[(words, 6)]);
    }
    for gap in ["0 mm", "-0.1 mm"] {
        let text = format!("{POT}{COIL}[workpiece]\ngap = \"{gap}\"\n");
        refused_only_for(&text, &[("`workpiece.gap` must be greater than zero", 12)]);
        let text = format!("{POT}{COIL}[keeper]\nthickness = \"3 mm\"\ngap = \"{gap}\"\n");
        refused_only_for(&text, &[("`keeper.gap` must be greater than zero", 13)]);
    }
}

#[test]
fn a_pot_that_cannot_be_turned() {
    let with = |from: &str, to: &str| format!("{}{COIL}", POT.replace(from, to));
    refused_only_for(
        &with("\"24 mm\"", "\"53 mm\""),
        &[
            ("the pole's radius (26.5000 mm) is not less than the shell's inner radius (26.5000 mm)", 6),
            ("no room is left for the winding", 9),
        ],
    );
    refused_only_for(
        &with("\"53 mm\"", "\"60 mm\""),
        &[("the shell's inner radius (30.0000 mm) is not less than its outer radius (30.0000 mm)", 3)],
    );
    refused_for(
        &with("back = \"6 mm\"", "back = \"36 mm\""),
        &[("the back's thickness (36.0000 mm) is not less than the height", 8), ("no room is left", 9)],
    );
    refused_only_for(
        &with("back = \"6 mm\"", "back = \"6 mm\"\nhole_diameter = \"24 mm\""),
        &[("the hole's radius", 9)],
    );
    refused_only_for(
        &with("back = \"6 mm\"", "back = \"6 mm\"\npole_recess = \"-1 mm\""),
        &[("`body.pole_recess` must be zero or more", 9)],
    );
    // Walls of the bobbin thicker than the slot; a winding larger than it.
    refused_only_for(
        &format!("{POT}{COIL}bobbin_wall = \"7.25 mm\"\n"),
        &[("no room is left for the winding: 0.00 mm", 9)],
    );
    refused_only_for(
        &format!("{POT}{COIL}outer_diameter = \"54 mm\"\n"),
        &[("the winding overlaps the iron", 9)],
    );
    refused_only_for(
        &format!(
            "{POT}{COIL}[keeper]\nthickness = \"3 mm\"\nouter_diameter = \"30 mm\"\ninner_diameter = \"30 mm\"\n"
        ),
        &[("the keeper's inner radius", 14)],
    );
}

#[test]
fn materials_that_are_not() {
    let steel = |table: &str| {
        format!("{POT}material = \"own\"\n{COIL}[[material]]\nname = \"own\"\ntable = {table}\n")
    };
    let table = |rows: &[(f64, f64)]| {
        let rows: Vec<_> = rows.iter().map(|(h, b)| format!("[\"{h} A/m\", \"{b} T\"]")).collect();
        format!("[{}]", rows.join(", "))
    };
    refused_only_for(&format!("{POT}material = \"unobtainium\"\n{COIL}"), &[("unobtainium", 9)]);
    refused_only_for(&format!("{POT}{COIL}[workpiece]\nmaterial = \"wood\"\n"), &[("wood", 12)]);
    let falling = table(&[(0.0, 0.0), (100.0, 1.0), (200.0, 1.4), (300.0, 1.3), (400.0, 1.5)]);
    refused_only_for(&steel(&falling), &[("B does not rise in row 4", 14)]);
    let twice = table(&[(0.0, 0.0), (100.0, 1.0), (100.0, 1.4), (300.0, 1.5)]);
    refused_only_for(&steel(&twice), &[("H does not rise in row 3", 14)]);
    let short = table(&[(0.0, 0.0), (100.0, 1.0), (200.0, 1.4)]);
    refused_only_for(&steel(&short), &[("at least 3 points", 9)]);
}

/// A profile in which the plate that is pulled stands in the core; one in which it touches it, so that no force between
/// the two is defined.
#[test]
fn a_workpiece_in_the_magnet() {
    let square = |name: &str, low: f64, high: f64, more: &str| {
        format!(
            "[[region]]\nname = \"{name}\"\noutline = [[\"0 mm\", \"{low} mm\"], [\"9 mm\", \"{low} mm\"], \
             [\"9 mm\", \"{high} mm\"], [\"0 mm\", \"{high} mm\"]]\nmaterial = \"relay iron\"\n{more}"
        )
    };
    let text = |low: f64| {
        let plate = square("plate", low, 25.0, "body = \"workpiece\"\n");
        let coil = "[[region]]\nname = \"coil\"\noutline = [[\"10 mm\", \"2 mm\"], [\"15 mm\", \"2 mm\"], \
                    [\"15 mm\", \"18 mm\"], [\"10 mm\", \"18 mm\"]]\nampere_turns = \"500 A\"\n";
        let head = "sheet = 1\nform = \"profile\"\n[profile]\nsymmetry = \"axial\"\n";
        format!("{head}{}{coil}{plate}", square("core", 0.0, 20.0, ""))
    };
    refused_only_for(&text(15.0), &[("region \"plate\": it is pulled, and overlaps \"core\"", 13)]);
    refused_only_for(&text(19.9), &[("region \"plate\": it is pulled, and overlaps \"core\"", 13)]);
    let pull = |low: f64| {
        let (sheet, _) = Sheet::parse(&text(low), "f").expect("a sheet");
        ask::answer(&sheet, &Question::Pull(PullQuestion::default()))
    };
    assert!(matches!(pull(20.0), Err(Failure::Physics(why)) if why.contains("touches")));
    assert!(pull(20.5).expect("an answer").number("pull").is_some_and(|f| f > 0.0));
}

#[test]
fn questions_that_the_sheet_does_not_fit() {
    let (sheet, _) = Sheet::parse(&format!("{POT}{COIL}"), "f").expect("a sheet");
    let with_keeper = FieldQuestion { keeper: true, ..FieldQuestion::default() };
    let on_keeper = PullQuestion { keeper: true, ..PullQuestion::default() };
    for question in [Question::Field(with_keeper), Question::Pull(on_keeper)] {
        match ask::answer(&sheet, &question) {
            Err(Failure::Input(faults)) => assert!(faults[0].message.contains("no keeper"), "{faults:?}"),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn everything_at_once() {
    refused_only_for(
        "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"60\"\nheight = \"30 V\"\npole_diameter = \"nan mm\"\n\
         inner_diametre = \"53 mm\"\nback = \"-5 mm\"\n[winding]\nturns = 2.5\nwire = 3\n[drive]\nvoltage = \"12 mm\"\n\
         [workpiece]\ngap = \"0 mm\"\ncolour = \"red\"\n[shell]\nthickness = \"3 mm\"\n",
        &[
            ("`body.outer_diameter`: `60` has no unit", 4),
            ("`body.height`: `V` is a unit of voltage", 5),
            ("`body.pole_diameter`: `nan mm` is not a finite number", 6),
            ("`body.inner_diametre` is not a key", 7),
            ("`body.back` must be greater than zero", 8),
            ("`winding.turns`", 10),
            ("`winding.wire`", 11),
            ("`mm` is a unit of length", 13),
            ("`workpiece.gap` must be greater than zero", 15),
            ("`workpiece.colour` is not a key", 16),
            ("no table [shell]", 17),
        ],
    );
    // What reads well but cannot be: geometry, materials and winding together.
    refused_for(
        &format!(
            "{}material = \"unobtainium\"\n[winding]\nwire = \"0.4 furlong\"\nturns = 100\n[drive]\nvoltage = \"12 V\"\n\
             [workpiece]\nmaterial = \"wood\"\n[keeper]\nouter_diameter = \"30 mm\"\ninner_diameter = \"31 mm\"\n",
            POT.replace("\"24 mm\"", "\"55 mm\"").replace("back = \"6 mm\"", "back = \"37 mm\"")
        ),
        &[
            ("the pole's radius (27.5000 mm) is not less than the shell's inner radius", 6),
            ("the back's thickness (37.0000 mm) is not less than the height", 8),
            ("unobtainium", 9),
            ("no room is left for the winding", 10),
            ("furlong", 11),
            ("wood", 16),
            ("the keeper's inner radius", 19),
            ("thickness of the keeper is missing", 17),
        ],
    );
}
