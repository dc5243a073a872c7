//! From the things to be sent to the case.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;

use super::App;
use crate::extract::Body;
use crate::packing;
use crate::refuse::Refuse;
use crate::wire::{ContentsAsk, ContentsLists, ContentsShown, Refusal};

/// The tables of heights of fall.
#[utoipa::path(get, path = "/api/contents/lists", operation_id = "contents_lists", responses(
    (status = 200, description = "What can be chosen", body = ContentsLists),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn lists(State(app): State<Arc<App>>) -> Result<Json<ContentsLists>, Refuse> {
    Ok(Json(app.compute(|_| packing::lists()).await??))
}

/// Inside sizes for things that go into one case, with reasons and a picture of each.
#[utoipa::path(post, path = "/api/contents",
    request_body(content = ContentsAsk, example = json!({
        "things": [{
            "name": "mantel clock", "shape": "cuboid", "length": "312mm", "width": "148mm",
            "depth": "236mm", "diameter": "", "mass": "4.1kg", "fragile": "40", "up": "depth",
            "touch": true, "stack": true, "count": 1,
        }],
        "drop": "", "dropTable": "1A", "factor": "3", "room": "3mm", "by": "volume", "unit": "mm",
    })), responses(
    (status = 200, description = "Inside sizes", body = ContentsShown),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "A thing or a rule cannot be, or no arrangement is found", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body tells of no things", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn propose(
    State(app): State<Arc<App>>,
    Body(ask): Body<ContentsAsk>,
) -> Result<Json<ContentsShown>, Refuse> {
    let shown = app.in_turn(&app.packing, move |_| packing::shown(&ask));
    Ok(Json(shown.await??))
}
