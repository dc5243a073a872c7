//! A range of sizes, chosen while its progress is told.

use std::convert::Infallible;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, PoisonError};
use std::time::{Duration, Instant};

use axum::Json;
use axum::body::{Body as Stream, Bytes};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use boxwright::suite::{Progress, Watch};
use futures_util::stream::unfold;
use tokio::sync::mpsc;

use super::App;
use super::jobs::folder;
use crate::extract::Body;
use crate::folder::Sort;
use crate::range::{Search, search};
use crate::refuse::Refuse;
use crate::wire::{
    OrdersLine, RangeAsk, RangeBegun, RangeFinished, RangeLine, RangeStop, RangeStopped, RangeTick,
    Refusal,
};

/// Between two words of how far it is.
const TICK: Duration = Duration::from_millis(200);

/// Every CSV file in the opened folder.
#[utoipa::path(get, path = "/api/orders", operation_id = "orders", responses(
    (status = 200, description = "Every CSV file", body = Vec<OrdersLine>),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn orders(State(app): State<Arc<App>>) -> Result<Json<Vec<OrdersLine>>, Refuse> {
    let lines = app.compute(|app| {
        let names = folder(app)?.names_of(Sort::Orders).into_iter();
        Ok::<_, Refuse>(names.map(|name| OrdersLine { name }).collect())
    });
    Ok(Json(lines.await??))
}

/// Chooses a range of case sizes for an order history.
///
/// Each line of the answer is one JSON value: first the number of the search, then how far it is, then what was found. Closing the
/// connection ends the work and nothing is told; stopping it by its number has the best so far told.
#[utoipa::path(post, path = "/api/range", operation_id = "choose_range",
    request_body(content = RangeAsk, example = json!({
        "text": "length,width,height,count\n300,200,100,12\n180,120,90,30\n", "sizes": 2,
        "least": "void", "style": "slotted-case", "board": "C", "clearance": "5mm", "grid": "1mm",
        "keep": [["320mm", "220mm", "120mm"]], "upright": false, "divisor": 5000, "step": "0.5kg",
        "skipBad": false, "work": 5, "unit": "mm",
    })), responses(
    (status = 200, description = "Lines of JSON", body = RangeLine, content_type = "application/x-ndjson"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 404, description = "There is no such file", body = Refusal),
    (status = 409, description = "No range can be chosen for this", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for no range", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn choose(
    State(app): State<Arc<App>>,
    Body(ask): Body<RangeAsk>,
) -> Result<Response, Refuse> {
    let search = app.compute(move |app| search(&app.shelf, &ask)).await??;
    let (tell, told) = mpsc::channel::<Bytes>(4);
    let ranges = Arc::clone(&app.ranges);
    tokio::spawn(async move {
        let turn = tokio::select! {
            t = ranges.acquire_owned() => t,
            () = tell.closed() => return,
        };
        let _ = tokio::task::spawn_blocking(move || {
            let _turn = turn;
            run(&app, &search, &tell)
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

/// A search in the list of those that can be stopped, for as long as it goes on.
struct Listed<'a> {
    app: &'a App,
    run: u32,
    stop: Arc<AtomicBool>,
}

impl<'a> Listed<'a> {
    fn new(app: &'a App) -> Self {
        let run = app.last_run.fetch_add(1, Ordering::Relaxed).wrapping_add(1);
        let stop = Arc::new(AtomicBool::new(false));
        let mut runs = app.runs.lock().unwrap_or_else(PoisonError::into_inner);
        runs.insert(run, Arc::clone(&stop));
        drop(runs);
        Self { app, run, stop }
    }
}

impl Drop for Listed<'_> {
    fn drop(&mut self) {
        let runs = self.app.runs.lock();
        runs.unwrap_or_else(PoisonError::into_inner)
            .remove(&self.run);
    }
}

/// Sends every line; stops early when nobody reads any more.
fn run(app: &App, search: &Search, tell: &mpsc::Sender<Bytes>) -> Option<()> {
    let say = |line: &RangeLine| {
        let mut text = serde_json::to_vec(line).ok()?;
        text.push(b'\n');
        tell.blocking_send(text.into()).ok()
    };
    let listed = Listed::new(app);
    say(&RangeLine::Begun(RangeBegun { run: listed.run }))?;
    let mut sight = Sight {
        tell: &|t| say(&RangeLine::Tick(t)).is_some(),
        gone: &|| tell.is_closed(),
        stop: &listed.stop,
        up_to: u32::try_from(search.up_to()).unwrap_or(u32::MAX),
        told: Instant::now(),
    };
    let (range, wrong) = match search.run(&mut sight) {
        Ok(range) => (Some(range), None),
        Err(no) => {
            let words = match no.help {
                Some(help) => format!("{}: {help}", no.message),
                None => no.message,
            };
            (None, Some(words))
        }
    };
    drop(listed);
    say(&RangeLine::Finished(Box::new(RangeFinished {
        finished: true,
        range,
        wrong,
    })))
}

struct Sight<'a> {
    tell: &'a dyn Fn(RangeTick) -> bool,
    gone: &'a dyn Fn() -> bool,
    stop: &'a AtomicBool,
    up_to: u32,
    told: Instant,
}

impl Watch for Sight<'_> {
    #[allow(clippy::cast_precision_loss, reason = "a share")]
    fn goes_on(&mut self, p: &Progress) -> bool {
        if self.stop.load(Ordering::Relaxed) || (self.gone)() {
            return false;
        }
        if self.told.elapsed() < TICK {
            return true;
        }
        self.told = Instant::now();
        (self.tell)(RangeTick {
            sizes: u32::try_from(p.sizes).unwrap_or(u32::MAX),
            up_to: self.up_to,
            spent: (p.spent as f64 / (p.most as f64).max(1.0)).min(1.0),
            gap: (p.cost.is_finite() && p.cost > 0.0).then(|| (p.cost - p.bound) / p.cost),
        })
    }
}

/// Stops a search, so that it tells the best so far.
#[utoipa::path(post, path = "/api/range/stop", operation_id = "stop_range",
    request_body(content = RangeStop, example = json!({"run": 1})), responses(
    (status = 200, description = "Whether it was still going on", body = RangeStopped),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body names no search", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn stop(
    State(app): State<Arc<App>>,
    Body(ask): Body<RangeStop>,
) -> Result<Json<RangeStopped>, Refuse> {
    let runs = app.runs.lock().unwrap_or_else(PoisonError::into_inner);
    let found = runs.get(&ask.run);
    if let Some(stop) = found {
        stop.store(true, Ordering::Relaxed);
    }
    Ok(Json(RangeStopped {
        stopped: found.is_some(),
    }))
}
