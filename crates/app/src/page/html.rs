//! The page as one HTML document: no script, nothing from elsewhere.

use super::band_bar::Bar;
use super::section::{Curve, Group, Row};
use super::{Page, Topic, card, drawing, faces, headline};
use crate::chart::{self, ChartError, Curves};
use crate::shown;
use crate::style::harmless;
use crate::svg;
use coilwright_magnet::answers::answer::{Answer, Caution};
use coilwright_magnet::answers::caution;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use std::fmt::Write;

pub(super) const STYLE: &str = include_str!("page.css");

/// The document.
pub(super) fn document(page: &Page<'_>) -> Result<String, ChartError> {
    let mut body = String::new();
    first(&mut body, page);
    for topic in &page.topics {
        section(&mut body, page, topic)?;
    }
    closing(&mut body, page);
    colophon(&mut body, page);
    let (name, foot, faces) = (text(page.name()), foot(page), faces::embedded(&body)?);
    Ok(format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{name}</title>\n\
         <style>\n{faces}{STYLE}{foot}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
    ))
}

/// Text between tags or in an attribute. What turns the direction of writing is made visible.
pub(crate) fn text(text: &str) -> String {
    svg::escape(&harmless(text))
}

/// The running foot of a printed page: name, checksum, version, page of pages.
fn foot(page: &Page<'_>) -> String {
    let checksum = &page.sheet.sha256()[..12];
    let left = format!("{} · sheet {checksum} · Coilwright {}", page.name(), env!("CARGO_PKG_VERSION"));
    format!(
        "@page{{margin:16mm 15mm 18mm 18mm;@bottom-left{{content:\"{}\";font:8pt sans-serif;color:#59656f}}\
         @bottom-right{{content:counter(page) \" of \" counter(pages);font:8pt sans-serif;color:#59656f}}}}\n",
        quoted(&harmless(&left))
    )
}

/// Text in a quoted CSS string: everything but letters, digits and spaces by its code point (CSS Syntax Level 3, 4.3.7).
fn quoted(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_alphanumeric() || c == ' ' {
            out.push(c);
        } else {
            // The space that ends an escape is part of it.
            let _ = write!(out, "\\{:x} ", c as u32);
        }
    }
    out
}

/// The units of a page in a word each.
pub(crate) fn units(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Si => "mm · N · mT · °C",
        UnitSystem::GaussKgf => "mm · kgf · G · °C",
        UnitSystem::Imperial => "in · lbf · G · °F",
    }
}

/// What stands first: name, verdict, how sure, the rest in short.
fn first(out: &mut String, page: &Page<'_>) {
    let units = units(page.units);
    let date = page.date.map_or(String::new(), |date| format!("<span>{}</span>", text(date)));
    let _ = writeln!(
        out,
        "<header><b>{}</b><span>{}</span>{date}<span class=\"units\">{units}</span></header>",
        text(page.name()),
        text(&page.sheet.file)
    );
    verdict(out, page);
    out.push_str("<div class=\"first\">\n");
    if let Some(drawing) = drawing::svg(&page.figure, page.units) {
        let _ = writeln!(out, "<figure class=\"drawing\">{drawing}</figure>");
    }
    in_short(out, page);
    out.push_str("</div>\n");
}

/// The question, the answer as a sentence, how sure it is.
pub(super) fn verdict(out: &mut String, page: &Page<'_>) {
    let _ = writeln!(out, "<p class=\"question\">{}</p>", code(&headline::question(page)));
    if let Some(answer) = headline::answer(page) {
        out.push_str("<h1>");
        for word in headline::words(answer, page.units) {
            let words = text(&word.text);
            let key = text(&word.key);
            out.push_str(&if word.banded {
                format!("<u data-of=\"{}\" data-key=\"{key}\">{}</u>", answer.command, unbroken(&words))
            } else {
                words
            });
        }
        out.push_str("</h1>\n");
        for sentence in headline::how_sure(answer, page.units) {
            let _ = writeln!(out, "<p class=\"sure\">{}</p>", code(&sentence));
        }
    }
}

