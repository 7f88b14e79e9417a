//! What the page may ask of the server, one function each.

use super::asked::Asked;
use super::edit::Edit;
use super::export;
use super::forms;
use super::journal::Unsaved;
use super::keep::Written;
use super::keys;
use super::part::Part;
use super::readings::{Dropped, Heard};
use super::seek::Sought;
use super::server::Desk;
use super::settle;
use super::shell;
use super::value::Place;
use crate::page::STYLE;
use crate::topics;
use axum::body::{Body, Bytes};
use axum::extract::{FromRequest, Path, Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use coilwright_magnet::watch::Watch;
use futures_core::Stream;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use tokio::sync::mpsc::{self, UnboundedReceiver};

/// What the page is made of besides itself.
const ASSETS: [(&str, &str, &str); 14] = [
    ("page.css", "text/css", STYLE),
    ("workbench.css", "text/css", include_str!("assets/workbench.css")),
    ("workbench.js", "text/javascript", include_str!("assets/workbench.js")),
    ("editor.js", "text/javascript", include_str!("assets/editor.js")),
    ("drawing.js", "text/javascript", include_str!("assets/drawing.js")),
    ("sliders.js", "text/javascript", include_str!("assets/sliders.js")),
    ("keys.js", "text/javascript", include_str!("assets/keys.js")),
    ("latest.js", "text/javascript", include_str!("assets/latest.js")),
    ("picture.js", "text/javascript", include_str!("assets/picture.js")),
    ("probe.js", "text/javascript", include_str!("assets/probe.js")),
    ("forms.js", "text/javascript", include_str!("assets/forms.js")),
    ("seek.js", "text/javascript", include_str!("assets/seek.js")),
    ("beside.js", "text/javascript", include_str!("assets/beside.js")),
    ("keep.js", "text/javascript", include_str!("assets/keep.js")),
];

/// What a request says, in JSON.
pub(super) struct Said<T>(T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Said<T> {
    type Rejection = (StatusCode, String);

    async fn from_request(request: Request, state: &S) -> Result<Self, Self::Rejection> {
        let body = Bytes::from_request(request, state).await;
        let body = body.map_err(|refused| (refused.status(), refused.body_text()))?;
        serde_json::from_slice(&body).map(Said).map_err(|error| (StatusCode::BAD_REQUEST, error.to_string()))
    }
}

/// The page with its drawing; the sheet's text is what the file has, for the page asks for its own journal itself.
pub(super) async fn document(State(desk): State<Arc<Desk>>) -> Response {
    let begins = desk.keep.on_disk();
    let asked = Asked::of(&begins.text);
    let ready = settle::ready(&asked, &desk.keep.file());
    let drawing = ready.as_ref().map_or(String::new(), settle::Ready::drawing);
    let name = ready.map_or_else(|| desk.keep.file(), |ready| ready.loaded.sheet.name().to_owned());
    let html = shell::document(&begins, &drawing, &name, desk.keep.is_demo());
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response()
}

/// A file of the page.
pub(super) async fn asset(Path((_, name)): Path<(String, String)>) -> Response {
    match ASSETS.iter().find(|(known, _, _)| *known == name) {
        Some((_, kind, text)) => {
            ([(header::CONTENT_TYPE, format!("{kind}; charset=utf-8"))], *text).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// Parts of the page, a line each, as they come.
pub(super) async fn ask(State(desk): State<Arc<Desk>>, Said(asked): Said<Asked>) -> Response {
    let (sink, parts) = mpsc::unbounded_channel();
    let turn = desk.newest.turn(&asked, sink);
    let lines = Lines { parts, _held: turn.held() };
    let asked = Arc::new(asked);
    tokio::spawn(async move {
        let first = {
            let (desk, asked, turn) = (desk.clone(), asked.clone(), turn.clone());
            tokio::task::spawn_blocking(move || settle::begin(&asked, &desk, &turn))
        };
        let Ok(Some(ready)) = first.await else { return };
        if !asked.settle {
            return;
        }
        let Ok(_permit) = desk.settling.acquire().await else { return };
        let desk = desk.clone();
        let settled = tokio::task::spawn_blocking(move || {
            settle::settle(&ready, &asked, &desk.with(&asked), &desk.settled, &turn);
        });
        // A panic has been told on standard error; the page sees that its stream ends unsettled.
        let _ = settled.await;
    });
    ([(header::CONTENT_TYPE, "application/x-ndjson")], Body::from_stream(lines)).into_response()
}

/// What a search finds, as it finds it; it ends with who waits for it.
pub(super) async fn seek(State(desk): State<Arc<Desk>>, Said(sought): Said<Sought>) -> Response {
    let (sink, parts) = mpsc::unbounded_channel();
    let turn = desk.newest.turn(&sought.asked(), sink);
    let lines = Lines { parts, _held: turn.held() };
    tokio::task::spawn_blocking(move || sought.run(&desk.keep.file(), &turn));
    ([(header::CONTENT_TYPE, "application/x-ndjson")], Body::from_stream(lines)).into_response()
}

/// The field at a place of the picture; whoever no longer waits has it stopped.
pub(super) async fn value(State(desk): State<Arc<Desk>>, Said(place): Said<Place>) -> Response {
    let watch = Watch::new();
    let _held = settle::Held::of(&watch);
    let wrong = || "The sheet is wrong: mend it first.".to_owned();
    let read = tokio::task::spawn_blocking(move || {
        let ready = settle::ready(&place.asked, &desk.keep.file()).ok_or_else(wrong)?;
        let picture = desk.pictures.of(&place.asked, &ready).map_err(|f| topics::reason(&f))?;
        if place.asked.settle {
            place.settled(&ready, &picture, &watch).map_err(|f| topics::reason(&f))
        } else {
            Ok(place.at_once(&picture))
        }
    });
    match read.await {
        Ok(Ok(read)) => json(StatusCode::OK, &read),
        Ok(Err(reason)) => (StatusCode::CONFLICT, reason).into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}

/// What may stand in a sheet.
pub(super) async fn keys() -> Response {
    json(StatusCode::OK, &keys::keys())
}

/// What a sheet may begin with.
pub(super) async fn forms() -> Response {
    json(StatusCode::OK, &forms::forms())
}

/// What may stand beside the sheet.
pub(super) async fn others(State(desk): State<Arc<Desk>>) -> Response {
    json(StatusCode::OK, &desk.others.listed(&desk.keep))
}

/// The text with entries changed.
pub(super) async fn edit(Said(edit): Said<Edit>) -> Response {
    json(StatusCode::OK, &edit.run())
}

#[derive(Deserialize)]
pub(super) struct Save {
    text: String,
    base: String,
    #[serde(default)]
    name: Option<String>,
    #[serde(default)]
    replace: bool,
    page: String,
}

#[derive(Serialize)]
struct Saved {
    base: String,
    file: String,
}

/// Saves the text; what is refused says whether it may be asked for again.
pub(super) async fn save(State(desk): State<Arc<Desk>>, Said(save): Said<Save>) -> Response {
    match desk.keep.save(save.name.as_deref(), &save.text, &save.base, save.replace) {
        Ok(Written { base, before }) => {
            // A journal that stays does no harm: it says what the file says.
            let _ = desk.keep.forget(&before, &save.page);
            json(StatusCode::OK, &Saved { base, file: desk.keep.file() })
        }
        Err(refused) => json(StatusCode::CONFLICT, &refused),
    }
}

#[derive(Deserialize)]
pub(super) struct Note {
    page: String,
    text: String,
    base: String,
    unsaved: bool,
}

/// Notes what is not saved.
pub(super) async fn journal(State(desk): State<Arc<Desk>>, Said(note): Said<Note>) -> Response {
    let Note { page, text, base, unsaved } = note;
    let unsaved = unsaved.then_some(Unsaved { base, text });
    match desk.keep.note(&page, unsaved.as_ref()) {
        Ok(()) => StatusCode::NO_CONTENT.into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}

#[derive(Deserialize)]
pub(super) struct WhichPage {
    page: String,
}

/// What a page begins with: its own journal, one that was left, or the file.
pub(super) async fn begin(State(desk): State<Arc<Desk>>, Said(which): Said<WhichPage>) -> Response {
    json(StatusCode::OK, &desk.keep.beginning(&which.page))
}

/// The file as it is now: somebody else may have changed it.
pub(super) async fn disk(State(desk): State<Arc<Desk>>) -> Response {
    json(StatusCode::OK, &desk.keep.on_disk())
}

/// Takes readings, or takes them away.
pub(super) async fn readings(State(desk): State<Arc<Desk>>, Said(dropped): Said<Dropped>) -> Response {
    let given = if dropped.name.is_empty() { None } else { Some(dropped.read()) };
    let (kept, heard) = match given {
        None => (None, Heard::default()),
        Some(Ok(given)) => {
            let remarks = given.read.readings.remarks.iter().map(ToString::to_string).collect();
            (Some(Arc::new(given)), Heard { remarks, ..Heard::default() })
        }
        Some(Err(diagnostics)) => return json(StatusCode::OK, &Heard { diagnostics, ..Heard::default() }),
    };
    desk.take(kept);
    json(StatusCode::OK, &heard)
}

/// A chart as a file.
pub(super) async fn chart(State(desk): State<Arc<Desk>>, Said(wanted): Said<export::Wanted>) -> Response {
    match wanted.file(&desk.settled.known(&wanted.asked, &desk.with(&wanted.asked))) {
        Ok((kind, bytes)) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
        Err(reason) => (StatusCode::CONFLICT, reason).into_response(),
    }
}

/// The report of what stands in the page.
pub(super) async fn report(State(desk): State<Arc<Desk>>, Said(asked): Said<Asked>) -> Response {
    let made = tokio::task::spawn_blocking(move || {
        let ready = settle::ready(&asked, &desk.keep.file())
            .ok_or_else(|| "The sheet is wrong: mend it first.".to_owned())?;
        export::report(ready, &asked, desk.with(&asked), &desk.settled)
    });
    match made.await {
        Ok(Ok(html)) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response(),
        Ok(Err(reason)) => (StatusCode::CONFLICT, reason).into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}

/// Parts as lines; whoever hears no more has dropped them.
struct Lines {
    parts: UnboundedReceiver<Part>,
    _held: settle::Held,
}

impl Stream for Lines {
    type Item = Result<Bytes, serde_json::Error>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        self.parts.poll_recv(context).map(|part| {
            part.map(|part| {
                let mut line = serde_json::to_vec(&part)?;
                line.push(b'\n');
                Ok(line.into())
            })
        })
    }
}

fn json(status: StatusCode, value: &impl Serialize) -> Response {
    match serde_json::to_vec(value) {
        Ok(text) => (status, [(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}
