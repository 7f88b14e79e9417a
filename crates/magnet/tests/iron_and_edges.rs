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

/// Inside a plate no probe reads and nobody is exposed: a scan that runs there is refused with a way out, a point is
/// marked and neither heads the answer nor has a caution.
#[test]
fn what_is_inside_iron_is_no_reading() {
    let sheet = sheet(Form::Pot, &[("workpiece.gap", "0.2 mm"), ("workpiece.thickness", "6 mm")]);
    let ask = |standoff_m: f64, at: Vec<(f64, f64)>| {
        let (standoff_m, workpiece) = (Some(standoff_m), true);
        answer(
            &sheet,
            &Question::Field(FieldQuestion { standoff_m, workpiece, at, ..FieldQuestion::default() }),
        )
    };
    let Err(Failure::Input(faults)) = ask(1e-3, Vec::new()) else {
        panic!("a scan inside the plate was answered")
    };
    assert!(faults[0].message.contains("inside the workpiece"), "{:?}", faults[0]);
    assert!(
        faults[0].hint.contains("--standoff 100.0 µm") || faults[0].hint.contains("--standoff 0.1"),
        "{:?}",
        faults[0]
    );
    // 3 mm up is the middle of the plate, 20 mm up is air behind it.
    let a = ask(0.1e-3, vec![(0.0, 3e-3), (0.0, 20e-3)]).unwrap();
    let note = |key: &str| a.item(key).map(|i| i.note.clone()).unwrap_or_default();
    assert!(note("b_abs_1").contains("no probe reads") && note("b_abs_2").is_empty());
    assert!(a.cautions.iter().all(|c| c.about != "b_abs_1"), "{:?}", a.cautions);
    // A scan along the axis leaves the plate out.
    let question =
        FieldQuestion { standoff_m: Some(0.1e-3), workpiece: true, axis: true, ..FieldQuestion::default() };
    let a = answer(&sheet, &Question::Field(question)).unwrap();
    let heights = &a.series.iter().find(|s| s.key == "axis_scan").unwrap().x.values;
    assert!(heights.iter().all(|h| !(0.21e-3..6.19e-3).contains(h)) && heights.iter().any(|h| *h > 6.2e-3));
}

/// An air coil without a workpiece has no plate in front of it. Its inductance is that of H. A. Wheeler's formula for
/// many layers, L = 31.6 µH N² r²/(6 r + 9 l + 10 c) in metres (Proc. IRE 16 (1928) 1398, from memory; good to about
/// 1 % where the three terms are alike; 3 % asked).
#[test]
fn an_air_coil_is_judged_without_a_plate() {
    let text = "form = \"coil\"\n[winding]\nturns = 1700\nresistance = \"22 ohm\"\ninner_diameter = \"20 mm\"\n\
                outer_diameter = \"40 mm\"\nlength = \"40 mm\"\n[drive]\nvoltage = \"12 V\"\n";
    let sheet = Sheet::parse(text, "coil").unwrap_or_else(|faults| panic!("{faults:?}")).0;
    let switch = answer(&sheet, &Question::Switch(Default::default())).unwrap();
    let (r, l, c) = (0.015, 0.040, 0.010);
    let wheeler_h = 31.6e-6 * 1700f64.powi(2) * r * r / (6.0 * r + 9.0 * l + 10.0 * c);
    let found_h = number(&switch, "inductance_apparent");
    assert!((found_h / wheeler_h - 1.0).abs() < 0.03, "{found_h} H for {wheeler_h} H");
    assert!(switch.assumptions.iter().all(|a| !a.path.starts_with("workpiece")), "{:?}", switch.assumptions);
    let said = format!("{switch:?}");
    assert!(switch.item("pull").is_none() && switch.item("release_time").is_none(), "{said}");
    assert!(switch.cautions.iter().all(|c| !c.text.contains("drops its load")), "{:?}", switch.cautions);
    let Err(Failure::Input(faults)) = answer(&sheet, &Question::Pull(PullQuestion::default())) else {
        panic!("a pull on nothing was answered")
    };
    assert!(faults[0].message.contains("no workpiece"), "{:?}", faults[0]);
    // With one it pulls.
    let with =
        Sheet::parse(&format!("{text}[workpiece]\nthickness = \"6 mm\"\ndiameter = \"40 mm\"\n"), "coil");
    assert!(number(&pull(&with.unwrap().0, PullQuestion::default()), "pull") > 0.0);
}

/// To name one's own steel is not to have measured its melt: the usual doubt stays until the sheet limits it.
#[test]
fn a_steel_of_ones_own_is_as_unsure_as_any() {
    let own = |more: &str| {
        let text = template(Form::Pot).replace("material = \"low-carbon steel\"", "material = \"mine\"");
        let text = format!(
            "{text}\n[[material]]\nname = \"mine\"\nsaturation = \"2.1 T\"\ninitial_permeability = 1500\n{more}"
        );
        let mut sheet = Sheet::parse(&text, "own").unwrap_or_else(|faults| panic!("{faults:?}")).0;
        sheet.set("body.material", "mine").unwrap();
        let a = pull(&sheet, PullQuestion::default());
        let Some(Value::Number(m)) = a.item("pull").map(|i| i.value.clone()) else { panic!("no pull") };
        (m.band.unwrap(), a.assumptions)
    };
    let share = |band: &coilwright_magnet::uncertainty::band::Band| {
        band.contributors.iter().filter(|c| c.path.starts_with("material.mine")).map(|c| c.share).sum::<f64>()
    };
    let (usual, assumed) = own("");
    assert!(share(&usual) > 0.05, "{usual:?}");
    assert!(assumed.iter().any(|a| a.path == "material.mine.field_tolerance"), "{assumed:?}");
    let (exact, assumed) = own("field_tolerance = 0\nsaturation_tolerance = 0\n");
    assert!(share(&exact) < 1e-9 && exact.standard < usual.standard, "{exact:?}");
    assert!(assumed.iter().all(|a| !a.path.starts_with("material.mine")), "{assumed:?}");
}
