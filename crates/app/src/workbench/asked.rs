//! What the page asks: a text, what-ifs, units.

use super::part::Told;
use crate::args::{self, Assignment, Units};
use crate::diagnostics::place;
use crate::input::{self, Loaded};
use coilwright_magnet::diagnostic::{Diagnostic, Severity};
use coilwright_magnet::quantity::UnitSystem;
use serde::Deserialize;
use std::path::{Component, Path};

/// A question of the page.
#[derive(Clone, Debug, Deserialize)]
pub(super) struct Asked {
    /// The sheet's text as it stands in the page.
    pub(super) text: String,
    /// What-ifs, `path=value`.
    #[serde(default)]
    pub(super) set: Vec<String>,
    /// Units to show.
    #[serde(default)]
    pub(super) units: String,
    /// Which page asks: its newer questions supersede its older ones, not those of another page.
    #[serde(default)]
    pub(super) client: String,
    /// When it asks, by its own clock: requests may overtake each other on their way.
    #[serde(default)]
    pub(super) moment: f64,
    /// Whether to settle everything, or to stop at the quick numbers.
    #[serde(default)]
    pub(super) settle: bool,
    /// Numbers that the page shows as sliders beside the usual ones.
    #[serde(default)]
    pub(super) sliders: Vec<String>,
    /// Files of the sheets beside it.
    #[serde(default)]
    pub(super) beside: Vec<String>,
}

impl Asked {
    /// A text alone.
    pub(super) fn of(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            set: Vec::new(),
            units: String::new(),
            client: String::new(),
            moment: 0.0,
            settle: false,
            sliders: Vec::new(),
            beside: Vec::new(),
        }
    }

    /// Units to show, by their word on the command line.
    pub(super) fn units(&self) -> UnitSystem {
        <Units as clap::ValueEnum>::from_str(&self.units, true).unwrap_or_default().into()
    }

    /// What-ifs; those that make no sense are left to the sheet to refuse.
    pub(super) fn assignments(&self) -> Vec<Assignment> {
        self.set.iter().filter_map(|text| args::assignment(text).ok()).collect()
    }

    /// The sheet with its what-ifs, or what is wrong. Nothing that it names outside its folder is read.
    pub(super) fn load(&self, file: &str) -> Result<Loaded, Vec<Told>> {
        let loaded = input::of_bytes(self.text.as_bytes(), file.to_owned(), &self.assignments());
        let loaded = loaded.map_err(|faults| told(&faults.diagnostics, &self.text))?;
        match stays_inside(&loaded) {
            None => Ok(loaded),
            Some(fault) => Err(told(&[fault], &self.text)),
        }
    }

    /// The sheet without its what-ifs.
    pub(super) fn load_plain(&self, file: &str) -> Option<Loaded> {
        input::of_bytes(self.text.as_bytes(), file.to_owned(), &[]).ok()
    }
}

/// A recorded drive is read from beside the sheet only: no path leads out of the folder, no link does either.
fn stays_inside(loaded: &Loaded) -> Option<Diagnostic> {
    let name = loaded.sheet.word("drive.profile")?;
    let parts: Vec<Component<'_>> = Path::new(name).components().collect();
    let plain = parts.iter().all(|part| matches!(part, Component::Normal(_))) && !parts.is_empty();
    let folder = Path::new(&loaded.file).parent().and_then(|folder| folder.canonicalize().ok());
    let inside = || {
        let folder = folder.as_ref()?;
        let real = folder.join(name).canonicalize().ok()?;
        Some(real.starts_with(folder) && real.is_file())
    };
    if plain && inside() == Some(true) {
        return None;
    }
    let hint = "the workbench reads a recorded drive from the sheet's own folder; put the file there";
    Some(loaded.sheet.fault("drive.profile", format!("`{name}` is no file beside the sheet"), hint))
}

/// Diagnostics for the page, with their lines.
pub(super) fn told(diagnostics: &[Diagnostic], text: &str) -> Vec<Told> {
    let one = |diagnostic: &Diagnostic| {
        let at = diagnostic.span.as_ref().map(|span| place(text, span.start));
        let set = diagnostic.file.strip_prefix("--set ").and_then(|set| set.split_once('='));
        Told {
            severity: match diagnostic.severity {
                Severity::Fault => "fault",
                Severity::Remark => "remark",
            },
            line: at.map_or(0, |at| at.line),
            column: at.map_or(0, |at| at.column),
            path: set.map_or(String::new(), |(path, _)| path.to_owned()),
            message: diagnostic.message.clone(),
            hint: diagnostic.hint.clone(),
        }
    };
    diagnostics.iter().map(one).collect()
}
