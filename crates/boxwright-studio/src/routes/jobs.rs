//! Jobs in the opened folder.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;

use super::{App, example};
use crate::extract::{Body, Name};
use crate::folder::{Folder, Sort};
use crate::jobfile;
use crate::refuse::Refuse;
use crate::wire::{JobLine, OpenJob, Refusal, SaveJob, Saved};

/// The opened folder.
pub(super) fn folder(app: &App) -> Result<&Folder, Refuse> {
    app.shelf
        .folder()
        .ok_or_else(|| Refuse::absent("no-folder", "no folder is opened"))
}

/// Every job in the opened folder.
#[utoipa::path(get, path = "/api/jobs", responses(
    (status = 200, description = "Every job", body = Vec<JobLine>),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn list(State(app): State<Arc<App>>) -> Result<Json<Vec<JobLine>>, Refuse> {
    let lines = app
        .compute(|app| {
            let folder = folder(app)?;
            let line = |name: String| {
                let held = folder.read(&name).ok()?;
                let (title, style) = jobfile::heading(&held.text)?;
                Some(JobLine { name, title, style })
            };
            Ok::<_, Refuse>(folder.names().into_iter().filter_map(line).collect())
        })
        .await??;
    Ok(Json(lines))
}

/// Which job.
#[derive(utoipa::IntoParams)]
#[into_params(parameter_in = Path)]
#[allow(dead_code, reason = "only describes the address")]
struct JobName {
    /// Path of the job in the opened folder, its `/` written as %2F.
    #[param(
        max_length = 100,
        pattern = r"^([^./\\:\x00-\x1f\x7f-\x9f][^/\\:\x00-\x1f\x7f-\x9f]*/)*[^./\\:\x00-\x1f\x7f-\x9f][^/\\:\x00-\x1f\x7f-\x9f]*\.kdl$",
        example = "mantel-clock.kdl"
    )]
    name: String,
}

/// Opens a job.
#[utoipa::path(get, path = "/api/jobs/{name}", params(JobName), responses(
    (status = 200, description = "The job", body = OpenJob),
    (status = 404, description = "There is no such job", body = Refusal),
    (status = 409, description = "The file cannot be read as a job", body = Refusal),
    (status = 422, description = "This cannot name a job", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn open(State(app): State<Arc<App>>, Name(name): Name) -> Result<Json<OpenJob>, Refuse> {
    let job = app
        .compute(move |app| {
            let held = folder(app)?.read(&name)?;
            let mut state = jobfile::state(&held.text)?;
            state.job = Some(name.clone());
            Ok::<_, Refuse>(OpenJob {
                messages: jobfile::messages(&name, &held.text),
                name,
                state,
                stamp: held.stamp,
            })
        })
        .await??;
    Ok(Json(job))
}

/// Saves a job: only the values that differ from the file are changed in it.
#[utoipa::path(put, path = "/api/jobs/{name}",
    request_body(content = SaveJob, example = json!({"stamp": null, "state": example()})), params(JobName), responses(
    (status = 200, description = "Saved", body = Saved),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such job or folder", body = Refusal),
    (status = 409, description = "The file has changed on disk, is there already or cannot be written", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "This cannot name a job, or the body is none", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn save(
    State(app): State<Arc<App>>,
    Name(name): Name,
    Body(ask): Body<SaveJob>,
) -> Result<Json<Saved>, Refuse> {
    let stamp = app
        .compute(move |app| {
            folder(app)?.save(
                Sort::Job,
                &name,
                ask.stamp.as_deref(),
                |there| match there {
                    Some(text) => jobfile::edited(text, &ask.state),
                    None => jobfile::written(&ask.state),
                },
            )
        })
        .await??;
    Ok(Json(Saved { stamp }))
}
