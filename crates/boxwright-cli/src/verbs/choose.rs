//! `choose`: which style and which board, ranked, with reasons.

pub mod asked;
mod hand;
mod told;

use std::path::Path;

use boxwright::diag::Diag;
use boxwright::job::parse_job;
use boxwright::propose::{Proposals, job_text, propose};
use boxwright::source::Text;
use serde::Serialize;

use super::{Done, Status};
use crate::args::ChooseArgs;
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::{folder, say};

/// What `--json` prints.
#[derive(Serialize)]
struct Printed<'a> {
    format: &'static str,
    version: u32,
    title: &'a str,
    by: &'static str,
    #[serde(flatten)]
    found: &'a Proposals,
}

/// Runs it.
pub fn run(args: &ChooseArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let asked = asked::asked(args, desk)?;
    let hand = hand::hand(args, &asked, desk)?;
    let (need, warnings) = (asked.need, asked.warnings);
    let found = propose(&need, &hand, usize::from(args.top.max(args.take)));
    let job = match &args.job {
        Some(path) => Some((path, taken(&found, args)?)),
        None => None,
    };
    let status = if found.proposals.is_empty() {
        Status::Failed
    } else {
        Status::Fine
    };
    if let Some((path, text)) = &job
        && path.as_path() == Path::new("-")
    {
        return Done::saying(text, status, warnings);
    }
    if let Some((path, text)) = &job {
        folder::write_new(path, text.as_bytes()).map_err(|mut d| {
            d.help = Some("name another file with --job, or move it away first".into());
            vec![d]
        })?;
    }
    let text = if args.json {
        json(&need.title, need.prefer.word(), &found)?
    } else {
        let mut text = told::told(&need, &hand, &found, args);
        if let Some((path, _)) = &job {
            let shown = path.display();
            text.push('\n');
            let words = format!("{shown}; next: boxwright make {shown}");
            say::line(&mut text, "job written", &words);
        }
        cleaned(&text)
    };
    Done::saying(&text, status, warnings)
}

/// The job of the proposal that is taken. It is read back: a job that could not be read is never
/// written.
fn taken(found: &Proposals, args: &ChooseArgs) -> Result<String, Vec<Diag>> {
    let Some(proposal) = found.proposals.get(usize::from(args.take) - 1) else {
        let message = match found.proposals.len() {
            0 => "nothing would do, so there is no job to write".to_owned(),
            n => format!(
                "there is no proposal {}: {} would do",
                args.take,
                say::counted(n, "style")
            ),
        };
        let help = "without --job the reasons are listed";
        return Err(vec![Diag::error("no-proposal", message).help(help)]);
    };
    let text = job_text(&proposal.job);
    parse_job(&Text {
        name: "the job of the proposal".to_owned(),
        text: text.clone(),
    })?;
    Ok(text)
}

fn json(title: &str, by: &'static str, found: &Proposals) -> Result<String, Vec<Diag>> {
    let printed = Printed {
        format: "boxwright-proposals",
        version: 1,
        title,
        by,
        found,
    };
    let text = serde_json::to_string_pretty(&printed).map_err(|e| {
        vec![Diag::error(
            "cannot-print",
            format!("the proposals cannot be written as JSON: {e}"),
        )]
    })?;
    Ok(text + "\n")
}
