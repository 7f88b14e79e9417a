//! Instruments, Hall probes and winding temperature.

use coilwright_bench::instrument::{HallProbe, Instrument, LocalField, parse};
use coilwright_bench::uncertainty::{Input, Inputs};
use coilwright_bench::winding_temperature::{Conductor, winding_temperature};
use coilwright_magnet::quantity::{Dimension, Quantity};
use coilwright_magnet::sheet::Sheet;

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// JCGM 100:2008, 4.3.7: limits ± a give `a/√3`; F.2.2.1: a display's step gives `step/√12`.
#[test]
fn accuracy_becomes_standard_uncertainty() {
    let meter = Instrument { of_reading: 0.005, counts: 3.0, resolution: 0.01, ..Instrument::exact("meter") };
    let [gain, counts, resolution, offset] = meter.components(24.0);
    near(gain.standard, 0.12 / 3f64.sqrt(), 1e-15);
    near(counts.standard, 0.03 / 3f64.sqrt(), 1e-15);
    near(resolution.standard, 0.01 / 12f64.sqrt(), 1e-15);
    near(offset.standard, 0.0, 0.0);
    let expected = ((0.12f64.powi(2) + 0.03f64.powi(2)) / 3.0 + 0.01f64.powi(2) / 12.0).sqrt();
    near(meter.standard_uncertainty(24.0), expected, 1e-15);
    // Two readings share the gain error only.
    let covariance = meter.covariance(&[24.0, 12.0]);
    near(covariance[(0, 1)], 0.005f64.powi(2) * 24.0 * 12.0 / 3.0, 1e-15);
    near(covariance[(0, 0)], expected * expected, 1e-15);
}

/// Invented instruments.
const FILE: &str = r#"
[instruments.ohmmeter]
of_reading = "0.8 %"
counts = 3
resolution = "0.1 ohm"
offset = "200 mohm"

[instruments.probe]
of_reading = 0.02
resolution = "0.1 mT"
active_diameter = "1 mm"
depth = "0.5 mm ± 0.2 mm"
angle = "0 deg ± 5 deg"

[instruments.thermometer]
offset = "0.5 °C"
"#;

#[test]
fn a_file_of_instruments() {
    let set = parse(FILE, "instruments.toml").unwrap();
    let ohmmeter = set.get("ohmmeter").unwrap();
    assert_eq!(
        (ohmmeter.dimension, ohmmeter.of_reading, ohmmeter.counts, ohmmeter.resolution, ohmmeter.offset),
        (Some(Dimension::Resistance), 0.008, 3.0, 0.1, 0.2)
    );
    assert_eq!(set.get("thermometer").unwrap().offset, 0.5);
    assert_eq!(set.get("probe").unwrap().resolution, 1e-4);
    near(set.probes["probe"].depth.half_width, 0.2e-3, 1e-12);
    near(set.probes["probe"].angle.half_width, 5f64.to_radians(), 1e-12);
    assert_eq!(set.probes.len(), 1);
}

/// The examples that come with the crate are right once uncommented.
#[test]
fn the_typical_instruments_can_be_read() {
    let text = include_str!("../data/instruments.toml");
    let uncommented: Vec<&str> = text.lines().map(|line| line.strip_prefix("# ").unwrap_or(line)).collect();
    let tables: Vec<&str> =
        uncommented.into_iter().filter(|l| l.starts_with(['[', '#']) || l.contains(" = ")).collect();
    let set = parse(&tables.join("\n"), "instruments.toml").unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(set.instruments.len(), text.matches("[instruments.").count());
    assert!(set.probes.contains_key("teslameter"));
}

#[test]
fn faults_of_a_file_are_found_together() {
    let text = "[instruments.a]\ncounts = 3\n[instruments.b]\nof_reading = \"x\"\nresolution = \"1 apple\"\n\
                [instruments.c]\nresolution = \"1 V\"\noffset = \"1 mT\"\ndepth = \"1 V\"\ncounts = -1\n";
    let faults = parse(text, "mine.toml").unwrap_err();
    assert_eq!(faults.len(), 6, "{faults:#?}");
    for (fault, place) in faults.iter().zip(["3", "\"x\"", "\"1 apple\"", "-1", "\"1 mT\"", "\"1 V\""]) {
        assert_eq!(&text[fault.span.clone().unwrap()], place, "{fault:?}");
        assert_eq!(fault.file, "mine.toml");
    }
    let unknown = parse("[instruments.a]\naccuracy = 1\n", "mine.toml").unwrap_err();
    assert!(unknown[0].message.contains("accuracy") && unknown[0].span.is_some());
}

