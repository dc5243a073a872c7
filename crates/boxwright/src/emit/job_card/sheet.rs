//! A page for one sheet: the ways of the tool on it, and what belongs to it.

use super::flow::{Flow, GREY, INK, MARGIN, ROOM, SMALL, TEXT, thin};
use super::{minutes, run};
use crate::blank::LineUse;
use crate::cut::Program;
use crate::emit::cut_report::SheetCut;
use crate::emit::font::CAP;
use crate::emit::layout::label_spot;
use crate::emit::scene::{Anchor, Item, Scene, Stroke, ToPage};
use crate::emit::svg::colour;
use crate::geom::{DVec2, Path, Rect, Vertex};
use crate::sheet::{Proved, Spot};
use crate::units::{Length, LengthUnit};

/// The picture is no higher than this, in mm.
const HIGHEST: f64 = 165.0;
const SHEET: &str = "#f4eee2";
const PART: &str = "#fffdf8";
const WAY: &str = "#c4453a";

/// Adds the page.
pub(super) fn page(
    flow: &mut Flow,
    layout: &Proved,
    program: &Program,
    told: &SheetCut,
    unit: LengthUnit,
) {
    let of = layout.sheets.len();
    flow.turn(&format!("sheet {} of {of}", told.number));
    let Some(laid) = layout.sheets.get(program.sheet) else {
        return;
    };
    let Some(piece) = layout.stock.get(laid.stock) else {
        return;
    };
    let size = program.size;
    flow.pair(
        "From stock",
        &words(&told.name, piece.off_cut, size, &told.board, unit),
    );
    flow.pair("File", &told.files.join(", "));
    if told.files.len() > 1 {
        let text = format!(
            "{}: the head of each file tells how far the sheet is moved and which register holes hold it",
            told.files.len()
        );
        flow.pair("Passes", &text);
    }
    let t = &told.tally;
    let mut text = format!(
        "{}: cut {}, other lines {}, travel {}",
        minutes(t.seconds),
        run(t.cut, unit),
        run(t.marked, unit),
        run(t.travel, unit)
    );
    if t.nicks > 0 {
        text.push_str(&format!("; {} nicks hold the parts", t.nicks));
    }
    flow.pair("Time", &text);
    flow.y += 6.0;
    let room = DVec2::new(ROOM - 6.0, HIGHEST);
    let scale = (room / size).min_element();
    let left = MARGIN + 6.0 + 0.5 * (room.x - scale * size.x);
    let page = ToPage {
        origin: DVec2::new(left, flow.y + scale * size.y),
        scale,
    };
    let outline: Vec<Path> = piece
        .shape
        .rings()
        .map(|r| page.path(&polygon(r)))
        .collect();
    flow.page()
        .shape(outline, Some(SHEET), Some(thin(0.35, INK)));
    for p in &laid.placed {
        let shape = layout.shape_of(*p);
        let rings = shape.rings().map(|r| page.path(&polygon(r))).collect();
        flow.page().shape(rings, Some(PART), None);
    }
    travel(flow.page(), program, page);
    strokes(flow.page(), program, page);
    sizes(flow.page(), size, page, unit);
    let turn = freed(program, laid.placed.len());
    for (nth, placed) in turn.iter().enumerate() {
        let Some(p) = laid.placed.get(*placed) else {
            continue;
        };
        let (at, room, _) = label_spot(layout, *p, page);
        let name = layout.parts.get(p.part).map_or("", |p| p.name.as_str());
        label(flow, at, room, nth + 1, name);
    }
    flow.y = page.origin.y + 9.0;
    key(flow, program);
    flow.y += 3.0;
    counts(flow, layout, program);
}

fn words(name: &str, off_cut: bool, size: DVec2, board: &str, unit: LengthUnit) -> String {
    let kind = if off_cut { "off-cut" } else { "sheet" };
    let [x, y] = [size.x, size.y].map(|v| unit.number(Length::mm(v)));
    format!("{kind} {name}, {x} x {y} {}, board {board}", unit.symbol())
}

fn polygon(ring: &[Spot]) -> Path {
    Path::polygon(ring.iter().map(|p| p.to_mm()))
}

/// Moves with the tool off, from the corner of the bed on.
fn travel(scene: &mut Scene, program: &Program, page: ToPage) {
    let mut at = DVec2::ZERO;
    for s in &program.strokes {
        let path = Path::line([at, s.enter()]);
        scene.shape(
            vec![page.path(&path)],
            None,
            Some(Stroke {
                colour: WAY,
                width: 0.12,
                dash: &[0.8, 0.9],
            }),
        );
        at = s.leave();
    }
    if let Some(first) = program.strokes.first() {
        let c = page.point(first.enter());
        scene.shape(vec![ring(c, 1.3)], None, Some(thin(0.4, WAY)));
    }
}

fn strokes(scene: &mut Scene, program: &Program, page: ToPage) {
    for s in &program.strokes {
        let width = if s.line_use == LineUse::Cut {
            0.28
        } else {
            0.18
        };
        let stroke = thin(width, colour(s.line_use));
        scene.shape(vec![page.path(&s.path)], None, Some(stroke));
    }
}

fn ring(c: DVec2, radius: f64) -> Path {
    let half = |x: f64| Vertex {
        at: c + DVec2::new(x, 0.0),
        bulge: 1.0,
    };
    Path {
        vertices: vec![half(-radius), half(radius)],
        closed: true,
    }
}

