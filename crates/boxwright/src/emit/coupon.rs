//! The page that goes to the bench with the strips: what to do, what to measure, a table to write in.

use super::font::Letters;
use super::pdf::true_stroke;
use super::scene::{Anchor, Item, Scene, Stroke, ToPage};
use crate::blank::{Blank, LineUse};
use crate::geom::{DVec2, Path, Rect, Vertex};
use crate::learn::Coupon;
use crate::units::trimmed;

/// A4 upright, in mm.
const PAGE: DVec2 = DVec2::new(210.0, 297.0);
const MARGIN: f64 = 16.0;
const ROOM: f64 = PAGE.x - 2.0 * MARGIN;
const TITLE: f64 = 7.0;
const HEAD: f64 = 4.0;
const TEXT: f64 = 3.4;
const SMALL: f64 = 2.8;
const LEAD: f64 = 1.4;
/// High enough to write in by hand.
const ROW: f64 = 7.6;
/// Height of the pictures.
const PICTURES: f64 = 50.0;
/// Strips are drawn at this scale.
const SCALE: f64 = 0.36;

const INK: &str = "#1d2428";
const GREY: &str = "#5c676e";
const PALE: &str = "#aab1b5";
const WARN: &str = "#fbe9d0";
const BOARD: &str = "#ead9b8";

/// The pages for a coupon; the blanks are those of the strips with their creases along the flutes and
/// across them.
#[must_use]
pub fn coupon_pages(coupon: &Coupon, blanks: [&Blank; 2]) -> Vec<Scene> {
    let mut bench = Bench {
        done: Vec::new(),
        page: bare(),
        y: MARGIN,
        letters: Letters::shipped(),
    };
    bench.head(coupon);
    bench.pictures(coupon, blanks);
    bench.steps(coupon);
    bench.table(coupon);
    bench.after(coupon);
    bench.done.push(bench.page);
    bench.done
}

struct Bench {
    done: Vec<Scene>,
    page: Scene,
    y: f64,
    letters: Letters,
}

fn bare() -> Scene {
    let mut page = Scene::new(PAGE.x, PAGE.y);
    let all = Rect {
        min: DVec2::ZERO,
        max: PAGE,
    };
    page.shape(vec![Path::rect(all)], Some("#ffffff"), None);
    page
}

const fn thin(width: f64, colour: &'static str) -> Stroke {
    Stroke {
        colour,
        width,
        dash: &[],
    }
}

impl Bench {
    fn write(&mut self, at: DVec2, size: f64, bold: bool, anchor: Anchor, text: &str) {
        self.page.items.push(Item::Text {
            at,
            size,
            anchor,
            turn: 0.0,
            bold,
            colour: INK,
            text: text.to_owned(),
        });
    }

    fn line(&mut self, from: DVec2, to: DVec2, stroke: Stroke) {
        self.page
            .shape(vec![Path::line([from, to])], None, Some(stroke));
    }

    /// Lines of text down the page.
    fn text(&mut self, x: f64, room: f64, size: f64, text: &str) {
        for line in self.letters.wrapped(text, size, false, room) {
            self.y += size * LEAD;
            self.write(DVec2::new(x, self.y), size, false, Anchor::Start, &line);
        }
    }

    fn head(&mut self, coupon: &Coupon) {
        self.y += TITLE;
        let title = format!("First article: board {}", coupon.board);
        let (title, size) = self.letters.fitted(&title, TITLE, true, 0.72 * ROOM);
        self.write(
            DVec2::new(MARGIN, self.y),
            size,
            true,
            Anchor::Start,
            &title,
        );
        let date = DVec2::new(PAGE.x - MARGIN, self.y);
        self.write(date, TEXT, false, Anchor::End, "day: ________________");
        self.y += 1.5;
        let machine = coupon.machine.as_ref().map(|m| format!(", cut on {m}"));
        let what = format!(
            "creases made by: {}{}; {} strips for each direction of the flutes",
            coupon.way.word(),
            machine.unwrap_or_default(),
            coupon.strips
        );
        self.text(MARGIN, ROOM, TEXT, &what);
        self.y += 3.0;
        let (a, b) = (
            DVec2::new(MARGIN, self.y),
            DVec2::new(PAGE.x - MARGIN, self.y),
        );
        self.line(a, b, thin(0.3, PALE));
        self.y += 3.0;
    }

