//! A warm-up log cut off early: where it is heading for, within its own band.

use coilwright_bench::fit::{Options, fit};
use coilwright_bench::readings::{self, read};
use coilwright_magnet::answer::{Measure, Value};
use coilwright_magnet::sheet::Sheet;

/// `examples/readings/invent_warm_up.py` names the truth: back 59.5 °C, winding 73.7 °C, 2150 s.
#[test]
fn the_invented_log_heads_for_the_truth() {
    let sheet = Sheet::parse(include_str!("../../../examples/gantry-pot.sheet.toml"), "pot").unwrap().0;
    let csv = include_str!("../../../examples/readings/gantry-warm-up.csv");
    let readings = read(csv.as_bytes(), &readings::Options::default()).unwrap();
    let fitted = fit(&sheet, &readings, &Options { date: "", readings_name: "log.csv" }).unwrap();
    let measure = |key: &str| -> Measure {
        match &fitted.answer.item(key).unwrap_or_else(|| panic!("no {key}")).value {
            Value::Number(m) => m.clone(),
            Value::Text(text) => panic!("{key}: {text}"),
        }
    };
    for (key, truth, most) in [
        ("steady_1", 273.15 + 59.5, 3.0),
        ("steady_2", 273.15 + 73.7, 6.0),
        ("time_constant_1_1", 2150.0, 200.0),
    ] {
        let m = measure(key);
        let band = m.band.as_ref().unwrap();
        assert!(
            band.low <= truth && truth <= band.high,
            "{key}: {} to {}, truly {truth}",
            band.low,
            band.high
        );
        assert!(band.standard < most, "{key}: {}", band.standard);
    }
    // The winding runs hotter than the back by tens of kelvin less a few: the mean, not its surface.
    assert!(measure("steady_2").value - measure("steady_1").value > 10.0);
    assert!(fitted.answer.series.iter().any(|s| s.key == "warm_up_2"));
}

/// A winding's mean temperature from its resistance can be 20 K above its surface (common practice, no source). Invented
/// log: the surface rises by 40 K, the winding under it by 20 K more, its volts over amperes as IEC 60034-1 has copper
/// (234.5). The fit tells both apart, with a band that holds the 20 K and not none.
#[test]
fn a_winding_can_be_20_k_above_its_surface() {
    let sheet = Sheet::parse(include_str!("../../../examples/gantry-pot.sheet.toml"), "pot").unwrap().0;
    let mut csv =
        "time, voltage V by multimeter_v, current A by multimeter_a, surface °C, ambient °C\n".to_owned();
    for k in 0..90 {
        let t = 60.0 * f64::from(k);
        let surface = 22.0 + 40.0 * (1.0 - (-t / 1500.0).exp());
        let winding = surface + 20.0 * (1.0 - (-t / 200.0).exp());
        let amperes = 24.0 / (47.6 * (234.5 + winding) / 254.5);
        let (h, m) = (23 + k / 60, k % 60);
        csv += &format!("{:02}:{m:02}:00,24.00,{amperes:.4},{surface:.1},22.0\n", h % 24);
    }
    let meters = "\n[instruments.multimeter_v]\nof_reading = \"0.1 %\"\nresolution = \"0.01 V\"\n\
                  [instruments.multimeter_a]\nof_reading = \"0.1 %\"\nresolution = \"0.1 mA\"\n\
                  [instruments.thermometer]\nresolution = \"0.1 K\"\noffset = \"1 K\"\n";
    let sheet = Sheet::parse(&(sheet.source_text().to_owned() + meters), "pot").unwrap().0;
    let readings = read(csv.as_bytes(), &readings::Options::default()).unwrap();
    let fitted = fit(&sheet, &readings, &Options { date: "", readings_name: "log.csv" }).unwrap();
    let steady = |k: u32| match &fitted.answer.item(&format!("steady_{k}")).unwrap().value {
        Value::Number(m) => (m.value, m.band.as_ref().unwrap().standard),
        Value::Text(text) => panic!("{text}"),
    };
    let ((surface, u), (winding, v)) = (steady(1), steady(2));
    let (above, u) = (winding - surface, u.hypot(v));
    assert!((above - 20.0).abs() <= 3.0 * u && above > 5.0 * u, "{above} ± {u} K");
}
