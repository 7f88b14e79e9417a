//! The field where it is asked for: along lines, over an area, and how uniform it is.

use coilwright_magnet::answers::answer::{Answer, Column, Series, Value};
use coilwright_magnet::answers::field::map::map;
use coilwright_magnet::answers::question::{FieldQuestion, Question, Region};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::{Form, Sheet, template};
use std::f64::consts::PI;

const MU_0: f64 = 4e-7 * PI;

fn sheet(text: &str) -> Sheet {
    Sheet::parse(text, "test").unwrap_or_else(|faults| panic!("{faults:?}")).0
}

fn field(sheet: &Sheet, question: &FieldQuestion) -> Answer {
    ask::answer(sheet, &Question::Field(question.clone())).unwrap_or_else(|failure| panic!("{failure:?}"))
}

fn series<'a>(answer: &'a Answer, key: &str) -> &'a Series {
    answer.series.iter().find(|s| s.key == key).unwrap_or_else(|| panic!("no {key}"))
}

fn column<'a>(series: &'a Series, key: &str) -> &'a Column {
    series.ys.iter().find(|c| c.key == key).unwrap_or_else(|| panic!("no {key}"))
}

/// Regions of current about an axis: inner and outer radius, lower and upper end, mm; ampere-turns.
fn coils(all: &[([f64; 4], f64)]) -> Sheet {
    let mut text = "form = \"profile\"\n[profile]\nsymmetry = \"axial\"\n".to_owned();
    for (k, ([a, b, low, high], ampere_turns)) in all.iter().enumerate() {
        text += &format!(
            "[[region]]\nname = \"coil {k}\"\nampere_turns = \"{ampere_turns} A\"\noutline = [[\"{a} mm\", \"{low} mm\"], \
             [\"{b} mm\", \"{low} mm\"], [\"{b} mm\", \"{high} mm\"], [\"{a} mm\", \"{high} mm\"]]\n"
        );
    }
    let mut sheet = sheet(&text);
    sheet.set("accuracy.field", "0.01 %").unwrap_or_else(|fault| panic!("{fault}"));
    sheet
}

fn helmholtz() -> Sheet {
    coils(&[([99.5, 100.5, 49.5, 50.5], 1000.0), ([99.5, 100.5, -50.5, -49.5], 1000.0)])
}

/// Whoever asks for a point or a line is told of that first; of a point in iron, of the next.
#[test]
fn what_is_asked_for_is_told_first() {
    let pot = Sheet::parse(&template(Form::Pot), "pot").unwrap_or_else(|faults| panic!("{faults:?}")).0;
    let told = |question: FieldQuestion| field(&pot, &question).summary;
    let plain = told(FieldQuestion::default());
    let point = told(FieldQuestion { at: vec![(0.0, 5e-3)], ..FieldQuestion::default() });
    assert_eq!(point, format!("{{b_abs_1}} at the point asked for. {plain}"));
    let two = told(FieldQuestion { at: vec![(0.0, -5e-3), (0.0, 5e-3)], ..FieldQuestion::default() });
    assert!(two.starts_with("{b_abs_2} at the first point asked for that lies in air."), "{two}");
    let line = told(FieldQuestion { lines: vec![[(0.0, 1e-3), (0.02, 1e-3)]], ..FieldQuestion::default() });
    assert!(
        line.starts_with("At most {line_1_most}, {line_1_most_at} from the start of the line."),
        "{line}"
    );
}

/// A circular loop's axis: B = µ0 I a²/(2 (a² + z²)^1.5) (J. D. Jackson, Classical Electrodynamics, section 5.5). A section of
/// a hundredth of the radius lowers it by about its square.
#[test]
fn the_axis_of_a_loop_on_both_sides() {
    let loop_ = coils(&[([49.75, 50.25, -0.25, 0.25], 500.0)]);
    let axis =
        field(&loop_, &FieldQuestion { axis_between_m: Some([-0.15, 0.1]), ..FieldQuestion::default() });
    let scan = series(&axis, "axis_scan");
    assert_eq!((scan.x.values[0], *scan.x.values.last().unwrap()), (-0.15, 0.1));
    for (z, b) in scan.x.values.iter().zip(&column(scan, "b_axial").values) {
        let exact = MU_0 * 500.0 * 0.05f64.powi(2) / (2.0 * (0.05f64.powi(2) + z * z).powf(1.5));
        assert!((b / exact - 1.0).abs() < 3e-4, "{z} m: {b} T for {exact} T");
    }
    assert!((axis.number("axis_most").unwrap() / (MU_0 * 500.0 / 0.1) - 1.0).abs() < 3e-4);
    assert!(axis.number("axis_most_at").unwrap().abs() < 1e-3);
}

