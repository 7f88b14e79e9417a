//! The server: one page of one sheet, on this machine's own address.

use super::asked::Asked;
use super::edit::Edit;
use super::export;
use super::guard::{self, Token};
use super::keep::Keep;
use super::part::Part;
use super::readings::{Dropped, Given, Heard};
use super::settle::{self, Newest, Settled};
use super::shell;
use crate::page::STYLE;
use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Path, Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use futures_core::Stream;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use tokio::sync::Semaphore;
use tokio::sync::mpsc::{self, UnboundedReceiver};

/// Most that a request may carry, in bytes: readings are the longest.
const LARGEST: usize = 8 << 20;
/// Questions that are settled at once: one that is superseded ends with what it is about.
const AT_ONCE: usize = 2;

/// What the page is made of besides itself.
const ASSETS: [(&str, &str, &str); 7] = [
    ("page.css", "text/css", STYLE),
    ("workbench.css", "text/css", include_str!("assets/workbench.css")),
    ("workbench.js", "text/javascript", include_str!("assets/workbench.js")),
    ("editor.js", "text/javascript", include_str!("assets/editor.js")),
    ("drawing.js", "text/javascript", include_str!("assets/drawing.js")),
    ("sliders.js", "text/javascript", include_str!("assets/sliders.js")),
    ("keep.js", "text/javascript", include_str!("assets/keep.js")),
];

/// A server that has its port.
pub(crate) struct Bench {
    listener: TcpListener,
    desk: Arc<Desk>,
}

/// What all requests share.
struct Desk {
    token: Token,
    port: u16,
    keep: Keep,
    newest: Arc<Newest>,
    settled: Settled,
    /// Numbers at once are computed one question at a time.
    quick: Mutex<()>,
    settling: Semaphore,
    readings: Mutex<Option<Arc<Given>>>,
}

impl Bench {
    /// Takes a port of this machine, any where it is 0; nobody else's network sees it.
    pub(crate) fn bind(keep: Keep, port: u16) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        listener.set_nonblocking(true)?;
        let desk = Desk {
            token: Token::new().map_err(io::Error::other)?,
            port: listener.local_addr()?.port(),
            keep,
            newest: Arc::default(),
            settled: Settled::default(),
            quick: Mutex::new(()),
            settling: Semaphore::new(AT_ONCE),
            readings: Mutex::new(None),
        };
        Ok(Self { listener, desk: Arc::new(desk) })
    }

    /// Where the page is; whoever has this may ask and save.
    pub(crate) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.desk.port, self.desk.token.as_str())
    }

    /// Serves until the process ends.
    pub(crate) fn serve(self) -> io::Result<()> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().build()?;
        runtime.block_on(async {
            let listener = tokio::net::TcpListener::from_std(self.listener)?;
            axum::serve(listener, router(self.desk)).await
        })
    }
}

fn router(desk: Arc<Desk>) -> Router {
    Router::new()
        .route("/{token}/", get(document))
        .route("/{token}/assets/{name}", get(asset))
        .route("/{token}/ask", post(ask))
        .route("/{token}/edit", post(edit))
        .route("/{token}/save", post(save))
        .route("/{token}/journal", post(journal))
        .route("/{token}/begin", post(begin))
        .route("/{token}/readings", post(readings))
        .route("/{token}/chart", post(chart))
        .route("/{token}/report", post(report))
        .layer(DefaultBodyLimit::max(LARGEST))
        .layer(middleware::from_fn_with_state(desk.clone(), guarded))
        .with_state(desk)
}

/// Every request passes here, also those that lead nowhere.
async fn guarded(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let refusal =
        guard::refusal(&desk.token, desk.port, request.method(), request.uri().path(), request.headers());
    let mut response = match refusal {
        Some(reason) => (StatusCode::FORBIDDEN, reason).into_response(),
        None => next.run(request).await,
    };
    guard::armour(response.headers_mut());
    response
}

/// The page with its drawing; the sheet's text is what the file has, for the page asks for its own journal itself.
async fn document(State(desk): State<Arc<Desk>>) -> Response {
    let begins = desk.keep.on_disk();
    let asked = Asked::of(&begins.text);
    let ready = settle::ready(&asked, &desk.keep.file());
    let drawing = ready.as_ref().map_or(String::new(), settle::Ready::drawing);
    let name = ready.map_or_else(|| desk.keep.file(), |ready| ready.loaded.sheet.name().to_owned());
    let html = shell::document(&begins, &drawing, &name, desk.keep.is_demo());
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response()
}

