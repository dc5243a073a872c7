//! A case drawn, and its files.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use boxwright::check::check;
use boxwright::emit::bundle::{self, BundleOptions, bundle};
use boxwright::emit::report::{Told, report};
use boxwright::fold::Folder;

use super::{App, example};
use crate::design::{Blanks, draw};
use crate::extract::Body;
use crate::refuse::Refuse;
use crate::wire::{self, Design, FileAsk, Refusal};

/// Draws, folds and checks a case.
#[utoipa::path(post, path = "/api/design",
    request_body(content = wire::State, example = json!(example())), responses(
    (status = 200, description = "What comes of it, or what keeps it from being drawn", body = Design),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body is no state", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn design(
    State(app): State<Arc<App>>,
    Body(state): Body<wire::State>,
) -> Result<Response, Refuse> {
    let text = app
        .compute(move |app| serde_json::to_vec(&crate::design::design(&app.shelf, &state)))
        .await?
        .map_err(|_| Refuse::broken())?;
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}

/// Makes a file, the same to the byte as the command line makes.
#[utoipa::path(post, path = "/api/file",
    request_body(content = FileAsk,
        example = json!({"state": example(), "kind": "dxf", "unit": "mm"})), responses(
    (status = 200, description = "The file", body = Vec<u8>, content_type = "application/octet-stream"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such piece", body = Refusal),
    (status = 409, description = "The case cannot be drawn, or this file makes no sense for it", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for no file", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn file(
    State(app): State<Arc<App>>,
    Body(ask): Body<FileAsk>,
) -> Result<Response, Refuse> {
    let (name, bytes) = app.compute(move |app| made(app, &ask)).await??;
    Ok((
        [
            (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
            (header::CONTENT_DISPOSITION, disposition(&name)),
        ],
        bytes,
    )
        .into_response())
}

/// The name in plain letters for old readers, and in full for all others.
pub(super) fn disposition(name: &str) -> String {
    let plain: String = name
        .chars()
        .map(|c| {
            if c.is_ascii_graphic() && !matches!(c, '"' | '\\') {
                c
            } else {
                '-'
            }
        })
        .collect();
    let full: String = name
        .bytes()
        .map(|b| {
            if b.is_ascii_alphanumeric() || matches!(b, b'-' | b'.' | b'_') {
                char::from(b).to_string()
            } else {
                format!("%{b:02X}")
            }
        })
        .collect();
    format!("attachment; filename=\"{plain}\"; filename*=UTF-8''{full}")
}

fn made(app: &App, ask: &FileAsk) -> Result<(String, Vec<u8>), Refuse> {
    let drawn =
        draw(&app.shelf, &ask.state).map_err(|u| Refuse::of_diags("not-drawn", &u.diags))?;
    let brief = &drawn.brief;
    let Blanks::Sound(plan) = &drawn.blanks else {
        return Err(Refuse::conflict(
            "not-sound",
            "this blank cannot be cut from one sheet as it is drawn",
        ));
    };
    let kind = ask.kind.0;
    let wanted = match &ask.piece {
        None => 0,
        Some(name) => plan
            .blanks()
            .iter()
            .position(|b| b.piece == *name)
            .ok_or_else(|| Refuse::absent("no-piece", format!("there is no piece `{name}`")))?,
    };
    let folder = Folder::new(plan);
    let found = check(brief, &folder);
    let told = |d: &boxwright::diag::Diag| Refuse {
        help: d.help.clone(),
        ..Refuse::conflict("not-made", d.message.clone())
    };
    let all = BundleOptions {
        unit: ask.unit.into(),
        ..BundleOptions::default()
    };
    if kind == bundle::Kind::Report {
        // The report names every file that a full run of the command line writes.
        let names = bundle::names(brief, plan, &folder, &found, &all).map_err(|d| told(&d))?;
        let names: Vec<String> = names.into_iter().flat_map(|(_, n)| n).collect();
        let text = report(brief, plan, &Told::folded(&folder, &found), &names)
            .to_json()
            .map_err(|d| told(&d))?;
        let own = names.last().cloned().unwrap_or_default();
        return Ok((own, text.into_bytes()));
    }
    let opts = BundleOptions {
        kinds: vec![kind],
        ..all
    };
    let name = bundle::name(brief, plan, kind, wanted, &opts);
    let mut made = bundle(brief, plan, &folder, &found, &opts).map_err(|d| told(&d))?;
    match made.files.iter().position(|(n, _)| *n == name) {
        Some(i) => Ok(made.files.swap_remove(i)),
        None => Err(made.left_out.first().map_or_else(Refuse::broken, told)),
    }
}
