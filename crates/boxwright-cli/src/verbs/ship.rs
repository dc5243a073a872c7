//! `ship`: what a packed case stands, weighs and costs on its way, and its shipping sheet.

mod asked;
mod told;

use std::path::Path;

use boxwright::blank::{Plan, SoundPlan};
use boxwright::brief::Brief;
use boxwright::check::{Finding, check};
use boxwright::diag::Diag;
use boxwright::emit::bundle::stem;
use boxwright::emit::pdf::pdf;
use boxwright::emit::png::png;
use boxwright::emit::report::{Told, report};
use boxwright::emit::ship_report::ship_report;
use boxwright::emit::shipping_sheet::{Shipping, shipping_sheet};
use boxwright::fold::Folder;
use boxwright::haul::{haul, unmet};
use boxwright::ship::signs::due;
use boxwright::ship::{contents_mass, outlook};
use boxwright::units::Mass;

use super::check::status;
use super::{Done, Status};
use crate::args::ShipArgs;
use crate::case::{Drawn, case};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::{folder, say};

/// Breadth of the picture of the first page, in pixels.
const PIXELS: u32 = 1240;

/// Runs it.
pub fn run(args: &ShipArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let case = case(&args.job, desk)?;
    let asked = asked::asked(args, desk)?;
    match case.drawn {
        Drawn::Sound(plan) => sound(args, &case.brief, &plan, &asked),
        Drawn::Unsound(plan, findings) => unsound(args, &case.brief, &plan, findings),
    }
}

/// Says what `check` says: a case that cannot be folded has no outside.
fn unsound(
    args: &ShipArgs,
    brief: &Brief,
    plan: &Plan,
    findings: Vec<Finding>,
) -> Result<Done, Vec<Diag>> {
    let told = Told::unsound(findings);
    let text = if args.job.json {
        report(brief, plan, &told, &[])
            .to_json()
            .map_err(|d| vec![d])?
    } else {
        let mut text = say::report(brief, plan, &told, args.job.units.into(), args.job.all);
        text.push('\n');
        let why = "nothing can be said: this blank cannot be cut from one sheet as it is drawn";
        say::line(&mut text, "shipping", why);
        text
    };
    Done::saying(&text, Status::Failed, Vec::new())
}

fn sound(
    args: &ShipArgs,
    brief: &Brief,
    plan: &SoundPlan,
    asked: &asked::Asked,
) -> Result<Done, Vec<Diag>> {
    let one = |d: Diag| vec![d];
    let folder = Folder::new(plan);
    let found = check(brief, &folder);
    let checks = Told::folded(&folder, &found);
    let known = asked
        .mass
        .or_else(|| (!brief.job.contents.is_empty()).then(|| contents_mass(&brief.job)));
    let on = &asked.conditions;
    let outlook = outlook(brief, &folder, known.unwrap_or(Mass::ZERO), on);
    let haul = haul(&outlook, on, &asked.wish).map_err(one)?;
    let signs = due(&brief.job, &outlook.lift);
    let missing = unmet(&outlook, &haul, asked.by_name);
    let mut names = Vec::new();
    let stem = stem(&brief.job.title);
    let out = args
        .out
        .clone()
        .unwrap_or_else(|| Path::new("out").join(&stem));
    if !args.no_sheet {
        let pages = shipping_sheet(&Shipping {
            brief,
            folder: &folder,
            outlook: &outlook,
            haul: &haul,
            signs: &signs,
            mass_given: asked.mass.is_some(),
            unit: args.job.units.into(),
        });
        let title = format!("shipping sheet, {}", brief.job.title);
        let mut files = vec![(
            format!("{stem}-shipping.pdf"),
            pdf(&pages, &title).map_err(one)?,
        )];
        if let Some(first) = pages.first() {
            files.push((
                format!("{stem}-shipping.png"),
                png(first, PIXELS).map_err(one)?,
            ));
        }
        folder::write(&out, &files).map_err(one)?;
        names.extend(files.into_iter().map(|(name, _)| name));
    }
    let text = if args.job.json {
        ship_report(&outlook, &haul, &signs, missing.clone(), names)
            .to_json()
            .map_err(one)?
    } else {
        let paths: Vec<String> = names
            .iter()
            .map(|n| out.join(n).display().to_string())
            .collect();
        let told = told::Told {
            brief,
            outlook: &outlook,
            haul: &haul,
            signs: &signs,
            unmet: &missing,
            checks: &checks,
            known,
            given: asked.mass.is_some(),
            files: &paths,
            show: args.job.units.into(),
            all: args.job.all,
        };
        cleaned(&told.text())
    };
    let fine = missing.iter().all(|u| !u.asked) && status(&checks) == Status::Fine;
    let status = if fine { Status::Fine } else { Status::Failed };
    Done::saying(&text, status, Vec::new())
}