    /// The two strips flat, and a channel from its open end.
    fn pictures(&mut self, coupon: &Coupon, blanks: [&Blank; 2]) {
        let top = self.y;
        let third = ROOM / 3.0;
        for (i, (blank, word)) in blanks.into_iter().zip(["along", "across"]).enumerate() {
            let at = f64::from(u8::from(i == 1));
            let size = blank.bounds.size() * SCALE;
            let middle = DVec2::new(MARGIN + (at + 0.5) * third, top + 0.5 * (PICTURES - 6.0));
            let corner = middle + DVec2::new(-size.x, size.y) / 2.0;
            let page = ToPage {
                origin: corner - DVec2::new(blank.bounds.min.x, -blank.bounds.min.y) * SCALE,
                scale: SCALE,
            };
            let outline = blank
                .outline
                .iter()
                .chain(&blank.holes)
                .map(|p| page.path(p));
            self.page.shape(outline.collect(), Some(BOARD), None);
            for (line_use, path) in blank.lines() {
                if line_use != LineUse::Board {
                    let stroke = true_stroke(line_use);
                    self.page.shape(vec![page.path(&path)], None, Some(stroke));
                }
            }
            let text = format!("creases {word} the flutes");
            let under = DVec2::new(middle.x, top + PICTURES - 1.0);
            self.write(under, SMALL, false, Anchor::Middle, &text);
            self.flutes(blank, middle);
        }
        self.channel(coupon, DVec2::new(MARGIN + 2.5 * third, top));
        self.y = top + PICTURES + 2.0;
    }

    /// Short lines beside the hole that say how the flutes run.
    fn flutes(&mut self, blank: &Blank, middle: DVec2) {
        let along = DVec2::new(blank.flutes.x, -blank.flutes.y) * 2.2;
        let aside = blank.bounds.size() * SCALE / 2.0;
        for side in [-1.0, 1.0] {
            let off = if aside.x > aside.y {
                DVec2::new(side * (aside.x - 5.5), 0.0)
            } else {
                DVec2::new(0.0, side * (aside.y - 5.5))
            };
            for step in [-1.2, 0.0, 1.2] {
                let at = middle + off + along.perp().normalize_or_zero() * step;
                self.line(at - along, at + along, thin(0.2, GREY));
            }
        }
    }

    /// The channel seen along its creases, with what is measured.
    fn channel(&mut self, coupon: &Coupon, top: DVec2) {
        const T: f64 = 3.0;
        const WALL: f64 = 19.0;
        let half = 14.0;
        let floor = top.y + 40.0;
        let corner = |x: f64, y: f64| Vertex {
            at: DVec2::new(top.x + x, y),
            bulge: 0.0,
        };
        let ring = [
            (-half - T, floor - WALL),
            (-half, floor - WALL),
            (-half, floor),
            (half, floor),
            (half, floor - WALL),
            (half + T, floor - WALL),
            (half + T, floor + T),
            (-half - T, floor + T),
        ];
        let path = Path {
            vertices: ring.map(|(x, y)| corner(x, y)).to_vec(),
            closed: true,
        };
        self.page
            .shape(vec![path], Some(BOARD), Some(thin(0.3, INK)));
        self.width_between(top.x, half, floor - 8.0, "inside");
        for side in [-1.0, 1.0] {
            let x = top.x + side * (half + T);
            let (a, b) = (
                DVec2::new(x, floor - WALL - 1.0),
                DVec2::new(x, floor - WALL - 8.0),
            );
            self.line(a, b, thin(0.15, GREY));
        }
        self.width_between(top.x, half + T, floor - WALL - 6.0, "outside");
        let text = format!(
            "creases {} mm apart as drawn",
            trimmed(coupon.span.to_mm(), 2)
        );
        let under = DVec2::new(top.x, top.y + PICTURES - 1.0);
        self.write(under, SMALL, false, Anchor::Middle, &text);
    }

    fn width_between(&mut self, x: f64, half: f64, y: f64, word: &str) {
        let (a, b) = (DVec2::new(x - half, y), DVec2::new(x + half, y));
        self.line(a, b, thin(0.2, INK));
        for (end, way) in [(a, 1.0), (b, -1.0)] {
            let barb = |rise: f64| end + DVec2::new(way * 1.8, rise);
            let head = Path::line([barb(0.6), end, barb(-0.6)]);
            self.page.shape(vec![head], None, Some(thin(0.2, INK)));
        }
        self.write(DVec2::new(x, y - 1.0), SMALL, false, Anchor::Middle, word);
    }

