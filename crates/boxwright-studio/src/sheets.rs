//! Layouts as the page draws them: x to the right, y down, the upper left corner the origin.

use std::fmt::Write as _;

use boxwright::blank::LineUse;
use boxwright::emit::scene::{ToPage, path_data};
use boxwright::geom::DVec2;
use boxwright::sheet::{Layout, Part, Piece, Placed, Shape, Spot, bounds, why};

use crate::solid::rounded;
use crate::wire::{LayoutPart, LayoutPlaced, LayoutSheet, LayoutShown, Line};

/// Grid steps in mm.
#[must_use]
pub fn mm(steps: i64) -> f64 {
    Spot::new(steps, 0).to_mm().x
}

/// SVG path data of a shape whose height is `high` grid steps.
#[must_use]
pub fn outline(shape: &Shape, high: i64) -> String {
    let mut d = String::new();
    for ring in shape.rings() {
        for (i, p) in ring.iter().enumerate() {
            let word = if i == 0 { 'M' } else { 'L' };
            let _ = write!(d, "{word}{} {}", mm(p.x), mm(high - p.y));
        }
        d.push('Z');
    }
    d
}

/// The whole of a layout.
#[must_use]
pub fn shown(layout: &Layout) -> LayoutShown {
    let reasons = why(layout);
    let sheets: Vec<LayoutSheet> = layout
        .sheets
        .iter()
        .filter_map(|s| {
            let piece = layout.stock.get(s.stock)?;
            Some(sheet(layout, piece, &s.placed, layout.used(s)))
        })
        .collect();
    let whole: f64 = layout
        .sheets
        .iter()
        .filter_map(|s| layout.stock.get(s.stock))
        .map(|p| p.shape.area_mm2())
        .sum();
    let laid: f64 = layout
        .sheets
        .iter()
        .flat_map(|s| &s.placed)
        .filter_map(|p| layout.parts.get(p.part))
        .map(|p| p.shape.area_mm2())
        .sum();
    LayoutShown {
        title: layout.title.clone(),
        spacing: mm(layout.spacing),
        margin: mm(layout.margin),
        parts: layout
            .parts
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let reason = reasons.get(i).and_then(Option::as_ref);
                part(p, layout.laid(i), reason.map(|w| w.words(&p.board)))
            })
            .collect(),
        price: sheets.iter().map(|s| s.price).sum(),
        sheets,
        bounds: bounds(layout)
            .iter()
            .map(|b| format!("Board {}: {}.", b.board, b.words()))
            .collect(),
        used: if whole > 0.0 { laid / whole } else { 0.0 },
        left: u32::try_from(layout.left_over()).unwrap_or(u32::MAX),
    }
}

fn part(p: &Part, laid: usize, why: Option<String>) -> LayoutPart {
    let page = ToPage {
        origin: DVec2::ZERO,
        scale: 1.0,
    };
    let mut uses: Vec<LineUse> = Vec::new();
    for l in &p.lines {
        if !uses.contains(&l.line_use) {
            uses.push(l.line_use);
        }
    }
    let lines = uses
        .into_iter()
        .map(|line_use| {
            let of_use = p.lines.iter().filter(|l| l.line_use == line_use);
            let d: Vec<String> = of_use.map(|l| path_data(&page.path(&l.path))).collect();
            Line {
                use_: line_use.into(),
                d: d.join(" "),
            }
        })
        .collect();
    LayoutPart {
        name: p.name.clone(),
        job: p.job.clone(),
        piece: p.piece.clone(),
        board: p.board.clone(),
        wanted: p.wanted,
        laid: u32::try_from(laid).unwrap_or(u32::MAX),
        why,
        area: p.shape.area_mm2(),
        outline: outline(&p.shape, 0),
        lines,
    }
}

fn sheet(layout: &Layout, piece: &Piece, placed: &[Placed], used: f64) -> LayoutSheet {
    let size = piece.shape.bounds().max;
    let high = size.y;
    LayoutSheet {
        stock: piece.name.clone(),
        board: piece.board.clone(),
        off_cut: piece.off_cut,
        size: [mm(size.x), mm(size.y)],
        outline: outline(&piece.shape, high),
        placed: placed
            .iter()
            .map(|p| {
                let b = layout.shape_of(*p).bounds();
                let (x0, y0) = (mm(b.min.x), mm(high - b.max.y));
                let (x1, y1) = (mm(b.max.x), mm(high - b.min.y));
                LayoutPlaced {
                    part: u32::try_from(p.part).unwrap_or(u32::MAX),
                    place: format!(
                        "translate({} {}) rotate({})",
                        mm(p.at.x),
                        mm(high - p.at.y),
                        -90 * i32::from(p.turn.quarters())
                    ),
                    bounds: [x0, y0, x1, y1],
                    label: [rounded((x0 + x1) / 2.0), rounded((y0 + y1) / 2.0)],
                }
            })
            .collect(),
        used,
        price: piece.price,
    }
}
