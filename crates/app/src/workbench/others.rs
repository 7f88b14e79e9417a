//! Sheets that may stand beside the one that is open: those that were named with it, and those of its folder.

use super::keep::Keep;
use crate::ask::Sheet;
use crate::input::{self, Loaded};
use crate::outcome::Stop;
use serde::Serialize;
use std::fs;
use std::path::PathBuf;

/// So many stand beside one at most: more are no longer seen at a glance.
const MOST: usize = 3;

/// Sheets that were named when the page was opened.
#[derive(Debug)]
pub(crate) struct Others(Vec<PathBuf>);

/// A sheet that may stand beside the one that is open.
#[derive(Debug, Serialize)]
pub(super) struct Other {
    /// By which the page asks for it.
    file: String,
    /// The magnet's.
    name: String,
    /// It was named when the page was opened.
    named: bool,
}

impl Others {
    /// Files, each of which is a sheet now; they are read again whenever they are asked for.
    pub(crate) fn of(paths: &[PathBuf]) -> Result<Self, Stop> {
        if paths.len() > MOST {
            return Err(Stop::Usage(format!("a page compares {} sheets at most", MOST + 1)));
        }
        if paths.iter().any(|path| path.as_os_str() == "-") {
            return Err(Stop::Usage(
                "what stands beside a sheet is read again and again: give a file".into(),
            ));
        }
        input::sheets(paths, &[])?;
        Ok(Self(paths.to_vec()))
    }

    /// All that may stand beside it, those that were named first.
    pub(super) fn listed(&self, keep: &Keep) -> Vec<Other> {
        let known: Vec<PathBuf> = self.0.iter().filter_map(|path| path.canonicalize().ok()).collect();
        let other = |file: String, text: String, named: bool| {
            let (sheet, _) = Sheet::parse(&text, &file).ok()?;
            Some(Other { name: sheet.name().to_owned(), file, named })
        };
        let named = self
            .0
            .iter()
            .filter_map(|path| other(path.display().to_string(), fs::read_to_string(path).ok()?, true));
        let beside = keep.beside().into_iter().filter(|name| !known.contains(&keep.path_of(name)));
        named.chain(beside.filter_map(|name| other(name.clone(), keep.text_of(&name)?, false))).collect()
    }

    /// Those that are asked for, or what is wrong with one.
    pub(super) fn loaded(&self, keep: &Keep, files: &[String]) -> Result<Vec<Loaded>, String> {
        let one = |file: &String| {
            let named = self.0.iter().find(|path| path.display().to_string() == *file);
            let text = match named {
                Some(path) => fs::read_to_string(path).ok(),
                None => keep.text_of(file),
            };
            let text = text.ok_or_else(|| format!("`{file}` cannot be read any more."))?;
            input::of_bytes(text.as_bytes(), file.clone(), &[]).map_err(|faults| {
                let first = faults.diagnostics.first().map_or("", |fault| fault.message.as_str());
                format!("`{file}` is no sheet: {first}.")
            })
        };
        files.iter().take(MOST).map(one).collect()
    }
}
