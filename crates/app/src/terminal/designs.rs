//! Designs side by side: what each is made of and what it does, and beneath what limits the best.

use super::Layout;
use super::columns::fill;
use super::comparison::aligned;
use crate::shown;
use crate::style;
use crate::style::harmless;
use coilwright_magnet::answers::answer::{Answer, Group, Item, State, Value};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Lines of what limits the best.
const LIMITING: usize = 4;

/// The table.
pub(super) fn table(out: &mut String, answer: &Answer, layout: Layout) {
    let columns: Vec<(&Group, &str)> =
        answer.groups.iter().filter_map(|group| Some((group, suffix(group)?))).collect();
    let Some((widest, end)) = columns.iter().max_by_key(|(group, _)| group.items.len()) else { return };
    let head = std::iter::once(String::new()).chain(columns.iter().map(|(g, _)| harmless(&g.title)));
    let row = |item: &Item| {
        let stem = item.key.strip_suffix(end).unwrap_or(&item.key);
        let cells = columns.iter().map(|(group, end)| {
            let found = group.items.iter().find(|i| i.key.strip_suffix(end) == Some(stem));
            found.map_or(String::new(), |item| cell(item, answer, layout))
        });
        std::iter::once(harmless(&item.label)).chain(cells).collect::<Vec<String>>()
    };
    let rows: Vec<Vec<String>> =
        std::iter::once(head.collect()).chain(widest.items.iter().map(row)).collect();
    let lines = aligned(&rows);
    let style = style::HEADING;
    let _ = writeln!(out);
    for (index, line) in lines.iter().enumerate() {
        let line = if line.width() > layout.width { fill(line, layout.width, 0, 6) } else { line.clone() };
        let _ = if index == 0 { writeln!(out, "{style}{line}{style:#}") } else { writeln!(out, "{line}") };
    }
    if rows.iter().flatten().any(|cell| cell.ends_with('?')) {
        let note = "? kept by the best estimate, not by all of its 95 % interval; --full has the intervals.";
        let _ = writeln!(out, "{}", fill(note, layout.width, 0, 0));
    }
    limiting(out, answer, layout);
}

/// What ends all keys of a design's group: `_now`, `_1`, ...; none of any other group.
fn suffix(group: &Group) -> Option<&str> {
    let key = &group.items.first()?.key;
    let end = &key[key.rfind('_')?..];
    let design = end == "_now" || end[1..].bytes().all(|b| b.is_ascii_digit());
    let all = group.items.iter().all(|item| item.key.ends_with(end));
    let entry = group.items.len() > 2;
    (design && all && entry).then_some(end)
}

/// A number; with a sign where it lies beyond a limit, or may.
fn cell(item: &Item, answer: &Answer, layout: Layout) -> String {
    let worst = answer.limits.iter().filter(|l| l.key == item.key).map(|l| l.state);
    let sign = worst.fold("", |sign, state| match state {
        State::Exceeded => " !",
        State::Doubtful if sign.is_empty() => " ?",
        _ => sign,
    });
    match &item.value {
        Value::Number(measure) => format!("{}{sign}", shown::value(measure, layout.units)),
        Value::Text(text) => harmless(text),
    }
}

/// The groups about what limits, or what would be enough.
fn limiting(out: &mut String, answer: &Answer, layout: Layout) {
    let about =
        |item: &&Item| ["more_", "end_", "enough_", "inside"].iter().any(|start| item.key.starts_with(start));
    for item in answer.groups.iter().flat_map(|g| &g.items).filter(about).take(LIMITING) {
        let text = match &item.value {
            Value::Number(measure) => {
                format!(
                    "{}: {} {}",
                    item.label,
                    item.note.split(',').next().unwrap_or(""),
                    shown::value(measure, layout.units)
                )
            }
            Value::Text(text) => format!("{}: {text}", item.label),
        };
        let style = style::HEADING;
        let name = "What binds";
        let _ = writeln!(
            out,
            "{style}{name}:{style:#} {}",
            fill(&harmless(&text), layout.width, name.len() + 2, 2)
        );
    }
}
