//! Every fault of a sheet: its cause, its place, and how to mend it.

use coilwright_sheet::diagnostic::{Diagnostic, Severity};
use coilwright_sheet::sheet::{Form, LARGEST_SHEET, OwnLaw, Sheet, template};

const POT: &str = r#"sheet = 1
form = "pot"
[body]
outer_diameter = "50 mm ± 0.1 mm"
height = "30 mm"
"#;

fn faults(text: &str) -> Vec<Diagnostic> {
    Sheet::parse(text, "a.sheet.toml").expect_err(text)
}

/// One fault, whose message and hint contain these words, at this part of the text.
fn one(text: &str, message: &str, hint: &str, place: &str) {
    let all = faults(text);
    let [fault] = all.as_slice() else { panic!("{text}\n{all:#?}") };
    assert_eq!((fault.severity, fault.file.as_str()), (Severity::Fault, "a.sheet.toml"));
    assert!(fault.message.contains(message), "{message}: {fault:?}");
    assert!(fault.hint.contains(hint), "{hint}: {fault:?}");
    let span = fault.span.clone().unwrap_or_else(|| panic!("{fault:?}"));
    assert_eq!(&text[span], place, "{fault:?}");
}

#[test]
fn a_sound_sheet_answers() {
    let text = format!("{POT}[winding]\nturns = 900\nfill_factor = 0.5\nthermal_class = \"130 °C\"\n");
    let (sheet, remarks) = Sheet::parse(&text, "a.sheet.toml").unwrap();
    assert!(remarks.is_empty());
    assert_eq!((sheet.form(), sheet.name(), sheet.file()), (Form::Pot, "pot", "a.sheet.toml"));
    let diameter = sheet.quantity("body.outer_diameter").unwrap();
    assert_eq!((diameter.value, diameter.half_width), (0.05, 0.0001));
    assert_eq!(sheet.value("winding.turns"), Some(900.0));
    assert_eq!(sheet.value("winding.thermal_class"), Some(403.15));
    assert_eq!(sheet.word("winding.thermal_class"), None);
    assert!(sheet.has("winding") && sheet.has("body.height") && !sheet.has("workpiece") && !sheet.has("bod"));
    assert_eq!(
        sheet.paths().collect::<Vec<_>>(),
        [
            "body.height",
            "body.outer_diameter",
            "form",
            "sheet",
            "winding.fill_factor",
            "winding.thermal_class",
            "winding.turns"
        ]
    );
    let place = |path: &str| sheet.fault(path, "m", "h").span.map(|s| &text[s]);
    assert_eq!(place("body.height"), Some("\"30 mm\""));
    assert_eq!(place("body.pole_diameter"), Some("body"));
    assert_eq!(place("workpiece.gap"), None);
}

