//! An answer on one screen: the sentence, the few numbers that matter with their ranges, what limits, what would make it
//! surer, and the cautions, each once. Everything else is for the full text.

use super::Layout;
use super::columns::{fill, pad, widest};
use super::comparison;
use super::designs;
use super::series;
use crate::shown;
use crate::style;
use crate::style::harmless;
use coilwright_choose::sweep::MAIN;
use coilwright_magnet::answers::answer::{Answer, Caution, Item, State, Value};
use coilwright_magnet::answers::caution;
use std::fmt::Write;

/// The numbers that matter of each command, in the order of reading; a `*` stands for any ending.
const HEADLINES: [(&str, &[&str]); 8] = [
    (
        "winding",
        &["ampere_turns", "current", "power", "turns", "wire_diameter", "resistance", "conductor_mass"],
    ),
    ("field", &["face_maximum", "b_abs_*", "line_*", "b_pole_*", "keep_out_*", "ampere_turns"]),
    ("pull", &["pull", "pull_hot", "shear", "gap", "ampere_turns", "limit"]),
    (
        "heat",
        &[
            "runaway*",
            "hot_spot_steady",
            "hot_spot",
            "surface_temperature_steady",
            "thermal_class",
            "power",
            "power_steady",
            "pull_cold",
            "pull_steady",
        ],
    ),
    ("headroom", &["runaway*", "level_safe_*", "surface_own_*", "pull_cold_*", "pull_hot_*"]),
    (
        "switch",
        &[
            "release_time",
            "pull_rise",
            "peak_voltage",
            "pull",
            "residual_pull",
            "backup_holds",
            "backup_need",
        ],
    ),
    ("lot", &["lot_factor", "lot_weakest", "lot_one", "unit_all", "shared_all", "measured_lot", "lot_least"]),
    ("audit", &["deviation_*"]),
];
/// Columns below which a screen is narrow.
const NARROW: usize = 80;
/// Rows at most.
const ROWS: usize = 5;
/// Contributors and assumptions that are named.
const NAMED: usize = 3;
/// Warnings that are shown; half as many on a narrow screen.
const MINDED: usize = 2;

/// The screen. Styled; a stream that takes no styles drops them.
pub(super) fn render(answer: &Answer, layout: Layout) -> String {
    let mut out = String::new();
    let strong = style::STRONG;
    let title = format!("{} · {}", harmless(&answer.magnet), harmless(&answer.command));
    let _ = writeln!(out, "{strong}{}{strong:#}", fill(&title, layout.width, 0, 0));
    let sentence = shown::sentence(answer, layout.units);
    if !sentence.is_empty() {
        let _ = writeln!(out, "{}", fill(&harmless(&sentence), layout.width, 0, 0));
    }
    let cautions = shown::once_each(&answer.cautions);
    let mut rest = String::new();
    if answer.command == "compare" {
        // Whether needs are met stands in the table.
        comparison::table(&mut out, answer, layout);
    } else if answer.command == "seek" {
        designs::table(&mut out, answer, layout);
    } else if let Some(swept) = answer.series.iter().find(|series| series.key == MAIN) {
        series::table(&mut out, swept, layout);
        limits(&mut rest, answer, layout);
    } else {
        rows(&mut out, answer, &cautions, layout);
        limits(&mut rest, answer, layout);
    }
    // What stands side by side takes the room of what one number lacks to be sure.
    match answer.command.as_str() {
        "seek" => mind(&mut rest, answer, layout),
        "compare" => {
            next(&mut rest, answer, layout);
            besides(&mut rest, answer, layout);
        }
        _ => {
            unsure(&mut rest, answer, layout);
            next(&mut rest, answer, layout);
            assumed(&mut rest, answer, layout);
            mind(&mut rest, answer, layout);
        }
    }
    if !rest.is_empty() {
        let _ = write!(out, "\n{rest}");
    }
    if answer.command == "compare" {
        warn_in_short(&mut out, &cautions, layout);
    } else {
        warn(&mut out, &cautions, layout);
    }
    more(&mut out, answer, layout);
    out
}

/// The sentence alone.
pub(super) fn quiet(answer: &Answer, layout: Layout) -> String {
    let sentence = harmless(&shown::sentence(answer, layout.units));
    let text =
        if sentence.is_empty() { format!("{}: see --full", harmless(&answer.magnet)) } else { sentence };
    fill(&text, layout.width, 0, 0) + "\n"
}

fn matches(pattern: &str, key: &str) -> bool {
    pattern.strip_suffix('*').map_or(pattern == key, |start| key.starts_with(start))
}

/// A row to be shown: an item under its heading.
struct Row<'a> {
    heading: &'a str,
    item: &'a Item,
}

