//! Inside sizes for things, each with what limits it.

use serde::Serialize;

use crate::diag::Diag;
use crate::units::{Area, Length, LengthUnit, Mass, Pressure, trimmed};

use super::arrange::{By, Effort, Item, MOST_ITEMS, Packing, search};
use super::cushion::{
    FACTOR, area, class, impact_speed, least_travel, spring_travel, stress, thickness,
};
use super::drops::DropTable;
use super::reasons::{limits, words};
use super::things::{Rules, SIDES, Thing, from_steps, steps_up};

/// The cushion, with the figures it comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cushion {
    /// The thing that needs it most.
    pub thing: String,
    /// Peak acceleration that thing bears, in g.
    pub peak: f64,
    /// Name of its class of fragility.
    pub class: &'static str,
    /// Height of fall.
    pub drop: Length,
    /// Where that comes from.
    pub drop_from: String,
    /// Speed at the end of the fall, in m/s.
    pub speed: f64,
    /// Cushion factor.
    pub factor: f64,
    /// Whether the factor is only the usual one, from memory.
    pub factor_from_memory: bool,
    /// Thickness on each side, rounded up to a whole millimetre.
    pub thickness: Length,
    /// The same, not rounded.
    pub exact: Length,
    /// No cushion can do with less travel than this.
    pub least_travel: Length,
    /// A linear spring needs this much.
    pub spring_travel: Length,
    /// Area the cushion on one face needs for the static stress asked: at least for the most stress,
    /// at most for the least.
    pub areas: [Option<Area>; 2],
}

/// Padding beyond the things, on the two ends of length, width and depth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Padding {
    /// Left and right, front and back, bottom and top.
    pub sides: [[Length; 2]; 3],
    /// Plain clearance in it, where a side does not have its own.
    pub room: Length,
    /// The cushion in it, when a thing is fragile.
    pub cushion: Option<Cushion>,
}

/// Where one thing lies.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lying {
    /// Its name, with a number where there are several.
    pub thing: String,
    /// The corner nearest the origin of the inside, without its wrap.
    pub at: [Length; 3],
    /// Extents along length, width and depth, without its wrap.
    pub size: [Length; 3],
    /// Which of its sizes runs along length, width and depth.
    pub along: [&'static str; 3],
    /// Wrap on each side.
    pub wrap: Length,
    /// Whether it is a cylinder, packed as the cuboid around it.
    pub round: bool,
    /// Share of its footprint that rests on the floor of the padding or on other things.
    pub supported: f64,
    /// What it rests on; empty for the floor.
    pub on: Vec<String>,
}

/// One inside size with its arrangement.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proposal {
    /// What goes in, in words.
    pub name: String,
    /// Inside length, width and depth.
    pub inside: [Length; 3],
    /// What the things need, without the padding at the sides.
    pub contents: [Length; 3],
    /// Where each thing lies.
    pub arrangement: Vec<Lying>,
    /// Mass of the things together; case and padding come on top.
    pub mass: Mass,
    /// What is padded, and why.
    pub padding: Padding,
    /// What this size is the smallest found of.
    pub best_of: Vec<By>,
    /// Inside volume in litres.
    pub litres: f64,
    /// Area of a plain slotted blank round it, 2 (L + W) (W + D), without flap or board thickness.
    pub blank: Area,
    /// Share of the inside that things fill.
    pub filled: f64,
    /// Static stress on the cushion, when all of a face carries: on the ends of length, of width and
    /// of depth.
    pub stress: [Pressure; 3],
    /// What limits each direction, and how things lie.
    pub reasons: Vec<String>,
}

/// Proposals for one set of things.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proposals {
    /// The best first, by what was asked.
    pub list: Vec<Proposal>,
    /// What they are ranked by.
    pub by: By,
    /// Sizes found beyond these that none of them beats in every direction.
    pub more: usize,
    /// Nothing is better than the first by more than this share: zero when that is proved the best,
    /// `None` when the search came to no end.
    pub gap: Option<f64>,
    /// No inside of these things has less volume, in litres.
    pub least_litres: f64,
    /// Steps of the search.
    pub steps: u64,
}

/// What is asked beside the things.
#[derive(Clone, Copy, Debug)]
pub struct Wish {
    /// What is to be small.
    pub by: By,
    /// How long to look.
    pub effort: Effort,
    /// Proposals to be given at most.
    pub most: usize,
    /// Unit of the lengths in the reasons.
    pub unit: LengthUnit,
}

impl Default for Wish {
    fn default() -> Self {
        Self {
            by: By::Volume,
            effort: Effort::default(),
            most: 6,
            unit: LengthUnit::Mm,
        }
    }
}

