//! Which style and which board.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;

use super::{App, example};
use crate::choosing;
use crate::extract::Body;
use crate::refuse::Refuse;
use crate::wire::{ChooseAsk, ChooseShown, Refusal};

/// Styles and boards for an inside size and contents, best first, each drawn, folded and checked.
#[utoipa::path(post, path = "/api/choose",
    request_body(content = ChooseAsk, example = json!({"state": example(), "by": "board"})),
    responses(
    (status = 200, description = "Proposals, and what was left out", body = ChooseShown),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "What was typed cannot be", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for nothing of this kind", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn choose(
    State(app): State<Arc<App>>,
    Body(ask): Body<ChooseAsk>,
) -> Result<Json<ChooseShown>, Refuse> {
    let shown = app.in_turn(&app.packing, move |app| choosing::shown(&app.shelf, &ask));
    Ok(Json(shown.await??))
}
