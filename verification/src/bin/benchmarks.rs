//! Times the program on this machine, beside a general-purpose finite element library in the same run, and writes
//! `docs/benchmarks.md`: `cargo run --release -p coilwright-verification --bin benchmarks`.
//!
//! The peer is `peers/pot_magnet.py` (scikit-fem with CHOLMOD) run by `.venv/bin/python`; without it the run fails.

#![allow(clippy::print_stdout)]

use coilwright_bench::sampled::sampled;
use coilwright_bench::{fit, readings};
use coilwright_fem::drawing::{Drawing, Outline, Symmetry};
use coilwright_fem::heat::{Film, Heat, Side, Stepping, Substance};
use coilwright_fem::mesh::Mesh;
use coilwright_fem::solve::Ladder;
use coilwright_magnet::answers::question::{HeadroomQuestion, HeatQuestion, PullQuestion, Question};
use coilwright_magnet::coupled::operating_point::{Driven, Strength};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnetic::scene::Stage;
use coilwright_magnet::magnetic::solved::pull_n;
use coilwright_magnet::model::ask::answer as ask;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::thermal::body::Body;
use coilwright_magnet::thermal::run::Pace;
use coilwright_magnet::thermal::setting::Setting;
use coilwright_verification::{case, root, row};
use std::error::Error;
use std::process::Command;
use std::time::Instant;

/// Pull of the sharp-cornered pot magnet at 0.6 mm, N: independent high-order solution (see the case of that name).
const PULL_N: f64 = 450.311_34;
/// Runs of each timing; the least and the median are given.
const RUNS: usize = 31;

/// One line of the table.
#[derive(Clone)]
struct Line {
    what: String,
    target: &'static str,
    measured: String,
    met: bool,
}

/// Least and median of several timings, in ms.
struct Timing {
    least_ms: f64,
    median_ms: f64,
}

fn time<T>(runs: usize, mut run: impl FnMut() -> T) -> (Timing, T) {
    let mut last = run();
    let mut ms: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            last = run();
            1e3 * start.elapsed().as_secs_f64()
        })
        .collect();
    ms.sort_by(f64::total_cmp);
    (Timing { least_ms: ms[0], median_ms: ms[ms.len() / 2] }, last)
}

fn main() -> Result<(), Box<dyn Error>> {
    let case = case::load(&root().join("cases/pot-magnet-on-disc"))?;
    let (sheet, _) = Sheet::parse(&case.sheet, "magnet.sheet.toml").map_err(|d| format!("{d:?}"))?;
    let magnet = Magnet::complete(&sheet).map_err(|d| format!("{d:?}"))?;
    let peer = peer()?;
    let lines = [
        cold(&magnet, &peer)?,
        warm(&magnet, &peer)?,
        linear()?,
        sphere()?,
        heating()?,
        bench_work()?,
        start()?,
        memory()?,
    ]
    .concat();
    let page = page(&lines, &peer);
    std::fs::create_dir_all(root().join("../docs"))?;
    std::fs::write(root().join("../docs/benchmarks.md"), &page)?;
    println!("{page}");
    Ok(())
}

/// The peer's own numbers.
struct Peer {
    unknowns: f64,
    solve_ms: f64,
    error: f64,
    solver: String,
}

fn peer() -> Result<Peer, Box<dyn Error>> {
    let python = root().join("../.venv/bin/python");
    let script = root().join("peers/pot_magnet.py");
    let coarse = ["--cells", "3", "--growth", "2", "--corner-levels", "3", "--repeat", "5", "--gaps", "0.6"];
    let run =
        |solver: &str| Command::new(&python).arg(&script).args(coarse).args(["--solver", solver]).output();
    let mut output = run("cholmod")?;
    if !output.status.success() {
        output = run("superlu")?;
    }
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into());
    }
    let said: serde_json::Value = serde_json::from_slice(&output.stdout)?;
    let answer = &said["answers"][0];
    let number = |key: &str| answer[key].as_f64().ok_or_else(|| format!("the peer gave no {key}"));
    Ok(Peer {
        unknowns: number("unknowns")?,
        solve_ms: 1e3 * number("solve_s")?,
        error: (number("pull_n")? / PULL_N - 1.0).abs(),
        solver: said["solver"].as_str().unwrap_or("?").into(),
    })
}

