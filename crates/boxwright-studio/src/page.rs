//! The page itself: built into the program, or a few words where it was left out.

use axum::http::{StatusCode, Uri, header};
use axum::response::{Html, IntoResponse, Response};

use crate::refuse::Refuse;

/// Said where the page was not built in.
const PLAIN: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\">\
    <title>boxwright studio</title><h1>boxwright studio</h1>\
    <p>This program was built without its page. Build it with the feature <code>studio</code> \
    and Node at hand: <code>cargo build --release -p boxwright-cli --features studio</code>.</p>\
    <p>The address <a href=\"/api/openapi.json\">/api/openapi.json</a> says what the server \
    answers.</p></html>";

#[cfg(feature = "studio")]
#[derive(rust_embed::RustEmbed)]
#[folder = "$OUT_DIR/studio"]
struct Built;

/// A file of the built page: its bytes and what they are.
#[cfg(feature = "studio")]
fn built(name: &str) -> Option<(std::borrow::Cow<'static, [u8]>, &'static str)> {
    let file = Built::get(name)?;
    let end = name.rsplit_once('.').map_or("", |(_, e)| e);
    let kind = match end {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "woff2" => "font/woff2",
        "json" => "application/json",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    };
    Some((file.data, kind))
}

#[cfg(not(feature = "studio"))]
fn built(_: &str) -> Option<(std::borrow::Cow<'static, [u8]>, &'static str)> {
    None
}

/// The page at `/`.
pub async fn front() -> Response {
    match built("index.html") {
        Some((bytes, kind)) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
        None => Html(PLAIN).into_response(),
    }
}

/// A file of the page, or the refusal of an address that is not known.
pub async fn other(uri: Uri) -> Response {
    let name = uri.path().trim_start_matches('/');
    match built(name) {
        // Vite puts a hash of the content into these names.
        Some((bytes, kind)) if name.starts_with("assets/") => (
            [
                (header::CONTENT_TYPE, kind),
                (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
            ],
            bytes,
        )
            .into_response(),
        Some((bytes, kind)) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
        None => Refuse::new(
            StatusCode::NOT_FOUND,
            "no-address",
            "there is nothing at this address",
        )
        .into_response(),
    }
}
