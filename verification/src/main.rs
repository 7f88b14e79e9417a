//! Answers every case, prints observed beside expected, and writes `docs/verification.md`.
#![allow(clippy::print_stdout, clippy::print_stderr)] // it is a command for a terminal

use coilwright_verification::{case, page, page_path, root, row};
use std::process::ExitCode;

fn main() -> ExitCode {
    match run() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

/// Whether every check holds.
fn run() -> Result<bool, Box<dyn std::error::Error>> {
    let mut answered = Vec::new();
    let mut all_hold = true;
    for case in case::load_all(&root().join("cases"))? {
        let rows = row::rows(&case)?;
        for row in &rows {
            all_hold &= row.holds();
            println!(
                "{} {:32} {:24} expected {:<14} observed {:<22} deviation {:.1e} of {:.0e}",
                if row.holds() { "ok  " } else { "FAIL" },
                case.name,
                row.check.key,
                row.check.expected,
                row.observed,
                row.deviation(),
                row.check.tolerance,
            );
        }
        answered.push((case, rows));
    }
    std::fs::write(page_path(), page::write(&answered))?;
    Ok(all_hold)
}
