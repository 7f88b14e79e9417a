//! The expected values in the case files are those of the formulas they name.

use coilwright_verification::closed_form::{ball, coil, cylinder, gap, loops, smes};
use coilwright_verification::{TEAM_13_STEEL, case, root};
use std::f64::consts::PI;

/// (question's number, key, value in the check's unit) for a case whose source is a formula.
type Formula = (&'static str, Vec<(usize, &'static str, f64)>);

fn coil(inner_m: f64, outer_m: f64, length_m: f64, centre_m: f64, ampere_turns: f64) -> coil::Coil {
    coil::Coil { inner_m, outer_m, length_m, centre_m, ampere_turns }
}

fn formulas() -> Vec<Formula> {
    let air = coil(0.01, 0.02, 0.04, 0.0, 1000.0);
    let brooks = coil(0.02, 0.04, 0.02, 0.0, 100.0);
    let pair = |r: f64, z: f64| {
        let (upper, lower) =
            (coil(0.0995, 0.1005, 0.001, 0.05, 1000.0), coil(0.0995, 0.1005, 0.001, -0.05, 1000.0));
        (upper.field(r, z).1 + lower.field(r, z).1) * 1e3
    };
    let magnet = cylinder::Cylinder { radius_m: 0.025, height_m: 0.03, remanence_t: 1.26 };
    let edge = magnet.field(0.024, 0.001);
    let long = cylinder::Cylinder { radius_m: 0.02, height_m: 0.04, remanence_t: 1.0 };
    let steel = |b0: f64| ball::nonlinear(b0, |h| ball::arctangent_law(2.1, 1500.0, h)).1;
    let table = |b0: f64| ball::nonlinear(b0, |h| ball::table_law(&TEAM_13_STEEL, h)).1;
    let edge_m = |radius_m: f64| 2.0 * PI * radius_m;
    // the ring's outer edge lies flush with the disc's: the wedge is twice as wide, the fringe half as strong
    let pole = gap::permeance(PI * 0.01f64.powi(2), edge_m(0.01), 5e-5, 0.01);
    let ring_m2 = PI * (0.1f64.powi(2) - 0.02f64.powi(2));
    let ring = gap::permeance(ring_m2, edge_m(0.02) + 0.5 * edge_m(0.1), 5e-5, 0.01);
    vec![
        (
            "air-coil",
            vec![
                (0, "b_z_1", air.axis_field(0.0)),
                (0, "b_z_2", air.axis_field(0.02)),
                (0, "b_r_3", air.field(0.015, 0.03).0),
                (0, "b_z_3", air.field(0.015, 0.03).1),
                (0, "inductance_per_turn2", air.inductance_per_turn2()),
            ],
        ),
        ("brooks-coil", vec![(0, "inductance_per_turn2", brooks.inductance_per_turn2())]),
        (
            "coaxial-loops",
            vec![(0, "pull", 1e6 * loops::force_per_current2_of_sections(0.1, 0.1, 0.05, 4e-4))],
        ),
        (
            "energy-store",
            vec![
                (0, "b_z_1", smes::axis_field(0.0)),
                (0, "b_z_2", smes::axis_field(0.5)),
                (0, "b_z_3", smes::axis_field(1.0)),
                (0, "b_z_4", smes::axis_field(2.0)),
                (0, "energy", smes::energy() * 1e-6),
                (1, "mean square of b_abs", smes::mean_square_stray()),
            ],
        ),
        (
            "helmholtz-pair",
            vec![(0, "b_z_1", pair(0.0, 0.0)), (0, "b_z_2", pair(0.0, 0.02)), (0, "b_z_3", pair(0.02, 0.0))],
        ),
        (
            "loop-over-iron",
            vec![(0, "pull", loops::pull_on_half_space_of_section(0.05, 1000.0, 0.01, 2e-4, 1e5))],
        ),
        (
            "magnetised-cylinder",
            vec![
                (0, "b_z_1", magnet.axis_field(0.5e-3)),
                (0, "b_z_2", magnet.axis_field(1e-3)),
                (0, "b_z_3", magnet.axis_field(2e-3)),
                (0, "b_z_4", magnet.axis_field(5e-3)),
                (0, "b_z_5", magnet.axis_field(10e-3)),
                (0, "b_z_6", magnet.axis_field(20e-3)),
                (0, "b_r_7", edge.0),
                (0, "b_z_7", edge.1),
                (0, "b_abs_7", edge.0.hypot(edge.1)),
            ],
        ),
        ("magnetised-cylinder-mean", vec![(0, "b_mean_magnet", long.mean_flux_density())]),
        ("maxwell-pull", vec![(0, "pull", gap::pull_of_two_gaps(10.0, pole, ring))]),
        (
            "sphere-linear",
            vec![
                (0, "b_mean_sphere", 10.0 * ball::linear(100.0)),
                (0, "b_z_1", 10.0 * ball::linear(100.0)),
                (0, "b_z_2", 10.0 * ball::linear(100.0)),
            ],
        ),
        (
            "sphere-saturating",
            vec![
                (0, "b_mean_sphere", steel(0.5)),
                (0, "b_z_1", steel(0.5)),
                (1, "b_mean_sphere", steel(0.05)),
            ],
        ),
        (
            "sphere-table",
            vec![
                (0, "b_mean_sphere", table(0.1)),
                (1, "b_mean_sphere", table(0.3)),
                (2, "b_mean_sphere", table(0.5)),
                (3, "b_mean_sphere", table(0.6)),
            ],
        ),
        (
            "spherical-shield",
            vec![
                (0, "b_z_1", 10.0 * ball::shield(0.9, 1000.0)),
                (0, "b_z_2", 10.0 * ball::shield(0.9, 1000.0)),
            ],
        ),
    ]
}

/// Every check of these cases is a formula's, and rounded by no more than a fiftieth of its tolerance.
#[test]
fn expected_values_are_the_formulas() {
    for (name, values) in formulas() {
        let case = case::load(&root().join("cases").join(name)).expect("the case is there");
        let checks: usize = case.questions.iter().map(|q| q.checks.len()).sum();
        assert_eq!(checks, values.len(), "{name}: a check without a formula");
        for (question, key, value) in values {
            let check = case.questions[question].checks.iter().find(|c| c.key == key).expect(key);
            let deviation = (check.expected - value).abs() / value.abs();
            assert!(deviation <= 0.02 * check.tolerance, "{name}, {key}: {} is not {value}", check.expected);
        }
    }
}

/// What the case files say about filaments of finite section.
#[test]
fn finite_sections_matter_little() {
    let filament = loops::pull_on_half_space(0.05, 1000.0, 0.01, 1e5);
    let section = loops::pull_on_half_space_of_section(0.05, 1000.0, 0.01, 2e-4, 1e5);
    assert!((section / filament - 1.0 - 8.1e-7).abs() < 1e-7);
    let filament = loops::force_per_current2(0.1, 0.1, 0.05);
    let section = loops::force_per_current2_of_sections(0.1, 0.1, 0.05, 4e-4);
    assert!((section / filament - 1.0 - 8.7e-7).abs() < 1e-7);
    let thin = coil::helmholtz_constant() * 1000.0 / 0.1;
    let thick = 2.0 * coil(0.0995, 0.1005, 0.001, 0.05, 1000.0).axis_field(0.0);
    assert!((thick / thin - 1.0 + 1.67e-6).abs() < 1e-7);
}
