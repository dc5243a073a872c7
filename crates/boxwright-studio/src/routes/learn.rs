//! The first article: strips, readings, measured figures, and how many cases hold.

use std::convert::Infallible;
use std::sync::Arc;

use axum::Json;
use axum::body::{Body as Stream, Bytes};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use futures_util::stream::unfold;
use tokio::sync::mpsc;

use super::design::disposition;
use super::jobs::folder;
use super::{App, example};
use crate::extract::Body;
use crate::learning;
use crate::refuse::Refuse;
use crate::spreading::{self, Run};
use crate::wire::{
    Fit, MeasuredBook, MeasuredChange, Readings, ReadingsAsk, Refusal, SpreadAsk, SpreadLine,
    StripsAsk, StripsFileAsk, StripsShown,
};

/// What is made for a set of test strips, and a form for what is read on them.
#[utoipa::path(post, path = "/api/strips", operation_id = "strips",
    request_body(content = StripsAsk, example = json!({"board": "C", "machine": "bench-laser", "crease": "rule", "strips": 2})), responses(
    (status = 200, description = "The files and the form", body = StripsShown),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "Board or machine is not known", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body has not the right shape", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn strips(
    State(app): State<Arc<App>>,
    Body(ask): Body<StripsAsk>,
) -> Result<Json<StripsShown>, Refuse> {
    let shown = app.compute(move |app| learning::strips(&app.shelf, &ask));
    Ok(Json(shown.await??))
}

