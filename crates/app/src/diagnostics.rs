//! Faults and remarks for a person: file, line, column, the line itself with the place underlined, and what to do.

use crate::style;
use coilwright_magnet::diagnostic::{Diagnostic, Severity};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Widest excerpt of a source line, in terminal columns.
const EXCERPT: usize = 96;

/// A place in a text, counted from 1; the column counts characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line.
    pub line: usize,
    /// Character in the line.
    pub column: usize,
}

/// Where a byte offset stands in a text. Offsets beyond the end or inside a character are moved back.
pub fn place(text: &str, offset: usize) -> Place {
    let offset = text.floor_char_boundary(offset);
    let before = &text[..offset];
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    Place { line: before.matches('\n').count() + 1, column: before[start..].chars().count() + 1 }
}

/// All diagnostics of one input, then nothing else. `text` is the file's content, if it was read.
pub fn render(diagnostics: &[Diagnostic], text: Option<&str>) -> String {
    diagnostics.iter().map(|diagnostic| one(diagnostic, text)).collect()
}

/// How many faults and remarks there were: `2 faults and 1 remark`. Empty if there were none.
pub fn count<'a>(diagnostics: impl IntoIterator<Item = &'a Diagnostic>) -> String {
    let (mut faults, mut remarks) = (0, 0);
    for diagnostic in diagnostics {
        match diagnostic.severity {
            Severity::Fault => faults += 1,
            Severity::Remark => remarks += 1,
        }
    }
    let plural = |n: usize, noun: &str| match n {
        0 => None,
        1 => Some(format!("1 {noun}")),
        n => Some(format!("{n} {noun}s")),
    };
    let parts: Vec<String> =
        [plural(faults, "fault"), plural(remarks, "remark")].into_iter().flatten().collect();
    parts.join(" and ")
}

fn one(diagnostic: &Diagnostic, text: Option<&str>) -> String {
    let mut out = String::new();
    let (word, colour) = match diagnostic.severity {
        Severity::Fault => ("fault", style::FAULT),
        Severity::Remark => ("remark", style::CAUTION),
    };
    let span = diagnostic.span.clone().filter(|span| span.start <= span.end);
    let located = span.as_ref().zip(text.filter(|text| !text.is_empty()));
    let strong = style::STRONG;
    if !diagnostic.file.is_empty() {
        let _ = write!(out, "{strong}{}", style::harmless(&diagnostic.file));
        if let Some((span, text)) = located {
            let place = place(text, span.start);
            let _ = write!(out, ":{}:{}", place.line, place.column);
        }
        let _ = write!(out, "{strong:#}: ");
    }
    let _ = writeln!(out, "{colour}{word}{colour:#}: {}", style::harmless(&diagnostic.message));
    if let Some((span, text)) = located {
        excerpt(&mut out, text, span, colour);
    }
    if !diagnostic.hint.is_empty() {
        let accent = style::HEADING;
        let _ = writeln!(out, "  {accent}hint{accent:#}: {}", style::harmless(&diagnostic.hint));
    }
    out
}

/// The line that a span starts in, and an underline as wide as the span (to the end of that line at most).
fn excerpt(out: &mut String, text: &str, span: &std::ops::Range<usize>, colour: anstyle::Style) {
    let start = text.floor_char_boundary(span.start);
    let end = text.floor_char_boundary(span.end).max(start);
    let line_start = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |newline| start + newline);
    let number = place(text, start).line.to_string();
    let before = plain(&text[line_start..start]);
    let marked = plain(text[start..end.min(line_end)].trim_end());
    let after = plain(text[end.min(line_end)..line_end].trim_end_matches('\r'));

    // A very long line shows only what surrounds the place.
    let (before, cut_before) = keep_end(&before, EXCERPT / 3);
    let (marked, cut_marked) = keep_start(&marked, EXCERPT / 3);
    let room = EXCERPT.saturating_sub(before.chars().count() + marked.chars().count());
    let (after, cut_after) = if cut_marked { (String::new(), true) } else { keep_start(&after, room) };
    let before = if cut_before { format!("…{before}") } else { before };
    let dots = if cut_after { "…" } else { "" };

    let quiet = style::QUIET;
    let _ = writeln!(out, "  {quiet}{number} |{quiet:#} {before}{marked}{after}{dots}");
    let indent = " ".repeat(before.width());
    let underline = "^".repeat(marked.width().max(1));
    let _ = writeln!(
        out,
        "  {quiet}{:width$} |{quiet:#} {indent}{colour}{underline}{colour:#}",
        "",
        width = number.len()
    );
}

/// Tabs as spaces and other control characters as a visible mark, so that columns stay where they are.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\t' => out.push_str("    "),
            c if style::steers(c) => out.push('\u{b7}'),
            c => out.push(c),
        }
    }
    out
}

fn keep_end(text: &str, most: usize) -> (String, bool) {
    let length = text.chars().count();
    (text.chars().skip(length.saturating_sub(most)).collect(), length > most)
}

fn keep_start(text: &str, most: usize) -> (String, bool) {
    (text.chars().take(most).collect(), text.chars().count() > most)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, needle: &str, message: &str, hint: &str) -> String {
        let start = text.find(needle).expect("needle in text");
        let diagnostic = Diagnostic {
            severity: Severity::Fault,
            file: "a.sheet.toml".into(),
            span: Some(start..start + needle.len()),
            message: message.into(),
            hint: hint.into(),
        };
        anstream::adapter::strip_str(&render(&[diagnostic], Some(text))).to_string()
    }

    #[test]
    fn the_place_is_underlined() {
        let text = "form = \"pot\"\n[body]\n\touter_diameter = \"65\" # Ø\n";
        assert_eq!(
            shown(text, "\"65\"", "the unit is missing", "write \"65 mm\""),
            "a.sheet.toml:3:19: fault: the unit is missing\n  \
             3 |     outer_diameter = \"65\" # Ø\n    \
               |                      ^^^^\n  \
             hint: write \"65 mm\"\n"
        );
    }

    #[test]
    fn wide_characters_keep_the_underline_in_place() {
        let text = "name = \"磁石\" x\n";
        let out = shown(text, "x", "stray word", "");
        let lines: Vec<&str> = out.lines().collect();
        assert_eq!(lines[0], "a.sheet.toml:1:13: fault: stray word");
        assert_eq!(lines[2].width(), lines[1].width(), "the mark stands under the last column");
    }

    #[test]
    fn spans_over_several_lines_or_beyond_the_end_do_no_harm() {
        let text = "a = [\n1,\n]";
        assert!(shown(text, "[\n1,\n]", "m", "").contains("a = [\n"));
        let late = Diagnostic { span: Some(50..60), file: "f".into(), ..Diagnostic::fault("m", "") };
        assert!(
            anstream::adapter::strip_str(&render(&[late], Some("é")))
                .to_string()
                .starts_with("f:1:2: fault: m")
        );
    }

    #[test]
    fn a_very_long_line_is_cut_around_the_place() {
        let text = format!("{}x{}", "a".repeat(5000), "b".repeat(5000));
        let out = shown(&text, "x", "m", "");
        assert!(out.lines().all(|line| line.width() < EXCERPT + 20), "{out}");
        assert!(out.contains("a.sheet.toml:1:5001"));
    }

    #[test]
    fn counts_read_as_words() {
        let fault = Diagnostic::fault("a", "");
        let remark = Diagnostic { severity: Severity::Remark, ..fault.clone() };
        assert_eq!(count([&fault, &fault, &remark]), "2 faults and 1 remark");
        assert_eq!(count([&remark]), "1 remark");
        assert_eq!(count([]), "");
    }
}