#[test]
fn each_fault_is_told_apart() {
    let body = |line: &str| format!("{POT}{line}\n");
    for (text, message, hint, place) in [
        (
            body("pole_diamter = \"20 mm\""),
            "`body.pole_diamter` is not a key",
            "`pole_diameter`",
            "pole_diamter",
        ),
        (body("gap = \"1 mm\""), "`body.gap`", "under [workpiece] or under [keeper]", "gap"),
        (body("[windings]\nturns = 3"), "no table [windings]", "`[winding]`", "windings"),
        (body("pole_diameter = 20"), "`20` has no unit; a length", "`20 mm`", "20"),
        (body("pole_diameter = \"20\""), "`20` has no unit", "`20 mm`", "20"),
        (body("pole_diameter = \"20 V\""), "`V` is a unit of voltage", "20 mm", "V"),
        (body("pole_diameter = \"nan mm\""), "not a finite number", "5 mm", "nan mm"),
        (
            body("pole_diameter = \"-20 mm\""),
            "must be greater than zero; it is -20 mm",
            "20 mm",
            "\"-20 mm\"",
        ),
        (body("pole_diameter = \"0 mm\""), "must be greater than zero; it is 0 mm", "20 mm", "\"0 mm\""),
        (body("pole_diameter = \"20 km\""), "between 1 nm and 100 m", "20 mm", "\"20 km\""),
        (body("height = \"3 mm\""), "`height` is given twice", "keep one", "height"),
        (body("[body]"), "the table `body` is opened twice", "one heading", "body"),
        (
            body("wall = \"3 mm\"\ninner_diameter = \"44 mm\""),
            "cannot stand beside `body.wall`",
            "measured",
            "\"44 mm\"",
        ),
        (body("core_length = \"3 mm\""), "does not apply to form \"pot\"", "pole_diameter", "core_length"),
        (body("material = 3"), "`body.material` is the bare number 3", "in quotes", "3"),
        (
            body("[winding]\ndirection = \"clokwise\""),
            "cannot be \"clokwise\"",
            "\"clockwise\"",
            "\"clokwise\"",
        ),
        (
            body("[winding]\nthermal_class = \"Q\""),
            "cannot be \"Q\"",
            "\"A\", \"E\", \"B\", \"F\", \"H\", \"N\", \"R\", or",
            "\"Q\"",
        ),
        (body("[winding]\nlayers = 2.5"), "a whole number", "such as", "2.5"),
        (body("[winding]\nfill_factor = \"140 %\""), "at most 1 (100 %); it is 1.4", "0.5", "\"140 %\""),
        (body("[winding]\nampere_turns = \"9 A\"\nturns = 3"), "cannot stand beside", "replaces", "3"),
        (
            body("[drive]\nvoltage = \"9 V\"\ncurrent = \"1 A\""),
            "cannot stand beside",
            "current_limit",
            "\"1 A\"",
        ),
        (body("[drive]\nvoltage = \"-9 V\""), "zero or more", "reversed", "\"-9 V\""),
        (
            body("[workpiece]\ngap = \"0 mm\""),
            "`workpiece.gap` must be greater than zero",
            "coating",
            "\"0 mm\"",
        ),
        (
            body("[workpiece]\nshape = \"disc\"\nwidth = \"9 mm\""),
            "does not apply to a disc",
            "diameter",
            "\"9 mm\"",
        ),
        (body("[accuracy]\npull = true"), "`accuracy.pull` is `true`", "0.3 %", "true"),
        (
            body("[instruments.dmm]\ncounts = 3\nresolution = \"x\""),
            "not a number with a unit",
            "0.1 mT",
            "\"x\"",
        ),
        (body("\"x.y\" = 3"), "one key with a dot", "without quotes", "\"x.y\""),
        (
            body(
                "[[region]]\nname = \"a\"\noutline = [[\"0 mm\",\"0 mm\"],[\"1 mm\",\"0 mm\"],[\"0 mm\",\"1 mm\"]]",
            ),
            "has no [[region]]",
            "profile",
            "[[region]]",
        ),
        // What the parser would say in its own words.
        (body("back = 5 mm"), "`5 mm` must stand in quotes", "`back = \"5 mm\"`", "5 mm"),
        (body("material = steel"), "`steel` must stand in quotes", "`material = \"steel\"`", "steel"),
        (body("back = “5 mm”"), "typographic", "plain", "“5 mm”"),
        (body("back ="), "`back` has no value", "`back = ", ""),
        (body("back: \"5 mm\""), "has a colon", "key = ", ":"),
        (body("back = \"5 mm"), "closing quotation mark is missing", "end the text", ""),
        (body("[drive\nvoltage = \"5 V\""), "the heading `[drive` is not well formed", "`[drive]`", ""),
        (body("pole diameter = \"5 mm\""), "contains a space", "`pole_diameter`", ""),
        (body("hello"), "neither a heading nor a key", "#", ""),
        (body("back = [\"5 mm\""), "the list after `back` does not end", "close it with ]", "[\"5 mm\""),
        // The whole sheet.
        (POT.replace("sheet = 1", "sheet = 2"), "version 2", "sheet = 1", "2"),
        ("sheet = 1\nform = \"pott\"".into(), "`form` cannot be \"pott\"", "\"pot\"", "\"pott\""),
        (
            "sheet = 1\nform = \"pot\"\n[body]\nheight = \"3 mm\"".into(),
            "`body.outer_diameter` is missing",
            "`outer_diameter = \"50 mm",
            "body",
        ),
        (
            "sheet = 1\nform = \"disc\"\n[body]\ndiameter = \"3 mm\"\nthickness = \"3 mm\"".into(),
            "neither `body.grade` nor `body.remanence`",
            "grade",
            "body",
        ),
        (template(Form::Disc) + "\n[winding]\nturns = 3", "a \"disc\" has no [winding]", "[body]", "winding"),
    ] {
        one(&text, message, hint, place);
    }
}

#[test]
fn all_faults_are_reported_at_once_in_order() {
    let text = "sheet = 1\nform = \"pot\"\nname = My magnet\n[body]\nouter_diametre = \"50 mm\"\nheight = 30 mm\n\
        pole_diameter = \"20 V\"\nwall = \"3\"\n[drive\nvoltage = 24\n[workpiece]\ngap = \"0 mm\"\nthickness =\n\
        friction = true\n";
    let all = faults(text);
    let lines: Vec<_> = all.iter().filter_map(|f| f.line_and_column(text)).map(|(line, _)| line).collect();
    assert_eq!(lines, [3, 5, 6, 7, 8, 9, 12, 13, 14], "{all:#?}");
}

