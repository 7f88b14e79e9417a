//! The few text styles in use. Text is always written with them; the stream drops them where they do not belong
//! (not a terminal, `NO_COLOR`, a dumb terminal), so nothing may be said by colour alone.

use anstyle::{AnsiColor, Style};

/// Headings and hints.
pub(crate) const HEADING: Style = AnsiColor::Cyan.on_default().bold();
/// What matters most in a line.
pub(crate) const STRONG: Style = Style::new().bold();
/// Remarks and column headings.
pub(crate) const QUIET: Style = Style::new().dimmed();
/// Cautions and warnings.
pub(crate) const CAUTION: Style = AnsiColor::Yellow.on_default();
/// Faults.
pub(crate) const FAULT: Style = AnsiColor::Red.on_default().bold();
