//! Invents bench readings: a hidden true magnet, read by meters with gain errors, zero errors and noise.
//!
//! `cargo run --release -p coilwright-bench --example invent_readings -- SHEET TRUTH > READINGS.csv`. SHEET is what a
//! user would know; TRUTH says how the magnet really is and what was measured (see `tests/hidden/`). The same seed
//! gives the same file. Meshes, probe and meters here are not those of the fit: the field is solved anew at each
//! current to 0.05 %, the probe averages over 36 points.

#![allow(clippy::print_stdout, reason = "it prints a file")]

use coilwright_bench::instrument::Instrument;
use coilwright_bench::simulate::Random;
use coilwright_fem::field::Probe;
use coilwright_fem::solve::Ladder;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnetic::solved::{Solved, pull_n};
use coilwright_magnet::sheet::Sheet;
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
struct Truth {
    seed: u64,
    ambient_k: f64,
    r#true: BTreeMap<String, f64>,
    plan: Plan,
}

#[derive(Deserialize)]
struct Plan {
    currents_a: Vec<f64>,
    radii_m: Vec<f64>,
    /// The scan runs this far beside where it is said to.
    #[serde(default)]
    off_centre_m: f64,
    tip_m: f64,
    gaps_m: Vec<f64>,
    ohmmeter: usize,
}

/// A meter with the errors it happens to have.
struct Meter {
    instrument: Instrument,
    gain: f64,
    zero: f64,
}

impl Meter {
    fn new(instrument: Instrument, random: &mut Random) -> Self {
        let gain = 1.0 + random.between(-1.0, 1.0) * instrument.of_reading;
        let zero = random.between(-1.0, 1.0) * instrument.offset;
        Self { instrument, gain, zero }
    }

    /// What it shows, in its own digits.
    fn show(&self, value: f64, random: &mut Random) -> f64 {
        let noise = random.between(-1.0, 1.0) * self.instrument.counts * self.instrument.resolution;
        let shown = value * self.gain + self.zero + noise;
        (shown / self.instrument.resolution).round() * self.instrument.resolution
    }
}

/// The sheet's instrument of a name, or a typical one: share, counts, resolution, offset.
fn instrument(sheet: &Sheet, name: &str, typical: [f64; 4]) -> Result<Instrument, String> {
    match Instrument::from_sheet(sheet, name) {
        Some(found) => found.map_err(|faults| format!("{faults:?}")),
        None => {
            let [of_reading, counts, resolution, offset] = typical;
            Ok(Instrument { of_reading, counts, resolution, offset, ..Instrument::exact(name) })
        }
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(sheet_file), Some(truth_file)) = (arguments.next(), arguments.next()) else {
        return Err("usage: invent_readings SHEET TRUTH".into());
    };
    let (mut sheet, _) =
        Sheet::parse(&std::fs::read_to_string(&sheet_file)?, &sheet_file).map_err(|f| format!("{f:?}"))?;
    let truth: Truth = toml::from_str(&std::fs::read_to_string(&truth_file)?)?;
    for (path, value) in &truth.r#true {
        sheet.set_value(path, *value);
    }
    let magnet = Magnet::complete(&sheet).map_err(|f| format!("{f:?}"))?;
    let excitation = magnet.excitation.as_ref().ok_or("no winding")?;
    let winding = excitation.winding.as_ref().ok_or("no winding")?;
    let sign = excitation.ampere_turns.signum();
    let mut random = Random::new(truth.seed, 0);
    let mut meter = |name: &str, typical| -> Result<Meter, String> {
        Ok(Meter::new(instrument(&sheet, name, typical)?, &mut random))
    };
    let voltmeter = meter("voltmeter", [0.005, 2.0, 0.01, 0.0])?;
    let ammeter = meter("ammeter", [0.01, 3.0, 1e-3, 0.0])?;
    let ohmmeter = meter("multimeter", [0.008, 3.0, 0.1, 0.2])?;
    let teslameter = meter("gaussmeter", [0.02, 3.0, 1e-4, 0.0])?;
    let gauge = meter("force_gauge", [0.01, 0.0, 0.5, 0.0])?;
    let by = |name: &str| {
        if sheet.has(&format!("instruments.{name}")) { format!(" by {name}") } else { String::new() }
    };
    println!(
        "# INVENTED DATA: computed by crates/bench/examples/invent_readings.rs from a hidden magnet plus the errors of meters."
    );
    println!("# Winding cold throughout, {:.1} °C.", truth.ambient_k - 273.15);
    println!(
        "voltage V, current A, resistance ohm{}, field mT{}, r mm, z mm, pull N{}, gap mm",
        by("multimeter"),
        by("gaussmeter"),
        by("force_gauge")
    );
    let ohm = winding.resistance_ohm(truth.ambient_k);
    for _ in 0..truth.plan.ohmmeter {
        println!(",,{:.1},,,,,", ohmmeter.show(ohm, &mut random));
    }
    let depth = sheet.value("probe.depth").unwrap_or(0.0);
    let width = sheet.value("probe.active_diameter").unwrap_or(0.0);
    for i in &truth.plan.currents_a {
        let (volts, amperes) = (voltmeter.show(i * ohm, &mut random), ammeter.show(*i, &mut random));
        let ampere_turns = sign * excitation.turns * i;
        let mut stage = magnet.open_stage();
        stage.ampere_turns = ampere_turns;
        let mut scene = magnet.scene(&stage);
        scene.drawing.growth *= 0.4;
        scene.drawing.size_max_m *= 0.4;
        let ladder = Ladder::climb(&scene.drawing, scene.media.clone(), scene.applied_t)?;
        let probe = Probe::new(ladder.solution());
        for r in &truth.plan.radii_m {
            let y = magnet.face_m + truth.plan.tip_m + depth;
            let mut b = 0.0;
            for ring in 0..3 {
                let rho = 0.5 * width * ((f64::from(ring) + 0.5) / 3.0).sqrt();
                for k in 0..12 {
                    let angle = std::f64::consts::TAU * f64::from(k) / 12.0;
                    let across = r + truth.plan.off_centre_m + rho * angle.cos();
                    b += probe.at([across.hypot(rho * angle.sin()), y]).b_t[1] / 36.0;
                }
            }
            let shown = teslameter.show(b, &mut random);
            println!(
                "{volts:.2},{amperes:.3},,{:.1},{:.1},{:.2},,",
                1e3 * shown,
                1e3 * r,
                1e3 * truth.plan.tip_m
            );
        }
        // The sheet's gap is what a user thinks it is; the true one is wider by the same at every shim.
        let wider = truth.r#true.get("workpiece.gap").map_or(0.0, |gap| gap - nominal_gap(&sheet_file));
        for gap in &truth.plan.gaps_m {
            let mut stage = magnet.stage();
            stage.ampere_turns = ampere_turns;
            for plate in &mut stage.plates {
                plate.gap_m = gap + wider;
            }
            let solved = Solved::for_pull(magnet.scene(&stage), 5e-4)?;
            let pull = pull_n(&solved.scene, solved.ladder.drawing(), solved.ladder.solution())?;
            let shown = gauge.show(pull, &mut random);
            println!("{volts:.2},{amperes:.3},,,,,{shown:.1},{:.2}", 1e3 * gap);
        }
    }
    Ok(())
}

/// The gap that the user's sheet holds, m.
fn nominal_gap(file: &str) -> f64 {
    let text = std::fs::read_to_string(file).unwrap_or_default();
    Sheet::parse(&text, file).ok().and_then(|(sheet, _)| sheet.value("workpiece.gap")).unwrap_or(0.0)
}