    fn steps(&mut self, coupon: &Coupon) {
        let gauge = trimmed(coupon.gauge.to_mm(), 2);
        let steps = [
            "Cut the strips and crease them the way the cases will be. Leave no nicks at the holes. Number them; keep the piece of each hole with its strip.".to_owned(),
            "Thickness: one reading on each strip, away from creases and edges, the jaws just touching.".to_owned(),
            format!("Hole and piece: the {gauge} mm square hole from edge to edge, and the piece that fell out of it, both the same way round."),
            "Fold both walls up against a square block, without force, and hold them square. Measure 10 mm above the floor: between the walls, then over them, the jaws just touching.".to_owned(),
            "Write each reading down as it is shown. Measure a reading that looks odd again; strike none out because of its looks.".to_owned(),
        ];
        for (i, step) in steps.iter().enumerate() {
            let before = self.y;
            self.text(MARGIN + 6.0, ROOM - 6.0, TEXT, step);
            let at = DVec2::new(MARGIN, before + TEXT * LEAD);
            self.write(at, TEXT, true, Anchor::Start, &format!("{}.", i + 1));
            self.y += 0.8;
        }
        self.y += 2.0;
    }

    fn table(&mut self, coupon: &Coupon) {
        for (word, run) in [("along", "A"), ("across", "B")] {
            let heading = format!("Creases {word} the flutes (mm)");
            self.heads(&heading, coupon.machine.is_some());
            for n in 1..=coupon.strips {
                if self.y + ROW > PAGE.y - MARGIN {
                    self.done.push(std::mem::replace(&mut self.page, bare()));
                    self.y = MARGIN;
                    self.heads(&heading, coupon.machine.is_some());
                }
                self.row(&format!("{run}{n}"), 5);
            }
            self.y += 2.0;
        }
    }

    const FIRST: f64 = 18.0;

    fn heads(&mut self, heading: &str, kerf: bool) {
        if self.y + HEAD + 3.0 * ROW > PAGE.y - MARGIN {
            self.done.push(std::mem::replace(&mut self.page, bare()));
            self.y = MARGIN;
        }
        self.y += HEAD;
        self.write(
            DVec2::new(MARGIN, self.y),
            HEAD,
            true,
            Anchor::Start,
            heading,
        );
        self.y += SMALL + 2.0;
        let column = (ROOM - Self::FIRST) / 5.0;
        let names = ["thickness", "inside", "outside", "hole", "piece"];
        self.write(
            DVec2::new(MARGIN, self.y),
            SMALL,
            false,
            Anchor::Start,
            "strip",
        );
        for (i, name) in names.into_iter().enumerate() {
            let x = MARGIN + Self::FIRST + column * count(i) + 1.5;
            let name = if kerf || i < 3 { name } else { "-" };
            self.write(DVec2::new(x, self.y), SMALL, false, Anchor::Start, name);
        }
        self.y += 1.5;
    }

    fn row(&mut self, name: &str, columns: usize) {
        let column = (ROOM - Self::FIRST) / count(columns);
        let base = self.y + 0.68 * ROW;
        self.write(
            DVec2::new(MARGIN + 2.0, base),
            TEXT,
            false,
            Anchor::Start,
            name,
        );
        let frame = Rect {
            min: DVec2::new(MARGIN, self.y),
            max: DVec2::new(PAGE.x - MARGIN, self.y + ROW),
        };
        self.page
            .shape(vec![Path::rect(frame)], None, Some(thin(0.2, PALE)));
        for i in 0..columns {
            let x = MARGIN + Self::FIRST + column * count(i);
            let (a, b) = (DVec2::new(x, self.y), DVec2::new(x, self.y + ROW));
            self.line(a, b, thin(0.2, PALE));
        }
        self.y += ROW;
    }

    fn after(&mut self, coupon: &Coupon) {
        let laser = "A laser sets corrugated board alight easily: stay with it, extraction on, extinguisher at hand; the machine's manual and the site's fire rules come first.";
        let then =
            "Then enter the readings in measurements.kdl and run: boxwright learn measurements.kdl";
        let caution = coupon.machine.is_some();
        let lines = self.letters.wrapped(laser, SMALL, false, ROOM - 4.0);
        let height = if caution {
            count(lines.len()) * SMALL * LEAD + 3.0
        } else {
            0.0
        };
        if self.y + height + 10.0 > PAGE.y - 8.0 {
            self.done.push(std::mem::replace(&mut self.page, bare()));
            self.y = MARGIN;
        }
        self.text(MARGIN, ROOM, TEXT, then);
        if !caution {
            return;
        }
        self.y += 3.0;
        let frame = Rect {
            min: DVec2::new(MARGIN, self.y),
            max: DVec2::new(PAGE.x - MARGIN, self.y + height),
        };
        self.page
            .shape(vec![Path::rect(frame)], Some(WARN), Some(thin(0.2, INK)));
        self.y += 0.8;
        self.text(MARGIN + 2.0, ROOM - 4.0, SMALL, laser);
    }
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
