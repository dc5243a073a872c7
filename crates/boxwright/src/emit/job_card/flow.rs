//! Text and tables that flow down upright pages.

use crate::emit::font::Letters;
use crate::emit::scene::{Anchor, Item, Scene, Stroke};
use crate::geom::{DVec2, Path, Rect};

/// A4 upright, in mm.
pub(super) const PAGE: DVec2 = DVec2::new(210.0, 297.0);
/// Bare edge, in mm.
pub(super) const MARGIN: f64 = 15.0;
/// Breadth of what is written, in mm.
pub(super) const ROOM: f64 = PAGE.x - 2.0 * MARGIN;
/// Ems in mm.
const TITLE: f64 = 7.5;
const HEAD: f64 = 4.2;
pub(super) const TEXT: f64 = 3.4;
pub(super) const SMALL: f64 = 2.9;
const LEAD: f64 = 1.4;
/// Height of a row of a table.
const ROW: f64 = 5.2;
/// Where pairs write their second part.
const PAIR: f64 = 32.0;

pub(super) const INK: &str = "#1d2428";
pub(super) const GREY: &str = "#5c676e";
const PALE: &str = "#c9ced1";
const WARN: &str = "#fbe9d0";

/// A column of a table.
pub(super) struct Column {
    head: &'static str,
    width: f64,
    anchor: Anchor,
}

impl Column {
    pub(super) const fn new(head: &'static str, width: f64, anchor: Anchor) -> Self {
        Self {
            head,
            width,
            anchor,
        }
    }
}

pub(super) struct Flow {
    done: Vec<Scene>,
    current: Scene,
    pub(super) y: f64,
    title: String,
    pub(super) letters: Letters,
}

impl Flow {
    pub(super) fn new(title: &str) -> Self {
        let mut new = Self {
            done: Vec::new(),
            current: bare(),
            y: MARGIN,
            title: title.to_owned(),
            letters: Letters::shipped(),
        };
        new.y += SMALL;
        new.write(MARGIN, SMALL, false, GREY, Anchor::Start, "job card");
        new.y += 1.0;
        for line in new.letters.wrapped(title, TITLE, true, ROOM) {
            new.y += TITLE;
            new.write(MARGIN, TITLE, true, INK, Anchor::Start, &line);
            new.y += 0.25 * TITLE;
        }
        new.rule();
        new
    }

    pub(super) fn page(&mut self) -> &mut Scene {
        &mut self.current
    }

    /// The lowest that anything is written.
    pub(super) const fn bottom() -> f64 {
        PAGE.y - MARGIN - 7.0
    }

    /// Begins a new page under the title, and what it is about.
    pub(super) fn turn(&mut self, about: &str) {
        self.done.push(std::mem::replace(&mut self.current, bare()));
        self.y = MARGIN + HEAD;
        let (title, size) = self.letters.fitted(&self.title, HEAD, true, 0.6 * ROOM);
        self.write(MARGIN, size, true, INK, Anchor::Start, &title);
        let (about, size) = self.letters.fitted(about, HEAD, false, 0.38 * ROOM);
        self.write(PAGE.x - MARGIN, size, false, INK, Anchor::End, &about);
        self.rule();
    }

    fn room_for(&mut self, height: f64) {
        if self.y + height > Self::bottom() {
            self.turn("job card");
        }
    }

    /// A line of text at the current height.
    pub(super) fn write(
        &mut self,
        x: f64,
        size: f64,
        bold: bool,
        colour: &'static str,
        anchor: Anchor,
        text: &str,
    ) {
        self.current.items.push(Item::Text {
            at: DVec2::new(x, self.y),
            size,
            anchor,
            turn: 0.0,
            bold,
            colour,
            text: text.to_owned(),
        });
    }

    fn level(&mut self, y: f64, from: f64, to: f64, width: f64, colour: &'static str) {
        let line = Path::line([DVec2::new(from, y), DVec2::new(to, y)]);
        self.current
            .shape(vec![line], None, Some(thin(width, colour)));
    }

    fn rule(&mut self) {
        self.y += 2.0;
        self.level(self.y, MARGIN, PAGE.x - MARGIN, 0.3, PALE);
        self.y += 3.0;
    }

    pub(super) fn heading(&mut self, text: &str) {
        self.room_for(HEAD + 3.0 + 3.0 * ROW);
        self.y += HEAD + 3.5;
        self.write(MARGIN, HEAD, true, INK, Anchor::Start, text);
        self.y += 1.0;
    }

