//! The program run in the folder of the examples, on a terminal of 100 columns.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use std::path::PathBuf;
use std::process::Command;

/// Exit code, standard output and standard error.
pub(crate) fn run(args: &[&str]) -> (i32, String, String) {
    let examples = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let output = Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .args(args)
        .env("COLUMNS", "100")
        .current_dir(examples)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}