async fn asset(Path((_, name)): Path<(String, String)>) -> Response {
    match ASSETS.iter().find(|(known, _, _)| *known == name) {
        Some((_, kind, text)) => {
            ([(header::CONTENT_TYPE, format!("{kind}; charset=utf-8"))], *text).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// Parts of the page, a line each, as they come.
async fn ask(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let asked: Asked = match parsed(&body) {
        Ok(asked) => asked,
        Err(refused) => return refused,
    };
    let (sink, parts) = mpsc::unbounded_channel();
    let turn = Arc::new(desk.newest.turn(&asked.client, sink));
    let asked = Arc::new(asked);
    tokio::spawn(async move {
        let first = {
            let (desk, asked, turn) = (desk.clone(), asked.clone(), turn.clone());
            tokio::task::spawn_blocking(move || {
                settle::begin(&asked, &desk.keep.file(), &desk.quick, &turn)
            })
        };
        let Ok(Some(ready)) = first.await else { return };
        if !asked.settle {
            return;
        }
        let Ok(_permit) = desk.settling.acquire().await else { return };
        let desk = desk.clone();
        let settled = tokio::task::spawn_blocking(move || {
            let readings = desk.readings();
            settle::settle(&ready, &asked, readings.as_deref(), &desk.settled, &turn);
        });
        // A panic has been told on standard error; the page sees that its stream ends unsettled.
        let _ = settled.await;
    });
    ([(header::CONTENT_TYPE, "application/x-ndjson")], Body::from_stream(Lines(parts))).into_response()
}

impl Desk {
    fn readings(&self) -> Option<Arc<Given>> {
        self.readings.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// Parts as lines.
struct Lines(UnboundedReceiver<Part>);

impl Stream for Lines {
    type Item = Result<Bytes, serde_json::Error>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        self.0.poll_recv(context).map(|part| {
            part.map(|part| {
                let mut line = serde_json::to_vec(&part)?;
                line.push(b'\n');
                Ok(line.into())
            })
        })
    }
}

async fn edit(body: Bytes) -> Response {
    match parsed::<Edit>(&body) {
        Ok(edit) => json(StatusCode::OK, &edit.run()),
        Err(refused) => refused,
    }
}

#[derive(Deserialize)]
struct Save {
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

async fn save(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let save: Save = match parsed(&body) {
        Ok(save) => save,
        Err(refused) => return refused,
    };
    // The journal lies beside the name that the sheet has now.
    let noted = desk.keep.note(&save.page, "", "", false);
    match desk.keep.save(save.name.as_deref(), &save.text, &save.base, save.replace) {
        Ok(base) => json(StatusCode::OK, &Saved { base, file: desk.keep.file() }),
        Err(refused) => {
            if noted.is_ok() {
                // Nothing was saved: it is still to be kept.
                let _ = desk.keep.note(&save.page, &save.text, &save.base, true);
            }
            json(StatusCode::CONFLICT, &refused)
        }
    }
}

#[derive(Deserialize)]
struct Note {
    page: String,
    text: String,
    base: String,
    unsaved: bool,
}

async fn journal(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let note: Note = match parsed(&body) {
        Ok(note) => note,
        Err(refused) => return refused,
    };
    match desk.keep.note(&note.page, &note.text, &note.base, note.unsaved) {
        Ok(()) => StatusCode::NO_CONTENT.into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}

#[derive(Deserialize)]
struct WhichPage {
    page: String,
}

/// What a page begins with: its own journal, one that was left, or the file.
async fn begin(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    match parsed::<WhichPage>(&body) {
        Ok(which) => json(StatusCode::OK, &desk.keep.beginning(&which.page)),
        Err(refused) => refused,
    }
}

async fn readings(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let dropped: Dropped = match parsed(&body) {
        Ok(dropped) => dropped,
        Err(refused) => return refused,
    };
    let given = if dropped.name.is_empty() { None } else { Some(dropped.read()) };
    let (kept, heard) = match given {
        None => (None, Heard::default()),
        Some(Ok(given)) => {
            let remarks = given.read.readings.remarks.iter().map(ToString::to_string).collect();
            (Some(Arc::new(given)), Heard { remarks, ..Heard::default() })
        }
        Some(Err(diagnostics)) => return json(StatusCode::OK, &Heard { diagnostics, ..Heard::default() }),
    };
    *desk.readings.lock().unwrap_or_else(PoisonError::into_inner) = kept;
    json(StatusCode::OK, &heard)
}

async fn chart(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let wanted: export::Wanted = match parsed(&body) {
        Ok(wanted) => wanted,
        Err(refused) => return refused,
    };
    let key = settle::key(&wanted.asked, desk.readings().as_deref());
    match wanted.file(&desk.settled.of(&key)) {
        Ok((kind, bytes)) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
        Err(reason) => (StatusCode::CONFLICT, reason).into_response(),
    }
}

/// The report of what stands in the page.
async fn report(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let asked: Asked = match parsed(&body) {
        Ok(asked) => asked,
        Err(refused) => return refused,
    };
    let made = tokio::task::spawn_blocking(move || {
        let ready = settle::ready(&asked, &desk.keep.file()).ok_or("The sheet is wrong: mend it first.")?;
        let readings = desk.readings();
        settle::report(ready, &asked, readings.as_deref(), &desk.settled).map_err(|error| error.to_string())
    });
    match made.await {
        Ok(Ok(html)) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response(),
        Ok(Err(reason)) => (StatusCode::CONFLICT, reason).into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}

/// What a request says, or that it says nothing.
fn parsed<T: DeserializeOwned>(body: &[u8]) -> Result<T, Response> {
    serde_json::from_slice(body).map_err(|error| (StatusCode::BAD_REQUEST, error.to_string()).into_response())
}

fn json(status: StatusCode, value: &impl Serialize) -> Response {
    match serde_json::to_vec(value) {
        Ok(text) => (status, [(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}
