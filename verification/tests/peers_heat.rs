//! Films beside the general-purpose library `ht` from PyPI, on the spot. See `peer/mod.rs` for what this needs.

mod peer;

use coilwright_magnet::thermal::cooling::correlation::{
    churchill_bernstein, churchill_chu_cylinder, churchill_chu_plate, curvature_term, flat_plate,
    horizontal_down, horizontal_up, vertical,
};
use coilwright_magnet::thermal::cooling::radiative_coefficient;
use serde_json::Value;
use std::collections::BTreeMap;

/// Ours for a check of the script, and how far the two may lie apart, relatively.
fn ours(check: &Value) -> (f64, f64) {
    let of = |name: &str| {
        check["arguments"][name].as_f64().unwrap_or_else(|| panic!("no argument '{name}' in {check}"))
    };
    /// The same formula, computed twice.
    const SAME: f64 = 1e-12;
    match check["id"].as_str().expect("a name") {
        "churchill_chu_plate" => (churchill_chu_plate(of("rayleigh"), of("prandtl")), SAME),
        "churchill_chu_cylinder" => (churchill_chu_cylinder(of("rayleigh"), of("prandtl")), SAME),
        "horizontal_up" => (horizontal_up(of("rayleigh")), SAME),
        "horizontal_down" => (horizontal_down(of("rayleigh")), SAME),
        "churchill_bernstein" => (churchill_bernstein(of("reynolds"), of("prandtl")), SAME),
        // Baehr and Stephan's is another fit to the same Blasius solution.
        "flat_plate_laminar" => (flat_plate(of("reynolds"), of("prandtl")), 0.01),
        // Popiel's fit stands on another formula for the flat plate; correlations of this kind agree to 5 %.
        "vertical_cylinder" => {
            let prandtl = of("prandtl");
            (vertical(of("rayleigh"), prandtl) + curvature_term(of("slender"), prandtl), 0.05)
        }
        // The library's Stefan–Boltzmann constant is that of CODATA 2014, 1.3e-6 lower.
        "radiative_coefficient" => (radiative_coefficient(of("emissivity"), of("hot_k"), of("cold_k")), 2e-6),
        other => panic!("nothing of ours answers '{other}'"),
    }
}

#[test]
fn films_beside_ht() {
    let Some(answer) = peer::answer("ht_peer.py", &[]) else { return };
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for check in answer["checks"].as_array().expect("a list of checks") {
        let (own, tolerance) = ours(check);
        let theirs = check["value"].as_f64().expect("a number");
        assert!((own / theirs - 1.0).abs() <= tolerance, "{own} is not {theirs} to {tolerance:.0e}: {check}");
        *seen.entry(check["id"].as_str().expect("a name")).or_default() += 1;
    }
    // The script's own list must not shrink unseen.
    assert!(seen.len() >= 8 && seen.values().all(|n| *n >= 2), "{seen:?}");
}
