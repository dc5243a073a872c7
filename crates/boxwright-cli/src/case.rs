//! From a job on the command line to a case that is drawn, folded and checked.

use std::path::Path;

use boxwright::blank::{Plan, SoundPlan};
use boxwright::board::Measured;
use boxwright::brief::{Brief, brief};
use boxwright::check::{self, Finding};
use boxwright::diag::Diag;
use boxwright::job::{Job, parse_job};

use crate::args::JobArgs;
use crate::desk::Desk;
use crate::{known, overrides};

/// A job drawn.
pub struct Case {
    /// The job with its style and board.
    pub brief: Brief,
    /// Its blanks.
    pub drawn: Drawn,
}

/// What came of drawing it.
pub enum Drawn {
    /// Blanks that may be folded and cut.
    Sound(Box<SoundPlan>),
    /// Blanks that may not, and why.
    Unsound(Box<Plan>, Vec<Finding>),
}

/// Reads the job and draws it.
pub fn case(args: &JobArgs, desk: &mut Desk) -> Result<Case, Vec<Diag>> {
    let job = job(args, desk)?;
    draw(job, desk)
}

/// Reads the job, changed as the command line says, and the files it names.
pub fn job(args: &JobArgs, desk: &mut Desk) -> Result<Job, Vec<Diag>> {
    let text = desk.job(&args.job).map_err(|d| vec![d])?;
    let mut job = parse_job(&text)?;
    overrides::apply(&mut job, args, desk)?;
    job.measured = known::at_hand(&args.measured, None)?;
    let base = if args.job == Path::new("-") {
        None
    } else {
        args.job.parent()
    };
    bring(&job, base.unwrap_or(Path::new("")), desk)?;
    Ok(job)
}

/// Reads a job as it is, and the files it names.
pub fn plain(path: &Path, measured: &[Measured], desk: &mut Desk) -> Result<Job, Vec<Diag>> {
    let text = desk.job(path).map_err(|d| vec![d])?;
    let mut job = parse_job(&text)?;
    job.measured = measured.to_vec();
    let base = if path == Path::new("-") {
        None
    } else {
        path.parent()
    };
    bring(&job, base.unwrap_or(Path::new("")), desk)?;
    Ok(job)
}

/// Reads the files a job names.
pub fn bring(job: &Job, base: &Path, desk: &mut Desk) -> Result<(), Vec<Diag>> {
    let mut diags = Vec::new();
    let fitments = job.fitments.iter().map(|f| &f.style);
    for style in std::iter::once(&job.style).chain(fitments) {
        diags.extend(desk.bring_style(style, base).err());
    }
    for file in &job.board_files {
        diags.extend(desk.bring_boards(file, base).err());
    }
    if diags.is_empty() { Ok(()) } else { Err(diags) }
}

/// Draws a job whose files are at hand.
pub fn draw(job: Job, desk: &Desk) -> Result<Case, Vec<Diag>> {
    let brief = brief(job, desk)?;
    let drawn = match brief.plan()?.validated() {
        Ok(plan) => Drawn::Sound(Box::new(plan)),
        Err((plan, defects)) => Drawn::Unsound(plan, check::of_defects(&defects)),
    };
    Ok(Case { brief, drawn })
}
