//! Answering a question of the page: what the text says, numbers at once, then every section as the report has it. A newer
//! question of the same page supersedes it.

use super::asked::{Asked, told};
use super::part::{Part, SheetPart, Told};
use super::readings::Given;
use super::server::Desk;
use super::{quick, sliders};
use crate::ask::{self, Failure, Figure, Flux, Magnet};
use crate::beside;
use crate::chart::ChartError;
use crate::input::{Loaded, checksum};
use crate::page::{self, Page, Topic};
use crate::topics;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::watch::Watch;
use std::collections::{HashMap, VecDeque};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::mpsc::UnboundedSender;

/// Questions whose answers are kept, each once more where something stands beside.
const KEPT: usize = 12;
/// Which questions are asked first; all others follow in the order of reading.
const FIRST: [&str; 6] = ["pull", "winding", "field", "heat", "audit", "fit"];

/// Between two words on how far a question has come.
const OFTEN: Duration = Duration::from_millis(250);

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

impl Held {
    /// What is watched ends once this is dropped.
    pub(super) fn of(watch: &Watch) -> Self {
        Self(watch.clone())
    }
}

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
        Held::of(&self.watch)
    }

    /// What ends with it.
    pub(super) fn watch(&self) -> &Watch {
        &self.watch
    }

    /// Sends a part; where nobody waits it is dropped.
    pub(super) fn send(&self, part: Part) {
        let _ = self.sink.send(part);
    }

    /// Does what may take a while, and tells at times how far it has come.
    fn telling<T>(&self, text: &str, work: impl FnOnce(&Watch) -> T) -> T {
        self.send(Part::Progress { text: text.to_owned(), share: None });
        let watch = self.watch.apart();
        let (done, waits) = mpsc::channel::<()>();
        std::thread::scope(|scope| {
            let watched = &watch;
            scope.spawn(move || {
                while waits.recv_timeout(OFTEN) == Err(RecvTimeoutError::Timeout) {
                    self.send(Part::Progress { text: text.to_owned(), share: watched.share() });
                }
            });
            let found = work(&watch);
            drop(done);
            found
        })
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
    fn of(&self, key: &str) -> Vec<Topic> {
        let all = lock(&self.0);
        all.iter().find(|(known, _)| known == key).map_or_else(Vec::new, |(_, topics)| topics.clone())
    }

    /// All that is known of a question's answers.
    pub(super) fn known(&self, asked: &Asked, with: &With) -> Vec<Topic> {
        let mut found = self.of(&with.key(asked));
        found.extend(self.of(&with.key_beside(asked)));
        found
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

pub(super) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What a question is answered with beside the page's text.
pub(super) struct With {
    pub(super) readings: Option<Arc<Given>>,
    /// Sheets beside it, or what is wrong with one.
    pub(super) others: Result<Vec<Loaded>, String>,
}

impl With {
    /// What is the same for two questions with the same answers about the magnet itself.
    fn key(&self, asked: &Asked) -> String {
        let read = self.readings.as_ref().map_or("", |given| given.source.sha256.as_str());
        checksum([asked.text.as_str(), &asked.set.join("\n"), read].join("\0").as_bytes())
    }

    /// The same of how it compares.
    fn key_beside(&self, asked: &Asked) -> String {
        let others = match &self.others {
            Ok(others) => others.iter().map(Loaded::sha256).collect(),
            Err(reason) => vec![reason.clone()],
        };
        let own = [asked.text.clone(), asked.set.join("\n")];
        checksum(own.into_iter().chain(others).collect::<Vec<_>>().join("\0").as_bytes())
    }

    /// Whether anything is to stand beside it.
    pub(super) fn compares(&self) -> bool {
        !matches!(&self.others, Ok(others) if others.is_empty())
    }

    /// How it compares.
    pub(super) fn compared(&self, ready: &Ready, watch: &Watch) -> Topic {
        match &self.others {
            Ok(others) => beside::topic(&ready.loaded, others, watch),
            Err(reason) => beside::refused(reason),
        }
    }
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
pub(super) fn begin(asked: &Asked, desk: &Desk, turn: &Turn) -> Option<Ready> {
    let file = &desk.keep.file();
    // Of many questions that wait here all but the newest find that they are over.
    let _held = lock(&desk.quick);
    if turn.is_over() {
        return None;
    }
    let units = asked.units();
    let read = read(asked, file);
    let at_face = read.as_ref().ok().and_then(|(ready, _)| ask::at_face(&ready.loaded.sheet).ok());
    if let (Ok((ready, _)), Some(at_face)) = (&read, &at_face) {
        turn.send(Part::Quick { values: quick::first(at_face, &ready.loaded.sheet, units) });
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
    part.form = ready.loaded.sheet.form().word();
    if let Some(probe) = &mut part.probe {
        probe.svg = page::probe_part(&ready.figure, probe.across_m, probe.height_m);
    }
    turn.send(Part::Sheet(Box::new(part)));
    turn.put("drawing", page(&ready, asked).drawing_part());
    let scan = at_face.and_then(|at_face| at_face.scan);
    if let Some(Ok(chart)) = scan.map(|scan| page::scan_part(ready.loaded.sheet.name(), &scan, units)) {
        turn.put("face-scan", chart);
    }
    if turn.is_over() {
        return None;
    }
    let picture = desk.pictures.of(asked, &ready);
    ready.flux = picture.map(|p| p.flux.clone()).map_err(|failure| topics::reason(&failure));
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
        probe: sliders::probe(&plain.sheet, &magnet, asked.units()),
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

/// The second stage: every question of a report, each sent as it is answered, and last how the magnet compares.
pub(super) fn settle(ready: &Ready, asked: &Asked, with: &With, settled: &Settled, turn: &Turn) {
    let mut page = page(ready, asked);
    let readings = with.readings.as_deref();
    page.readings = readings.iter().map(|given| given.source.clone()).collect();
    let questions = topics::questions(readings.is_some());
    let mut order: Vec<&topics::Asked> = questions.iter().collect();
    order.sort_by_key(|asked| FIRST.iter().position(|first| *first == asked.command).unwrap_or(FIRST.len()));
    let commands = questions.iter().map(|question| question.command).chain([beside::COMMAND]);
    let of = order.len() + usize::from(with.compares());
    let mut settling = Settling { page, commands: commands.collect(), of, done: 0, settled, turn };
    let key = with.key(asked);
    for question in order {
        let (command, title) = (question.command, question.title);
        settling.one(&key, command, title, |watch| answered(question, ready, readings, watch));
    }
    if with.compares() {
        let compared = |watch: &Watch| with.compared(ready, watch);
        settling.one(&with.key_beside(asked), beside::COMMAND, beside::TITLE, compared);
    }
    if !turn.is_over() {
        turn.send(Part::Settled);
    }
}

/// A page that is being settled.
struct Settling<'a> {
    page: Page<'a>,
    /// In the order of reading.
    commands: Vec<&'static str>,
    of: usize,
    done: usize,
    settled: &'a Settled,
    turn: &'a Turn,
}

impl Settling<'_> {
    /// One question, answered now unless it is known.
    fn one(&mut self, key: &str, command: &str, title: &str, answer: impl FnOnce(&Watch) -> Topic) {
        let turn = self.turn;
        if turn.is_over() {
            return;
        }
        self.done += 1;
        let topic = match self.settled.of(key).into_iter().find(|topic| topic.command == command) {
            Some(topic) => topic,
            None => {
                let text = format!("settling {title} ({} of {})", self.done, self.of);
                let topic = turn.telling(&text, answer);
                // What was stopped is no answer.
                if turn.is_over() {
                    return;
                }
                self.settled.keep(key, &topic);
                topic
            }
        };
        self.page.topics.push(topic.clone());
        let place = |topic: &Topic| self.commands.iter().position(|command| *command == topic.command);
        self.page.topics.sort_by_key(place);
        if let Err(error) = send(&self.page, &topic, turn) {
            let reason = format!("<p class=\"soft\">{}</p>", crate::page::escaped(&error.to_string()));
            turn.send(Part::Put { id: topic.command.into(), html: reason, failed: true });
        }
    }
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