#[test]
fn bytes_that_are_no_sheet() {
    let fault = |bytes: &[u8]| Sheet::parse_bytes(bytes, "f").expect_err("no sheet").remove(0);
    let latin1 = fault(b"sheet = 1\nname = \"50 \xb5m\"\n");
    assert!(latin1.message.contains("byte 0xB5 at offset 21, line 2"), "{latin1}");
    assert!(latin1.hint.contains("UTF-8"));
    assert!(fault(b"\xff\xfes\0h\0").message.contains("UTF-16"));
    let large = fault(&vec![b'#'; 10_000_000]);
    assert!(large.message.contains("10000000 bytes"), "{large}");
    assert!(Sheet::parse(&"#".repeat(LARGEST_SHEET + 1), "f").is_err());
    let [empty] = faults("sheet = 1\n").try_into().unwrap();
    assert!(empty.message.contains("does not say its form") && empty.hint.contains("pot"));
    // A byte order mark and Windows line ends are no fault.
    let windows = format!("\u{feff}{}", POT.replace('\n', "\r\n"));
    assert!(Sheet::parse_bytes(windows.as_bytes(), "f").is_ok());
    // Much nonsense is answered briefly.
    let nonsense: String = (0..20_000).map(|i| format!("k{i} = {i}\n")).collect();
    assert_eq!(faults(&nonsense).len(), 51);
}

#[test]
fn remarks_do_not_stop() {
    let text = POT.replace("sheet = 1\n", "") + "back = \"5 mm ± 5 mm\"\n";
    let (_, remarks) = Sheet::parse(&text, "f").unwrap();
    let all: Vec<_> = remarks.iter().map(|r| (r.severity, r.message.as_str())).collect();
    assert!(all.iter().all(|(severity, _)| *severity == Severity::Remark));
    assert!(all.iter().any(|(_, m)| m.contains("version")), "{all:?}");
    assert!(all.iter().any(|(_, m)| m.contains("`body.back` is as large as its value")), "{all:?}");
}

#[test]
fn setting_is_checked_as_reading_is() {
    let (mut sheet, _) = Sheet::parse(POT, "f").unwrap();
    sheet.set("body.pole_diameter", "20mm ± 1%").unwrap();
    assert_eq!(sheet.quantity("body.pole_diameter").unwrap().half_width, 0.0002);
    sheet.set("winding.turns", " 900 ").unwrap();
    sheet.set("invented", "true").unwrap();
    // Nothing takes away what stands there; there must be something.
    sheet.set("winding.turns", " ").unwrap();
    assert!(!sheet.has("winding.turns"));
    assert!(sheet.set("winding.turns", "").is_err() && sheet.set("form", "").is_err());
    sheet.set("winding.turns", "900").unwrap();
    sheet.set("body.material", "\"relay iron\"").unwrap();
    assert_eq!((sheet.flag("invented"), sheet.word("body.material")), (Some(true), Some("relay iron")));
    sheet.set("body.wall", "3 mm").unwrap();
    for (path, text, message) in [
        ("body.pole_diamter", "20 mm", "no key `body.pole_diamter`"),
        ("body.pole_diameter", "20", "has no unit"),
        ("body.inner_diameter", "44 mm", "`body.wall` cannot stand beside"),
        ("body.core_length", "44 mm", "does not apply"),
        ("form", "bar", "cannot be set"),
        ("winding.turns", "-3", "whole number"),
    ] {
        let fault = sheet.set(path, text).unwrap_err();
        assert!(fault.message.contains(message), "{fault}");
        assert_eq!((fault.span, fault.file.as_str()), (None, ""));
    }
    assert!(!sheet.has("body.inner_diameter"));
    assert!(sheet.fault("body.wall", "m", "h").span.is_none());
    sheet.set_value("body.pole_diameter", 0.021);
    let q = sheet.quantity("body.pole_diameter").unwrap();
    assert_eq!((q.value, q.half_width), (0.021, 0.0002));
    sheet.remove("body.wall");
    sheet.set("body.inner_diameter", "44 mm").unwrap();
}

const SQUARE: &str = r#"[["0 mm","0 mm"],["9 mm","0 mm"],["9 mm","9 mm"],["0 mm","9 mm"]]"#;

