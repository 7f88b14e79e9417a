//! A comparison as one table: magnets side by side where they fit, else one below the other.

use super::Layout;
use super::columns::{fill, pad};
use crate::shown;
use crate::style;
use crate::style::harmless;
use coilwright_magnet::answers::answer::{Answer, Group, Item, Value};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Topics of the screen, by the start of their keys, with a short name.
const TOPICS: [(&str, &str); 9] = [
    ("meets", "needs"),
    ("pull", "pull"),
    ("pull_warm", "pull, warm"),
    ("field", "field"),
    ("pull_per_room", "pull for 10 cm³"),
    ("pull_per_mass", "pull per kg"),
    ("power", "power"),
    ("temperature", "hottest place"),
    ("release", "lets go within"),
];
/// Widest column of names.
const NAMES: usize = 32;
const BETWEEN: usize = 2;

/// A topic's row: what it is, and a cell for each magnet.
struct Row<'a> {
    short: &'a str,
    items: Vec<&'a Item>,
}

/// The table.
pub(super) fn table(out: &mut String, answer: &Answer, layout: Layout) {
    let rows: Vec<Row<'_>> = TOPICS.iter().filter_map(|(key, short)| row(answer, key, short)).collect();
    let Some(first) = rows.iter().find(|r| r.short != "needs") else { return };
    let names: Vec<String> = first.items.iter().map(|item| harmless(&item.label)).collect();
    let _ = writeln!(out);
    let with_ranges = side_by_side(&rows, &names, true, layout);
    let lines = [with_ranges, side_by_side(&rows, &names, false, layout)]
        .into_iter()
        .find(|lines| lines.iter().all(|line| line.width() <= layout.width))
        .unwrap_or_else(|| one_below_the_other(&rows, &names, layout));
    let style = style::HEADING;
    for (index, line) in lines.iter().enumerate() {
        let line = line.trim_end();
        let _ = if index == 0 { writeln!(out, "{style}{line}{style:#}") } else { writeln!(out, "{line}") };
    }
    let note = "more, less: than the first, where that is sure; --full has all ranges and differences.";
    let _ = writeln!(out, "{}", fill(note, layout.width, 0, 0));
}

/// The rows of a topic, `key_1`, `key_2`, ..., if the answer has it.
fn row<'a>(answer: &'a Answer, key: &str, short: &'a str) -> Option<Row<'a>> {
    let number = |item: &Item| {
        let rest = item.key.strip_prefix(key)?.strip_prefix('_')?;
        rest.parse::<usize>().ok()
    };
    let of = |group: &&Group| group.items.iter().any(|item| number(item).is_some());
    let group = answer.groups.iter().find(of)?;
    let items = group.items.iter().filter(|item| number(item).is_some()).collect();
    Some(Row { short, items })
}

fn side_by_side(rows: &[Row<'_>], names: &[String], ranges: bool, layout: Layout) -> Vec<String> {
    let cells: Vec<Vec<String>> =
        rows.iter().map(|row| row.items.iter().map(|item| cell(item, ranges, layout)).collect()).collect();
    let titles = rows.iter().map(|row| row.short.width()).max().unwrap_or(0);
    let room = layout.width.saturating_sub(2 + titles + BETWEEN) / names.len();
    let names = names.iter().map(|name| shortened(name, room.saturating_sub(BETWEEN)));
    let head: Vec<String> = std::iter::once(String::new()).chain(names).collect();
    let body = rows
        .iter()
        .zip(cells)
        .map(|(row, cells)| std::iter::once(row.short.to_owned()).chain(cells).collect::<Vec<_>>());
    aligned(&std::iter::once(head).chain(body).collect::<Vec<_>>())
}

/// As many topics as fit, a line for each magnet.
fn one_below_the_other(rows: &[Row<'_>], names: &[String], layout: Layout) -> Vec<String> {
    let mut lines = Vec::new();
    for count in (1..=rows.len()).rev() {
        let head = std::iter::once(String::new()).chain(rows[..count].iter().map(|row| row.short.to_owned()));
        let body = names.iter().enumerate().map(|(k, name)| {
            let cells = rows[..count]
                .iter()
                .map(|row| row.items.get(k).map_or(String::new(), |i| cell(i, false, layout)));
            std::iter::once(shortened(name, NAMES)).chain(cells).collect::<Vec<_>>()
        });
        lines = aligned(&std::iter::once(head.collect()).chain(body).collect::<Vec<_>>());
        if lines.iter().all(|line| line.width() <= layout.width) {
            break;
        }
    }
    lines
}

/// A name that is too long for its column loses its middle, where names differ least.
fn shortened(name: &str, most: usize) -> String {
    let letters: Vec<char> = name.chars().collect();
    if letters.len() <= most || most < 3 {
        return name.to_owned();
    }
    let (start, end) = (most / 2, letters.len() - (most - most / 2 - 1));
    letters[..start].iter().chain(&['…']).chain(&letters[end..]).collect()
}

/// Rows as lines, their cells one below the other.
pub(super) fn aligned(rows: &[Vec<String>]) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width =
        |k: usize| rows.iter().filter_map(|row| row.get(k)).map(|cell| cell.width()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, width)| pad(cell, width + BETWEEN));
        format!("  {}", cells.collect::<String>())
    };
    rows.iter().map(|row| line(row).trim_end().to_owned()).collect()
}

/// A number, its range if there is room, and whether it is surely more or less; a fact up to where it is explained.
fn cell(item: &Item, ranges: bool, layout: Layout) -> String {
    let more = match item.note.as_str() {
        "surely more" => ", more",
        "surely less" => ", less",
        _ => "",
    };
    match &item.value {
        Value::Number(measure) => {
            let range = shown::range(measure, layout.units);
            let range = if ranges && !range.is_empty() { format!(" ({range})") } else { String::new() };
            format!("{}{range}{more}", shown::value(measure, layout.units))
        }
        Value::Text(text) => {
            harmless(text).split([':', '(', ';']).next().unwrap_or_default().trim().to_owned()
        }
    }
}