fn cold(magnet: &Magnet, peer: &Peer) -> Result<Vec<Line>, Box<dyn Error>> {
    let stage = magnet.stage();
    let (timing, result) = time(RUNS, || {
        let scene = magnet.scene(&stage);
        let ladder = Ladder::climb(&scene.drawing, scene.media.clone(), scene.applied_t)?;
        let pull = pull_n(&scene, ladder.drawing(), ladder.solution())
            .map_err(|_| coilwright_fem::drawing::DrawingError::DifferentStructure)?;
        Ok::<_, coilwright_fem::solve::Failure>((pull, ladder.unknowns()))
    });
    let (pull, unknowns) = result?;
    let error = (pull / PULL_N - 1.0).abs();
    let ratio = peer.solve_ms / timing.median_ms;
    Ok(vec![
        Line {
            what: "one nonlinear pot-magnet pull, from nothing, meshing counted".into(),
            target: "≤ 20 ms, error ≤ 1e-3",
            measured: format!(
                "{:.1} ms least, {:.1} ms median of {RUNS}; error {error:.1e}; {unknowns} unknowns",
                timing.least_ms, timing.median_ms
            ),
            met: timing.median_ms <= 20.0 && error <= 1e-3,
        },
        Line {
            what: "the same against the peer's solving alone".into(),
            target: "≥ 20 times faster",
            measured: format!("{ratio:.0} times (by medians against the peer's best)"),
            met: ratio >= 20.0,
        },
    ])
}

fn warm(magnet: &Magnet, peer: &Peer) -> Result<Vec<Line>, Box<dyn Error>> {
    // The neighbour is solved at 5 % more current and a gap 5 % wider; then the answer at the case's own is asked.
    let stage = magnet.stage();
    let mut away = Stage { ampere_turns: 1.05 * stage.ampere_turns, ..stage.clone() };
    away.plates[0].gap_m *= 1.05;
    let neighbour = magnet.scene(&away);
    let mut ladder = Ladder::climb(&neighbour.drawing, neighbour.media.clone(), neighbour.applied_t)?;
    let scene = magnet.scene(&stage);
    let (timing, pull) = time(RUNS, || {
        let scene = magnet.scene(&stage);
        let solution = ladder.nearby(&scene.drawing, scene.media.clone(), scene.applied_t, None)?;
        Ok::<_, coilwright_fem::solve::Failure>((solution.steps, solution))
    });
    let (steps, solution) = pull?;
    let pull = pull_n(&scene, &ladder.framed(&scene.drawing), &solution)?;
    let error = (pull / PULL_N - 1.0).abs();
    let ratio = peer.solve_ms / timing.median_ms;
    Ok(vec![
        Line {
            what: "the same from a solved neighbour (current and gap 5 % away)".into(),
            target: "≤ 8 ms, error ≤ 1e-3",
            measured: format!(
                "{:.1} ms least, {:.1} ms median of {RUNS}; error {error:.1e}; {steps} steps",
                timing.least_ms, timing.median_ms
            ),
            met: timing.median_ms <= 8.0 && error <= 1e-3,
        },
        Line {
            what: "the same against the peer's solving alone".into(),
            target: "≥ 50 times faster",
            measured: format!("{ratio:.0} times"),
            met: ratio >= 50.0,
        },
    ])
}

