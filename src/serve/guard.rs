//! What stands before every request: who is asked for, by which key, and from which page; and what every answer says to
//! the browser about itself.
//!
//! - The `Host` must name this machine. A page elsewhere whose name was made to point here (DNS rebinding) still sends its
//!   own name.
//! - The first part of the path must be the key.
//! - What changes something must come from a page of this very address: `Sec-Fetch-Site` or `Origin` must say so (Fetch
//!   standard, "Origin header"; Fetch Metadata Request Headers). Where a browser sends `Origin: null`, as it does without a
//!   referrer, the former decides. The form's own token is checked where the form is read.
//! - Answers forbid scripts, frames, referrers, guessing of content and keeping copies.

use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{HeaderName, Method};
use axum::middleware::Next;
use axum::response::Response;

use super::desk::Desk;
use super::refused::Refused;

/// Names of this machine that a browser on it may use; the port may be another where it is passed on.
const OWN_NAMES: [&str; 3] = ["127.0.0.1", "localhost", "[::1]"];
/// What every browser asks for by itself, without the key; there is none, and nothing is said of it.
pub const ICON: &str = "favicon.ico";
/// Time for a request to come in and be answered: a large sheet takes seconds.
const MOST_TIME: Duration = Duration::from_secs(60);

/// Lets a request through, or refuses it.
pub async fn guard(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let mut answer = match let_in(&desk, &request) {
        Err(refused) => desk.refuse(&refused),
        Ok(()) => match tokio::time::timeout(MOST_TIME, next.run(request)).await {
            Ok(answer) => answer,
            Err(_) => desk.refuse(&Refused::TooSlow),
        },
    };
    let headers = answer.headers_mut();
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CONTENT_SECURITY_POLICY)
        .or_insert(HeaderValue::from_static("default-src 'none'; frame-ancestors 'none'; base-uri 'none'"));
    answer
}

fn let_in(desk: &Desk, request: &Request) -> Result<(), Refused> {
    let host = said(request.headers(), header::HOST);
    if !is_own(host) {
        return Err(Refused::ForeignHost);
    }
    let key = request.uri().path().split('/').nth(1).unwrap_or_default();
    if !desk.key.is(key) && key != ICON {
        return Err(Refused::WrongKey);
    }
    if [Method::GET, Method::HEAD].contains(request.method()) || is_same_origin(request.headers(), host) {
        return Ok(());
    }
    Err(Refused::OtherSite)
}

/// Whether a `Host` names this machine, with or without a port.
fn is_own(host: &str) -> bool {
    OWN_NAMES.iter().any(|name| {
        host.strip_prefix(name).is_some_and(|port| {
            port.is_empty() || port.strip_prefix(':').is_some_and(|p| p.parse::<u16>().is_ok())
        })
    })
}

fn is_same_origin(headers: &HeaderMap, host: &str) -> bool {
    let origin = said(headers, header::ORIGIN);
    let own = origin.strip_prefix("http://").is_some_and(|from| from == host);
    match said(headers, HeaderName::from_static("sec-fetch-site")) {
        "" => own,
        site => site == "same-origin" && (own || origin.is_empty() || origin == "null"),
    }
}

fn said(headers: &HeaderMap, name: HeaderName) -> &str {
    headers.get(name).and_then(|v| v.to_str().ok()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_this_machine_are_its_own() {
        for own in ["127.0.0.1:8000", "localhost:80", "localhost", "[::1]:9"] {
            assert!(is_own(own), "{own}");
        }
        for other in
            ["", "example.com", "127.0.0.1.example.com", "localhost.example:80", "127.0.0.1:x", "127.0.0.11"]
        {
            assert!(!is_own(other), "{other}");
        }
    }

    #[test]
    fn a_post_must_come_from_the_page_itself() {
        let from = |pairs: &[(&'static str, &'static str)]| {
            let headers = pairs
                .iter()
                .map(|(n, v)| (HeaderName::from_static(n), HeaderValue::from_static(v)))
                .collect();
            is_same_origin(&headers, "127.0.0.1:8000")
        };
        assert!(from(&[("origin", "http://127.0.0.1:8000")]));
        assert!(from(&[("origin", "null"), ("sec-fetch-site", "same-origin")]));
        assert!(!from(&[]) && !from(&[("origin", "null")]));
        assert!(!from(&[("origin", "http://127.0.0.1:8001")]));
        assert!(!from(&[("origin", "http://example.com"), ("sec-fetch-site", "same-origin")]));
        assert!(!from(&[("origin", "http://127.0.0.1:8000"), ("sec-fetch-site", "cross-site")]));
    }
}
