//! Bands of curves: against closed forms where the field is linear, and against the headline's where they must agree.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_magnet::answers::answer::{Answer, Column, Value};
use coilwright_magnet::answers::question::{FieldQuestion, PullQuestion, Question};
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::band::Band;

fn ask(text: &str, question: &Question) -> Answer {
    let sheet = Sheet::parse(text, "test").unwrap_or_else(|faults| panic!("{faults:?}")).0;
    answer(&sheet, question).unwrap()
}

fn column<'a>(answer: &'a Answer, series: &str, key: &str) -> &'a Column {
    let series = answer.series.iter().find(|s| s.key == series).expect("the series");
    let column = series.ys.iter().find(|c| c.key == key).expect("the column");
    assert_eq!(column.bands.len(), column.values.len());
    column
}

fn band<'a>(answer: &'a Answer, key: &str) -> &'a Band {
    match &answer.item(key).unwrap().value {
        Value::Number(m) => m.band.as_ref().unwrap(),
        Value::Text(text) => panic!("{text}"),
    }
}

/// Half of a 95 % interval is two standard uncertainties.
fn standard((low, high): (f64, f64)) -> f64 {
    0.25 * (high - low)
}

/// Without iron B is proportional to the current wherever it is read: a half-width of 1 % is 1/√3 % of every point, as
/// squares beside the numerical error, which is the same with an exact current. All else in the sheet is exact.
#[test]
fn the_field_of_a_coil_is_as_sure_as_its_current() {
    let ask_with = |current: &str| {
        let text = format!(
            "form = \"coil\"\nwinding.inner_diameter = \"20 mm\"\nwinding.outer_diameter = \"40 mm\"\n\
             winding.length = \"30 mm\"\nwinding.turns = 500\ndrive.current = \"{current}\"\n"
        );
        ask(&text, &Question::Field(FieldQuestion { axis: true, ..FieldQuestion::default() }))
    };
    let (found, exact) = (ask_with("1 A ± 1 %"), ask_with("1 A"));
    for (series, key) in [("face_scan", "b_size"), ("face_scan", "b_axial"), ("axis_scan", "b_axial")] {
        let (column, numerical) = (column(&found, series, key), column(&exact, series, key));
        assert_eq!(column.values, numerical.values);
        let most = column.values.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        for (k, value) in column.values.iter().enumerate() {
            let wanted = standard(numerical.bands[k]).hypot(0.01 / 3f64.sqrt() * value);
            let (low, high) = column.bands[k];
            assert!(
                (standard((low, high)) - wanted).abs() < 1e-4 * wanted + 1e-9 * most,
                "{series} {key} {k}"
            );
            assert!((0.5 * (low + high) - value).abs() < 1e-12);
        }
    }
}

/// A pot whose steel's law is given as exact.
fn pot(gap: &str, drive: &str) -> String {
    format!(
        "form = \"pot\"\nbody.outer_diameter = \"60 mm\"\nbody.height = \"36 mm\"\nbody.pole_diameter = \"24 mm\"\n\
         body.inner_diameter = \"53 mm\"\nbody.back = \"6 mm ± 0.36 mm\"\nbody.material = \"mine\"\n\
         winding.turns = \"1200 ± 24\"\nwinding.resistance = \"50 ohm\"\nwinding.bobbin_wall = \"0.5 mm\"\n{drive}\n\
         workpiece.diameter = \"72 mm\"\nworkpiece.thickness = \"9.6 mm\"\nworkpiece.gap = \"{gap}\"\n\
         workpiece.material = \"mine\"\n[[material]]\nname = \"mine\"\nsaturation = \"2.1 T\"\n\
         initial_permeability = 1500\nfield_tolerance = 0\nsaturation_tolerance = 0\n"
    )
}

fn pull(text: &str, gaps_m: &[f64]) -> Answer {
    ask(text, &Question::Pull(PullQuestion { gaps_m: gaps_m.to_vec(), ..PullQuestion::default() }))
}

/// Where the sheet's gap is exact, the curve's band there is the headline's, but for the 1 % of variance that is left out
/// and one-sided differences. Where it is not, the curve's is the same: the abscissa is exact.
#[test]
fn a_curve_over_the_gap_is_for_exactly_that_gap() {
    let gaps = [0.1e-3, 0.3e-3, 1e-3, 3e-3];
    let exact = pull(&pot("0.3 mm", "drive.voltage = \"12 V ± 2 %\""), &gaps);
    let headline = band(&exact, "pull");
    let of_exact = column(&exact, "pull_gap", "pull");
    let here = standard(of_exact.bands[1]);
    assert!((here / headline.standard - 1.0).abs() < 0.05, "{here} for {}", headline.standard);

    let loose = pull(&pot("0.3 mm ± 0.1 mm", "drive.voltage = \"12 V ± 2 %\""), &gaps);
    assert!(band(&loose, "pull").standard > 1.5 * headline.standard);
    let of_loose = column(&loose, "pull_gap", "pull");
    for k in 0..gaps.len() {
        let (a, b) = (standard(of_exact.bands[k]), standard(of_loose.bands[k]));
        assert!((a / b - 1.0).abs() < 0.02, "{a} and {b} at {} m", gaps[k]);
    }
}

/// Through a wide gap the steel hardly counts and the pull goes with the square of the ampere-turns, so that at an exact
/// current its relative uncertainty is twice that of the turns (the supply's tolerance is no part of it).
#[test]
fn a_curve_over_the_current_is_for_exactly_that_current() {
    let text = pot("5 mm", "drive.voltage = \"4 V ± 10 %\"");
    let found = pull(&text, &[5e-3]);
    let curve = column(&found, "pull_current", "pull");
    let wanted = 2.0 * 0.02 / 3f64.sqrt();
    for (value, interval) in curve.values.iter().zip(&curve.bands) {
        let relative = standard(*interval) / value;
        assert!((relative / wanted - 1.0).abs() < 0.03, "{relative} for {wanted}");
    }
    assert!(band(&found, "pull").standard > 3.0 * wanted * found.number("pull").unwrap());
}
