//! Who may ask, how much and how long.
//!
//! The server answers only requests that name it by a loopback address with its own port, so a
//! page elsewhere cannot reach it under a name that it points at this machine; and only those that
//! come from its own pages, or from no page at all.

use std::any::Any;
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use boxwright::sheet::file::MOST_LAYOUT_BYTES;

use crate::refuse::Refuse;

/// Largest body, in bytes.
pub const MOST_BYTES: usize = 1 << 20;
/// Largest body that holds a layout file, in bytes: the file is text within JSON.
pub const MOST_LAYOUT_BODY: usize = 2 * MOST_LAYOUT_BYTES;
/// Longest time for an answer to begin.
pub const LONGEST: Duration = Duration::from_secs(10);
/// Where a cut is worked out or things are arranged, an answer may take so many times as long: an
/// order of strokes is sought for every sheet, and the best of many arrangements.
const CUTS: u32 = 12;

/// Scripts, styles and pictures of this server only; nothing else, and no frame round it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' data: blob:; connect-src 'self'; font-src 'self'; base-uri 'none'; \
    form-action 'none'; frame-ancestors 'none'";

const HEADERS: [(HeaderName, &str); 6] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
];

/// What guards need to know.
#[derive(Clone, Debug)]
pub struct Guard {
    /// The port the server is reached by.
    pub port: u16,
    /// Longest time for an answer to begin.
    pub longest: Duration,
}

/// Refuses what does not come from here, stops what takes too long, and puts the protecting
/// headers on every answer.
pub async fn guard(State(guard): State<Guard>, req: Request, next: Next) -> Response {
    let mut response = match guard.refuse(&req) {
        Some(no) => no.into_response(),
        None => match tokio::time::timeout(guard.longest(&req), next.run(req)).await {
            Ok(response) => response,
            Err(_) => Refuse::new(
                StatusCode::REQUEST_TIMEOUT,
                "too-slow",
                "this request took too long and was given up",
            )
            .into_response(),
        },
    };
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

impl Guard {
    /// How long the answer to this may take to begin.
    fn longest(&self, req: &Request) -> Duration {
        match req.uri().path() {
            "/api/cut" | "/api/cut/file" | "/api/contents" | "/api/choose" | "/api/ship"
            | "/api/ship/sheet" => self.longest * CUTS,
            _ => self.longest,
        }
    }
    fn refuse(&self, req: &Request) -> Option<Refuse> {
        let headers = req.headers();
        let no = |code, message| Some(Refuse::new(StatusCode::FORBIDDEN, code, message));
        let named = req.uri().authority().map(|a| a.as_str());
        let host = only(headers, &header::HOST);
        if !host.is_some_and(|h| self.is_ours(h)) || named.is_some_and(|n| !self.is_ours(n)) {
            return no(
                "foreign-host",
                "this server answers only to its own address",
            );
        }
        let origins: Vec<_> = headers.get_all(header::ORIGIN).iter().collect();
        let ours = |o: &&HeaderValue| {
            o.to_str()
                .ok()
                .and_then(|o| o.strip_prefix("http://"))
                .is_some_and(|h| self.is_ours(h))
        };
        if !origins.iter().all(ours) {
            return no("foreign-page", "this server answers only its own pages");
        }
        // Browsers say so even where they send no origin, as for pictures and scripts.
        let site = headers.get("sec-fetch-site").map(HeaderValue::as_bytes);
        let strange = matches!(site, Some(b"cross-site" | b"same-site"));
        let going_there = headers
            .get("sec-fetch-mode")
            .is_some_and(|m| m == "navigate")
            && req.method() == axum::http::Method::GET;
        if strange && !going_there {
            return no("foreign-page", "this server answers only its own pages");
        }
        None
    }

    /// Whether a host, with its port, is this server.
    fn is_ours(&self, host: &str) -> bool {
        ["127.0.0.1", "localhost", "[::1]"].iter().any(|name| {
            let Some(rest) = strip_prefix_any_case(host, name) else {
                return false;
            };
            match rest.strip_prefix(':') {
                Some(port) => {
                    port.parse() == Ok(self.port) && port.bytes().all(|b| b.is_ascii_digit())
                }
                None => rest.is_empty() && self.port == 80,
            }
        })
    }
}

fn strip_prefix_any_case<'a>(text: &'a str, prefix: &str) -> Option<&'a str> {
    let head = text.get(..prefix.len())?;
    head.eq_ignore_ascii_case(prefix)
        .then(|| &text[prefix.len()..])
}

/// The one value of a header that must not be given twice.
fn only<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?;
    if all.next().is_some() {
        return None;
    }
    first.to_str().ok()
}

/// The answer to a request in which the program stumbled.
#[allow(
    clippy::needless_pass_by_value,
    reason = "the layer that catches panics hands the value over"
)]
pub fn stumbled(_: Box<dyn Any + Send + 'static>) -> Response {
    Refuse::broken().into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_loopback_names_with_the_own_port_are_ours() {
        let g = Guard {
            port: 8123,
            longest: LONGEST,
        };
        for ours in [
            "127.0.0.1:8123",
            "localhost:8123",
            "LocalHost:8123",
            "[::1]:8123",
        ] {
            assert!(g.is_ours(ours), "{ours}");
        }
        for other in [
            "127.0.0.1",
            "127.0.0.1:80",
            "localhost:81230",
            "localhost.example:8123",
            "example:8123",
            "127.0.0.1:8123.example",
            "user@127.0.0.1:8123",
            "",
            "127.0.0.1:+8123",
            "0.0.0.0:8123",
        ] {
            assert!(!g.is_ours(other), "{other}");
        }
    }
}
