//! From what the page asks to a task for the search, and the search on several threads.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use boxwright::blank::SoundPlan;
use boxwright::diag::Diag;
use boxwright::job::parse_job;
use boxwright::sheet::file::MOST_PLACED;
use boxwright::sheet::part::parts;
use boxwright::sheet::{
    Layout, Part, Piece, Progress, Score, Shape, Task, lay_telling, score, steps,
};
use boxwright::source::Text;
use boxwright::units::{Length, trimmed};

use crate::folder::Sort;
use crate::refuse::Refuse;
use crate::shelf::Shelf;
use crate::stock::{pieces, sheet_side, typed};
use crate::wire::LayoutAsk;

/// Room between parts when none is asked: default, as on the command line.
const SPACING: &str = "3mm";
/// Room to the edge when none is asked: default, as on the command line.
const MARGIN: &str = "5mm";
/// Largest spacing and margin.
const LARGEST: Length = Length::mm(15_000.0);
/// Most jobs in a layout.
const MOST_JOBS: usize = 100;
/// Longest search, in seconds.
pub const LONGEST_SEARCH: f64 = 600.0;
/// Between two looks at what the threads have found.
const TICK: Duration = Duration::from_millis(200);

/// What is asked, ready to be searched.
///
/// # Errors
/// The first thing wrong with it, told with the job or the field it is about.
pub fn task(shelf: &Shelf, ask: &LayoutAsk) -> Result<Task, Refuse> {
    let refuse = |d: Box<Diag>| Refuse::of_diags("not-laid", &[*d]);
    if ask.jobs.is_empty() || ask.jobs.len() > MOST_JOBS {
        let message = format!("a layout is of 1 to {MOST_JOBS} jobs");
        return Err(Refuse::conflict("not-laid", message));
    }
    if !(0.0..=LONGEST_SEARCH).contains(&ask.seconds) {
        let message = format!("a search lasts from 0 to {LONGEST_SEARCH} seconds");
        return Err(Refuse::conflict("not-laid", message));
    }
    let mut all: Vec<Part> = Vec::new();
    let mut titles: Vec<String> = Vec::new();
    for j in &ask.jobs {
        let (title, more) = of_job(shelf, &j.job, j.quantity, &titles)?;
        titles.push(title);
        all.extend(more);
    }
    let wanted: u64 = all.iter().map(|p| u64::from(p.wanted)).sum();
    if wanted > MOST_PLACED as u64 {
        let message = format!("{wanted} parts cannot be laid at once: {MOST_PLACED} at most");
        let no = Refuse::conflict("too-many-parts", message);
        return Err(no.help("lay them in several layouts"));
    }
    let stock = match &ask.sheets {
        Some(_) => sheets(shelf, ask)?,
        None => {
            let folder = shelf.folder().ok_or_else(no_folder)?;
            pieces(folder.root())?.0
        }
    };
    if stock.is_empty() {
        let no = Refuse::conflict("no-stock", "there are no sheets to lay on");
        return Err(no.help("add sheets to the stock, or type the sheets in"));
    }
    let room = |name: &str, text: &str, otherwise: &str| {
        let text = if text.trim().is_empty() {
            otherwise
        } else {
            text
        };
        let l = typed(name, text).map_err(refuse)?;
        if (Length::ZERO..=LARGEST).contains(&l) {
            Ok(steps(l))
        } else {
            let message = format!("{name} lies between 0 and 15 m");
            Err(Refuse::conflict("not-laid", message))
        }
    };
    let reach = match &ask.machine {
        None => None,
        Some(name) => Some(shelf.machine(name)?.bed.map(steps)),
    };
    let title = ask.title.trim();
    Ok(Task {
        title: if title.is_empty() {
            titles.swap_remove(0)
        } else {
            title.to_owned()
        },
        parts: all,
        stock,
        spacing: room("room between parts", &ask.spacing, SPACING)?,
        margin: room("room to the edge", &ask.margin, MARGIN)?,
        reach,
    })
}

fn no_folder() -> Refuse {
    Refuse::absent("no-folder", "no folder is opened")
}

/// The parts of a job, and a title that none before it has.
fn of_job(
    shelf: &Shelf,
    name: &str,
    quantity: Option<u32>,
    before: &[String],
) -> Result<(String, Vec<Part>), Refuse> {
    let held = shelf.folder().ok_or_else(no_folder)?;
    let held = held.find(Sort::Job, name)?;
    let told = |d: Vec<Diag>| {
        let mut no = Refuse::of_diags("not-laid", &d);
        no.message = format!("`{name}`: {}", no.message);
        no
    };
    let mut job = parse_job(&Text {
        name: name.to_owned(),
        text: held.text,
    })
    .map_err(told)?;
    job.measured = shelf.measured().map_err(told)?;
    let mut title = job.title.clone();
    let mut n = 2;
    while before.contains(&title) {
        title = format!("{} ({n})", job.title);
        n += 1;
    }
    let style = shelf.style(&job, Some(name)).map_err(told)?;
    let wanted = quantity.unwrap_or(job.quantity);
    let brief = shelf.brief(job, style, Some(name)).map_err(told)?;
    let plan: SoundPlan = brief.plan().map_err(told)?.validated().map_err(|_| {
        let message = format!("the blanks of `{title}` cannot be cut from one sheet as drawn");
        Refuse::conflict("not-sound", message).help("open the job: the page tells what is wrong")
    })?;
    let parts = parts(&plan, &brief.job, &title, wanted).map_err(told)?;
    Ok((title, parts))
}

