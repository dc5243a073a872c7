//! A style made over so that one of its blanks is cut in two at a crease between walls.
//!
//! The wall beyond the crease becomes the first panel of a piece of its own. In its place the wall
//! before the crease gets a lap, on the same crease and turned as far, that lies on the inside of
//! the wall cut off and is glued to it: the joint that closes the walls of a slotted case, once
//! more. As there, the wall that carries the lap is cut short by the board's thickness, so that the
//! asked room stays; the lap itself stands in it, as the trade accepts. What comes of it is a
//! style like any other: it is drawn, folded and checked as such.

use std::sync::Arc;

use super::model::{
    Formula, Held, JointDef, JointKind, MoveDef, PieceDef, SeatDef, SeatWay, StageDef, Style,
    Toward,
};
use super::panels::{Along, Edge, FoldSide, FoldWay, Item, PanelDef};
use crate::diag::{Diag, Named, Place};
use crate::expr::Expr;
use crate::read::suggestion;
use crate::units::Length;

/// Reach of the lap if none is asked; less on a short wall (common practice, no source).
const LAP: &str = "35mm";
/// Kept between either end of the lap and the creases beside it (default).
const PLAY: &str = "0.5mm";

/// The walls that a style's blanks can be cut off at: those in a row from the first panel of a
/// piece that turn square and inward on the whole far edge of the one before.
#[must_use]
pub fn walls(style: &Style) -> Vec<&str> {
    let mut all = Vec::new();
    for p in &style.pieces {
        let mut at = &p.root;
        while let Some(next) = next_wall(at) {
            all.push(next.name.as_str());
            at = next;
        }
    }
    all
}

fn next_wall(at: &PanelDef) -> Option<&PanelDef> {
    at.items.iter().find_map(|i| match i {
        Item::Panel(p) if is_wall(p) => Some(p.as_ref()),
        _ => None,
    })
}

fn is_wall(p: &PanelDef) -> bool {
    let bare = [&p.angle, &p.allow, &p.when, &p.raise, &p.shift]
        .into_iter()
        .chain(&p.inset)
        .all(Option::is_none);
    bare && p.on == Some(Edge::Far)
        && p.slant.is_none()
        && !p.from_crease
        && !p.may_intrude
        && p.fold == FoldWay::Crease(FoldSide::Inward)
        && matches!(p.along, Along::Whole | Along::Centre)
}