/// A thin solenoid's axis: B = µ0 N I/(2 l) (cos α − cos β), the angles under which its ends are seen (the same, section 5.3,
/// problem 5.3); along a line the same as by heights. A wall of 2 % of the radius counts to its square.
#[test]
fn the_axis_of_a_thin_solenoid_along_a_line() {
    let solenoid = coils(&[([19.8, 20.2, -60.0, 60.0], 2000.0)]);
    let lines = vec![[(0.0, -0.09), (0.0, 0.03)]];
    let answer = field(&solenoid, &FieldQuestion { lines, ..FieldQuestion::default() });
    let line = series(&answer, "line_1");
    let size = column(line, "b_size");
    for ((s, b), (low, high)) in line.x.values.iter().zip(&size.values).zip(&size.bands) {
        let z = s - 0.09;
        let cosine = |end: f64| (end - z) / (end - z).hypot(0.02);
        let exact = MU_0 * 2000.0 / (2.0 * 0.12) * (cosine(0.06) - cosine(-0.06));
        assert!((b / exact - 1.0).abs() < 5e-4, "{z} m: {b} T for {exact} T");
        assert!(low <= b && b <= high);
    }
    assert!(
        column(line, "b_across").values.iter().all(|b| b.abs() < 1e-9),
        "on the axis nothing runs across"
    );
}

/// A Helmholtz pair: on its axis B/B0 = 1 − (144/125)(z/R)⁴ + … (W. R. Smythe, Static and Dynamic Electricity, from memory),
/// of two loops exactly ½·1.25^1.5·Σ (1 + (z/R ± ½)²)^−1.5. Across, the same order of expansion gives −(3/8) of it (the
/// Legendre polynomial P4 at right angles).
#[test]
fn a_helmholtz_pair_is_as_uniform_as_its_series() {
    let uniform = Some(Region::Between([(-5e-3, -10e-3), (5e-3, 10e-3)]));
    let a = field(&helmholtz(), &FieldQuestion { uniform, ..FieldQuestion::default() });
    let number = |key: &str| a.number(key).unwrap_or_else(|| panic!("no {key}"));
    let exact = |u: f64| {
        0.5 * 1.25f64.powf(1.5) * [-0.5, 0.5].map(|h| (1.0 + (u + h).powi(2)).powf(-1.5)).iter().sum::<f64>()
    };
    let centre = (0.8f64).powf(1.5) * MU_0 * 1000.0 / 0.1;
    assert!((number("uniform_field") / centre - 1.0).abs() < 1e-4, "{}", number("uniform_field"));
    // −(144/125)·0.1⁴ = −115 ppm at the ends of the axis, the worst of this region: across it is less.
    let (found, series) = (number("uniform_deviation"), -144.0 / 125.0 * 1e-4);
    assert!((found / series - 1.0).abs() < 0.05, "{found} for {series}");
    for (limit, key) in [(1e-2, "1pc"), (1e-3, "01pc")] {
        let u = number(&format!("uniform_axis_{key}")) / 0.2;
        assert!(((1.0 - exact(u)) / limit - 1.0).abs() < 0.01, "{key}: {u}");
        let first = (limit * 125.0 / 144.0f64).powf(0.25);
        assert!((u / first - 1.0).abs() < 0.03, "{key}: {u} for {first}");
        let v = number(&format!("uniform_disc_{key}")) / 0.2;
        let first = (limit * 125.0 / 144.0 * 8.0 / 3.0f64).powf(0.25);
        assert!((v / first - 1.0).abs() < 0.06, "{key}: {v} for {first}");
        let both = number(&format!("uniform_cylinder_{key}"));
        assert!(both <= 0.2 * u && both <= 0.2 * v);
        let Value::Number(m) = &a.item(&format!("uniform_axis_{key}")).unwrap().value else {
            panic!("a number")
        };
        let exact_u = 0.2 * u;
        assert!(m.band.as_ref().is_none_or(|b| b.low <= exact_u && exact_u <= b.high));
    }
}

/// A region that reaches into iron or a winding is refused, with a remedy; so is a line without length.
#[test]
fn what_cannot_be_asked_is_refused_with_a_hint() {
    let pot = sheet(&template(Form::Pot));
    let refused = |question: FieldQuestion| {
        let Err(Failure::Input(faults)) = ask::answer(&pot, &Question::Field(question)) else {
            panic!("answered")
        };
        assert!(!faults[0].hint.is_empty());
        faults[0].message.clone()
    };
    let of = |uniform| FieldQuestion { uniform: Some(uniform), ..FieldQuestion::default() };
    assert!(refused(of(Region::Wide(5e-3))).contains("reaches into the pole"));
    assert!(refused(of(Region::Wide(0.0))).contains("greater than zero"));
    let lines = vec![[(1e-3, 1e-3); 2]];
    assert!(refused(FieldQuestion { lines, ..FieldQuestion::default() }).contains("begins and ends"));
    let axis_between_m = Some([1e-3; 2]);
    assert!(
        refused(FieldQuestion { axis_between_m, ..FieldQuestion::default() }).contains("begins and ends")
    );
    for flat in [[(0.0, 1e-3), (0.1, 1e-3)], [(0.0, 0.0); 2]] {
        let Err(Failure::Input(faults)) = map(&pot, &FieldQuestion::default(), Some(flat)) else {
            panic!("drawn")
        };
        assert!(faults[0].hint.contains("--line"));
    }
}

