//! Plates, joints and the winding's own conductivity.

use coilwright_magnet::thermal::cooling::air::*;
use coilwright_magnet::thermal::cooling::contact::*;
use coilwright_magnet::thermal::cooling::error::*;
use coilwright_magnet::thermal::cooling::plate::*;
use coilwright_magnet::thermal::cooling::winding_conductivity::*;
use std::f64::consts::PI;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want} ± {relative}");
}

/// Incropera et al., example on the finned motorcycle cylinder (3.10 of the 6th edition; from memory): outer
/// radius 25 mm, fins of 6 mm × 20 mm, k = 186, h = 50: five fins and the bare 150 mm lose 690 W at 200 K,
/// with a fin efficiency read off a chart as 0.95. The chart is coarse: the exact efficiency is 0.979, so 3
/// %.
#[test]
fn annular_fin_of_incropera() {
    let (t, h, k) = (0.006, 50.0, 186.0);
    let (inner, outer) = (0.025, 0.045 + t / 2.0);
    let efficiency = annular_fin_efficiency(inner, outer, (2.0 * h / (k * t)).sqrt());
    close(efficiency, 0.95, 0.035);
    let fin = 2.0 * PI * (outer * outer - inner * inner);
    let bare = 2.0 * PI * inner * (0.15 - 5.0 * t);
    close(h * 200.0 * (5.0 * fin * efficiency + bare), 690.0, 0.03);
}

/// The fin equation (1/r)(r θ')' = m² θ with θ = 1 at the root and θ' = 0 at the rim, by finite volumes on
/// 4000 rings: second order, so good to 1e-6.
#[test]
fn annular_fin_against_finite_volumes() {
    for (a, b, m) in [(0.02, 0.1, 5.0), (0.02, 0.3, 30.0), (0.01, 0.011, 1.0), (0.005, 0.2, 0.5)] {
        let n = 4000;
        let step = (b - a) / f64::from(n);
        // From the rim inwards: flow and rise of each ring as multiples of the rim's rise (a shooting of a
        // linear problem).
        let (mut rise, mut flow) = (1.0, 0.0);
        for j in (0..n).rev() {
            let r_mid = a + (f64::from(j) + 0.5) * step;
            flow += m * m * rise * r_mid * step;
            let r_in = a + f64::from(j) * step;
            let reach = if j == 0 { 0.5 * step } else { step };
            rise += flow / r_in * reach;
            // Kept small against overflow; only the ratio counts.
            let scale = 1.0 / rise;
            rise = 1.0;
            flow *= scale;
        }
        let efficiency = 2.0 * flow / rise / (m * m * (b * b - a * a));
        close(annular_fin_efficiency(a, b, m), efficiency, 1e-4);
    }
}

#[test]
fn a_thick_conductive_plate_is_isothermal() {
    let plate = Plate { length_m: 0.2, thickness_m: 0.02, conductivity: 1e5, emissivity: 0.9 };
    let found = plate_conductance(&plate, 0.025, 333.15, 293.15, true, Air::default()).unwrap();
    close(found.efficiency, 1.0, 1e-4);
    // Both faces of the plate, rim counted by the corrected radius, less the base's side.
    let outer = 0.2 / PI.sqrt() + 0.01;
    let area = PI * (2.0 * outer * outer - 0.025f64.powi(2));
    close(found.conductance_w_k, found.near_coefficient * area, 1e-3);
}

#[test]
fn a_thinner_plate_carries_less_and_a_small_one_has_no_fin() {
    let steel = |thickness_m, length_m| Plate { length_m, thickness_m, conductivity: 50.0, emissivity: 0.9 };
    let g = |p: Plate| {
        plate_conductance(&p, 0.025, 333.15, 293.15, false, Air::default()).unwrap().conductance_w_k
    };
    assert!(g(steel(0.001, 0.3)) < g(steel(0.003, 0.3)) && g(steel(0.003, 0.3)) < g(steel(0.010, 0.3)));
    let small = plate_conductance(&steel(0.005, 0.03), 0.05, 333.15, 293.15, false, Air::default()).unwrap();
    let radius = 0.03 / PI.sqrt() + 0.0025;
    close(small.conductance_w_k, small.far_coefficient * PI * radius * radius, 1e-12);
}

