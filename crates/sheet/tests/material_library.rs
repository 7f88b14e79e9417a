//! The data of materials: physically possible, sourced or wide, found by name.

use coilwright_sheet::material::{
    CELSIUS_ZERO_K, MU0, Status, conductor, conductor_names, permanent, permanent_names, soft, soft_names,
    solid, solid_names, thermal_class, thermal_class_names,
};

#[test]
fn copper_and_aluminium_by_temperature() {
    // IEC 60034-1, 8.6.2 (formula from memory): R(100 °C)/R(20 °C) = (k + 100)/(k + 20), k = 234.5 and 225.
    let hot = 100.0 + CELSIUS_ZERO_K;
    let (copper, aluminium) = (conductor("copper").unwrap(), conductor("Aluminum").unwrap());
    assert!((copper.resistance_factor(hot) - 1.314342).abs() < 1e-6);
    assert!((aluminium.resistance_factor(hot) - 1.326531).abs() < 1e-6);
    // The same formula: 10.00 Ω at 20 °C and 12.36 Ω warm is 80.062 °C.
    assert!((copper.temperature_of_factor(1.236) - CELSIUS_ZERO_K - 80.062).abs() < 1e-3);
    // IEC 60028: 1.7241e-8 Ω m, temperature coefficient 0.00393 1/K (from memory).
    assert!((copper.resistivity_20_ohm_m - 1.7241e-8).abs() < 1e-12);
    assert!((copper.resistance_factor(21.0 + CELSIUS_ZERO_K) - 1.0 - 0.00393).abs() < 0.003 * 0.00393);
    // IEC 60889 (from memory): 2.8264e-8 Ω m. Densities IEC 60028, IEC 60889 (from memory), 0.5 %.
    assert!((aluminium.resistivity_20_ohm_m / 2.8264e-8 - 1.0).abs() < 1e-3);
    assert!((copper.thermal.density_kg_per_m3 / 8890.0 - 1.0).abs() < 5e-3);
    assert!((aluminium.thermal.density_kg_per_m3 / 2703.0 - 1.0).abs() < 5e-3);
    // CRC Handbook and Incropera (from memory), 2 %: copper 385, aluminium 897, iron and steel 450 to 490 J/(kg K).
    assert!((copper.thermal.specific_heat_j_per_kgk / 385.0 - 1.0).abs() < 0.02);
    assert!((aluminium.thermal.specific_heat_j_per_kgk / 897.0 - 1.0).abs() < 0.02);
    for steel in ["TEAM 13 steel", "relay iron", "low-carbon steel", "cast iron"] {
        let heat = soft(steel).unwrap().thermal.specific_heat_j_per_kgk;
        assert!((441.0..500.0).contains(&heat), "{steel}: {heat}");
    }
}

/// Common practice, no source: which material needs more field, and what it saturates at.
#[test]
fn soft_materials_stand_in_the_usual_order() {
    let mu = |name: &str, b: f64| b / (MU0 * soft(name).unwrap().law.h_of_b(b));
    assert!(mu("relay iron", 1.0) > mu("low-carbon steel", 1.0));
    assert!(mu("low-carbon steel", 1.0) > mu("free-machining steel", 1.0));
    assert!(mu("free-machining steel", 1.0) > mu("cast iron", 1.0));
    for name in soft_names() {
        let material = soft(name).unwrap();
        assert!(material.source.len() > 20, "{name}: no source");
        if material.status == Status::TypicalUnsourced {
            assert!(material.relative_standard >= 0.25, "{name}: band too narrow for a value from memory");
            assert!(material.source.contains("unsourced"), "{name}");
        }
        if let Some((value, band)) = material.coercivity_a_per_m {
            assert!(value > band && band > 0.2 * value, "{name}: coercivity {value} ± {band}");
        }
    }
    // Room-temperature saturation of pure iron is 2.15 to 2.16 T (Bozorth, Ferromagnetism, from memory).
    assert!((soft("iron").unwrap().saturation_t - 2.15).abs() < 0.02);
}

