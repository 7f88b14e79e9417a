//! Rows of single values, with cautions beside them.

use super::columns::{fill, pad, pad_left, widest};
use super::{Layout, heading};
use crate::shown::{self, Parts};
use crate::style;
use crate::style::harmless;
use coilwright_magnet::answers::answer::{Answer, Item, Value};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Widths of the columns, common to all groups of an answer.
struct Widths {
    label: usize,
    value: usize,
    standard: usize,
    unit: usize,
    interval: usize,
}

impl Widths {
    /// Where the values begin.
    fn value_start(&self) -> usize {
        2 + self.label + 2
    }

    /// Where notes begin.
    fn end(&self) -> usize {
        let standard = if self.standard > 0 { self.standard + 1 } else { 0 };
        let interval = if self.interval > 0 { self.interval + 2 } else { 0 };
        self.value_start() + self.value + standard + 1 + self.unit + interval
    }
}

/// All groups.
pub(super) fn groups(out: &mut String, answer: &Answer, layout: Layout) {
    let items = || answer.groups.iter().flat_map(|group| &group.items);
    let parts: Vec<Parts> = items().filter_map(|item| numbers(item, layout)).collect();
    let mut widths = Widths {
        label: widest(items().map(|item| item.label.as_str()), 38),
        value: widest(parts.iter().map(|p| p.value.as_str()), 16),
        standard: widest(parts.iter().map(|p| p.standard.as_str()), 14),
        unit: widest(parts.iter().map(|p| p.unit), 12),
        interval: widest(parts.iter().map(|p| p.interval.as_str()), 32),
    };
    if widths.standard > 0 {
        widths.standard += 2; // the sign and a space
    }
    // The interval moves to a line of its own where the terminal is narrow.
    let narrow = widths.end() > layout.width;
    if narrow {
        widths.interval = 0;
    }
    let mut headed = widths.standard == 0;
    for group in &answer.groups {
        heading(out, &group.title);
        let banded = |item: &Item| matches!(&item.value, Value::Number(measure) if measure.band.is_some());
        if !headed && group.items.iter().any(banded) {
            column_heads(out, &widths);
            headed = true;
        }
        for item in &group.items {
            row(out, item, &widths, narrow, layout);
            cautions(out, answer, &item.key, 4, layout);
        }
    }
}

fn numbers(item: &Item, layout: Layout) -> Option<Parts> {
    match &item.value {
        Value::Number(measure) => Some(shown::parts(measure, layout.units)),
        Value::Text(_) => None,
    }
}

/// Says once what stands behind the sign and between the dots.
fn column_heads(out: &mut String, widths: &Widths) {
    let quiet = style::QUIET;
    let lead = pad_left("value", widths.value_start() + widths.value);
    let standard = pad("± std", widths.standard + 1 + widths.unit);
    let interval = if widths.interval > 0 { "  95 % interval" } else { "" };
    let line = format!("{lead} {standard}{interval}");
    let _ = writeln!(out, "{quiet}{}{quiet:#}", line.trim_end());
}

fn row(out: &mut String, item: &Item, widths: &Widths, narrow: bool, layout: Layout) {
    let label = harmless(&item.label);
    let mut lines = textwrap::wrap(&label, widths.label.max(1)).into_iter();
    let head = format!("  {}  ", pad(&lines.next().unwrap_or_default(), widths.label));
    let mut note = harmless(&item.note);
    let Some(parts) = numbers(item, layout) else {
        let Value::Text(text) = &item.value else { return };
        let mut text = harmless(text);
        if !note.is_empty() {
            text = format!("{text} ({note})");
        }
        let start = widths.value_start();
        let _ = writeln!(out, "{head}{}", fill(&text, layout.width, start, start));
        rest_of_label(out, lines);
        return;
    };
    let standard = if parts.standard.is_empty() { String::new() } else { format!("± {}", parts.standard) };
    let strong = style::STRONG;
    let mut body = format!("{strong}{}{strong:#}", pad_left(&parts.value, widths.value));
    let mut used = widths.value_start() + widths.value.max(parts.value.width());
    if widths.standard > 0 {
        let _ = write!(body, " {}", pad(&standard, widths.standard));
        used += 1 + widths.standard.max(standard.width());
    }
    let _ = write!(body, " {}", pad(parts.unit, widths.unit));
    used += 1 + widths.unit.max(parts.unit.width());
    if widths.interval > 0 {
        let _ = write!(body, "  {}", pad(&parts.interval, widths.interval));
        used += 2 + widths.interval.max(parts.interval.width());
    } else if narrow && !parts.interval.is_empty() {
        note = format!("95 %: {}; {note}", parts.interval).trim_end_matches("; ").to_owned();
    }
    let quiet = style::QUIET;
    if note.is_empty() {
        let _ = writeln!(out, "{}", format!("{head}{body}").trim_end());
    } else if used + 2 + note.width() <= layout.width {
        let _ = writeln!(out, "{head}{body}  {quiet}{note}{quiet:#}");
    } else {
        let _ = writeln!(out, "{}", format!("{head}{body}").trim_end());
        let _ = writeln!(out, "      {quiet}{}{quiet:#}", fill(&note, layout.width, 6, 6));
    }
    rest_of_label(out, lines);
}

fn rest_of_label<'a>(out: &mut String, lines: impl Iterator<Item = std::borrow::Cow<'a, str>>) {
    for line in lines {
        let _ = writeln!(out, "  {line}");
    }
}

/// The cautions about one item or series, each with its source.
pub(super) fn cautions(out: &mut String, answer: &Answer, about: &str, indent: usize, layout: Layout) {
    let style = style::CAUTION;
    for caution in answer.cautions.iter().filter(|caution| caution.about == about) {
        let mut text = format!("caution: {}", harmless(&caution.text));
        if !caution.source.is_empty() {
            let _ = write!(text, " [{}]", harmless(&caution.source));
        }
        let lead = " ".repeat(indent);
        let wrapped = fill(&text, layout.width, indent + 2, indent + 2);
        let _ = writeln!(out, "{lead}{style}! {wrapped}{style:#}");
    }
}