/// The sheets typed in, those of one kind put together and named as on the command line.
fn sheets(shelf: &Shelf, ask: &LayoutAsk) -> Result<Vec<Piece>, Refuse> {
    let mut stock: Vec<Piece> = Vec::new();
    for s in ask.sheets.iter().flatten() {
        if shelf.boards().get(&s.board).is_none() {
            let message = format!("there is no board `{}`", s.board);
            return Err(Refuse::conflict("not-laid", message));
        }
        let side = |name: &str, text: &str| {
            sheet_side(name, text).map_err(|d| Refuse::of_diags("not-laid", &[*d]))
        };
        let size = [side("length", &s.length)?, side("width", &s.width)?];
        let shape = Shape::rect(steps(size[0]), steps(size[1]));
        let same = |p: &&mut Piece| p.board == s.board && p.shape == shape && p.price == s.price;
        if let Some(known) = stock.iter_mut().find(same) {
            known.count = known.count.saturating_add(s.count).min(1_000_000);
            continue;
        }
        let [x, y] = size.map(|l| trimmed(l.to_mm(), 3));
        let mut name = format!("{} {x} x {y}", s.board);
        let mut n = 2;
        while stock.iter().any(|p| p.name == name) {
            name = format!("{} {x} x {y} ({n})", s.board);
            n += 1;
        }
        let piece = Piece {
            name,
            board: s.board.clone(),
            shape,
            count: s.count.min(1_000_000),
            price: s.price,
            off_cut: false,
        };
        if let Some(fault) = piece.fault() {
            return Err(Refuse::conflict(
                "not-laid",
                format!("`{}`: {fault}", piece.name),
            ));
        }
        stock.push(piece);
    }
    Ok(stock)
}

/// What the search tells on its way.
pub enum News<'a> {
    /// A better layout than any before.
    Best(&'a Layout),
    /// It goes on.
    Tick,
    /// It is over; whether something stopped it.
    Over(Option<&'a Diag>),
}

/// Searches on several threads, each with its own random numbers, until the time is over or `tell`
/// says that nobody listens any more. `tell` is given the news, the time since the start and the
/// rounds done.
pub fn search(
    task: &Task,
    seconds: f64,
    seed: u64,
    tell: &mut dyn FnMut(News<'_>, Duration, u64) -> bool,
) {
    let began = Instant::now();
    let limit = Duration::try_from_secs_f64(seconds).unwrap_or_default();
    let threads = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let stop = AtomicBool::new(false);
    let rounds = AtomicU64::new(0);
    let running = AtomicU64::new(threads as u64);
    let best: Mutex<Option<(Score, Layout)>> = Mutex::new(None);
    let offer = |layout: Layout| {
        let s = score(&layout);
        let mut best = best.lock().unwrap_or_else(PoisonError::into_inner);
        if best.as_ref().is_none_or(|b| s.beats(&b.0)) {
            *best = Some((s, layout));
        }
    };
    let wrong: Mutex<Option<Diag>> = Mutex::new(None);
    let work = |n: u64| {
        let mut known = 0;
        let mut spent = |p: &Progress| {
            rounds.fetch_add(p.moves.saturating_sub(known), Ordering::Relaxed);
            known = p.moves;
            if stop.load(Ordering::Relaxed) || limit.is_zero() {
                1.0
            } else {
                began.elapsed().as_secs_f64() / limit.as_secs_f64()
            }
        };
        match lay_telling(task, seed.wrapping_add(n), &mut spent, &mut |l| offer(l)) {
            Ok(last) => offer(last),
            Err(d) => *wrong.lock().unwrap_or_else(PoisonError::into_inner) = Some(d),
        }
        running.fetch_sub(1, Ordering::Relaxed);
    };
    thread::scope(|scope| {
        let work = &work;
        for n in 0..threads as u64 {
            scope.spawn(move || work(n));
        }
        let mut sent: Option<Score> = None;
        loop {
            // Looked at before what was found, so that the last of it is not missed.
            let over = running.load(Ordering::Relaxed) == 0;
            let newer = {
                let best = best.lock().unwrap_or_else(PoisonError::into_inner);
                best.clone().filter(|b| sent.is_none_or(|s| b.0.beats(&s)))
            };
            let done = rounds.load(Ordering::Relaxed);
            let heard = match &newer {
                Some((s, layout)) => {
                    sent = Some(*s);
                    tell(News::Best(layout), began.elapsed(), done)
                }
                None => tell(News::Tick, began.elapsed(), done),
            };
            if !heard {
                stop.store(true, Ordering::Relaxed);
            }
            if over {
                break;
            }
            thread::sleep(TICK.min(limit).max(Duration::from_millis(5)));
        }
    });
    let wrong = wrong.into_inner().unwrap_or_else(PoisonError::into_inner);
    tell(
        News::Over(wrong.as_ref()),
        began.elapsed(),
        rounds.load(Ordering::Relaxed),
    );
}
