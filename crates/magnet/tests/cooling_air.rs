//! Convection and radiation against handbook examples and the general-purpose library `ht` 1.2.0
//! (verification/peers/ht_peer.py prints its values).

use coilwright_magnet::thermal::cooling::air::*;
use coilwright_magnet::thermal::cooling::correlation::*;
use coilwright_magnet::thermal::cooling::error::*;
use coilwright_magnet::thermal::cooling::*;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want} ± {relative}");
}

/// Incropera et al., table A.4 (from memory): 250, 300, 350, 400 K at 1 atm. The formulas are good to 1 %,
/// the table's last digit to 0.3 %.
#[test]
fn air_matches_the_handbook_table() {
    for (kelvin, rho, cp, mu, nu, k, alpha, pr) in [
        (250.0, 1.3947, 1006.0, 159.6e-7, 11.44e-6, 22.3e-3, 15.9e-6, 0.720),
        (300.0, 1.1614, 1007.0, 184.6e-7, 15.89e-6, 26.3e-3, 22.5e-6, 0.707),
        (350.0, 0.9950, 1009.0, 208.2e-7, 20.92e-6, 30.0e-3, 29.9e-6, 0.700),
        (400.0, 0.8711, 1014.0, 230.1e-7, 26.41e-6, 33.8e-3, 38.3e-6, 0.690),
    ] {
        // The table belongs to 1 atm and a gas constant of 287.0.
        let p = Air::default().properties(kelvin).unwrap();
        close(p.density, rho, 0.015);
        close(p.specific_heat, cp, 0.005);
        close(p.viscosity, mu, 0.01);
        close(p.kinematic_viscosity, nu, 0.02);
        close(p.conductivity, k, 0.015);
        close(p.thermal_diffusivity, alpha, 0.02);
        close(p.prandtl, pr, 0.02);
    }
}

/// The reference equation of state and transport correlations of Lemmon et al. as evaluated by CoolProp 7
/// (PyPI): density, specific heat, viscosity, conductivity at 101 325 Pa.
#[test]
fn air_matches_reference_correlations() {
    for (kelvin, rho, cp, mu, k) in [
        (250.0, 1.413_310, 1005.542, 1.603_815e-5, 0.022_564_4),
        (300.0, 1.176_996, 1006.374, 1.853_734e-5, 0.026_384_5),
        (350.0, 1.008_525, 1009.211, 2.086_715e-5, 0.030_003_3),
        (400.0, 0.882_307, 1014.144, 2.305_542e-5, 0.033_453_2),
        (450.0, 0.784_199, 1021.113, 2.512_397e-5, 0.036_760_1),
    ] {
        let p = Air::default().properties(kelvin).unwrap();
        // Ideal gas: 0.1 % at 250 K. Transport: viscosity 1.2 %, as the formula claims; conductivity 1.5 %,
        // by which handbooks differ among themselves at 250 K (Incropera's table A.4 has 22.3 mW/(m K)).
        close(p.density, rho, 0.002);
        close(p.specific_heat, cp, 0.003);
        close(p.viscosity, mu, 0.012);
        close(p.conductivity, k, 0.015);
    }
}

#[test]
fn thin_air_cools_less() {
    let s = Surface { orientation: Orientation::Vertical, length_m: 0.05, emissivity: 0.9 };
    let high = Air { pressure_pa: 70e3, ..Air::default() };
    let low = coefficient(&s, 353.15, 293.15, Air::default()).unwrap();
    let thin = coefficient(&s, 353.15, 293.15, high).unwrap();
    // Ra ~ p², Nu - 0.68 ~ Ra^¼.
    let k_over_l = Air::default().properties(323.15).unwrap().conductivity / 0.05;
    let ratio = (thin.convective / k_over_l - 0.68) / (low.convective / k_over_l - 0.68);
    close(ratio, (70e3f64 / 101_325.0).sqrt(), 1e-9);
}

/// `ht` 1.2.0, among them its documentation's values of Incropera example 9.2 (147.1618...) and of McAdams's
/// plates.
#[test]
fn correlations_match_ht() {
    for (ra, pr, want) in [
        (1e5, 0.7, 9.198_488_134_386_638),
        (1e7, 0.7, 31.156_249_942_529_495),
        (1e11, 0.7, 524.593_648_297_002_9),
        (0.69 * 2.63e9, 0.69, 147.161_852_237_706_03),
    ] {
        close(churchill_chu_plate(ra, pr), want, 1e-12);
    }
    for (ra, want) in [
        (1e2, 1.667_730_610_152_997_4),
        (1e5, 7.764_131_735_076_143),
        (5.0708e6, 23.101_692_250_142_012),
        (1e10, 240.122_927_138_755_3),
    ] {
        close(churchill_chu_cylinder(ra, 0.7), want, 1e-12);
    }
    for (ra, up, down) in [
        (1e4, 5.4, 2.7),
        (1e6, 17.076_299_364_909_25, 8.538_149_682_454_625),
        (2e7, 40.716_264_248_923_586, 18.055_988_234_363_394),
        (1e9, 149.999_999_999_999_94, 48.013_544_071_050_916),
        (5.54 * 3.21e8, 181.731_212_743_844_57, 55.445_647_993_628_29),
    ] {
        close(horizontal_up(ra), up, 1e-12);
        close(horizontal_down(ra), down, 1e-12);
    }
    for (re, want) in
        [(1e2, 5.156_131_724_219_801), (1e4, 53.327_788_670_209_97), (1e6, 1_226.721_848_876_950_6)]
    {
        close(churchill_bernstein(re, 0.7), want, 1e-12);
    }
    // Baehr and Stephan's laminar plate, another fit to the same Blasius solution.
    close(flat_plate(1e3, 0.7), 18.643_785_287_522_62, 0.01);
    close(flat_plate(1e5, 0.7), 186.437_852_875_226_2, 0.01);
}