#[test]
fn instruments_of_a_sheet() {
    let text = "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
                length = \"40 mm\"\nampere_turns = \"1000 A\"\n\
                [instruments.meter]\nof_reading = \"0.5 %\"\ncounts = 3\nresolution = \"0.1 mT\"\n\
                [probe]\ndepth = \"0.5 mm ± 0.1 mm\"\n";
    let (sheet, _) = Sheet::parse(text, "coil").unwrap_or_else(|faults| panic!("{faults:#?}"));
    let meter = Instrument::from_sheet(&sheet, "meter").unwrap().unwrap();
    assert_eq!((meter.of_reading, meter.counts, meter.resolution), (0.005, 3.0, 1e-4));
    assert!(Instrument::from_sheet(&sheet, "other").is_none());
    near(HallProbe::from_sheet(&sheet).depth.value, 0.5e-3, 1e-15);
}

fn length(value: f64, half_width: f64) -> Option<Quantity> {
    Some(Quantity { value, half_width, dimension: Dimension::Length })
}

fn angle(degrees: f64, half_width: f64) -> Option<Quantity> {
    let (value, half_width) = (degrees.to_radians(), half_width.to_radians());
    Some(Quantity { value, half_width, dimension: Dimension::Angle })
}

/// Geometry: 5° of tilt read 0.38 % low, 10° read 1.52 % low.
#[test]
fn a_tilted_probe_reads_the_cosine() {
    let field = LocalField { axial: 0.1, ..LocalField::default() };
    for (degrees, percent) in [(5.0, -0.38), (10.0, -1.52)] {
        let probe = HallProbe::new(None, None, angle(degrees, 0.0));
        near(100.0 * (probe.reading(&field) / 0.1 - 1.0), percent, 0.005);
    }
}

/// Tilt within limits, against numerical averages over a uniform tilt.
#[test]
fn the_tilt_tolerance_is_averaged() {
    let field = LocalField { axial: 0.1, ..LocalField::default() };
    for nominal in [0.0, 8.0] {
        let probe = HallProbe::new(None, None, angle(nominal, 6.0));
        let n = 100_000;
        let cosines = (0..n).map(|i| {
            let theta = nominal - 6.0 + 12.0 * (f64::from(i) + 0.5) / f64::from(n);
            0.1 * theta.to_radians().cos()
        });
        let (sum, squares) = cosines.fold((0.0, 0.0), |(s, q), b| (s + b, q + b * b));
        let mean = sum / f64::from(n);
        let deviation = (squares / f64::from(n) - mean * mean).sqrt();
        near(probe.reading(&field), mean, 1e-6);
        near(probe.standard_uncertainty(&field) / deviation, 1.0, 0.01);
    }
}

/// The axisymmetric harmonic field `J₀(k r) e^(−k z)`: its mean over a disc of radius a is `2 J₁(ka)/(ka) e^(−k z)`
/// (Abramowitz and Stegun 9.1.30). Series of J₁ to the order needed.
#[test]
fn a_large_element_averages() {
    let k: f64 = 100.0;
    let at = |z: f64| LocalField {
        axial: (-k * z).exp(),
        slope: -k * (-k * z).exp(),
        curvature: k * k * (-k * z).exp(),
        transverse: 0.0,
    };
    let (diameter, depth) = (2e-3, 0.5e-3);
    let probe = HallProbe::new(length(diameter, 0.0), length(depth, 0.0), None);
    let ka = k * diameter / 2.0;
    let mean = 1.0 - ka.powi(2) / 8.0 + ka.powi(4) / 192.0;
    // Second order in depth leaves (kd)³/6 = 2e-5, in size (ka)⁴/192 = 5e-7.
    near(probe.reading(&at(1e-3)), mean * (-k * (1e-3 + depth)).exp(), 4e-5);
}