/// Cuts a style's blank off at the wall `at`, with a lap of this reach.
///
/// # Errors
/// `cannot-split` where the wall hangs, turns or is folded in another way than [`walls`] do, or
/// where the style speaks of it in a way that a piece of its own would change.
pub fn split(style: &Style, at: &Named, lap: Option<Length>) -> Result<Style, Box<Diag>> {
    let refuse = |message: String| {
        let known = walls(style);
        let help = if known.is_empty() {
            "the blanks of this style cannot be split".to_owned()
        } else {
            suggestion(&at.name, known.iter().copied())
        };
        Box::new(
            Diag::error("cannot-split", message)
                .at(at.place.clone())
                .help(help),
        )
    };
    let name = at.name.as_str();
    if !walls(style).contains(&name) {
        return Err(refuse(format!(
            "`{name}` is no wall that a blank can be split at"
        )));
    }
    let mut out = style.clone();
    let found = out.pieces.iter().enumerate().find_map(|(i, p)| {
        let mut before = &p.root;
        loop {
            let next = next_wall(before)?;
            if next.name == name {
                return Some((i, before.name.clone(), next.clone(), before.breadth.clone()));
            }
            before = next;
        }
    });
    let Some((piece, parent, mut wall, wide)) = found else {
        return Err(refuse(format!("there is no wall `{name}`")));
    };
    let of_piece = out.pieces[piece].clone();
    if let Some(said) = said_by_piece(style, &of_piece.name) {
        return Err(refuse(format!(
            "the style speaks of `{said}`, which a split would part"
        )));
    }
    let mut below = vec![name];
    names_below(&wall, &mut below);
    if below.contains(&style.room.on.as_str()) {
        return Err(refuse(format!(
            "the room stands on `{}`, which would be cut off",
            style.room.on
        )));
    }
    let Some(breadth) = wall.breadth.clone().or(wide) else {
        return Err(refuse(format!(
            "the style does not say how wide `{name}` is"
        )));
    };
    if [&breadth, &wall.reach]
        .iter()
        .any(|f| f.expr.text().contains("parent-") || f.expr.text().contains("edge"))
    {
        return Err(refuse(format!(
            "the size of `{name}` is given by the panel it hangs on"
        )));
    }
    let formula = |text: String| -> Result<Formula, Box<Diag>> {
        let expr = Expr::parse(&text)
            .map_err(|e| refuse(format!("`{name}` cannot be split: {}", e.message)))?;
        Ok(Formula {
            expr,
            place: at.place.clone(),
            exact: false,
        })
    };
    let reach = match lap {
        Some(l) => format!("{}mm", l.to_mm()),
        None => format!("min({LAP}, ({}) / 3)", wall.reach.expr.text()),
    };
    let lap_name = joint_of(name);
    let second = free_name(style, &of_piece.name);
    let lap = PanelDef {
        name: lap_name.clone(),
        place: at.place.clone(),
        reach: formula(reach)?,
        breadth: Some(formula(format!("({}) - 2 * {PLAY}", breadth.expr.text()))?),
        may_intrude: true,
        items: Arc::new(vec![taper(&formula)?]),
        ..wall.clone()
    };
    // One or two walls come from outside. With three, the last would have to pass the whole case:
    // they come along the first of them, open side ahead.
    let third = next_wall(&wall).and_then(next_wall).is_some();
    let comes = if third { Toward::Far } else { Toward::Out };
    wall.on = None;
    wall.fold = FoldWay::Flat;
    wall.breadth = Some(breadth);
    let mut root = of_piece.root.clone();
    if !replaced(&mut root, &parent, name, &lap, &formula)? {
        return Err(refuse(format!("there is no wall `{name}`")));
    }
    out.pieces[piece].root = root;
    out.pieces.insert(
        piece + 1,
        PieceDef {
            name: second.clone(),
            place: at.place.clone(),
            root: wall,
            ..of_piece
        },
    );
    out.seats.push(SeatDef {
        place: at.place.clone(),
        piece: second.clone(),
        on: lap_name.clone(),
        way: SeatWay::Placed {
            breadth: Toward::Right,
            reach: Toward::Far,
            at: [
                Some(formula(format!("0mm - {PLAY}"))?),
                None,
                Some(formula("0mm - t".to_owned())?),
            ],
        },
        comes,
    });
    out.joints.push(JointDef {
        place: at.place.clone(),
        when: None,
        panel: lap_name.clone(),
        to: name.to_owned(),
        kind: JointKind::Glue,
    });
    restaged(&mut out.stages, at, &lap_name, &second).map_err(refuse)?;
    Ok(out)
}

/// What the lap that takes the place of a wall is called.
#[must_use]
pub fn joint_of(wall: &str) -> String {
    format!("{wall} joint")
}

/// The ends of a lap are drawn in, unless it is so narrow that little would be left.
fn taper(formula: &impl Fn(String) -> Result<Formula, Box<Diag>>) -> Result<Item, Box<Diag>> {
    let angle = || formula("if breadth > 30mm then 15deg else 0deg".to_owned());
    Ok(Item::Taper(Some(angle()?), Some(angle()?)))
}

/// Puts the lap in the place of the wall, and cuts its carrier short by the thickness.
fn replaced(
    at: &mut PanelDef,
    parent: &str,
    wall: &str,
    lap: &PanelDef,
    formula: &impl Fn(String) -> Result<Formula, Box<Diag>>,
) -> Result<bool, Box<Diag>> {
    let carries = at.name == parent;
    let items: &mut Vec<Item> = Arc::make_mut(&mut at.items);
    for item in items.iter_mut() {
        let Item::Panel(p) = item else { continue };
        if carries && p.name == wall {
            **p = lap.clone();
            at.reach = formula(format!("({}) - t", at.reach.expr.text()))?;
            return Ok(true);
        }
        if replaced(p, parent, wall, lap, formula)? {
            return Ok(true);
        }
    }
    Ok(false)
}

