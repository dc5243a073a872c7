//! The map of a sweep: where the case passes, is tight, fails or cannot be drawn, and by what.
//!
//! Every cell is told twice, by its tone and by its hatching, so the map reads without colour; the
//! regions are numbered and the list beside the map says what decides each.

use super::font::{CAP, Letters};
use super::scene::{Anchor, Item, Scene, Stroke};
use crate::geom::{DVec2, Path, Rect};
use crate::sweep::{Axis, Cell, CellVerdict, Region, Sweep, regions};
use crate::units::{Dim, Length, LengthUnit, Quantity};

/// The page, in mm.
const PAGE: DVec2 = DVec2::new(297.0, 210.0);
/// Room for the map itself: left, top, right, bottom.
const FIELD: [f64; 4] = [30.0, 28.0, 180.0, 186.0];
/// The list beside the map.
const LIST: [f64; 2] = [192.0, 285.0];
/// Height of small letters.
const SMALL: f64 = 3.2;
/// Height of the title.
const LARGE: f64 = 5.0;
/// Regions named in the list.
const MOST_NAMED: usize = 12;
/// Cells smaller than this on the page are hatched together.
const FINEST: f64 = 1.2;
/// Values written along an axis.
const MOST_TICKS: usize = 8;
const INK: &str = "#1d2428";

const fn tone(verdict: CellVerdict) -> &'static str {
    match verdict {
        CellVerdict::Pass => "#d3e6ee",
        CellVerdict::Caution => "#f2d57e",
        CellVerdict::Fail => "#dd8e68",
        CellVerdict::Refused => "#b9bcc0",
    }
}

/// The map of a sweep. `cells` are in rows, the lowest first.
#[must_use]
pub fn sweep_map(sweep: &Sweep, cells: &[Cell], unit: LengthUnit) -> Scene {
    let letters = Letters::shipped();
    let mut scene = Scene::new(PAGE.x, PAGE.y);
    let all = Rect {
        min: DVec2::ZERO,
        max: PAGE,
    };
    scene.shape(vec![Path::rect(all)], Some("#ffffff"), None);
    head(&mut scene, sweep, unit, &letters);
    let grid = Grid::new(sweep);
    paint(&mut scene, &grid, cells);
    frame(&mut scene, sweep, &grid, unit);
    let regions = regions(sweep, cells);
    let named = named(&regions);
    let told = list(&mut scene, cells, &regions, &named, &letters);
    for (n, r) in named.iter().take(told).enumerate() {
        tag(&mut scene, grid.middle(r.heart.0, r.heart.1), n + 1);
    }
    scene
}

/// The regions worth a number: all but passing ones, the largest first.
fn named(regions: &[Region]) -> Vec<&Region> {
    regions
        .iter()
        .filter(|r| r.verdict != CellVerdict::Pass)
        .take(MOST_NAMED)
        .collect()
}

/// Where cells lie on the page.
struct Grid {
    wide: usize,
    high: usize,
    cell: DVec2,
}

#[allow(clippy::cast_precision_loss, reason = "indices stay below 40,000")]
const fn number(n: usize) -> f64 {
    n as f64
}

impl Grid {
    fn new(sweep: &Sweep) -> Self {
        let (wide, high) = (sweep.across().steps(), sweep.up().steps());
        let room = DVec2::new(FIELD[2] - FIELD[0], FIELD[3] - FIELD[1]);
        Self {
            wide,
            high,
            cell: room / DVec2::new(number(wide), number(high)),
        }
    }
    /// Cells `i..to` of row `j`.
    fn run(&self, i: usize, to: usize, j: usize) -> Rect {
        let x = |i: usize| FIELD[0] + number(i) * self.cell.x;
        let y = |j: usize| FIELD[3] - number(j) * self.cell.y;
        Rect {
            min: DVec2::new(x(i), y(j + 1)),
            max: DVec2::new(x(to), y(j)),
        }
    }
    fn middle(&self, i: usize, j: usize) -> DVec2 {
        self.run(i, i + 1, j).centre()
    }
    fn whole(&self) -> Rect {
        Rect {
            min: DVec2::new(FIELD[0], FIELD[1]),
            max: DVec2::new(FIELD[2], FIELD[3]),
        }
    }
}

