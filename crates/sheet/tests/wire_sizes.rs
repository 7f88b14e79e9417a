//! Wire: gauges and resistance against a published table, enamel against the standard's sizes, text in.

use coilwright_sheet::material::conductor;
use coilwright_sheet::wire::{
    Grade, Wire, WireError, awg_wires, nearest_preferred_m, preferred_diameters_m, standard_wires,
};
use proptest::prelude::*;

#[test]
fn gauges_and_resistance_of_the_published_table() {
    #[derive(serde::Deserialize)]
    struct Table {
        row: Vec<(i32, f64, f64)>,
    }
    let table: Table = toml::from_str(include_str!("data/awg.toml")).unwrap();
    assert_eq!(table.row.len(), 31);
    let copper = conductor("copper").unwrap().resistivity_20_ohm_m;
    for (gauge, mm, ohm_per_1000_ft) in table.row {
        let wire = Wire::awg(gauge, Grade::Bare).unwrap();
        assert!((wire.diameter_m * 1e3 / mm - 1.0).abs() < 1e-4, "AWG {gauge}: {} m", wire.diameter_m);
        let ohm = 304.8 * wire.resistance_ohm_per_m(copper);
        // 0.05 %: the table is rounded to four digits.
        assert!((ohm / ohm_per_1000_ft - 1.0).abs() < 5e-4, "AWG {gauge}: {ohm} Ω per 1000 ft");
    }
    // ASTM B258 defines 0000 as 0.4600 in and 36 as 0.0050 in.
    assert!((Wire::awg(-3, Grade::Bare).unwrap().diameter_m / 0.0254 - 0.46).abs() < 1e-12);
    assert!((Wire::awg(36, Grade::Bare).unwrap().diameter_m / 0.0254 - 0.005).abs() < 1e-15);
}

/// The names that winders use. BS 3737:1964 from memory: SWG 28 is 0.0148 in, 18 is 0.048 in, 36 is 0.0076 in.
#[test]
fn wires_by_the_names_of_the_trade() {
    for (text, mm, name) in [
        ("27 AWG", 0.36057, "AWG 27 grade 1"),
        ("AWG27 grade 2", 0.36057, "AWG 27 grade 2"),
        ("SWG 28", 0.37592, "SWG 28 grade 1"),
        ("18 swg G2", 1.2192, "SWG 18 grade 2"),
        ("SWG 36 ± 1 %", 0.19304, "SWG 36 grade 1"),
        ("0.35mm G2", 0.35, "0.350 mm grade 2"),
        ("CuL 0.35", 0.35, "0.350 mm grade 1"),
        ("CuL 0,35 mm g1", 0.35, "0.350 mm grade 1"),
    ] {
        let wire = Wire::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert!((1e3 * wire.diameter_m / mm - 1.0).abs() < 1e-4, "{text}: {} m", wire.diameter_m);
        assert_eq!(wire.name, name, "{text}");
    }
    assert!((Wire::parse("SWG 36 ± 1 %").unwrap().diameter_half_width_m / 1.9304e-6 - 1.0).abs() < 1e-9);
    assert_eq!(Wire::parse("SWG 51"), Err(WireError::BritishGauge { number: 51 }));
    for text in ["SWG", "28 SWG 3", "CuL", "0.35 mm G4", "AWG 27 SWG"] {
        assert!(Wire::parse(text).is_err(), "{text}");
    }
}

#[test]
fn enamel_of_preferred_sizes() {
    // IEC 60317-0-1, Table 1 (from memory): greatest overall diameter.
    for (mm, greatest) in
        [(0.1, [0.117, 0.125, 0.132]), (0.45, [0.491, 0.513, 0.533]), (4.0, [4.088, 4.133, 4.176])]
    {
        for (grade, od) in [Grade::One, Grade::Two, Grade::Three].into_iter().zip(greatest) {
            let wire = Wire::new(mm * 1e-3, grade).unwrap();
            let most = 1e3 * (wire.overall_diameter_m + wire.overall_half_width_m);
            assert!((most - od).abs() < 1e-9, "{mm} {grade}: {most}");
            assert!(wire.overall_source.contains("from memory"));
        }
    }
    // 0.100 mm grade 1 is 0.108 to 0.117 mm (IEC 60317-0-1, from memory); to 1 µm.
    let wire = Wire::new(1e-4, Grade::One).unwrap();
    assert!((1e3 * (wire.overall_diameter_m - wire.overall_half_width_m) - 0.108).abs() < 1e-3);
    let between = Wire::new(0.3606e-3, Grade::Two).unwrap();
    assert!(between.overall_source.starts_with("interpolated"));
}