fn sizes(scene: &mut Scene, size: DVec2, page: ToPage, unit: LengthUnit) {
    let low = page.point(DVec2::new(0.5 * size.x, 0.0)) + DVec2::new(0.0, 4.5);
    let across = format!("{}, flutes left-right", unit.show(Length::mm(size.x)));
    scene.text(low, SMALL, Anchor::Middle, across);
    scene.items.push(Item::Text {
        at: page.point(DVec2::new(0.0, 0.5 * size.y)) - DVec2::new(2.0, 0.0),
        size: SMALL,
        anchor: Anchor::Middle,
        turn: 90.0,
        bold: false,
        colour: "#000000",
        text: unit.show(Length::mm(size.y)),
    });
}

/// Placed parts in the order in which their last cut is made.
fn freed(program: &Program, count: usize) -> Vec<usize> {
    let mut last = vec![None; count];
    for (i, s) in program.strokes.iter().enumerate() {
        for of in &s.of {
            if let Some(at) = last.get_mut(*of).filter(|_| s.line_use == LineUse::Cut) {
                *at = Some(i);
            }
        }
    }
    let mut order: Vec<usize> = (0..count).filter(|i| last[*i].is_some()).collect();
    order.sort_by_key(|i| last[*i]);
    order
}

/// The part's turn in a disc and, where there is room, its name.
fn label(flow: &mut Flow, at: DVec2, room: DVec2, nth: usize, name: &str) {
    const RADIUS: f64 = 2.6;
    let shown = room.x > 30.0 && room.y > 13.0;
    let disc = if shown { at - DVec2::new(0.0, 2.5) } else { at };
    let number = nth.to_string();
    let radius = RADIUS.min(0.45 * room.min_element().max(2.0));
    let em = 1.25 * radius;
    let em = em * (1.6 * radius / flow.letters.width(&number, em, true)).min(1.0);
    let page = flow.page();
    page.shape(
        vec![ring(disc, radius)],
        Some("#ffffff"),
        Some(thin(0.3, INK)),
    );
    page.items.push(Item::Text {
        at: disc + DVec2::new(0.0, 0.5 * CAP * em),
        size: em,
        anchor: Anchor::Middle,
        turn: 0.0,
        bold: true,
        colour: INK,
        text: number,
    });
    if shown {
        let (text, size) = flow.letters.fitted(name, SMALL, false, room.x - 2.0);
        let wide = flow.letters.width(&text, size, false) + 1.2;
        let base = at + DVec2::new(0.0, 4.4);
        let plate = Rect {
            min: base - DVec2::new(0.5 * wide, size),
            max: base + DVec2::new(0.5 * wide, 0.35 * size),
        };
        let page = flow.page();
        page.shape(vec![Path::rect(plate)], Some(PART), None);
        page.text(base, size, Anchor::Middle, text);
    }
}

/// What the lines mean; only those that occur.
fn key(flow: &mut Flow, program: &Program) {
    let mut x = MARGIN;
    let mut uses: Vec<LineUse> = program.strokes.iter().map(|s| s.line_use).collect();
    uses.sort_unstable();
    uses.dedup();
    let y = flow.y;
    let mut entry = |flow: &mut Flow, stroke: Stroke, word: &str| {
        let ends = [x, x + 7.0].map(|x| DVec2::new(x, y - 0.35 * SMALL));
        flow.page()
            .shape(vec![Path::line(ends)], None, Some(stroke));
        x += 8.5;
        flow.write(x, SMALL, false, GREY, Anchor::Start, word);
        x += flow.letters.width(word, SMALL, false) + 5.0;
    };
    for line_use in uses {
        let word = match line_use {
            LineUse::CreaseInward => "crease, folds inward",
            LineUse::CreaseOutward => "crease, folds outward",
            LineUse::Cut => "cut",
            LineUse::Perforation => "perforation",
            LineUse::Engrave => "engraving",
            LineUse::Board => continue,
        };
        entry(flow, thin(0.3, colour(line_use)), word);
    }
    let off = Stroke {
        colour: WAY,
        width: 0.2,
        dash: &[0.8, 0.9],
    };
    entry(flow, off, "tool off; ring: start");
}

fn counts(flow: &mut Flow, layout: &Proved, program: &Program) {
    let Some(laid) = layout.sheets.get(program.sheet) else {
        return;
    };
    let mut left = 0;
    let mut kinds = Vec::new();
    for (i, part) in layout.parts.iter().enumerate() {
        let here = laid.placed.iter().filter(|p| p.part == i).count();
        if here > 0 {
            kinds.push(format!("{here} x {}", part.name));
        }
    }
    for line in &kinds {
        if flow.y + 1.4 * TEXT > Flow::bottom() - 1.4 * TEXT {
            left += 1;
            continue;
        }
        flow.y += 1.4 * TEXT;
        let (text, size) = flow.letters.fitted(line, TEXT, false, ROOM);
        flow.write(MARGIN, size, false, INK, Anchor::Start, &text);
    }
    if left > 0 {
        flow.y += 1.4 * TEXT;
        let text = format!("and {left} more kinds: see the first page");
        flow.write(MARGIN, TEXT, false, INK, Anchor::Start, &text);
    }
}
