//! Answering a question of the page: what the text says, numbers at once, then every section as the report has it. A newer
//! question of the same page supersedes it.

use super::asked::{Asked, told};
use super::part::{Part, SheetPart, Told};
use super::readings::Given;
use super::{quick, sliders};
use crate::ask::{self, Failure, Figure, Flux, Magnet};
use crate::chart::ChartError;
use crate::input::{Loaded, checksum};
use crate::page::{Page, Topic};
use crate::topics;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::watch::Watch;
use std::collections::{HashMap, VecDeque};
use std::sync::{Mutex, MutexGuard, PoisonError};
use tokio::sync::mpsc::UnboundedSender;

/// Questions whose answers are kept.
const KEPT: usize = 6;
/// Which questions are asked first; all others follow in the order of reading.
const FIRST: [&str; 6] = ["pull", "winding", "field", "heat", "audit", "fit"];

/// What watches over the newest question of each page.
#[derive(Debug, Default)]
pub(super) struct Newest(Mutex<HashMap<String, (f64, Watch)>>);

/// A question's turn: until a newer one of its page comes, or the page is gone.
#[derive(Clone)]
pub(super) struct Turn {
    watch: Watch,
    sink: UnboundedSender<Part>,
}

/// Somebody waits for the answer.
pub(super) struct Held(Watch);

impl Drop for Held {
    fn drop(&mut self) {
        self.0.stop();
    }
}

impl Newest {
    /// A question of a page, which supersedes those it asked before.
    pub(super) fn turn(&self, asked: &Asked, sink: UnboundedSender<Part>) -> Turn {
        let watch = Watch::new();
        let mut all = lock(&self.0);
        match all.get(&asked.client) {
            Some((moment, _)) if asked.moment < *moment => watch.stop(),
            before => {
                if let Some((_, before)) = before {
                    before.stop();
                }
                all.insert(asked.client.clone(), (asked.moment, watch.clone()));
            }
        }
        Turn { watch, sink }
    }
}

impl Turn {
    /// Whether nobody waits for the answer any more.
    pub(super) fn is_over(&self) -> bool {
        self.watch.is_stopped()
    }

    /// What is still being solved ends once this is dropped.
    pub(super) fn held(&self) -> Held {
        Held(self.watch.clone())
    }

    /// Sends a part; where nobody waits it is dropped.
    fn send(&self, part: Part) {
        let _ = self.sink.send(part);
    }

    fn put(&self, id: &str, html: String) {
        self.send(Part::Put { id: id.to_owned(), html, failed: false });
    }
}

/// Answers that were settled, by what was asked.
#[derive(Default)]
pub(super) struct Settled(Mutex<VecDeque<(String, Vec<Topic>)>>);

impl Settled {
    /// Those of a question so far.
    pub(super) fn of(&self, key: &str) -> Vec<Topic> {
        let all = lock(&self.0);
        all.iter().find(|(known, _)| known == key).map_or_else(Vec::new, |(_, topics)| topics.clone())
    }

