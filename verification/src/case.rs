//! A case: one folder with `case.toml` and the sheet it is about.

use serde::Deserialize;
use std::path::{Path, PathBuf};

/// What went wrong before anything could be compared.
#[derive(Debug, thiserror::Error)]
pub enum CaseError {
    /// A file could not be read.
    #[error("{path}: {source}")]
    Read {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// `case.toml` is not as it should be.
    #[error("{path}: {source}")]
    Format {
        /// Which.
        path: PathBuf,
        /// Why.
        source: Box<toml::de::Error>,
    },
    /// A case's value cannot stand as written.
    #[error("{case}: {message}")]
    Content {
        /// Name of the case.
        case: String,
        /// What is wrong.
        message: String,
    },
    /// The program gave no answer.
    #[error("{case}, {ask:?}: {message}")]
    Unanswered {
        /// Name of the case.
        case: String,
        /// What was asked.
        ask: Ask,
        /// What it said.
        message: String,
    },
}

/// One folder of `cases/`.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Name of the folder.
    #[serde(skip)]
    pub name: String,
    /// Text of `magnet.sheet.toml`.
    #[serde(skip)]
    pub sheet: String,
    /// A short name for people.
    pub title: String,
    /// The problem in words: what it is and what it puts to the test.
    pub problem: String,
    /// Where the expected values come from.
    pub source: String,
    /// How the source was had.
    pub status: Status,
    /// What is asked of the sheet.
    #[serde(rename = "question")]
    pub questions: Vec<Asked>,
}

/// How a source was had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Read in public material at the source named.
    Found,
    /// Recalled; not looked up again.
    Memory,
    /// Computed from the exact formula, or by the code, named.
    Computed,
}

/// The commands whose answers are checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum Ask {
    Winding,
    Field,
    Pull,
}

/// One question to the case's sheet and the checks on its answer.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// Which command.
    pub ask: Ask,
    /// Changes to the sheet, `path=value`, as on the command line.
    #[serde(default)]
    pub set: Vec<String>,
    /// Points where the field is asked: radius (or x) and height above the face, mm.
    #[serde(default)]
    pub at_mm: Vec<[f64; 2]>,
    /// What the answer must say.
    #[serde(rename = "check")]
    pub checks: Vec<Check>,
}

/// One expected value.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Key of the answer's item, or `mean square of KEY` for the mean of the squares of `KEY_1`, `KEY_2`, ...
    pub key: String,
    /// In `unit`.
    pub expected: f64,
    /// Unit of `expected`; see [`Check::factor`].
    pub unit: String,
    /// Greatest deviation allowed, relative.
    pub tolerance: f64,
    /// Why this tolerance; never 'because it comes out so'.
    pub why: String,
}

impl Check {
    /// SI value of one `unit`; `None` for a unit that no case has used yet. Kept apart from the program's own
    /// reading of units, which is under test too.
    pub fn factor(&self) -> Option<f64> {
        Some(match self.unit.as_str() {
            "T" | "T²" | "N" | "Wb" | "H" | "J" | "m" | "A" | "W" | "ohm" | "1" | "kg" => 1.0,
            "mT" | "mm" => 1e-3,
            "MJ" => 1e6,
            _ => return None,
        })
    }
}

/// Reads all cases, in the order of their names.
pub fn load_all(folder: &Path) -> Result<Vec<Case>, CaseError> {
    let read = |source| CaseError::Read { path: folder.to_owned(), source };
    let mut folders = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(read)? {
        let path = entry.map_err(read)?.path();
        if path.is_dir() {
            folders.push(path);
        }
    }
    folders.sort();
    folders.iter().map(|path| load(path)).collect()
}

/// Reads one case from its folder.
pub fn load(folder: &Path) -> Result<Case, CaseError> {
    let text = |name: &str| {
        let path = folder.join(name);
        std::fs::read_to_string(&path).map_err(|source| CaseError::Read { path, source })
    };
    let mut case: Case = toml::from_str(&text("case.toml")?)
        .map_err(|source| CaseError::Format { path: folder.join("case.toml"), source: Box::new(source) })?;
    case.name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
    case.sheet = text("magnet.sheet.toml")?;
    for check in case.questions.iter().flat_map(|q| &q.checks) {
        let fault = if check.factor().is_none() {
            format!("unknown unit '{}'", check.unit)
        } else if !(check.tolerance > 0.0 && check.tolerance < 1.0) || check.expected == 0.0 {
            format!("{}: a relative tolerance between 0 and 1 on a value that is not 0", check.key)
        } else if check.why.trim().is_empty() {
            format!("{}: why this tolerance?", check.key)
        } else {
            continue;
        };
        return Err(CaseError::Content { case: case.name, message: fault });
    }
    Ok(case)
}
