//! From the case to the truck.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::design::disposition;
use super::{App, example};
use crate::extract::Body;
use crate::refuse::Refuse;
use crate::shipping;
use crate::wire::{Refusal, ShipAsk, ShipLists, ShipShown};

/// Conditions for the examples of the document.
fn on() -> serde_json::Value {
    serde_json::json!({
        "mass": "4.1kg", "days": 30, "humidity": 50, "pattern": "column-aligned", "overhang": "",
        "deckGap": false, "handling": false, "high": 4, "above": "", "rule": "losses",
        "losses": "handbook", "grades": "", "parcels": "", "pallet": "1200x800",
        "height": "1800mm", "load": "",
    })
}

/// The tables, tariffs and pallets that conditions are chosen from.
#[utoipa::path(get, path = "/api/ship/lists", operation_id = "ship_lists", responses(
    (status = 200, description = "What can be chosen", body = ShipLists),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn lists(State(app): State<Arc<App>>) -> Result<Json<ShipLists>, Refuse> {
    Ok(Json(app.compute(|_| shipping::lists()).await??))
}

/// Everything that is to be said of shipping a packed case: strength, stack, grade, parcel, pallet, lifting.
#[utoipa::path(post, path = "/api/ship",
    request_body(content = ShipAsk,
        example = json!({"state": example(), "unit": "mm", "on": on()})), responses(
    (status = 200, description = "What is to be said", body = ShipShown),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "The case cannot be drawn, or a condition cannot be", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for nothing of this kind", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn ship(
    State(app): State<Arc<App>>,
    Body(ask): Body<ShipAsk>,
) -> Result<Response, Refuse> {
    let text = app.in_turn(&app.sending, move |app| -> Result<Vec<u8>, Refuse> {
        let shown = shipping::shown(&app.shelf, &ask)?;
        serde_json::to_vec(&shown).map_err(|_| Refuse::broken())
    });
    let text = text.await??;
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}

/// The shipping sheet as a PDF, the same to the byte as the command line writes.
#[utoipa::path(post, path = "/api/ship/sheet", operation_id = "ship_sheet",
    request_body(content = ShipAsk,
        example = json!({"state": example(), "unit": "mm", "on": on()})), responses(
    (status = 200, description = "The sheet", body = Vec<u8>, content_type = "application/octet-stream"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "The case cannot be drawn, or a condition cannot be", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for nothing of this kind", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn sheet(
    State(app): State<Arc<App>>,
    Body(ask): Body<ShipAsk>,
) -> Result<Response, Refuse> {
    let made = app.in_turn(&app.sending, move |app| shipping::sheet(&app.shelf, &ask));
    let (name, bytes) = made.await??;
    let head = [
        (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
        (header::CONTENT_DISPOSITION, disposition(&name)),
    ];
    Ok((head, bytes).into_response())
}