fn profile(block: &str) -> String {
    format!("sheet = 1\nform = \"profile\"\n[profile]\nsymmetry = \"axial\"\n{block}\n")
}

fn region(outline: &str, more: &str) -> String {
    profile(&format!("[[region]]\nname = \"a\"\noutline = {outline}\n{more}"))
}

/// A drawing holds its workpiece among its regions: a gap beside it would do nothing, and is refused.
#[test]
fn a_drawn_workpiece_has_no_gap_of_its_own() {
    let text = region(SQUARE, "[workpiece]\nfriction = 0.15\ngap = \"0.2 mm\"");
    one(&text, "`workpiece.gap` does not apply", "`body = \"workpiece\"`; keys of [workpiece]", "gap");
}

#[test]
fn regions() {
    let ball =
        r#"[["0 mm","-20 mm","arc","0 mm","0 mm"],["20 mm","0 mm","arc","0 mm","0 mm"],["0 mm","20 mm"]]"#;
    let text = region(ball, "remanence = \"1.3 T\"\nrecoil_permeability = 1.05\nbody = \"workpiece\"");
    let (sheet, _) = Sheet::parse(&text, "f").unwrap();
    let [a] = sheet.regions() else { panic!("{:?}", sheet.regions()) };
    assert_eq!((a.name.as_str(), a.remanence, a.body.as_deref()), ("a", Some((0.0, 1.3)), Some("workpiece")));
    assert_eq!((a.outline.len(), a.outline[0].arc_centre, a.outline[0].arc_ccw), (3, Some((0.0, 0.0)), true));
    assert!(a.outline[1].arc_ccw && a.outline[2].arc_centre.is_none());
    assert_eq!(&text[a.span.clone()], "[[region]]");
    assert_eq!(sheet.fault("region.a", "", "").span, Some(a.span.clone()));
    // A clockwise arc is the shorter way from the top down.
    let bite = r#"[["20 mm","20 mm","arc","20 mm","0 mm"],["40 mm","0 mm"],["50 mm","50 mm"]]"#;
    let (sheet, _) = Sheet::parse(&region(bite, ""), "f").unwrap();
    assert!(!sheet.regions()[0].outline[0].arc_ccw);
    // A centre rounded to four figures is moved to where both radii agree.
    let rounded = r#"[["10 mm","0 mm","arc","0.0002 mm","0 mm"],["0 mm","10 mm"],["0 mm","0 mm"]]"#;
    let (sheet, _) = Sheet::parse(&region(rounded, ""), "f").unwrap();
    let nodes = &sheet.regions()[0].outline;
    let (cx, cy) = nodes[0].arc_centre.unwrap();
    let radius = |i: usize| (nodes[i].x - cx).hypot(nodes[i].y - cy);
    assert!((radius(0) / radius(1) - 1.0).abs() < 1e-14);

    for (outline, more, message) in [
        (r#"[["0 mm","0 mm"],["9 mm","0 mm"]]"#, "", "has 2 nodes"),
        (r#"[["0 mm","0 mm"],["9 mm","9 mm"],["9 mm","0 mm"],["0 mm","9 mm"]]"#, "", "edges 1 and 3 meet"),
        (r#"[["0 mm","0 mm"],["0 mm","0 mm"],["9 mm","0 mm"]]"#, "", "same place"),
        (r#"[["0 mm","0 mm"],["9 mm","0 mm"],["5 mm"]]"#, "", "a node is two lengths"),
        (r#"[["0 mm","0 mm"],["9 mm","0 mm"],["5 mm", "3 V"]]"#, "", "unit of voltage"),
        (r#"[["0 mm","0 mm"],["9 mm","0 mm"],["5 mm", "3 mm ± 1 mm"]]"#, "", "cannot carry a tolerance"),
        (r#"[["0 mm","0 mm"],["9 mm","0 mm"],["-5 mm", "3 mm"]]"#, "", "beyond the axis"),
        (
            r#"[["0 mm","-2 mm","arc cw","0 mm","0 mm"],["0 mm","2 mm"],["1 mm", "0 mm"]]"#,
            "",
            "beyond the axis",
        ),
        (r#"[["0 mm","-2 mm","arc","0 mm","0 mm"],["0 mm","2 mm"],["0 mm", "0 mm"]]"#, "", "half circle"),
        (
            r#"[["2 mm","0 mm","arc","0 mm","0 mm"],["0 mm","3 mm"],["0 mm", "0 mm"]]"#,
            "",
            "2 mm from its start but 3 mm",
        ),
        (
            r#"[["2 mm","0 mm","bow","0 mm","0 mm"],["0 mm","3 mm"],["0 mm", "0 mm"]]"#,
            "",
            "straight or \"arc\"",
        ),
        (SQUARE, "materiel = \"x\"", "`materiel` is not a key of a region"),
        (SQUARE, "recoil_permeability = 1.1", "without `remanence`"),
        (SQUARE, "remanence = [\"1 T\"]", "has 1 numbers"),
        (SQUARE, "body = \"plate\"", "cannot be \"plate\""),
    ] {
        let all = faults(&region(outline, more));
        assert!(all.len() == 1 && all[0].message.contains(message), "{message}: {all:#?}");
        assert!(all[0].span.is_some() && !all[0].hint.is_empty());
    }
    let planar = region(SQUARE, "").replace("axial", "planar");
    assert!(faults(&planar)[0].message.contains("`profile.depth` is missing"));
    assert!(faults(&profile(""))[0].message.contains("without a [[region]]"));
    assert!(faults(&profile("[[region]]\nname = \"a\""))[0].message.contains("no `outline`"));
}

#[test]
fn own_materials() {
    let with = |law: &str| format!("{POT}[[material]]\nname = \"s\"\n{law}\n");
    for (law, read) in [
        ("permeability = 1000", OwnLaw::Linear { mu_r: 1000.0 }),
        (
            "saturation = \"2.1 T\"\ninitial_permeability = 1500",
            OwnLaw::Arctangent { js: 2.1, mu_r0: 1500.0 },
        ),
        (
            "table = [[\"0 A/m\", \"0 T\"], [\"1 kA/m\", \"1.3 T\"]]",
            OwnLaw::Table { h: vec![0.0, 1000.0], b: vec![0.0, 1.3] },
        ),
    ] {
        let (sheet, _) = Sheet::parse(&with(law), "f").unwrap();
        assert_eq!((sheet.own_materials()[0].name.as_str(), &sheet.own_materials()[0].law), ("s", &read));
    }
    for (law, message) in [
        ("", "does not say how"),
        ("permeability = 10\nsaturation = \"2 T\"", "says twice"),
        ("saturation = \"2 T\"", "`material.initial_permeability` is missing"),
        ("saturation = \"2 T\"\ninitial_permeability = 1", "greater than 1"),
        ("table = [[\"0 A/m\", \"0 T\"]]", "has 1 rows"),
        (
            "table = [[\"0 A/m\", \"0 T\"], [\"9 A/m\", \"1 T\"], [\"9 A/m\", \"2 T\"]]",
            "H does not rise in row 3",
        ),
        (
            "table = [[\"0 A/m\", \"0 T\"], [\"9 A/m\", \"1 T\"], [\"99 A/m\", \"1 T\"]]",
            "B does not rise in row 3",
        ),
        ("table = [[\"0 A/m\", \"0 T\"], [\"9 A/m\", \"nan T\"]]", "row 2"),
        ("table = [[\"0 A/m\", \"0 T\"], [\"9 A/m\"]]", "row 2 of the table is not a pair"),
    ] {
        let all = faults(&with(law));
        assert!(all.len() == 1 && all[0].message.contains(message), "{message}: {all:#?}");
    }
    let twice = with("permeability = 10\n[[material]]\nname = \"s\"\npermeability = 20");
    assert!(faults(&twice)[0].message.contains("given twice"));
}

/// Degrees Celsius written as kelvin, and a sign too many: no magnet is used at such a temperature, and copper's
/// resistance, linear in temperature, would come out negative.
#[test]
fn a_temperature_must_be_one_at_which_magnets_are_used() {
    let (sheet, _) = Sheet::parse(&template(Form::Pot), "a.sheet.toml").unwrap();
    for (path, value) in [
        ("surroundings.temperature", "20 K"),
        ("drive.temperature", "-270 degC"),
        ("winding.resistance_at", "25 K"),
        ("limits.temperature", "130 K"),
        ("limits.surface_temperature", "9000 degC"),
        ("winding.thermal_class", "20 K"),
        ("drive.temperature", "60 degC +/- 300 K"),
    ] {
        let fault = sheet.clone().set(path, value).expect_err(value);
        assert!(fault.message.contains("-60 °C and 500 °C"), "{path} = {value}: {}", fault.message);
    }
    for value in ["-40 degC", "23 degC +/- 5 K", "293.15 K", "180 degC", "140 degF"] {
        assert!(sheet.clone().set("drive.temperature", value).is_ok(), "{value}");
    }
}
