//! Machines, and layouts cut by them.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::App;
use super::design::disposition;
use crate::cutting::line;
use crate::extract::Body;
use crate::refuse::Refuse;
use crate::wire::{CutAsk, CutFileAsk, CutShown, MachineLine, Refusal};

/// Every machine: those that come with the program, then those of the opened folder.
#[utoipa::path(get, path = "/api/machines", responses(
    (status = 200, description = "Every machine", body = Vec<MachineLine>),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn machines(State(app): State<Arc<App>>) -> Result<Json<Vec<MachineLine>>, Refuse> {
    let lines = app.compute(|app| {
        let all = app.shelf.machines();
        all.iter().map(|(name, m)| line(name, m)).collect()
    });
    Ok(Json(lines.await?))
}

/// Ends the work when nobody waits for it any more.
struct Waiting(Arc<AtomicBool>);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What a machine does with a layout, stroke by stroke and moment by moment.
#[utoipa::path(post, path = "/api/cut",
    request_body(content = CutAsk, example = json!({
        "layout": "this-week.layout.json", "machine": "knife-table", "nicks": true, "leadIn": false,
    })), responses(
    (status = 200, description = "What it does", body = CutShown),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such layout", body = Refusal),
    (status = 409, description = "The machine cannot cut this", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for no cut", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn cut(State(app): State<Arc<App>>, Body(ask): Body<CutAsk>) -> Result<Response, Refuse> {
    let stop = Arc::new(AtomicBool::new(false));
    let waiting = Waiting(Arc::clone(&stop));
    let text = app.in_turn(&app.cutting, move |app| -> Result<Vec<u8>, Refuse> {
        let cut = app.cuts.cut(&app.shelf, &ask, &stop)?;
        serde_json::to_vec(&cut.shown()).map_err(|_| Refuse::broken())
    });
    let text = text.await??;
    drop(waiting);
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}

/// A file of a cut, the same to the byte as the command line writes.
#[utoipa::path(post, path = "/api/cut/file", operation_id = "cut_file",
    request_body(content = CutFileAsk, example = json!({"cut": {
        "layout": "this-week.layout.json", "machine": "knife-table", "nicks": true, "leadIn": false,
    }, "kind": "gcode", "unit": "mm", "sheet": 0})), responses(
    (status = 200, description = "The file", body = Vec<u8>, content_type = "application/octet-stream"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such layout or sheet", body = Refusal),
    (status = 409, description = "The machine cannot cut this", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for no file", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn file(
    State(app): State<Arc<App>>,
    Body(ask): Body<CutFileAsk>,
) -> Result<Response, Refuse> {
    let stop = Arc::new(AtomicBool::new(false));
    let waiting = Waiting(Arc::clone(&stop));
    let made = app.in_turn(&app.cutting, move |app| {
        let cut = app.cuts.cut(&app.shelf, &ask.cut, &stop)?;
        let n = usize::try_from(ask.sheet).unwrap_or(usize::MAX);
        cut.file(ask.kind, ask.unit, n)
    });
    let (name, bytes) = made.await??;
    drop(waiting);
    let head = [
        (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
        (header::CONTENT_DISPOSITION, disposition(&name)),
    ];
    Ok((head, bytes).into_response())
}
