//! Sampled pulls against what they must be where only one thing is uncertain.

#![allow(clippy::unwrap_used)] // a test may stop where anything is amiss

use coilwright_bench::sampled::sampled_pull;
use coilwright_magnet::ask::answer;
use coilwright_magnet::question::{PullQuestion, Question};
use coilwright_magnet::sheet::Sheet;

/// A pot of which only the gap is uncertain: ampere-turns and the steel's law are given as exact.
fn pot(gap: &str) -> Sheet {
    let text = format!(
        "sheet = 1\nform = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\npole_diameter = \"20 mm\"\n\
         inner_diameter = \"44 mm\"\nback = \"5 mm\"\nmaterial = \"mine\"\n[winding]\nampere_turns = \"600 A\"\n\
         bobbin_wall = \"0.5 mm\"\n[workpiece]\ndiameter = \"60 mm\"\nthickness = \"8 mm\"\ngap = \"{gap}\"\nmaterial = \"mine\"\n\
         [[material]]\nname = \"mine\"\nsaturation = \"2.1 T\"\ninitial_permeability = 1500\n"
    );
    Sheet::parse(&text, "pot").unwrap().0
}

fn pull_at(gap_m: f64) -> f64 {
    let mut sheet = pot("0.1 mm");
    sheet.set_value("workpiece.gap", gap_m);
    let question = PullQuestion { gaps_m: vec![gap_m], ..PullQuestion::default() };
    answer(&sheet, &Question::Pull(question)).unwrap().number("pull").unwrap()
}

/// The pull falls with the gap, so its quantiles are the pulls at the gap's: for a rectangular gap 0.2 ± 0.1 mm the
/// middle 95 % end at 0.2 ± 0.095 mm.
#[test]
fn quantiles_of_a_single_input() {
    let sampled = sampled_pull(&pot("0.2 mm ± 0.1 mm"), 160, 3).unwrap();
    let (low, high) = (pull_at(0.295e-3), pull_at(0.105e-3));
    // 160 strata of a range of 0.2 mm: an end is known to 1.5 strata of 1.25 µm; the pull changes by 0.7 %/µm at most.
    assert!((sampled.interval_n.0 / low - 1.0).abs() < 0.02, "{:?} for {low}", sampled.interval_n);
    assert!((sampled.interval_n.1 / high - 1.0).abs() < 0.02, "{:?} for {high}", sampled.interval_n);
    assert_eq!((sampled.samples_n.len(), sampled.impossible), (160, 0));
}

/// A pull that falls steeply and ever less is not straight over a wide range: first order gives the same width to both
/// sides, and a least pull below none.
#[test]
fn where_first_order_fails_it_is_said() {
    let sampled = sampled_pull(&pot("0.5 mm ± 0.4 mm"), 160, 3).unwrap();
    assert!(
        sampled.note.as_ref().is_some_and(|note| note.contains("prefer the sampled interval")),
        "{:?}",
        sampled.first_order
    );
    let (low, high) = sampled.interval_n;
    assert!(
        low > 0.0 && high - sampled.mean_n > 1.3 * (sampled.mean_n - low),
        "{low} {} {high}",
        sampled.mean_n
    );
}

#[test]
fn a_narrow_gap_is_first_order() {
    let sampled = sampled_pull(&pot("0.5 mm ± 0.005 mm"), 60, 3).unwrap();
    let (value, band) = sampled.first_order.clone().unwrap();
    // The first-order band holds the solver's 0.3 % too, the samples only the gap.
    assert!((sampled.mean_n / value - 1.0).abs() < 2e-3);
    assert!(sampled.standard_n <= band.standard && sampled.standard_n > 0.5 * band.standard, "{sampled:?}");
}

#[test]
fn seeds_repeat_and_differ() {
    let sheet = pot("0.2 mm ± 0.1 mm");
    let run = |seed| sampled_pull(&sheet, 12, seed).unwrap().samples_n;
    assert_eq!(run(1), run(1));
    assert_ne!(run(1), run(2));
}
