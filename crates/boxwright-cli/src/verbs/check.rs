//! `check`: draws, folds and checks a job without writing anything.

use boxwright::blank::Plan;
use boxwright::check::{Verdict, check};
use boxwright::diag::Diag;
use boxwright::emit::report::{Told, report};
use boxwright::fold::Folder;

use super::{Done, Status};
use crate::args::JobArgs;
use crate::case::{Drawn, case};
use crate::desk::Desk;
use crate::say;

/// Runs it.
pub fn run(args: &JobArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let case = case(args, desk)?;
    let brief = &case.brief;
    let (plan, told): (&Plan, Told) = match &case.drawn {
        Drawn::Unsound(plan, findings) => (plan, Told::unsound(findings.clone())),
        Drawn::Sound(plan) => {
            let folder = Folder::new(plan);
            let found = check(brief, &folder);
            (plan, Told::folded(&folder, &found))
        }
    };
    let text = if args.json {
        report(brief, plan, &told, &[])
            .to_json()
            .map_err(|d| vec![d])?
    } else {
        say::report(brief, plan, &told, args.units.into(), args.all)
    };
    Done::saying(&text, status(&told), Vec::new())
}

/// The exit status for a verdict.
pub fn status(told: &Told) -> Status {
    match told.verdict() {
        Verdict::Pass | Verdict::Caution => Status::Fine,
        Verdict::Fail => Status::Failed,
    }
}
