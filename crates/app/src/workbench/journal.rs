//! The journal: what a page has not saved lies beside the sheet, so that a page that is closed or a server that is killed
//! loses nothing. Each page has one of its own; one that was left is taken over by the next page that has none.

use super::keep::read;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

/// How a journal's name ends.
const ENDING: &str = ".unsaved";

/// What is not saved.
#[derive(Debug, Deserialize, Serialize)]
pub(super) struct Unsaved {
    /// Checksum of the file that the text began with.
    pub(super) base: String,
    pub(super) text: String,
}

/// The journals of a folder.
#[derive(Debug)]
pub(super) struct Journals {
    folder: PathBuf,
    /// Pages that have asked for theirs.
    pages: Mutex<BTreeSet<String>>,
}

impl Journals {
    /// Of a folder, before any page has come.
    pub(super) fn of(folder: PathBuf) -> Self {
        Self { folder, pages: Mutex::default() }
    }

    /// What a page has not saved of a sheet: its own, or else the newest that was left by a page of an earlier server.
    pub(super) fn found(&self, sheet: &str, page: &str) -> Option<Unsaved> {
        let mut pages = self.pages.lock().unwrap_or_else(PoisonError::into_inner);
        let left = self.left(sheet, page, &pages);
        pages.insert(page.to_owned());
        drop(pages);
        let path = left?;
        let found = serde_json::from_str(&read(&path).ok()??).ok()?;
        // From now on it is this page's.
        let own = self.at(sheet, page);
        if own != path {
            fs::rename(&path, &own).ok()?;
        }
        Some(found)
    }

    fn left(&self, sheet: &str, page: &str, pages: &BTreeSet<String>) -> Option<PathBuf> {
        let own = self.at(sheet, page);
        if own.is_file() {
            return Some(own);
        }
        let start = format!(".{sheet}.");
        let entries = fs::read_dir(&self.folder).ok()?.flatten();
        let left = entries.filter_map(|entry| {
            let file = entry.file_name().into_string().ok()?;
            let page = file.strip_prefix(&start)?.strip_suffix(ENDING)?;
            let free = entry.file_type().ok()?.is_file() && !pages.contains(page);
            free.then_some((entry.metadata().ok()?.modified().ok()?, entry.path()))
        });
        left.max().map(|(_, path)| path)
    }

    fn at(&self, sheet: &str, page: &str) -> PathBuf {
        let page: String = page.chars().filter(char::is_ascii_alphanumeric).take(32).collect();
        self.folder.join(format!(".{sheet}.{page}{ENDING}"))
    }

    /// Notes what a page has not saved; nothing to note takes its journal away.
    pub(super) fn note(&self, sheet: &str, page: &str, unsaved: Option<&Unsaved>) -> io::Result<()> {
        let path = self.at(sheet, page);
        let Some(unsaved) = unsaved else {
            return match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            };
        };
        let mut file = tempfile::Builder::new().prefix(".coilwright-").tempfile_in(&self.folder)?;
        io::Write::write_all(&mut file, &serde_json::to_vec(unsaved)?)?;
        file.as_file().sync_data()?;
        // A link in its place is replaced, not followed.
        file.persist(&path).map(|_| ()).map_err(|error| error.error)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn unsaved(text: &str) -> Unsaved {
        Unsaved { base: "b".into(), text: text.into() }
    }

    #[test]
    fn what_was_not_saved_comes_back_once() {
        let folder = tempfile::tempdir().unwrap();
        let open = || Journals::of(folder.path().to_owned());
        let journals = open();
        assert!(journals.found("a", "first").is_none());
        journals.note("a", "first", Some(&unsaved("changed"))).unwrap();
        // The same page after a reload, and another that is open beside it.
        assert!(journals.found("a", "first").is_some());
        assert!(journals.found("a", "second").is_none() && journals.found("b", "first").is_none());
        // Another server, another page.
        let again = open();
        assert_eq!(again.found("a", "third").unwrap().text, "changed");
        assert!(again.found("a", "fourth").is_none(), "it is the third's now");
        again.note("a", "third", None).unwrap();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "nothing is left");
    }

    #[cfg(unix)]
    #[test]
    fn no_link_is_written_through() {
        let (folder, outside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let theirs = outside.path().join("theirs");
        fs::write(&theirs, "theirs").unwrap();
        let journals = Journals::of(folder.path().to_owned());
        std::os::unix::fs::symlink(&theirs, journals.at("a", "p")).unwrap();
        journals.note("a", "p", Some(&unsaved("mine"))).unwrap();
        assert_eq!(fs::read_to_string(&theirs).unwrap(), "theirs");
    }
}
