//! A job with its style and board at hand: ready to be drawn.

use std::sync::Arc;

use crate::blank::{Material, Plan, draw};
use crate::board::{Board, Boards, read_boards};
use crate::diag::{Diag, Outcome};
use crate::job::Job;
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
}

/// Finds the job's style and board.
///
/// # Errors
/// Unknown style or board, or whatever is wrong in their files.
pub fn brief(job: Job, door: &dyn Door) -> Outcome<Brief> {
    let mut diags = Vec::new();
    let mut keep = |d: Vec<Diag>| diags.extend(d);
    let style = style_of(&job, door).map_err(&mut keep).ok();
    let board = read_boards(&door.boards())
        .and_then(|boards| board_of(&job, &boards))
        .map_err(&mut keep)
        .ok();
    match (style, board) {
        (Some(style), Some(board)) => Ok(equipped(job, style, board)),
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

/// A job with a style and a board that are at hand already.
#[must_use]
pub fn equipped(job: Job, style: Arc<Style>, board: Board) -> Brief {
    let material = material(&job, &board);
    Brief {
        job,
        style,
        board,
        material,
    }
}

/// What a job is cut from: the board, with the caliper and fold axis depth the job states.
#[must_use]
pub fn material(job: &Job, board: &Board) -> Material {
    Material {
        board: board.name.clone(),
        caliper: job.caliper.unwrap_or(board.caliper),
        axis_depth: job.axis_depth.unwrap_or_else(|| {
            [
                board.axis_depth(job.creasing, false),
                board.axis_depth(job.creasing, true),
            ]
        }),
        way: job.creasing,
        grammage: board.grammage(),
    }
}

impl Brief {
    /// Draws it.
    ///
    /// # Errors
    /// Everything that keeps the style from being drawn at this size and board.
    pub fn plan(&self) -> Outcome<Plan> {
        draw(&self.style, &self.job, &self.material, &self.board.names())
    }
}
