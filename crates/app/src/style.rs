//! The few text styles in use. Text is always written with them; the stream drops them where they do not belong
//! (not a terminal, `NO_COLOR`, a dumb terminal), so nothing may be said by colour alone.

use anstyle::{AnsiColor, Style};

/// Text from a sheet, a file's name or the command line must not steer the terminal: control characters, and those that turn
/// the direction of writing, become a visible mark.
pub(crate) fn harmless(text: &str) -> String {
    text.chars().map(|c| if steers(c) { '\u{b7}' } else { c }).collect()
}

/// Control characters (Unicode general category Cc), and the marks of the bidirectional algorithm and line separators that hide
/// or reorder what stands beside them (Unicode Standard Annex 9).
pub(crate) fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

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