/// Hexagonal arrays of cylinders by a multipole (Rayleigh) solution of order 48 with lattice sums, computed
/// once apart from this project's formula: conductivity over the matrix's for contrasts 10 and 1000. The
/// truncated formula loses 0.5 % close to contact.
#[test]
fn hexagonal_arrays_match_a_multipole_solution() {
    for (contrast, share, want, relative) in [
        (10.0, 0.3, 1.650_634_147_5, 1e-8),
        (10.0, 0.6, 2.937_551_072_0, 1e-6),
        (10.0, 0.75, 4.253_941_289_7, 2e-5),
        (10.0, 0.85, 5.911_790_191_3, 1e-3),
        (1000.0, 0.6, 4.011_429_571_8, 1e-6),
        (1000.0, 0.75, 7.299_116_016_0, 1e-4),
        (1000.0, 0.85, 15.404_843_851_1, 5e-3),
    ] {
        // No enamel: conductor and wire share are the same.
        let strand = Strand {
            conductor: contrast,
            enamel: 1.0,
            filler: 1.0,
            conductor_share: share,
            wire_share: share,
        };
        let found = winding_conductivity(&strand).unwrap();
        close(found.across, want, relative);
        // Hashin and Shtrikman's lower bound in two dimensions.
        close(
            found.across_low,
            ((1.0 + share) * contrast + 1.0 - share) / ((1.0 - share) * contrast + 1.0 + share),
            1e-12,
        );
        assert!(found.across >= found.across_low);
    }
}

/// Of one substance the winding is that substance.
#[test]
fn a_uniform_winding_is_uniform() {
    let strand = Strand { conductor: 0.3, enamel: 0.3, filler: 0.3, conductor_share: 0.5, wire_share: 0.7 };
    let found = winding_conductivity(&strand).unwrap();
    for k in [found.along, found.across, found.across_low] {
        close(k, 0.3, 1e-12);
    }
}

/// A wild winding of enamelled copper conducts some 0.1 to 0.3 W/(m K) across when dry, about one when
/// potted, and hundreds of times that along (common practice, no source).
#[test]
fn copper_windings_are_plausible() {
    let wound = |filler| {
        let strand =
            Strand { conductor: 400.0, enamel: 0.22, filler, conductor_share: 0.5, wire_share: 0.65 };
        winding_conductivity(&strand).unwrap()
    };
    let (dry, potted) = (wound(0.028), wound(0.25));
    assert!((0.1..0.3).contains(&dry.across), "{dry:?}");
    assert!((0.4..1.2).contains(&potted.across), "{potted:?}");
    close(dry.along, 200.0, 0.01);
}

#[test]
fn layers_and_sheets_conduct_in_series() {
    // Half each of 1 and 3 W/(m K): 1/(0.5 + 0.5/3) = 1.5.
    close(layered(1.0, 2e-3, 3.0, 1e-3).unwrap(), 1.5, 1e-12);
    close(layered(0.8, 1e-3, 0.1, 0.0).unwrap(), 0.8, 1e-12);
    assert_eq!(layered(1.0, 1e-3, 1.0, 2e-3), Err(CoolingError::Share(2.0)));
}

#[test]
fn impossible_windings_are_refused() {
    let good = Strand { conductor: 400.0, enamel: 0.2, filler: 0.03, conductor_share: 0.5, wire_share: 0.7 };
    let refused = |s: Strand| winding_conductivity(&s).unwrap_err();
    assert_eq!(refused(Strand { wire_share: 0.95, ..good }), CoolingError::Share(0.95));
    assert_eq!(refused(Strand { conductor_share: 0.8, ..good }), CoolingError::Share(0.8));
    assert_eq!(refused(Strand { filler: 0.0, ..good }), CoolingError::Conductivity(0.0));
}

#[test]
fn estimates_are_ordered_and_sourced() {
    let all = [dry_contact(), greased_contact(), cold_plate(), filled_gap(2e-4, 0.026).unwrap()];
    let finishes = ["matt paint", "rolled steel", "bright zinc"].map(|f| emissivity(f).unwrap());
    for e in all.into_iter().chain(finishes) {
        assert!(e.low < e.value && e.value < e.high && !e.source.is_empty(), "{e:?}");
    }
    close(filled_gap(2e-4, 0.026).unwrap().value, 130.0, 1e-12);
    assert_eq!(emissivity("chocolate"), None);
    // 100 W into 1 l/min: 1.4 K.
    close(coolant_rise_kelvin(100.0, 1e-3 / 60.0), 1.4354, 1e-3);
}
