//! Random mixes of real blanks on random sheets: every layout is proved, nothing is lost, and what
//! the file says is what was laid.
//!
//! `BOXWRIGHT_LAYOUTS` sets how many. The layouts are written to the target folder's `tmp/mixes`,
//! where `tests/outside/test_layouts.py` looks at them with another library.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

mod common;

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};

use boxwright::board::Board;
use boxwright::job::Flutes;
use boxwright::proof::{Dice, case};
use boxwright::sheet::part::parts;
use boxwright::sheet::{
    Layout, Part, Piece, Progress, Proved, Shape, Spot, Task, Turns, lay, prove, read_layout,
    write_layout,
};
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::Style;
use common::{boards, shipped};

const SEED: u64 = 20_251_125;

fn count() -> usize {
    std::env::var("BOXWRIGHT_LAYOUTS").map_or(500, |n| n.parse().expect("a count"))
}

fn whole(dice: &mut Dice, from: f64, to: f64) -> i64 {
    dice.between(from, to).round() as i64
}

/// A sheet, now and then an off-cut with a bite or a hole.
fn sheet(dice: &mut Dice, board: &str, n: usize) -> Piece {
    let (x, y) = (whole(dice, 5e5, 25e5), whole(dice, 4e5, 16e5));
    let mut shape = Shape::rect(x, y);
    let at = Spot::new;
    let off_cut = dice.below(4) == 0;
    if off_cut {
        let (bx, by) = (
            x * whole(dice, 50.0, 80.0) / 100,
            y * whole(dice, 50.0, 80.0) / 100,
        );
        shape.outer = match dice.below(3) {
            0 => vec![
                at(0, 0),
                at(x, 0),
                at(x, by),
                at(bx, by),
                at(bx, y),
                at(0, y),
            ],
            1 => vec![at(0, 0), at(x, 0), at(x, by), at(bx, y), at(0, y)],
            _ => shape.outer,
        };
        if dice.below(2) == 0 {
            let (hx, hy) = (bx / 3, by / 3);
            let (w, h) = (bx / 10, by / 10);
            shape.holes = vec![vec![
                at(hx, hy),
                at(hx, hy + h),
                at(hx + w, hy + h),
                at(hx + w, hy),
            ]];
        }
    }
    Piece {
        name: format!("{board} {n}"),
        board: board.to_owned(),
        shape,
        count: if off_cut { 1 } else { 1 + dice.below(5) as u32 },
        price: dice.between(0.0, 4.0),
        off_cut,
    }
}

/// Every shipped style and board.
fn shelf() -> &'static (Vec<Arc<Style>>, Vec<Board>) {
    static SHELF: OnceLock<(Vec<Arc<Style>>, Vec<Board>)> = OnceLock::new();
    SHELF.get_or_init(|| {
        let names = Shipped.style_names();
        (names.iter().map(|n| shipped(n)).collect(), boards())
    })
}

fn task(number: u64) -> Option<Task> {
    let mut dice = Dice(SEED.wrapping_add(number << 24));
    let (styles, all) = shelf();
    // One board for all, now and then two.
    let mut few = vec![all[dice.below(all.len())].clone()];
    if dice.below(4) == 0 {
        few.push(all[dice.below(all.len())].clone());
    }
    let mut list: Vec<Part> = Vec::new();
    let kinds = 1 + dice.below(4);
    for k in 0..200 {
        if list
            .iter()
            .map(|p| &p.job)
            .collect::<std::collections::BTreeSet<_>>()
            .len()
            >= kinds
        {
            break;
        }
        let style = &styles[dice.below(styles.len())];
        let Some(mut brief) = case(style, &few, SEED, number * 1000 + k) else {
            continue;
        };
        let Some(plan) = brief.plan().ok().and_then(|p| p.validated().ok()) else {
            continue;
        };
        // Furniture needs sheets of its own.
        let size = |b: &boxwright::blank::Sound| b.bounds.size();
        if plan
            .blanks()
            .iter()
            .any(|b| size(b).max_element() > 2200.0 || size(b).min_element() > 1400.0)
        {
            continue;
        }
        if dice.below(3) == 0 {
            brief.job.flutes = Flutes::Either;
        }
        let wanted = 1 + dice.below(4) as u32;
        list.extend(
            parts(
                &plan,
                &brief.job,
                &format!("case {k} {}", style.name),
                wanted,
            )
            .expect("parts"),
        );
    }
    let mut stock = Vec::new();
    for board in &few {
        for n in 0..1 + dice.below(3) {
            let piece = sheet(&mut dice, &board.name, n);
            if stock.iter().all(|p: &Piece| p.name != piece.name) {
                stock.push(piece);
            }
        }
    }
    let zero = |dice: &mut Dice, most: f64| {
        if dice.below(4) == 0 {
            0
        } else {
            whole(dice, 0.0, most)
        }
    };
    Some(Task {
        title: format!("mix {number}"),
        parts: list,
        stock,
        spacing: zero(&mut dice, 12e3),
        margin: zero(&mut dice, 15e3),
        reach: (dice.below(5) == 0)
            .then(|| [whole(&mut dice, 6e5, 16e5), whole(&mut dice, 4e5, 12e5)]),
    })
}