    /// A word and what there is to say of it.
    pub(super) fn pair(&mut self, word: &str, text: &str) {
        for (i, line) in self
            .letters
            .wrapped(text, TEXT, false, ROOM - PAIR)
            .iter()
            .enumerate()
        {
            self.room_for(TEXT * LEAD);
            self.y += TEXT * LEAD;
            if i == 0 {
                self.write(MARGIN, TEXT, false, GREY, Anchor::Start, word);
            }
            self.write(MARGIN + PAIR, TEXT, false, INK, Anchor::Start, line);
        }
    }

    pub(super) fn small(&mut self, text: &str) {
        for line in self.letters.wrapped(text, SMALL, false, ROOM) {
            self.room_for(SMALL * LEAD);
            self.y += SMALL * LEAD;
            self.write(MARGIN, SMALL, false, GREY, Anchor::Start, &line);
        }
    }

    /// A table; its head is written again on every page it runs on to.
    pub(super) fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        self.head(columns);
        for row in rows {
            if self.y + ROW > Self::bottom() {
                self.turn("job card");
                self.head(columns);
            }
            self.row(columns, row, false);
            self.level(self.y + 1.5, MARGIN, end(columns), 0.1, PALE);
        }
    }

    /// A last row that adds up the others.
    pub(super) fn sum(&mut self, columns: &[Column], row: &[String]) {
        self.room_for(ROW);
        self.level(self.y + 1.5, MARGIN, end(columns), 0.3, INK);
        self.row(columns, row, true);
    }

    fn head(&mut self, columns: &[Column]) {
        if columns.iter().all(|c| c.head.is_empty()) {
            return;
        }
        self.y += ROW;
        let mut x = MARGIN;
        for c in columns {
            self.cell(x, c, c.head, SMALL, false, GREY);
            x += c.width;
        }
        self.level(self.y + 1.5, MARGIN, end(columns), 0.25, GREY);
    }

    fn row(&mut self, columns: &[Column], row: &[String], bold: bool) {
        self.y += ROW;
        let mut x = MARGIN;
        for (c, text) in columns.iter().zip(row) {
            self.cell(x, c, text, TEXT, bold, INK);
            x += c.width;
        }
    }

    fn cell(&mut self, x: f64, c: &Column, text: &str, size: f64, bold: bool, ink: &'static str) {
        let (text, size) = self.letters.fitted(text, size, bold, c.width - 2.0);
        let at = if c.anchor == Anchor::End {
            x + c.width - 2.0
        } else {
            x
        };
        self.write(at, size, bold, ink, c.anchor, &text);
    }

    /// Lines in a box that catches the eye.
    pub(super) fn warning(&mut self, head: &str, texts: &[&str]) {
        const INSET: f64 = 3.0;
        let room = ROOM - 2.0 * INSET;
        let lines: Vec<String> = texts
            .iter()
            .flat_map(|t| self.letters.wrapped(t, TEXT, false, room))
            .collect();
        let count = f64::from(u32::try_from(lines.len()).unwrap_or(u32::MAX));
        let height = 2.0 * INSET + HEAD + count * TEXT * LEAD;
        self.y += 5.0;
        self.room_for(height);
        let frame = Rect {
            min: DVec2::new(MARGIN, self.y),
            max: DVec2::new(PAGE.x - MARGIN, self.y + height),
        };
        self.current
            .shape(vec![Path::rect(frame)], Some(WARN), Some(thin(0.3, INK)));
        self.y += INSET + 0.75 * HEAD;
        self.write(MARGIN + INSET, HEAD, true, INK, Anchor::Start, head);
        self.y += 0.25 * HEAD;
        for line in &lines {
            self.y += TEXT * LEAD;
            self.write(MARGIN + INSET, TEXT, false, INK, Anchor::Start, line);
        }
        self.y = frame.max.y;
    }

    /// The pages, numbered.
    pub(super) fn finished(mut self) -> Vec<Scene> {
        self.done.push(self.current);
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

fn end(columns: &[Column]) -> f64 {
    MARGIN + columns.iter().map(|c| c.width).sum::<f64>()
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

pub(super) const fn thin(width: f64, colour: &'static str) -> Stroke {
    Stroke {
        colour,
        width,
        dash: &[],
    }
}
