//! Reading sheets: from files or standard input, of a sane size, as UTF-8, with `--set` applied.

use crate::args::Assignment;
use crate::ask::{self, Sheet};
use crate::outcome::{Faults, Stop};
use coilwright_magnet::diagnostic::Diagnostic;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// A sheet ready to be asked.
#[derive(Clone)]
pub(crate) struct Loaded {
    /// The sheet with what-ifs applied.
    pub(crate) sheet: Sheet,
    /// Its name as the user gave it.
    pub(crate) file: String,
    /// Its text.
    pub(crate) text: String,
    /// What was changed of it, as `path=value`.
    pub(crate) set: Vec<String>,
    /// Remarks on it.
    pub(crate) remarks: Vec<Diagnostic>,
}

impl Loaded {
    /// SHA-256 (FIPS 180-4) of its bytes, in hexadecimal.
    pub(crate) fn sha256(&self) -> String {
        checksum(self.text.as_bytes())
    }
}

/// SHA-256 (FIPS 180-4) in hexadecimal.
pub(crate) fn checksum(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// All sheets, or all faults of all of them.
pub(crate) fn sheets(paths: &[PathBuf], assignments: &[Assignment]) -> Result<Vec<Loaded>, Stop> {
    let mut loaded = Vec::new();
    let mut faulty = Vec::new();
    for path in paths {
        match one(path, assignments) {
            Ok(sheet) => loaded.push(sheet),
            Err(faults) => faulty.push(faults),
        }
    }
    if faulty.is_empty() { Ok(loaded) } else { Err(Stop::Input(faulty)) }
}

fn one(path: &Path, assignments: &[Assignment]) -> Result<Loaded, Faults> {
    let file = if is_stdin(path) { "standard input".to_owned() } else { path.display().to_string() };
    let bytes =
        read(path).map_err(|error| Faults { text: None, diagnostics: vec![unreadable(&error, &file)] })?;
    of_bytes(&bytes, file, assignments)
}

/// A sheet from the bytes of a file of that name.
pub(crate) fn of_bytes(bytes: &[u8], file: String, assignments: &[Assignment]) -> Result<Loaded, Faults> {
    let parsed = Sheet::parse_bytes(bytes, &file);
    let text = String::from_utf8_lossy(bytes).into_owned();
    let (mut sheet, remarks) = match parsed {
        Ok(parsed) => parsed,
        Err(diagnostics) => return Err(Faults { text: Some(text), diagnostics }),
    };
    let mut diagnostics = Vec::new();
    for Assignment { path, text } in assignments {
        if let Err(mut fault) = sheet.set(path, text) {
            fault.file = format!("--set {path}={text}");
            diagnostics.push(fault);
        }
    }
    if diagnostics.is_empty() {
        let set = assignments.iter().map(|a| format!("{}={}", a.path, a.text)).collect();
        Ok(Loaded { sheet, file, text, set, remarks })
    } else {
        Err(Faults { text: Some(text), diagnostics })
    }
}

fn is_stdin(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The file's bytes, no more of them than decide that it is too large.
fn read(path: &Path) -> io::Result<Vec<u8>> {
    let most = ask::LARGEST_SHEET as u64 + 1;
    let mut bytes = Vec::new();
    if is_stdin(path) {
        io::stdin().lock().take(most).read_to_end(&mut bytes)?;
    } else {
        File::open(path)?.take(most).read_to_end(&mut bytes)?;
    }
    Ok(bytes)
}

fn unreadable(error: &io::Error, file: &str) -> Diagnostic {
    let fault = match error.kind() {
        io::ErrorKind::NotFound => Diagnostic::fault(
            "there is no such file",
            "`coilwright new pot -o FILE` writes a sheet to start from",
        ),
        io::ErrorKind::IsADirectory => Diagnostic::fault("this is a directory", "name the sheets in it"),
        _ => Diagnostic::fault(error.to_string(), ""),
    };
    fault.at(file, None)
}
