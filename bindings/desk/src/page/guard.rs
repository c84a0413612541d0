//! Who may ask. A page elsewhere can reach loopback by a name that it controls, so the host, the origin and a secret
//! cookie are all looked at before anything is answered.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use boxproof_core::words::say;

use super::Desk;

/// Everything comes from here, nothing is inline, nobody may frame it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'none'; base-uri 'none'; frame-ancestors 'none'";

const HEADERS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::CACHE_CONTROL, "no-store"),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Looks at every request before it is answered, and dresses every answer.
pub(super) async fn watch(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let entering = request.uri().path().starts_with("/enter/");
    let mut answer = match admit(&desk, request.method(), request.headers(), entering) {
        Ok(()) => next.run(request).await,
        Err(status) => (status, say("page.stranger", &[])).into_response(),
    };
    for (name, value) in HEADERS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

/// Whether a request comes from the page itself. `entering`: it brings the key instead of the cookie.
fn admit(desk: &Desk, method: &Method, headers: &HeaderMap, entering: bool) -> Result<(), StatusCode> {
    let own_hosts = [format!("127.0.0.1:{}", desk.port), format!("localhost:{}", desk.port)];
    let host = only(headers, &header::HOST).ok_or(StatusCode::MISDIRECTED_REQUEST)?;
    if !own_hosts.iter().any(|own| own == host) {
        return Err(StatusCode::MISDIRECTED_REQUEST);
    }
    let site = only(headers, &HeaderName::from_static("sec-fetch-site"));
    let ours = match only(headers, &header::ORIGIN) {
        Some(origin) => origin.strip_prefix("http://") == Some(host),
        None => !headers.contains_key(header::ORIGIN) && (method == Method::GET || site == Some("same-origin")),
    };
    if !ours {
        return Err(StatusCode::FORBIDDEN);
    }
    if entering {
        return Ok(());
    }
    if matches!(site, Some("cross-site" | "same-site")) {
        return Err(StatusCode::FORBIDDEN);
    }
    let name = cookie_name(desk.port);
    let known = headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .any(|(key, value)| key == name && same(value, &desk.cookie));
    if known { Ok(()) } else { Err(StatusCode::FORBIDDEN) }
}

/// A header that stands exactly once.
fn only<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?;
    if all.next().is_some() {
        return None;
    }
    first.to_str().ok()
}

/// Cookies do not tell ports apart, so the name does: two notebooks may be open at once.
pub(super) fn cookie_name(port: u16) -> String {
    format!("boxproof_{port}")
}

/// Compares secrets in a time that does not depend on where they differ.
pub(super) fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |differ, (a, b)| differ | (a ^ b)) == 0
}
