//! What a form takes where its sheet is silent is listed, and means what the schema says.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::Sheet;

/// A short coil on a long core, of our own invention.
const SHORT_COIL: &str = r#"
sheet = 1
form = "bar"
[body]
core_diameter = "16 mm"
core_length = "110 mm"
[winding]
turns = 600
wire = "0.5 mm"
inner_diameter = "17 mm"
outer_diameter = "36 mm"
length = "20 mm"
[drive]
current = "1 A"
[workpiece]
shape = "disc"
diameter = "60 mm"
thickness = "10 mm"
gap = "0.2 mm"
"#;

fn sheet(changes: &[(&str, &str)]) -> Sheet {
    let (mut sheet, _) = Sheet::parse(SHORT_COIL, "bar.sheet.toml").unwrap();
    for (path, value) in changes {
        sheet.set(path, value).unwrap();
    }
    sheet
}

fn pull(sheet: &Sheet) -> Answer {
    ask::answer(
        sheet,
        &Question::Pull(PullQuestion { gaps_m: vec![0.2e-3, 1e-3], ..PullQuestion::default() }),
    )
    .unwrap()
}

/// A coil that is shorter than its core lies at the face, and the answer says that this was assumed. (That a coil at
/// the far end pulls less is common practice, no source: its flux leaks from the core on the way.)
#[test]
fn a_short_coil_lies_at_the_face_and_that_is_listed() {
    let assumed = pull(&sheet(&[]));
    let said = assumed.assumptions.iter().find(|a| a.path == "winding.start").expect("listed");
    // The core's length less the bobbin's wall of half a millimetre and the coil.
    assert!((said.value.as_ref().unwrap().value - 89.5e-3).abs() < 1e-9);
    let at_face = pull(&sheet(&[("winding.start", "89.5 mm")]));
    assert_eq!(assumed.number("pull"), at_face.number("pull"));
    assert!(at_face.assumptions.iter().all(|a| a.path != "winding.start"));
    let at_far_end = pull(&sheet(&[("winding.start", "0.5 mm")]));
    assert!(at_far_end.number("pull").unwrap() < 0.5 * assumed.number("pull").unwrap());
}

/// A coil that fills its room leaves nothing to assume.
#[test]
fn a_coil_as_long_as_its_core_has_no_other_place() {
    let magnet = Magnet::complete(&sheet(&[("winding.length", "109 mm")])).unwrap();
    assert!(magnet.assumptions.iter().all(|a| a.path != "winding.start"));
}

/// `gap` is the distance from face to steel, coating included; only an assumed gap is without it.
#[test]
fn a_coating_counts_once() {
    let gap = |changes: &[(&str, &str)]| Magnet::complete(&sheet(changes)).unwrap().workpiece.unwrap().gap_m;
    assert_eq!(gap(&[("workpiece.coating", "50 um")]), gap(&[]));
    let mut silent = sheet(&[("workpiece.coating", "50 um")]);
    silent.remove("workpiece.gap");
    let magnet = Magnet::complete(&silent).unwrap();
    let assumed = magnet.assumptions.iter().find(|a| a.path == "workpiece.gap").unwrap();
    let bare_m = assumed.value.as_ref().unwrap().value;
    assert!((magnet.workpiece.unwrap().gap_m - bare_m - 50e-6).abs() < 1e-12);

    let both = Magnet::complete(&sheet(&[("workpiece.coating", "50 um")])).unwrap();
    assert!(both.warnings.iter().any(|w| w.contains("coating")), "{:?}", both.warnings);
    let faults = Magnet::complete(&sheet(&[("workpiece.coating", "0.3 mm")])).unwrap_err();
    assert!(faults[0].message.contains("does not fit into the gap"), "{}", faults[0].message);
}
