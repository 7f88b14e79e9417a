//! Runs a script of `peers/` and reads the JSON that it prints.
//!
//! The scripts need a Python with `peers/requirements.txt` installed: the one that the variable `COILWRIGHT_PEERS`
//! names, or `.venv/bin/python` in the workspace. Without one the tests say so and check nothing, except in CI
//! (`CI=true`), where they fail.

#![allow(clippy::print_stdout)] // a test says what it did not check

use coilwright_verification::root;
use serde_json::Value;
use std::path::PathBuf;
use std::process::Command;

/// What a script prints; none where there is no Python to run it.
pub(crate) fn answer(script: &str, arguments: &[&str]) -> Option<Value> {
    let python = match std::env::var_os("COILWRIGHT_PEERS") {
        Some(path) => Some(PathBuf::from(path)),
        None => Some(root().join("../.venv/bin/python")).filter(|path| path.exists()),
    };
    let Some(python) = python else {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "CI has no Python with peers/requirements.txt");
        println!("not checked: no Python with peers/requirements.txt (see the head of tests/peer/mod.rs)");
        return None;
    };
    let output = Command::new(python)
        .arg(root().join("peers").join(script))
        .args(arguments)
        .output()
        .expect("the interpreter starts");
    assert!(output.status.success(), "{script}: {}", String::from_utf8_lossy(&output.stderr));
    Some(serde_json::from_slice(&output.stdout).expect("the script prints JSON"))
}
