//! A bench that is invented with *everything* off at once: a magnet drawn from the very distributions that its sheet states
//! (dimensions, steels, supply, probe, shims and meters), and readings of it by meshes and a probe that are not the fit's.

use coilwright_bench::fit::{Fitted, Options, fit};
use coilwright_bench::readings;
use coilwright_bench::simulate::Random;
use coilwright_fem::field::Probe;
use coilwright_fem::solve::Ladder;
use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::variation::{Shape, Varied, varied, ways};
use coilwright_magnet::magnetic::solved::{Solved, pull_n};
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;
use std::fmt::Write;

pub(crate) type Fault = Box<dyn std::error::Error>;

/// INVENTED DATA: no such magnet was measured.
pub(crate) const SHEET: &str = r#"
sheet = 1
form = "pot"
invented = true
[body]
outer_diameter = "52 mm ± 0.1 mm"
height = "30 mm ± 0.1 mm"
pole_diameter = "21 mm ± 0.1 mm"
inner_diameter = "45 mm ± 0.2 mm"
back = "5 mm ± 0.3 mm"
material = "low-carbon steel"
[winding]
turns = "1500 ± 90"
resistance = "40 ohm ± 1 %"
resistance_at = "20 °C ± 1 K"
[drive]
current = "0.4 A ± 1 %"
[workpiece]
diameter = "90 mm ± 0.5 mm"
thickness = "6 mm ± 0.2 mm"
gap = "0.12 mm ± 0.05 mm"
material = "free-machining steel"
[surroundings]
temperature = "22 °C ± 2 K"
[probe]
active_diameter = "1 mm ± 0.3 mm"
depth = "0.6 mm ± 0.3 mm"
angle = "0 deg ± 3 deg"
[instruments.gaussmeter]
of_reading = "1 %"
counts = 2
resolution = "0.1 mT"
[instruments.gauge]
of_reading = "0.5 %"
resolution = "0.1 N"
[instruments.ammeter]
of_reading = "0.5 %"
counts = 1
resolution = "1 mA"
[instruments.ohmmeter]
of_reading = "0.5 %"
counts = 2
resolution = "0.01 ohm"
"#;
const CURRENTS_A: [f64; 3] = [0.15, 0.3, 0.45];
const RADII_M: [f64; 7] = [0.0, 4e-3, 8e-3, 12e-3, 16e-3, 20e-3, 24e-3];
const TIP_M: f64 = 0.5e-3;
const GAPS_M: [f64; 3] = [0.12e-3, 0.3e-3, 0.8e-3];
/// What no sheet states and the fit assumes of a bench: shims and the centre of a scan, standard (see the answer's list).
const SHIM_M: f64 = 2e-6;
const CENTRE_M: f64 = 0.5e-3;
/// Entries that are fitted, and what else is judged.
const ENTRIES: [&str; 3] = ["winding.turns", "workpiece.gap", "probe.depth"];
const STEEL: &str = "calibration.steel_scale";
/// What [`drawn`] and [`one`] call the numbers.
#[allow(dead_code, reason = "as `drawn`")]
pub(crate) const NAMES: [&str; 5] = ["winding.turns", "workpiece.gap", "probe.depth", STEEL, "pull"];
/// A number that was fitted to a bench.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// What it is.
    pub(crate) name: String,
    /// Whether its 95 % interval holds the truth.
    pub(crate) held: bool,
    /// Its standard uncertainty over what it was beforehand.
    pub(crate) width: f64,
    /// Its standard uncertainty, SI.
    #[allow(dead_code, reason = "as `drawn`")]
    pub(crate) standard: f64,
    /// Standard uncertainties from it to the truth.
    pub(crate) off: f64,
}