/// The worst deviation of some cases at the default accuracy.
fn worst(cases: &[&str]) -> Result<(f64, usize), Box<dyn Error>> {
    let (mut worst, mut count) = (0.0f64, 0);
    for name in cases {
        for row in row::rows(&case::load(&root().join("cases").join(name))?)? {
            worst = worst.max(row.deviation());
            count += 1;
        }
    }
    Ok((worst, count))
}

fn linear() -> Result<Vec<Line>, Box<dyn Error>> {
    let (error, count) = worst(&["air-coil", "magnetised-cylinder", "magnetised-cylinder-mean"])?;
    Ok(vec![Line {
        what: "linear checks against closed forms (air coil, magnetised cylinder)".into(),
        target: "≤ 1e-4",
        measured: format!("worst of {count}: {error:.1e}"),
        met: error <= 1e-4,
    }])
}

fn sphere() -> Result<Vec<Line>, Box<dyn Error>> {
    let (error, count) = worst(&["sphere-saturating", "sphere-table"])?;
    Ok(vec![Line {
        what: "nonlinear sphere, exact".into(),
        target: "≤ 1e-4",
        measured: format!("worst of {count}: {error:.1e}"),
        met: error <= 1e-4,
    }])
}

/// A ring winding's half-hour warm-up beside the peer, and the whole `heat` and headroom answers.
fn heating() -> Result<Vec<Line>, Box<dyn Error>> {
    let (peer_ms, peer_k) = ring_peer(&["--repeat", "5"])?;
    let (_, fine_k) = ring_peer(&["--size-mm", "0.4", "--steps", "2000"])?;
    let (timing, result) = time(RUNS, ring);
    let error = (result? / fine_k - 1.0).abs();
    let sheet = example("gantry-pot")?;
    let mut continuous = sheet.clone();
    continuous.remove("drive.duty");
    continuous.remove("drive.cycle_time");
    let alone = time(7, || warm_up(&continuous));
    let heat = time(5, || ask(&continuous, &Question::Heat(HeatQuestion::default())));
    let chart = HeatQuestion {
        headroom: Some(HeadroomQuestion {
            levels: (0..20).map(|k| 12.0 + 1.5 * f64::from(k)).collect(),
            coolings: ["still air", "forced air", "cold plate"].map(String::from).to_vec(),
            cycle_s: None,
        }),
        ..HeatQuestion::default()
    };
    let headroom = time(3, || ask(&sheet, &Question::Heat(chart.clone())));
    alone.1?;
    heat.1?;
    headroom.1?;
    Ok(vec![
        Line {
            what: "half an hour's warm-up of a ring winding, mesh counted (order 2, adaptive steps)".into(),
            target: "faster than the peer",
            measured: format!(
                "{:.1} ms median, error {error:.0e}; peer {peer_ms:.1} ms without its mesh, error {:.0e}",
                timing.median_ms,
                (peer_k / fine_k - 1.0).abs()
            ),
            met: timing.median_ms < peer_ms,
        },
        Line {
            what:
                "30-minute coupled warm-up of the demo's pot, its table of field and pull by current counted"
                    .into(),
            target: "≤ 0.3 s",
            measured: format!("{:.2} s median", 1e-3 * alone.0.median_ms),
            met: alone.0.median_ms <= 300.0,
        },
        Line {
            what: "`heat` with steady state and bands".into(),
            target: "< 1 s",
            measured: format!("{:.2} s median", 1e-3 * heat.0.median_ms),
            met: heat.0.median_ms < 1000.0,
        },
        Line {
            what: "headroom chart, 20 voltages by 3 coolings".into(),
            target: "≤ 5 s",
            measured: format!("{:.2} s median", 1e-3 * headroom.0.median_ms),
            met: headroom.0.median_ms <= 5000.0,
        },
    ])
}

