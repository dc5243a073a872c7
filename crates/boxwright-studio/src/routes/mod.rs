//! The addresses the server answers.

mod choose;
mod contents;
mod cutting;
mod design;
mod jobs;
mod layouts;
mod learn;
mod lists;
mod range;
mod ship;
mod stock;
mod sweep;

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, AtomicU32};
use std::sync::{Arc, Mutex};

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::middleware::from_fn_with_state;
use axum::response::IntoResponse;
use axum::routing::get;
use tokio::sync::Semaphore;
use tower_http::catch_panic::CatchPanicLayer;
use utoipa::OpenApi;
use utoipa_axum::router::{OpenApiRouter, UtoipaMethodRouterExt};
use utoipa_axum::routes;

use crate::cutting::Cuts;
use crate::guard::{Guard, LONGEST, MOST_BYTES, MOST_LAYOUT_BODY, guard, stumbled};
use crate::page;
use crate::refuse::Refuse;
use crate::shelf::Shelf;

/// What every request may use.
pub struct App {
    /// Styles and boards.
    pub shelf: Shelf,
    /// Computing requests at once; the others wait for their turn.
    turns: Arc<Semaphore>,
    /// Sweeps at once; the others wait.
    sweeps: Arc<Semaphore>,
    /// Searches for a layout at once; the others wait.
    lays: Arc<Semaphore>,
    /// Cuts worked out at once; the others wait, and designs do not wait for them.
    cutting: Arc<Semaphore>,
    /// Packed cases judged at once; the others wait, and those nobody waits for are never begun.
    sending: Arc<Semaphore>,
    /// Sets of things arranged, and styles and boards chosen, at once; the others wait.
    packing: Arc<Semaphore>,
    /// Cuts worked out last.
    cuts: Cuts,
    /// Searches for a range at once; the others wait.
    ranges: Arc<Semaphore>,
    /// Those that can be stopped, by their number.
    runs: Mutex<HashMap<u32, Arc<AtomicBool>>>,
    last_run: AtomicU32,
    guard: Guard,
}

impl App {
    /// An app reached by `port`.
    #[must_use]
    pub fn new(shelf: Shelf, port: u16) -> Self {
        let cores = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
        Self {
            shelf,
            turns: Arc::new(Semaphore::new(cores)),
            sweeps: Arc::new(Semaphore::new(1)),
            lays: Arc::new(Semaphore::new(1)),
            cutting: Arc::new(Semaphore::new(1)),
            sending: Arc::new(Semaphore::new(1)),
            packing: Arc::new(Semaphore::new(1)),
            cuts: Cuts::default(),
            ranges: Arc::new(Semaphore::new(1)),
            runs: Mutex::default(),
            last_run: AtomicU32::new(0),
            guard: Guard {
                port,
                longest: LONGEST,
            },
        }
    }

    /// Runs `work` beside the threads that answer, a few at once.
    pub async fn compute<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&Self) -> T + Send + 'static,
    ) -> Result<T, Refuse> {
        self.in_turn(&self.turns, work).await
    }

    /// Runs `work` beside the threads that answer, when it is its turn among its like.
    async fn in_turn<T: Send + 'static>(
        self: &Arc<Self>,
        turns: &Arc<Semaphore>,
        work: impl FnOnce(&Self) -> T + Send + 'static,
    ) -> Result<T, Refuse> {
        let turn = Arc::clone(turns).acquire_owned().await;
        let turn = turn.map_err(|_| Refuse::broken())?;
        let app = Arc::clone(self);
        tokio::task::spawn_blocking(move || {
            // Kept until the work is done, even when nobody waits for it any more.
            let _turn = turn;
            work(&app)
        })
        .await
        .map_err(|_| Refuse::broken())
    }
}

/// A state for the examples of the document.
fn example() -> serde_json::Value {
    serde_json::json!({
        "title": "mantel clock",
        "style": "slotted-case",
        "inside": {"length": "342mm", "width": "178mm", "depth": "10 in + 12 mm"},
        "board": "C",
        "crease": "rule",
        "set": {"gap": "3mm"},
        "sheet": ["1600mm", "1200mm"],
        "quantity": 12,
        "drawing": {"owner": "the clock workshop"},
    })
}