/// A number and its unit stay on one line.
fn unbroken(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// Words in which every number stays on one line with its unit.
fn with_units(words: &str) -> String {
    let mut out = String::new();
    for word in words.split_inclusive(' ') {
        let unit = word.trim_end().trim_end_matches([',', '.', ';', ':', ')']);
        if out.ends_with(' ') && ends_in_digit(out.trim_end()) && is_unit(unit) {
            out.pop();
            out.push('\u{a0}');
        }
        out.push_str(word);
    }
    out
}

/// Whether some kind of quantity is shown in it.
fn is_unit(word: &str) -> bool {
    !word.is_empty() && Dimension::ALL.into_iter().flat_map(Dimension::units).any(|unit| unit.symbol == word)
}

fn ends_in_digit(text: &str) -> bool {
    text.ends_with(|c: char| c.is_ascii_digit())
}

/// The other answers in a sentence each, and how limits fare.
pub(super) fn in_short(out: &mut String, page: &Page<'_>) {
    out.push_str("<ul class=\"short\">\n");
    for line in headline::in_short(page) {
        let _ = writeln!(out, "<li>{}</li>", code(&line));
    }
    out.push_str("</ul>\n");
}

/// Text in which what stands between backticks is code.
pub(super) fn code(words: &str) -> String {
    let stretches = super::stretches(words).into_iter();
    let shown = stretches.map(|(part, is_code)| match is_code {
        true => format!("<code>{}</code>", text(part)),
        false => text(&with_units(part)),
    });
    shown.collect()
}

/// A question with its answer.
pub(super) fn section(out: &mut String, page: &Page<'_>, topic: &Topic) -> Result<(), ChartError> {
    let _ = writeln!(out, "<section id=\"{}\">\n<h2>{}</h2>", topic.command, topic.title);
    match &topic.answer {
        Ok(answer) => answered(out, page, answer)?,
        Err(reason) => {
            let _ = writeln!(out, "<p class=\"soft\">No answer: {}</p>", code(reason));
        }
    }
    out.push_str("</section>\n");
    Ok(())
}

fn answered(out: &mut String, page: &Page<'_>, answer: &Answer) -> Result<(), ChartError> {
    let section = page.section(answer);
    if !section.sentence.is_empty() {
        let _ = writeln!(out, "<p class=\"lead\">{}</p>", code(&section.sentence));
    }
    if answer.command == "winding" {
        winding_card(out, page, answer);
    }
    for group in &section.groups {
        rows(out, &answer.command, group);
    }
    if answer.command == "field" {
        flux(out, page);
    }
    for curve in &section.curves {
        figure(out, page, answer, curve)?;
    }
    for caution in &section.cautions {
        warn(out, caution);
    }
    if !section.notes.is_empty() {
        out.push_str("<dl>\n");
        let mut before = "";
        for (name, note) in &section.notes {
            let shown = if *name == before { "" } else { name };
            let _ = writeln!(out, "<dt>{shown}</dt><dd>{}</dd>", code(note));
            before = name;
        }
        out.push_str("</dl>\n");
    }
    Ok(())
}

/// What stands last of all that is answered: cautions once more, what was assumed, on what it rests.
pub(super) fn closing(out: &mut String, page: &Page<'_>) {
    cautions_in_short(out, page);
    assumptions(out, page);
    sources(out, page);
}

/// The picture of the field: its magnitude as shades, closeness of lines likewise.
pub(super) fn flux(out: &mut String, page: &Page<'_>) {
    match &page.flux {
        Ok(Some(flux)) => {
            let Some(drawn) = drawing::flux_svg(&page.figure, flux, page.units) else { return };
            let [between, strongest] =
                [&flux.between, &flux.strongest].map(|measure| shown::value(measure, page.units));
            let caption = format!(
                "The field with the workpiece in place, where there is one. Shades: its magnitude, at most {strongest} and mostly \
                 in iron, where no probe reads. Lines: between any two neighbours passes the same flux, {between}, so that they \
                 are close where the field is strong."
            );
            let _ = writeln!(
                out,
                "<figure class=\"drawing\" id=\"flux\">{drawn}<figcaption>{}</figcaption></figure>",
                text(&with_units(&caption))
            );
        }
        Ok(None) => {}
        Err(reason) => {
            let _ = writeln!(out, "<p class=\"soft\">No picture of the field: {}</p>", code(reason));
        }
    }
}

fn winding_card(out: &mut String, page: &Page<'_>, answer: &Answer) {
    out.push_str(
        "<h3>Winding card</h3>\n<table class=\"plain card\"><thead><tr><th></th><th>asked</th><th>accepted</th><th>found</th>\
         </tr></thead><tbody>\n",
    );
    for line in card::lines(page, answer) {
        let class = if line.assumed { " class=\"assumed\"" } else { "" };
        let _ = writeln!(
            out,
            "<tr><td>{}</td><td{class}>{}</td><td>{}</td><td class=\"found\"></td></tr>",
            text(&line.what),
            text(&with_units(&line.asked)),
            text(&with_units(&line.accept))
        );
    }
    out.push_str("</tbody></table>\n");
    let [accepted, caution] = card::notes();
    let _ = writeln!(out, "<p class=\"soft\"><small>{}</small></p>", text(&with_units(&accepted)));
    let _ = writeln!(out, "<p class=\"caution\">{}</p>", text(&caution));
}

fn rows(out: &mut String, command: &str, group: &Group<'_>) {
    let _ = writeln!(out, "<h3>{}</h3>\n<table class=\"rows\"><tbody>", code(group.title));
    for row in &group.rows {
        one_row(out, command, row);
    }
    out.push_str("</tbody></table>\n");
}

/// A note longer than this many characters has a line of its own.
const NOTE: usize = 44;

/// A number with its band bar, or a fact; beneath it what belongs to it.
pub(super) fn one_row(out: &mut String, command: &str, row: &Row<'_>) {
    let note = if row.note.is_empty() { String::new() } else { format!("<small>{}</small>", code(row.note)) };
    let (beside, beneath) =
        if row.note.chars().count() > NOTE { (String::new(), note) } else { (note, String::new()) };
    let goes_on = !beneath.is_empty() || !row.cautions.is_empty();
    let goes_on = if goes_on { " class=\"goes-on\"" } else { "" };
    let _ = write!(out, "<tr{goes_on}><th scope=\"row\">{}{beside}</th>", code(row.label));
    if let Some(si) = row.si {
        let _ = writeln!(
            out,
            "<td class=\"value\" data-of=\"{command}\" data-key=\"{}\" data-si=\"{si:?}\">{}</td><td class=\"bar-cell\">{}</td><td class=\"range\">{}</td></tr>",
            text(row.key),
            text(&row.value),
            row.bar.as_ref().map_or(String::new(), Bar::svg),
            text(&row.interval)
        );
    } else {
        let _ = writeln!(out, "<td class=\"words\" colspan=\"3\">{}</td></tr>", code(&row.value));
    }
    if !beneath.is_empty() {
        let goes_on = if row.cautions.is_empty() { "" } else { " class=\"goes-on\"" };
        let _ = writeln!(out, "<tr{goes_on}><td class=\"beneath\" colspan=\"4\">{beneath}</td></tr>");
    }
    if !row.cautions.is_empty() {
        out.push_str("<tr><td class=\"beneath\" colspan=\"4\">");
        for caution in &row.cautions {
            warn(out, caution);
        }
        out.push_str("</td></tr>\n");
    }
}

fn warn(out: &mut String, caution: &Caution) {
    let source = if caution.source.is_empty() {
        String::new()
    } else {
        format!(" <small>[{}]</small>", text(&caution.source))
    };
    let _ = writeln!(out, "<p class=\"caution\"><b>Caution:</b> {}{source}</p>", text(&caution.text));
}

fn figure(out: &mut String, page: &Page<'_>, answer: &Answer, curve: &Curve<'_>) -> Result<(), ChartError> {
    let curves = Curves { magnet: &answer.magnet, series: curve.series };
    let svg = chart_of(&answer.command, curves, page.units)?;
    let _ = writeln!(
        out,
        "<figure class=\"chart\" data-of=\"{}\" data-series=\"{}\">{svg}</figure>",
        answer.command,
        text(&curve.series.key)
    );
    for caution in &curve.cautions {
        warn(out, caution);
    }
    Ok(())
}

/// A chart of a command's answer, to stand in the page.
pub(super) fn chart_of(command: &str, curves: Curves<'_>, units: UnitSystem) -> Result<String, ChartError> {
    let prefix = format!("{command}-{}", curves.series.key.replace('_', "-"));
    chart::inline_svg(curves, units, &prefix)
}

/// The cautions once more, each kind once, worst first: to be read before anyone goes near the magnet.
fn cautions_in_short(out: &mut String, page: &Page<'_>) {
    let all = shown::once_each(page.cautions());
    if all.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "<section id=\"cautions\">\n<h2>Cautions, in short</h2>\n<p class=\"lead\">{}</p>\n<ul>",
        text(caution::DEFER)
    );
    for caution in all {
        let _ = writeln!(out, "<li>{} <small>[{}]</small></li>", text(&caution.brief), text(&caution.source));
    }
    out.push_str("</ul>\n</section>\n");
}

