//! What `ARCHITECTURE.md` promises and a test can keep.

use coilwright_verification::root;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The line of crates, left to right; each may use what is to its left.
const LINE: [(&str, &str); 7] = [
    ("coilwright-fem", "crates/fem"),
    ("coilwright-sheet", "crates/sheet"),
    ("coilwright-magnet", "crates/magnet"),
    ("coilwright-bench", "crates/bench"),
    ("coilwright-choose", "crates/choose"),
    ("coilwright", "crates/app"),
    ("coilwright-verification", "verification"),
];

fn workspace() -> PathBuf {
    root().join("..").canonicalize().expect("the workspace is there")
}

fn packages() -> Vec<Value> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1"])
        .current_dir(workspace())
        .output()
        .expect("cargo starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("cargo prints JSON");
    metadata["packages"].as_array().expect("a list of packages").clone()
}

/// Every `.rs` file of a folder, with its text.
fn sources(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(&next).expect("the folder can be read") {
            let path = entry.expect("the entry can be read").path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = std::fs::read_to_string(&path).expect("the source can be read");
                found.push((path, text));
            }
        }
    }
    found.sort();
    assert!(!found.is_empty(), "no sources in {}", folder.display());
    found
}

fn is_comment(line: &str) -> bool {
    line.trim_start().starts_with("//")
}

#[test]
fn the_document_lists_the_workspace() {
    let text =
        std::fs::read_to_string(workspace().join("ARCHITECTURE.md")).expect("ARCHITECTURE.md is there");
    let listed: BTreeSet<String> = text
        .lines()
        .filter_map(|line| line.strip_prefix("- **`")?.split_once("`**"))
        .map(|(folder, _)| folder.to_owned())
        .collect();
    let workspace = workspace();
    let members: BTreeSet<String> = packages()
        .iter()
        .map(|package| {
            let manifest = Path::new(package["manifest_path"].as_str().expect("a path"));
            let folder = manifest.parent().expect("a folder").strip_prefix(&workspace).expect("inside");
            folder.to_string_lossy().into_owned()
        })
        .collect();
    assert_eq!(listed, members, "left: ARCHITECTURE.md, right: the workspace");
    let line: BTreeSet<String> = LINE.iter().map(|(_, folder)| (*folder).to_owned()).collect();
    assert_eq!(line, members, "left: this test, right: the workspace");
}

#[test]
fn crates_depend_to_the_left_only() {
    let position = |name: &str| LINE.iter().position(|(package, _)| *package == name);
    for package in packages() {
        let name = package["name"].as_str().expect("a name");
        let own = position(name).expect("the package is in the line");
        for dependency in package["dependencies"].as_array().expect("a list") {
            let Some(other) = position(dependency["name"].as_str().expect("a name")) else { continue };
            assert!(other < own, "{name} depends on {}, which is not to its left", LINE[other].0);
            // Mathematics and description do not know each other.
            assert!(name != "coilwright-sheet" || other != 0, "the sheet knows the mathematics");
        }
    }
}

/// Text and values in, values out.
#[test]
fn computing_crates_touch_nothing_outside() {
    let outside = [
        "std::fs",
        "std::net",
        "std::env",
        "std::process",
        "stdin(",
        "stdout(",
        "stderr(",
        "SystemTime",
        "Instant",
        "println!",
        "eprintln!",
        "print!",
        "eprint!",
        "dbg!",
        "thread_rng",
        "from_entropy",
        "from_os_rng",
    ];
    for (name, folder) in &LINE[..5] {
        for (path, text) in sources(&workspace().join(folder).join("src")) {
            for (number, line) in text.lines().enumerate().filter(|(_, line)| !is_comment(line)) {
                for word in outside {
                    // `print!` is also the tail of other macros' names
                    let hit = line
                        .find(word)
                        .is_some_and(|at| !line[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_'));
                    assert!(!hit, "{name} touches {word}: {}:{}", path.display(), number + 1);
                }
            }
        }
    }
}

#[test]
fn every_module_says_what_it_is_for() {
    for (_, folder) in LINE {
        for (path, text) in sources(&workspace().join(folder)) {
            if path.components().any(|c| c.as_os_str() == "target") {
                continue;
            }
            assert!(text.starts_with("//!"), "{} does not open with //!", path.display());
        }
    }
}

/// Words of a name in snake_case or CamelCase, in lower case.
fn words(name: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    for c in name.chars() {
        if c == '_' || (c.is_uppercase() && words.last().is_some_and(|w| !w.is_empty())) {
            words.push(String::new());
        }
        if c != '_'
            && let Some(word) = words.last_mut()
        {
            word.extend(c.to_lowercase());
        }
    }
    words
}

/// The name that a line makes public, if it does.
fn public_name(line: &str) -> Option<&str> {
    let rest = line.trim_start().strip_prefix("pub ")?;
    let kinds =
        ["async ", "const ", "fn ", "struct ", "enum ", "trait ", "type ", "mod ", "static ", "union "];
    let mut rest = rest;
    let mut any = false;
    while let Some(kind) = kinds.iter().find(|kind| rest.starts_with(**kind)) {
        rest = &rest[kind.len()..];
        any = true;
    }
    any.then(|| rest.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or(""))
}

/// `fem` is usable by strangers.
#[test]
fn the_mathematics_knows_nothing_of_magnets() {
    for (path, text) in sources(&workspace().join("crates/fem/src")) {
        for name in text.lines().filter_map(public_name) {
            for word in words(name) {
                let ours =
                    ["magnet", "magnets", "wire", "wires", "sheet", "sheets", "tolerance", "tolerances"];
                assert!(!ours.contains(&word.as_str()), "{} makes '{name}' public", path.display());
            }
        }
    }
}

#[test]
fn what_it_is_built_from_is_told() {
    let told = std::fs::read_to_string(workspace().join("THIRD-PARTY.md")).expect("THIRD-PARTY.md is there");
    let now = coilwright_verification::notices::text().expect("cargo answers");
    assert_eq!(told, now, "write it anew: cargo run -p coilwright-verification --bin notices");
}

#[test]
fn the_scanners_see_what_they_should() {
    assert_eq!(public_name("pub fn wire_length(x: f64)"), Some("wire_length"));
    assert_eq!(public_name("    pub const fn f()"), Some("f"));
    assert_eq!(public_name("pub(crate) fn wire()"), None);
    assert_eq!(public_name("pub radius: f64,"), None);
    assert_eq!(words("MagnetSheet"), ["magnet", "sheet"]);
    assert_eq!(words("solve_magnetostatics"), ["solve", "magnetostatics"]);
}

/// The tests of a crate are one program: what its `tests/main.rs` does not name would never run.
#[test]
fn every_test_file_is_named_in_its_program() {
    let programs = LINE.iter().map(|(_, folder)| workspace().join(folder).join("tests"));
    for tests in programs.filter(|tests| tests.join("main.rs").exists()) {
        let main = std::fs::read_to_string(tests.join("main.rs")).expect("the program can be read");
        for entry in std::fs::read_dir(&tests).expect("the folder can be read") {
            let path = entry.expect("the entry can be read").path();
            let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
            let is_module = path.join("mod.rs").exists() || path.extension().is_some_and(|e| e == "rs");
            let named = main.lines().any(|line| line == format!("mod {name};"));
            assert!(!is_module || name == "main" || named, "{} is in no test program", path.display());
        }
    }
}