fn paint(scene: &mut Scene, grid: &Grid, cells: &[Cell]) {
    // One hatch for so many cells each way, so that it stays open on a fine grid.
    let coarse = |size: f64| (FINEST / size).ceil().max(1.0);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and the number of cells"
    )]
    let every = coarse(grid.cell.min_element()) as usize;
    for verdict in CellVerdict::ALL {
        let mut faces = Vec::new();
        let mut marks = Vec::new();
        for j in 0..grid.high {
            let row = &cells[j * grid.wide..(j + 1) * grid.wide];
            let mut i = 0;
            while i < grid.wide {
                let mut to = i + 1;
                if row[i].verdict == verdict {
                    while to < grid.wide && row[to].verdict == verdict {
                        to += 1;
                    }
                    faces.push(Path::rect(grid.run(i, to, j)));
                    if j % every == 0 {
                        let hatched = (i..to).filter(|k| k % every == 0);
                        marks.extend(hatched.flat_map(|k| hatch(verdict, grid.run(k, k + 1, j))));
                    }
                }
                i = to;
            }
        }
        if !faces.is_empty() {
            scene.shape(faces, Some(tone(verdict)), None);
        }
        if !marks.is_empty() {
            scene.shape(marks, None, stroke(0.12));
        }
    }
}

const fn stroke(width: f64) -> Option<Stroke> {
    Some(Stroke {
        colour: INK,
        width,
        dash: &[],
    })
}

/// Nothing for a pass, one stroke for tight, a cross for a failure, an upright cross where nothing
/// can be drawn.
fn hatch(verdict: CellVerdict, cell: Rect) -> Vec<Path> {
    let centre = cell.centre();
    let half = 0.28 * cell.size().min_element();
    let line = |x: f64, y: f64| {
        let d = DVec2::new(x, y) * half;
        Path::line([centre - d, centre + d])
    };
    match verdict {
        CellVerdict::Pass => Vec::new(),
        CellVerdict::Caution => vec![line(1.0, -1.0)],
        CellVerdict::Fail => vec![line(1.0, -1.0), line(1.0, 1.0)],
        CellVerdict::Refused => vec![line(1.0, 0.0), line(0.0, 1.0)],
    }
}

fn shown(q: Quantity, unit: LengthUnit) -> String {
    if q.dim == Dim::LENGTH {
        unit.number(Length::mm(q.value))
    } else if q.dim == Dim::ANGLE {
        crate::units::trimmed(q.value.to_degrees(), 2)
    } else {
        q.to_string()
    }
}

/// The name of an axis with its unit.
fn titled(axis: &Axis, unit: LengthUnit) -> String {
    let inside = match axis.target() {
        crate::sweep::Target::Asked(_) => "inside ",
        crate::sweep::Target::Parameter(_) => "",
    };
    let name = axis.name();
    match axis.value(0).dim {
        Dim::LENGTH => format!("{inside}{name}, {}", unit.symbol()),
        Dim::ANGLE => format!("{name}, deg"),
        _ => name.to_owned(),
    }
}

fn frame(scene: &mut Scene, sweep: &Sweep, grid: &Grid, unit: LengthUnit) {
    scene.shape(vec![Path::rect(grid.whole())], None, stroke(0.3));
    let mut ticks = Vec::new();
    for i in picked(grid.wide) {
        let x = grid.middle(i, 0).x;
        ticks.push(Path::line([
            DVec2::new(x, FIELD[3]),
            DVec2::new(x, FIELD[3] + 1.5),
        ]));
        let text = shown(sweep.across().value(i), unit);
        scene.text(DVec2::new(x, FIELD[3] + 5.0), SMALL, Anchor::Middle, text);
    }
    for j in picked(grid.high) {
        let y = grid.middle(0, j).y;
        ticks.push(Path::line([
            DVec2::new(FIELD[0] - 1.5, y),
            DVec2::new(FIELD[0], y),
        ]));
        let at = DVec2::new(FIELD[0] - 2.5, y + 0.5 * CAP * SMALL);
        scene.text(at, SMALL, Anchor::End, shown(sweep.up().value(j), unit));
    }
    scene.shape(ticks, None, stroke(0.2));
    let middle = grid.whole().centre();
    let below = DVec2::new(middle.x, FIELD[3] + 11.0);
    scene.text(below, 3.6, Anchor::Middle, titled(sweep.across(), unit));
    scene.items.push(Item::Text {
        at: DVec2::new(FIELD[0] - 17.0, middle.y),
        size: 3.6,
        anchor: Anchor::Middle,
        turn: 90.0,
        bold: false,
        colour: INK,
        text: titled(sweep.up(), unit),
    });
}