fn assumptions(out: &mut String, page: &Page<'_>) {
    let all = page.assumptions();
    if all.is_empty() {
        return;
    }
    out.push_str(
        "<section id=\"assumptions\">\n<h2>Assumed</h2>\n<p class=\"lead\">The sheet does not say this. Give it there \
         to be surer.</p>\n<table class=\"plain\"><thead><tr><th>entry</th><th>assumed</th><th>range</th><th>why</th>\
         </tr></thead><tbody>\n",
    );
    for assumption in all {
        let (value, range) = super::assumed(assumption, page.units);
        let _ = writeln!(
            out,
            "<tr><td>{}<small><code>{}</code></small></td><td class=\"assumed\">{}</td><td class=\"range\">{}</td>\
             <td><small>{}</small></td></tr>",
            text(&assumption.label),
            text(&assumption.path),
            text(&value),
            text(&range),
            code(&assumption.reason)
        );
    }
    out.push_str("</tbody></table>\n</section>\n");
}

fn sources(out: &mut String, page: &Page<'_>) {
    let all = page.sources();
    if all.is_empty() {
        return;
    }
    out.push_str("<section id=\"sources\">\n<h2>Sources</h2>\n<ul>\n");
    for source in all {
        let _ = writeln!(out, "<li><small>{}</small></li>", text(source));
    }
    out.push_str("</ul>\n</section>\n");
}

