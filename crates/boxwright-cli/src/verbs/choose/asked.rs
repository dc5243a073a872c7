//! What is needed, from the command line and a job file.

use std::path::Path;

use boxwright::contents::drops::drop_tables;
use boxwright::contents::proposal::title;
use boxwright::contents::{self, By, Thing, Wish, read_things};
use boxwright::diag::{Diag, Place};
use boxwright::job::{Content, Job, asked_size, outside_constant, parse_job};
use boxwright::pallet::{Base, Down, Rules, Work, read_tables};
use boxwright::propose::{Need, Pallet, Prefer};
use boxwright::read::{parse, suggestion};
use boxwright::ship::{Conditions, table};
use boxwright::source::Text;
use boxwright::style::Needs;
use boxwright::units::{Dim, Length, Mass};

use crate::args::{ChooseArgs, Three};
use crate::case;
use crate::desk::Desk;
use crate::overrides::option;
use crate::verbs::size;

/// What is needed, and what the file says of sheet and bed.
pub struct Asked {
    /// The need.
    pub need: Need,
    /// The job it comes from.
    pub job: Option<Job>,
    /// What the user should know.
    pub warnings: Vec<Diag>,
}

/// Greatest mass of contents.
const HEAVIEST: f64 = 20_000.0;

/// Reads it.
pub fn asked(args: &ChooseArgs, desk: &mut Desk) -> Result<Asked, Vec<Diag>> {
    let on = Conditions::usual(desk)?;
    let mut diags = Vec::new();
    let (mut need, job, warnings) = match (&args.inside, &args.source) {
        (Some(three), _) => match inside(three, desk) {
            Ok(inside) => (Need::new("case", inside, on), None, Vec::new()),
            Err(d) => return Err(d),
        },
        (None, Some(path)) => of_file(path, on, args, desk)?,
        (None, None) => {
            let message = "nothing says what is needed";
            let help = "give a things file, a job file, or --inside such as 342mmx178mmx266mm";
            return Err(vec![Diag::error("missing", message).help(help)]);
        }
    };
    if let Some(title) = &args.title {
        let place = option(desk, "--title", title);
        if title.trim().is_empty() {
            diags.push(Diag::error("missing", "the title has nothing in it").at(place));
        }
        need.title.clone_from(title);
    }
    if let Some(text) = &args.mass {
        match mass("--mass", text, desk) {
            Ok((mass, place)) => {
                need.contents = vec![Content {
                    name: need.title.clone(),
                    place,
                    mass,
                    count: 1,
                    fragile: None,
                }];
            }
            Err(d) => diags.push(*d),
        }
    }
    match share("--humidity", &args.humidity, desk) {
        Ok(v) => need.on.surroundings.humidity = v,
        Err(d) => diags.push(*d),
    }
    // One is needed where pallets decide.
    if args.pallet.is_some() || args.by.0 == Prefer::Pallet {
        match pallet(args.pallet.as_ref(), &args.pallet_height, desk) {
            Ok(p) => need.pallet = Some(p),
            Err(d) => diags.extend(d),
        }
    }
    need.on.surroundings.days = args.days;
    need.on.high = args.high;
    need.graded = args.graded;
    need.open = args.open;
    need.prefer = args.by.0;
    need.quantity = args.quantity.unwrap_or(need.quantity);
    need.style = Needs {
        family: args.family.clone(),
        closing: args.closing.clone(),
        without: args.without.clone(),
        opening: args.opening.clone(),
        load: None,
        uses: args.uses.clone(),
    };
    wish(&mut need, args);
    if diags.is_empty() {
        Ok(Asked {
            need,
            job,
            warnings,
        })
    } else {
        Err(diags)
    }
}

/// What is sent wants to be posted, unless it is said what it is for; what is fragile wants to be kept.
fn wish(need: &mut Need, args: &ChooseArgs) {
    let mut wishes = args.wish.clone();
    if args.uses.is_empty() && wishes.is_empty() {
        wishes.push("post".into());
    }
    if need.contents.iter().any(|c| c.fragile.is_some()) {
        wishes.push("fragile".into());
    }
    for w in wishes {
        if !need.wishes.contains(&w) {
            need.wishes.push(w);
        }
    }
}

/// How much the search for one pattern may do: little, for hundreds of cases are looked at.
const WORK: Work = Work {
    partings: 20_000,
    skylines: 0,
};
/// Height of a loaded pallet.
const PALLET_HEIGHT: std::ops::RangeInclusive<f64> = 100.0..=5_000.0;

/// The pallet with this name, or the first of the table.
pub fn pallet(name: Option<&String>, height: &str, desk: &Desk) -> Result<Pallet, Vec<Diag>> {
    let tables = read_tables(&[table(desk, "loads")?])?;
    let mut names = tables.pallets.iter().map(|p| p.value.name.as_str());
    let base: Option<Base> = match name {
        Some(name) => tables.pallet(name).map(|p| p.value.clone()),
        None => tables.pallets.first().map(|p| p.value.clone()),
    };
    let Some(base) = base else {
        let name = name.cloned().unwrap_or_default();
        let help = suggestion(&name, names.by_ref().collect::<Vec<_>>());
        return Err(vec![
            Diag::error("unknown-pallet", format!("there is no pallet `{name}`"))
                .at(option(desk, "--pallet", &name))
                .help(help),
        ]);
    };
    let place = option(desk, "--pallet-height", height);
    let height = outside_constant(&place, height, Dim::LENGTH).map_err(|d| vec![*d])?;
    if !PALLET_HEIGHT.contains(&height) {
        let message = "a loaded pallet is 0.1 to 5 m high";
        return Err(vec![Diag::error("out-of-range", message).at(place)]);
    }
    Ok(Pallet {
        base,
        rules: Rules {
            work: WORK,
            ..Rules::up_to(Length::mm(height))
        },
        down: Down::Bottom,
    })
}

