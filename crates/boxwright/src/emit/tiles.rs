//! The blank at 1 : 1 on several small pages, to be printed at home and taped together.
//!
//! Pages lie on a grid and overlap by [`OVERLAP_MM`]. Each page draws what falls into its window,
//! cut exactly at it. On every overlap there are numbered marks at the same points of the blank,
//! so that two neighbours lie right when the marks with the same number lie on each other.

use super::clip;
use super::font::{CAP, Letters};
use super::pdf::draw_lines;
use super::scene::{Anchor, Item, Scene, Stroke, ToPage};
use super::svg::{Label, Labels};
use crate::blank::{Blank, LineUse};
use crate::geom::{DVec2, Path, Rect, Vertex};
use crate::units::trimmed;

mod key;

/// By how much neighbouring pages overlap.
pub const OVERLAP_MM: f64 = 10.0;
/// Bare margin left, right and above: what a home printer needs, and a little more.
const MARGIN: f64 = 10.0;
/// Below the window: the margin and a strip with the check rule and the page's name.
const FOOT: f64 = 21.0;
/// The blank's own edge stays this far inside the outermost windows.
const AIR: f64 = 3.0;
/// Half size of what both pages show whole of a register mark: less than half the overlap.
const MARK: f64 = 3.5;
/// Arms of a register mark, cut at the window: longer than the overlap is wide on either side, so
/// that they run on past the trimmed edge of the page that lies on top.
const ARM: f64 = 10.0;

/// A sheet of printing paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm.
    #[default]
    A4,
    /// 297 x 420 mm.
    A3,
    /// 8.5 x 11 in.
    Letter,
}

impl Paper {
    /// Short and long side in mm.
    #[must_use]
    pub const fn size(self) -> DVec2 {
        match self {
            Self::A4 => DVec2::new(210.0, 297.0),
            Self::A3 => DVec2::new(297.0, 420.0),
            Self::Letter => DVec2::new(215.9, 279.4),
        }
    }
}

/// How the pages lie on the blank.
struct Grid {
    /// Page size.
    page: DVec2,
    /// Window size.
    window: DVec2,
    columns: u32,
    rows: u32,
    /// Lower left corner of the whole grid, in blank coordinates.
    low: DVec2,
}

impl Grid {
    fn new(bounds: Rect, page: DVec2) -> Self {
        let window = page - DVec2::new(2.0 * MARGIN, MARGIN + FOOT);
        let step = window - OVERLAP_MM;
        let need = (bounds.size() + 2.0 * AIR - OVERLAP_MM) / step;
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a count of pages, bounded to 1..=999"
        )]
        let count = |n: f64| n.ceil().clamp(1.0, 999.0) as u32;
        let (columns, rows) = (count(need.x), count(need.y));
        let span = step * DVec2::new(f64::from(columns), f64::from(rows)) + OVERLAP_MM;
        Self {
            page,
            window,
            columns,
            rows,
            low: bounds.centre() - 0.5 * span,
        }
    }
    /// Upright or level paper, whichever takes fewer pages.
    fn fewest(bounds: Rect, paper: Paper) -> Self {
        let upright = Self::new(bounds, paper.size());
        let level = Self::new(bounds, DVec2::new(paper.size().y, paper.size().x));
        if level.columns * level.rows < upright.columns * upright.rows {
            level
        } else {
            upright
        }
    }
    fn step(&self) -> DVec2 {
        self.window - OVERLAP_MM
    }
    /// The window of a page; rows count from the top.
    fn window(&self, column: u32, row: u32) -> Rect {
        let up = self.rows - 1 - row;
        let min = self.low + self.step() * DVec2::new(f64::from(column), f64::from(up));
        Rect {
            min,
            max: min + self.window,
        }
    }
    /// Points of the blank at which the pages are registered: where four pages meet, and a
    /// quarter of a page from there along every joint.
    fn marks(&self) -> Vec<DVec2> {
        let step = self.step();
        let half = 0.5 * OVERLAP_MM;
        let across = |n: u32, k: f64| self.low.x + step.x * (f64::from(n) + k) + half;
        let up = |n: u32, k: f64| self.low.y + step.y * (f64::from(n) + k) + half;
        let mut marks = Vec::new();
        for row in (0..self.rows).rev() {
            for column in 0..self.columns {
                let right = column + 1 < self.columns;
                let above = row + 1 < self.rows;
                if right && above {
                    marks.push(DVec2::new(across(column, 1.0), up(row, 1.0)));
                }
                for k in [0.75, 0.25] {
                    if right {
                        marks.push(DVec2::new(across(column, 1.0), up(row, k)));
                    }
                    if above {
                        marks.push(DVec2::new(across(column, k), up(row, 1.0)));
                    }
                }
            }
        }
        marks
    }
}

