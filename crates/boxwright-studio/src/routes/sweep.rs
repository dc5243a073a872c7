//! A sweep, told cell by cell while it runs.

use std::convert::Infallible;
use std::sync::Arc;

use axum::body::{Body as Stream, Bytes};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use boxwright::diag::{Diag, Place};
use boxwright::expr::parse_quantity;
use boxwright::style::place_error;
use boxwright::sweep::{self, Axis, Sweep};
use boxwright::units::{Dim, Length, LengthUnit, Quantity, trimmed};
use futures_util::stream::unfold;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use tokio::sync::mpsc;

use super::{App, example};
use crate::extract::Body;
use crate::refuse::Refuse;
use crate::wire::{
    CellVerdict, Refusal, Shown, SweepAsk, SweepCell, SweepCells, SweepFinished, SweepLine,
    SweepTotal, SweepValue, Vary,
};
use crate::{ask, tongue};

/// Cells in one line of the answer.
const CELLS_A_LINE: usize = 64;

/// Checks the case over a grid of two sizes or parameters.
///
/// Each line of the answer is one JSON value: first the number of cells, then cells as they are done, then the end. Closing the
/// connection stops the work.
#[utoipa::path(post, path = "/api/sweep",
    request_body(content = SweepAsk, example = json!({"state": example(), "vary": [
        {"name": "inside.width", "from": "100mm", "to": "300mm", "steps": 5},
        {"name": "set.slot", "from": "0mm", "to": "1/2in", "steps": 3},
    ]})), responses(
    (status = 200, description = "Lines of JSON", body = SweepLine, content_type = "application/x-ndjson"),
    (status = 400, description = "The body is no JSON", body = Refusal),
    (status = 409, description = "This cannot be swept", body = Refusal),
    (status = 413, description = "The body is too large", body = Refusal),
    (status = 415, description = "The body is not said to be JSON", body = Refusal),
    (status = 422, description = "The body asks for no sweep", body = Refusal),
    (status = "4XX", description = "Refused", body = Refusal),
    (status = "5XX", description = "The program stumbled", body = Refusal),
))]
pub async fn sweep(
    State(app): State<Arc<App>>,
    Body(ask): Body<SweepAsk>,
) -> Result<Response, Refuse> {
    let sweep = app
        .compute(move |app| prepared(app, ask))
        .await?
        .map_err(|d| Refuse::of_diags("not-swept", &d))?;
    // A reader that is slow holds the work up; one that is gone ends it.
    let (tell, told) = mpsc::channel::<Bytes>(4);
    let sweeps = Arc::clone(&app.sweeps);
    tokio::spawn(async move {
        let turn = tokio::select! {
            t = sweeps.acquire_owned() => t,
            () = tell.closed() => return,
        };
        let _ = tokio::task::spawn_blocking(move || {
            let _turn = turn;
            run(&sweep, &tell)
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
fn run(sweep: &Sweep, tell: &mpsc::Sender<Bytes>) -> Option<()> {
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let say = |line: &SweepLine| {
        let mut text = serde_json::to_vec(line).ok()?;
        text.push(b'\n');
        tell.blocking_send(text.into()).ok()
    };
    let total = sweep.cells();
    say(&SweepLine::Total(SweepTotal {
        total: count(total),
        across: values(sweep.across()),
        up: values(sweep.up()),
    }))?;
    let mut done = 0;
    while done < total {
        let to = (done + CELLS_A_LINE).min(total);
        let cells = (done..to).into_par_iter().map(|n| {
            let (i, j) = sweep.place(n);
            let cell = sweep.cell(i, j);
            SweepCell {
                i: count(i),
                j: count(j),
                verdict: verdict(cell.verdict),
                code: cell.code.to_owned(),
                message_in: tongue::inches(&cell.message),
                message: cell.message,
            }
        });
        let cells: Vec<SweepCell> = cells.collect();
        done = to;
        say(&SweepLine::Cells(SweepCells {
            done: count(done),
            cells,
        }))?;
    }
    say(&SweepLine::Finished(SweepFinished { finished: true }))
}

/// To this many decimals a value is written into a field.
const TYPED: usize = 4;

fn values(axis: &Axis) -> Vec<SweepValue> {
    let value = |k: usize| {
        let q = axis.value(k);
        let (shown, typed) = match q.dim {
            Dim::LENGTH => {
                let length = Length::mm(q.value);
                let shown = [LengthUnit::Mm, LengthUnit::Inch].map(|u| u.show(length));
                (shown, format!("{}mm", trimmed(q.value, TYPED)))
            }
            Dim::ANGLE => {
                let degrees = q.value.to_degrees();
                let shown = format!("{} deg", trimmed(degrees, 2));
                (
                    [shown.clone(), shown],
                    format!("{}deg", trimmed(degrees, TYPED)),
                )
            }
            _ => {
                let shown = q.to_string();
                ([shown.clone(), shown.clone()], shown)
            }
        };
        let [mm, inch] = shown;
        SweepValue {
            shown: Shown { mm, inch },
            typed,
        }
    };
    (0..axis.steps()).map(value).collect()
}

const fn verdict(v: sweep::CellVerdict) -> CellVerdict {
    match v {
        sweep::CellVerdict::Pass => CellVerdict::Pass,
        sweep::CellVerdict::Caution => CellVerdict::Caution,
        sweep::CellVerdict::Fail => CellVerdict::Fail,
        sweep::CellVerdict::Refused => CellVerdict::Refused,
    }
}

fn prepared(app: &App, ask: SweepAsk) -> Result<Sweep, Vec<Diag>> {
    let SweepAsk { mut state, vary } = ask;
    // What the page shows for the varied fields does not matter and may be half typed.
    for v in &vary {
        match v.name.split_once('.') {
            Some(("inside", size)) => {
                if let Some(text) = state.inside.get_mut(size) {
                    text.clone_from(&v.from);
                }
            }
            Some(("set", name)) => {
                state.set.insert(name.to_owned(), v.from.clone());
            }
            _ => {}
        }
    }
    let from = state.job.clone();
    let mut job = ask::job(&state)?;
    app.shelf.know(&mut job, &state)?;
    let style = app.shelf.style(&job, from.as_deref())?;
    let axis = |v: &Vary| axis(&style, v);
    let (across, up) = (axis(&vary[0])?, axis(&vary[1])?);
    let brief = app.shelf.brief(job, Arc::clone(&style), from.as_deref())?;
    Sweep::new(brief, across, up).map_err(|d| vec![*d])
}

fn axis(style: &boxwright::style::Style, vary: &Vary) -> Result<Axis, Vec<Diag>> {
    let place = Place {
        input: vary.name.clone(),
        start: 0,
        end: 0,
    };
    let name = match vary.name.split_once('.') {
        Some(("inside" | "set", name)) => name,
        _ => {
            let message = format!("`{}` is nothing that can be varied", vary.name);
            let help = "name it such as inside.width or set.gap";
            return Err(vec![Diag::error("not-varied", message).help(help)]);
        }
    };
    let quantity = |text: &str| -> Result<Quantity, Vec<Diag>> {
        parse_quantity(text).map_err(|e| vec![place_error(&place, false, &e)])
    };
    let ends = (quantity(&vary.from)?, quantity(&vary.to)?);
    let steps = usize::try_from(vary.steps).unwrap_or(usize::MAX);
    Axis::new(style, name, ends, steps, &place).map_err(|d| vec![*d])
}