/// Enamel thickens with the wire and with the grade, and the series is R 20 (ratio 10^(1/20), ISO 3).
#[test]
fn sizes_are_in_order() {
    let sizes: Vec<f64> = preferred_diameters_m().collect();
    for pair in sizes.windows(2) {
        let ratio = pair[1] / pair[0];
        assert!(ratio > 1.1 && ratio < 1.29, "{pair:?}");
    }
    for grade in [Grade::One, Grade::Two, Grade::Three] {
        let wires: Vec<Wire> = standard_wires(grade).collect();
        assert_eq!(wires.len(), sizes.len());
        for pair in wires.windows(2) {
            let build = |w: &Wire| w.overall_diameter_m - w.diameter_m;
            // 1 µm: the table is rounded to that.
            assert!(build(&pair[1]) > build(&pair[0]) - 1.01e-6, "{} to {}", pair[0].name, pair[1].name);
        }
    }
    for ((one, two), three) in awg_wires(Grade::One).zip(awg_wires(Grade::Two)).zip(awg_wires(Grade::Three)) {
        assert!(one.diameter_m < one.overall_diameter_m);
        assert!(
            one.overall_diameter_m < two.overall_diameter_m
                && two.overall_diameter_m < three.overall_diameter_m
        );
    }
    assert_eq!(awg_wires(Grade::One).count(), 54);
    assert!((nearest_preferred_m(0.39e-3) - 0.4e-3).abs() < 1e-12);
}

#[test]
fn wire_text() {
    let wire = |text: &str| Wire::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
    let w = wire("0.4 mm grade 2");
    assert!((w.diameter_m - 0.4e-3).abs() < 1e-15 && w.grade == Grade::Two && !w.grade_is_assumed);
    assert_eq!(w.name, "0.400 mm grade 2");
    // IEC 60317-0-1 (from memory): ± 0.004 mm at 0.400 mm, ± 0.003 mm at 0.100 mm.
    assert!((w.diameter_half_width_m - 4e-6).abs() < 1e-12);
    assert!((wire("0.1 mm").diameter_half_width_m - 3e-6).abs() < 1e-12);
    let bare = wire("0.4 mm bare");
    assert_eq!((bare.grade, bare.overall_diameter_m), (Grade::Bare, bare.diameter_m));
    let plain = wire("0.4mm");
    assert!(plain.grade == Grade::One && plain.grade_is_assumed);
    assert!((wire("0.4 mm ± 0.01 mm grade 1").diameter_half_width_m - 1e-5).abs() < 1e-12);
    assert!((wire("0.4 mm grade 1 +/- 0.01 mm").diameter_half_width_m - 1e-5).abs() < 1e-12);
    assert!((wire("0.4 mm ± 2 %").diameter_half_width_m - 8e-6).abs() < 1e-12);
    let awg = wire("AWG 27 grade 2");
    assert_eq!((awg.awg, awg.grade, awg.name.as_str()), (Some(27), Grade::Two, "AWG 27 grade 2"));
    assert!(wire("awg27").grade_is_assumed);
    assert!((wire("AWG 27 ± 1 %").diameter_half_width_m / awg.diameter_m - 0.01).abs() < 1e-12);
    for (text, number) in [("AWG 0", 0), ("AWG 00", -1), ("AWG 4/0", -3), ("AWG 0000", -3), ("AWG 50", 50)] {
        assert_eq!(wire(text).awg, Some(number), "{text}");
    }
    assert!((wire("20 mil bare").diameter_m - 0.508e-3).abs() < 1e-12);
}

#[test]
fn bad_wire_text() {
    for text in [
        "",
        "0.4",
        "0.4 V",
        "AWG",
        "AWG x",
        "0.4 mm grade 4",
        "nan mm",
        "0.4 mm ± 0.3 mm",
        "-1 mm",
        "0.4 mm ± -1 %",
    ] {
        assert!(Wire::parse(text).is_err(), "'{text}' was taken for a wire");
    }
    assert_eq!(Wire::parse("AWG 51"), Err(WireError::Gauge { number: 51 }));
    assert!(matches!(Wire::parse("40 mm"), Err(WireError::Size { .. })));
    assert!(matches!(Wire::parse("AWG 99999999999"), Err(WireError::Text { .. })));
}

proptest! {
    #[test]
    fn any_text_is_answered(text in "(awg)?[ 0-9a-z.±/%µ+-]{0,24}") {
        if let Ok(wire) = Wire::parse(&text) {
            prop_assert!(wire.diameter_m > 0.0 && wire.overall_diameter_m >= wire.diameter_m);
        }
    }

    #[test]
    fn names_are_read_back(mm in 0.02f64..5.0, grade in prop::sample::select(vec![Grade::Bare, Grade::One, Grade::Two, Grade::Three])) {
        let wire = Wire::new(mm * 1e-3, grade).unwrap();
        let back = Wire::parse(&wire.name).unwrap();
        // The name has four decimals of a millimetre.
        prop_assert!((back.diameter_m - wire.diameter_m).abs() <= 0.51e-7 && back.grade == grade);
    }
}