/// A page of the grid with something on it.
struct Tile {
    column: u32,
    row: u32,
    lines: Vec<(LineUse, Path)>,
}

/// A page's name: number of the column from the left, then letter of the row from the top. The
/// number comes first so that no page bears the name of a paper size.
fn name(column: u32, row: u32) -> String {
    let letter = u8::try_from(row).ok().filter(|r| *r < 26).map(|r| b'A' + r);
    let row = letter.map_or_else(|| format!("-{}", row + 1), |l| char::from(l).to_string());
    format!("{}{row}", column + 1)
}

/// The lines of a blank inside one window, cut at it. The board's rectangle is left out.
fn inside(lines: &[(LineUse, Path)], window: Rect) -> Vec<(LineUse, Path)> {
    lines
        .iter()
        .filter(|(u, _)| *u != LineUse::Board)
        .flat_map(|(u, p)| clip::path(p, window).into_iter().map(move |p| (*u, p)))
        .collect()
}

/// The blank at 1 : 1 on pages of the given paper. With more than one page the first is a key:
/// a map of the pages, how to join them, and which are left out because nothing is on them.
#[must_use]
pub fn tiles(blank: &Blank, paper: Paper) -> Vec<Scene> {
    let grid = Grid::fewest(blank.bounds, paper);
    let lines = blank.lines();
    let mut used = Vec::new();
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let lines = inside(&lines, grid.window(column, row));
            if !lines.is_empty() {
                used.push(Tile { column, row, lines });
            }
        }
    }
    let marks = grid.marks();
    let labels = names(blank);
    let mut pages = Vec::new();
    if grid.columns * grid.rows > 1 {
        pages.push(key::page(blank, &grid, &used));
    }
    let before = pages.len();
    let total = before + used.len();
    for (i, tile) in used.iter().enumerate() {
        let mut scene = page(&grid, tile, &marks, &labels);
        let said = if before == 0 {
            format!("{}, inside face", blank.piece)
        } else {
            format!(
                "page {} of {total}; {}, inside face",
                before + i + 1,
                blank.piece
            )
        };
        foot(&mut scene, &name(tile.column, tile.row), before > 0, &said);
        pages.push(scene);
    }
    pages
}

fn names(blank: &Blank) -> Vec<(Label, String)> {
    let letters = Letters::shipped();
    let labels = Labels::new(blank, &letters, 1.0);
    blank
        .panels
        .iter()
        .filter_map(|p| Some((labels.place(p, &p.name, 5.0)?, p.name.clone())))
        .collect()
}

const GREY: &str = "#9a9a9a";

const fn thin(colour: &'static str) -> Stroke {
    Stroke {
        colour,
        width: 0.18,
        dash: &[],
    }
}

fn page(grid: &Grid, tile: &Tile, marks: &[DVec2], labels: &[(Label, String)]) -> Scene {
    let window = grid.window(tile.column, tile.row);
    let to_page = ToPage {
        origin: DVec2::new(MARGIN - window.min.x, MARGIN + window.max.y),
        scale: 1.0,
    };
    let mut scene = Scene::new(grid.page.x, grid.page.y);
    let frame = to_page.path(&Path::rect(window));
    scene.shape(vec![frame], None, Some(thin(GREY)));
    let holds =
        |at: DVec2, by: f64| at.cmpge(window.min + by).all() && at.cmple(window.max - by).all();
    for (label, text) in labels {
        if holds(label.at, 25.0) {
            scene
                .items
                .push(label.item(to_page.point(label.at), text, GREY));
        }
    }
    for (n, at) in marks.iter().enumerate() {
        if holds(*at, MARK) {
            mark(&mut scene, *at, (window, to_page), &(n + 1).to_string());
        }
    }
    edges_to_come(&mut scene, grid, tile, (window, to_page));
    draw_lines(&mut scene, &tile.lines, to_page);
    scene
}

