//! How fast a search goes: 10,000 nonlinear designs of a pot with steady heat in at most 60 s on 2 cores. A tenth of them is
//! solved. Run with `cargo bench -p coilwright-choose --bench seek`. Fails if the target is missed.

use coilwright_choose::seek::aim::{Aim, Bound};
use coilwright_choose::seek::log::Log;
use coilwright_choose::seek::{Question, seek};
use coilwright_magnet::sheet::Sheet;
use std::time::Instant;

const SHEET: &str = include_str!("../../../examples/gantry-pot.sheet.toml");
const DESIGNS: usize = 1000;
const MOST_S: f64 = 6.0;

#[allow(clippy::print_stdout, reason = "a benchmark prints")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (sheet, _) = Sheet::parse(SHEET, "gantry-pot.sheet.toml").map_err(|f| format!("{f:?}"))?;
    let question = Question {
        vary: Vec::new(),
        aims: vec![Aim::parse("most pull")?],
        within: vec![Bound::parse("mass <= 0.65 kg")?],
        designs: DESIGNS,
        seed: 1,
    };
    let start = Instant::now();
    let mut last = (0, 0.0);
    let found = seek(&sheet, &question, &Log::default(), &mut |now| {
        // What comes after the search itself, the settled answers, is not counted.
        if now.solved <= DESIGNS {
            last = (now.solved, start.elapsed().as_secs_f64());
        }
    })?;
    println!(
        "{} designs in {:.1} s, {:.1} ms each; {:.0} s in all",
        last.0,
        last.1,
        1e3 * last.1 / last.0 as f64,
        start.elapsed().as_secs_f64()
    );
    println!("{:?}", found.answer.number("pull_1"));
    assert!(last.1 / last.0 as f64 <= MOST_S / DESIGNS as f64, "slower than 10,000 designs a minute");
    Ok(())
}
