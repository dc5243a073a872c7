//! Pages that are written from top to bottom, in one column or several side by side.

use crate::emit::font::Letters;
use crate::emit::scene::{Anchor, Item, Scene, Stroke};
use crate::geom::{DVec2, Path, Rect};

/// A4 upright, in mm.
const PAGE: DVec2 = DVec2::new(210.0, 297.0);
/// Bare edge, in mm.
pub(super) const MARGIN: f64 = 15.0;
/// Breadth of what is written, in mm.
pub(super) const ROOM: f64 = PAGE.x - 2.0 * MARGIN;
/// Ems in mm.
pub(super) const TITLE: f64 = 7.5;
pub(super) const HEAD: f64 = 4.0;
pub(super) const TEXT: f64 = 3.1;
pub(super) const SMALL: f64 = 2.6;
pub(super) const LEAD: f64 = 1.38;
/// Where pairs write their second part.
const PAIR: f64 = 20.5;

pub(super) const INK: &str = "#1d2428";
pub(super) const GREY: &str = "#5c676e";
pub(super) const PALE: &str = "#c9ced1";
const WARN: &str = "#fbe9d0";
pub(super) const BAD: &str = "#a1260d";

/// A column of text: where it begins and how wide it is.
#[derive(Clone, Copy)]
pub(super) struct Column {
    pub x: f64,
    pub room: f64,
}

impl Column {
    pub(super) const WHOLE: Self = Self {
        x: MARGIN,
        room: ROOM,
    };
}

pub(super) struct Pages {
    done: Vec<Scene>,
    pub page: Scene,
    pub y: f64,
    pub letters: Letters,
    title: String,
    /// Whether what is written stays on this page, however long.
    held: bool,
}

impl Pages {
    pub(super) fn new(title: &str) -> Self {
        Self {
            done: Vec::new(),
            page: bare(),
            y: MARGIN,
            letters: Letters::shipped(),
            title: title.to_owned(),
            held: false,
        }
    }

    /// The lowest that anything is written.
    const fn bottom() -> f64 {
        PAGE.y - MARGIN - 6.0
    }

    /// Begins a new page under the title.
    pub(super) fn turn(&mut self) {
        self.done.push(std::mem::replace(&mut self.page, bare()));
        self.y = MARGIN + HEAD;
        let (title, size) = self.letters.fitted(&self.title, HEAD, true, 0.6 * ROOM);
        self.write(
            DVec2::new(MARGIN, self.y),
            size,
            true,
            INK,
            Anchor::Start,
            &title,
        );
        let at = DVec2::new(PAGE.x - MARGIN, self.y);
        self.write(at, SMALL, false, GREY, Anchor::End, "shipping sheet");
        self.rule();
    }

    /// Begins a new page unless so much room is left.
    pub(super) fn room_for(&mut self, height: f64) {
        if !self.held && self.y + height > Self::bottom() {
            self.turn();
        }
    }

    pub(super) const fn is_first(&self) -> bool {
        self.done.is_empty()
    }

    /// From here on nothing turns the page; comes back with a mark for [`Self::let_go`].
    pub(super) fn hold(&mut self) -> usize {
        self.held = true;
        self.page.items.len()
    }

    /// What was written since the mark, from the height `top` down, goes to a new page if it is past the
    /// bottom of this one.
    pub(super) fn let_go(&mut self, mark: usize, top: f64) {
        self.held = false;
        if self.y <= Self::bottom() {
            return;
        }
        let high = self.y - top;
        let moved = Scene {
            items: self.page.items.split_off(mark),
            ..bare()
        };
        self.turn();
        self.page.put(moved, DVec2::new(0.0, self.y - top));
        self.y += high;
    }

    pub(super) fn write(
        &mut self,
        at: DVec2,
        size: f64,
        bold: bool,
        colour: &'static str,
        anchor: Anchor,
        text: &str,
    ) {
        if text.is_empty() {
            return;
        }
        self.page.items.push(Item::Text {
            at,
            size,
            anchor,
            turn: 0.0,
            bold,
            colour,
            text: text.to_owned(),
        });
    }

    pub(super) fn level(&mut self, y: f64, from: f64, to: f64, width: f64, colour: &'static str) {
        let path = Path::line([DVec2::new(from, y), DVec2::new(to, y)]);
        self.page.shape(vec![path], None, thin(width, colour));
    }

    pub(super) fn rule(&mut self) {
        self.y += 2.0;
        self.level(self.y, MARGIN, PAGE.x - MARGIN, 0.3, PALE);
        self.y += 1.5;
    }

    pub(super) fn heading(&mut self, c: Column, text: &str) {
        self.y += HEAD + 2.4;
        self.write(
            DVec2::new(c.x, self.y),
            HEAD,
            true,
            INK,
            Anchor::Start,
            text,
        );
        self.level(self.y + 1.4, c.x, c.x + c.room, 0.2, PALE);
        self.y += 2.0;
    }

    /// Wrapped text.
    pub(super) fn text(&mut self, c: Column, size: f64, bold: bool, ink: &'static str, text: &str) {
        for line in self.letters.wrapped(text, size, bold, c.room) {
            self.room_for(size * LEAD);
            self.y += size * LEAD;
            self.write(
                DVec2::new(c.x, self.y),
                size,
                bold,
                ink,
                Anchor::Start,
                &line,
            );
        }
    }

