//! Curves as short tables.

use super::columns::{align_points, fill, pad_left, widest};
use super::{Layout, heading};
use crate::shown::{Scale, chosen_rows, standard_of};
use crate::style;
use crate::style::harmless;
use coilwright_magnet::answers::answer::{Column, Series};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Columns between two numbers.
const GAP: usize = 2;

/// A column as text: heading and aligned cells, all of one width.
struct Cells {
    heading: Vec<String>,
    cells: Vec<String>,
    width: usize,
}

/// A series as a table of few rows, evenly chosen, the first and last among them.
pub(super) fn table(out: &mut String, series: &Series, layout: Layout) {
    heading(out, &series.title);
    let rows = chosen_rows(series.x.values.len());
    if rows.is_empty() {
        let _ = writeln!(out, "  no points");
        return;
    }
    let x = values(&series.x, &rows, layout);
    let mut groups = Vec::new();
    for column in &series.ys {
        let mut group = vec![values(column, &rows, layout)];
        if column.bands.len() == column.values.len() {
            group.push(intervals(column, &rows, layout));
        }
        groups.push(group);
    }
    // As many curves side by side as there is room for, the abscissa again before each set.
    let mut set: Vec<&Cells> = vec![&x];
    let mut used = 2 + x.width;
    for group in &groups {
        let wanted: usize = group.iter().map(|cells| GAP + cells.width).sum();
        if set.len() > 1 && used + wanted > layout.width {
            block(out, &set);
            set = vec![&x];
            used = 2 + x.width;
        }
        set.extend(group);
        used += wanted;
    }
    block(out, &set);
    let total = series.x.values.len();
    if total > rows.len() {
        let quiet = style::QUIET;
        let text = format!(
            "{} of {total} rows; `--csv --series {}` gives all, `--plot FILE.svg` draws them",
            rows.len(),
            harmless(&series.key)
        );
        let _ = writeln!(out, "  {quiet}{}{quiet:#}", fill(&text, layout.width, 2, 2));
    }
}

fn values(column: &Column, rows: &[usize], layout: Layout) -> Cells {
    let scale = Scale::of_column(column, layout.units);
    let cells: Vec<String> = rows
        .iter()
        .map(|&row| match column.values.get(row) {
            // What never settles has no temperature in the long run.
            Some(&value) if value.is_nan() && column.key.starts_with("hot_spot") => "runs away".into(),
            Some(&value) => scale.digits(value, column.bands.get(row).map(|&band| standard_of(band))),
            None => String::new(),
        })
        .collect();
    cells_of(&scale.heading(&harmless(&column.label)), align_points(&cells))
}

fn intervals(column: &Column, rows: &[usize], layout: Layout) -> Cells {
    let scale = Scale::of_column(column, layout.units);
    let ends = |pick: fn((f64, f64)) -> f64| -> Vec<String> {
        let cells: Vec<String> = rows
            .iter()
            .map(|&row| {
                let band = column.bands[row];
                // Where there is no value there is no interval either.
                let known = pick(band).is_finite();
                if known { scale.digits(pick(band), Some(standard_of(band))) } else { String::new() }
            })
            .collect();
        align_points(&cells)
    };
    let cells = ends(|band| band.0).into_iter().zip(ends(|band| band.1));
    let between = |(low, high): (String, String)| match low.trim() {
        "" => String::new(),
        _ => format!("{low} … {high}"),
    };
    cells_of("95 %", cells.map(between).collect())
}

/// Long headings are broken over several lines, so that columns stay as narrow as their numbers allow.
fn cells_of(heading: &str, cells: Vec<String>) -> Cells {
    let numbers = widest(cells.iter().map(String::as_str), usize::MAX);
    let heading: Vec<String> =
        textwrap::wrap(heading, numbers.max(14)).into_iter().map(|line| line.into_owned()).collect();
    let width = widest(heading.iter().map(String::as_str), usize::MAX).max(numbers);
    Cells { heading, cells, width }
}

fn block(out: &mut String, set: &[&Cells]) {
    let quiet = style::QUIET;
    let tall = set.iter().map(|cells| cells.heading.len()).max().unwrap_or(0);
    for line in 0..tall {
        let texts = set.iter().map(|cells| {
            // Headings stand on the numbers: the last line is the lowest.
            let missing = tall - cells.heading.len();
            let text = line.checked_sub(missing).map_or("", |at| cells.heading[at].as_str());
            pad_left(text, cells.width)
        });
        let text = texts.collect::<Vec<_>>().join(&" ".repeat(GAP));
        let _ = writeln!(out, "  {quiet}{}{quiet:#}", text.trim_end());
    }
    for row in 0..set[0].cells.len() {
        let texts = set.iter().map(|cells| pad_left(&cells.cells[row], cells.width));
        let text = texts.collect::<Vec<_>>().join(&" ".repeat(GAP));
        debug_assert!(text.width() > 0);
        let _ = writeln!(out, "  {}", text.trim_end());
    }
}