/// What was read, what makes the page again, who answers for it.
fn colophon(out: &mut String, page: &Page<'_>) {
    out.push_str("<section id=\"again\">\n<h2>How to make this page again</h2>\n<dl>\n");
    let _ = writeln!(out, "<dt>program</dt><dd>Coilwright {}</dd>", env!("CARGO_PKG_VERSION"));
    if let Some(date) = page.date {
        let _ = writeln!(out, "<dt>date, as given</dt><dd>{}</dd>", text(date));
    }
    let mut file = |what: &str, file: &str, sha256: &str| {
        let _ = writeln!(out, "<dt>{what}</dt><dd>{}<br><code>SHA-256 {sha256}</code></dd>", text(file));
    };
    file("sheet", &page.sheet.file, &page.sheet.sha256());
    for source in &page.readings {
        file("readings", &source.file, &source.sha256);
    }
    for other in page.beside {
        file("sheet beside it", &other.file, &other.sha256());
    }
    out.push_str("</dl>\n<pre>");
    let _ = writeln!(out, "{}\n", lines(&page.made_by));
    for made_by in page.topics.iter().filter_map(|topic| topic.made_by.as_ref()) {
        let _ = writeln!(out, "{}", lines(made_by));
    }
    let _ = writeln!(
        out,
        "</pre>\n<p class=\"soft\">The first writes this page, the same to the bit; the others the answers in it, with \
         <code>--json</code> as numbers.</p>\n<h3>The sheet, as it was read</h3>\n<pre>{}</pre>",
        lines(&page.sheet.text)
    );
    for line in ["Made by", "Date, signature", "Checked by", "Date, signature"] {
        if line == "Made by" {
            out.push_str("<div class=\"sign\">");
        }
        let _ = write!(out, "<div>{line}</div>");
    }
    out.push_str("</div>\n</section>\n");
}

/// Text that keeps its lines.
fn lines(words: &str) -> String {
    words.lines().map(text).collect::<Vec<_>>().join("\n")
}
