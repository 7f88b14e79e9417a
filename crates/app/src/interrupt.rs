//! Ctrl-C: the run ends at once, and says how far it had come. Files are put in place whole or not at all, so none is half
//! written.

use crate::style;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What a shell calls an end by SIGINT: 128 and the signal's number (common practice).
const STOPPED: i32 = 130;

static SO_FAR: Mutex<Progress> = Mutex::new(Progress { answered: Vec::new(), of: 0, wrote: Vec::new() });
/// A server is meant to be ended so.
static SERVES: AtomicBool = AtomicBool::new(false);

struct Progress {
    /// Sheets that were answered.
    answered: Vec<String>,
    /// Sheets that were asked about.
    of: usize,
    /// Files that were put in place.
    wrote: Vec<String>,
}

/// From here on Ctrl-C is answered. Where the system has no such signal nothing is lost but the words.
pub(crate) fn watch() {
    let _ = ctrlc::set_handler(|| {
        if SERVES.load(Ordering::Relaxed) {
            std::process::exit(0);
        }
        let text = so_far().told();
        let _ = std::io::Write::write_all(&mut anstream::stderr(), text.as_bytes());
        std::process::exit(STOPPED);
    });
}

/// From here on Ctrl-C is how the run is meant to end.
pub(crate) fn serves() {
    SERVES.store(true, Ordering::Relaxed);
}

/// So many sheets are asked about.
pub(crate) fn begins(of: usize) {
    so_far().of = of;
}

/// The sheet of this file was answered.
pub(crate) fn answered(file: &str) {
    so_far().answered.push(file.to_owned());
}

/// This file was put in place.
pub(crate) fn wrote(file: &str) {
    so_far().wrote.push(file.to_owned());
}

fn so_far() -> MutexGuard<'static, Progress> {
    SO_FAR.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Progress {
    fn told(&self) -> String {
        let listed =
            |names: &[String]| names.iter().map(|name| style::harmless(name)).collect::<Vec<_>>().join(", ");
        let written = match self.wrote.as_slice() {
            [] => "nothing was written".to_owned(),
            names => format!("written: {}", listed(names)),
        };
        let answered = match self.answered.as_slice() {
            [] => "no answer was finished".to_owned(),
            names => format!("{} of {} answers were finished ({})", names.len(), self.of, listed(names)),
        };
        format!("\nstopped: {answered}; {written}\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_says_how_far_it_came() {
        let names = |names: &[&str]| names.iter().map(|n| (*n).to_owned()).collect();
        let none = Progress { answered: Vec::new(), of: 3, wrote: Vec::new() };
        assert_eq!(none.told(), "\nstopped: no answer was finished; nothing was written\n");
        let some = Progress { answered: names(&["a", "b"]), of: 3, wrote: names(&["c.svg"]) };
        assert_eq!(some.told(), "\nstopped: 2 of 3 answers were finished (a, b); written: c.svg\n");
    }
}
