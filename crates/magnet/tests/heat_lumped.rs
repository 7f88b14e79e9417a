//! A whole magnet against closed forms, where nothing inside hinders the heat.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::heat_factors::HeatFactors;
use coilwright_magnet::material::{soft, solid};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::thermal::body::Body;
use coilwright_magnet::thermal::run::Pace;
use coilwright_magnet::thermal::setting::{Cooling, Setting};
use std::f64::consts::PI;

const POT: &str = r#"
form = "pot"
body.outer_diameter = "60 mm"
body.height = "36 mm"
body.pole_diameter = "24 mm"
body.wall = "3.5 mm"
body.back = "6 mm"
body.material = "low-carbon steel"
winding.turns = 2160
winding.wire = "0.3 mm grade 1"
winding.bobbin_wall = "0.5 mm"
winding.impregnation = "epoxy"
drive.voltage = "24 V"
surroundings.temperature = "24 °C"
surroundings.mounting = "on its back"
"#;

/// Ring of rectangular section, m³.
fn ring(inner: f64, outer: f64, length: f64) -> f64 {
    PI * (outer * outer - inner * inner) * length
}

/// Heat capacity of that pot by hand, J/K: volumes times density times specific heat.
fn capacity_j_k(copper_share: f64, wire_share: f64) -> f64 {
    let steel = soft("low-carbon steel").unwrap().thermal.volumetric_heat_j_per_m3k();
    let volumetric = |name: &str| solid(name).unwrap().thermal.volumetric_heat_j_per_m3k();
    let shell = ring(0.0, 0.030, 0.006) + ring(0.0265, 0.030, 0.030) + ring(0.0, 0.012, 0.030);
    let winding = ring(0.0125, 0.026, 0.029);
    let slot = ring(0.012, 0.0265, 0.030) - winding;
    let wound = copper_share * volumetric("copper")
        + (wire_share - copper_share) * volumetric("enamel")
        + (1.0 - wire_share) * volumetric("epoxy");
    steel * shell + volumetric("epoxy") * slot + wound * winding
}

fn body(cooling: Cooling) -> (Body, f64) {
    let sheet = Sheet::parse(POT, "test").unwrap().0;
    let magnet = Magnet::complete(&sheet).unwrap();
    let winding = magnet.excitation.as_ref().unwrap().winding.clone().unwrap();
    let setting = Setting::read(&sheet, &magnet, false).unwrap().setting;
    // No air, and everything inside conducts far better than the way out.
    let factors =
        HeatFactors { convection: 0.0, joints: 1e4, lining: 1e4, winding: 1e3, ..HeatFactors::default() };
    let setting = Setting { cooling, emissivity: 0.0, factors, ..setting };
    let capacity = capacity_j_k(winding.fill_factor, winding.overall_fill);
    (Body::new(&magnet, &winding, &setting).unwrap(), capacity)
}

fn constant_power(watts: f64) -> impl Fn(f64, f64) -> f64 {
    let sheet = Sheet::parse(POT, "test").unwrap().0;
    let magnet = Magnet::complete(&sheet).unwrap();
    let winding = magnet.excitation.unwrap().winding.unwrap();
    move |_, mean_k| watts / winding.resistance_ohm(mean_k)
}

/// The lumped exponential T = Tc + P/G (1 − e^(−t G/C)) in the limit of a small Biot number: G = 0.05 W/K by the back
/// to a coolant at the start's temperature and no other way out. Inside, the steel's own 20 W/K or so between its ends
/// remains: Bi ≈ 0.003, so half a per cent is allowed.
#[test]
fn the_lumped_exponential() {
    let conductance = 0.05;
    let (mut body, capacity) = body(Cooling::ColdPlate { coolant_k: 297.15, conductance_w_k: conductance });
    let cold = body.cold();
    let tau = capacity / conductance;
    let pace = Pace { end_s: 3.0 * tau, tolerance_k: 0.005, step_max_s: tau / 20.0, breaks_s: Vec::new() };
    let run = body.follow(&cold, constant_power(3.0), &pace, |_| false).unwrap();
    assert!(run.imbalance < 1e-3);
    for shot in run.shots.iter().filter(|s| s.time_s > 0.05 * tau) {
        let want = 3.0 / conductance * -(-shot.time_s / tau).exp_m1();
        for kelvin in [shot.mean_k, shot.back_k, shot.side_k, shot.face_k] {
            assert!(
                (kelvin - 297.15 - want).abs() < 0.005 * 60.0,
                "{} K for {want} K at {} s",
                kelvin - 297.15,
                shot.time_s
            );
        }
    }
    let constant = constant_power(3.0);
    let steady = body.steady(|k| constant(0.0, k)).unwrap().unwrap();
    assert!((steady.shot.back_k - 297.15 - 60.0).abs() < 0.3, "{}", steady.shot.back_k);
    assert!(steady.imbalance.abs() < 1e-6);
}

/// Without any way out the mean rises by P t / C: exact, for energy is kept exactly and everything has one temperature
/// but for the 0.1 K by which 5 W need to spread.
#[test]
fn nothing_lost_is_all_stored() {
    let (mut body, capacity) = body(Cooling::Adiabatic);
    let cold = body.cold();
    let pace = Pace { end_s: 1000.0, tolerance_k: 0.01, step_max_s: f64::INFINITY, breaks_s: Vec::new() };
    let run = body.follow(&cold, constant_power(5.0), &pace, |_| false).unwrap();
    let want = 5.0 * 1000.0 / capacity;
    assert!(
        (run.last().side_k - 297.15 - want).abs() < 0.003 * want + 0.1,
        "{} for {want}",
        run.last().side_k - 297.15
    );
    assert!((run.last().power_w - 5.0).abs() < 1e-9);
}
