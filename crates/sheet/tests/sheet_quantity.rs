//! Reading and showing quantities, against published conversion factors and rules of rounding.

use coilwright_sheet::quantity::Dimension::{self, *};
use coilwright_sheet::quantity::{Quantity, QuantityFault as Fault, UnitSystem, format_number};
use proptest::prelude::*;

fn read(text: &str, dimension: Dimension) -> Quantity {
    Quantity::parse(text, dimension).unwrap_or_else(|e| panic!("{text}: {e} ({})", e.hint))
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 4.0 * f64::EPSILON * a.abs().max(b.abs())
}

/// What stands on parts, on drawings and in people's heads: the letter code of IEC 60062:2016, fractions of an inch, hours
/// and minutes; and what only looks like it.
#[test]
fn reads_what_stands_on_parts_and_drawings() {
    for (text, dimension, value, half_width) in [
        ("18R", Resistance, 18.0, 0.0),
        ("18R2", Resistance, 18.2, 0.0),
        ("4k7", Resistance, 4700.0, 0.0),
        ("4k7 ± 5 %", Resistance, 4700.0, 235.0),
        ("1M0", Resistance, 1e6, 0.0),
        ("12VDC", Voltage, 12.0, 0.0),
        ("24 V DC ± 10 %", Voltage, 24.0, 2.4),
        ("0.004\"", Length, 0.004 * 0.0254, 0.0),
        ("1/64 in", Length, 0.0254 / 64.0, 0.0),
        ("5/16\"", Length, 5.0 / 16.0 * 0.0254, 0.0),
        ("1 1/4 in ± 1/64 in", Length, 1.25 * 0.0254, 0.0254 / 64.0),
        ("1 h 30 min", Time, 5400.0, 0.0),
        ("2min15s", Time, 135.0, 0.0),
        ("1 h 30 min ± 5 min", Time, 5400.0, 300.0),
    ] {
        let found = read(text, dimension);
        assert!(near(found.value, value) && near(found.half_width, half_width), "{text}: {found:?}");
    }
    for (text, dimension) in [
        ("4k7", Voltage),
        ("1/0 in", Length),
        ("1 2 3/4 in", Length),
        ("1/64", Length),
        ("30 min 1 h", Time),
        ("1 h 30", Time),
        ("R18R", Resistance),
    ] {
        assert!(Quantity::parse(text, dimension).is_err(), "{text}");
    }
}

