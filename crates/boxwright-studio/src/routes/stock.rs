//! The stock of the opened folder.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::App;
use super::jobs::folder;
use crate::extract::Body;
use crate::refuse::Refuse;
use crate::stock;
use crate::wire::{Refusal, StockAsk, StockBook};

/// The sheets and off-cuts of the opened folder.
#[utoipa::path(get, path = "/api/stock", responses(
    (status = 200, description = "The stock", body = StockBook),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn book(State(app): State<Arc<App>>) -> Result<Json<StockBook>, Refuse> {
    let book = app.compute(|app| stock::book(folder(app)?.root(), app.shelf.boards()));
    Ok(Json(book.await??))
}

/// Makes one change of the stock, as one transaction.
#[utoipa::path(post, path = "/api/stock",
    request_body(content = StockAsk, example = json!({"stamp": null, "change": {
        "do": "add", "name": "C large", "board": "C", "length": "1600mm", "width": "1200mm",
        "count": 12, "price": 3.4,
    }})), responses(
    (status = 200, description = "The stock as it is now", body = StockBook),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "The stock has changed meanwhile, or this change makes no sense for it", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body is no change", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn change(
    State(app): State<Arc<App>>,
    Body(ask): Body<StockAsk>,
) -> Result<Json<StockBook>, Refuse> {
    let book = app.compute(move |app| {
        let root = folder(app)?.root();
        stock::change(root, app.shelf.boards(), ask.stamp.as_deref(), &ask.change)
    });
    Ok(Json(book.await??))
}

/// The whole stock as a text, to keep or to import elsewhere.
#[utoipa::path(get, path = "/api/stock/text", responses(
    (status = 200, description = "The text", body = String, content_type = "text/plain"),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn text(State(app): State<Arc<App>>) -> Result<Response, Refuse> {
    let text = app
        .compute(|app| stock::text(folder(app)?.root()))
        .await??;
    let head = [
        (header::CONTENT_TYPE, "text/plain; charset=utf-8"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"stock.kdl\"",
        ),
    ];
    Ok((head, text).into_response())
}
