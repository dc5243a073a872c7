//! Folding instructions as pages: a numbered picture for each stage with its title and its line of
//! text, cautions at the end.
//!
//! Rows of two steps flow down the page; a row is as high as its longest text needs, and the
//! pictures take what is left.

use super::font::Letters;
use super::picture::{View, key, picture};
use super::scene::{Anchor, Item, Scene, Stroke};
use crate::fold::Pose;
use crate::geom::{DVec2, Path, Rect, Vertex};

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm.
    #[default]
    A4,
    /// 8.5 x 11 in.
    Letter,
}

impl Paper {
    /// Breadth and height in mm.
    #[must_use]
    pub const fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

const MARGIN: f64 = 15.0;
const GUTTER: f64 = 10.0;
const FOOT: f64 = 8.0;
/// Ems and line pitches in mm.
const TITLE: f64 = 7.5;
const STEP: f64 = 4.6;
const TEXT: f64 = 3.6;
const SMALL: f64 = 2.9;
const LEAD: f64 = 1.36;
const BADGE: f64 = 3.3;
const NOTE_INDENT: f64 = 5.0;
/// Pictures are drawn between these heights.
const LOWEST: f64 = 34.0;
/// Clear height between rows.
const ROW_GAP: f64 = 7.0;
const HIGHEST: f64 = 96.0;
/// Cautions up to this height share the page with the pictures.
const MOST_KEPT: f64 = 60.0;

const DARK: &str = "#22303a";
const GREY: &str = "#5c676e";
const PALE: &str = "#c9ced1";

/// The pages. `poses` begins with the flat blank and goes on with the case after each stage; each
/// shows what moved since the one before it. `notes` are cautions, set at the end.
#[must_use]
pub fn instructions(
    title: &str,
    subtitle: &str,
    poses: &[Pose],
    notes: &[String],
    paper: Paper,
) -> Vec<Scene> {
    let mut pages = Pages::new(title, subtitle, paper);
    let rows = if poses.len() > 4 { 3.0 } else { 2.0 };
    let column = (pages.width - 2.0 * MARGIN - GUTTER) / 2.0;
    // On a single page the cautions keep their place; they take a page of their own when long.
    let kept = if poses.len() <= 6 {
        pages.cautions_height(notes)
    } else {
        0.0
    };
    let kept = if kept < MOST_KEPT { kept } else { 0.0 };
    for (row, pair) in poses.chunks(2).enumerate() {
        let words: Vec<Words> = pair.iter().map(|p| pages.words(p, column)).collect();
        let text = words.iter().map(Words::height).fold(0.0, f64::max);
        let share = (pages.bottom() - pages.top() - kept) / rows;
        let high = (share - text - ROW_GAP).clamp(LOWEST, HIGHEST);
        pages.room_for(high + text);
        for (k, (pose, words)) in pair.iter().zip(&words).enumerate() {
            let x = if k == 0 {
                MARGIN
            } else {
                MARGIN + column + GUTTER
            };
            let at = DVec2::new(x, pages.y);
            let index = 2 * row + k;
            let before = index.checked_sub(1).map(|i| &poses[i]);
            let drawn = picture(pose, before, &View::default(), column, high);
            pages.page().put(drawn, at);
            words.put(pages.page(), pose, at + DVec2::new(0.0, high));
        }
        pages.y += high + text + ROW_GAP;
    }
    pages.cautions(notes);
    pages.finished()
}

/// A step's title and text in lines.
struct Words {
    title: Vec<String>,
    text: Vec<String>,
    indent: f64,
}

impl Words {
    fn height(&self) -> f64 {
        let lines = |n: &Vec<String>| f64::from(u32::try_from(n.len()).unwrap_or(u32::MAX));
        3.0 + lines(&self.title) * STEP * LEAD + lines(&self.text) * TEXT * LEAD
    }
    fn put(&self, page: &mut Scene, pose: &Pose, at: DVec2) {
        let mut y = at.y + 3.0 + STEP;
        if pose.stage > 0 {
            let centre = DVec2::new(at.x + BADGE, y - 0.36 * STEP);
            page.shape(vec![disc(centre, BADGE)], Some(DARK), None);
            let number = pose.stage.to_string();
            let size = if number.len() > 2 { 2.8 } else { 4.0 };
            let base = centre + DVec2::new(0.0, 0.357 * size);
            write(page, base, size, true, "#ffffff", Anchor::Middle, &number);
        }
        let x = at.x + self.indent;
        for line in &self.title {
            write(
                page,
                DVec2::new(x, y),
                STEP,
                true,
                DARK,
                Anchor::Start,
                line,
            );
            y += STEP * LEAD;
        }
        y += (TEXT - STEP) * 0.5;
        for line in &self.text {
            write(
                page,
                DVec2::new(x, y),
                TEXT,
                false,
                DARK,
                Anchor::Start,
                line,
            );
            y += TEXT * LEAD;
        }
    }
}

struct Pages {
    done: Vec<Scene>,
    current: Scene,
    title: String,
    width: f64,
    height: f64,
    y: f64,
    start: f64,
    letters: Letters,
}

impl Pages {
    fn new(title: &str, subtitle: &str, paper: Paper) -> Self {
        let (width, height) = paper.size();
        let mut new = Self {
            done: Vec::new(),
            current: Scene::new(width, height),
            title: title.to_owned(),
            width,
            height,
            y: MARGIN,
            start: 0.0,
            letters: Letters::shipped(),
        };
        let room = width - 2.0 * MARGIN;
        for (text, size, bold, colour) in
            [(title, TITLE, true, DARK), (subtitle, TEXT, false, GREY)]
        {
            for line in new.letters.wrapped(text, size, bold, room) {
                new.y += size;
                let at = DVec2::new(MARGIN, new.y);
                write(
                    &mut new.current,
                    at,
                    size,
                    bold,
                    colour,
                    Anchor::Start,
                    &line,
                );
                new.y += size * (LEAD - 1.0);
            }
        }
        new.rule();
        new
    }
    fn page(&mut self) -> &mut Scene {
        &mut self.current
    }
    fn top(&self) -> f64 {
        self.start
    }
    fn bottom(&self) -> f64 {
        self.height - MARGIN - FOOT
    }
    fn rule(&mut self) {
        self.y += 1.5;
        let ends = [MARGIN, self.width - MARGIN].map(|x| DVec2::new(x, self.y));
        self.current.shape(vec![Path::line(ends)], None, line(0.3));
        self.y += 4.0;
        self.start = self.y;
    }
    /// Begins a new page when `height` mm no longer fit on this one.
    fn room_for(&mut self, height: f64) {
        if self.y + height <= self.bottom() + 1e-9 || self.y <= self.start {
            return;
        }
        let next = Scene::new(self.width, self.height);
        self.done.push(std::mem::replace(&mut self.current, next));
        self.y = MARGIN + SMALL;
        let head = self
            .letters
            .wrapped(&self.title, SMALL, true, self.width - 2.0 * MARGIN);
        if let Some(head) = head.first() {
            write(
                &mut self.current,
                DVec2::new(MARGIN, self.y),
                SMALL,
                true,
                GREY,
                Anchor::Start,
                head,
            );
        }
        self.rule();
    }
    fn words(&self, pose: &Pose, column: f64) -> Words {
        let indent = if pose.stage > 0 {
            2.0 * BADGE + 2.4
        } else {
            0.0
        };
        let room = column - indent;
        Words {
            title: self.letters.wrapped(&pose.title, STEP, true, room),
            text: self.letters.wrapped(&pose.text, TEXT, false, room),
            indent,
        }
    }
    fn cautions_height(&self, notes: &[String]) -> f64 {
        let room = self.width - 2.0 * MARGIN - NOTE_INDENT;
        let of = |n: &String| {
            let lines = self.letters.wrapped(n, TEXT, false, room).len();
            f64::from(u32::try_from(lines).unwrap_or(u32::MAX)) * TEXT * LEAD + 1.2
        };
        if notes.is_empty() {
            return 0.0;
        }
        STEP * LEAD + 1.0 + notes.iter().map(of).sum::<f64>()
    }
    fn cautions(&mut self, notes: &[String]) {
        if notes.is_empty() {
            return;
        }
        self.room_for(
            self.cautions_height(notes)
                .min(STEP * LEAD + 4.0 * TEXT * LEAD),
        );
        self.y += STEP;
        let at = DVec2::new(MARGIN, self.y);
        write(
            &mut self.current,
            at,
            STEP,
            true,
            DARK,
            Anchor::Start,
            "Take care",
        );
        self.y += STEP * (LEAD - 1.0) + 1.0;
        for note in notes {
            let lines =
                self.letters
                    .wrapped(note, TEXT, false, self.width - 2.0 * MARGIN - NOTE_INDENT);
            for (i, words) in lines.iter().enumerate() {
                self.room_for(TEXT * LEAD);
                self.y += TEXT;
                if i == 0 {
                    let centre = DVec2::new(MARGIN + 1.2, self.y - 0.35 * TEXT);
                    self.current
                        .shape(vec![disc(centre, 0.7)], Some(DARK), None);
                }
                let at = DVec2::new(MARGIN + NOTE_INDENT, self.y);
                write(
                    &mut self.current,
                    at,
                    TEXT,
                    false,
                    DARK,
                    Anchor::Start,
                    words,
                );
                self.y += TEXT * (LEAD - 1.0);
            }
            self.y += 1.2;
        }
    }
    fn finished(mut self) -> Vec<Scene> {
        self.done.push(self.current);
        let count = self.done.len();
        for (i, page) in self.done.iter_mut().enumerate() {
            let y = self.height - MARGIN;
            let number = format!("{} / {count}", i + 1);
            write(
                page,
                DVec2::new(self.width - MARGIN, y),
                SMALL,
                false,
                GREY,
                Anchor::End,
                &number,
            );
            let mut x = MARGIN;
            for (colour, word) in key() {
                let swatch = Rect {
                    min: DVec2::new(x, y - 2.4),
                    max: DVec2::new(x + 4.0, y + 0.2),
                };
                page.shape(vec![Path::rect(swatch)], Some(colour), line(0.15));
                x += 5.2;
                write(
                    page,
                    DVec2::new(x, y),
                    SMALL,
                    false,
                    GREY,
                    Anchor::Start,
                    word,
                );
                x += self.letters.width(word, SMALL, false) + 5.0;
            }
        }
        self.done
    }
}

const fn line(width: f64) -> Option<Stroke> {
    Some(Stroke {
        colour: PALE,
        width,
        dash: &[],
    })
}

fn disc(centre: DVec2, radius: f64) -> Path {
    let half = |x: f64| Vertex {
        at: centre + DVec2::new(x, 0.0),
        bulge: 1.0,
    };
    Path {
        vertices: vec![half(-radius), half(radius)],
        closed: true,
    }
}

fn write(
    page: &mut Scene,
    at: DVec2,
    size: f64,
    bold: bool,
    colour: &'static str,
    anchor: Anchor,
    text: &str,
) {
    page.items.push(Item::Text {
        at,
        size,
        anchor,
        turn: 0.0,
        bold,
        colour,
        text: text.to_owned(),
    });
}

#[cfg(test)]
mod tests;
