//! The server: one page of one sheet, on this machine's own address.

use super::asked::Asked;
use super::guard::{self, Token};
use super::keep::Keep;
use super::others::Others;
use super::readings::Given;
use super::requests;
use super::settle::{Newest, Settled, With};
use super::value::Pictures;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::StatusCode;
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::Semaphore;

/// Most that a request may carry, in bytes: readings are the longest.
const LARGEST: usize = 8 << 20;
/// Questions that are settled at once: one that is superseded ends with what it is about.
const AT_ONCE: usize = 2;

/// A server that has its port.
pub(crate) struct Bench {
    listener: TcpListener,
    desk: Arc<Desk>,
}

/// What all requests share.
pub(super) struct Desk {
    token: Token,
    port: u16,
    pub(super) keep: Keep,
    pub(super) others: Others,
    pub(super) newest: Arc<Newest>,
    pub(super) settled: Settled,
    pub(super) pictures: Pictures,
    /// Numbers at once are computed one question at a time.
    pub(super) quick: Mutex<()>,
    pub(super) settling: Semaphore,
    readings: Mutex<Option<Arc<Given>>>,
}

impl Bench {
    /// Takes a port of this machine, any where it is 0; nobody else's network sees it.
    pub(crate) fn bind(keep: Keep, others: Others, port: u16) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        listener.set_nonblocking(true)?;
        let desk = Desk {
            token: Token::new().map_err(io::Error::other)?,
            port: listener.local_addr()?.port(),
            keep,
            others,
            newest: Arc::default(),
            settled: Settled::default(),
            pictures: Pictures::default(),
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
        .route("/{token}/", get(requests::document))
        .route("/{token}/assets/{name}", get(requests::asset))
        .route("/{token}/ask", post(requests::ask))
        .route("/{token}/value", post(requests::value))
        .route("/{token}/seek", post(requests::seek))
        .route("/{token}/edit", post(requests::edit))
        .route("/{token}/save", post(requests::save))
        .route("/{token}/journal", post(requests::journal))
        .route("/{token}/begin", post(requests::begin))
        .route("/{token}/disk", get(requests::disk))
        .route("/{token}/keys", get(requests::keys))
        .route("/{token}/forms", get(requests::forms))
        .route("/{token}/others", get(requests::others))
        .route("/{token}/readings", post(requests::readings))
        .route("/{token}/chart", post(requests::chart))
        .route("/{token}/report", post(requests::report))
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

impl Desk {
    /// What a question is answered with beside its text.
    pub(super) fn with(&self, asked: &Asked) -> With {
        With {
            readings: self.readings.lock().unwrap_or_else(PoisonError::into_inner).clone(),
            others: self.others.loaded(&self.keep, &asked.beside),
        }
    }

    /// Takes readings, or none.
    pub(super) fn take(&self, readings: Option<Arc<Given>>) {
        *self.readings.lock().unwrap_or_else(PoisonError::into_inner) = readings;
    }
}