/// What can be said of a layout without looking at shapes.
fn held(task: &Task, layout: &Proved) {
    assert_eq!(layout.parts, task.parts);
    assert_eq!(layout.stock, task.stock);
    for (i, p) in layout.parts.iter().enumerate() {
        assert_eq!(
            layout.laid(i) as u32 + layout.left[i],
            p.wanted,
            "{}",
            p.name
        );
    }
    for placed in layout.sheets.iter().flat_map(|s| &s.placed) {
        let p = &layout.parts[placed.part];
        let x = placed.turn.x();
        let along = if p.flutes_along_x { x } else { x.perp() };
        assert!(p.turns == Turns::Quarter || along.y == 0.0, "{}", p.name);
    }
}

fn mix(number: u64, out: &Path) -> Result<(usize, usize), String> {
    let task = task(number).expect("a task");
    let mut spent = |p: &Progress| p.moves as f64 / 40.0;
    let layout = lay(&task, number, &mut spent).unwrap_or_else(|d| panic!("mix {number}: {d:?}"));
    let layout = layout.proved().map_err(|(_, defects)| {
        let told: Vec<String> = defects.iter().map(ToString::to_string).collect();
        format!("mix {number}: {told:#?}")
    })?;
    held(&task, &layout);
    let text = write_layout(&layout).expect("a file");
    let name = format!("mix-{number}.layout.json");
    let back = read_layout(&Text {
        name: name.clone(),
        text: text.clone(),
    });
    assert_eq!(back.expect("read back"), layout, "mix {number}");
    std::fs::write(out.join(name), text).expect("written");
    bite(&layout, number);
    let laid = layout.sheets.iter().map(|s| s.placed.len()).sum();
    Ok((laid, layout.sheets.len()))
}

/// A part laid where another lies is found; so is one moved off the sheet.
fn bite(layout: &Proved, number: u64) {
    let Some(n) = (0..layout.sheets.len()).find(|n| layout.sheets[*n].placed.len() > 1) else {
        return;
    };
    let found = |l: &Layout, code: &str| prove(l).iter().any(|d| d.code == code);
    let mut spoilt = (**layout).clone();
    let placed = &mut spoilt.sheets[n].placed;
    let last = placed.len() - 1;
    placed[last] = placed[0];
    assert!(found(&spoilt, "parts-overlap"), "mix {number}");
    spoilt.sheets[n].placed[last].at = Spot::new(30_000_000, 0);
    assert!(found(&spoilt, "outside-sheet"), "mix {number}");
}

#[test]
fn every_mix_is_laid_soundly() {
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("mixes");
    let _ = std::fs::remove_dir_all(&out);
    std::fs::create_dir_all(&out).expect("a folder");
    let next = AtomicUsize::new(0);
    let total = count();
    let sums = [AtomicUsize::new(0), AtomicUsize::new(0)];
    let wrong = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(|| {
                loop {
                    let n = next.fetch_add(1, Ordering::Relaxed);
                    if n >= total {
                        return;
                    }
                    let (laid, sheets) = match mix(n as u64, &out) {
                        Ok(sums) => sums,
                        Err(told) => {
                            wrong.lock().expect("no panic").push(told);
                            continue;
                        }
                    };
                    sums[0].fetch_add(laid, Ordering::Relaxed);
                    sums[1].fetch_add(sheets, Ordering::Relaxed);
                }
            });
        }
    });
    let wrong = wrong.into_inner().expect("no panic");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let [laid, sheets] = sums.map(AtomicUsize::into_inner);
    println!("{total} mixes: {laid} parts on {sheets} sheets");
    assert!(
        laid > 3 * total && sheets > total,
        "{laid} parts on {sheets} sheets"
    );
}