/// A file of a set of test strips, the same as the command line writes.
#[utoipa::path(post, path = "/api/strips/file", operation_id = "strips_file",
    request_body(content = StripsFileAsk, example = json!({"strips": {"board": "C", "machine": "bench-laser", "crease": "rule", "strips": 2}, "name": "coupon.pdf"})), responses(
    (status = 200, description = "The file", body = Vec<u8>, content_type = "application/octet-stream"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "Board or machine is not known", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body has not the right shape", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn strips_file(
    State(app): State<Arc<App>>,
    Body(ask): Body<StripsFileAsk>,
) -> Result<Response, Refuse> {
    let made = app.compute(move |app| {
        let files = learning::files(&app.shelf, &ask.strips)?;
        let found = files.into_iter().find(|(name, _)| *name == ask.name);
        found.ok_or_else(|| {
            Refuse::absent(
                "no-file",
                format!("no file `{}` is made for strips", ask.name),
            )
        })
    });
    let (name, bytes) = made.await??;
    let head = [
        (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
        (header::CONTENT_DISPOSITION, disposition(&name)),
    ];
    Ok((head, bytes).into_response())
}

/// A measurements file as a form.
#[utoipa::path(post, path = "/api/readings", operation_id = "readings",
    request_body(content = ReadingsAsk, example = json!({"text": "measurements {\n    board \"C\"\n    crease \"rule\"\n    caliper \"4.05mm\" \"4.1mm\"\n}\n"})), responses(
    (status = 200, description = "What was read", body = Readings),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "The text holds no measurements", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body has not the right shape", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn readings(
    State(app): State<Arc<App>>,
    Body(ask): Body<ReadingsAsk>,
) -> Result<Json<Readings>, Refuse> {
    let read = app.compute(move |_| learning::readings(&ask.text));
    Ok(Json(read.await??))
}

/// Fits readings, and keeps nothing.
#[utoipa::path(post, path = "/api/measured/fit", operation_id = "fit",
    request_body(content = Readings, example = json!({
        "board": "C", "machine": "bench-laser", "crease": "rule", "when": "a Monday", "note": "", "step": "0.05mm",
        "caliper": ["4.05mm", "4.1mm", "4.05mm", "4mm"],
        "along": [{"drawn": "60mm", "inside": "55.8mm", "outside": "63.9mm"}, {"drawn": "60mm", "inside": "55.7mm", "outside": "63.8mm"}],
        "across": [{"drawn": "60mm", "inside": "55.9mm", "outside": "64mm"}, {"drawn": "60mm", "inside": "55.85mm", "outside": "63.95mm"}],
        "gauges": [{"hole": "20.15mm", "piece": "19.85mm"}, {"hole": "20.2mm", "piece": "19.85mm"}],
    })), responses(
    (status = 200, description = "What they come to, or what keeps them from it", body = Fit),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "Refused", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body has not the right shape", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn fit(
    State(app): State<Arc<App>>,
    Body(readings): Body<Readings>,
) -> Result<Json<Fit>, Refuse> {
    let fit = app.compute(move |app| learning::fit(&app.shelf, &readings).0);
    Ok(Json(fit.await?))
}

/// The measured figures that are kept in the opened folder.
#[utoipa::path(get, path = "/api/measured", operation_id = "measured", responses(
    (status = 200, description = "What is kept", body = MeasuredBook),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn book(State(app): State<Arc<App>>) -> Result<Json<MeasuredBook>, Refuse> {
    let book = app.compute(|app| learning::book(folder(app)?.root()));
    Ok(Json(book.await??))
}

/// Keeps the figures of readings, or forgets those of a number.
#[utoipa::path(post, path = "/api/measured", operation_id = "change_measured",
    request_body(content = MeasuredChange, example = json!({"do": "keep", "readings": {
        "board": "C", "machine": "bench-laser", "crease": "rule", "when": "a Monday", "note": "", "step": "0.05mm",
        "caliper": ["4.05mm", "4.1mm", "4.05mm", "4mm"],
        "along": [{"drawn": "60mm", "inside": "55.8mm", "outside": "63.9mm"}, {"drawn": "60mm", "inside": "55.7mm", "outside": "63.8mm"}],
        "across": [{"drawn": "60mm", "inside": "55.9mm", "outside": "64mm"}, {"drawn": "60mm", "inside": "55.85mm", "outside": "63.95mm"}],
        "gauges": [{"hole": "20.15mm", "piece": "19.85mm"}, {"hole": "20.2mm", "piece": "19.85mm"}],
    }})), responses(
    (status = 200, description = "What is kept now", body = MeasuredBook),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "The readings give no figures, or the store cannot keep or forget them", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body has not the right shape", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn change(
    State(app): State<Arc<App>>,
    Body(change): Body<MeasuredChange>,
) -> Result<Json<MeasuredBook>, Refuse> {
    let book = app.compute(move |app| {
        let root = folder(app)?.root();
        match &change {
            MeasuredChange::Keep { readings } => learning::keep(&app.shelf, root, readings),
            MeasuredChange::Forget { number } => learning::forget(root, *number),
        }
    });
    Ok(Json(book.await??))
}

/// Tries many cases of a job, as board, creases and cuts differ.
///
/// Each line of the answer is one JSON value: how far it is, then what they come to. Closing the connection stops the work.
#[utoipa::path(post, path = "/api/spread", operation_id = "spread",
    request_body(content = SpreadAsk, example = json!({"state": example(), "cases": 100, "seed": 1, "short": "0.5mm"})), responses(
    (status = 200, description = "Lines of JSON", body = SpreadLine, content_type = "application/x-ndjson"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "The case cannot be drawn, or has no room of its own", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body has not the right shape", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn spread(
    State(app): State<Arc<App>>,
    Body(ask): Body<SpreadAsk>,
) -> Result<Response, Refuse> {
    let run = app.compute(move |app| spreading::run(&app.shelf, &ask));
    let run = run.await??;
    let (tell, told) = mpsc::channel::<Bytes>(4);
    let sweeps = Arc::clone(&app.sweeps);
    tokio::spawn(async move {
        let turn = tokio::select! {
            t = sweeps.acquire_owned() => t,
            () = tell.closed() => return,
        };
        let _ = tokio::task::spawn_blocking(move || {
            let _turn = turn;
            tried(&run, &tell)
        })
        .await;
    });
    let lines = unfold(told, |mut told| async {
        told.recv()
            .await
            .map(|line| (Ok::<_, Infallible>(line), told))
    });
    let kind = [(header::CONTENT_TYPE, "application/x-ndjson")];
    Ok((kind, Stream::from_stream(lines)).into_response())
}

/// Sends every line; stops early when nobody reads any more.
fn tried(run: &Run, tell: &mpsc::Sender<Bytes>) -> Option<()> {
    let say = |line: &SpreadLine| {
        let mut text = serde_json::to_vec(line).ok()?;
        text.push(b'\n');
        tell.blocking_send(text.into()).ok()
    };
    let shown = run.all(&|t| say(&SpreadLine::Tick(t)).is_some())?;
    say(&SpreadLine::Finished(Box::new(shown)))
}
