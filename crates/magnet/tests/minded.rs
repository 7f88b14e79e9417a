//! What every answer minds, whatever was asked.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_magnet::answers::answer::{Answer, Danger, Value};
use coilwright_magnet::answers::question::{
    FieldQuestion, HeatQuestion, PullQuestion, Question, SwitchQuestion,
};
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;

/// A bar of our own invention that its supply burns: 60 W on a coil as large as a thumb.
const BURNING: &str = r#"
sheet = 1
form = "bar"
[body]
core_diameter = "10 mm"
core_length = "40 mm"
[winding]
turns = 600
wire = "0.4 mm"
[drive]
current = "3.5 A"
[workpiece]
shape = "disc"
diameter = "40 mm"
thickness = "6 mm"
gap = "0.2 mm"
"#;

fn sheet(changes: &[(&str, &str)]) -> Sheet {
    let (mut sheet, _) = Sheet::parse(BURNING, "bar.sheet.toml").unwrap();
    for (path, value) in changes {
        sheet.set(path, value).unwrap();
    }
    sheet
}

fn has(answer: &Answer, danger: Danger) -> bool {
    answer.cautions.iter().any(|c| c.danger == danger)
}

fn lifts(answer: &Answer) -> Option<&str> {
    answer.cautions.iter().map(|c| c.brief.as_str()).find(|b| b.starts_with("Lift at most"))
}

/// A magnet that burns is no less of a fire where its pull, field, winding or switching is asked for, and lifts nothing.
#[test]
fn a_burning_magnet_is_a_fire_in_every_answer() {
    let questions = [
        Question::Winding,
        Question::Field(FieldQuestion::default()),
        Question::Pull(PullQuestion { gaps_m: vec![0.2e-3], ..PullQuestion::default() }),
        Question::Heat(HeatQuestion { duration_s: Some(60.0), ..HeatQuestion::default() }),
        Question::Switch(SwitchQuestion::default()),
    ];
    for question in questions {
        let burning = answer(&sheet(&[]), &question).unwrap();
        assert!(has(&burning, Danger::Fire), "{question:?}: {:?}", burning.cautions);
        assert_eq!(lifts(&burning), None, "{question:?}");
        assert!(burning.summary.contains("burns"), "{question:?}: {}", burning.summary);
        let cool = answer(&sheet(&[("drive.current", "0.2 A")]), &question).unwrap();
        assert!(!has(&cool, Danger::Fire), "{question:?}: {:?}", cool.cautions);
    }
}

/// However strong a drive is, what it does to a winding is to burn it. In no time for heat to leave, copper at a current takes
/// `m c ΔT' = P₀ (1 + α ΔT)`: a rise of ΔT takes `m c/(P₀ α) ln(1 + α ΔT)` (385 J/(kg K), 0.00393/K: CRC Handbook), and a little
/// longer with the enamel and air that warm along.
#[test]
fn the_strongest_drive_burns_the_winding_at_once() {
    let mains = sheet(&[("drive.current", "300 A")]);
    let heat = Question::Heat(HeatQuestion { duration_s: Some(60.0), ..HeatQuestion::default() });
    let burning = answer(&mains, &heat).unwrap();
    let winding = answer(&mains, &Question::Winding).unwrap();
    let number = |a: &Answer, key: &str| a.number(key).unwrap_or_else(|| panic!("no {key}"));
    let copper = number(&winding, "conductor_mass") * 385.0 / number(&burning, "power");
    let at = copper / 0.00393 * (0.00393 * (number(&burning, "winding_mean") - 293.15)).ln_1p();
    let found = number(&burning, "runaway_time") / at;
    assert!((1.0..1.15).contains(&found), "{found} of {at} s");
    for question in [Question::Pull(PullQuestion::default()), Question::Switch(SwitchQuestion::default())] {
        assert!(has(&answer(&mains, &question).unwrap(), Danger::Fire), "{question:?}");
    }
}

/// On a vertical face a load slips: what may be lifted is smaller by the least friction, 0.15 − 2 · 0.05/√3.
#[test]
fn a_vertical_face_is_limited_by_slip() {
    let pull = |changes: &[(&str, &str)]| {
        let cool: &[(&str, &str)] = &[
            ("drive.current", "1 A"),
            ("body.core_diameter", "30 mm"),
            ("body.core_length", "80 mm"),
            ("winding.turns", "3000"),
            ("winding.wire", "0.8 mm"),
            ("workpiece.diameter", "90 mm"),
            ("workpiece.friction", "0.15 ± 0.05"),
        ];
        let cool = [cool, changes].concat();
        let question = Question::Pull(PullQuestion { gaps_m: vec![0.2e-3], ..PullQuestion::default() });
        answer(&sheet(&cool), &question).unwrap()
    };
    let low = |a: &Answer| match &a.item("pull").unwrap().value {
        Value::Number(m) => m.band.as_ref().unwrap().low,
        Value::Text(t) => panic!("{t}"),
    };
    let (level, vertical) = (pull(&[]), pull(&[("workpiece.face", "vertical")]));
    let newtons = |a: &Answer, share: f64| format!("Lift at most {:.0} N", (share * low(a)).floor());
    assert!(
        lifts(&level).unwrap_or_else(|| panic!("{:?}", level.cautions)).starts_with(&newtons(&level, 0.5)),
        "{:?}",
        lifts(&level)
    );
    let friction = 0.15 - 2.0 * 0.05 / 3f64.sqrt();
    assert!(
        lifts(&vertical).unwrap().starts_with(&newtons(&vertical, 0.5 * friction)),
        "{:?}",
        lifts(&vertical)
    );
}

/// A drawing of one's own is judged by what it contains: with a permanent magnet in it, by a permanent magnet's third.
#[test]
fn a_profile_is_judged_by_what_it_contains() {
    let text = r#"
sheet = 1
form = "profile"
profile.symmetry = "axial"
[[region]]
name = "magnet"
outline = [["0 mm", "0 mm"], ["10 mm", "0 mm"], ["10 mm", "10 mm"], ["0 mm", "10 mm"]]
remanence = "1.2 T"
[[region]]
name = "plate"
outline = [["0 mm", "10.5 mm"], ["20 mm", "10.5 mm"], ["20 mm", "16 mm"], ["0 mm", "16 mm"]]
material = "low-carbon steel"
body = "workpiece"
[[region]]
name = "coil"
outline = [["11 mm", "0 mm"], ["15 mm", "0 mm"], ["15 mm", "10 mm"], ["11 mm", "10 mm"]]
ampere_turns = "200 A"
"#;
    let (sheet, _) = Sheet::parse(text, "profile.sheet.toml").unwrap();
    let a = answer(&sheet, &Question::Pull(PullQuestion::default())).unwrap();
    assert!(a.cautions.iter().any(|c| c.text.contains("a third")), "{:?}", a.cautions);
    assert!(a.cautions.iter().any(|c| c.text.contains("cannot be switched off")), "{:?}", a.cautions);
}