fn inside(three: &Three, desk: &Desk) -> Result<[Length; 3], Vec<Diag>> {
    let place = option(desk, "--inside", &three.text);
    let mut diags = Vec::new();
    let mut from = 0;
    let sizes = three.parts.each_ref().map(|part| {
        let start = three.text[from..]
            .find(part.as_str())
            .map_or(0, |at| from + at);
        from = start + part.len();
        let place = Place {
            start,
            end: from,
            ..place.clone()
        };
        let size = outside_constant(&place, part, Dim::LENGTH).map(Length::mm);
        let size = size.and_then(|l| {
            asked_size(l).map_err(|(code, message)| Box::new(Diag::error(code, message).at(place)))
        });
        size.map_err(|d| diags.push(*d)).unwrap_or_default()
    });
    if diags.is_empty() {
        Ok(sizes)
    } else {
        Err(diags)
    }
}

fn mass(name: &str, text: &str, desk: &Desk) -> Result<(Mass, Place), Box<Diag>> {
    let place = option(desk, name, text);
    let kg = outside_constant(&place, text, Dim::MASS)?;
    if kg > 0.0 && kg <= HEAVIEST {
        return Ok((Mass::kg(kg), place));
    }
    let message = format!("the contents weigh more than nothing and up to {HEAVIEST} kg");
    Err(Box::new(Diag::error("out-of-range", message).at(place)))
}

fn share(name: &str, text: &str, desk: &Desk) -> Result<f64, Box<Diag>> {
    let place = option(desk, name, text);
    let v = outside_constant(&place, text, Dim::NUMBER)?;
    if (0.0..=1.0).contains(&v) {
        return Ok(v);
    }
    let diag = Diag::error("out-of-range", "a humidity lies between 0 % and 100 %").at(place);
    Err(Box::new(diag.help("write it as \"80%\" or 0.8")))
}

type Read = (Need, Option<Job>, Vec<Diag>);

fn of_file(
    path: &Path,
    on: Conditions,
    args: &ChooseArgs,
    desk: &mut Desk,
) -> Result<Read, Vec<Diag>> {
    let text = desk.job(path).map_err(|d| vec![d])?;
    let named = |name: &str| parse(&text).is_ok_and(|d| d.nodes().any(|n| n.name() == name));
    if named("thing") && !named("job") {
        return of_things(&text, on, args, desk);
    }
    if let Some(name) = args.thing.first() {
        let message = format!(
            "`{}` is no things file, so it has no thing `{name}`",
            text.name
        );
        return Err(vec![
            Diag::error("no-things", message)
                .at(option(desk, "--thing", name))
                .help("a things file lists what is to be sent: see docs/contents.md"),
        ]);
    }
    of_job(path, &text, on, desk)
}

/// The inside sizes that things ask for, the first of them the one that `size` puts first.
fn of_things(
    text: &Text,
    on: Conditions,
    args: &ChooseArgs,
    desk: &Desk,
) -> Result<Read, Vec<Diag>> {
    let file = read_things(text)?;
    let things = size::asked(&file.things, &args.thing, desk)?;
    let wish = Wish {
        by: match args.by.0 {
            Prefer::Board => By::Board,
            _ => By::Volume,
        },
        most: usize::from(args.sizes),
        unit: args.units.into(),
        ..Wish::default()
    };
    let (found, warnings) = contents::propose(&things, &file.rules, &drop_tables(desk)?, &wish)?;
    let mut insides: Vec<[Length; 3]> = Vec::new();
    for p in &found.list {
        if !insides.contains(&p.inside) {
            insides.push(p.inside);
        }
    }
    let Some(first) = insides.first() else {
        let message = "no inside size was found for these things";
        return Err(vec![Diag::error("no-arrangement", message)]);
    };
    let mut need = Need::new(&title(&things), *first, on);
    need.insides = insides;
    need.contents = contents_of(&things);
    Ok((need, None, warnings))
}

/// Things as what a job sends.
pub fn contents_of(things: &[&Thing]) -> Vec<Content> {
    let each = things.iter().map(|t| Content {
        name: t.name.clone(),
        place: t.place.clone(),
        mass: t.mass,
        count: t.count,
        fragile: t.fragile,
    });
    each.collect()
}

/// A job's inside, contents and quantity; what else it says of the case is told to be left aside.
fn of_job(path: &Path, text: &Text, on: Conditions, desk: &mut Desk) -> Result<Read, Vec<Diag>> {
    let job = parse_job(text)?;
    let base = path.parent().filter(|_| path != Path::new("-"));
    case::bring(&job, base.unwrap_or(Path::new("")), desk)?;
    let mut need = Need::new(&job.title, job.inside, on);
    need.contents.clone_from(&job.contents);
    need.quantity = job.quantity;
    let aside = [
        (!job.set.is_empty(), "its `set`"),
        (!job.fitments.is_empty(), "its fitments"),
        (!job.marks.is_empty(), "its marks"),
        (!job.splits.is_empty(), "its splits"),
        (
            job.caliper.is_some() || job.axis_depth.is_some(),
            "what was measured on its board",
        ),
    ];
    let aside: Vec<&str> = aside.into_iter().filter(|a| a.0).map(|a| a.1).collect();
    let mut warnings = Vec::new();
    if !aside.is_empty() {
        let message = format!(
            "`{}` was written for one style and board: {} left aside",
            job.title,
            aside.join(", ") + if aside.len() == 1 { " is" } else { " are" }
        );
        let help = "put them into the job that comes of it, where they still make sense";
        warnings.push(Diag::warning("left-aside", message).help(help));
    }
    Ok((need, Some(job), warnings))
}