/// SI values by NIST SP 811 (2008), appendix B.8, and the SI Brochure (2019); exact factors.
#[test]
fn reads_what_people_write() {
    let g0 = 9.806_65;
    for (text, dimension, value, half_width) in [
        ("50mm", Length, 0.05, 0.0),
        ("50 mm", Length, 0.05, 0.0),
        ("  50\u{a0}mm ", Length, 0.05, 0.0),
        ("20 um", Length, 20e-6, 0.0),
        ("20 \u{b5}m", Length, 20e-6, 0.0),
        ("20 \u{3bc}m", Length, 20e-6, 0.0),
        ("0.3 mm", Length, 0.0003, 0.0),
        ("2 in", Length, 0.0508, 0.0),
        ("2\"", Length, 0.0508, 0.0),
        ("0.5 inch +/- 0.01 inch", Length, 0.0127, 0.000_254),
        ("28 mm ± 0.2 mm", Length, 0.028, 0.0002),
        ("28 ± 0.2 mm", Length, 0.028, 0.0002),
        ("(28.0 ± 0.2) mm", Length, 0.028, 0.0002),
        ("28 mm +/- 200 um", Length, 0.028, 0.0002),
        ("28 mm +- 1 %", Length, 0.028, 0.000_28),
        ("28,5 mm", Length, 0.0285, 0.0),
        ("0,125 mm", Length, 0.000_125, 0.0),
        ("1250,125 mm", Length, 1.250_125, 0.0),
        ("-3 mm", Length, -0.003, 0.0),
        ("\u{2212}3 mm", Length, -0.003, 0.0),
        ("1e-3 m", Length, 0.001, 0.0),
        ("85 degC", Temperature, 358.15, 0.0),
        ("85 °C", Temperature, 358.15, 0.0),
        ("85°C ± 2 K", Temperature, 358.15, 2.0),
        ("85 deg C ± 2 °C", Temperature, 358.15, 2.0),
        ("212 °F", Temperature, 373.15, 0.0),
        ("212 degF ± 1.8 °F", Temperature, 373.15, 1.0),
        ("300 K ± 1 %", Temperature, 300.0, 3.0),
        ("20 °C", TemperatureDifference, 20.0, 0.0),
        ("18 °F", TemperatureDifference, 10.0, 0.0),
        ("5 A/mm^2", CurrentDensity, 5e6, 0.0),
        ("5 A/mm²", CurrentDensity, 5e6, 0.0),
        ("5 A / mm2", CurrentDensity, 5e6, 0.0),
        ("24 V ± 0.5 %", Voltage, 24.0, 0.12),
        ("24V+/-0.5%", Voltage, 24.0, 0.12),
        ("48 ohm", Resistance, 48.0, 0.0),
        ("48 Ω", Resistance, 48.0, 0.0),
        ("48 \u{2126}", Resistance, 48.0, 0.0),
        ("50 mΩ", Resistance, 0.05, 0.0),
        ("1.2 kohm", Resistance, 1200.0, 0.0),
        ("3500 G", FluxDensity, 0.35, 0.0),
        ("3.5 kG", FluxDensity, 0.35, 0.0),
        ("0.5 gauss", FluxDensity, 5e-5, 0.0),
        ("350 mT", FluxDensity, 0.35, 0.0),
        ("1 Oe", FieldStrength, 1000.0 / (4.0 * std::f64::consts::PI), 0.0),
        ("12 kA/m", FieldStrength, 12e3, 0.0),
        ("1 kgf", Force, g0, 0.0),
        ("1 lbf", Force, 4.448_221_615_260_5, 0.0),
        ("900 A", AmpereTurns, 900.0, 0.0),
        ("900 At", AmpereTurns, 900.0, 0.0),
        ("900 ± 5", Count, 900.0, 5.0),
        ("900 ± 1 %", Count, 900.0, 9.0),
        ("40 %", Ratio, 0.4, 0.0),
        ("0.4", Ratio, 0.4, 0.0),
        ("0.40 ± 0.02", Ratio, 0.4, 0.02),
        ("(40 ± 2) %", Ratio, 0.4, 0.02),
        ("5 min", Time, 300.0, 0.0),
        ("3 minutes", Time, 180.0, 0.0),
        ("2 h", Time, 7200.0, 0.0),
        ("2 ms", Time, 0.002, 0.0),
        ("250 mW", Power, 0.25, 0.0),
        ("5 W/K", ThermalConductance, 5.0, 0.0),
        ("10 W/m2K", HeatTransferCoefficient, 10.0, 0.0),
        ("10 W/(m² K)", HeatTransferCoefficient, 10.0, 0.0),
        ("10 W/(m^2*K)", HeatTransferCoefficient, 10.0, 0.0),
        ("2 m/s", Speed, 2.0, 0.0),
        ("12 Wh", StoredEnergy, 43_200.0, 0.0),
        ("3 J", Energy, 3.0, 0.0),
        ("15 mH", Inductance, 0.015, 0.0),
        ("180 deg", Angle, std::f64::consts::PI, 0.0),
        ("1 rad", Angle, 1.0, 0.0),
        ("500 g", Mass, 0.5, 0.0),
        ("0.393 %/K", TemperatureCoefficient, 0.003_93, 0.0),
        ("17.24 nohm m", Resistivity, 17.24e-9, 0.0),
    ] {
        let q = read(text, dimension);
        assert!(near(q.value, value), "{text}: {} is not {value}", q.value);
        assert!((q.half_width - half_width).abs() <= 1e-12 * value.abs(), "{text}: ± {}", q.half_width);
    }
}

