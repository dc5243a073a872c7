//! From things as typed to inside sizes: written as a things file, read and judged as every such file.

use std::fmt::Write as _;

use boxwright::contents::drops::drop_tables;
use boxwright::contents::things::SIDES;
use boxwright::contents::{
    By, Proposal, Proposals, Thing, Wish, propose, read_things, usual_board, usual_style,
};
use boxwright::diag::Diag;
use boxwright::emit::arrangement::arrangement;
use boxwright::source::{Shipped, Text};
use boxwright::units::{Length, LengthUnit, trimmed};

use crate::jobfile::quoted;
use crate::refuse::Refuse;
use crate::shipping::both;
use crate::wire::{
    ContentsAsk, ContentsBy, ContentsCushion, ContentsJob, ContentsLists, ContentsPadding,
    ContentsShown, ContentsSize, Inside, ShipNamed, ThingShape, ThingUp, TypedThing,
};

/// Kinds of things in one ask.
const MOST_KINDS: usize = 100;

/// What packing can be chosen from.
///
/// # Errors
/// Whatever is wrong in the table.
pub fn lists() -> Result<ContentsLists, Refuse> {
    let all = drop_tables(&Shipped).map_err(|d| Refuse::of_diags("not-packed", &d))?;
    let drops = all.into_iter().map(|t| ShipNamed {
        name: t.name,
        title: t.title,
    });
    Ok(ContentsLists {
        drops: drops.collect(),
    })
}

/// Inside sizes for things.
///
/// # Errors
/// The first thing wrong with what was typed, told with the thing it is about.
pub fn shown(ask: &ContentsAsk) -> Result<ContentsShown, Refuse> {
    if ask.things.is_empty() || ask.things.len() > MOST_KINDS {
        let message = format!("a case is for 1 to {MOST_KINDS} kinds of things");
        return Err(Refuse::conflict("not-packed", message));
    }
    let told = |d: Vec<Diag>| told(&d, ask);
    let text = Text {
        name: FILE.to_owned(),
        text: written(ask),
    };
    let file = read_things(&text).map_err(told)?;
    let tables = drop_tables(&Shipped).map_err(told)?;
    let things: Vec<&Thing> = file.things.iter().collect();
    let unit: LengthUnit = ask.unit.into();
    let wish = Wish {
        by: match ask.by {
            ContentsBy::Volume => By::Volume,
            ContentsBy::Board => By::Board,
            ContentsBy::Flat => By::Flat,
            ContentsBy::Cube => By::Cube,
        },
        unit,
        ..Wish::default()
    };
    let (found, warnings) = propose(&things, &file.rules, &tables, &wish).map_err(told)?;
    let first = found.list.first().ok_or_else(Refuse::broken)?;
    let mut cautions: Vec<_> = warnings.iter().map(|w| both(&w.message)).collect();
    if first.padding.cushion.is_some() {
        cautions.push(both(
            "cushions are estimates: try a packed case before you trust it with the thing",
        ));
    }
    Ok(ContentsShown {
        name: first.name.clone(),
        mass: first.mass.to_kg(),
        cushion: first.padding.cushion.as_ref().map(|c| ContentsCushion {
            thing: c.thing.clone(),
            peak: c.peak,
            class: c.class.to_owned(),
            drop: c.drop.to_mm(),
            drop_from: c.drop_from.clone(),
            speed: c.speed,
            factor: c.factor,
            thickness: c.thickness.to_mm(),
            least_travel: c.least_travel.to_mm(),
            spring_travel: c.spring_travel.to_mm(),
        }),
        padding: padding(first),
        sizes: found.list.iter().map(|p| size(p, &things, unit)).collect(),
        more: u32::try_from(found.more).unwrap_or(u32::MAX),
        proof: proof(&found),
        cautions,
    })
}

/// What the text made of the ask is called in messages.
const FILE: &str = "things";

/// The things and rules as a things file; each thing on a line of its own, after those of the rules.
fn written(ask: &ContentsAsk) -> String {
    let mut out = String::new();
    for (word, typed) in [("drop", &ask.drop), ("room", &ask.room)] {
        if !typed.trim().is_empty() {
            let _ = writeln!(out, "{word} {}", quoted(typed));
        }
    }
    if !ask.drop_table.trim().is_empty() {
        let _ = writeln!(out, "drop-table {}", quoted(ask.drop_table.trim()));
    }
    if !ask.factor.trim().is_empty() {
        let _ = writeln!(out, "cushion factor={}", quoted(&ask.factor));
    }
    for t in &ask.things {
        thing(&mut out, t);
    }
    out
}

