//! An answer as text for a terminal: the sentence first, then rows with their bands, cautions beside the row they
//! belong to, curves as short tables, and what was assumed.

mod columns;
mod comparison;
mod designs;
mod items;
mod screen;
mod series;

use crate::shown::{self, Scale};
use crate::style;
use crate::style::harmless;
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::uncertainty::measure::Measure;
use columns::{fill, pad};
use std::fmt::Write;

/// How a text is to be laid out.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    /// Columns of the terminal.
    pub width: usize,
    /// Units to show.
    pub units: UnitSystem,
}

/// How much of an answer is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Extent {
    /// The sentence alone.
    Sentence,
    /// What fits on a screen.
    #[default]
    Screen,
    /// Everything.
    Everything,
}

/// An answer as text. Styled; a stream that takes no styles drops them.
pub fn render(answer: &Answer, extent: Extent, layout: Layout) -> String {
    match extent {
        Extent::Sentence => screen::quiet(answer, layout),
        Extent::Screen => screen::render(answer, layout),
        Extent::Everything => everything(answer, layout),
    }
}

fn everything(answer: &Answer, layout: Layout) -> String {
    let mut out = String::new();
    let strong = style::STRONG;
    let _ = writeln!(out, "{strong}{} · {}{strong:#}", harmless(&answer.magnet), harmless(&answer.command));
    let summary = shown::summary(answer, layout.units);
    if !summary.is_empty() {
        let _ = writeln!(out, "{}", fill(&harmless(&summary), layout.width, 0, 0));
    }
    items::groups(&mut out, answer, layout);
    for series in &answer.series {
        series::table(&mut out, series, layout);
        items::cautions(&mut out, answer, &series.key, 2, layout);
    }
    unplaced_cautions(&mut out, answer, layout);
    contributors(&mut out, answer, layout);
    assumptions(&mut out, answer, layout);
    list(&mut out, "Mind", &answer.warnings, layout);
    advice(&mut out, answer, layout);
    out
}

/// A section's heading, after an empty line.
fn heading(out: &mut String, text: &str) {
    let style = style::HEADING;
    let _ = writeln!(out, "\n{style}{}{style:#}", harmless(text));
}

/// Cautions about nothing that is shown still have to be shown.
fn unplaced_cautions(out: &mut String, answer: &Answer, layout: Layout) {
    let placed = |key: &str| {
        answer.series.iter().any(|series| series.key == key)
            || answer.groups.iter().flat_map(|group| &group.items).any(|item| item.key == key)
    };
    let rest: Vec<&str> =
        answer.cautions.iter().map(|c| c.about.as_str()).filter(|about| !placed(about)).collect();
    let mut seen = Vec::new();
    for about in rest {
        if !seen.contains(&about) {
            if seen.is_empty() {
                heading(out, "Cautions");
            }
            items::cautions(out, answer, about, 2, layout);
            seen.push(about);
        }
    }
}

/// What makes the main number unsure.
fn contributors(out: &mut String, answer: &Answer, layout: Layout) {
    let Some((item, measure)) = shown::main_number(answer) else { return };
    let Some(band) = measure.band.as_ref().filter(|band| !band.contributors.is_empty()) else { return };
    let scale = Scale::of(measure.dimension, measure.value, layout.units);
    heading(out, &format!("What makes the band of `{}`", item.label));
    for (index, part) in band.contributors.iter().enumerate() {
        if index > 0 && (index == 5 || part.share < 0.01) {
            break;
        }
        let effect = scale.digits_of_difference(part.effect);
        let from = if part.path.is_empty() || part.path == part.label {
            harmless(&part.label)
        } else {
            format!("{} ({})", harmless(&part.label), harmless(&part.path))
        };
        let line = format!("{from}: ± {effect} {}", scale.symbol);
        let _ = writeln!(out, "{:>5.0} %  {}", part.share * 100.0, fill(line.trim_end(), layout.width, 9, 9));
    }
}

fn assumptions(out: &mut String, answer: &Answer, layout: Layout) {
    if answer.assumptions.is_empty() {
        return;
    }
    heading(out, "Assumed; give these to be surer (± is a limit)");
    let rows: Vec<(String, String, String)> = answer
        .assumptions
        .iter()
        .map(|a| {
            let value = match &a.value {
                Some(measure) => shown::inline(&limited(measure), layout.units),
                None => harmless(&a.word),
            };
            (harmless(&a.path), value, format!("{}: {}", harmless(&a.label), harmless(&a.reason)))
        })
        .collect();
    let path_width = columns::widest(rows.iter().map(|row| row.0.as_str()), 36);
    let value_width = columns::widest(rows.iter().map(|row| row.1.as_str()), 26);
    let start = 2 + path_width + 2 + value_width + 2;
    for (path, value, why) in &rows {
        let head = format!("  {}  {}", pad(path, path_width), pad(value, value_width));
        if start + 24 <= layout.width {
            let _ = writeln!(out, "{head}  {}", fill(why, layout.width, start, start));
        } else {
            let _ = writeln!(out, "{}\n      {}", head.trim_end(), fill(why, layout.width, 6, 6));
        }
    }
}

/// A number with the half-width of the limits that a sheet would give it, in the place of its standard uncertainty (rectangular,
/// JCGM 100:2008, 4.3.7).
fn limited(measure: &Measure) -> Measure {
    let mut measure = measure.clone();
    if let Some(band) = &mut measure.band {
        band.standard *= 3f64.sqrt();
    }
    measure
}

fn list(out: &mut String, title: &str, lines: &[String], layout: Layout) {
    if lines.is_empty() {
        return;
    }
    heading(out, title);
    let style = style::CAUTION;
    for line in lines {
        let _ = writeln!(out, "  {style}-{style:#} {}", fill(&harmless(line), layout.width, 4, 4));
    }
}

fn advice(out: &mut String, answer: &Answer, layout: Layout) {
    if answer.next_measurements.is_empty() {
        return;
    }
    heading(out, "What to measure next");
    let main = shown::main_number(answer);
    for (index, advice) in answer.next_measurements.iter().enumerate() {
        let mut text = harmless(&advice.text);
        if let Some((item, measure)) = main {
            let scale = Scale::of(measure.dimension, measure.value, layout.units);
            let remaining = scale.digits_of_difference(advice.remaining);
            let known = format!("± {remaining} {}", scale.symbol);
            let _ = write!(text, " (then `{}` is known to {})", item.label, known.trim_end());
        }
        let _ = writeln!(out, "  {}. {}", index + 1, fill(text.trim_end(), layout.width, 5, 5));
    }
}
