//! What stands first: the verdict as a sentence, how sure it is, and what the other answers say in short.

use super::Page;
use crate::shown::{self, Piece};
use coilwright_magnet::answers::answer::{Answer, Item, Limit, State, Value};
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::uncertainty::measure::Measure;

/// Commands whose sentence may be the headline, the best first.
const FIRST: [&str; 3] = ["pull", "field", "winding"];

/// A part of the headline.
pub(super) struct Word {
    /// As it is read.
    pub(super) text: String,
    /// Name of the item that it tells; empty of words.
    pub(super) key: String,
    /// It is a number with a band.
    pub(super) banded: bool,
}

/// The answer that heads the page.
pub(super) fn answer<'a>(page: &'a Page<'_>) -> Option<&'a Answer> {
    let of = |command: &str| page.answers().find(|answer| answer.command == command);
    FIRST.iter().find_map(|command| of(command)).or_else(|| page.answers().next())
}

/// What the page answers; what is otherwise than in the sheet, and what the sheet says of itself, is said at once.
pub(super) fn question(page: &Page<'_>) -> String {
    let sheet = &page.sheet.sheet;
    let changed: Vec<String> = page.sheet.set.iter().map(|set| format!("`{set}`")).collect();
    let but = if changed.is_empty() { String::new() } else { format!(", but with {}", changed.join(", ")) };
    let invented =
        if sheet.flag("invented") == Some(true) { " The sheet says that it is invented." } else { "" };
    let notes = sheet.word("notes").map_or(String::new(), |notes| format!(" {notes}"));
    format!(
        "What does this magnet do, as its sheet describes it{but}, and how sure is that?{invented}{notes}"
    )
}

/// Its sentence, in which numbers have no ranges yet.
pub(super) fn words(answer: &Answer, units: UnitSystem) -> Vec<Word> {
    let word = |piece: Piece<'_>| match piece {
        Piece::Words(words) => Word { text: words.to_owned(), key: String::new(), banded: false },
        Piece::Item(Item { key, value: Value::Text(text), .. }) => {
            Word { text: text.clone(), key: key.clone(), banded: false }
        }
        Piece::Item(Item { key, value: Value::Number(measure), .. }) => {
            Word { text: shown::value(measure, units), key: key.clone(), banded: measure.band.is_some() }
        }
    };
    shown::pieces(answer).into_iter().map(word).collect()
}

/// The ranges of its numbers, and the measurement that would narrow the first of them most.
pub(super) fn how_sure(answer: &Answer, units: UnitSystem) -> Vec<String> {
    let ranges = shown::pieces(answer).into_iter().filter_map(|piece| match piece {
        Piece::Item(Item { value: Value::Number(measure), .. }) => Some(shown::range(measure, units)),
        _ => None,
    });
    let ranges: Vec<String> = ranges.filter(|range| !range.is_empty()).collect();
    let mut told = Vec::new();
    if !ranges.is_empty() {
        told.push(format!("{}, 19 times in 20.", ranges.join("; ")));
    }
    if let (Some(advice), Some((_, measure))) = (answer.next_measurements.first(), shown::main_number(answer))
    {
        let then = shown::then(advice, measure, units);
        told.push(format!("What would narrow that most: {}; then {then}.", advice.text));
    }
    told
}

/// What else is to be known at once: how the limits fare, and what the other answers say in a sentence.
pub(super) fn in_short(page: &Page<'_>) -> Vec<String> {
    let head = answer(page).map(|answer| answer.command.as_str());
    let others = page.answers().filter(|answer| head != Some(&answer.command));
    let sentences = others.map(|answer| shown::sentence(answer, page.units)).filter(|s| !s.is_empty());
    limits(page).into_iter().chain(sentences).collect()
}

/// How every limit fares, once: with the answer that judges it, if any does.
fn limits(page: &Page<'_>) -> Vec<String> {
    let all = || page.answers().flat_map(|answer| answer.limits.iter().map(move |limit| (answer, limit)));
    let mut told: Vec<String> = Vec::new();
    for (answer, limit) in all() {
        let judged = all().any(|(_, other)| other.by == limit.by && other.state != State::NotJudged);
        if judged && limit.state == State::NotJudged {
            continue;
        }
        let text = one(answer, limit, page.units);
        if !told.contains(&text) {
            told.push(text);
        }
    }
    told
}

fn one(answer: &Answer, limit: &Limit, units: UnitSystem) -> String {
    // Numbers of one label stand under several headings: which of them it is.
    let heading = answer.groups.iter().find(|group| group.items.iter().any(|item| item.key == limit.key));
    let heading = heading.map_or(String::new(), |group| format!("{}: ", group.title));
    let how = match limit.state {
        State::Exceeded => "limit exceeded",
        State::Doubtful => "limit not surely kept",
        State::Kept => "limit kept",
        State::NotJudged => {
            let most = Measure { value: limit.limit, dimension: limit.dimension, band: None };
            return format!("Not judged: the limit `{}` of {}.", limit.by, shown::value(&most, units));
        }
    };
    format!("{heading}{how}; {}.", shown::exceeded(limit, answer, units))
}
