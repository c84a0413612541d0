//! What is answered. Calls of the core may take a while, so they run beside the loop that serves the connections.

use std::fmt::Write as _;
use std::io::Write as _;
use std::pin::Pin;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Router, middleware};
use boxproof_core::app::{Refusal, Sent};
use boxproof_core::screen::Screen;
use boxproof_core::words::say;
use hyper::body::{Body as _, Bytes};
use maud::{Markup, html};
use serde::Deserialize;
use tokio::sync::mpsc;

use super::guard::{self, cookie_name};
use super::{Desk, Server, look, row, shell};

/// Largest event: a token and what somebody typed.
const LARGEST_EVENT: usize = 256 * 1024;

/// Largest file that is taken in.
const LARGEST_FILE: usize = 64 * 1024 * 1024;

/// Largest file that is handed out in one piece.
const LARGEST_OUT: u64 = 512 * 1024 * 1024;

const SCRIPT: &str = include_str!("page.js");

type Here = State<Arc<Desk>>;

/// All addresses of the page.
pub(super) fn routes(desk: &Arc<Desk>) -> Router {
    Router::new()
        .route("/", get(home))
        .route("/enter/{key}", get(enter))
        .route("/screen", get(show))
        .route("/send", post(send))
        .route("/hand", post(hand))
        .route("/file/{name}", get(file))
        .route("/page.css", get(async || typed("text/css; charset=utf-8", look::style_sheet())))
        .route("/page.js", get(async || typed("text/javascript; charset=utf-8", SCRIPT)))
        .route("/mark.svg", get(async || typed("image/svg+xml", icon().into_string())))
        // Bodies are counted where they are read, with a limit for each kind.
        .layer(DefaultBodyLimit::disable())
        .layer(middleware::from_fn_with_state(Arc::clone(desk), guard::watch))
        .with_state(Arc::clone(desk))
}

fn typed(media: &'static str, body: impl IntoResponse) -> Response {
    ([(header::CONTENT_TYPE, media)], body).into_response()
}

/// Two half squares, shifted: the sign of two facts that differ.
fn icon() -> Markup {
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 28 28" {
            path d="M1 1H13V23H1zM16 5H27V27H16z" fill="currentColor" {}
        }
    }
}

/// Turns the key of the first address into a cookie.
async fn enter(State(desk): Here, Path(key): Path<String>) -> Response {
    if !guard::same(&key, &desk.key) {
        return (StatusCode::FORBIDDEN, say("page.stranger", &[])).into_response();
    }
    let cookie = format!("{}={}; Path=/; HttpOnly; SameSite=Strict", cookie_name(desk.port), desk.cookie);
    ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()
}

async fn home(State(desk): Here) -> Response {
    let first = desk.options.first.clone();
    match asked(&desk, move |screens| screens.screen(&first)).await {
        Ok(shown) => shell::page(&drawn(&desk, shown)).into_response(),
        Err(answer) => answer,
    }
}

#[derive(Deserialize)]
struct At {
    at: String,
}

async fn show(State(desk): Here, Query(At { at }): Query<At>) -> Response {
    match asked(&desk, move |screens| screens.screen(&at)).await {
        Ok(shown) => drawn(&desk, shown).into_response(),
        Err(answer) => answer,
    }
}

/// What a page sends: the token of what was pressed, what was typed with it, and the revision that the person saw.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Event {
    token: String,
    input: Option<String>,
    drawn: u64,
}

async fn send(State(desk): Here, headers: HeaderMap, body: Body) -> Response {
    let json = headers.get(header::CONTENT_TYPE).is_some_and(|media| media.as_bytes().starts_with(b"application/json"));
    if !json {
        return (StatusCode::UNSUPPORTED_MEDIA_TYPE, refused(&say("page.sent", &[]))).into_response();
    }
    let read = axum::body::to_bytes(body, LARGEST_EVENT);
    let bytes = match tokio::time::timeout(desk.options.patience, read).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(_)) => return (StatusCode::PAYLOAD_TOO_LARGE, refused(&say("page.sent", &[]))).into_response(),
        Err(_) => return late(),
    };
    let Ok(Event { token, input, drawn }) = serde_json::from_slice::<Event>(&bytes) else {
        return (StatusCode::BAD_REQUEST, refused(&say("page.sent", &[]))).into_response();
    };
    sent_on(&desk, Sent { token, input, drawn }).await
}

async fn sent_on(desk: &Arc<Desk>, sent: Sent) -> Response {
    match asked(desk, move |screens| screens.send(&sent)).await {
        Ok(shown) => drawn(desk, shown).into_response(),
        Err(answer) => answer,
    }
}

#[derive(Deserialize)]
struct Handed {
    token: String,
    drawn: u64,
    name: String,
}

/// A file is taken in beside the notebook; its path is the input. It is removed when the core has read it.
async fn hand(State(desk): Here, Query(handed): Query<Handed>, body: Body) -> Response {
    let (chunks, filled) = mpsc::channel::<Bytes>(4);
    let ending: String = std::path::Path::new(&handed.name)
        .extension()
        .and_then(|ending| ending.to_str())
        .map(|ending| ending.chars().filter(char::is_ascii_alphanumeric).take(16).collect())
        .unwrap_or_default();
    let kept = tokio::task::spawn_blocking(move || keep(&ending, filled));
    let taken = take(body, chunks, desk.options.patience).await;
    let kept = match kept.await {
        Ok(Ok(kept)) => kept,
        Ok(Err(why)) => return refused(&say("page.upload", &[("why", &why.to_string())])).into_response(),
        Err(_) => return broke(),
    };
    match taken {
        Taken::All => {}
        Taken::TooLarge => return (StatusCode::PAYLOAD_TOO_LARGE, refused(&say("page.large", &[]))).into_response(),
        Taken::Broken => return late(),
    }
    let input = Some(kept.path().to_string_lossy().into_owned());
    let answer = sent_on(&desk, Sent { token: handed.token, input, drawn: handed.drawn }).await;
    drop(kept);
    answer
}

