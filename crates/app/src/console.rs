//! Standard output and error: styled where they are terminals, plain elsewhere, and as wide as they are.

use std::io::{self, BufWriter, IsTerminal, Write};

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

    /// What is being done, on a line that the next one overwrites; only on a terminal. Empty clears it.
    pub(crate) fn progress(&mut self, text: &str) -> io::Result<()> {
        if self.progress {
            write!(self.err, "\r\x1b[K{text}")?;
            self.err.flush()?;
        }
        Ok(())
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