/// Where the trimmed edges of the pages to the right and below come to lie.
fn edges_to_come(scene: &mut Scene, grid: &Grid, tile: &Tile, (w, to_page): (Rect, ToPage)) {
    let mut lines = Vec::new();
    if tile.column + 1 < grid.columns {
        let x = w.max.x - OVERLAP_MM;
        lines.push(Path::line([DVec2::new(x, w.max.y), DVec2::new(x, w.min.y)]));
    }
    if tile.row + 1 < grid.rows {
        let y = w.min.y + OVERLAP_MM;
        lines.push(Path::line([DVec2::new(w.min.x, y), DVec2::new(w.max.x, y)]));
    }
    if !lines.is_empty() {
        let dashed = Stroke {
            dash: &[2.0, 2.0],
            ..thin(GREY)
        };
        let lines = lines.iter().map(|l| to_page.path(l)).collect();
        scene.shape(lines, None, Some(dashed));
    }
}

fn mark(scene: &mut Scene, at: DVec2, (window, to_page): (Rect, ToPage), text: &str) {
    let circle = Path {
        vertices: [-0.7, 0.7]
            .map(|k| Vertex {
                at: at + DVec2::new(k * MARK, 0.0),
                bulge: 1.0,
            })
            .to_vec(),
        closed: true,
    };
    let arms =
        [DVec2::new(ARM, 0.0), DVec2::new(0.0, ARM)].map(|arm| Path::line([at - arm, at + arm]));
    let paths = arms
        .iter()
        .flat_map(|arm| clip::path(arm, window))
        .chain([circle])
        .map(|p| to_page.path(&p))
        .collect();
    scene.shape(paths, None, Some(thin("#5a5a5a")));
    let at = to_page.point(at);
    scene.items.push(Item::Text {
        at: at + DVec2::new(0.5, 2.0),
        size: 2.0,
        anchor: Anchor::Start,
        turn: 0.0,
        bold: false,
        colour: "#5a5a5a",
        text: text.to_owned(),
    });
}

/// The strip under the window.
fn foot(scene: &mut Scene, name: &str, several: bool, said: &str) {
    let y = scene.height - MARGIN;
    check_rule(
        scene,
        DVec2::new(MARGIN, y),
        "100 mm when printed at full size",
    );
    let left = MARGIN + 106.0;
    let mut x = left;
    if several {
        scene.items.push(Item::Text {
            at: DVec2::new(left, y),
            size: 7.0,
            anchor: Anchor::Start,
            turn: 0.0,
            bold: true,
            colour: "#000000",
            text: name.to_owned(),
        });
        x += Letters::shipped().width(name, 7.0, true) + 3.0;
    }
    let room = scene.width - MARGIN - x;
    let (text, size) = Letters::shipped().fitted(said, 3.5, false, room);
    scene.text(DVec2::new(x, y), size, Anchor::Start, text);
}

