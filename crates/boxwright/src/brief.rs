//! A job with its style and board at hand: ready to be drawn.

use std::sync::Arc;

use crate::blank::{Material, Plan, asked_of, draw, join};
use crate::board::{Board, Boards, Known, read_boards};
use crate::diag::{Diag, Outcome};
use crate::job::Job;
use crate::marks::engrave;
use crate::read::suggestion;
use crate::source::Door;
use crate::style::{Style, parse_style};

/// A job with its style and board at hand.
#[derive(Clone, Debug)]
pub struct Brief {
    /// The job.
    pub job: Job,
    /// Its style.
    pub style: Arc<Style>,
    /// Its board, as listed.
    pub board: Board,
    /// What it is cut from: the board with the job's own caliper and fold axis depth.
    pub material: Material,
    /// What the job puts into the case, each as a job of its own: in the order of the job's
    /// `fitments`, whose rooms are worked out anew whenever it is drawn.
    pub fitments: Vec<Self>,
}

/// Finds the job's style and board.
///
/// # Errors
/// Unknown style or board, or whatever is wrong in their files.
pub fn brief(job: Job, door: &dyn Door) -> Outcome<Brief> {
    let boards = read_boards(&door.boards());
    fitted(job, |job| {
        let mut diags = Vec::new();
        let mut keep = |d: Vec<Diag>| diags.extend(d);
        let style = style_of(job, door).map_err(&mut keep).ok();
        let board = match &boards {
            Ok(boards) => board_of(job, boards).map_err(&mut keep).ok(),
            Err(d) => {
                keep(d.clone());
                None
            }
        };
        style.zip(board).ok_or(diags)
    })
}

/// A job and what it puts into the case, with the styles and boards that `find` hands out.
///
/// # Errors
/// What `find` says of the case or of a fitment, each message once; `not-a-fitment` for a style
/// that leaves nothing.
pub fn fitted(
    job: Job,
    mut find: impl FnMut(&Job) -> Outcome<(Arc<Style>, Board)>,
) -> Outcome<Brief> {
    let mut diags: Vec<Diag> = Vec::new();
    let mut keep = |found: Vec<Diag>| {
        for d in found {
            if !diags.contains(&d) {
                diags.push(d);
            }
        }
    };
    let case = find(&job).map_err(&mut keep).ok();
    let mut fitments = Vec::new();
    for f in &job.fitments {
        let own = f.job(&job);
        match find(&own) {
            Ok((style, board)) if style.is_fitment() => {
                fitments.push(equipped(own, style, board));
            }
            Ok((style, _)) => keep(vec![
                Diag::error(
                    "not-a-fitment",
                    format!(
                        "`{}` is no fitment: its style says nothing of what it leaves clear",
                        style.name
                    ),
                )
                .at(f.style.place.clone())
                .help("name an interior style, one that has `leaves`"),
            ]),
            Err(d) => keep(d),
        }
    }
    match case {
        Some((style, board)) if diags.is_empty() => Ok(Brief {
            fitments,
            ..equipped(job, style, board)
        }),
        _ => Err(diags),
    }
}

/// The style a job names.
///
/// # Errors
/// `unknown-style`, or whatever is wrong in its file.
pub fn style_of(job: &Job, door: &dyn Door) -> Outcome<Arc<Style>> {
    match door.style(&job.style.name) {
        Some(text) => parse_style(&text, door).map(Arc::new),
        None => {
            let known = door.style_names();
            Err(vec![
                Diag::error(
                    "unknown-style",
                    format!("there is no style `{}`", job.style.name),
                )
                .at(job.style.place.clone())
                .help(suggestion(
                    &job.style.name,
                    known.iter().map(String::as_str),
                )),
            ])
        }
    }
}

/// The board a job names.
///
/// # Errors
/// `unknown-board`.
pub fn board_of(job: &Job, boards: &Boards) -> Outcome<Board> {
    boards.get(&job.board.name).cloned().ok_or_else(|| {
        let known = boards.names();
        vec![
            Diag::error(
                "unknown-board",
                format!("there is no board `{}`", job.board.name),
            )
            .at(job.board.place.clone())
            .help(suggestion(&job.board.name, known.iter().copied())),
        ]
    })
}

/// A job with a style and a board that are at hand already, and nothing put into the case.
#[must_use]
pub fn equipped(job: Job, style: Arc<Style>, board: Board) -> Brief {
    let material = material(&job, &board);
    Brief {
        job,
        style,
        board,
        material,
        fitments: Vec::new(),
    }
}

/// What a job is cut from: the board, with the caliper and fold axis depth the job states, else
/// those that were measured in the workshop.
#[must_use]
pub fn material(job: &Job, board: &Board) -> Material {
    let known = measured_for(job);
    let depth = |across| {
        let own = if across { known.across } else { known.along };
        own.map_or_else(
            || board.axis_depth(job.creasing, across),
            // Readings stray; an axis lies within the board.
            |f| f.value.clamp(0.0, 1.0),
        )
    };
    Material {
        board: board.name.clone(),
        caliper: job
            .caliper
            .or(known.caliper.map(|f| f.value))
            .unwrap_or(board.caliper),
        axis_depth: job
            .axis_depth
            .unwrap_or_else(|| [depth(false), depth(true)]),
        way: job.creasing,
        grammage: board.grammage(),
    }
}

/// The measured figures a job is drawn with: those of its board and way of creasing that it does
/// not state itself.
#[must_use]
pub fn measured_for(job: &Job) -> Known {
    let mut known = Known::of(&job.measured, &job.board.name, job.creasing);
    if job.caliper.is_some() {
        known.caliper = None;
    }
    if job.axis_depth.is_some() {
        known.along = None;
        known.across = None;
    }
    known
}

impl Brief {
    /// Draws it, with what goes into the case and what is engraved on it.
    ///
    /// # Errors
    /// Everything that keeps a style from being drawn at its size and board.
    pub fn plan(&self) -> Outcome<Plan> {
        let mut plan = draw(&self.style, &self.job, &self.material, &self.board.names())?;
        let mut diags = Vec::new();
        for (asked, own) in self.job.fitments.iter().zip(&self.fitments) {
            let (inside, t) = (self.job.inside, self.material.caliper);
            let room = asked_of(asked, inside, t).map_err(|d| diags.extend(d));
            let Ok((size, at)) = room else { continue };
            let mut own = own.clone();
            own.job.inside = size;
            let joined = own
                .plan()
                .map_err(|d| of(&asked.name, d))
                .and_then(|own| join(&mut plan, asked, at, own));
            diags.extend(joined.err().unwrap_or_default());
        }
        if !diags.is_empty() {
            return Err(diags);
        }
        engrave(&mut plan, &self.job)?;
        Ok(plan)
    }

    /// The board that a piece of its plan is cut from.
    #[must_use]
    pub fn board_of(&self, plan: &Plan, piece: usize) -> &Board {
        let own = plan.fitment_of(piece).and_then(|i| self.fitments.get(i));
        own.map_or(&self.board, |b| &b.board)
    }
}

/// Messages about a fitment, which may stand in the file of its style.
fn of(name: &str, mut diags: Vec<Diag>) -> Vec<Diag> {
    for d in &mut diags {
        d.message = format!("fitment `{name}`: {}", d.message);
    }
    diags
}