/// One bench: what was fitted to it, against the truth.
pub(crate) fn one(case: u64) -> Result<Vec<Found>, Fault> {
    let sheet = parsed(SHEET)?;
    let (truth, fitted) = fitted(&sheet, &sheet, case)?;
    let mut found = Vec::new();
    let mut note = |name: &str, answer: &Answer, key: &str, true_value: f64, before: f64| {
        let Some(Value::Number(m)) = answer.item(key).map(|item| &item.value) else { return };
        let Some(band) = &m.band else { return };
        let held = (band.low..=band.high).contains(&true_value);
        let (width, off) = (band.standard / before, (true_value - m.value) / band.standard);
        found.push(Found { name: name.to_owned(), held, width, standard: band.standard, off });
    };
    for path in ENTRIES {
        let (q, key) = (sheet.quantity(path).ok_or("no such entry")?, path.replace('.', "_"));
        let value = truth.varied.sheet.value(path).ok_or("no such entry")?;
        note(path, &fitted.answer, &key, value, q.standard_uncertainty());
    }
    let (steel, before) = truth.steel;
    note(STEEL, &fitted.answer, "calibration_steel_scale", steel, before);
    // The pull that the calibrated sheet then predicts, at a current that is exactly known.
    let question = Question::Pull(PullQuestion { currents_a: vec![0.4], ..PullQuestion::default() });
    let (before, after) = (answer(&sheet, &question)?, answer(&parsed(&fitted.sheet_text)?, &question)?);
    let true_pull = truth.pull()?;
    let wide = match before.item("pull").map(|item| &item.value) {
        Some(Value::Number(m)) => m.band.as_ref().map_or(f64::NAN, |b| b.standard),
        _ => f64::NAN,
    };
    note("pull", &after, "pull", true_pull, wide);
    Ok(found)
}

/// A bench that is not fitted: the true values in the order of [`NAMES`], and its readings in SI but for their prefixes.
#[allow(dead_code, reason = "the benchmark alone counts what is not fitted")]
pub(crate) fn drawn(case: u64) -> Result<(Vec<f64>, Vec<f64>), Fault> {
    let sheet = parsed(SHEET)?;
    let mut random = Random::new(77, case);
    let truth = truth(&sheet, &mut random)?;
    let csv = measured(&sheet, &truth, &mut random)?;
    let read = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        [1, 4].iter().filter_map(|k| cells.get(*k)?.parse::<f64>().ok()).collect::<Vec<_>>()
    };
    let mut values: Vec<f64> = ENTRIES.iter().filter_map(|path| truth.varied.sheet.value(path)).collect();
    values.extend([truth.steel.0, truth.pull()?]);
    Ok((values, csv.lines().skip(1).flat_map(read).collect()))
}

/// What is fitted to a bench by a sheet that is not quite that of what stood there.
pub(crate) fn fitted(sheet: &Sheet, true_sheet: &Sheet, case: u64) -> Result<(Truth, Fitted), Fault> {
    let mut random = Random::new(2026, case);
    let truth = truth(true_sheet, &mut random)?;
    let csv = measured(true_sheet, &truth, &mut random)?;
    let read = readings::read(csv.as_bytes(), &readings::Options::default())?;
    let fitted = fit(sheet, &read, &Options { date: "2025-01-31", readings_name: "bench.csv" })?;
    Ok((truth, fitted))
}

pub(crate) fn parsed(text: &str) -> Result<Sheet, Fault> {
    Ok(Sheet::parse(text, "bench.sheet.toml").map_err(|faults| format!("{faults:?}"))?.0)
}

/// A magnet that the sheet allows.
pub(crate) struct Truth {
    varied: Varied,
    turns: f64,
    /// Field that the body's steel needs over that of the library, and how far that is from sure beforehand.
    steel: (f64, f64),
    depth_m: f64,
    width_m: f64,
    tilt: f64,
}

impl Truth {
    /// What it pulls at 0.4 A, N.
    fn pull(&self) -> Result<f64, Fault> {
        let mut stage = self.varied.magnet.stage();
        stage.ampere_turns = stage.ampere_turns.signum() * self.turns * 0.4;
        pull(&self.varied.magnet.scene(&stage))
    }
}

fn truth(sheet: &Sheet, random: &mut Random) -> Result<Truth, Fault> {
    let magnet = Magnet::complete(sheet).map_err(|faults| format!("{faults:?}"))?;
    let ways = ways(sheet, &magnet);
    for _ in 0..100 {
        let deviates: Vec<f64> = (ways.iter())
            .map(|way| match way.shape {
                Shape::Rectangular => 3f64.sqrt() * random.between(-1.0, 1.0),
                Shape::Gaussian => random.normal(),
            })
            .collect();
        let within = |path: &str, random: &mut Random| {
            let q = sheet.quantity(path).map_or((0.0, 0.0), |q| (q.value, q.half_width));
            q.0 + random.between(-1.0, 1.0) * q.1
        };
        let (depth_m, width_m) = (within("probe.depth", random), within("probe.active_diameter", random));
        let tilt = within("probe.angle", random);
        // A magnet that cannot be is not among those that the sheet allows.
        let Ok(mut varied) = varied(sheet, &magnet, &ways, &deviates) else { continue };
        varied.sheet.set_value("probe.depth", depth_m);
        let of = format!("material.{}.field", sheet.word("body.material").ok_or("no steel")?);
        let body = ways.iter().position(|w| w.path == of).ok_or("no steel")?;
        let (.., relative) = ways[body].of_steel().ok_or("no steel")?;
        let steel = ((relative.ln_1p() * deviates[body]).exp(), relative);
        let turns = varied.magnet.excitation.as_ref().ok_or("no winding")?.turns;
        return Ok(Truth { varied, turns, steel, depth_m, width_m, tilt });
    }
    Err("no magnet can be drawn".into())
}