#[test]
fn refuses_the_rest_and_says_where_and_what_to_write() {
    type Check = fn(&Fault) -> bool;
    let cases: &[(&str, Dimension, Check, &str, &str)] = &[
        ("", Length, |f| matches!(f, Fault::Empty { .. }), "", "5 mm"),
        ("35", Length, |f| matches!(f, Fault::MissingUnit { .. }), "35", "35 mm"),
        ("35 V", Length, |f| matches!(f, Fault::WrongUnit { is: Voltage, .. }), "V", "35 mm"),
        ("35 MM", Length, |f| matches!(f, Fault::UnknownUnit { .. }), "MM", "did you mean `35 mm`"),
        ("3 m m", Length, |f| matches!(f, Fault::UnknownUnit { .. }), "m m", "mm"),
        ("20 kgff", Force, |f| matches!(f, Fault::UnknownUnit { .. }), "kgff", "did you mean `20 kgf`"),
        ("20 kg", Force, |f| matches!(f, Fault::WrongUnit { is: Mass, .. }), "kg", "20 kgf"),
        ("5 m", Time, |f| matches!(f, Fault::WrongUnit { is: Length, .. }), "m", "5 min"),
        ("85 C", Temperature, |f| matches!(f, Fault::WrongUnit { is: Charge, .. }), "C", "85 degC"),
        ("AWG 27", Length, |f| matches!(f, Fault::NoNumber { .. }), "AWG 27", "5 mm"),
        ("nan mm", Length, |f| matches!(f, Fault::NotFinite { .. }), "nan mm", "5 mm"),
        ("-inf mm", Length, |f| matches!(f, Fault::NotFinite { .. }), "-inf mm", "5 mm"),
        ("1e999 mm", Length, |f| matches!(f, Fault::OutOfRange { .. }), "1e999", "5 mm"),
        ("1e-999 mm", Length, |f| matches!(f, Fault::OutOfRange { .. }), "1e-999", "5 mm"),
        ("1e308 kN", Force, |f| matches!(f, Fault::OutOfRange { .. }), "1e308 kN", "5 N"),
        ("1,250 mm", Length, |f| matches!(f, Fault::AmbiguousNumber { .. }), "1,250", "`1250` or `1.250`"),
        ("1,250.5 mm", Length, |f| matches!(f, Fault::BadNumber { .. }), "1,250.5", "1250.5"),
        ("1 250 mm", Length, |f| matches!(f, Fault::BadNumber { .. }), "1 250", "1250"),
        ("1.2.3 mm", Length, |f| matches!(f, Fault::BadNumber { .. }), "1.2.3", "full stop"),
        (
            "28 mm ± -0.2 mm",
            Length,
            |f| matches!(f, Fault::NegativeTolerance { .. }),
            "-0.2",
            "without a sign",
        ),
        ("28 mm ± 0.2", Length, |f| matches!(f, Fault::ToleranceWithoutUnit { .. }), "0.2", "± 0.2 mm"),
        ("28 ± 5 %", Length, |f| matches!(f, Fault::MissingUnit { .. }), "28", "28 mm"),
        ("28 mm ±", Length, |f| matches!(f, Fault::ToleranceMissing), "±", "leave the `±` out"),
        ("28 mm ± 1 V", Length, |f| matches!(f, Fault::WrongUnit { is: Voltage, .. }), "V", "1 mm"),
        (
            "28 mm +0.2/-0.1 mm",
            Length,
            |f| matches!(f, Fault::Asymmetric { .. }),
            "mm +0.2/-0.1 mm",
            "middle",
        ),
        ("85 °C ± 2 %", Temperature, |f| matches!(f, Fault::PercentOfTemperature { .. }), "2 %", "± 2 K"),
        ("-300 °C", Temperature, |f| matches!(f, Fault::BelowAbsoluteZero { .. }), "-300 °C", "-273.15"),
        ("40 % ± 2 %", Ratio, |f| matches!(f, Fault::PercentOfRatio), "2 %", "(40 ± 2) %"),
        ("900 mm", Count, |f| matches!(f, Fault::NeedlessUnit { .. }), "mm", "`900`"),
    ];
    for (text, dimension, is, place, hint) in cases {
        let error = Quantity::parse(text, *dimension).expect_err(text);
        assert!(is(&error.fault), "{text}: {error:?}");
        assert_eq!(&text[error.range.clone()], *place, "{text}: {error:?}");
        assert!(error.hint.contains(hint), "{text}: {}", error.hint);
    }
    let message = Quantity::parse("35 V", Length).unwrap_err().to_string();
    assert_eq!(message, "`V` is a unit of voltage; a length was expected");
}

/// JCGM 100:2008, 7.2.6: 10.057 62 Ω with a standard uncertainty of 27 mΩ is given as 10.058 Ω.
#[test]
fn rounds_to_the_uncertainty() {
    assert_eq!(format_number(10.057_62, Some(0.027)), "10.058");
    assert_eq!(Resistance.text(10.057_62, Some(0.027), UnitSystem::Si), "10.058 Ω");
    for (number, standard, shown) in [
        (523.46, Some(12.3), "523"),
        (52_346.0, Some(1230.0), "52300"),
        (0.5, Some(0.0996), "0.50"),
        (28.0, Some(0.05), "28.000"),
        (-0.001, Some(0.5), "0.00"),
        (3.0, Some(0.0), "3"),
        (24.0, None, "24"),
        (0.123_456, None, "0.1235"),
        (123_456.0, None, "123500"),
        (9999.6, None, "10000"),
        (0.0, None, "0"),
        (1.5e9, None, "1.5e9"),
        (2.5e-7, None, "2.5e-7"),
        (f64::NAN, None, "not a number"),
    ] {
        assert_eq!(format_number(number, standard), shown, "{number} ± {standard:?}");
    }
    assert_eq!(Count.text(1_234_567.0, None, UnitSystem::Si), "1234567");
}

