//! Where everything comes from: nothing names a site but those of standards bodies, every crate comes from the registry, and
//! each may be passed on under a licence that `deny.toml` allows (what `cargo deny check licenses sources` checks too).

#![allow(clippy::unwrap_used, reason = "shared by tests")]

use coilwright_verification::root;
use serde_json::Value;
use spdx::{Expression, ParseMode};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Sites that may be named: the names of formats, and published reference data.
const SITES: [&str; 3] = ["www.w3.org/", "json-schema.org/", "www.itl.nist.gov/"];
/// No sites: this very machine, and a name that exists nowhere (RFC 2606).
const NOWHERE: [&str; 3] = ["127.0.0.1:", "localhost:", "elsewhere.example"];
/// Folders in which nobody writes.
const MADE: [&str; 4] = [".git", "target", ".venv", "node_modules"];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let (path, name) = (entry.path(), entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            if !MADE.iter().any(|made| name == *made) {
                files(&path, found);
            }
        } else {
            found.push(path);
        }
    }
}

#[test]
fn no_site_is_named_but_those_of_standards_bodies() {
    let mut all = Vec::new();
    files(&root().join(".."), &mut all);
    let mut looked_at = 0;
    for path in all {
        // This test names what it looks for, licences their own home, Cargo its registry; pictures and fonts are no text.
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let own = ["provenance.rs", "Cargo.lock", "OFL-1.1.txt", "LICENSE-APACHE", "LICENSE-MIT"];
        if own.contains(&name.as_str()) {
            continue;
        }
        looked_at += 1;
        for (line, text) in text.lines().enumerate() {
            let text = text.to_ascii_lowercase();
            for (start, _) in text.match_indices("://").chain(text.match_indices("www.")) {
                let named = text[start..].trim_start_matches("://");
                let before = &text[..start];
                // `www.` behind `://` was looked at with that.
                if before.ends_with("://") {
                    continue;
                }
                // What no name begins is the mark alone, as code that puts an address together has it.
                let begins =
                    named.starts_with("www.") || named.starts_with(|c: char| c.is_ascii_alphanumeric());
                if !begins || NOWHERE.iter().any(|nowhere| named.starts_with(nowhere)) {
                    continue;
                }
                let shown = format!("{}:{}: {named}", path.display(), line + 1);
                assert!(SITES.iter().any(|site| named.starts_with(site)), "{shown}");
            }
        }
    }
    assert!(looked_at > 300, "{looked_at} files");
}

fn packages() -> Vec<Value> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let platform = "x86_64-unknown-linux-gnu";
    let arguments = ["metadata", "--offline", "--format-version", "1", "--filter-platform", platform];
    let output = Command::new(cargo).args(arguments).current_dir(root().join("..")).output().unwrap();
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"].as_array().unwrap().clone()
}

#[test]
fn every_crate_comes_from_the_registry() {
    for package in packages() {
        let ours = package["source"].is_null();
        let source = package["source"].as_str().unwrap_or_default();
        assert!(ours || source.starts_with("registry+"), "{}: {source}", package["name"]);
    }
}

#[test]
fn every_crate_may_be_passed_on() {
    let deny: toml::Value =
        toml::from_str(&std::fs::read_to_string(root().join("../deny.toml")).unwrap()).unwrap();
    let allowed: BTreeSet<&str> =
        deny["licenses"]["allow"].as_array().unwrap().iter().filter_map(toml::Value::as_str).collect();
    let mut judged = 0;
    for package in packages().iter().filter(|package| !package["source"].is_null()) {
        let name = &package["name"];
        let text = package["license"].as_str().unwrap_or_else(|| panic!("{name} names no licence"));
        let expression = Expression::parse_mode(text, ParseMode::LAX).unwrap();
        let may = expression.evaluate(|licence| allowed.contains(licence.to_string().as_str()));
        assert!(may, "{name}: {text}");
        judged += 1;
    }
    assert!(judged > 100, "{judged} crates");
}