/// Indices along an axis that are written: the first, the last, and some between in even steps.
fn picked(count: usize) -> Vec<usize> {
    let step = count.div_ceil(MOST_TICKS).max(1);
    let mut out: Vec<usize> = (0..count).step_by(step).collect();
    if let Some(last) = out.last().copied()
        && last + 1 < count
    {
        // Written over its neighbour, the last would be unreadable.
        if count - 1 - last < step.div_ceil(2) && out.len() > 1 {
            out.pop();
        }
        out.push(count - 1);
    }
    out
}

fn head(scene: &mut Scene, sweep: &Sweep, unit: LengthUnit, letters: &Letters) {
    let brief = sweep.brief();
    let job = &brief.job;
    let room = PAGE.x - 2.0 * 12.0;
    let (title, size) = letters.fitted(&job.title, LARGE, true, room);
    scene.items.push(Item::Text {
        at: DVec2::new(12.0, 14.0),
        size,
        anchor: Anchor::Start,
        turn: 0.0,
        bold: true,
        colour: INK,
        text: title,
    });
    let fixed: Vec<String> = crate::job::ASKED
        .iter()
        .zip(job.inside)
        .filter(|(name, _)| **name != sweep.across().name() && **name != sweep.up().name())
        .map(|(name, size)| format!("inside {name} {}", unit.show(size)))
        .collect();
    let mut parts = vec![
        brief.style.title.clone(),
        format!("board {}", brief.board.name),
        format!("creases by {}", brief.material.way.word()),
    ];
    parts.extend(fixed);
    let (text, size) = letters.fitted(&parts.join(", "), SMALL, false, room);
    scene.text(DVec2::new(12.0, 20.0), size, Anchor::Start, text);
}

/// A number in a disc.
fn tag(scene: &mut Scene, at: DVec2, n: usize) {
    let r = 2.4;
    let disc = Path {
        vertices: [DVec2::new(-r, 0.0), DVec2::new(r, 0.0)]
            .into_iter()
            .map(|d| crate::geom::Vertex {
                at: at + d,
                bulge: 1.0,
            })
            .collect(),
        closed: true,
    };
    scene.shape(vec![disc], Some("#ffffff"), stroke(0.2));
    let base = at + DVec2::new(0.0, 0.5 * CAP * SMALL);
    scene.text(base, SMALL, Anchor::Middle, n.to_string());
}

/// The legend and what decides the regions; says how many found room.
fn list(
    scene: &mut Scene,
    cells: &[Cell],
    regions: &[Region],
    named: &[&Region],
    letters: &Letters,
) -> usize {
    let [left, right] = LIST;
    let mut y = FIELD[1] + 3.0;
    for verdict in CellVerdict::ALL {
        let count = cells.iter().filter(|c| c.verdict == verdict).count();
        let min = DVec2::new(left, y - 3.4);
        let swatch = Rect {
            min,
            max: min + DVec2::new(6.0, 4.4),
        };
        scene.shape(vec![Path::rect(swatch)], Some(tone(verdict)), stroke(0.15));
        let mark = hatch(verdict, swatch);
        if !mark.is_empty() {
            scene.shape(mark, None, stroke(0.2));
        }
        let text = format!("{}: {count} of {}", verdict.words(), cells.len());
        scene.text(DVec2::new(left + 8.5, y), SMALL, Anchor::Start, text);
        y += 6.2;
    }
    y += 4.0;
    let mut told = 0;
    for (n, r) in named.iter().enumerate() {
        let text = format!("{}, {}: {}", r.verdict.words(), r.code, r.message);
        let mut lines = letters.wrapped(&text, SMALL, false, right - left - 8.5);
        lines.truncate(4);
        let needed = number(lines.len()) * 4.2 + 2.0;
        if y + needed > PAGE.y - 14.0 {
            break;
        }
        tag(scene, DVec2::new(left + 3.0, y - 1.1), n + 1);
        for line in lines {
            scene.text(DVec2::new(left + 8.5, y), SMALL, Anchor::Start, line);
            y += 4.2;
        }
        y += 2.0;
        told = n + 1;
    }
    let others = regions
        .iter()
        .filter(|r| r.verdict != CellVerdict::Pass)
        .count()
        .saturating_sub(told);
    if others > 0 {
        let text = format!("and {others} smaller regions, all of them in the table");
        scene.text(DVec2::new(left, PAGE.y - 12.0), SMALL, Anchor::Start, text);
    }
    told
}
