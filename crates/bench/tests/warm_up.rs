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