/// Half an hour's warm-up with the current following the winding's temperature; its end in K.
fn warm_up(sheet: &Sheet) -> Result<f64, Box<dyn Error>> {
    let magnet = Magnet::complete(sheet).map_err(|d| format!("{d:?}"))?;
    let driven = Driven::of(sheet, &magnet).map_err(|d| d.message)?;
    let setting = Setting::read(sheet, &magnet, false).map_err(|d| format!("{d:?}"))?.setting;
    let most_a = driven.current_a(setting.coldest_k());
    let (strength, _) = Strength::solve(sheet, &magnet, &driven, most_a, (8, &[]), true)?;
    let mut body = Body::new(&magnet, driven.winding, &setting)?;
    let cold = body.cold();
    let pace = Pace { end_s: 1800.0, tolerance_k: 0.01, step_max_s: 20.0, breaks_s: Vec::new() };
    let run = body.follow(&cold, |_, k| driven.current_a(k).powi(2), &pace, |_| false)?;
    let end = run.last().mean_k;
    if strength.pull_n(driven.current_a(end)) > 0.0 { Ok(end) } else { Err("no pull".into()) }
}

/// The peer's time in ms and the rise of its hottest node in K.
fn ring_peer(arguments: &[&str]) -> Result<(f64, f64), Box<dyn Error>> {
    let python = root().join("../.venv/bin/python");
    let output = Command::new(python).arg(root().join("peers/heat_transient.py")).args(arguments).output()?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into());
    }
    let said: serde_json::Value = serde_json::from_slice(&output.stdout)?;
    let number = |key: &str| said[key].as_f64().ok_or_else(|| format!("the peer gave no {key}"));
    Ok((1e3 * number("solve_s")?, number("hottest_rise_k")?))
}

/// The ring of `peers/heat_transient.py`: rise of its hottest place after half an hour, K.
fn ring() -> Result<f64, Box<dyn Error>> {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 0.06);
    drawing.size_max_m = 2e-3;
    drawing.paint(1, Outline::rectangle([0.010, 0.025], [-0.005, 0.005]));
    let mesh = std::sync::Arc::new(Mesh::new(&drawing, 2)?);
    let winding = Substance { generation: 1e5, ..Substance::plain(0.5, 2e6) };
    let outside = |side: &Side| (side.outward[0] > 0.9).then_some(0);
    let mut heat = Heat::new(mesh, &[None, Some(winding)], &[], 1, outside)?;
    let coefficient = |_: f64| 10.0;
    let films = [Film { ambient_k: 0.0, coefficient: &coefficient }];
    let start = heat.uniform(0.0);
    let mut last = start.clone();
    heat.transient(
        &films,
        |_, _| 1.0,
        &start,
        &Stepping::until(1800.0),
        |now| {
            last = now.temperature_k.to_vec();
            std::ops::ControlFlow::Continue(())
        },
    )?;
    Ok(heat.hottest(&last, 1).ok_or("the ring is there")?.kelvin)
}

/// An example sheet.
fn example(name: &str) -> Result<Sheet, Box<dyn Error>> {
    let text = std::fs::read_to_string(root().join(format!("../examples/{name}.sheet.toml")))?;
    Ok(Sheet::parse(&text, name).map_err(|d| format!("{d:?}"))?.0)
}

/// Bands by sampling, and a fit.
fn bench_work() -> Result<Vec<Line>, Box<dyn Error>> {
    let sheet = example("gantry-pot")?;
    let pull = Question::Pull(PullQuestion::default());
    let sampled = time(3, || sampled(&ask(&sheet, &pull)?, &sheet, &pull, 200, 1));
    let csv = std::fs::read_to_string(root().join("../examples/readings/gantry-pot.csv"))?;
    let readings = readings::read(csv.as_bytes(), &readings::Options::default())?;
    let options = fit::Options { date: "2025-01-31", readings_name: "gantry-pot.csv" };
    let fitted = time(3, || fit::fit(&sheet, &readings, &options));
    let used = fitted.1?.answer.number("used").unwrap_or(0.0);
    sampled.1?;
    Ok(vec![
        Line {
            what: "`pull` with bands, checks and curves, and 200 samples".into(),
            target: "≤ 3 s",
            measured: format!("{:.2} s median", 1e-3 * sampled.0.median_ms),
            met: sampled.0.median_ms <= 3000.0,
        },
        Line {
            what: format!("fit of 6 unknowns to {used} field, pull, volt and ampere readings"),
            target: "≤ 5 s",
            measured: format!("{:.2} s median", 1e-3 * fitted.0.median_ms),
            met: fitted.0.median_ms <= 5000.0,
        },
    ])
}