enum Taken {
    All,
    TooLarge,
    Broken,
}

/// Passes a body on, piece by piece; a piece that does not come ends it.
async fn take(mut body: Body, chunks: mpsc::Sender<Bytes>, patience: std::time::Duration) -> Taken {
    let mut size = 0;
    loop {
        let next = std::future::poll_fn(|context| Pin::new(&mut body).poll_frame(context));
        let Ok(next) = tokio::time::timeout(patience, next).await else { return Taken::Broken };
        let chunk = match next {
            None => return Taken::All,
            Some(Err(_)) => return Taken::Broken,
            Some(Ok(frame)) => frame.into_data().unwrap_or_default(),
        };
        size += chunk.len();
        if size > LARGEST_FILE {
            return Taken::TooLarge;
        }
        if chunks.send(chunk).await.is_err() {
            // The disk said no; the other side knows why.
            return Taken::Broken;
        }
    }
}

fn keep(ending: &str, mut filled: mpsc::Receiver<Bytes>) -> std::io::Result<tempfile::NamedTempFile> {
    let suffix = if ending.is_empty() { String::new() } else { format!(".{ending}") };
    let mut kept = tempfile::Builder::new().prefix("boxproof-").suffix(&suffix).tempfile()?;
    while let Some(chunk) = filled.blocking_recv() {
        kept.write_all(&chunk)?;
    }
    kept.flush()?;
    Ok(kept)
}

/// Hands out a file that a screen has offered, and no other.
async fn file(State(desk): Here, Path(name): Path<String>) -> Response {
    let gone = || (StatusCode::NOT_FOUND, say("page.file.gone", &[])).into_response();
    let Some(offered) = desk.offered(&name) else { return gone() };
    let path = offered.path.clone();
    let read = tokio::task::spawn_blocking(move || {
        let size = std::fs::metadata(&path)?.len();
        if size > LARGEST_OUT { Err(std::io::ErrorKind::FileTooLarge.into()) } else { std::fs::read(&path) }
    });
    let Ok(Ok(bytes)) = read.await else { return gone() };
    let media =
        HeaderValue::from_str(&offered.media).unwrap_or_else(|_| HeaderValue::from_static("application/octet-stream"));
    let how = HeaderValue::from_str(&format!("attachment; filename*=UTF-8''{}", escaped(&offered.name)))
        .unwrap_or_else(|_| HeaderValue::from_static("attachment"));
    ([(header::CONTENT_TYPE, media), (header::CONTENT_DISPOSITION, how)], bytes).into_response()
}

/// The characters of RFC 8187 `attr-char` that matter stay, the rest is written as `%XX`.
fn escaped(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-' | b'_') {
            out.push(char::from(byte));
        } else {
            // Writing to a String cannot fail.
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

fn drawn(desk: &Desk, shown: Shown) -> Markup {
    let Shown { screen, beside } = shown;
    let file = screen.file.as_ref().and_then(|file| desk.offer(file));
    row::screen(&screen, &row::Frame { file, beside })
}

/// A refusal is an answer like any other, so it does not stand in the browser's list of errors.
fn refused(sentence: &str) -> Markup {
    row::refusal(sentence)
}

fn broke() -> Response {
    (StatusCode::INTERNAL_SERVER_ERROR, refused(&say("page.broke", &[]))).into_response()
}

/// Whoever did not send what was announced gets no second chance on this connection.
fn late() -> Response {
    (StatusCode::REQUEST_TIMEOUT, [(header::CONNECTION, "close")], say("page.sent", &[])).into_response()
}

/// A screen with those that stand beside it on a wide display.
struct Shown {
    screen: Screen,
    beside: Vec<(&'static str, Screen)>,
}

/// The screens that a screen wants beside it. One that cannot be shown is left out: it has a page of its own that says
/// why.
fn with_beside(screens: &dyn super::Screens, screen: Screen) -> Shown {
    let wanted = screen.beside.iter().flat_map(|beside| [("left", &beside.left), ("right", &beside.right)]);
    let beside = wanted.filter_map(|(side, address)| Some((side, screens.screen(address).ok()?))).collect();
    Shown { screen, beside }
}

/// Asks the core beside the loop. A panic in there is told, and ends nothing but this answer.
async fn asked<F>(desk: &Arc<Desk>, question: F) -> Result<Shown, Response>
where
    F: FnOnce(&dyn super::Screens) -> Result<Screen, Refusal> + Send + 'static,
{
    let screens = Arc::clone(&desk.screens);
    let answer = move || question(screens.as_ref()).map(|screen| with_beside(screens.as_ref(), screen));
    match tokio::task::spawn_blocking(answer).await {
        Ok(Ok(shown)) => Ok(shown),
        Ok(Err(refusal)) => Err(refused(&refusal.to_string()).into_response()),
        Err(_) => Err(broke()),
    }
}

impl Server {
    /// The port that was taken.
    pub fn port(&self) -> u16 {
        self.desk.port
    }
}
