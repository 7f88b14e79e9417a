//! Judges the solver's claims about its own error on invented problems of every form, and writes
//! `docs/error-estimate.md`:
//! `cargo run --release -p coilwright-verification --bin error_estimate SEED FROM COUNT FILE`.
//!
//! Each problem adds its lines to FILE, so that a run may be cut short and taken up again; the page is made of all lines.
#![allow(clippy::print_stderr)] // it is a command for a terminal

use coilwright_verification::judged::{self, Judged};
use coilwright_verification::problem::problem;
use coilwright_verification::root;
use std::error::Error;
use std::io::Write;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, seed, from, count, file] = &arguments[..] else {
        return Err("expected SEED FROM COUNT FILE".into());
    };
    let (seed, from, count): (u64, u64, u64) = (seed.parse()?, from.parse()?, count.parse()?);
    let mut out = std::fs::OpenOptions::new().create(true).append(true).open(file)?;
    for number in from..from + count {
        let start = std::time::Instant::now();
        match judged::judge(&problem(seed, number), number, &judged::ASKED) {
            Ok(found) => found.iter().try_for_each(|line| writeln!(out, "{}", line.line()))?,
            Err(e) => writeln!(out, "failed {number} {} {e}", problem(seed, number).form)?,
        }
        eprintln!("{number}: {:.1} s", start.elapsed().as_secs_f64());
    }
    let text = std::fs::read_to_string(file)?;
    let all: Vec<Judged> = text.lines().filter_map(Judged::parse).collect();
    let failed = text.lines().filter(|line| line.starts_with("failed")).count();
    std::fs::write(root().join("../docs/error-estimate.md"), judged::page(&all, failed))?;
    Ok(())
}
