//! What the program is built from, and under which licences.

use crate::root;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Why there is no notice.
#[derive(Debug, thiserror::Error)]
pub enum NoticeError {
    /// Cargo could not be asked.
    #[error("cargo could not be asked: {0}")]
    Cargo(#[from] std::io::Error),
    /// Cargo answered something else.
    #[error("cargo's answer is not understood: {0}")]
    Answer(#[from] serde_json::Error),
}

/// The text of `THIRD-PARTY.md`: every crate that the program `coilwright` is built from, tests left out.
///
/// # Errors
/// Cargo cannot be asked.
pub fn text() -> Result<String, NoticeError> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args([
            "metadata",
            "--offline",
            "--format-version",
            "1",
            "--filter-platform",
            "x86_64-unknown-linux-gnu",
        ])
        .current_dir(root().join(".."))
        .output()?;
    let metadata: Value = serde_json::from_slice(&output.stdout)?;
    let list = |of: &Value| of.as_array().cloned().unwrap_or_default();
    let word = |of: &Value| of.as_str().unwrap_or_default().to_owned();
    let nodes: BTreeMap<String, Value> =
        list(&metadata["resolve"]["nodes"]).into_iter().map(|node| (word(&node["id"]), node)).collect();
    let packages: BTreeMap<String, Value> =
        list(&metadata["packages"]).into_iter().map(|package| (word(&package["id"]), package)).collect();
    let program = packages.iter().find(|(_, p)| p["name"] == "coilwright").map(|(id, _)| id.clone());
    let mut seen: BTreeSet<String> = BTreeSet::new();
    let mut open: Vec<String> = program.into_iter().collect();
    while let Some(id) = open.pop() {
        if !seen.insert(id.clone()) {
            continue;
        }
        for dependency in list(&nodes[&id]["deps"]) {
            let kinds = list(&dependency["dep_kinds"]);
            if kinds.iter().any(|kind| kind["kind"].is_null()) {
                open.push(word(&dependency["pkg"]));
            }
        }
    }
    let mut lines: Vec<String> = seen
        .iter()
        .map(|id| &packages[id])
        .filter(|package| !package["source"].is_null())
        .map(|package| {
            let licence = package["license"].as_str().unwrap_or("see its licence file");
            format!("| {} | {} | {licence} |", word(&package["name"]), word(&package["version"]))
        })
        .collect();
    lines.sort();
    Ok(format!("{HEAD}{}\n", lines.join("\n")))
}

const HEAD: &str = "\
# What Coilwright is built from

Written by `cargo run -p coilwright-verification --bin notices`; a test keeps it true.

The program contains the fonts Noto Sans Regular and Bold under the SIL Open Font License 1.1, whose text is in
[LICENSES/OFL-1.1.txt](LICENSES/OFL-1.1.txt), and code from these crates, whose licence texts come with their sources:

| crate | version | licence |
|---|---|---|
";
