//! Pages to look at: a sheet each, with what lies on it.

use super::{bounds, polygon};
use crate::blank::LineUse;
use crate::emit::drawing::double_arrow;
use crate::emit::font::{CAP, Letters};
use crate::emit::scene::{Anchor, Item, Scene, Stroke, ToPage};
use crate::emit::svg::colour;
use crate::geom::{DVec2, Path, Rect};
use crate::sheet::{Keep, LaidSheet, Proved, Rest, rests_of};
use crate::units::{Length, LengthUnit, trimmed};

/// The page in mm: A4, lying.
const PAGE: DVec2 = DVec2::new(297.0, 210.0);
/// Where the sheet may be drawn: left, top, right, bottom.
const FIELD: [f64; 4] = [20.0, 30.0, 214.0, 184.0];
/// The list beside it.
const LIST: [f64; 2] = [224.0, 287.0];
const LARGE: f64 = 5.0;
const SMALL: f64 = 3.2;
/// Letters smaller than this are not written into a part.
const LEAST: f64 = 1.8;
const INK: &str = "#1d2428";
const SHEET: &str = "#f4eee2";
const BARE: &str = "#ffffff";
const REST: &str = "#ddd3bd";

/// Tints that tell kinds of parts apart, used in turn.
const TINTS: [&str; 8] = [
    "#cfe3ec", "#f3d9b1", "#d5e8c8", "#ead0dc", "#f2e7a1", "#d6d2ee", "#cbe5dd", "#e8cdbb",
];

/// A page for each sheet of a layout.
#[must_use]
pub fn pages(layout: &Proved, unit: LengthUnit) -> Vec<Scene> {
    let letters = Letters::shipped();
    let rests = rests_of(layout, &Keep::default());
    let page = |n| {
        let pen = Pen {
            layout,
            unit,
            letters: &letters,
            rests: &rests,
        };
        pen.page(n)
    };
    (0..layout.sheets.len()).map(page).collect()
}

struct Pen<'a> {
    layout: &'a Proved,
    unit: LengthUnit,
    letters: &'a Letters,
    rests: &'a [Rest],
}

fn tint(part: usize) -> &'static str {
    TINTS[part % TINTS.len()]
}

const fn thin(width: f64, colour: &'static str) -> Option<Stroke> {
    Some(Stroke {
        colour,
        width,
        dash: &[],
    })
}

