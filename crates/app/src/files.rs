//! Writing files whole or not at all, and several of them all or none.
//!
//! What is written lies beside its place until everything is complete and is then moved there. Nothing that was read is
//! overwritten, nothing but a regular file is replaced, and a link stays a link.

use crate::interrupt;
use crate::outcome::Stop;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::NamedTempFile;

const EXISTS: &str = "it exists already; `--force` replaces it";
const NO_DIRECTORY: &str = "its directory does not exist";
/// How files begin that are not in their place yet.
const UNFINISHED: &str = ".coilwright-";
/// After this long nobody writes to one any more: it was left by a run that was killed.
const ABANDONED: Duration = Duration::from_secs(3600);

/// A file to be written.
#[derive(Debug)]
pub(crate) struct Output {
    /// Where to.
    pub(crate) path: PathBuf,
    /// All of it.
    pub(crate) bytes: Vec<u8>,
}

/// Writes files, all or none; those that exist are replaced only with `replace`.
pub(crate) fn write(outputs: &[Output], replace: bool) -> Result<(), Stop> {
    let mut ready = Vec::new();
    for Output { path, bytes } in outputs {
        refuse(path, replace, &[])?;
        let place = target(path);
        ready.push((path, beside(&place, bytes).map_err(|error| stop(path, &error))?, place));
    }
    let mut new: Vec<PathBuf> = Vec::new();
    for (path, file, place) in ready {
        let existed = place.exists();
        let moved = if replace { file.persist(&place) } else { file.persist_noclobber(&place) };
        if let Err(error) = moved {
            // What is new is taken back; what was replaced was meant to be.
            for made in &new {
                let _ = fs::remove_file(made);
            }
            return Err(stop(path, &error.error));
        }
        interrupt::wrote(&path.display().to_string());
        if !existed {
            new.push(place);
        }
    }
    Ok(())
}

/// What can be said against a place before there is anything to write there; `inputs` are the files that are read.
pub(crate) fn refuse(path: &Path, replace: bool, inputs: &[&Path]) -> Result<(), Stop> {
    let directory = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    let same = |input: &&Path| {
        fs::canonicalize(input).ok().zip(fs::canonicalize(path).ok()).is_some_and(|(a, b)| a == b)
    };
    let reason = match fs::metadata(path) {
        // Read, it is standard input: nobody means a file of that name.
        _ if path.as_os_str() == "-" => "leave the option out to get standard output",
        Ok(found) if found.is_dir() => "it is a directory",
        Ok(found) if !found.is_file() => "it is no regular file; leave the option out to get standard output",
        Ok(_) if inputs.iter().any(same) => "it is what was read; write to another file",
        Ok(_) if !replace => EXISTS,
        Ok(_) => return Ok(()),
        Err(_) if fs::symlink_metadata(path).is_ok() => "it is a link that leads nowhere",
        Err(_) if directory.is_some_and(|directory| !directory.is_dir()) => NO_DIRECTORY,
        Err(_) => return Ok(()),
    };
    Err(Stop::Write { path: path.to_owned(), reason: reason.to_owned() })
}

fn stop(path: &Path, error: &io::Error) -> Stop {
    let reason = match error.kind() {
        io::ErrorKind::AlreadyExists => EXISTS.to_owned(),
        io::ErrorKind::NotFound => NO_DIRECTORY.to_owned(),
        _ => error.to_string(),
    };
    Stop::Write { path: path.to_owned(), reason }
}

/// Where a link leads; it stays a link.
fn target(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// A complete file beside its place, readable by whom the one it replaces was.
fn beside(place: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let directory = place.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    sweep(directory);
    let mut builder = tempfile::Builder::new();
    builder.prefix(UNFINISHED);
    // As any new file: readable as the user's mask allows, not only by the owner.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(directory)?;
    file.write_all(bytes)?;
    if let Ok(old) = fs::metadata(place) {
        file.as_file().set_permissions(old.permissions())?;
    }
    file.as_file().sync_all()?;
    Ok(file)
}

/// Remove what a killed run has left. That it cannot be removed harms nobody.
fn sweep(directory: &Path) {
    let Ok(entries) = fs::read_dir(directory) else { return };
    for entry in entries.flatten() {
        let ours = entry.file_name().to_str().is_some_and(|name| name.starts_with(UNFINISHED));
        let old = || entry.metadata().ok()?.modified().ok()?.elapsed().ok();
        if ours && old().is_some_and(|age| age > ABANDONED) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn output(path: PathBuf, text: &str) -> Output {
        Output { path, bytes: text.as_bytes().to_vec() }
    }

    fn reason(result: Result<(), Stop>) -> String {
        result.expect_err("refused").to_string()
    }

    #[test]
    fn all_or_none() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("there"), "old").unwrap();
        let both = [output(at("new"), "1"), output(at("there"), "2")];
        assert!(reason(write(&both, false)).contains("--force"));
        assert!(!at("new").exists());
        assert_eq!(fs::read_to_string(at("there")).unwrap(), "old");
        write(&both, true).unwrap();
        assert_eq!(fs::read_to_string(at("there")).unwrap(), "2");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is left beside them");
    }

    #[cfg(unix)]
    #[test]
    fn links_modes_devices_and_inputs_are_respected() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("file"), "old").unwrap();
        fs::set_permissions(at("file"), fs::Permissions::from_mode(0o640)).unwrap();
        symlink(at("file"), at("link")).unwrap();
        write(&[output(at("link"), "new")], true).unwrap();
        assert!(fs::symlink_metadata(at("link")).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(at("file")).unwrap(), "new");
        assert_eq!(fs::metadata(at("file")).unwrap().permissions().mode() & 0o777, 0o640);
        assert!(reason(refuse(&at("link"), true, &[&at("file")])).contains("what was read"));
        assert!(reason(write(&[output("/dev/null".into(), "x")], true)).contains("regular"));
        symlink(at("nowhere"), at("dangling")).unwrap();
        assert!(reason(write(&[output(at("dangling"), "x")], true)).contains("leads nowhere"));
    }

    #[test]
    fn what_a_killed_run_left_is_swept() {
        let folder = tempfile::tempdir().unwrap();
        let [old, fresh] = ["old", "fresh"].map(|name| folder.path().join(format!("{UNFINISHED}{name}")));
        for path in [&old, &fresh] {
            fs::write(path, "half").unwrap();
        }
        let past = std::time::SystemTime::now() - 2 * ABANDONED;
        fs::File::options().write(true).open(&old).unwrap().set_modified(past).unwrap();
        write(&[output(folder.path().join("new"), "1")], false).unwrap();
        assert!(!old.exists() && fresh.exists());
    }
}