/// The items that matter, in the order of reading.
fn chosen(answer: &Answer) -> Vec<Row<'_>> {
    let patterns =
        HEADLINES.iter().find(|(command, _)| *command == answer.command).map_or(&["*"][..], |(_, p)| p);
    let items =
        || answer.groups.iter().flat_map(|g| g.items.iter().map(|item| Row { heading: &g.title, item }));
    let mut found: Vec<Row<'_>> = Vec::new();
    for pattern in patterns {
        for row in items().filter(|row| matches(pattern, &row.item.key)) {
            if !found.iter().any(|f| f.item.key == row.item.key) {
                found.push(row);
            }
        }
    }
    // What the sentence says is not said again, but where a caution hangs on it.
    let said = |key: &str| answer.summary.contains(&format!("{{{key}}}"));
    let minded = |key: &str| answer.cautions.iter().any(|c| c.about == key);
    found.retain(|row| !said(&row.item.key) || minded(&row.item.key));
    // A limit that is not surely kept has a line of its own.
    let open = answer.limits.iter().any(|l| l.key.starts_with("hot_spot") && l.state != State::Kept);
    found.retain(|row| !(open && row.item.key == "thermal_class"));
    if answer.command == "audit" {
        // What contradicts is what an audit is for; what agrees comes after it.
        found.sort_by_key(|row| !row.item.note.contains("contradict") && !row.item.note.contains("doubtful"));
    }
    found
}

/// What a row is called; rows of one label are told apart by their headings.
fn label(row: &Row<'_>, all: &[Row<'_>]) -> String {
    let (heading, label) = (harmless(row.heading), harmless(&row.item.label));
    if let Some(which) = label.strip_prefix("deviation/std, ") {
        return format!("{heading}: {which}");
    }
    if all.iter().filter(|other| other.item.label == row.item.label).count() < 2 {
        return label;
    }
    let mut letters = heading.chars();
    let heading: String = letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect();
    format!("{label}, {heading}")
}

fn rows(out: &mut String, answer: &Answer, cautions: &[&Caution], layout: Layout) {
    let chosen = chosen(answer);
    let tag = |item: &Item| {
        let here =
            |c: &Caution| answer.cautions.iter().any(|o| o.about == item.key && shown::same_kind(o, c));
        let about = (1..).zip(cautions).filter(|(_, c)| here(c));
        let numbers: Vec<String> = about.map(|(n, _)| n.to_string()).collect();
        if numbers.is_empty() { String::new() } else { format!("[{}]", numbers.join(", ")) }
    };
    let cells: Vec<[String; 3]> = chosen
        .iter()
        .take(if layout.width < NARROW { ROWS - 1 } else { ROWS })
        .map(|row| {
            let (value, range) = match &row.item.value {
                Value::Number(m) => (shown::value(m, layout.units), shown::range(m, layout.units)),
                Value::Text(text) => (harmless(text), String::new()),
            };
            let note = if range.is_empty() { harmless(&row.item.note) } else { range };
            let tag = tag(row.item);
            let note = if tag.is_empty() { note } else { format!("{note}  {tag}").trim().to_owned() };
            [label(row, &chosen), value, note]
        })
        .collect();
    if cells.is_empty() {
        return;
    }
    let _ = writeln!(out);
    let name_width = widest(cells.iter().map(|c| c[0].as_str()), layout.width * 2 / 5);
    let value_width = widest(cells.iter().map(|c| c[1].as_str()).filter(|v| v.len() < 20), layout.width / 5);
    for [name, number, note] in &cells {
        let start = 2 + name_width + 2;
        let text =
            if note.is_empty() { number.clone() } else { format!("{}  {note}", pad(number, value_width)) };
        let name = fill(name, start - 2, 2, 4);
        let (before, last) = name.rsplit_once('\n').map_or(("", name.as_str()), |(a, b)| (a, b));
        if !before.is_empty() {
            let _ = writeln!(out, "  {before}");
        }
        let lead = if before.is_empty() {
            format!("  {}", pad(last, name_width))
        } else {
            pad(last, name_width + 2)
        };
        let _ = writeln!(out, "{lead}  {}", fill(text.trim_end(), layout.width, start, start + 2));
    }
}

/// A line with a name, hanging under it.
fn named(out: &mut String, name: &str, text: &str, layout: Layout) {
    let style = style::HEADING;
    let _ =
        writeln!(out, "{style}{name}:{style:#} {}", fill(text, layout.width, name.chars().count() + 2, 2));
}

fn limits(out: &mut String, answer: &Answer, layout: Layout) {
    for text in shown::open_limits(answer, layout.units) {
        named(out, "Limit", &harmless(&text), layout);
    }
}

fn unsure(out: &mut String, answer: &Answer, layout: Layout) {
    let Some((_, measure)) = shown::main_number(answer) else { return };
    let parts = shown::least_sure(measure, NAMED);
    if !parts.is_empty() {
        named(out, "Least sure", &format!("{}.", harmless(&parts)), layout);
    }
}