impl Pen<'_> {
    fn page(&self, n: usize) -> Scene {
        let mut scene = Scene::new(PAGE.x, PAGE.y);
        let all = Rect {
            min: DVec2::ZERO,
            max: PAGE,
        };
        scene.shape(vec![Path::rect(all)], Some(BARE), None);
        let laid = &self.layout.sheets[n];
        self.head(&mut scene, n, laid);
        let size = bounds(&self.layout.stock[laid.stock].shape).size();
        let room = DVec2::new(FIELD[2] - FIELD[0], FIELD[3] - FIELD[1]);
        let scale = (room / size).min_element();
        let page = ToPage {
            origin: DVec2::new(FIELD[0], FIELD[1] + scale * size.y),
            scale,
        };
        self.sheet(&mut scene, laid, page);
        let rests: Vec<&Rest> = self.rests.iter().filter(|r| r.sheet == n).collect();
        self.rests(&mut scene, &rests, page);
        self.edge(&mut scene, laid, page);
        for p in &laid.placed {
            let shape = self.layout.shape_of(*p);
            let rings = shape.rings().map(|r| page.path(&polygon(r))).collect();
            scene.shape(rings, Some(tint(p.part)), None);
        }
        self.lines(&mut scene, laid, page);
        self.names(&mut scene, laid, page);
        self.frame(&mut scene, size, page);
        self.list(&mut scene, laid);
        scene
    }

    fn head(&self, scene: &mut Scene, n: usize, laid: &LaidSheet) {
        let piece = &self.layout.stock[laid.stock];
        let room = PAGE.x - FIELD[0] - 10.0;
        let (title, size) = self.letters.fitted(&self.layout.title, LARGE, true, room);
        scene.items.push(Item::Text {
            at: DVec2::new(FIELD[0], 14.0),
            size,
            anchor: Anchor::Start,
            turn: 0.0,
            bold: true,
            colour: INK,
            text: title,
        });
        let size = bounds(&piece.shape).size();
        let kind = if piece.off_cut { "off-cut" } else { "sheet" };
        let text = format!(
            "sheet {} of {}: {kind} {}, {} x {} {}, board {}, {} % used",
            n + 1,
            self.layout.sheets.len(),
            piece.name,
            self.unit.number(Length::mm(size.x)),
            self.unit.number(Length::mm(size.y)),
            self.unit.symbol(),
            piece.board,
            trimmed(100.0 * self.layout.used(laid), 1),
        );
        let (text, size) = self.letters.fitted(&text, SMALL, false, room);
        scene.text(DVec2::new(FIELD[0], 21.0), size, Anchor::Start, text);
    }

    fn sheet(&self, scene: &mut Scene, laid: &LaidSheet, page: ToPage) {
        let shape = &self.layout.stock[laid.stock].shape;
        let rings = shape.rings().map(|r| page.path(&polygon(r))).collect();
        scene.shape(rings, Some(SHEET), None);
    }

    /// The edge of the sheet, and how far the machine reaches.
    fn edge(&self, scene: &mut Scene, laid: &LaidSheet, page: ToPage) {
        let shape = &self.layout.stock[laid.stock].shape;
        let rings = shape.rings().map(|r| page.path(&polygon(r))).collect();
        scene.shape(rings, None, thin(0.35, INK));
        if let Some([x, y]) = self.layout.reach {
            let b = shape.bounds();
            let reach = crate::sheet::Shape::rect(x.min(b.max.x), y.min(b.max.y));
            if reach.bounds() != b {
                let stroke = Stroke {
                    colour: INK,
                    width: 0.2,
                    dash: &[1.6, 1.2],
                };
                let path = page.path(&polygon(&reach.outer));
                scene.shape(vec![path], None, Some(stroke));
            }
        }
    }

    /// What is worth keeping of the sheet: shaded, with its size.
    fn rests(&self, scene: &mut Scene, rests: &[&Rest], page: ToPage) {
        for r in rests {
            let rings = r.shape.rings().map(|r| page.path(&polygon(r))).collect();
            scene.shape(rings, Some(REST), None);
            let b = bounds(&r.shape);
            let (at, size) = (page.point(b.centre()), b.size());
            let text = format!(
                "off-cut {} x {} {}",
                self.unit.number(Length::mm(size.x)),
                self.unit.number(Length::mm(size.y)),
                self.unit.symbol()
            );
            let room = 0.92 * size * page.scale;
            let wide = self.letters.width(&text, SMALL, false);
            let upright = wide > room.x && room.y > room.x;
            let (long, short) = if upright {
                (room.y, room.x)
            } else {
                (room.x, room.y)
            };
            let em = SMALL.min(SMALL * long / wide).min(0.8 * short);
            if em < LEAST {
                continue;
            }
            let down = 0.5 * CAP * em;
            scene.items.push(Item::Text {
                at: at
                    + if upright {
                        DVec2::new(down, 0.0)
                    } else {
                        DVec2::new(0.0, down)
                    },
                size: em,
                anchor: Anchor::Middle,
                turn: if upright { 90.0 } else { 0.0 },
                bold: false,
                colour: INK,
                text,
            });
        }
    }

    /// Cut lines last, so that they lie on top; dashes are short, for they are drawn small.
    fn lines(&self, scene: &mut Scene, laid: &LaidSheet, page: ToPage) {
        for line_use in LineUse::ALL.into_iter().rev() {
            let mut paths = Vec::new();
            for p in &laid.placed {
                let place = p.placement();
                let of_use = |l: &&crate::sheet::Line| l.line_use == line_use;
                for l in self.layout.parts[p.part].lines.iter().filter(of_use) {
                    paths.push(page.path(&place.path(&l.path)));
                }
            }
            let (width, dash): (f64, &'static [f64]) = match line_use {
                LineUse::Cut => (0.2, &[]),
                LineUse::CreaseInward => (0.15, &[1.2, 0.6]),
                LineUse::CreaseOutward => (0.15, &[1.8, 0.5, 0.3, 0.5]),
                LineUse::Perforation => (0.15, &[0.4, 0.5]),
                LineUse::Engrave | LineUse::Board => (0.12, &[]),
            };
            // One item for each path: painted together, paths would be filled by some readers.
            for path in paths {
                let stroke = Stroke {
                    colour: colour(line_use),
                    width,
                    dash,
                };
                scene.shape(vec![path], None, Some(stroke));
            }
        }
    }

    /// The number of each part and, where there is room, its name, along its longer side.
    fn names(&self, scene: &mut Scene, laid: &LaidSheet, page: ToPage) {
        for p in &laid.placed {
            let (at, room, turn) = label_spot(self.layout, *p, page);
            let number = (p.part + 1).to_string();
            let full = format!("{number}  {}", self.layout.parts[p.part].name);
            let em = SMALL.min(0.6 * room.y);
            if em < LEAST {
                continue;
            }
            let mut text = full;
            let mut size = em;
            let wide = self.letters.width(&text, em, false);
            if wide > room.x {
                size = em * (room.x / wide);
                if size < LEAST {
                    (text, size) = (number, em);
                }
            }
            if self.letters.width(&text, size, false) > room.x {
                continue;
            }
            let back = self.letters.width(&text, size, false) + 0.6 * size;
            let down = if turn == 0.0 {
                DVec2::new(0.0, 0.5 * CAP * size)
            } else {
                DVec2::new(0.5 * CAP * size, 0.0)
            };
            let half = if turn == 0.0 {
                DVec2::new(0.5 * back, 0.65 * size)
            } else {
                DVec2::new(0.65 * size, 0.5 * back)
            };
            let plate = Rect {
                min: at - half,
                max: at + half,
            };
            // Lines run under the name.
            scene.shape(vec![Path::rect(plate)], Some(tint(p.part)), None);
            scene.items.push(Item::Text {
                at: at + down,
                size,
                anchor: Anchor::Middle,
                turn,
                bold: false,
                colour: INK,
                text,
            });
        }
    }

    /// Sizes along two sides, and how the flutes run.
    fn frame(&self, scene: &mut Scene, size: DVec2, page: ToPage) {
        let wide = self.unit.show(Length::mm(size.x));
        let high = self.unit.show(Length::mm(size.y));
        let low = page.point(DVec2::new(0.5 * size.x, 0.0)) + DVec2::new(0.0, 5.0);
        scene.text(low, SMALL, Anchor::Middle, wide);
        scene.items.push(Item::Text {
            at: page.point(DVec2::new(0.0, 0.5 * size.y)) - DVec2::new(2.5, 0.0),
            size: SMALL,
            anchor: Anchor::Middle,
            turn: 90.0,
            bold: false,
            colour: INK,
            text: high,
        });
        let at = DVec2::new(FIELD[0] + 7.0, PAGE.y - 12.0);
        double_arrow(scene, at, DVec2::X, 12.0, 0.25);
        let outside = self.layout.parts.iter().any(|p| p.outside_up);
        let face = if outside {
            "the faces that lie up are seen"
        } else {
            "inside faces seen"
        };
        let mut words = format!("flutes; {face}");
        if self.layout.spacing > 0 || self.layout.margin > 0 {
            let mm = |v: i64| {
                self.unit
                    .show(Length::mm(crate::sheet::Spot::new(v, 0).to_mm().x))
            };
            words.push_str(&format!(
                "; {} between parts, {} to the edge",
                mm(self.layout.spacing),
                mm(self.layout.margin)
            ));
        }
        let base = at + DVec2::new(9.0, 0.5 * CAP * SMALL);
        scene.text(base, SMALL, Anchor::Start, words);
    }

    /// What lies on the sheet, and how often.
    fn list(&self, scene: &mut Scene, laid: &LaidSheet) {
        let mut y = FIELD[1] + 3.0;
        let kinds: Vec<usize> = (0..self.layout.parts.len())
            .filter(|i| laid.placed.iter().any(|p| p.part == *i))
            .collect();
        let fit = |y: f64| y + 5.2 < PAGE.y - 12.0;
        for (k, part) in kinds.iter().enumerate() {
            if !fit(y) {
                let more = format!("and {} more kinds", kinds.len() - k);
                scene.text(DVec2::new(LIST[0] + 6.0, y), SMALL, Anchor::Start, more);
                break;
            }
            let swatch = Rect {
                min: DVec2::new(LIST[0], y - 3.0),
                max: DVec2::new(LIST[0] + 4.0, y + 0.6),
            };
            scene.shape(vec![Path::rect(swatch)], Some(tint(*part)), thin(0.15, INK));
            let here = laid.placed.iter().filter(|p| p.part == *part).count();
            let p = &self.layout.parts[*part];
            let head = format!("{}", part + 1);
            scene.text(DVec2::new(LIST[0] + 6.0, y), SMALL, Anchor::Start, head);
            let tally = format!("{here} of {}", p.wanted);
            let wide = self.letters.width(&tally, SMALL, false);
            let room = LIST[1] - LIST[0] - 12.0 - wide - 2.0;
            let name = if p.outside_up {
                format!("{}, outside up", p.name)
            } else {
                p.name.clone()
            };
            let (name, size) = self.letters.fitted(&name, SMALL, false, room);
            scene.text(DVec2::new(LIST[0] + 12.0, y), size, Anchor::Start, name);
            scene.text(DVec2::new(LIST[1], y), SMALL, Anchor::End, tally);
            y += 5.2;
        }
    }
}

