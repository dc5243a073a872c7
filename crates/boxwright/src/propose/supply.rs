//! Whether the blanks of a case fit sheets there are, flutes the right way, and what their board costs.
//!
//! A blank is held against a plain sheet by the rectangle round it, which for a rectangle is exact.
//! Against an off-cut of another shape it is held by laying it.

use serde::Serialize;

use super::need::AtHand;
use crate::blank::{Blank, SoundPlan};
use crate::job::{Flutes, Job};
use crate::sheet::part::parts;
use crate::sheet::{Part, Stock, Task, lay, steps};
use crate::units::{Length, SLACK_MM};

/// Where the board of a case comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Supply {
    /// For each piece, the name of the sheet or off-cut on which its board costs least.
    pub from: Vec<String>,
    /// Share of that sheet which each takes, by the rectangle round it.
    pub share: Vec<f64>,
    /// What so much of those sheets costs, in the workshop's currency; `None` when a sheet has no price.
    pub cost: Option<f64>,
    /// The plain sheet that takes every piece, along and across the flutes.
    pub sheet: Option<[Length; 2]>,
}

/// Size of a blank along and across its flutes, in mm.
fn along_across(blank: &Blank) -> [f64; 2] {
    let size = blank.bounds.size();
    if blank.flutes.y.abs() > 0.5 {
        [size.y, size.x]
    } else {
        [size.x, size.y]
    }
}

/// Where the board comes from; `None` for a blank that fits no sheet there is.
#[must_use]
pub fn supply(plan: &SoundPlan, job: &Job, hand: &AtHand) -> Option<Supply> {
    let mut found = Supply {
        from: Vec::new(),
        share: Vec::new(),
        cost: Some(0.0),
        sheet: None,
    };
    let either = job.flutes == Flutes::Either;
    if let Some(stock) = &hand.stock {
        let laid = parts(plan, job, &job.title, 1).ok()?;
        for (blank, part) in plan.blanks().iter().zip(laid) {
            let best = cheapest(blank, &part, either, stock, hand)?;
            let piece = stock.pieces.get(best.piece)?;
            found.from.push(piece.name.clone());
            found.share.push(best.share);
            found.cost = found
                .cost
                .filter(|_| piece.price > 0.0)
                .map(|c| c + best.share * piece.price);
        }
        found.sheet = one_sheet(plan, either, stock, hand);
        return Some(found);
    }
    found.cost = None;
    let Some(sheet) = hand.sheet else {
        return Some(found);
    };
    let room = sheet.map(|s| (s - hand.margin * 2.0).to_mm());
    let all = plan.blanks().iter();
    let mut fits = all.map(|b| within(along_across(b), room, either));
    fits.all(|f| f).then(|| {
        let area = sheet[0].to_mm() * sheet[1].to_mm();
        let each = plan.blanks().iter().map(|b| {
            let [x, y] = along_across(b);
            x * y / area
        });
        found.share = each.collect();
        found.sheet = Some(sheet);
        found
    })
}

fn within([x, y]: [f64; 2], [along, across]: [f64; 2], either: bool) -> bool {
    let go = |x: f64, y: f64| x <= along + SLACK_MM && y <= across + SLACK_MM;
    go(x, y) || (either && go(y, x))
}

struct Cheapest {
    piece: usize,
    share: f64,
}

/// The piece of stock on which a blank's board costs least or, without prices, the smallest.
fn cheapest(
    blank: &Blank,
    part: &Part,
    either: bool,
    stock: &Stock,
    hand: &AtHand,
) -> Option<Cheapest> {
    let size = along_across(blank);
    let rect = size[0] * size[1];
    let mut best: Option<(f64, f64, Cheapest)> = None;
    for (i, piece) in stock.pieces.iter().enumerate() {
        if piece.board != blank.board || piece.count == 0 {
            continue;
        }
        let area = piece.shape.area_mm2();
        if area <= 0.0 || part.shape.area_mm2() > area {
            continue;
        }
        let share = (rect / area).min(1.0);
        let worth = (share * piece.price, area);
        if best.as_ref().is_some_and(|b| (b.0, b.1) <= worth) {
            continue;
        }
        let fits = match piece.shape.as_rect() {
            Some(sheet) => within(size, room(sheet, hand), either),
            None => lies(part, i, stock, hand),
        };
        if fits {
            best = Some((worth.0, worth.1, Cheapest { piece: i, share }));
        }
    }
    best.map(|b| b.2)
}

/// What a plain sheet offers within margin and reach, in mm.
fn room(sheet: [i64; 2], hand: &AtHand) -> [f64; 2] {
    let reach = hand.reach().map(|r| r.map(steps));
    let margin = steps(hand.margin);
    [0, 1].map(|i: usize| {
        let end = (sheet[i] - margin).min(reach.map_or(i64::MAX, |r| r[i]));
        mm(end - margin)
    })
}

fn mm(grid: i64) -> f64 {
    crate::sheet::Spot::new(grid, 0).to_mm().x
}

/// Whether a part can lie on a sheet of any shape.
fn lies(part: &Part, piece: usize, stock: &Stock, hand: &AtHand) -> bool {
    let Some(piece) = stock.pieces.get(piece) else {
        return false;
    };
    let task = Task {
        title: String::new(),
        parts: vec![part.clone()],
        stock: vec![piece.clone()],
        spacing: steps(hand.spacing),
        margin: steps(hand.margin),
        reach: hand.reach().map(|r| r.map(steps)),
    };
    // Nothing may be spent: the plainest way to lay one part is to look for any place.
    lay(&task, 0, &mut |_| 1.0).is_ok_and(|l| l.left.iter().all(|n| *n == 0))
}

/// The smallest plain sheet that takes every piece of the case, as a job can name it.
fn one_sheet(plan: &SoundPlan, either: bool, stock: &Stock, hand: &AtHand) -> Option<[Length; 2]> {
    let mut best: Option<(f64, [Length; 2])> = None;
    for piece in &stock.pieces {
        let Some(sheet) = piece.shape.as_rect() else {
            continue;
        };
        let takes = |b: &Blank| {
            b.board == piece.board && within(along_across(b), room(sheet, hand), either)
        };
        let area = piece.shape.area_mm2();
        if piece.count > 0
            && plan.blanks().iter().all(|b| takes(b))
            && best.as_ref().is_none_or(|b| area < b.0)
        {
            best = Some((area, sheet.map(|v| Length::mm(mm(v)))));
        }
    }
    best.map(|b| b.1)
}