/// A line through the workpiece is empty there, says where, and is not headed by it: the plate is 0.1 mm to 6.1 mm up.
#[test]
fn a_line_through_steel_is_marked() {
    let mut pot = sheet(&template(Form::Pot));
    for (path, value) in [("workpiece.gap", "0.1 mm"), ("workpiece.thickness", "6 mm")] {
        pot.set(path, value).unwrap_or_else(|fault| panic!("{fault}"));
    }
    let lines = vec![[(1e-3, 0.02e-3), (1e-3, 20.02e-3)]];
    let question =
        FieldQuestion { lines, workpiece: true, standoff_m: Some(0.05e-3), ..FieldQuestion::default() };
    let a = field(&pot, &question);
    for (key, at) in [("line_1_enters_1", 0.08e-3), ("line_1_leaves_1", 6.08e-3)] {
        assert!((a.number(key).unwrap() - at).abs() < 1e-6, "{key}: {:?}", a.number(key));
    }
    let line = series(&a, "line_1");
    for (s, b) in line.x.values.iter().zip(&column(line, "b_size").values) {
        let inside = (0.08e-3..6.08e-3).contains(s);
        assert_eq!(b.is_nan(), inside, "{s}");
    }
    let air = column(line, "b_size").values.iter().copied().filter(|b| b.is_finite()).fold(0.0, f64::max);
    assert_eq!(a.number("line_1_most"), Some(air));
}

/// Outwards over a pot's face the field turns from the centre pole to the ring; where it does, the part along the axis is
/// nothing, and a probe that sees both sides reads less than what lies under its edges.
#[test]
fn where_the_field_turns_over_a_probe_reads_less() {
    let mut pot = sheet(&template(Form::Pot));
    pot.set("probe.active_diameter", "4 mm").unwrap_or_else(|fault| panic!("{fault}"));
    let question = FieldQuestion { standoff_m: Some(1e-3), ..FieldQuestion::default() };
    let at = field(&pot, &question).number("face_turn_1").expect("the face has two poles");
    let a = field(
        &pot,
        &FieldQuestion { at: vec![(at, 1e-3)], lines: vec![[(0.0, 1e-3), (1.2 * at, 1e-3)]], ..question },
    );
    let number = |key: &str| a.number(key).unwrap_or_else(|| panic!("no {key}"));
    assert!(number("b_z_1").abs() < 2e-3 * number("b_pole_1").abs(), "{}", number("b_z_1"));
    assert!((number("line_1_turn_1") / at - 1.0).abs() < 5e-3);
    assert!(number("line_1_turn_1_reads").abs() < 0.5 * number("line_1_turn_1_edge").abs());
}

/// A map is the same field: its grid has what points there have, to the last bit; iron is named; the shades grow out of each
/// other; and all of it is the same on any number of threads.
#[test]
fn a_map_agrees_with_points() {
    let pot = sheet(&template(Form::Pot));
    let area = Some([(0.0, 0.5e-3), (30e-3, 10.5e-3)]);
    let question = FieldQuestion {
        at: vec![(0.0, 0.5e-3), (30e-3, 10.5e-3), (15e-3, 5.5e-3)],
        ..FieldQuestion::default()
    };
    let drawn = || map(&pot, &question, area).unwrap_or_else(|failure| panic!("{failure:?}"));
    let found = drawn();
    let a = field(&pot, &question);
    let columns = found.across_m.len();
    for (n, &(x, y)) in (1..).zip(&question.at) {
        let near =
            |list: &[f64], v: f64| list.iter().position(|u| (u - v).abs() < 1e-9).expect("on the grid");
        let k = near(&found.height_m, y) * columns + near(&found.across_m, x);
        for (key, b) in ["b_r", "b_z", "b_abs"].into_iter().zip(found.field_t[k]) {
            let point = a.number(&format!("{key}_{n}")).unwrap();
            assert!((point - b).abs() <= 1e-9 * found.flux.strongest.value, "{key}_{n}: {point} T and {b} T");
        }
    }
    for threads in [1, 2, 8] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        assert!(pool.install(drawn) == found, "{threads} threads");
    }
    // The pole, 4 mm below its face, is iron; the air above it is not.
    let all = map(&pot, &FieldQuestion::default(), Some([(-5e-3, -5e-3), (5e-3, 5e-3)])).unwrap();
    assert_eq!(all.inside.first().unwrap().as_deref(), Some("pole"));
    assert_eq!(all.inside.last().unwrap().as_deref(), None);
    assert!(all.flux.shades.windows(2).all(|pair| pair[0].above_t < pair[1].above_t));
    assert!(all.flux.lines.len() > 5);
}