/// Where a part's label goes: its middle, the room along and across it, its turn. The room is
/// the widest stretch of board, level or upright, through the middle of the part's own area.
pub(in crate::emit) fn label_spot(
    layout: &Proved,
    p: crate::sheet::Placed,
    page: ToPage,
) -> (DVec2, DVec2, f64) {
    let shape = layout.shape_of(p);
    let b = bounds(&shape);
    let mut best = (page.point(b.centre()), DVec2::ZERO, 0.0);
    let steps = 9;
    for k in 1..steps {
        let share = f64::from(k) / f64::from(steps);
        for upright in [false, true] {
            let at = b.min + b.size() * share;
            let line = if upright { at.x } else { at.y };
            for (from, to) in stretches(&shape, line, upright) {
                let mid = 0.5 * (from + to);
                let middle = if upright {
                    DVec2::new(line, mid)
                } else {
                    DVec2::new(mid, line)
                };
                let across = stretches(&shape, mid, !upright)
                    .into_iter()
                    .find(|(a, b)| *a < line && line < *b)
                    .map_or(0.0, |(a, b)| 2.0 * (line - a).min(b - line));
                let room = DVec2::new(0.92 * (to - from), 0.92 * across) * page.scale;
                // Level is easier to read.
                let worth = |r: DVec2, upright: bool| {
                    r.x.min(60.0) * r.y.min(30.0) * if upright { 0.7 } else { 1.0 }
                };
                if worth(room, upright) > worth(best.1, best.2 != 0.0) {
                    best = (page.point(middle), room, if upright { 90.0 } else { 0.0 });
                }
            }
        }
    }
    best
}

/// Stretches of a level (or upright) line that run through a shape: from and to, in mm.
fn stretches(shape: &crate::sheet::Shape, line: f64, upright: bool) -> Vec<(f64, f64)> {
    let mut cuts = Vec::new();
    for ring in shape.rings() {
        let next = ring.iter().cycle().skip(1);
        for (a, b) in ring.iter().zip(next) {
            let (mut a, mut b) = (a.to_mm(), b.to_mm());
            if upright {
                (a, b) = (DVec2::new(a.y, a.x), DVec2::new(b.y, b.x));
            }
            if (a.y <= line) != (b.y <= line) {
                cuts.push(a.x + (b.x - a.x) * (line - a.y) / (b.y - a.y));
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    cuts.chunks_exact(2).map(|c| (c[0], c[1])).collect()
}