#[derive(OpenApi)]
#[openapi(info(
    title = "boxwright studio",
    description = "The local server behind the studio page. Lengths are in mm, angles in degrees, masses in kg."
))]
struct Document;

fn api() -> OpenApiRouter<Arc<App>> {
    OpenApiRouter::with_openapi(Document::openapi())
        .routes(routes!(lists::styles))
        .routes(routes!(lists::picture))
        .routes(routes!(lists::boards))
        .routes(routes!(design::design))
        .routes(routes!(design::file))
        .routes(routes!(sweep::sweep))
        .routes(routes!(jobs::list))
        .routes(routes!(jobs::open, jobs::save))
        .routes(routes!(stock::book, stock::change))
        .routes(routes!(stock::text))
        .routes(routes!(cutting::machines))
        .routes(routes!(layouts::lay))
        .routes(routes!(layouts::list))
        .routes(
            routes!(layouts::open, layouts::save).layer(DefaultBodyLimit::max(MOST_LAYOUT_BODY)),
        )
        .routes(routes!(layouts::take))
        .routes(routes!(cutting::cut))
        .routes(routes!(cutting::file))
        .routes(routes!(contents::lists))
        .routes(routes!(contents::propose))
        .routes(routes!(choose::choose))
        .routes(routes!(ship::lists))
        .routes(routes!(ship::ship))
        .routes(routes!(ship::sheet))
        .routes(routes!(range::orders))
        .routes(routes!(range::choose).layer(DefaultBodyLimit::max(MOST_LAYOUT_BODY)))
        .routes(routes!(range::stop))
        .routes(routes!(learn::strips))
        .routes(routes!(learn::strips_file))
        .routes(routes!(learn::readings))
        .routes(routes!(learn::fit))
        .routes(routes!(learn::book, learn::change))
        .routes(routes!(learn::spread))
}

/// The OpenAPI document.
#[must_use]
pub fn document() -> utoipa::openapi::OpenApi {
    api().into_openapi()
}

/// Everything the server answers, guarded.
pub fn router(app: Arc<App>) -> Router {
    let (api, document) = api().split_for_parts();
    let document = document.to_json().unwrap_or_default();
    let g = app.guard.clone();
    let all = api
        .route(
            "/api/openapi.json",
            get(move || {
                let document = document.clone();
                async move { ([("content-type", "application/json")], document) }
            }),
        )
        .route("/", get(page::front))
        .fallback(page::other)
        .method_not_allowed_fallback(not_allowed)
        .with_state(app);
    guarded(all, g)
}

/// What stands before every address.
fn guarded(all: Router, g: Guard) -> Router {
    all.layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(CatchPanicLayer::custom(stumbled))
        .layer(from_fn_with_state(g, guard))
}

async fn not_allowed() -> impl IntoResponse {
    Refuse::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "no-method",
        "this address is not asked in this way",
    )
}

#[cfg(test)]
mod tests {
    use axum::body::Body;
    use axum::http::{Request, header};
    use tower::ServiceExt;

    use super::*;

    #[tokio::test]
    async fn a_panic_is_answered_and_nothing_else_suffers() {
        let app = Arc::new(App::new(Shelf::new(None).unwrap(), 80));
        let a = Arc::clone(&app);
        let g = app.guard.clone();
        let stumbling = Router::new()
            .route(
                "/here",
                get(|| async { [0u8; 0][std::hint::black_box(1)].to_string() }),
            )
            .route(
                "/beside",
                get(move || async move {
                    a.compute(|_| [0u8; 0][std::hint::black_box(1)].to_string())
                        .await
                }),
            );
        let stumbling = guarded(stumbling, g);
        let ask = |path: &str| {
            let r = Request::get(path).header(header::HOST, "localhost");
            r.body(Body::empty()).unwrap()
        };
        for _ in 0..20 {
            for path in ["/here", "/beside"] {
                let r = stumbling.clone().oneshot(ask(path)).await.unwrap();
                assert_eq!(r.status(), StatusCode::INTERNAL_SERVER_ERROR);
                let body = axum::body::to_bytes(r.into_body(), 1 << 16).await.unwrap();
                assert!(body.starts_with(b"{\"error\":{\"code\":\"broken\""));
            }
        }
        let r = router(app).oneshot(ask("/api/styles")).await.unwrap();
        assert_eq!(r.status(), StatusCode::OK);
    }
}
