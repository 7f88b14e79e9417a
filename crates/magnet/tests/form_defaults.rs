//! What a form takes where its sheet is silent is listed, and means what the schema says.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{HeatQuestion, PullQuestion, Question};
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

/// Where a coil lies that is only assumed to be at the face is not sure: it may lie lower, not higher, and the pull's band
/// and those of its curves say what that does to them.
#[test]
fn the_place_of_a_coil_at_the_face_is_not_sure() {
    let assumed = pull(&sheet(&[]));
    let said = assumed.assumptions.iter().find(|a| a.path == "winding.start").expect("listed");
    let place = said.value.as_ref().unwrap();
    let band = place.band.as_ref().expect("a band");
    assert_eq!(band.high, place.value);
    assert!(band.low < place.value - 5e-3);
    let lower = (1e3 * (place.value - band.standard)).to_string() + " mm";
    let moved = pull(&sheet(&[("winding.start", &lower)])).number("pull").unwrap();
    let lost = assumed.number("pull").unwrap() - moved;
    let given = pull(&sheet(&[("winding.start", "89.5 mm")]));
    let of = |answer: &Answer| {
        let Value::Number(pull) = &answer.item("pull").unwrap().value else { panic!("a number") };
        pull.band.clone().unwrap()
    };
    let effect = of(&assumed).contributors.iter().find(|c| c.path == "winding.start").unwrap().effect;
    // The effect is a difference of fields that are each solved to 3 % of the pull only: a tenth of the effect itself.
    assert!((effect.abs() - lost).abs() < 0.1 * lost, "{effect} for {lost} N");
    let both = of(&given).standard.hypot(lost);
    assert!((of(&assumed).standard - both).abs() < 0.1 * both);
    let curve = |answer: &Answer| {
        let gaps = answer.series.iter().find(|s| s.key == "pull_gap").unwrap();
        let at = gaps.x.values.iter().position(|gap| (gap - 0.2e-3).abs() < 1e-9).unwrap();
        let (low, high) = gaps.ys[0].bands[at];
        high - low
    };
    let wanted = curve(&given).hypot(4.0 * lost);
    assert!((curve(&assumed) - wanted).abs() < 0.1 * wanted, "{} for {wanted}", curve(&assumed));
}

/// What is assumed so widely that a band of two standard uncertainties would pass through nothing is known up to a factor.
#[test]
fn no_assumed_emissivity_is_below_nothing() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/gantry-pot.sheet.toml");
    let (pot, _) = Sheet::parse(&std::fs::read_to_string(path).unwrap(), "pot.sheet.toml").unwrap();
    let answer = ask::answer(&pot, &Question::Heat(HeatQuestion::default())).unwrap();
    let mut seen = 0;
    for measure in answer.assumptions.iter().filter_map(|a| a.value.as_ref()) {
        let Some(band) = &measure.band else { continue };
        assert!(band.low > 0.0 && band.high > measure.value, "{measure:?}");
        seen += 1;
    }
    assert!(seen >= 4, "{seen} assumptions with a band");
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
