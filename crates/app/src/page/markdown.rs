//! The page as Markdown, for a wiki: headings, lists and tables with bars between them; curves are tables of a few rows.

use super::section::{Group, Section};
use super::{Page, Topic, card, headline};
use crate::shown::{self, Scale, chosen_rows, standard_of};
use crate::style::harmless;
use coilwright_magnet::answers::answer::{Answer, Caution, Column, Series};
use coilwright_magnet::answers::caution;
use coilwright_magnet::quantity::UnitSystem;
use std::fmt::Write;

/// The document.
pub(super) fn document(page: &Page<'_>) -> String {
    let mut out = String::new();
    first(&mut out, page);
    for topic in &page.topics {
        section(&mut out, page, topic);
    }
    cautions_in_short(&mut out, page);
    assumptions(&mut out, page);
    list(&mut out, "Sources", page.sources().into_iter().map(plain));
    colophon(&mut out, page);
    out
}

/// Text that is no markup. What turns the direction of writing is made visible.
fn plain(text: &str) -> String {
    escaped(&harmless(text))
}

/// The same, but what stands between backticks is code.
fn words(text: &str) -> String {
    let text = harmless(text);
    let stretches = super::stretches(&text).into_iter();
    stretches.map(|(part, is_code)| if is_code { code(part) } else { escaped(part) }).collect()
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if matches!(c, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#' | '&' | '~') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// Code on one line; a bar would end a table's cell.
fn code(text: &str) -> String {
    format!("`{}`", text.replace('|', "\\|"))
}

fn first(out: &mut String, page: &Page<'_>) {
    let _ = writeln!(out, "# {}\n", plain(page.name()));
    let date = page.date.map_or(String::new(), |date| format!(", {}", plain(date)));
    let _ = writeln!(out, "{}{date}\n", plain(&page.sheet.file));
    let _ = writeln!(out, "{}\n", words(&headline::question(page)));
    let head = headline::answer(page);
    if let Some(answer) = head {
        let sentence: String =
            headline::words(answer, page.units).into_iter().map(|word| word.text).collect();
        let _ = writeln!(out, "**{}**\n", words(&sentence));
        for sentence in headline::how_sure(answer, page.units) {
            let _ = writeln!(out, "{}\n", words(&sentence));
        }
    }
    for line in headline::in_short(page) {
        let _ = writeln!(out, "- {}", words(&line));
    }
}

fn section(out: &mut String, page: &Page<'_>, topic: &Topic) {
    let _ = writeln!(out, "\n## {}\n", topic.title);
    let answer = match &topic.answer {
        Ok(answer) => answer,
        Err(reason) => {
            let _ = writeln!(out, "No answer: {}", words(reason));
            return;
        }
    };
    let section = page.section(answer);
    if !section.sentence.is_empty() {
        let _ = writeln!(out, "{}\n", words(&section.sentence));
    }
    if answer.command == "winding" {
        winding_card(out, page, answer);
    }
    for group in &section.groups {
        rows(out, group);
    }
    for curve in &section.curves {
        series(out, curve.series, page.units);
        curve.cautions.iter().for_each(|caution| warn(out, caution));
    }
    section.cautions.iter().for_each(|caution| warn(out, caution));
    notes(out, &section, answer);
}

fn winding_card(out: &mut String, page: &Page<'_>, answer: &Answer) {
    out.push_str("### Winding card\n\n| | asked | accepted | found |\n|---|---|---|---|\n");
    for line in card::lines(page, answer) {
        let asked = plain(&line.asked);
        let asked = if line.assumed { format!("*{asked}*") } else { asked };
        let _ = writeln!(out, "| {} | {asked} | {} | |", plain(&line.what), plain(&line.accept));
    }
    for note in card::notes() {
        let _ = writeln!(out, "\n{}", plain(&note));
    }
    out.push('\n');
}

/// A table of rows; what they warn of follows it, for a cell has no paragraphs.
fn rows(out: &mut String, group: &Group<'_>) {
    let _ = writeln!(out, "### {}\n\n| | value | 95 % interval | |\n|---|---|---|---|", plain(group.title));
    for row in &group.rows {
        let cells = [plain(row.label), words(&row.value), plain(&row.interval), words(row.note)];
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
    for row in &group.rows {
        for caution in &row.cautions {
            let _ = write!(out, "{}: ", plain(row.label));
            warn(out, caution);
        }
    }
}

fn warn(out: &mut String, caution: &Caution) {
    let source =
        if caution.source.is_empty() { String::new() } else { format!(" ({})", plain(&caution.source)) };
    let _ = writeln!(out, "**Caution:** {}{source}\n", plain(&caution.text));
}

fn series(out: &mut String, series: &Series, units: UnitSystem) {
    let columns: Vec<(&Column, Scale)> = [&series.x]
        .into_iter()
        .chain(&series.ys)
        .map(|column| (column, Scale::of_column(column, units)))
        .collect();
    let heads: Vec<String> =
        columns.iter().map(|(column, scale)| plain(&scale.heading(&column.label))).collect();
    let _ = writeln!(out, "### {}\n\n| {} |", plain(&series.title), heads.join(" | "));
    let _ = writeln!(out, "|{}", "---|".repeat(columns.len()));
    for row in chosen_rows(series.x.values.len()) {
        let cell = |(column, scale): &(&Column, Scale)| match column.values.get(row) {
            Some(value) if value.is_finite() => {
                plain(&scale.digits(*value, column.bands.get(row).map(|&band| standard_of(band))))
            }
            _ => String::new(),
        };
        let cells: Vec<String> = columns.iter().map(cell).collect();
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
}

fn notes(out: &mut String, section: &Section<'_>, answer: &Answer) {
    if !section.notes.is_empty() {
        let of = if answer.command == "compare" { "comparison" } else { &answer.command };
        let _ = writeln!(out, "### To know about the {}\n", plain(of));
    }
    for (name, note) in &section.notes {
        let _ = writeln!(out, "- {name}: {}", words(note));
    }
}

fn cautions_in_short(out: &mut String, page: &Page<'_>) {
    let all = shown::once_each(page.cautions());
    let lines = all.iter().map(|c| format!("{} ({})", plain(&c.brief), plain(&c.source)));
    list(out, "Cautions, in short", lines.chain((!all.is_empty()).then(|| plain(caution::DEFER))));
}

fn assumptions(out: &mut String, page: &Page<'_>) {
    let all = page.assumptions();
    if all.is_empty() {
        return;
    }
    out.push_str("\n## Assumed\n\n| entry | assumed | 95 % interval | why |\n|---|---|---|---|\n");
    for assumption in all {
        let (value, range) = super::assumed(assumption, page.units);
        let entry = format!("{} {}", plain(&assumption.label), code(&assumption.path));
        let cells = [entry, format!("*{}*", plain(&value)), plain(&range), words(&assumption.reason)];
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
}

fn list(out: &mut String, title: &str, lines: impl Iterator<Item = String>) {
    let mut lines = lines.peekable();
    if lines.peek().is_some() {
        let _ = writeln!(out, "\n## {title}\n");
    }
    for line in lines {
        let _ = writeln!(out, "- {line}");
    }
}

fn colophon(out: &mut String, page: &Page<'_>) {
    let _ = writeln!(
        out,
        "\n## How to make this page again\n\n- program: Coilwright {}",
        env!("CARGO_PKG_VERSION")
    );
    if let Some(date) = page.date {
        let _ = writeln!(out, "- date, as given: {}", plain(date));
    }
    let _ = writeln!(out, "- sheet: {}, SHA-256 `{}`", plain(&page.sheet.file), page.sheet.sha256());
    for source in &page.readings {
        let _ = writeln!(out, "- readings: {}, SHA-256 `{}`", plain(&source.file), source.sha256);
    }
    for other in page.beside {
        let _ = writeln!(out, "- sheet beside it: {}, SHA-256 `{}`", plain(&other.file), other.sha256());
    }
    let commands = page.topics.iter().filter_map(|topic| topic.made_by.as_deref());
    let commands: Vec<&str> = [page.made_by.as_str()].into_iter().chain(commands).collect();
    let _ = writeln!(out, "\n{}\nThe sheet, as it was read:\n", indented(&commands.join("\n")));
    let _ = writeln!(out, "{}", indented(&page.sheet.text));
    out.push_str("Made by: ______________ Date, signature: ______________\n\n");
    out.push_str("Checked by: ______________ Date, signature: ______________\n");
}

/// A block of code by its indent, which no text can end.
fn indented(text: &str) -> String {
    text.lines().fold(String::new(), |mut out, line| {
        let line = harmless(&line.replace('\t', "    "));
        out.push_str(format!("    {line}").trim_end());
        out.push('\n');
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_no_markup() {
        assert_eq!(plain("a_b <b> *c* | #1"), r"a\_b \<b\> \*c\* \| \#1");
        assert_eq!(words("see `drive.duty_cycle` _now_"), r"see `drive.duty_cycle` \_now\_");
        assert_eq!(words("one ` tick"), r"one \` tick");
        assert_eq!(indented("```\n\tx"), "    ```\n        x\n");
    }
}