#[test]
fn shows_in_the_users_units() {
    use UnitSystem::*;
    for (dimension, si, system, shown) in [
        (Length, 0.028, Si, "28 mm"),
        (Length, 50e-6, Si, "50 µm"),
        (Length, 120.0, Si, "120 m"),
        (Length, 0.0508, Imperial, "2 in"),
        (Length, 0.0, Si, "0 mm"),
        (FluxDensity, 0.35, Si, "350 mT"),
        (FluxDensity, 1.2, Si, "1.2 T"),
        (FluxDensity, 0.35, GaussKgf, "3500 G"),
        (FluxDensity, 50e-6, Si, "50 µT"),
        (Force, 490.3325, GaussKgf, "50 kgf"),
        (Force, 4.448_221_615_260_5, Imperial, "1 lbf"),
        (Force, 500.0, Si, "500 N"),
        (Temperature, 358.15, Si, "85 °C"),
        (Temperature, 373.15, Imperial, "212 °F"),
        (TemperatureDifference, 10.0, Imperial, "18 °F"),
        (Time, 1800.0, Si, "30 min"),
        (Time, 0.012, Si, "12 ms"),
        (CurrentDensity, 5e6, Si, "5 A/mm²"),
        (Resistance, 0.05, Si, "50 mΩ"),
        (AmpereTurns, 900.0, Si, "900 A"),
        (StoredEnergy, 43_200.0, Si, "12 Wh"),
        (Ratio, 0.62, Si, "0.62"),
        (Share, 0.0631, Si, "6.31 %"),
        (Share, 1.0, UnitSystem::Imperial, "100 %"),
    ] {
        assert_eq!(dimension.text(si, None, system), shown);
        assert_eq!(dimension.show(si, system).to_string(), shown);
    }
}

fn any_dimension() -> impl Strategy<Value = Dimension> {
    prop::sample::select(Dimension::ALL.to_vec())
}

fn any_system() -> impl Strategy<Value = UnitSystem> {
    prop::sample::select(vec![UnitSystem::Si, UnitSystem::GaussKgf, UnitSystem::Imperial])
}

proptest! {
    #[test]
    fn what_is_written_is_read_back(d in any_dimension(), m in 1.0..10.0f64, e in -12..12i32, share in 0.0..0.5f64) {
        let value = m * 10f64.powi(e);
        let q = Quantity { value, half_width: share * value, dimension: d };
        let back = Quantity::parse(&q.to_string(), d).unwrap();
        // A temperature in °C is rounded as 273 °C is.
        let floor = if d == Temperature { 273.15 } else { 0.0 };
        prop_assert!((back.value - value).abs() <= 1e-13 * (value + floor), "{} read as {}", q, back.value);
        prop_assert!((back.half_width - q.half_width).abs() <= 1e-13 * q.half_width, "{}", q);
    }

    #[test]
    fn every_spelling_is_read(d in any_dimension(), m in 0.001..1000.0f64) {
        for unit in d.units() {
            for spelling in std::iter::once(&unit.symbol).chain(unit.also) {
                let q = Quantity::parse(&format!("{m} {spelling}"), d).unwrap();
                prop_assert_eq!(q.value, unit.to_si(m));
            }
        }
    }

    #[test]
    fn a_column_agrees_with_its_numbers(d in any_dimension(), m in 1.0..10.0f64, e in -12..12i32, s in any_system()) {
        let value = m * 10f64.powi(e);
        let shown = d.show(value, s);
        let (factor, offset, unit) = d.column_unit(value, s);
        prop_assert_eq!(unit, shown.unit);
        let tolerance = 1e-12 * (shown.number.abs() + offset.abs());
        prop_assert!((value * factor + offset - shown.number).abs() <= tolerance);
        // And the unit's own symbol reads the number back.
        let back = Quantity::parse(&format!("{} {}", shown.number, shown.unit), d).unwrap();
        let floor = if d == Temperature { 460.0 } else { 0.0 };
        prop_assert!((back.value - value).abs() <= 1e-12 * (value + floor));
    }

    #[test]
    fn no_text_makes_it_fall_over(text in "\\PC{0,24}", d in any_dimension()) {
        if let Err(e) = Quantity::parse(&text, d) {
            prop_assert!(text.get(e.range.clone()).is_some(), "{:?} in {:?}", e.range, text);
            prop_assert!(!e.hint.is_empty());
        }
    }

    #[test]
    fn nor_do_texts_of_the_right_letters(text in "[-+0-9.,eE± ()%/mµΩ°CKV−]{0,16}", d in any_dimension()) {
        match Quantity::parse(&text, d) {
            Ok(q) => prop_assert!(q.value.is_finite() && q.half_width.is_finite() && q.half_width >= 0.0),
            Err(e) => prop_assert!(text.get(e.range.clone()).is_some()),
        }
    }
}

/// The hint for a number with separators of two kinds keeps its size: the last one is the decimal sign.
#[test]
fn separators_of_two_kinds_are_told_apart() {
    for (text, meant) in
        [("1.000,5 mm", "`1000.5`"), ("1,000.5 mm", "`1000.5`"), ("1,250,000 mm", "`1250000`")]
    {
        let error = Quantity::parse(text, Dimension::Length).unwrap_err();
        assert!(error.hint.contains(meant), "{text}: {}", error.hint);
    }
}
