//! Standard output and error: styled where they are terminals, plain elsewhere, and as wide as they are.

use crate::progress;
use crate::style;
use coilwright_magnet::watch::Watch;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::sync::mpsc;

/// Columns where nothing is known, and the most that is comfortable to read.
const USUAL: usize = 100;
const MOST: usize = 120;
const LEAST: usize = 40;

/// Where a command writes.
pub(crate) struct Console {
    out: Box<dyn Write>,
    err: Box<dyn Write>,
    /// Columns of standard output.
    pub(crate) width: usize,
    progress: bool,
}

impl Console {
    /// Of this process. Styles are dropped unless the stream is a terminal that takes them and `NO_COLOR` is unset.
    pub(crate) fn of_process() -> Self {
        let (out, err) = (io::stdout(), io::stderr());
        Self {
            width: width(out.is_terminal()),
            progress: err.is_terminal() && std::env::var_os("TERM").is_none_or(|term| term != "dumb"),
            out: Box::new(BufWriter::new(anstream::AutoStream::auto(out))),
            err: Box::new(anstream::AutoStream::auto(err)),
        }
    }

    /// Whose output goes nowhere.
    #[cfg(test)]
    pub(crate) fn sunk() -> Self {
        Self { out: Box::new(io::sink()), err: Box::new(io::sink()), width: USUAL, progress: false }
    }

    /// Data, to standard output.
    pub(crate) fn say(&mut self, text: &str) -> io::Result<()> {
        self.out.write_all(text.as_bytes())
    }

    /// Everything else, to standard error.
    pub(crate) fn tell(&mut self, text: &str) -> io::Result<()> {
        self.err.write_all(text.as_bytes())
    }

    /// Does what takes a while. Where standard error is a terminal, a bar shows after half a second how far it has come
    /// and how long it will still take, and goes when it is done.
    pub(crate) fn during<T>(&self, what: &str, watch: &Watch, work: impl FnOnce() -> T) -> T {
        if !self.progress {
            return work();
        }
        let (done, waits) = mpsc::channel::<()>();
        let what = style::harmless(what);
        std::thread::scope(|scope| {
            scope.spawn(move || progress::show(&what, watch, &waits));
            let found = work();
            drop(done);
            found
        })
    }

    /// All that was said is out.
    pub(crate) fn flush(&mut self) -> io::Result<()> {
        self.out.flush()?;
        self.err.flush()
    }
}

/// `COLUMNS` where the user sets it, else the terminal's own width.
fn width(terminal: bool) -> usize {
    let set = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    let own = || terminal_size::terminal_size().filter(|_| terminal).map(|(w, _)| usize::from(w.0));
    set.or_else(own).unwrap_or(USUAL).clamp(LEAST, MOST)
}
