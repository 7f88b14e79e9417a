//! Where iron is full and where a field has no limit: what is told must not depend on a mesh's corners.

use coilwright_magnet::answers::answer::{Answer, Item, Value};
use coilwright_magnet::answers::question::{FieldQuestion, PullQuestion, Question};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::{Form, Sheet, template};
use std::f64::consts::PI;

fn sheet(form: Form, sets: &[(&str, &str)]) -> Sheet {
    let mut sheet = Sheet::parse(&template(form), "test").unwrap_or_else(|faults| panic!("{faults:?}")).0;
    for (path, value) in sets {
        sheet.set(path, value).unwrap_or_else(|fault| panic!("{path}: {fault}"));
    }
    sheet
}

fn pull(sheet: &Sheet, question: PullQuestion) -> Answer {
    let found = answer(sheet, &Question::Pull(question));
    found.unwrap_or_else(|failure| panic!("{failure}"))
}

fn field(sheet: &Sheet, standoff_m: f64) -> Answer {
    let question = FieldQuestion { standoff_m: Some(standoff_m), ..FieldQuestion::default() };
    answer(sheet, &Question::Field(question)).unwrap_or_else(|failure| panic!("{failure}"))
}

fn number(answer: &Answer, key: &str) -> f64 {
    answer.number(key).unwrap_or_else(|| panic!("no {key}"))
}

/// Flux is continuous: in a plate too thick to saturate what the gap carries passes the cylinder over the pole's rim,
/// so that the mean flux density there is Φ/(2πrt). A tenth is left for what fringes beyond the section.
#[test]
fn the_plates_fullest_section_carries_the_gaps_flux() {
    let thickness_m = 0.012;
    let sheet = sheet(Form::Pot, &[("workpiece.thickness", "12 mm"), ("workpiece.gap", "0.1 mm")]);
    let a = pull(&sheet, PullQuestion::default());
    let Some(Item { note, .. }) = a.item("b_section_workpiece") else { panic!("no section") };
    let millimetres: f64 = note.split(' ').next().and_then(|n| n.parse().ok()).expect("where it is");
    let flux = number(&a, "flux_per_turn") * (1.0 - number(&a, "leakage"));
    let mean = flux / (2.0 * PI * 1e-3 * millimetres * thickness_m);
    let found = number(&a, "b_section_workpiece");
    assert!((found / mean - 1.0).abs() < 0.1, "{found} T for {mean} T: {note}");
    assert!(
        found > number(&a, "b_mean_workpiece"),
        "the fullest section is fuller than the plate is on average"
    );
}

/// On the face an edge of iron has a field without limit: what is said first is the field over the pole's middle.
#[test]
fn a_scan_on_the_face_is_headed_by_the_poles() {
    let sheet = sheet(Form::Pot, &[]);
    let first = |a: &Answer| a.groups[0].items[0].key.clone();
    let on = field(&sheet, 0.0);
    assert!(on.summary.contains("{b_pole_1}") && !on.summary.contains("{face_maximum}"), "{}", on.summary);
    assert_eq!(first(&on), "b_pole_1");
    assert!(on.item("face_maximum").is_some_and(|item| item.note.contains("no limit")));
    let above = field(&sheet, 1e-3);
    assert!(above.summary.contains("{face_maximum}"), "{}", above.summary);
    assert_eq!(first(&above), "face_maximum");
    // Over the middle both are alike: the edge is far.
    assert!((number(&on, "b_pole_1") / number(&above, "b_pole_1") - 1.0).abs() < 0.15);
}

#[test]
fn what_a_magnet_does_not_have_cannot_be_asked_over() {
    let currents = PullQuestion { currents_a: vec![1.0], ..PullQuestion::default() };
    let nothing = PullQuestion { gaps_m: vec![0.0], widths_m: vec![-1.0], ..PullQuestion::default() };
    for (form, question, word, count) in
        [(Form::Ring, currents, "no winding", 1), (Form::Pot, nothing, "greater than zero", 2)]
    {
        match answer(&sheet(form, &[]), &Question::Pull(question)) {
            Err(Failure::Input(faults)) => {
                assert_eq!(faults.len(), count);
                assert!(faults.iter().all(|f| f.message.contains(word) && !f.hint.is_empty()), "{faults:?}");
            }
            other => panic!("{other:?}"),
        }
    }
}

/// A summary's places are items of the answer.
#[test]
fn a_drawn_magnet_has_a_headline_too() {
    let a = answer(&sheet(Form::Profile, &[]), &Question::Field(FieldQuestion::default()));
    let a = a.unwrap_or_else(|failure| panic!("{failure}"));
    let key = a.summary.split(['{', '}']).nth(1).expect("a number in the headline");
    assert!(matches!(a.item(key), Some(Item { value: Value::Number(_), .. })), "{}", a.summary);
}
