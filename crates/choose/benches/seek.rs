//! x
use coilwright_magnet::model::rough::{Wanted, numbers};
use coilwright_magnet::sheet::Sheet;
use std::time::Instant;
const SHEET: &str = include_str!("../../../examples/gantry-pot.sheet.toml");
#[allow(clippy::print_stdout, reason = "a benchmark prints")]
fn main() {
    let (mut sheet, _) = Sheet::parse(SHEET, "gantry-pot.sheet.toml").unwrap();
    sheet.set("winding.resistance", "").unwrap();
    sheet.set("winding.resistance_at", "").unwrap();
    sheet.set("winding.wire", "0.4 mm").unwrap();
    for (name, w, acc) in [
        ("cold", Wanted::default(), 1.0),
        ("heat", Wanted { heat: true, ..Wanted::default() }, 1.0),
        ("pull 1.0", Wanted { pull: true, ..Wanted::default() }, 1.0),
        ("pull 0.01", Wanted { pull: true, ..Wanted::default() }, 0.01),
        ("pull 0.001", Wanted { pull: true, ..Wanted::default() }, 0.001),
        ("both pulls", Wanted { pull: true, pull_warm: true, ..Wanted::default() }, 1.0),
        ("field", Wanted { field: true, ..Wanted::default() }, 1.0),
    ] {
        for pole in [22.0, 27.0, 33.0] {
            let mut s = sheet.clone();
            s.set_value("body.pole_diameter", 1e-3 * pole);
            let start = Instant::now();
            let mut last = None;
            for _ in 0..20 {
                last = Some(numbers(&s, w, acc));
            }
            println!(
                "{name} {pole}: {:.2} ms {:?}",
                50.0 * start.elapsed().as_secs_f64(),
                last.unwrap().map(|n| (n.pull_n, n.pull_warm_n, n.hot_spot_k, n.mass_kg, n.field_t))
            );
        }
    }
}
