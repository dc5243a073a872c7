//! Layouts: searched, and kept in the opened folder.

use std::convert::Infallible;
use std::sync::Arc;

use axum::Json;
use axum::body::{Body as Stream, Bytes};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use boxwright::sheet::{Task, read_layout, write_layout};
use boxwright::source::Text;
use futures_util::stream::unfold;
use tokio::sync::mpsc;

use super::App;
use super::jobs::folder;
use crate::extract::{Body, Name};
use crate::folder::Sort;
use crate::laying::{self, News};
use crate::refuse::Refuse;
use crate::using;
use crate::wire::{
    LayoutAsk, LayoutBest, LayoutEntry, LayoutFinished, LayoutLine, LayoutTick, OpenLayout,
    Refusal, SaveLayout, Saved, StockBook, UseLayout,
};
use crate::{cutting, sheets, stock};

/// Lays jobs on sheets for as long as is asked.
///
/// Each line of the answer is one JSON value: the best layout so far whenever there is a better one,
/// a tick meanwhile, then the end. Closing the connection stops the work; every layout told is whole
/// and can be saved.
#[utoipa::path(post, path = "/api/layout",
    request_body(content = LayoutAsk, example = json!({
        "title": "this week", "jobs": [{"job": "mantel-clock.kdl", "quantity": 3}],
        "sheets": [{"board": "C", "length": "1600mm", "width": "1200mm", "count": 4, "price": 3.4}],
        "spacing": "3mm", "margin": "5mm", "seconds": 0.2, "seed": 1,
    })), responses(
    (status = 200, description = "Lines of JSON", body = LayoutLine, content_type = "application/x-ndjson"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such job", body = Refusal),
    (status = 409, description = "This cannot be laid", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for no layout", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn lay(
    State(app): State<Arc<App>>,
    Body(ask): Body<LayoutAsk>,
) -> Result<Response, Refuse> {
    let (seconds, seed) = (ask.seconds, u64::from(ask.seed));
    let task = app
        .compute(move |app| laying::task(&app.shelf, &ask))
        .await??;
    // A reader that is slow holds the telling up; one that is gone ends the search.
    let (tell, told) = mpsc::channel::<Bytes>(4);
    let lays = Arc::clone(&app.lays);
    tokio::spawn(async move {
        let turn = tokio::select! {
            t = lays.acquire_owned() => t,
            () = tell.closed() => return,
        };
        let _ = tokio::task::spawn_blocking(move || {
            let _turn = turn;
            run(&task, seconds, seed, &tell);
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
fn run(task: &Task, seconds: f64, seed: u64, tell: &mpsc::Sender<Bytes>) {
    let say = |line: &LayoutLine| -> Option<()> {
        let mut text = serde_json::to_vec(line).ok()?;
        text.push(b'\n');
        tell.blocking_send(text.into()).ok()
    };
    laying::search(task, seconds, seed, &mut |news, time, rounds| {
        let seconds = (time.as_secs_f64() * 1e3).round() / 1e3;
        let line = match news {
            News::Best(layout) => {
                // What fails its own proof is never told.
                let Ok(proved) = layout.clone().proved() else {
                    return !tell.is_closed();
                };
                let Ok(text) = write_layout(&proved) else {
                    return !tell.is_closed();
                };
                LayoutLine::Best(LayoutBest {
                    seconds,
                    layout: sheets::shown(&proved),
                    text,
                })
            }
            News::Tick => LayoutLine::Tick(LayoutTick { seconds, rounds }),
            News::Over(wrong) => LayoutLine::Finished(LayoutFinished {
                finished: true,
                seconds,
                rounds,
                wrong: wrong.map(|d| {
                    d.help
                        .as_ref()
                        .map_or_else(|| d.message.clone(), |h| format!("{}: {h}", d.message))
                }),
            }),
        };
        say(&line).is_some()
    });
}

/// Every layout file in the opened folder.
#[utoipa::path(get, path = "/api/layouts", operation_id = "layouts", responses(
    (status = 200, description = "Every layout", body = Vec<LayoutEntry>),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn list(State(app): State<Arc<App>>) -> Result<Json<Vec<LayoutEntry>>, Refuse> {
    let lines = app.compute(|app| {
        let folder = folder(app)?;
        let line = |name: String| {
            let held = folder.read_as(Sort::Layout, &name).ok();
            let title = held.and_then(|h| titled(&h.text)).unwrap_or_default();
            LayoutEntry { name, title }
        };
        Ok::<_, Refuse>(
            folder
                .names_of(Sort::Layout)
                .into_iter()
                .map(line)
                .collect(),
        )
    });
    Ok(Json(lines.await??))
}

fn titled(text: &str) -> Option<String> {
    #[derive(serde::Deserialize)]
    struct Head {
        title: String,
    }
    serde_json::from_str::<Head>(text).ok().map(|h| h.title)
}

/// Which layout.
#[derive(utoipa::IntoParams)]
#[into_params(parameter_in = Path)]
#[allow(dead_code, reason = "only describes the address")]
struct LayoutName {
    /// Path of the layout file in the opened folder, its `/` written as %2F.
    #[param(
        max_length = 100,
        pattern = r"^([^./\\:\x00-\x1f\x7f-\x9f][^/\\:\x00-\x1f\x7f-\x9f]*/)*[^./\\:\x00-\x1f\x7f-\x9f][^/\\:\x00-\x1f\x7f-\x9f]*\.layout\.json$",
        example = "this-week.layout.json"
    )]
    name: String,
}

/// Where to save a layout.
#[derive(utoipa::IntoParams)]
#[into_params(parameter_in = Path)]
#[allow(dead_code, reason = "only describes the address")]
struct NewLayoutName {
    /// Path of the layout file in the opened folder, its `/` written as %2F.
    #[param(
        max_length = 100,
        pattern = r"^([^./\\:\x00-\x1f\x7f-\x9f][^/\\:\x00-\x1f\x7f-\x9f]*/)*[^./\\:\x00-\x1f\x7f-\x9f][^/\\:\x00-\x1f\x7f-\x9f]*\.layout\.json$",
        example = "next-week.layout.json"
    )]
    name: String,
}

/// Opens a layout.
#[utoipa::path(get, path = "/api/layouts/{name}", operation_id = "open_layout", params(LayoutName), responses(
    (status = 200, description = "The layout", body = OpenLayout),
    (status = 404, description = "There is no such layout", body = Refusal),
    (status = 409, description = "The file cannot be read as a layout", body = Refusal),
    (status = 422, description = "This cannot name a layout", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn open(
    State(app): State<Arc<App>>,
    Name(name): Name,
) -> Result<Json<OpenLayout>, Refuse> {
    let open = app.compute(move |app| {
        let (held, layout) = cutting::layout(&app.shelf, &name)?;
        Ok::<_, Refuse>(OpenLayout {
            taking: using::taking(folder(app)?.root(), &layout)?,
            layout: sheets::shown(&layout),
            stamp: held.stamp,
            name,
        })
    });
    Ok(Json(open.await??))
}

/// Saves a layout, after proving it.
#[utoipa::path(put, path = "/api/layouts/{name}", operation_id = "save_layout",
    request_body(content = SaveLayout, example = json!({"stamp": null, "text": example()})), params(NewLayoutName), responses(
    (status = 200, description = "Saved", body = Saved),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such layout or folder", body = Refusal),
    (status = 409, description = "The text is no sound layout, or the file has changed on disk, is there already or cannot be written", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "This cannot name a layout, or the body is none", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn save(
    State(app): State<Arc<App>>,
    Name(name): Name,
    Body(ask): Body<SaveLayout>,
) -> Result<Json<Saved>, Refuse> {
    let stamp = app.compute(move |app| {
        let folder = folder(app)?;
        folder.save(Sort::Layout, &name, ask.stamp.as_deref(), |_| {
            let text = Text {
                name: name.clone(),
                text: ask.text.clone(),
            };
            let layout = read_layout(&text).map_err(|d| Refuse::of_diags("not-a-layout", &d))?;
            write_layout(&layout).map_err(|d| Refuse::of_diags("not-a-layout", &[d]))
        })
    });
    Ok(Json(Saved {
        stamp: stamp.await??,
    }))
}

/// Takes the sheets of a layout out of the stock and puts its off-cuts in, both or neither.
#[utoipa::path(post, path = "/api/layouts/{name}/use",
    request_body(content = UseLayout, example = json!({"layout": "", "stock": null})), params(LayoutName), responses(
    (status = 200, description = "The stock as it is now", body = StockBook),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such layout", body = Refusal),
    (status = 409, description = "The layout or the stock has changed meanwhile, or the stock has not what it takes", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "This cannot name a layout, or the body is none", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn take(
    State(app): State<Arc<App>>,
    Name(name): Name,
    Body(ask): Body<UseLayout>,
) -> Result<Json<StockBook>, Refuse> {
    let book = app.compute(move |app| {
        let root = folder(app)?.root();
        let (held, layout) = cutting::layout(&app.shelf, &name)?;
        if held.stamp != ask.layout {
            return Err(Refuse::conflict(
                "changed-on-disk",
                format!("`{name}` has changed on disk since it was opened"),
            )
            .help("open it again"));
        }
        using::take(root, &layout, ask.stock.as_deref())?;
        stock::book(root, app.shelf.boards())
    });
    Ok(Json(book.await??))
}

/// A layout of one part for the examples of the document.
fn example() -> &'static str {
    include_str!("example.layout.json")
}