/// A probe 0.5 ± 0.2 mm behind its tip where the field falls by 20 % per mm.
#[test]
fn depth_matters_in_a_gradient() {
    let probe = HallProbe::new(None, length(0.5e-3, 0.2e-3), None);
    let field = LocalField { axial: 0.1, slope: -20.0, ..LocalField::default() };
    near(probe.reading(&field), 0.09, 1e-12);
    near(probe.standard_uncertainty(&field), 20.0 * 0.2e-3 / 3f64.sqrt(), 1e-12);
}

fn at_20_and_hot(meter: &Instrument) -> Inputs {
    meter.inputs(&[("cold", 10.0), ("hot", 12.36)]).expect("two readings")
}

fn temperatures(u: f64) -> Inputs {
    Inputs::new(vec![Input::normal("cold winding", 293.15, u), Input::normal("coolant", 293.15, u)])
        .expect("two names")
}

/// IEC 60034-1, 8.6.2 (from memory): 10.00 ohm at 20 °C, 12.36 ohm hot, copper: 80.062 °C.
#[test]
fn temperature_from_resistance() {
    let exact = Instrument::exact("ohmmeter");
    let hot =
        winding_temperature(&at_20_and_hot(&exact), &temperatures(0.0), Conductor::Copper, 0.0).unwrap();
    near(hot.values[0] - 273.15, 80.062, 1e-3);
    near(hot.values[1], 60.062, 1e-3);
    assert_eq!(hot.standard(0), 0.0);
    // R(100 °C)/R(20 °C) = (k + 100)/(k + 20): 1.314342 for copper, 1.326531 for aluminium.
    for (conductor, ratio) in [(Conductor::Copper, 1.314_342), (Conductor::Aluminium, 1.326_531)] {
        let ohms = exact.inputs(&[("cold", 1.0), ("hot", ratio)]).unwrap();
        let hot = winding_temperature(&ohms, &temperatures(0.0), conductor, 0.0).unwrap();
        near(hot.values[0] - 273.15, 100.0, 5e-4);
    }
}

/// A gain error of the one meter cancels; dropping the correlation claims √2 g (R₂/R₁)(t₁ + k) instead, 2.2 K for 0.5 %.
#[test]
fn one_meter_for_both_resistances() {
    let meter = Instrument { of_reading: 0.005 * 3f64.sqrt(), ..Instrument::exact("ohmmeter") };
    let together = at_20_and_hot(&meter);
    let hot = winding_temperature(&together, &temperatures(0.0), Conductor::Copper, 0.0).unwrap();
    near(hot.standard(0), 0.0, 1e-3);
    let apart = Inputs::new(together.list().to_vec()).unwrap();
    let wrong = winding_temperature(&apart, &temperatures(0.0), Conductor::Copper, 0.0).unwrap();
    near(wrong.standard(0), 2f64.sqrt() * 0.005 * 1.236 * 254.5, 1e-3);
}

/// Partial derivatives by hand: ∂t₂/∂t₁ = R₂/R₁; ∂t₂/∂R₂ = (t₁+k)/R₁; ∂t₂/∂k = R₂/R₁ − 1. The coolant enters the
/// rise with −1.
#[test]
fn sensitivities_of_the_winding_temperature() {
    let meter = Instrument { resolution: 0.01, ..Instrument::exact("ohmmeter") };
    let hot =
        winding_temperature(&at_20_and_hot(&meter), &temperatures(0.5), Conductor::Copper, 2.0).unwrap();
    let ohm = 0.01 / 12f64.sqrt();
    let parts = [1.236 * 0.5, 25.45 * ohm, 1.236 * 25.45 * ohm, 0.236 * 2.0];
    let expected = parts.iter().map(|part| part * part).sum::<f64>();
    near(hot.standard(0), expected.sqrt(), 1e-6);
    near(hot.standard(1), (expected + 0.25).sqrt(), 1e-6);
    assert!(
        winding_temperature(&temperatures(0.0), &Inputs::new(vec![]).unwrap(), Conductor::Copper, 0.0)
            .is_err()
    );
}