fn names_below<'a>(at: &'a PanelDef, all: &mut Vec<&'a str>) {
    for item in at.items.iter() {
        if let Item::Panel(p) = item {
            all.push(&p.name);
            names_below(p, all);
        }
    }
}

/// A panel that the style calls with the name of the piece.
fn said_by_piece<'a>(style: &'a Style, piece: &str) -> Option<&'a str> {
    let turned = style.stages.iter().flat_map(|s| &s.moves).flat_map(|m| {
        let panels = match m {
            MoveDef::Turn { panels, .. } => panels.as_slice(),
            _ => &[],
        };
        panels.iter().map(|(n, _)| n.as_str())
    });
    let joined = style.joints.iter().flat_map(|j| [&j.panel, &j.to]);
    let seats = style.seats.iter().map(|s| &s.on);
    let mut all = joined
        .chain(seats)
        .map(String::as_str)
        .chain([style.room.on.as_str()])
        .chain(turned);
    all.find(|n| n.split_once(": ").is_some_and(|(p, _)| p == piece))
}

fn free_name(style: &Style, piece: &str) -> String {
    let taken = |n: &str| style.pieces.iter().any(|p| p.name == n);
    // A piece that was split off already is counted on from.
    let base = piece
        .rsplit_once(' ')
        .filter(|(base, n)| n.parse::<u32>().is_ok() && taken(base))
        .map_or(piece, |(base, _)| base);
    (2..)
        .map(|i| format!("{base} {i}"))
        .find(|n| !taken(n))
        .unwrap_or_default()
}

/// Turns the lap in place of the wall, and brings the second piece in after that.
fn restaged(stages: &mut Vec<StageDef>, at: &Named, lap: &str, second: &str) -> Result<(), String> {
    let wall = at.name.as_str();
    fn names(moves: &[MoveDef], wall: &str, within: bool) -> (usize, bool) {
        moves.iter().fold((0, false), |(n, odd), m| match m {
            MoveDef::Turn { panels, .. } => {
                let own = panels.iter().filter(|(p, _)| p == wall).count();
                (n + own, odd || (within && own > 0))
            }
            MoveDef::Each { moves, .. } => {
                let (own, inner) = names(moves, wall, true);
                (n + own, odd || inner)
            }
            MoveDef::Enter { .. } => (n, odd),
        })
    }
    let mut found = None;
    for (i, s) in stages.iter_mut().enumerate() {
        let (count, odd) = names(&s.moves, wall, false);
        if count == 0 {
            continue;
        }
        if count > 1 || odd || found.is_some() {
            return Err(format!("`{wall}` is folded in several steps"));
        }
        if s.held == Held::Pressed || s.when.is_some() {
            return Err(format!(
                "`{wall}` is folded in a step that is pressed flat or not always done"
            ));
        }
        for m in &mut s.moves {
            if let MoveDef::Turn { panels, .. } = m {
                for (p, _) in panels.iter_mut().filter(|(p, _)| p == wall) {
                    lap.clone_into(p);
                }
            }
        }
        found = Some(i);
    }
    let Some(i) = found else {
        return Err(format!("`{wall}` is never folded"));
    };
    // Pieces split off before this one come in before it.
    let after = stages[i + 1..]
        .iter()
        .take_while(|s| s.moves.iter().any(|m| matches!(m, MoveDef::Enter { .. })))
        .count();
    let held = stages[i].held;
    let enters: Place = at.place.clone();
    stages.insert(
        i + 1 + after,
        StageDef {
            title: format!("Join the {wall}"),
            place: at.place.clone(),
            text: format!(
                "Glue the {lap} and bring up the piece with the {wall}, which comes outside it; press until it holds."
            ),
            when: None,
            held,
            packs: false,
            moves: vec![MoveDef::Enter {
                piece: second.to_owned(),
                place: enters,
                from: None,
            }],
        },
    );
    Ok(())
}