/// The program itself, which stands beside this one.
fn program() -> Result<std::path::PathBuf, Box<dyn Error>> {
    let path = std::env::current_exe()?.with_file_name("coilwright");
    if path.exists() { Ok(path) } else { Err("build the program first: cargo build --release".into()) }
}

fn start() -> Result<Vec<Line>, Box<dyn Error>> {
    let program = program()?;
    let sheet = root().join("../examples/gantry-pot.sheet.toml");
    let run = |command: &str| -> Result<Timing, Box<dyn Error>> {
        let (timing, output) = time(7, || Command::new(&program).arg(command).arg(&sheet).output());
        let output = output?;
        if output.status.success() { Ok(timing) } else { Err(String::from_utf8_lossy(&output.stderr).into()) }
    };
    let (winding, pull) = (run("winding")?, run("pull")?);
    Ok(vec![
        Line {
            what: "start of a command to its first answer (`winding`)".into(),
            target: "≤ 0.2 s",
            measured: format!("{:.3} s median", 1e-3 * winding.median_ms),
            met: winding.median_ms <= 200.0,
        },
        Line {
            what: "`pull` with bands, checks and curves".into(),
            target: "< 1 s",
            measured: format!("{:.2} s median", 1e-3 * pull.median_ms),
            met: pull.median_ms < 1000.0,
        },
    ])
}

/// The greatest memory this process has used, and the program's size.
fn memory() -> Result<Vec<Line>, Box<dyn Error>> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let peak_kb: f64 = status
        .lines()
        .find_map(|l| l.strip_prefix("VmHWM:"))
        .and_then(|l| l.split_whitespace().next())
        .ok_or("no VmHWM in /proc/self/status")?
        .parse()?;
    let size = std::fs::metadata(program()?)?.len() as f64 / 1e6;
    Ok(vec![
        Line {
            what: "greatest memory of this run (all of the above but the peer)".into(),
            target: "—",
            measured: format!("{:.0} MB", peak_kb / 1e3),
            met: true,
        },
        Line {
            what: "the program's size".into(),
            target: "≤ 30 MB",
            measured: format!("{size:.1} MB"),
            met: size <= 30.0,
        },
    ])
}

fn page(lines: &[Line], peer: &Peer) -> String {
    let machine = std::fs::read_to_string("/proc/cpuinfo")
        .ok()
        .and_then(|t| {
            t.lines().find(|l| l.starts_with("model name")).map(|l| l.replace("model name\t: ", ""))
        })
        .unwrap_or_else(|| "unknown".into());
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load = load.split_whitespace().next().unwrap_or("?").to_string();
    let mut page = format!(
        "# Benchmarks\n\nWritten by `cargo run --release -p coilwright-verification --bin benchmarks`; do not edit.\n\n\
         Machine: {machine}, {cores} cores, load {load} at the end of the run. Every solve uses one core.\n\n\
         Peer in the same run: scikit-fem with {} on the same problem, {:.0} unknowns, error {:.1e}, best of 5: \
         {:.0} ms for solving alone.\n\n| what | target | measured | met |\n|---|---|---|---|\n",
        peer.solver, peer.unknowns, peer.error, peer.solve_ms
    );
    for line in lines {
        let met = if line.met { "yes" } else { "no" };
        page += &format!("| {} | {} | {} | {met} |\n", line.what, line.target, line.measured);
    }
    page
}
