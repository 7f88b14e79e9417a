//! Field, winding and heat together: curves against current, energies, and patterns of the drive.

use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::circuit::coil::Coil;
use coilwright_magnet::coupled::operating_point::{Driven, Pattern, Strength};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;

/// A pot whose iron has a fixed permeability: everything is linear.
const LINEAR: &str = r#"
form = "pot"
[body]
outer_diameter = "52 mm"
height = "30 mm"
pole_diameter = "20 mm"
wall = "3 mm"
back = "5 mm"
material = "plain"
[winding]
turns = 1500
wire = "0.3 mm grade 1"
[drive]
voltage = "24 V"
[workpiece]
gap = "0.5 mm"
material = "plain"
[[material]]
name = "plain"
permeability = 500
field_tolerance = 0
"#;

fn sheet(text: &str) -> Sheet {
    Sheet::parse(text, "test").unwrap_or_else(|faults| panic!("{faults:?}")).0
}

fn steel() -> String {
    LINEAR
        .replace("\"plain\"\n[winding]", "\"low-carbon steel\"\n[winding]")
        .replace("material = \"plain\"\n[[material]]", "material = \"low-carbon steel\"\n[[material]]")
}

/// In a linear magnet co-energy is ½ L I² at every current (any text on electromechanics, such as Fitzgerald and
/// Kingsley, chapter 3), as is the energy that the circuit keeps; pull goes as the square of the current.
#[test]
fn coenergy_is_half_l_i_squared_where_linear() {
    let sheet = sheet(LINEAR);
    let magnet = Magnet::complete(&sheet).unwrap();
    let driven = Driven::of(&sheet, &magnet).unwrap();
    let most = driven.current_a(293.15);
    let (strength, _) = Strength::solve(&sheet, &magnet, &driven, most, (7, &[]), true).unwrap();
    let knots = strength.linkage.knots().to_vec();
    let linkages: Vec<f64> = knots.iter().map(|i| strength.linkage.value(*i).unwrap()).collect();
    let last = knots.len() - 1;
    let inductance = linkages[last] / knots[last];
    let coil = Coil::new(knots.clone(), linkages, 10.0).unwrap();
    for (i, coenergy) in knots.iter().zip(&strength.coenergy_j).skip(1) {
        let half = 0.5 * inductance * i * i;
        assert!((coenergy / half - 1.0).abs() < 1e-4, "{coenergy} J for {half} J at {i} A");
        assert!((coil.stored_energy(*i).unwrap() / half - 1.0).abs() < 1e-4);
        let square = strength.pull_n(knots[last]) * (i / knots[last]).powi(2);
        assert!((strength.pull_n(*i) / square - 1.0).abs() < 1e-4);
        let field = strength.field_t(knots[last]).unwrap() * i / knots[last];
        assert!((strength.field_t(*i).unwrap() / field - 1.0).abs() < 1e-4);
    }
}

/// Between the currents at which the field was solved, the curve is the pull that the field itself gives there.
#[test]
fn the_curve_is_the_pull() {
    let text = steel();
    let sheet = sheet(&text);
    let magnet = Magnet::complete(&sheet).unwrap();
    let driven = Driven::of(&sheet, &magnet).unwrap();
    let most = driven.current_a(293.15);
    let (strength, _) = Strength::solve(&sheet, &magnet, &driven, most, (9, &[]), false).unwrap();
    let currents: Vec<f64> = [0.13, 0.31, 0.52, 0.77, 0.95].iter().map(|k| k * most).collect();
    let question = PullQuestion { currents_a: currents.clone(), ..PullQuestion::default() };
    let pull = answer(&sheet, &Question::Pull(question)).unwrap();
    let series = pull.series.iter().find(|s| s.key == "pull_current").unwrap();
    for (i, want) in currents.iter().zip(&series.ys[0].values) {
        assert!(
            (strength.pull_n(*i) / want - 1.0).abs() < 0.01,
            "{} N for {want} N at {i} A",
            strength.pull_n(*i)
        );
    }
    assert!((strength.pull_n(most) / pull.number("pull").unwrap() - 1.0).abs() < 0.006);
    // Energy conserved: ∫ i dλ + co-energy = λ i (closed loop in the λ–i plane).
    let knots = strength.linkage.knots().to_vec();
    let linkages: Vec<f64> = knots.iter().map(|i| strength.linkage.value(*i).unwrap()).collect();
    let last = knots.len() - 1;
    let whole = knots[last] * linkages[last];
    let coil = Coil::new(knots.clone(), linkages, 10.0).unwrap();
    let kept = coil.stored_energy(knots[last]).unwrap();
    assert!(((kept + strength.coenergy_j[last]) / whole - 1.0).abs() < 0.01);
    assert!(strength.coenergy_j[last] > 1.2 * kept, "saturated: co-energy exceeds energy");
}

#[test]
fn patterns_follow_the_sheet() {
    let read = |extra: &str| {
        let (before, after) = LINEAR.split_once("[drive]\n").unwrap();
        Pattern::read(&sheet(&format!("{before}[drive]\n{extra}{after}"))).map(|p| p.0)
    };
    assert_eq!(read("").unwrap(), Pattern::Continuous);
    assert_eq!(read("duty = \"100 %\"\n").unwrap(), Pattern::Continuous);
    assert_eq!(read("on_time = \"90 s\"\n").unwrap(), Pattern::Once { on_s: 90.0 });
    // DIN VDE 0580 takes a cycle of 5 min where none is given.
    assert_eq!(read("duty = \"40 %\"\n").unwrap(), Pattern::Cycles { on_s: 120.0, cycle_s: 300.0 });
    let cycles = read("duty = \"25 %\"\ncycle_time = \"2 min\"\n").unwrap();
    assert_eq!(cycles, Pattern::Cycles { on_s: 30.0, cycle_s: 120.0 });
    assert_eq!(read("on_time = \"30 s\"\ncycle_time = \"2 min\"\n").unwrap(), cycles);
    assert_eq!(read("duty = \"25 %\"\non_time = \"30 s\"\n").unwrap(), cycles);
    assert!(read("on_time = \"3 min\"\ncycle_time = \"2 min\"\n").is_err());

    let supply = Driven::of(&sheet(LINEAR), &Magnet::complete(&sheet(LINEAR)).unwrap()).unwrap().supply;
    let on = |t: f64| cycles.supply_at(t, supply).is_some();
    for k in 0..1000 {
        let start = 120.0 * f64::from(k);
        assert!(on(start) && on(start + 29.9) && !on(start + 30.0 + 1e-6) && !on(start + 119.9), "cycle {k}");
    }
    assert_eq!(cycles.breaks_s(240.0), [30.0, 120.0, 150.0]);
    assert_eq!((cycles.duty(), Pattern::Continuous.duty()), (0.25, 1.0));
}
