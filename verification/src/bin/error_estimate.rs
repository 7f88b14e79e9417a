//! Judges the solver's claims about its own error on invented problems of every form, and writes
//! `docs/error-estimate.md`: `cargo run --release -p coilwright-verification --bin error_estimate SEED FROM COUNT [FILE]`.
#![allow(clippy::print_stdout, clippy::print_stderr)] // it is a command for a terminal

use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::{Magnetostatics, Solution, Stopping};
use coilwright_fem::mesh::Mesh;
use coilwright_fem::morph::Motion;
use coilwright_magnet::magnetic::solved::{Solved, flux_per_turn_wb};
use coilwright_verification::problem::{Problem, finely, problem};
use std::error::Error;
use std::io::Write;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    let number = |k: usize| arguments[k].parse::<u64>();
    let (seed, from, count) = (number(1)?, number(2)?, number(3)?);
    let mut out = std::fs::OpenOptions::new().create(true).append(true).open(&arguments[4])?;
    for k in from..from + count {
        let start = std::time::Instant::now();
        match judge(&problem(seed, k), k) {
            Ok(lines) => out.write_all(lines.as_bytes())?,
            Err(e) => writeln!(out, "#{k} {} {e}", problem(seed, k).form)?,
        }
        eprintln!("{k} {:.1} s", start.elapsed().as_secs_f64());
    }
    Ok(())
}

/// Pull, stress, functional, flux, energy, then fields at points.
fn read(problem: &Problem, motion: &Motion, s: &Solution) -> Vec<f64> {
    let probe = Probe::new(s);
    let mut found = vec![
        s.force(motion),
        s.force_on_shell(motion),
        s.functional(),
        flux_per_turn_wb(&problem.scene, s),
        s.energies().0,
    ];
    for p in problem.over_face.iter().chain(&problem.on_axis) {
        found.extend(probe.at(*p).b_t);
    }
    found
}

fn judge(problem: &Problem, k: u64) -> Result<String, Box<dyn Error>> {
    let scene = &problem.scene;
    let points: Vec<_> = problem.over_face.iter().chain(&problem.on_axis).copied().collect();
    let fine = finely(&scene.drawing, &points);
    let mut below: Option<(Mesh, Vec<f64>)> = None;
    let base = Mesh::new(&fine, 2)?;
    let mut reference = Vec::new();
    let mut unknowns = 0;
    for order in 2..=4 {
        let mesh = base.with_order(order);
        let motion = Motion::of_areas(&mesh, &fine, |k| scene.moving[k], [0.0, 1.0])?;
        let start = below.take().map(|(m, a)| mesh.interpolate(&m, &a));
        let mut level = Magnetostatics::new(mesh.clone())?;
        unknowns = level.unknowns();
        let stopping = Stopping { remainder: if order == 2 { 1e-2 } else { 1e-6 }, steps: 300 };
        let s = level.solve(scene.media.clone(), scene.applied_t, start.as_deref(), stopping)?;
        reference.push(read(problem, &motion, &s));
        below = Some((mesh, s.potential));
    }
    let mut text = String::new();
    for accuracy in [1e-2, 1e-3, 1e-4] {
        let begun = std::time::Instant::now();
        let solved = Solved::for_pull(scene.clone(), accuracy)?;
        let ms = 1e3 * begun.elapsed().as_secs_f64();
        let motion = solved.ladder.motion(|k| scene.moving[k], [0.0, 1.0])?;
        let mut claims = solved.ladder.estimates(|s| read(problem, &motion, s));
        claims[0] = solved.ladder.force(&motion);
        for (of_point, of_field) in claims[5..].iter_mut().zip(solved.ladder.fields(&points).iter().flatten())
        {
            *of_point = *of_field;
        }
        let orders: Vec<Vec<f64>> =
            solved.ladder.solutions().iter().map(|s| read(problem, &motion, s)).collect();
        for (n, claim) in claims.iter().enumerate() {
            text += &format!(
                "{k} {} {accuracy:e} {n} {} {unknowns} {ms:.1} {:e} {:e} {:e} {:e} {:e} {:e}\n",
                problem.form,
                solved.ladder.unknowns(),
                orders[0][n],
                orders[1][n],
                orders[2][n],
                claim.error,
                reference[2][n],
                reference[1][n],
            );
        }
    }
    Ok(text)
}
