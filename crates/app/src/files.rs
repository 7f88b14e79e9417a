//! Writing files whole or not at all.

use crate::outcome::Stop;
use std::io::{self, Write};
use std::path::Path;

const EXISTS: &str = "it exists already; `--force` replaces it";
const NO_DIRECTORY: &str = "its directory does not exist";

/// Writes a file beside its place and then moves it there: no reader ever sees half of it.
/// An existing file is replaced only with `replace`.
pub(crate) fn write(path: &Path, bytes: &[u8], replace: bool) -> Result<(), Stop> {
    attempt(path, bytes, replace).map_err(|error| {
        let reason = match error.kind() {
            io::ErrorKind::AlreadyExists => EXISTS.to_owned(),
            io::ErrorKind::NotFound => NO_DIRECTORY.to_owned(),
            _ => error.to_string(),
        };
        Stop::Write { path: path.to_owned(), reason }
    })
}

/// What can be said against a place before there is anything to write there, as [`write`] would say it.
pub(crate) fn refuse(path: &Path, replace: bool) -> Result<(), Stop> {
    let directory = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    let reason = if path.is_dir() {
        "it is a directory"
    } else if path.exists() && !replace {
        EXISTS
    } else if directory.is_some_and(|directory| !directory.is_dir()) {
        NO_DIRECTORY
    } else {
        return Ok(());
    };
    Err(Stop::Write { path: path.to_owned(), reason: reason.to_owned() })
}

fn attempt(path: &Path, bytes: &[u8], replace: bool) -> io::Result<()> {
    if path.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a directory"));
    }
    let directory = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".coilwright-");
    // As any new file: readable as the user's mask allows, not only by the owner.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(directory)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    let moved = if replace { file.persist(path) } else { file.persist_noclobber(path) };
    moved.map(drop).map_err(|error| error.error)
}
