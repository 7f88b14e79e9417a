//! The face of Coilwright: reads sheets, asks the model, shows answers. Computes nothing itself.

mod args;
pub mod ask;
mod bench;
mod beside;
pub mod chart;
mod commands;
mod console;
mod csv;
pub mod diagnostics;
mod files;
mod input;
mod interrupt;
mod json;
mod lettering;
mod outcome;
mod page;
mod progress;
mod scan;
pub mod shown;
mod style;
mod svg;
pub mod terminal;
mod topics;
mod workbench;

use std::process::ExitCode;

/// Runs the command line of this process.
pub fn main() -> ExitCode {
    interrupt::watch();
    let mut console = console::Console::of_process();
    let exit = match commands::run(std::env::args_os(), &mut console) {
        Ok(exit) => exit,
        Err(stop) => stop.tell(&mut console),
    };
    // Whoever reads us may stop reading: no error (`coilwright ... | head`).
    let _ = console.flush();
    ExitCode::from(exit as u8)
}