/// Proposes inside sizes for all of `things` together, with what should be known about them.
///
/// # Errors
/// `too-many` over [`MOST_ITEMS`] things, `unknown-table`, `too-heavy` for the table of heights,
/// `no-arrangement` where things that carry nothing leave none.
pub fn propose(
    things: &[&Thing],
    rules: &Rules,
    tables: &[DropTable],
    wish: &Wish,
) -> Result<(Proposals, Vec<Diag>), Vec<Diag>> {
    let mut each: Vec<(&Thing, String)> = Vec::new();
    for t in things {
        for n in 1..=t.count {
            let name = if t.count > 1 {
                format!("{} {n}", t.name)
            } else {
                t.name.clone()
            };
            each.push((t, name));
        }
    }
    let Some((first, _)) = each.first() else {
        return Err(vec![Diag::error("empty", "no thing is asked for")]);
    };
    if each.len() > MOST_ITEMS {
        let message = format!(
            "{} things are asked for; {MOST_ITEMS} in one case are the most that are arranged",
            each.len()
        );
        let help = "split them over several cases, or give --each for a case to each";
        return Err(vec![
            Diag::error("too-many", message)
                .at(first.place.clone())
                .help(help),
        ]);
    }
    let mass: Mass = each.iter().map(|(t, _)| t.mass).sum();
    let mut warnings = Vec::new();
    let cushion = cushion(things, rules, tables, mass, &mut warnings)?;
    let padding = padding(rules, cushion);
    let items: Vec<Item> = each.iter().map(|(t, _)| t.item()).collect();
    let pads = padding.sides.map(|[a, b]| steps_up(a + b));
    let found = search(&items, pads, wish.by, wish.effort);
    if found.packings.is_empty() {
        let message =
            "no arrangement was found in which things that carry nothing have nothing above";
        return Err(vec![
            Diag::error("no-arrangement", message).at(first.place.clone()),
        ]);
    }
    let inside = |p: &Packing| [0, 1, 2].map(|a| p.room[a] + pads[a]);
    // The best of each kind; of several, the one that comes first.
    let mut best: Vec<Vec<By>> = vec![Vec::new(); found.packings.len()];
    for by in By::ALL {
        let least = (0..best.len()).min_by_key(|k| (by.score(inside(&found.packings[*k])), *k));
        if let Some(k) = least {
            best[k].push(by);
        }
    }
    let shown: Vec<usize> = {
        let mut order: Vec<usize> = (0..best.len()).collect();
        order.sort_by_key(|k| (*k > 0 && best[*k].is_empty(), *k));
        order.truncate(wish.most.max(1));
        order.sort_unstable();
        order
    };
    let name = title(things);
    let list = shown
        .iter()
        .map(|k| {
            let packing = &found.packings[*k];
            let mut p = proposal(&each, packing, inside(packing), &padding, mass);
            p.name.clone_from(&name);
            p.best_of.clone_from(&best[*k]);
            p.reasons = limits(&p, wish.unit);
            p.reasons.extend(words(&p));
            p
        })
        .collect();
    #[allow(clippy::cast_precision_loss, reason = "a volume told to three digits")]
    let least_litres = found.least_volume as f64 * 1e-9;
    let proposals = Proposals {
        list,
        by: wish.by,
        more: found.packings.len() - shown.len(),
        gap: found.gap,
        least_litres,
        steps: found.steps,
    };
    Ok((proposals, warnings))
}

