//! Pulls that are small differences of large stresses, and none at all.

use coilwright_fem::field::Probe;
use coilwright_fem::law::MU_0;
use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnetic::solved::Solved;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;
use std::f64::consts::PI;

fn pot(workpiece: &str, mu_r: f64) -> Sheet {
    let text = format!(
        "form = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\npole_diameter = \"20 mm\"\n\
         inner_diameter = \"44 mm\"\nback = \"5 mm\"\nmaterial = \"core\"\n[winding]\nampere_turns = \"900 A\"\n\
         [workpiece]\ndiameter = \"60 mm\"\nthickness = \"8 mm\"\n{workpiece}\nmaterial = \"weak\"\n\
         [[material]]\nname = \"core\"\npermeability = 800\n[[material]]\nname = \"weak\"\npermeability = {mu_r}\n"
    );
    Sheet::parse(&text, "test").unwrap_or_else(|f| panic!("{f:?}")).0
}

/// Pull and the half-width of what is claimed of its numerical error.
fn pull(sheet: &Sheet) -> (f64, f64) {
    let said = answer(sheet, &Question::Pull(PullQuestion::default())).expect("an answer");
    let pull = said.number("pull").expect("a pull");
    (pull, said.number("numerical_error").expect("its error") * pull.abs())
}

/// The force on a weakly magnetic body, (χ/2µ₀) ∫ ∇B² dV, to first order in χ (L. D. Landau and E. M. Lifshitz,
/// Electrodynamics of Continuous Media, § 35, from memory): here as the integral of B² over its two faces, from the field
/// without it.
#[test]
fn a_nearly_unmagnetic_workpiece() {
    let chi = 0.005;
    let sheet = pot("gap = \"0.5 mm\"", 1.0 + chi);
    let magnet = Magnet::complete(&sheet).expect("a magnet");
    let mut scene = magnet.scene(&magnet.open_stage());
    scene.drawing.growth *= 0.5;
    scene.drawing.size_max_m *= 0.3;
    let solved = Solved::for_pull(scene, 1e-3).expect("a field");
    let probe = Probe::new(solved.ladder.solution());
    let plate = magnet.workpiece.as_ref().expect("a workpiece");
    let side = |y: f64| {
        let n = 4000;
        let step = plate.x_m[1] / f64::from(n);
        (0..n)
            .map(|k| (f64::from(k) + 0.5) * step)
            .map(|x| 2.0 * PI * x * step * probe.at([x, y]).size_t().powi(2))
            .sum::<f64>()
    };
    let near = magnet.face_m + plate.gap_m;
    let want = chi / (2.0 * MU_0) * (side(near) - side(near + plate.thickness_m));
    let (got, error) = pull(&sheet);
    println!("{got} for {want}, claimed {error}");
    assert!((got - want).abs() < error + 4e-3 * want, "{got} ± {error} for {want}");
}

#[test]
fn what_is_not_magnetic_is_not_pulled() {
    for gap in ["gap = \"0.5 mm\"", "gap = \"50 mm\""] {
        assert_eq!(pull(&pot(gap, 1.0)), (0.0, 0.0));
    }
}

/// A table that rises straight up is solved, or named with the step.
#[test]
fn a_nearly_vertical_step() {
    let text = "form = \"pot\"\n[body]\nouter_diameter = \"50 mm\"\nheight = \"30 mm\"\npole_diameter = \"20 mm\"\n\
         inner_diameter = \"44 mm\"\nback = \"5 mm\"\nmaterial = \"steep\"\n[winding]\nampere_turns = \"900 A\"\n\
         [workpiece]\ndiameter = \"60 mm\"\nthickness = \"8 mm\"\ngap = \"0.1 mm\"\nmaterial = \"steep\"\n\
         [[material]]\nname = \"steep\"\ntable = [[\"0 A/m\", \"0 T\"], [\"100 A/m\", \"0.2 T\"], \
         [\"100.001 A/m\", \"1.4 T\"], [\"10 kA/m\", \"1.8 T\"]]\n";
    let sheet = Sheet::parse(text, "test").unwrap_or_else(|f| panic!("{f:?}")).0;
    match answer(&sheet, &Question::Pull(PullQuestion::default())) {
        Ok(said) => assert!(said.number("pull").is_some_and(|p| p > 0.0)),
        Err(e) => assert!(e.to_string().contains("nearly vertical"), "{e}"),
    }
}
