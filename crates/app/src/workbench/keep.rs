//! The sheet's file: read, and saved whole and never over what somebody else wrote meanwhile.

use super::journal::{Journals, Unsaved};
use crate::ask::LARGEST_SHEET;
use crate::files::{self, Output};
use crate::input::checksum;
use crate::outcome::{Faults, Stop};
use coilwright_magnet::diagnostic::Diagnostic;
use serde::Serialize;
use std::fs;
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What is shown where no sheet is named.
const DEMO: &str = include_str!("../../../../examples/gantry-pot.sheet.toml");
const DEMO_NAME: &str = "gantry-pot.sheet.toml";

/// A sheet's file and its journals.
#[derive(Debug)]
pub(crate) struct Keep {
    folder: PathBuf,
    place: Mutex<Place>,
    journals: Journals,
}

#[derive(Clone, Debug)]
struct Place {
    /// As it is shown.
    shown: String,
    /// In the folder.
    name: String,
    /// It is the demo, which has no file before it is saved.
    demo: bool,
}

/// What a page begins with.
#[derive(Debug, Serialize)]
pub(super) struct Beginning {
    /// The sheet's file.
    pub(super) file: String,
    /// Its text, or what was not saved of it.
    pub(super) text: String,
    /// The file's text, to tell whether anything is not saved.
    pub(super) saved: String,
    /// Checksum of the file that the text began with; empty where there is no file yet.
    pub(super) base: String,
    /// The text comes from a journal.
    pub(super) recovered: bool,
}

/// What was saved.
#[derive(Debug)]
pub(super) struct Written {
    /// Checksum of what stands there now.
    pub(super) base: String,
    /// The name that the sheet had.
    pub(super) before: String,
}

/// Why nothing was saved.
#[derive(Debug, Serialize)]
pub(super) struct Refused {
    /// Asked again with `replace`, it is done.
    pub(super) may_replace: bool,
    /// In a sentence.
    pub(super) reason: String,
}

impl Keep {
    /// Of a file that exists; a link is followed once and for all.
    pub(crate) fn of(path: &Path) -> Result<Self, Stop> {
        let stop = |message: String, hint: &str| {
            let diagnostics = vec![Diagnostic::fault(message, hint).at(&path.display().to_string(), None)];
            Stop::Input(vec![Faults { text: None, diagnostics }])
        };
        let unreadable = |error: io::Error| match error.kind() {
            io::ErrorKind::NotFound => stop(
                "there is no such file".into(),
                "`coilwright new pot -o FILE` writes a sheet to start from",
            ),
            _ => stop(error.to_string(), ""),
        };
        let real = path.canonicalize().map_err(unreadable)?;
        let (Some(folder), Some(name)) = (real.parent(), real.file_name().and_then(|name| name.to_str()))
        else {
            return Err(stop("this is no sheet's name".into(), ""));
        };
        let text = read(&real).map_err(unreadable)?;
        if text.is_none() {
            return Err(stop("this is no sheet".into(), "a sheet is a text in UTF-8, of 1 MiB at most"));
        }
        let linked = fs::symlink_metadata(path).is_ok_and(|found| found.is_symlink());
        let shown = if linked { real.display().to_string() } else { path.display().to_string() };
        let place = Place { shown, name: name.to_owned(), demo: false };
        Ok(Self::at(folder.to_owned(), place))
    }

    /// The demo, to be saved in a folder.
    pub(crate) fn demo(folder: &Path) -> io::Result<Self> {
        let place = Place { shown: DEMO_NAME.into(), name: DEMO_NAME.into(), demo: true };
        Ok(Self::at(folder.canonicalize()?, place))
    }

    fn at(folder: PathBuf, place: Place) -> Self {
        Self { journals: Journals::of(folder.clone()), folder, place: place.into() }
    }

    /// The sheet's file as it is shown.
    pub(super) fn file(&self) -> String {
        self.place().shown.clone()
    }

    /// Whether it is the demo, not yet saved.
    pub(super) fn is_demo(&self) -> bool {
        self.place().demo
    }

