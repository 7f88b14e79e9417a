//! How a command ends: the exit codes, and what is told when there is no answer.

use crate::console::Console;
use crate::diagnostics;
use crate::style;
use coilwright_magnet::diagnostic::Diagnostic;
use std::io::{self, ErrorKind};
use std::path::PathBuf;

/// Exit code of the process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Exit {
    /// Everything asked was answered.
    Answered = 0,
    /// The input (or a place to write to) is wrong; nothing was written.
    Input = 1,
    /// The command line makes no sense.
    Usage = 2,
    /// The physics could not be solved.
    Physics = 3,
    /// Answered, but a limit of the sheet is exceeded (with `--strict`).
    Limit = 4,
}

/// A file with what is wrong in it.
#[derive(Debug)]
pub(crate) struct Faults {
    /// The file's text, if it could be read.
    pub(crate) text: Option<String>,
    /// All that was found.
    pub(crate) diagnostics: Vec<Diagnostic>,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Stop {
    /// Faults in one or several inputs.
    #[error("the input is wrong")]
    Input(Vec<Faults>),
    /// The arguments parse but cannot be meant.
    #[error("{0}")]
    Usage(String),
    /// Not converged or the like, by sheet.
    #[error("{file}: {reason}")]
    Physics {
        /// The sheet.
        file: String,
        /// What happened and what to do.
        reason: String,
    },
    /// A file could not be written.
    #[error("`{}` was not written: {reason}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// Standard output or error failed.
    #[error("the output could not be written: {0}")]
    Output(#[from] io::Error),
}

impl Stop {
    /// Says on standard error what stopped the command.
    pub(crate) fn tell(self, console: &mut Console) -> Exit {
        let exit = match &self {
            Self::Output(error) if error.kind() == ErrorKind::BrokenPipe => return Exit::Answered,
            Self::Input(_) | Self::Write { .. } | Self::Output(_) => Exit::Input,
            Self::Usage(_) => Exit::Usage,
            Self::Physics { .. } => Exit::Physics,
        };
        let colour = style::FAULT;
        let safe = |text: &str| text.lines().map(style::harmless).collect::<Vec<_>>().join("\n");
        let text = match &self {
            Self::Input(inputs) => {
                let mut text = String::new();
                for faults in inputs {
                    text.push_str(&diagnostics::render(&faults.diagnostics, faults.text.as_deref()));
                }
                let count = diagnostics::count(inputs.iter().flat_map(|faults| &faults.diagnostics));
                format!("{text}\n{count}; nothing was computed\n")
            }
            Self::Usage(message) => {
                format!(
                    "{colour}usage{colour:#}: {}\n  `coilwright help` lists the commands, `coilwright COMMAND --help` their options\n",
                    safe(message)
                )
            }
            Self::Physics { file, reason } => {
                format!("{}: {colour}not solved{colour:#}: {}\n", safe(file), safe(reason))
            }
            other => format!("{colour}fault{colour:#}: {}\n", safe(&other.to_string())),
        };
        // Nowhere left to complain to if this fails too.
        let _ = console.tell(&text);
        exit
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stop_has_its_exit_code() {
        let physics = Stop::Physics { file: "a".into(), reason: "not converged".into() };
        let write = Stop::Write { path: "a.svg".into(), reason: "no room".into() };
        let cases = [
            (Stop::Input(Vec::new()), 1),
            (write, 1),
            (Stop::Usage("which?".into()), 2),
            (physics, 3),
            (Stop::Output(ErrorKind::BrokenPipe.into()), 0),
            (Stop::Output(ErrorKind::StorageFull.into()), 1),
        ];
        for (stop, code) in cases {
            let name = format!("{stop:?}");
            assert_eq!(stop.tell(&mut Console::sunk()) as u8, code, "{name}");
        }
    }
}
