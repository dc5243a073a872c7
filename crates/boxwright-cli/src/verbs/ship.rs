//! `ship`: what a packed case stands, weighs and costs on its way, and its shipping sheet.

mod asked;
mod told;

use std::path::Path;

use boxwright::blank::SoundPlan;
use boxwright::brief::Brief;
use boxwright::check::check;
use boxwright::diag::Diag;
use boxwright::emit::bundle::stem;
use boxwright::emit::pdf::pdf;
use boxwright::emit::png::png;
use boxwright::emit::report::Told;
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
        Drawn::Unsound(plan, findings) => {
            let mut text = say::verdict(&findings, args.job.all);
            text.push('\n');
            say::findings(&mut text, &findings, args.job.units.into(), args.job.all);
            let _ = plan;
            let message = "this blank cannot be cut from one sheet as it is drawn, so nothing can be said of shipping it";
            let help = "`boxwright check` tells what is wrong with it";
            Done::saying(
                &cleaned(&text),
                Status::Failed,
                vec![Diag::warning("not-sound", message).help(help)],
            )
        }
    }
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
    let missing = unmet(&outlook, &haul);
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
        ship_report(&outlook, &haul, &signs, names)
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
    let fine = missing.is_empty() && status(&checks) == Status::Fine;
    let status = if fine { Status::Fine } else { Status::Failed };
    Done::saying(&text, status, Vec::new())
}