    /// Names of other files in the folder that may be sheets, in order.
    pub(super) fn beside(&self) -> Vec<String> {
        let own = self.place().name.clone();
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        let files = entries.filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()));
        let names = files.filter_map(|entry| entry.file_name().into_string().ok());
        let mut names: Vec<String> = names.filter(|name| is_plain(name) && *name != own).collect();
        names.sort();
        names
    }

    /// Where a file of the folder is.
    pub(super) fn path_of(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// The text of another file in the folder, if it may be a sheet.
    pub(super) fn text_of(&self, name: &str) -> Option<String> {
        let path = self.path_of(name);
        let is_file = is_plain(name) && fs::symlink_metadata(&path).is_ok_and(|found| found.is_file());
        if is_file { read(&path).ok().flatten() } else { None }
    }

    fn place(&self) -> MutexGuard<'_, Place> {
        self.place.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The file as it is, whatever is not saved of it.
    pub(super) fn on_disk(&self) -> Beginning {
        let place = self.place().clone();
        let text = if place.demo { None } else { read(&self.folder.join(&place.name)).ok().flatten() };
        let base = text.as_deref().map_or(String::new(), |text| checksum(text.as_bytes()));
        let text = text.unwrap_or_else(|| DEMO.to_owned());
        Beginning { file: place.shown, saved: text.clone(), text, base, recovered: false }
    }

    /// What a page begins with: what was not saved, or the file.
    pub(super) fn beginning(&self, page: &str) -> Beginning {
        let name = self.place().name.clone();
        let begins = self.on_disk();
        let unsaved = self.journals.found(&name, page);
        match unsaved.filter(|unsaved| unsaved.text != begins.saved) {
            Some(Unsaved { base, text }) => Beginning { text, base, recovered: true, ..begins },
            None => begins,
        }
    }

    /// Notes what a page has not saved, or that it has.
    pub(super) fn note(&self, page: &str, unsaved: Option<&Unsaved>) -> io::Result<()> {
        let name = self.place().name.clone();
        self.journals.note(&name, page, unsaved)
    }

    /// What a page noted of a sheet of that name is saved now.
    pub(super) fn forget(&self, name: &str, page: &str) -> io::Result<()> {
        self.journals.note(name, page, None)
    }

    /// Saves the text under the sheet's name or another in its folder; what a page noted of it stays.
    /// `base` is the checksum of the file that the text began with.
    pub(super) fn save(
        &self,
        name: Option<&str>,
        text: &str,
        base: &str,
        replace: bool,
    ) -> Result<Written, Refused> {
        let refused = |may_replace, reason: String| Err(Refused { may_replace, reason });
        let mut place = self.place();
        let name = name.unwrap_or(&place.name).to_owned();
        if !is_plain(&name) {
            return refused(
                false,
                format!("`{name}` is no name for a sheet: give a plain one that ends in .toml."),
            );
        }
        if text.len() > LARGEST_SHEET {
            return refused(false, "A sheet has 1 MiB at most.".into());
        }
        let path = self.folder.join(&name);
        match fs::symlink_metadata(&path) {
            Ok(found) if found.is_symlink() => {
                return refused(false, format!("`{name}` is a link; a link is not written through."));
            }
            Ok(found) if !found.is_file() => return refused(false, format!("`{name}` is no file.")),
            Ok(_) if !replace => {
                let now = read(&path).ok().flatten().map(|text| checksum(text.as_bytes()));
                let same = name == place.name && now.as_deref() == Some(base);
                if !same && now.as_deref() != Some(checksum(text.as_bytes()).as_str()) {
                    let how = if base.is_empty() || name != place.name {
                        "exists already"
                    } else {
                        "was changed by somebody else"
                    };
                    return refused(true, format!("`{name}` {how}. Replace it?"));
                }
            }
            _ => {}
        }
        let output = Output { path: path.clone(), bytes: text.as_bytes().to_vec() };
        if let Err(stop) = files::write(&[output], true) {
            return refused(false, format!("{stop}."));
        }
        let shown = Path::new(&place.shown).with_file_name(&name).display().to_string();
        let before = std::mem::replace(&mut *place, Place { shown, name, demo: false });
        Ok(Written { base: checksum(text.as_bytes()), before: before.name })
    }
}

/// A file's name in the folder, and nothing else.
fn is_plain(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    let one = matches!((parts.next(), parts.next()), (Some(Component::Normal(part)), None) if part == name);
    one && name.ends_with(".toml")
        && name.len() <= 200
        && !name.starts_with('.')
        && !name.contains(['\\', ':', '\0'])
}

/// A file's text; none if it is too large or not UTF-8.
pub(super) fn read(path: &Path) -> io::Result<Option<String>> {
    let mut bytes = Vec::new();
    // A journal is longer than its sheet: quotes and newlines are escaped.
    let most = 3 * LARGEST_SHEET as u64;
    fs::File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
    Ok(String::from_utf8(bytes).ok().filter(|text| text.len() as u64 <= most))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn kept(folder: &Path) -> Keep {
        fs::write(folder.join("a.sheet.toml"), "one").unwrap();
        Keep::of(&folder.join("a.sheet.toml")).unwrap()
    }

    #[test]
    fn nothing_is_saved_over_what_somebody_else_wrote() {
        let folder = tempfile::tempdir().unwrap();
        let keep = kept(folder.path());
        let base = keep.beginning("p").base;
        let base = keep.save(None, "two", &base, false).unwrap().base;
        fs::write(folder.path().join("a.sheet.toml"), "else").unwrap();
        let refused = keep.save(None, "three", &base, false).unwrap_err();
        assert!(refused.may_replace && refused.reason.contains("somebody else"), "{refused:?}");
        keep.save(None, "three", &base, true).unwrap();
        assert_eq!(fs::read_to_string(folder.path().join("a.sheet.toml")).unwrap(), "three");
    }

    #[test]
    fn no_name_leads_out_of_the_folder() {
        let folder = tempfile::tempdir().unwrap();
        let keep = kept(folder.path());
        for name in
            ["../b.toml", "/tmp/b.toml", "b/c.toml", "..", "", ".b.toml", "b.txt", "c:\\b.toml", "./b.toml"]
        {
            assert!(keep.save(Some(name), "x", "", true).is_err(), "{name}");
        }
        fs::write(folder.path().join("there.toml"), "x").unwrap();
        assert!(keep.save(Some("there.toml"), "y", "", false).unwrap_err().may_replace);
        keep.save(Some("new.toml"), "y", "", false).unwrap();
        assert!(keep.file().ends_with("new.toml"));
    }

    #[cfg(unix)]
    #[test]
    fn no_link_is_written_through() {
        let (folder, outside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let keep = kept(folder.path());
        let elsewhere = outside.path().join("b.toml");
        fs::write(&elsewhere, "theirs").unwrap();
        fs::remove_file(folder.path().join("a.sheet.toml")).unwrap();
        std::os::unix::fs::symlink(&elsewhere, folder.path().join("a.sheet.toml")).unwrap();
        assert!(keep.save(None, "mine", "", true).is_err());
        assert_eq!(fs::read_to_string(&elsewhere).unwrap(), "theirs");
    }
}