fn next(out: &mut String, answer: &Answer, layout: Layout) {
    let (Some(advice), Some((_, measure))) = (answer.next_measurements.first(), shown::main_number(answer))
    else {
        return;
    };
    let then = shown::then(advice, measure, layout.units);
    let text = format!("{}; then {then}.", harmless(&advice.text));
    named(out, "Measure next", &text, layout);
}

fn assumed(out: &mut String, answer: &Answer, layout: Layout) {
    let band = shown::main_number(answer).and_then(|(_, m)| m.band.as_ref());
    let share = |path: &str| {
        let parts = band.iter().flat_map(|b| &b.contributors).filter(|c| c.path == path);
        parts.fold(0.0f64, |sum, c| sum + c.share)
    };
    let mut all: Vec<_> = answer.assumptions.iter().collect();
    all.sort_by(|a, b| share(&b.path).total_cmp(&share(&a.path)));
    let parts: Vec<String> = all
        .iter()
        .take(NAMED)
        .map(|a| {
            let value = match &a.value {
                Some(measure) => shown::value(measure, layout.units),
                None => harmless(&a.word),
            };
            format!("{} {value}", harmless(&a.path))
        })
        .collect();
    if !parts.is_empty() {
        let more = all.len().saturating_sub(NAMED);
        let more = if more > 0 { format!("; {more} more") } else { String::new() };
        named(out, "Assumed", &format!("{}{more}.", parts.join(", ")), layout);
    }
}

fn mind(out: &mut String, answer: &Answer, layout: Layout) {
    // A table takes the room of a warning.
    let tabled =
        ["compare", "seek"].contains(&answer.command.as_str()) || answer.series.iter().any(|s| s.key == MAIN);
    let short = layout.width < NARROW || tabled;
    let most = if short { MINDED / 2 } else { MINDED };
    let more = answer.warnings.len().saturating_sub(most);
    for (index, warning) in answer.warnings.iter().take(most).enumerate() {
        let mut text = harmless(warning.split("; ").next().unwrap_or(warning));
        if index + 1 == most && more > 0 {
            let _ = write!(text, " ({more} more)");
        }
        named(out, "Mind", &text, layout);
    }
}

/// How much was assumed of all, and how much there is to be minded.
fn besides(out: &mut String, answer: &Answer, layout: Layout) {
    let several = |count: usize, one: &str, more: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {more}"),
    };
    let text = format!(
        "{} and {} of the magnets: --full lists them.",
        several(answer.assumptions.len(), "assumption", "assumptions"),
        several(answer.warnings.len(), "remark", "remarks")
    );
    let _ = writeln!(out, "{}", fill(&text, layout.width, 0, 2));
}

fn warn(out: &mut String, cautions: &[&Caution], layout: Layout) {
    if cautions.is_empty() {
        return;
    }
    let style = style::HEADING;
    let _ = writeln!(out, "\n{style}{}{style:#}", fill(caution::DEFER, layout.width, 0, 0));
    let colour = style::CAUTION;
    for (number, caution) in (1..).zip(cautions) {
        let source = caution.source.split([';', '(', ',']).next().unwrap_or("").trim();
        // On a narrow screen the first source serves; the full text has them all.
        let source = if layout.width < NARROW { source.split(" and ").next().unwrap_or("") } else { source };
        let text = format!("{} ({source})", harmless(&caution.brief));
        let lead = format!("[{number}]");
        let _ = writeln!(out, "{colour}{lead}{colour:#} {}", fill(&text, layout.width, lead.len() + 1, 4));
    }
}

/// The same one after another without their sources, where several magnets have one of each: a table leaves no room for
/// more.
fn warn_in_short(out: &mut String, cautions: &[&Caution], layout: Layout) {
    if cautions.is_empty() {
        return;
    }
    let style = style::HEADING;
    let _ = writeln!(out, "\n{style}{}{style:#}", fill(caution::DEFER, layout.width, 0, 0));
    let all: Vec<String> =
        (1..).zip(cautions).map(|(n, c)| format!("[{n}] {}", harmless(&c.brief))).collect();
    let colour = style::CAUTION;
    let text = format!("{} Sources: --full.", all.join(" "));
    let _ = writeln!(out, "{colour}{}{colour:#}", fill(&text, layout.width, 0, 0));
}

/// What else there is, and how to see it.
fn more(out: &mut String, answer: &Answer, layout: Layout) {
    let curves: Vec<&str> = answer.series.iter().map(|s| s.key.as_str()).collect();
    let mut text = "--full shows everything".to_owned();
    if !curves.is_empty() {
        let _ = write!(text, "; --plot FILE.svg draws {}", curves.join(", "));
    }
    let _ = writeln!(out, "{}", fill(&text, layout.width, 0, 2));
}