/// Popiel's fit to the boundary-layer solution on an upright cylinder, by `ht` 1.2.0
/// (Nu_vertical_cylinder_Popiel_Churchill). Its base is another flat-plate formula; correlations of this kind
/// agree to 5 %.
#[test]
fn upright_cylinders_match_ht() {
    for (gr, slender, want) in [
        (1e5, 0.6, 8.992_395_911_150_656),
        (1e5, 2.0, 10.086_361_012_297_193),
        (1e6, 1.0, 15.969_596_523_882_602),
    ] {
        close(vertical(0.7 * gr, 0.7) + curvature_term(slender, 0.7), want, 0.05);
    }
}

/// The passage between the laminar and the general form keeps the coefficient continuous.
#[test]
fn the_vertical_plate_has_no_jump() {
    let mut last = vertical(1e7, 0.7);
    let mut ra: f64 = 1e7;
    while ra < 1e10 {
        ra *= 1.01;
        let next = vertical(ra, 0.7);
        assert!(next > last && next / last < 1.01, "at {ra}");
        last = next;
    }
    close(vertical(1e9, 0.7), churchill_chu_plate(1e9, 0.7), 1e-12);
    close(vertical(1e8, 0.7), churchill_chu_laminar(1e8, 0.7), 1e-12);
}

/// Incropera et al., example 9.2 (figures from memory, found again from the formula): fire screen of 0.71 m ×
/// 1.02 m at 232 °C in air of 23 °C; h = 7.0 W/(m² K), 1060 W. Our air properties instead of the book's: 1.5
/// %.
#[test]
fn incropera_9_2_fire_screen() {
    let s = Surface { orientation: Orientation::Vertical, length_m: 0.71, emissivity: 1.0 };
    let h = coefficient(&s, 232.0 + 273.15, 23.0 + 273.15, Air::default()).unwrap();
    close(h.convective, 7.0, 0.015);
    close(h.convective * 0.71 * 1.02 * (232.0 - 23.0), 1060.0, 0.015);
    assert_eq!(h.outside_range, None);
}

/// Incropera et al., example 9.4 (from memory): pipe of 0.1 m at 165 °C in a room of 23 °C, emissivity 0.85;
/// per metre 322 W by convection (h = 7.23), 441 W by radiation.
#[test]
fn incropera_9_4_pipe() {
    let s = Surface { orientation: Orientation::HorizontalCylinder, length_m: 0.1, emissivity: 0.85 };
    let h = coefficient(&s, 165.0 + 273.15, 23.0 + 273.15, Air::default()).unwrap();
    let per_metre = std::f64::consts::PI * 0.1 * (165.0 - 23.0);
    close(h.convective, 7.23, 0.015);
    close(h.convective * per_metre, 322.4, 0.015);
    // The book's 23 °C is 296 K, its 165 °C 438 K.
    close(h.radiative * per_metre, 441.0, 0.005);
    close(h.total() * per_metre, 763.0, 0.01);
}

/// Vertical plate of 50 mm at 80 °C in 20 °C: 7.96 W/(m² K) by the laminar formula (3 % for air properties).
#[test]
fn a_small_plate() {
    let s = Surface { orientation: Orientation::Vertical, length_m: 0.05, emissivity: 0.9 };
    let h = coefficient(&s, 353.15, 293.15, Air::default()).unwrap();
    close(h.convective, 7.96, 0.03);
    close(h.total(), 14.9, 0.02);
}

/// ε σ (T₁² + T₂²)(T₁ + T₂); ours and `ht` 1.2.0's.
#[test]
fn radiation_matches_the_formula() {
    for (eps, hot, cold, want) in [
        (0.9, 60.0, 20.0, 6.294),
        (0.9, 80.0, 20.0, 6.948),
        (0.9, 100.0, 20.0, 7.657),
        (0.25, 80.0, 25.0, 1.972),
    ] {
        close(radiative_coefficient(eps, hot + 273.15, cold + 273.15), want, 3e-4);
    }
    // The library's Stefan–Boltzmann constant is that of CODATA 2014, 1.3e-6 lower.
    close(radiative_coefficient(0.9, 353.15, 293.15), 6.947_892_671_802_564, 2e-6);
    close(radiative_coefficient(0.25, 353.15, 298.15), 1.972_197_801_979_340_2, 2e-6);
}

