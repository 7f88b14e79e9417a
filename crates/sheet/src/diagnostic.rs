//! What is wrong with an input, where, and how to mend it.

use std::fmt;
use std::ops::Range;

/// A fault or remark with its place. Several can be reported at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// Fault or remark.
    pub severity: Severity,
    /// Name of the file as the user gave it; empty if the input has none (`--set`).
    pub file: String,
    /// Byte range in the file's text, if the fault has a place.
    pub span: Option<Range<usize>>,
    /// What is wrong, with the offending value.
    pub message: String,
    /// What was expected and how to mend it; may be empty.
    pub hint: String,
}

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// No answer can be given.
    Fault,
    /// An answer can be given; mind this.
    Remark,
}

impl Diagnostic {
    /// A fault without a place.
    pub fn fault(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            severity: Severity::Fault,
            file: String::new(),
            span: None,
            message: message.into(),
            hint: hint.into(),
        }
    }

    /// A remark without a place.
    pub fn remark(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { severity: Severity::Remark, ..Self::fault(message, hint) }
    }

    /// The same, placed in a file.
    #[must_use]
    pub fn at(mut self, file: &str, span: Option<Range<usize>>) -> Self {
        self.file = file.to_owned();
        self.span = span;
        self
    }

    /// Line and column, both from 1 and the column in characters, in the text that it was found in.
    pub fn line_and_column(&self, text: &str) -> Option<(usize, usize)> {
        let start = self.span.as_ref()?.start;
        let before = text.get(..start.min(text.len()))?;
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        Some((before.matches('\n').count() + 1, before[line_start..].chars().count() + 1))
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, " ({})", self.hint) }
    }
}

impl std::error::Error for Diagnostic {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters() {
        let text = "a = 1\ngap = \"µm x\"\n";
        let at = text.find('x').unwrap();
        let fault = Diagnostic::fault("m", "h").at("f", Some(at..at + 1));
        assert_eq!(fault.line_and_column(text), Some((2, 11)));
        assert_eq!(Diagnostic::fault("m", "h").line_and_column(text), None);
        assert_eq!(fault.to_string(), "m (h)");
    }
}