    fn keep(&self, key: &str, topic: &Topic) {
        let mut all = lock(&self.0);
        if !all.iter().any(|(known, _)| known == key) {
            all.push_front((key.to_owned(), Vec::new()));
            all.truncate(KEPT);
        }
        if let Some((_, topics)) = all.iter_mut().find(|(known, _)| known == key) {
            topics.push(topic.clone());
        }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What is the same for two questions with the same answers.
pub(super) fn key(asked: &Asked, readings: Option<&Given>) -> String {
    let read = readings.map_or("", |given| given.source.sha256.as_str());
    checksum([asked.text.as_str(), &asked.set.join("\n"), read].join("\0").as_bytes())
}

/// A sheet that has been read, with what was drawn of it.
pub(super) struct Ready {
    pub(super) loaded: Loaded,
    figure: Figure,
    pub(super) flux: Result<Option<Flux>, String>,
}

impl Ready {
    /// The drawing in SI units.
    pub(super) fn drawing(&self) -> String {
        page(self, &Asked::of("")).drawing_part()
    }
}

/// The first stage: numbers at once, what the text says, the drawing, the picture. Nothing if the sheet is wrong.
pub(super) fn begin(asked: &Asked, file: &str, one_at_a_time: &Mutex<()>, turn: &Turn) -> Option<Ready> {
    // Of many questions that wait here all but the newest find that they are over.
    let _held = lock(one_at_a_time);
    if turn.is_over() {
        return None;
    }
    let units = asked.units();
    let read = read(asked, file);
    if let Ok((ready, _)) = &read
        && let Ok(values) = quick::first(&ready.loaded.sheet, units)
    {
        turn.send(Part::Quick { values });
    }
    let mut part = what_may_move(asked, file);
    let (mut ready, magnet) = match read {
        Ok(read) => read,
        Err(diagnostics) => {
            turn.send(Part::Sheet(Box::new(SheetPart { diagnostics, ..part })));
            return None;
        }
    };
    part.name = ready.loaded.sheet.name().to_owned();
    part.diagnostics = told(&ready.loaded.remarks, &asked.text);
    part.lengths = sliders::lengths(&ready.loaded.sheet, &magnet, &ready.figure);
    turn.send(Part::Sheet(Box::new(part)));
    turn.put("drawing", page(&ready, asked).drawing_part());
    if turn.is_over() {
        return None;
    }
    ready.flux = ask::flux(&ready.loaded.sheet).map_err(|failure| topics::reason(&failure));
    turn.put("flux", page(&ready, asked).picture_part());
    if turn.is_over() {
        return None;
    }
    if let Ok(values) = quick::warm(&ready.loaded.sheet, units) {
        turn.send(Part::Quick { values });
    }
    Some(ready)
}

/// Reads the text and draws it, or tells what is wrong.
fn read(asked: &Asked, file: &str) -> Result<(Ready, Magnet), Vec<Told>> {
    let loaded = asked.load(file)?;
    let drawn = || -> Result<(Figure, Magnet), Failure> {
        Ok((ask::figure(&loaded.sheet)?, Magnet::complete(&loaded.sheet)?))
    };
    let (figure, magnet) = drawn().map_err(|failure| match failure {
        Failure::Input(faults) => told(&faults, &asked.text),
        other => told(&[Diagnostic::fault(other.to_string(), "")], ""),
    })?;
    Ok((Ready { loaded, figure, flux: Ok(None) }, magnet))
}

/// Sliders and what is left open, of the text alone: they keep their ranges while something is moved.
fn what_may_move(asked: &Asked, file: &str) -> SheetPart {
    let plain = asked.load_plain(file);
    let magnet = plain.as_ref().and_then(|plain| Some((plain, Magnet::complete(&plain.sheet).ok()?)));
    magnet.map_or_else(SheetPart::default, |(plain, magnet)| SheetPart {
        sliders: sliders::sliders(&plain.sheet, &magnet, &asked.sliders, asked.units()),
        numbers: sliders::numbers(&plain.sheet, &magnet),
        assumed: sliders::assumed(&magnet),
        ..SheetPart::default()
    })
}

/// A page without answers yet.
pub(super) fn page<'a>(ready: &'a Ready, asked: &Asked) -> Page<'a> {
    Page {
        sheet: &ready.loaded,
        figure: ready.figure.clone(),
        flux: ready.flux.clone(),
        topics: Vec::new(),
        readings: Vec::new(),
        beside: &[],
        date: None,
        units: asked.units(),
        made_by: String::new(),
    }
}

/// The second stage: every question of a report, each sent as it is answered.
pub(super) fn settle(ready: &Ready, asked: &Asked, readings: Option<&Given>, settled: &Settled, turn: &Turn) {
    let key = key(asked, readings);
    let mut page = page(ready, asked);
    page.readings = readings.iter().map(|given| given.source.clone()).collect();
    let all = topics::questions(readings.is_some());
    let place = |command: &str| all.iter().position(|asked| asked.command == command);
    let mut order: Vec<&topics::Asked> = all.iter().collect();
    order.sort_by_key(|asked| FIRST.iter().position(|first| *first == asked.command).unwrap_or(FIRST.len()));
    let known = settled.of(&key);
    for (done, question) in order.iter().enumerate() {
        if turn.is_over() {
            return;
        }
        let topic = match known.iter().find(|topic| topic.command == question.command) {
            Some(topic) => topic.clone(),
            None => {
                let text = format!("settling {} ({} of {})", question.title, done + 1, order.len());
                turn.send(Part::Progress { text });
                let topic = answered(question, ready, readings, &turn.watch);
                // What was stopped is no answer.
                if turn.is_over() {
                    return;
                }
                settled.keep(&key, &topic);
                topic
            }
        };
        page.topics.push(topic.clone());
        page.topics.sort_by_key(|topic| place(topic.command));
        if let Err(error) = send(&page, &topic, turn) {
            let reason = format!("<p class=\"soft\">{}</p>", crate::page::escaped(&error.to_string()));
            turn.send(Part::Put { id: topic.command.into(), html: reason, failed: true });
        }
    }
    turn.send(Part::Settled);
}

/// A question's answer, or why there is none.
pub(super) fn answered(
    question: &topics::Asked,
    ready: &Ready,
    readings: Option<&Given>,
    watch: &Watch,
) -> Topic {
    let read = readings.map(|given| &given.read);
    let answer = topics::ask(&ready.loaded.sheet, &question.of, read, ("", watch));
    Topic {
        command: question.command,
        title: question.title,
        made_by: None,
        answer: answer.map_err(|failure| topics::reason(&failure)),
    }
}

/// A section, and what stands first and last and follows from it.
fn send(page: &Page<'_>, topic: &Topic, turn: &Turn) -> Result<(), ChartError> {
    let html = page.section_part(topic)?;
    turn.send(Part::Put { id: topic.command.into(), html, failed: topic.answer.is_err() });
    turn.put("verdict", page.verdict_part());
    turn.put("figures", page.figures_part());
    turn.put("short", page.short_part());
    turn.put("closing", page.closing_part());
    Ok(())
}

/// A sheet read and drawn, for a report.
pub(super) fn ready(asked: &Asked, file: &str) -> Option<Ready> {
    read(asked, file).ok().map(|(ready, _)| ready)
}