/// Incropera et al., example 7.4 (from memory): cylinder of 12.7 mm at 128.4 °C in air of 26.2 °C at 10 m/s;
/// Churchill and Bernstein give 96 W/(m² K) with air at the film temperature (Re = 6071).
#[test]
fn incropera_7_4_cylinder_in_a_stream() {
    let s = Surface { orientation: Orientation::HorizontalCylinder, length_m: 0.0127, emissivity: 0.0 };
    let air = Air { speed_m_s: 10.0, ..Air::default() };
    let h = coefficient(&s, 128.4 + 273.15, 26.2 + 273.15, air).unwrap();
    close(h.convective, 96.0, 0.02);
    assert_eq!(h.radiative, 0.0);
    assert!(h.method.contains("Churchill–Bernstein"));
}

#[test]
fn ranges_are_said_to_be_left() {
    // A face of 50 mm looking up: area over perimeter 12.5 mm, Rayleigh number a few thousand.
    let face = Surface { orientation: Orientation::LooksUp, length_m: 0.0125, emissivity: 0.9 };
    let h = coefficient(&face, 333.15, 293.15, Air::default()).unwrap();
    assert!(h.outside_range.as_deref().unwrap().contains("Rayleigh"));
    assert_eq!(h.relative_uncertainty, 0.25);
    // A cold surface behaves as a hot one upside down.
    let under = Surface { orientation: Orientation::LooksDown, ..face };
    let cold = coefficient(&under, 293.15, 333.15, Air::default()).unwrap();
    close(cold.convective, h.convective, 1e-12);
}

#[test]
fn weak_wind_changes_little_and_strong_wind_rules() {
    let shell = Orientation::VerticalCylinder { diameter_m: 0.05 };
    let s = Surface { orientation: shell, length_m: 0.03, emissivity: 0.9 };
    let at = |v| coefficient(&s, 333.15, 293.15, Air { speed_m_s: v, ..Air::default() }).unwrap().convective;
    assert!(at(0.01) / at(0.0) < 1.02);
    let p = Air::default().properties(313.15).unwrap();
    let forced = churchill_bernstein(5.0 * 0.05 / p.kinematic_viscosity, p.prandtl) * p.conductivity / 0.05;
    close(at(5.0), forced, 0.02);
}

#[test]
fn impossible_input_is_refused() {
    let s = Surface { orientation: Orientation::Vertical, length_m: 0.05, emissivity: 0.9 };
    let air = Air::default();
    let wrong = |e| Surface { emissivity: e, ..s };
    assert_eq!(coefficient(&wrong(1.2), 300.0, 290.0, air), Err(CoolingError::Emissivity(1.2)));
    assert!(matches!(coefficient(&wrong(f64::NAN), 300.0, 290.0, air), Err(CoolingError::Emissivity(_))));
    assert_eq!(coefficient(&s, -1.0, 290.0, air), Err(CoolingError::Temperature(-1.0)));
    assert_eq!(
        coefficient(&Surface { length_m: 0.0, ..s }, 300.0, 290.0, air),
        Err(CoolingError::Length(0.0))
    );
    let gale = Air { speed_m_s: -1.0, ..air };
    assert!(matches!(coefficient(&s, 300.0, 290.0, gale), Err(CoolingError::Air { .. })));
}

/// The bodies of a trade fact: a 50 mm magnet of 8 W reaches about 60 °C outside in air of 24 °C (common
/// practice, no source). Its bare surfaces alone, hanging free and with an isothermal shell, must be of that
/// order.
#[test]
fn a_small_pot_magnet_of_eight_watts() {
    let (d, h) = (0.05, 0.03);
    let disc = std::f64::consts::PI * d * d / 4.0;
    let surfaces = [
        (Orientation::VerticalCylinder { diameter_m: d }, h, std::f64::consts::PI * d * h),
        (Orientation::LooksUp, d / 4.0, disc),
        (Orientation::LooksDown, d / 4.0, disc),
    ];
    let lost = |kelvin: f64| -> f64 {
        surfaces
            .iter()
            .map(|&(orientation, length_m, area)| {
                let s = Surface { orientation, length_m, emissivity: 0.85 };
                coefficient(&s, kelvin, 297.15, Air::default()).unwrap().total() * area * (kelvin - 297.15)
            })
            .sum()
    };
    // After half an hour it is not steady and a workpiece or mounting helps: the free magnet must be hotter
    // than 60 °C in the end, but not beyond all measure.
    assert!(lost(333.15) < 8.0 && lost(403.15) > 8.0, "{} {}", lost(333.15), lost(403.15));
}