/// What a set of things is called.
#[must_use]
pub fn title(things: &[&Thing]) -> String {
    let told: Vec<String> = things
        .iter()
        .map(|t| match t.count {
            1 => t.name.clone(),
            n => format!("{n} x {}", t.name),
        })
        .collect();
    match told.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn cushion(
    things: &[&Thing],
    rules: &Rules,
    tables: &[DropTable],
    mass: Mass,
    warnings: &mut Vec<Diag>,
) -> Result<Option<Cushion>, Vec<Diag>> {
    let fragile = things.iter().filter_map(|t| Some((*t, t.fragile?)));
    let most = fragile.fold(
        None,
        |worst: Option<(&Thing, f64)>, (t, peak)| match worst {
            Some((_, p)) if p <= peak => worst,
            _ => Some((t, peak)),
        },
    );
    let Some((thing, peak)) = most else {
        return Ok(None);
    };
    let (drop, drop_from) = if let Some(drop) = rules.drop {
        (drop, "as given".to_owned())
    } else {
        let table = tables.iter().find(|t| t.name == rules.drop_table);
        let Some(table) = table else {
            let known: Vec<&str> = tables.iter().map(|t| t.name.as_str()).collect();
            let message = format!("there is no table of drop heights `{}`", rules.drop_table);
            let help = crate::read::suggestion(&rules.drop_table, known);
            return Err(vec![Diag::error("unknown-table", message).help(help)]);
        };
        let Some(height) = table.height(mass) else {
            let message = format!(
                "{} kg is more than the table of drop heights `{}` goes to",
                trimmed(mass.to_kg(), 2),
                table.name
            );
            let help = "give the height yourself with `drop`, or send less in one case";
            return Err(vec![
                Diag::error("too-heavy", message)
                    .at(thing.place.clone())
                    .help(help),
            ]);
        };
        (height, format!("table {} ({})", table.name, table.from))
    };
    let factor = rules.factor.unwrap_or(FACTOR);
    if rules.factor.is_none() {
        let message = format!(
            "the cushion factor {FACTOR} is a usual one from memory, not that of your padding"
        );
        let help = "read it off the cushion curve of your foam, and give `cushion factor=...`";
        warnings.push(Diag::warning("usual-factor", message).help(help));
    }
    let exact = thickness(factor, drop, peak);
    let whole = Length::mm((exact.to_mm() - 1e-9).ceil());
    let [least, most] = rules.stress;
    Ok(Some(Cushion {
        thing: thing.name.clone(),
        peak,
        class: class(peak),
        drop,
        drop_from,
        speed: impact_speed(drop),
        factor,
        factor_from_memory: rules.factor.is_none(),
        thickness: whole,
        exact,
        least_travel: least_travel(drop, peak).unwrap_or(Length::ZERO),
        spring_travel: spring_travel(drop, peak).unwrap_or(Length::ZERO),
        areas: [most.map(|s| area(mass, s)), least.map(|s| area(mass, s))],
    }))
}

fn padding(rules: &Rules, cushion: Option<Cushion>) -> Padding {
    let thick = cushion.as_ref().map_or(Length::ZERO, |c| c.thickness);
    let usual = thick + rules.room;
    Padding {
        sides: rules.sides.map(|ends| ends.map(|s| s.unwrap_or(usual))),
        room: rules.room,
        cushion,
    }
}

fn proposal(
    each: &[(&Thing, String)],
    packing: &Packing,
    inside: [i64; 3],
    padding: &Padding,
    mass: Mass,
) -> Proposal {
    let start = padding.sides.map(|[a, _]| a);
    let lying: Vec<Lying> = each
        .iter()
        .zip(&packing.placed)
        .enumerate()
        .map(|(i, ((thing, name), p))| {
            let item = thing.item();
            let way = item.ways.iter().find(|w| w.map(|a| item.size[a]) == p.size);
            let way = way.copied().unwrap_or([0, 1, 2]);
            let (supported, on) = support(packing, i);
            Lying {
                thing: name.clone(),
                at: [0, 1, 2].map(|a| start[a] + from_steps(p.at[a]) + thing.wrap),
                size: way.map(|a| thing.size[a]),
                along: way.map(|a| thing.size_name(a)),
                wrap: thing.wrap,
                round: thing.round,
                supported,
                on: on.into_iter().map(|j| each[j].1.clone()).collect(),
            }
        })
        .collect();
    let [l, w, d] = inside.map(from_steps);
    let contents = packing.room.map(from_steps);
    let volume = |s: &[Length; 3]| s.iter().map(|v| v.to_mm()).product::<f64>();
    let things: f64 = lying.iter().map(|t| volume(&t.size)).sum();
    let face = |a: usize, b: usize| {
        let (a, b) = (contents[a].to_mm(), contents[b].to_mm());
        stress(mass, Area::mm2(a * b))
    };
    Proposal {
        name: String::new(),
        inside: [l, w, d],
        contents,
        arrangement: lying,
        mass,
        padding: padding.clone(),
        best_of: Vec::new(),
        litres: volume(&[l, w, d]) * 1e-6,
        blank: Area::mm2(2.0 * (l + w).to_mm() * (w + d).to_mm()),
        filled: things / volume(&[l, w, d]),
        stress: [face(1, 2), face(0, 2), face(0, 1)],
        reasons: Vec::new(),
    }
}

/// How much of a thing's footprint rests on something, and on what.
fn support(packing: &Packing, i: usize) -> (f64, Vec<usize>) {
    let p = packing.placed[i];
    if p.at[2] == 0 {
        return (1.0, Vec::new());
    }
    let mut shared = 0;
    let mut on = Vec::new();
    for (j, q) in packing.placed.iter().enumerate() {
        if j == i || q.at[2] + q.size[2] != p.at[2] {
            continue;
        }
        let span = |a: usize| {
            let from = p.at[a].max(q.at[a]);
            let to = (p.at[a] + p.size[a]).min(q.at[a] + q.size[a]);
            (to - from).max(0)
        };
        let area = span(0) * span(1);
        if area > 0 {
            shared += area;
            on.push(j);
        }
    }
    #[allow(clippy::cast_precision_loss, reason = "a share told in percent")]
    let share = shared as f64 / (p.size[0] * p.size[1]) as f64;
    (share, on)
}

/// The side called by its word, such as `left`.
#[must_use]
pub const fn side_word(axis: usize, end: usize) -> &'static str {
    SIDES[axis][end]
}