/// Physics: BHmax ≤ Br²/(4 µ0), HcB ≤ Br/µ0, HcB ≤ HcJ.
#[test]
fn permanent_magnets_are_possible() {
    assert!(permanent_names().count() > 30);
    for name in permanent_names() {
        let m = permanent(name).unwrap();
        let br = m.remanence_t + m.remanence_half_width_t;
        let (least, largest) = m.energy_product_j_per_m3;
        // Half a kJ/m³: catalogues round to whole ones.
        assert!(least <= largest && largest <= br * br / (4.0 * MU0) + 500.0, "{name}: BHmax {largest}");
        // On a straight line of recoil permeability µrec the product is at most Br²/(4 µ0 µrec).
        assert!(least <= br * br / (4.0 * MU0 * m.recoil_permeability), "{name}: least BHmax {least}");
        // The doubt about a range without a source is no part of the range.
        let unsourced = if m.status == Status::TypicalUnsourced { 0.01 * m.remanence_t } else { 0.0 };
        let least_br = m.remanence_t - m.remanence_half_width_t + unsourced;
        assert!(m.coercivity_a_per_m <= least_br / MU0 * (1.0 + 1e-9), "{name}: HcB");
        assert!(m.coercivity_a_per_m <= m.intrinsic_coercivity_a_per_m, "{name}: HcB above HcJ");
        assert!(m.recoil_permeability >= 1.0 && m.knee_fraction < 1.0 && m.remanence_per_k < 0.0, "{name}");
        assert!(m.knee_field_a_per_m() < 0.0 && !m.source.is_empty(), "{name}");
    }
}

#[test]
fn permanent_magnets_by_temperature() {
    // N42: Br 1.28 to 1.32 T, −0.12 %/°C (common practice, no source).
    let n42 = permanent("n42").unwrap();
    assert!(
        (n42.remanence_t - 1.30).abs() < 1e-12 && (n42.remanence_half_width_t - 0.02 - 0.013).abs() < 1e-12
    );
    let warm = n42.at_temperature(70.0 + CELSIUS_ZERO_K);
    assert!((warm.remanence_t - 1.30 * (1.0 - 0.0012 * 50.0)).abs() < 1e-12);
    assert!((warm.intrinsic_coercivity_a_per_m - 955e3 * (1.0 - 0.0076 * 50.0)).abs() < 1e-6);
    // There and back again.
    let back = warm.at_temperature(n42.temperature_k);
    assert!((back.remanence_t - n42.remanence_t).abs() < 1e-12);
    assert!((back.intrinsic_coercivity_a_per_m - n42.intrinsic_coercivity_a_per_m).abs() < 1e-6);
    // NdFeB is in danger when hot, ferrite when cold; a knee that has come into the second quadrant (B > 0).
    assert!(n42.knee_flux_density_t() < warm.knee_flux_density_t());
    let y30 = permanent("Y30").unwrap();
    assert!(
        y30.at_temperature(253.15).knee_flux_density_t() > y30.at_temperature(353.15).knee_flux_density_t()
    );
    // Suffix ladder (common practice, no source): N48H ≥ 1353 kA/m, 120 °C.
    let n48h = permanent("N48H").unwrap();
    assert!(
        (n48h.intrinsic_coercivity_a_per_m - 1353e3).abs() < 1.0 && n48h.status == Status::TypicalUnsourced
    );
    assert!(!n48h.is_too_hot(119.0 + CELSIUS_ZERO_K) && n48h.is_too_hot(121.0 + CELSIUS_ZERO_K));
    assert_eq!(permanent("N42 SH").unwrap().status, Status::TypicalUnsourced);
}

#[test]
fn names_are_forgiving_and_errors_suggest() {
    assert_eq!(soft("Low carbon Steel").unwrap().name, "low-carbon steel");
    assert_eq!(soft("mild steel").unwrap().name, "low-carbon steel");
    let error = soft("cast irom").unwrap_err();
    assert_eq!(error.nearest[0], "cast iron");
    assert!(error.to_string().contains("cast irom"));
    assert_eq!(permanent("N53").unwrap_err().nearest.len(), 3);
    assert_eq!(conductor("coper").unwrap_err().nearest[0], "copper");
    assert_eq!(solid("epoxi").unwrap_err().nearest[0], "epoxy");
    for name in solid_names() {
        let s = solid(name).unwrap();
        let t = s.thermal;
        assert!(
            t.conductivity_w_per_mk > 0.0 && t.density_kg_per_m3 > 1.0 && t.specific_heat_j_per_kgk > 100.0
        );
        assert!(t.conductivity_relative_standard > 0.0 && !s.source.is_empty(), "{name}");
    }
    assert_eq!(conductor_names().count(), 2);
}

#[test]
fn thermal_classes() {
    // IEC 60085, from memory: A 105, E 120, B 130, F 155, H 180 °C.
    for (name, celsius) in [("A", 105.0), ("E", 120.0), ("B", 130.0), ("F", 155.0), ("H", 180.0)] {
        assert!((thermal_class(name).unwrap().limit_k - CELSIUS_ZERO_K - celsius).abs() < 1e-9);
    }
    assert_eq!(thermal_class("155").unwrap().name, "F");
    assert_eq!(thermal_class("h").unwrap().name, "H");
    assert!(thermal_class("X").is_none());
    assert_eq!(thermal_class_names().count(), 9);
}