fn thing(out: &mut String, t: &TypedThing) {
    let _ = write!(out, "thing {}", quoted(t.name.trim()));
    let round = t.shape == ThingShape::Cylinder;
    let sizes = if round {
        vec![("diameter", &t.diameter), ("length", &t.length)]
    } else {
        vec![
            ("length", &t.length),
            ("width", &t.width),
            ("depth", &t.depth),
        ]
    };
    for (key, typed) in sizes
        .into_iter()
        .chain([("mass", &t.mass), ("fragile", &t.fragile)])
    {
        if !typed.trim().is_empty() || (round && key == "diameter") {
            let _ = write!(out, " {key}={}", quoted(typed.trim()));
        }
    }
    let up = match t.up {
        ThingUp::Any => None,
        ThingUp::Length => Some("length"),
        ThingUp::Width => Some("width"),
        ThingUp::Depth => Some("depth"),
        ThingUp::Diameter => Some("diameter"),
    };
    if let Some(up) = up {
        let _ = write!(out, " up={}", quoted(up));
    }
    if t.shape == ThingShape::Flat {
        out.push_str(" flat=#true");
    }
    let _ = writeln!(
        out,
        " touch=#{} stack=#{} count={}",
        t.touch, t.stack, t.count
    );
}

/// Messages about the text, told with the thing or rule they are about.
fn told(diags: &[Diag], ask: &ContentsAsk) -> Refuse {
    let mut no = Refuse::of_diags("not-packed", diags);
    let Some(place) = diags.first().and_then(|d| d.place.as_ref()) else {
        return no;
    };
    if place.input != FILE {
        return no;
    }
    let text = written(ask);
    let line = text
        .get(..place.start)
        .map_or(0, |before| before.matches('\n').count());
    let rules = text
        .lines()
        .take_while(|l| !l.starts_with("thing "))
        .count();
    no.message = match line
        .checked_sub(rules)
        .and_then(|n| Some((n, ask.things.get(n)?)))
    {
        Some((n, t)) if t.name.trim().is_empty() => format!("thing {}: {}", n + 1, no.message),
        Some((n, t)) => format!("thing {}, `{}`: {}", n + 1, t.name.trim(), no.message),
        None => {
            let word = text.lines().nth(line).and_then(|l| l.split(' ').next());
            format!("{}: {}", word.unwrap_or_default(), no.message)
        }
    };
    no
}

fn padding(p: &Proposal) -> Vec<ContentsPadding> {
    let ends = SIDES.iter().zip(&p.padding.sides);
    ends.flat_map(|(words, thick)| words.iter().zip(thick))
        .map(|(side, thick)| ContentsPadding {
            side: (*side).to_owned(),
            thick: thick.to_mm(),
        })
        .collect()
}

fn size(p: &Proposal, things: &[&Thing], unit: LengthUnit) -> ContentsSize {
    ContentsSize {
        inside: p.inside.map(Length::to_mm),
        litres: p.litres,
        filled: p.filled,
        blank: p.blank.to_mm2(),
        best_of: p.best_of.iter().map(|b| b.word().to_owned()).collect(),
        stress: p.stress.map(|s| s.to_n_per_mm2() * 1000.0),
        reasons: p.reasons.clone(),
        picture: arrangement(p, unit).to_svg(),
        job: job(p, things),
    }
}

/// What a job takes over: the sizes, and the things with their masses.
fn job(p: &Proposal, things: &[&Thing]) -> ContentsJob {
    let [length, width, depth] = p.inside.map(|v| format!("{}mm", trimmed(v.to_mm(), 1)));
    let line = |t: &&Thing| {
        let mut out = format!(
            "contents {} mass=\"{}kg\"",
            quoted(&t.name),
            trimmed(t.mass.to_kg(), 6)
        );
        if t.count > 1 {
            let _ = write!(out, " count={}", t.count);
        }
        if let Some(peak) = t.fragile {
            let _ = write!(out, " fragile={}", trimmed(peak, 3));
        }
        out
    };
    ContentsJob {
        title: p.name.clone(),
        inside: Inside {
            length,
            width,
            depth,
        },
        contents: things.iter().map(line).collect(),
        style: usual_style(p).to_owned(),
        board: usual_board(p).to_owned(),
    }
}

fn proof(found: &Proposals) -> String {
    let what = match found.by {
        By::Volume => "less volume",
        By::Board => "less board",
        By::Flat => "less depth",
        By::Cube => "a shorter longest side",
    };
    match found.gap {
        Some(0.0) => {
            format!("proved: no inside for these things as they may lie has {what} than the first")
        }
        Some(gap) => format!(
            "no inside has {what} by more than {} % than the first; that it is the best is not proved",
            trimmed(100.0 * gap, 0)
        ),
        None => format!(
            "that the first is the best is not proved; no inside has less than {} litres",
            trimmed(found.least_litres, 2)
        ),
    }
}
