//! Facts of the trade (common practice, no source).

use coilwright_magnet::answers::answer::{Answer, Caution, Value};
use coilwright_magnet::answers::question::{FieldQuestion, Question};
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::Sheet;

/// A pot magnet of 60 mm, below saturation with nothing at its face.
const POT: &str = "form = \"pot\"\n[body]\nouter_diameter = \"60 mm\"\nheight = \"36 mm\"\npole_diameter = \"24 mm\"\n\
                   inner_diameter = \"53 mm\"\nback = \"6 mm\"\nmaterial = \"low-carbon steel\"\n\
                   [winding]\nturns = 1320\nwire = \"0.45 mm grade 2\"\nresistance = \"15.1 ohm\"\n\
                   [surroundings]\ntemperature = \"20 °C\"\n[probe]\nstandoff = \"1 mm\"\n";

fn ask(text: &str, question: &Question) -> Answer {
    let (sheet, _) = Sheet::parse(text, "test").unwrap_or_else(|faults| panic!("{faults:#?}"));
    ask::answer(&sheet, question).unwrap_or_else(|e| panic!("{e:?}"))
}

fn field(text: &str, question: FieldQuestion) -> Answer {
    ask(text, &Question::Field(question))
}

fn number(answer: &Answer, key: &str) -> f64 {
    answer.number(key).unwrap_or_else(|| panic!("no {key}"))
}

fn driven(voltage: f64) -> String {
    format!("{POT}[drive]\nvoltage = \"{voltage} V\"\n")
}

/// Below saturation the field follows the square root of the power: +30 % of power about +14 % of field, four times
/// the power doubles it. Steel is not quite straight even there: 1 %.
#[test]
fn field_follows_the_root_of_the_power() {
    let power = |voltage: f64| number(&ask(&driven(voltage), &Question::Winding), "power");
    let places = ["face_maximum", "b_pole_1", "b_pole_2"];
    let fields = |voltage: f64| {
        let answer = field(&driven(voltage), FieldQuestion::default());
        places.map(|place| number(&answer, place))
    };
    let (usual, at_usual) = (power(12.0), fields(12.0));
    let raised = 12.0 * 1.3f64.sqrt();
    for (voltage, by_power, by_field) in [(raised, 1.3, 1.14), (6.0, 0.25, 0.5), (24.0, 4.0, 2.0)] {
        let found = power(voltage) / usual;
        assert!((found / by_power - 1.0f64).abs() < 1e-9, "{voltage} V: {found} times the power");
        for ((b, at_12), place) in fields(voltage).iter().zip(&at_usual).zip(places) {
            assert!((b / at_12 / by_field - 1.0f64).abs() < 0.01, "{place} at {voltage} V: {}", b / at_12);
        }
    }
}

/// The inner pole's edge is the strongest place of the face; the outer ring, with more area, is weaker and of opposite
/// polarity.
#[test]
fn the_inner_poles_edge_is_the_strongest_place() {
    let answer = field(&driven(12.0), FieldQuestion::default());
    let (edge, ring) = (12e-3, [26.5e-3, 30e-3]);
    let radius = number(&answer, "face_maximum_radius");
    assert!((radius - edge).abs() < 0.2e-3, "strongest at {radius} m");
    let scan = &answer.series.iter().find(|s| s.key == "face_scan").expect("a scan").ys;
    let xs = &answer.series[0].x.values;
    let over = |low: f64, high: f64, column: usize| -> Vec<f64> {
        xs.iter().zip(&scan[column].values).filter(|(x, _)| (low..=high).contains(*x)).map(|p| *p.1).collect()
    };
    let greatest = |values: &[f64]| values.iter().fold(0.0, |m: f64, b| m.max(b.abs()));
    let (pole, outer) = (over(0.0, edge, 0), over(ring[0], ring[1], 0));
    assert!(pole.iter().all(|b| *b > 0.0) && outer.iter().all(|b| *b < 0.0), "{pole:?} {outer:?}");
    assert!(greatest(&outer) < 0.8 * greatest(&pole), "{} {}", greatest(&outer), greatest(&pole));
    assert!(greatest(&over(ring[0], ring[1], 1)) < number(&answer, "face_maximum"));
    // Nor does the middle of the pole come near its edge.
    assert!(pole[0] < 0.7 * number(&answer, "face_maximum"), "{}", pole[0]);
    // Current reversed, both poles change.
    let reversed = format!("{}polarity = \"reversed\"\n", driven(12.0));
    let other = field(&reversed, FieldQuestion::default());
    for pole in ["b_pole_1", "b_pole_2"] {
        assert!((number(&other, pole) / number(&answer, pole) + 1.0).abs() < 1e-9, "{pole}");
    }
}

/// A keeper towards the other pole raises the field at a pole's edge by tens of per cent. One that covers the pole leaves
/// no room for a probe, so here a ring lies on the outer pole and reaches half-way to the inner one, and the probe is at
/// its edge as before; and a plate hangs 5 mm over the whole face, with the probe beneath.
#[test]
fn a_keeper_raises_the_field_at_the_poles_edge() {
    let ring = "inner_diameter = \"36 mm\"\ngap = \"0.1 mm\"\n";
    let plate = "gap = \"5 mm\"\n";
    for keeper in [ring, plate] {
        let text = format!(
            "{}[keeper]\nouter_diameter = \"60 mm\"\nthickness = \"5 mm\"\nmaterial = \"low-carbon steel\"\n{keeper}",
            driven(12.0)
        );
        let at_edge = |keeper: bool| {
            let at = vec![(10e-3, 1e-3)];
            number(&field(&text, FieldQuestion { keeper, at, ..FieldQuestion::default() }), "b_abs_1")
        };
        let gain = at_edge(true) / at_edge(false) - 1.0;
        assert!((0.2..0.9).contains(&gain), "{keeper}: {:+.0} %", 100.0 * gain);
    }
}

/// A pole that starts at the axis has its middle there: what is told of it is what stands at that point.
#[test]
fn a_round_poles_middle_is_the_axis() {
    let at = vec![(0.0, 1e-3)];
    let a = field(&driven(12.0), FieldQuestion { at, keep_out: true, ..FieldQuestion::default() });
    let (pole, axis) = (number(&a, "b_pole_1"), number(&a, "b_z_1"));
    assert!((pole / axis - 1.0).abs() < 1e-9, "{pole} T, {axis} T");
    // A distance from the surface is shorter than one from the middle; both have bands.
    let known = |key: &str| match a.item(key).map(|i| &i.value) {
        Some(Value::Number(m)) => m.band.as_ref().is_some_and(|b| b.standard > 0.0),
        other => panic!("{key}: {other:?}"),
    };
    for key in ["keep_out_05mT", "keep_out_3mT"] {
        let (middle, surface) = (number(&a, key), number(&a, &format!("{key}_surface")));
        assert!(0.0 < surface && surface < middle, "{surface} m, {middle} m");
        assert!(known(key) && known(&format!("{key}_surface")));
    }
    let implants = |c: &Caution| c.about == "face_maximum" && c.text.contains("implants");
    assert!(a.cautions.iter().any(implants), "{:?}", a.cautions);
}
