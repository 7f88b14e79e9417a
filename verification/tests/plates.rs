//! Workpieces that are not round, or not in the middle, in front of a round magnet, against finite elements in three
//! dimensions.
//!
//! The pot magnet of the case `pot-magnet-on-disc`: a disc of 72 mm, 12 mm thick. References: a general-purpose finite
//! element library, tetrahedra, nonlinear, ± 1 % (the square ± 2 %).
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_magnet::answers::answer::Value;
use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask;
use coilwright_magnet::sheet::Sheet;
use coilwright_verification::root;

/// The magnet with some of its workpiece otherwise.
fn sheet(changes: &[(&str, &str)]) -> Sheet {
    let path = root().join("cases/pot-magnet-gaps/magnet.sheet.toml");
    let (mut sheet, _) = Sheet::parse(&std::fs::read_to_string(path).unwrap(), "magnet.sheet.toml").unwrap();
    for (path, value) in changes {
        if *path == "workpiece.width" {
            sheet.remove("workpiece.diameter");
            sheet.set("workpiece.shape", "plate").unwrap();
        }
        sheet.set(path, value).unwrap();
    }
    sheet
}

/// Pull and its 95 % band, N, and the factor that stands in it.
fn pull(changes: &[(&str, &str)]) -> (f64, [f64; 2], f64) {
    let sheet = sheet(changes);
    let factor = Magnet::complete(&sheet).unwrap().workpiece.unwrap().in_space.value;
    let answer = ask::answer(&sheet, &Question::Pull(PullQuestion::default())).unwrap();
    // Off the middle it peels, by pull times distance.
    let peels = answer.cautions.iter().any(|c| c.text.contains("peels it off"));
    assert_eq!(peels, sheet.has("workpiece.offset"), "{:?}", answer.cautions);
    let Value::Number(m) = &answer.item("pull").unwrap().value else { panic!("a number") };
    let band = m.band.as_ref().unwrap();
    (m.value, [band.low, band.high], factor)
}

const SHIFTED: &[(&str, &str)] = &[("workpiece.offset", "12 mm")];
/// Half of the face covered, its edge through the axis.
const HALF: &[(&str, &str)] =
    &[("workpiece.width", "36 mm"), ("workpiece.length", "72 mm"), ("workpiece.offset", "18 mm")];
const SQUARE: &[(&str, &str)] = &[("workpiece.width", "36 mm")];

/// What the pull in space may be over that of the ring.
const COVERED: [f64; 2] = [0.93, 1.27];
const ACROSS: [f64; 2] = [0.7, 1.05];

/// The references lie in the band, and within the limits of the factor.
#[test]
fn shifted_cut_and_square_plates_lie_in_their_bands() {
    for (shape, gap, reference_n, own, space_over_ring) in [
        (SHIFTED, "0.6 mm", 414.0, 0.01, COVERED),
        (SHIFTED, "0.12 mm", 1123.0, 0.01, COVERED),
        (HALF, "0.6 mm", 271.0, 0.01, ACROSS),
        (HALF, "0.12 mm", 727.0, 0.01, ACROSS),
        (SQUARE, "0.6 mm", 77.8, 0.02, COVERED),
        (SQUARE, "0.12 mm", 169.0, 0.02, COVERED),
    ] {
        let changes = [shape, &[("workpiece.gap", gap)]].concat();
        let (value, [low, high], factor) = pull(&changes);
        let ratio = reference_n / (value / factor);
        println!("{changes:?}: {value:.1} N in {low:.1} to {high:.1}, {ratio:.3} times the ring's");
        assert!(low <= reference_n && reference_n <= high, "{changes:?}: {low} {reference_n} {high}");
        let [least, most] = space_over_ring;
        assert!((least * (1.0 - own)..=most * (1.0 + own)).contains(&ratio), "{changes:?}: {ratio}");
    }
}

/// A plate that covers both poles wholly is as good as round, wherever its middle is.
#[test]
fn a_plate_that_covers_both_poles_needs_no_correction() {
    let plate = |changes: &[(&str, &str)]| Magnet::complete(&sheet(changes)).unwrap().workpiece.unwrap();
    let round = plate(&[]);
    assert_eq!(plate(&[("workpiece.width", "72 mm")]), round);
    let wide = [("workpiece.width", "84 mm"), ("workpiece.length", "72 mm"), ("workpiece.offset", "6 mm")];
    let wide = plate(&wide);
    assert!((wide.x_m[1] - 36e-3).abs() < 1e-12 && wide.x_m[0] == 0.0, "{wide:?}");
    assert_eq!(wide.in_space, round.in_space);
}

/// What three dimensions would decide is refused, with the path to mend.
#[test]
fn what_would_take_three_dimensions_is_refused() {
    let faults = |changes: &[(&str, &str)]| Magnet::complete(&sheet(changes)).map(|_| ()).unwrap_err();
    let thin = [HALF, &[("workpiece.thickness", "2 mm")]].concat();
    let thin = faults(&thin);
    assert!(thin[0].message.contains("edge lies across the pole"), "{thin:?}");
    let beside = faults(&[("workpiece.offset", "60 mm")]);
    assert!(beside[0].message.contains("covers nothing of the pole"), "{beside:?}");
}
