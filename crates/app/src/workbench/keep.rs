//! The sheet's file: read, saved whole and never over what somebody else wrote meanwhile; and beside it the journal of what is
//! not saved yet, so that a page that is closed, or a server that is killed, loses nothing.

use crate::ask::LARGEST_SHEET;
use crate::files::{self, Output};
use crate::input::checksum;
use crate::outcome::{Faults, Stop};
use coilwright_magnet::diagnostic::Diagnostic;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What is shown where no sheet is named.
const DEMO: &str = include_str!("../../../../examples/gantry-pot.sheet.toml");
const DEMO_NAME: &str = "gantry-pot.sheet.toml";
/// How a journal's name ends.
const ENDING: &str = ".unsaved";

/// A sheet's file and its journals.
#[derive(Debug)]
pub(crate) struct Keep {
    folder: PathBuf,
    place: Mutex<Place>,
    /// Pages that have asked for the text.
    pages: Mutex<BTreeSet<String>>,
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

#[derive(Deserialize, Serialize)]
struct Journal {
    base: String,
    text: String,
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
        Ok(Self { folder: folder.to_owned(), place: place.into(), pages: Mutex::default() })
    }

    /// The demo, to be saved in a folder.
    pub(crate) fn demo(folder: &Path) -> io::Result<Self> {
        let place = Place { shown: DEMO_NAME.into(), name: DEMO_NAME.into(), demo: true };
        Ok(Self { folder: folder.canonicalize()?, place: place.into(), pages: Mutex::default() })
    }

    /// The sheet's file as it is shown.
    pub(super) fn file(&self) -> String {
        self.place().shown.clone()
    }

    /// Whether it is the demo, not yet saved.
    pub(super) fn is_demo(&self) -> bool {
        self.place().demo
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

    /// What a page begins with: its own journal, or one that no page of this server writes, or the file.
    pub(super) fn beginning(&self, page: &str) -> Beginning {
        let name = self.place().name.clone();
        let mut pages = self.pages.lock().unwrap_or_else(PoisonError::into_inner);
        let left = self.left(&name, page, &pages);
        pages.insert(page.to_owned());
        drop(pages);
        let begins = self.on_disk();
        let journal = left.and_then(|path| {
            let found: Journal = serde_json::from_str(&read(&path).ok()??).ok()?;
            // From now on it is this page's.
            let own = self.journal_at(&name, page);
            let _ = if own == path { Ok(()) } else { fs::rename(&path, &own) };
            Some(found)
        });
        match journal.filter(|journal| journal.text != begins.saved) {
            Some(Journal { base, text }) => Beginning { text, base, recovered: true, ..begins },
            None => begins,
        }
    }

    /// The journal of a page; or else the newest that was left by a page of an earlier server.
    fn left(&self, name: &str, page: &str, pages: &BTreeSet<String>) -> Option<PathBuf> {
        let own = self.journal_at(name, page);
        if own.is_file() {
            return Some(own);
        }
        let start = format!(".{name}.");
        let entries = fs::read_dir(&self.folder).ok()?.flatten();
        let left = entries.filter_map(|entry| {
            let file = entry.file_name().into_string().ok()?;
            let page = file.strip_prefix(&start)?.strip_suffix(ENDING)?;
            let mine = entry.file_type().ok()?.is_file() && !pages.contains(page);
            mine.then_some((entry.metadata().ok()?.modified().ok()?, entry.path()))
        });
        left.max().map(|(_, path)| path)
    }

    fn journal_at(&self, name: &str, page: &str) -> PathBuf {
        let page: String = page.chars().filter(char::is_ascii_alphanumeric).take(32).collect();
        self.folder.join(format!(".{name}.{page}{ENDING}"))
    }

    /// Notes what is not saved; nothing to note takes the journal away.
    pub(super) fn note(&self, page: &str, text: &str, base: &str, unsaved: bool) -> io::Result<()> {
        let path = self.journal_at(&self.place().name, page);
        if !unsaved {
            return match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            };
        }
        let journal = serde_json::to_vec(&Journal { base: base.to_owned(), text: text.to_owned() })?;
        let mut file = tempfile::Builder::new().prefix(".coilwright-").tempfile_in(&self.folder)?;
        io::Write::write_all(&mut file, &journal)?;
        file.as_file().sync_data()?;
        // A link in its place is replaced, not followed.
        file.persist(&path).map(|_| ()).map_err(|error| error.error)
    }

    /// Saves the text under the sheet's name or another in its folder; gives back the checksum of what stands there now.
    /// `base` is that of the file that the text began with.
    pub(super) fn save(
        &self,
        name: Option<&str>,
        text: &str,
        base: &str,
        replace: bool,
    ) -> Result<String, Refused> {
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
        *place = Place { shown, name, demo: false };
        Ok(checksum(text.as_bytes()))
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
fn read(path: &Path) -> io::Result<Option<String>> {
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
        let base = keep.save(None, "two", &base, false).unwrap();
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
        let journal = keep.journal_at("a.sheet.toml", "p");
        std::os::unix::fs::symlink(&elsewhere, &journal).unwrap();
        keep.note("p", "mine", "", true).unwrap();
        assert_eq!(fs::read_to_string(&elsewhere).unwrap(), "theirs");
    }

    #[test]
    fn what_was_not_saved_comes_back_once() {
        let folder = tempfile::tempdir().unwrap();
        let keep = kept(folder.path());
        let base = keep.beginning("first").base;
        keep.note("first", "changed", &base, true).unwrap();
        // The same page after a reload, and another that is open beside it.
        assert!(keep.beginning("first").recovered);
        assert!(!keep.beginning("second").recovered);
        // Another server, another page.
        let again = Keep::of(&folder.path().join("a.sheet.toml")).unwrap();
        let found = again.beginning("third");
        assert_eq!((found.text.as_str(), found.recovered), ("changed", true));
        assert!(!again.beginning("fourth").recovered, "it is the third's now");
        again.note("third", "changed", &found.base, false).unwrap();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left");
    }
}