    /// A word and what there is to say of it.
    pub(super) fn pair(&mut self, c: Column, word: &str, text: &str) {
        self.pair_in(c, word, text, INK);
    }

    pub(super) fn pair_in(&mut self, c: Column, word: &str, text: &str, ink: &'static str) {
        let lines = self.letters.wrapped(text, TEXT, ink == BAD, c.room - PAIR);
        for (i, line) in lines.iter().enumerate() {
            self.room_for(TEXT * LEAD);
            self.y += TEXT * LEAD;
            if i == 0 {
                self.write(
                    DVec2::new(c.x, self.y),
                    TEXT,
                    false,
                    GREY,
                    Anchor::Start,
                    word,
                );
            }
            let at = DVec2::new(c.x + PAIR, self.y);
            self.write(at, TEXT, ink == BAD, ink, Anchor::Start, line);
        }
        self.y += 0.5;
    }

    /// A table; the last cell of a row may wrap, the others are set smaller where they must.
    pub(super) fn table(&mut self, columns: &[(&str, f64, Anchor)], rows: &[Vec<String>]) {
        let head: Vec<String> = columns.iter().map(|(h, _, _)| (*h).to_owned()).collect();
        self.room_for(2.0 * TEXT * LEAD + 4.0);
        self.row(columns, &head, true);
        self.level(self.y + 1.2, MARGIN, MARGIN + ROOM, 0.2, GREY);
        self.y += 0.8;
        for row in rows {
            self.row(columns, row, false);
            self.level(self.y + 1.2, MARGIN, MARGIN + ROOM, 0.1, PALE);
            self.y += 0.8;
        }
    }

    fn row(&mut self, columns: &[(&str, f64, Anchor)], row: &[String], head: bool) {
        let (size, ink) = if head { (SMALL, GREY) } else { (TEXT, INK) };
        let cells: Vec<Vec<String>> = columns
            .iter()
            .zip(row)
            .map(|((_, wide, _), text)| self.letters.wrapped(text, size, false, wide - 2.0))
            .collect();
        let lines = cells.iter().map(Vec::len).max().unwrap_or(0);
        let count = f64::from(u32::try_from(lines).unwrap_or(u32::MAX));
        self.room_for(count * size * LEAD + 1.0);
        let top = self.y;
        let mut x = MARGIN;
        for ((_, wide, anchor), lines) in columns.iter().zip(&cells) {
            let at = if *anchor == Anchor::End {
                x + wide - 2.0
            } else {
                x
            };
            let mut y = top;
            for line in lines {
                y += size * LEAD;
                self.write(DVec2::new(at, y), size, false, ink, *anchor, line);
            }
            x += wide;
        }
        self.y = top + count * size * LEAD;
    }

    /// Lines in a box that catches the eye.
    pub(super) fn warning(&mut self, head: &str, texts: &[String]) {
        const INSET: f64 = 3.0;
        let c = Column {
            x: MARGIN + INSET,
            room: ROOM - 2.0 * INSET,
        };
        let lines = |t: &String| self.letters.wrapped(t, TEXT, false, c.room - 3.0).len();
        let count = texts.iter().map(lines).sum::<usize>();
        let count = f64::from(u32::try_from(count).unwrap_or(u32::MAX));
        let height = 2.0 * INSET + HEAD + count * TEXT * LEAD;
        self.y += 4.0;
        self.room_for(height);
        let frame = Rect {
            min: DVec2::new(MARGIN, self.y),
            max: DVec2::new(PAGE.x - MARGIN, self.y + height),
        };
        self.page
            .shape(vec![Path::rect(frame)], Some(WARN), thin(0.3, INK));
        self.y += INSET + 0.75 * HEAD;
        self.write(
            DVec2::new(c.x, self.y),
            HEAD,
            true,
            INK,
            Anchor::Start,
            head,
        );
        self.y += 0.25 * HEAD;
        for text in texts {
            for (i, line) in self
                .letters
                .wrapped(text, TEXT, false, c.room - 3.0)
                .iter()
                .enumerate()
            {
                self.y += TEXT * LEAD;
                if i == 0 {
                    self.write(
                        DVec2::new(c.x, self.y),
                        TEXT,
                        false,
                        INK,
                        Anchor::Start,
                        "\u{2013}",
                    );
                }
                self.write(
                    DVec2::new(c.x + 3.0, self.y),
                    TEXT,
                    false,
                    INK,
                    Anchor::Start,
                    line,
                );
            }
        }
        self.y = frame.max.y;
    }

    /// The pages, numbered.
    pub(super) fn finished(mut self) -> Vec<Scene> {
        self.done.push(self.page);
        let count = self.done.len();
        for (i, page) in self.done.iter_mut().enumerate() {
            page.items.push(Item::Text {
                at: DVec2::new(PAGE.x - MARGIN, PAGE.y - MARGIN),
                size: SMALL,
                anchor: Anchor::End,
                turn: 0.0,
                bold: false,
                colour: GREY,
                text: format!("{} / {count}", i + 1),
            });
        }
        self.done
    }
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

pub(super) const fn thin(width: f64, colour: &'static str) -> Option<Stroke> {
    Some(Stroke {
        colour,
        width,
        dash: &[],
    })
}