/// A meter's readings with errors of its own.
fn meter(
    sheet: &Sheet,
    name: &str,
    random: &mut Random,
) -> Result<impl Fn(f64, &mut Random) -> f64 + use<>, Fault> {
    use coilwright_bench::instrument::Instrument;
    let of =
        Instrument::from_sheet(sheet, name).ok_or("no such instrument")?.map_err(|f| format!("{f:?}"))?;
    let gain = 1.0 + random.between(-1.0, 1.0) * of.of_reading;
    Ok(move |value: f64, random: &mut Random| {
        let shown = value * gain + random.between(-1.0, 1.0) * of.counts * of.resolution;
        (shown / of.resolution).round() * of.resolution
    })
}

fn pull(scene: &coilwright_magnet::magnetic::scene::Scene) -> Result<f64, Fault> {
    let solved = Solved::for_pull(scene.clone(), 5e-4)?;
    Ok(pull_n(&solved.scene, solved.ladder.drawing(), solved.ladder.solution())?)
}

/// What the bench shows of it.
fn measured(sheet: &Sheet, truth: &Truth, random: &mut Random) -> Result<String, Fault> {
    let gaussmeter = meter(sheet, "gaussmeter", random)?;
    let gauge = meter(sheet, "gauge", random)?;
    let ammeter = meter(sheet, "ammeter", random)?;
    let mut csv =
        "current A by ammeter, field mT by gaussmeter, r mm, z mm, pull N by gauge, gap mm\n".to_owned();
    let magnet = &truth.varied.magnet;
    let centre = CENTRE_M * random.normal();
    let shims: Vec<f64> = GAPS_M.iter().map(|_| SHIM_M * random.normal()).collect();
    let of = |sheet: &Sheet| sheet.value("workpiece.gap").unwrap_or(0.0);
    let wider = of(&truth.varied.sheet) - of(sheet);
    let sign = magnet.excitation.as_ref().map_or(1.0, |e| e.ampere_turns.signum());
    for i in CURRENTS_A {
        let amperes = ammeter(i, random);
        let mut stage = magnet.open_stage();
        stage.ampere_turns = sign * truth.turns * i;
        let mut scene = magnet.scene(&stage);
        scene.drawing.growth *= 0.4;
        scene.drawing.size_max_m *= 0.4;
        let ladder = Ladder::climb(&scene.drawing, scene.media.clone(), scene.applied_t)?;
        let probe = Probe::new(ladder.solution());
        for r in RADII_M {
            let y = magnet.face_m + TIP_M + truth.depth_m;
            let mut b = 0.0;
            for ring in 0..3 {
                let rho = 0.5 * truth.width_m * ((f64::from(ring) + 0.5) / 3.0).sqrt();
                for k in 0..12 {
                    let angle = std::f64::consts::TAU * f64::from(k) / 12.0;
                    let across = r + centre + rho * angle.cos();
                    let at = across.hypot(rho * angle.sin());
                    let [radial, axial] = probe.at([at, y]).b_t;
                    let along = if at > 0.0 { radial * across / at } else { 0.0 };
                    b += (axial * truth.tilt.cos() + along * truth.tilt.sin()) / 36.0;
                }
            }
            let shown = 1e3 * gaussmeter(b, random);
            writeln!(csv, "{amperes:.3},{shown:.2},{:.1},{:.2},,", 1e3 * r, 1e3 * TIP_M)?;
        }
        for (gap, off) in GAPS_M.iter().zip(&shims) {
            let mut stage = magnet.stage();
            stage.ampere_turns = sign * truth.turns * i;
            for plate in &mut stage.plates {
                plate.gap_m = gap + wider + off;
            }
            let shown = gauge(pull(&magnet.scene(&stage))?, random);
            writeln!(csv, "{amperes:.3},,,,{shown:.1},{:.2}", 1e3 * gap)?;
        }
    }
    Ok(csv)
}