/// A rule of exactly 100 mm with a tick every 10, from `at` to the right, and words over it.
pub(super) fn check_rule(scene: &mut Scene, at: DVec2, text: &str) {
    let mut paths = vec![Path::line([at, at + DVec2::new(100.0, 0.0)])];
    for k in 0..=10u8 {
        let x = at.x + 10.0 * f64::from(k);
        let high = if k % 5 == 0 { 2.5 } else { 1.5 };
        paths.push(Path::line([
            DVec2::new(x, at.y),
            DVec2::new(x, at.y - high),
        ]));
    }
    scene.shape(
        paths,
        None,
        Some(Stroke {
            colour: "#000000",
            width: 0.18,
            dash: &[],
        }),
    );
    scene.text(at + DVec2::new(0.0, -3.6), 2.8, Anchor::Start, text);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emit::sample::{SLOTTED_CREASE, SLOTTED_CUT, TUCK_CUT, slotted, tuck};

    fn length(blank: &Blank, window: Rect) -> f64 {
        inside(&blank.lines(), window)
            .iter()
            .map(|(_, p)| p.length())
            .sum()
    }

    // Windows overlap, so the sum over them counts the overlaps twice: take off what lies in the
    // strips between neighbours, and put back the corners where four meet.
    #[test]
    fn the_windows_hold_every_line_once() {
        let slotted_total = SLOTTED_CUT + SLOTTED_CREASE;
        // Creases 220 and 90, and an engraved circle of 10 mm.
        let tuck_total = TUCK_CUT + 310.0 + 10.0 * std::f64::consts::PI;
        for (blank, total) in [(slotted(), slotted_total), (tuck(), tuck_total)] {
            for paper in [Paper::A4, Paper::A3, Paper::Letter] {
                let g = Grid::fewest(blank.bounds, paper);
                let mut sum = 0.0;
                for row in 0..g.rows {
                    for column in 0..g.columns {
                        let w = g.window(column, row);
                        let right = column + 1 < g.columns;
                        let below = row + 1 < g.rows;
                        let strip = |x: bool, y: bool| Rect {
                            min: DVec2::new(
                                if x { w.max.x - OVERLAP_MM } else { w.min.x },
                                w.min.y,
                            ),
                            max: DVec2::new(
                                w.max.x,
                                if y { w.min.y + OVERLAP_MM } else { w.max.y },
                            ),
                        };
                        sum += length(&blank, w);
                        if right {
                            sum -= length(&blank, strip(true, false));
                        }
                        if below {
                            sum -= length(&blank, strip(false, true));
                        }
                        if right && below {
                            sum += length(&blank, strip(true, true));
                        }
                    }
                }
                assert!((sum - total).abs() < 1e-6, "{paper:?}: {sum} of {total}");
            }
        }
    }

    // A4 level: window 277 x 179, step 267 x 169. 1051 + 6 - 10 = 1047 takes 4, 366 - 4 = 362
    // takes 3: 12 pages. Upright: window 190 x 266, step 180 x 256: 6 by 2, also 12; upright wins.
    #[test]
    fn a_slotted_case_takes_six_by_two_pages_of_a4_and_a_key() {
        let g = Grid::fewest(slotted().bounds, Paper::A4);
        assert_eq!((g.columns, g.rows, g.page.x), (6, 2, 210.0));
        let pages = tiles(&slotted(), Paper::A4);
        assert_eq!(pages.len(), 13);
        assert_eq!(pages, tiles(&slotted(), Paper::A4));
    }

    #[test]
    fn every_mark_lies_whole_on_two_or_four_pages() {
        let g = Grid::fewest(slotted().bounds, Paper::A4);
        for at in g.marks() {
            let on = (0..g.rows)
                .flat_map(|r| (0..g.columns).map(move |c| (c, r)))
                .filter(|(c, r)| {
                    let w = g.window(*c, *r);
                    at.cmpge(w.min + MARK).all() && at.cmple(w.max - MARK).all()
                })
                .count();
            assert!(on == 2 || on == 4, "{at} on {on}");
        }
    }

    #[test]
    fn nothing_is_drawn_outside_what_a_printer_reaches() {
        for scene in tiles(&slotted(), Paper::Letter) {
            for item in &scene.items {
                let Item::Shape { paths, .. } = item else {
                    continue;
                };
                for p in paths {
                    let b = p.bounds();
                    assert!(b.min.min_element() >= 8.0, "{b:?}");
                    assert!(b.max.x <= scene.width - 8.0 && b.max.y <= scene.height - 8.0);
                }
            }
        }
    }

    #[test]
    fn a_small_blank_is_one_page_and_pages_without_lines_are_left_out() {
        let mut small = tuck();
        small.bounds.max.x = 100.0;
        assert_eq!(tiles(&small, Paper::A3).len(), 1);
        assert!(tiles(&crate::emit::sample::empty("nothing"), Paper::A4).is_empty());
        // A ring 900 mm wide: on A4 upright 5 by 4 pages, the inner ones bare.
        let mut ring = tuck();
        let square = |half: f64| {
            Path::rect(Rect {
                min: DVec2::splat(-half),
                max: DVec2::splat(half),
            })
        };
        ring.outline = vec![square(450.0)];
        ring.holes.clear();
        ring.slits.clear();
        ring.creases.clear();
        ring.engravings.clear();
        ring.bounds = square(450.0).bounds();
        let pages = tiles(&ring, Paper::A4);
        let texts: Vec<&str> = pages[0]
            .items
            .iter()
            .filter_map(|i| match i {
                Item::Text { text, .. } => Some(text.as_str()),
                Item::Shape { .. } => None,
            })
            .collect();
        assert_eq!(texts.iter().filter(|t| **t == "bare").count(), 6);
        assert_eq!(pages.len(), 1 + 14);
    }
}
