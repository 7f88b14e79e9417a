//! `open`: the page of a report, alive, in the browser.

use super::Command;
use crate::console::Console;
use crate::interrupt;
use crate::outcome::{Exit, Stop};
use crate::workbench::{Bench, Keep, Others};
use std::path::{Path, PathBuf};
use std::process::{Command as Process, Stdio};

/// Arguments of `open`.
#[derive(clap::Args)]
pub(super) struct Open {
    /// Sheet to open, and others that are to stand beside it; a demo where none is named
    #[arg(value_name = "SHEET")]
    sheets: Vec<PathBuf>,

    /// The port to serve on; any that is free where it is not given
    #[arg(long, value_name = "PORT", default_value_t = 0, hide_default_value = true)]
    port: u16,

    /// Open no browser; the address is written to standard output either way
    #[arg(long)]
    no_browser: bool,
}

impl Command for Open {
    const NAME: &'static str = "open";
    const ABOUT: &'static str =
        "The report, alive: change the magnet in the browser and watch every number follow";
    const EXAMPLES: &'static str = "\
The page is served to this machine alone, under an address that holds a key; whoever has the address
may change the sheet. What is not saved is kept beside the sheet until it is. Ctrl-C ends it.
The first sheet is the one that is changed; up to three more stand beside it and are compared.

Examples:
  coilwright open
  coilwright open magnet.sheet.toml
  coilwright open magnet.sheet.toml ring.sheet.toml
  coilwright open magnet.sheet.toml --port 8100 --no-browser";

    fn run(self, console: &mut Console) -> Result<Exit, Stop> {
        let (keep, others) = match self.sheets.split_first() {
            Some((path, others)) => (Keep::of(path)?, Others::of(others)?),
            None => (Keep::demo(Path::new("."))?, Others::of(&[])?),
        };
        let bench = Bench::bind(keep, others, self.port)
            .map_err(|error| Stop::Usage(format!("port {} cannot be taken: {error}", self.port)))?;
        let address = bench.address();
        // Whoever has the address may end it.
        interrupt::serves();
        console.say(&format!("{address}\n"))?;
        console.flush()?;
        if !self.no_browser {
            show(&address);
        }
        bench.serve()?;
        Ok(Exit::Answered)
    }
}

/// Shows an address in the user's browser. Where there is none, the address stands on standard output.
fn show(address: &str) {
    let program = match std::env::consts::OS {
        "macos" => "open",
        "windows" => "explorer",
        _ => "xdg-open",
    };
    let quiet = Stdio::null;
    let _ = Process::new(program).arg(address).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
}
