//! The blank as SVG at true size for cutting, and a filled picture of it for reading.

use std::fmt::Write as _;

use super::font::{CAP, Letters};
use super::scene::{Anchor, Item, Scene, Stroke, ToPage, escape, num, path_data};
use super::use_word;
use crate::blank::{Blank, FlatPanel, LineUse};
use crate::geom::{DVec2, Path, Rect, Segment};
use crate::units::Length;

/// What the cut file is told.
#[derive(Clone, Debug, PartialEq)]
pub struct SvgOptions {
    /// Uses that are drawn, in the order of [`LineUse::ALL`]; all unless told otherwise.
    pub uses: Vec<LineUse>,
    /// Bare page round the blank; 2 mm, so that no line lies on the page's edge.
    pub margin: Length,
    /// Width the lines are shown with, 0.1 mm; the geometry is the middle of the line.
    pub line_width: Length,
}

impl Default for SvgOptions {
    fn default() -> Self {
        Self {
            uses: LineUse::ALL.to_vec(),
            margin: Length::mm(2.0),
            line_width: Length::mm(0.1),
        }
    }
}

/// Colour of a use on screen and in cut files.
#[must_use]
pub const fn colour(line_use: LineUse) -> &'static str {
    match line_use {
        LineUse::Cut => "#1a1a1a",
        LineUse::CreaseInward => "#1f5fbf",
        LineUse::CreaseOutward => "#a3268f",
        LineUse::Perforation => "#b35c00",
        LineUse::Engrave => "#2e7d32",
        LineUse::Board => "#9e9e9e",
    }
}

/// Dashes and gaps in page mm that tell the uses apart.
pub(super) const fn dash(line_use: LineUse) -> &'static [f64] {
    match line_use {
        LineUse::CreaseInward => &[4.0, 1.6],
        LineUse::CreaseOutward => &[7.0, 1.6, 0.6, 1.6],
        LineUse::Perforation => &[1.0, 1.4],
        LineUse::Cut | LineUse::Engrave | LineUse::Board => &[],
    }
}

fn to_page(bounds: Rect, margin: f64) -> ToPage {
    ToPage {
        origin: DVec2::new(margin - bounds.min.x, margin + bounds.max.y),
        scale: 1.0,
    }
}

/// The cut file: true size, one user unit a millimetre, one group for each use that occurs, arcs
/// as arcs, nothing but [`Blank::lines`].
#[must_use]
pub fn svg(blank: &Blank, opts: &SvgOptions) -> String {
    let words = (blank.piece.as_str(), super::flute_words(blank));
    cut_file(&blank.lines(), blank.bounds, words, opts)
}

/// Lines as a cut file, under a title and with a note on how the flutes run.
pub(super) fn cut_file(
    lines: &[(LineUse, Path)],
    bounds: Rect,
    (title, flutes): (&str, &str),
    opts: &SvgOptions,
) -> String {
    let margin = opts.margin.to_mm().max(0.0);
    let size = bounds.size() + DVec2::splat(2.0 * margin);
    let page = to_page(bounds, margin);
    let (w, h) = (num(size.x), num(size.y));
    let mut s = String::new();
    let _ = writeln!(
        s,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">"
    );
    let _ = writeln!(s, "<title>{}</title>", escape(title));
    let _ = writeln!(s, "<desc>{flutes}</desc>");
    for line_use in LineUse::ALL.into_iter().filter(|u| opts.uses.contains(u)) {
        let paths: Vec<&Path> = lines
            .iter()
            .filter(|(u, p)| *u == line_use && p.segments().next().is_some())
            .map(|(_, p)| p)
            .collect();
        if paths.is_empty() {
            continue;
        }
        let _ = writeln!(
            s,
            "<g id=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\">",
            use_word(line_use),
            colour(line_use),
            num(opts.line_width.to_mm())
        );
        for path in paths {
            let _ = writeln!(s, "<path d=\"{}\"/>", path_data(&page.path(path)));
        }
        s.push_str("</g>\n");
    }
    s.push_str("</svg>\n");
    s
}

const FACE: &str = "#ead6b4";

/// A picture of the blank, inside face towards the reader: board filled, creases dashed, panels
/// named, flutes marked. One page unit is one millimetre of board.
#[must_use]
pub fn preview(blank: &Blank) -> Scene {
    let size = blank.bounds.size();
    let long = size.x.max(size.y).max(1.0);
    let (unit, margin) = (long / 300.0, long / 40.0);
    let em = 9.0 * unit;
    let page = to_page(blank.bounds, margin);
    let mut scene = Scene::new(size.x + 2.0 * margin, size.y + 2.0 * margin + 2.0 * em);
    scene.shape(vec![page_rect(&scene)], Some("#ffffff"), None);
    face_up(&mut scene, blank, page, (unit, em));
    flute_mark(&mut scene, blank, em, margin);
    scene
}

/// The blank's board, lines and names of panels, with lines `unit` times as wide as is usual on
/// a page 300 mm long, and letters of `em`.
pub(super) fn face_up(scene: &mut Scene, blank: &Blank, page: ToPage, (unit, em): (f64, f64)) {
    for panel in &blank.panels {
        let paths = std::iter::once(&panel.outline)
            .chain(&panel.holes)
            .map(|p| page.path(&panel.place.path(p)))
            .collect();
        // Stroked in its own colour so that no hairline shows between neighbours.
        let seam = Stroke {
            colour: FACE,
            width: 0.3 * unit,
            dash: &[],
        };
        scene.shape(paths, Some(FACE), Some(seam));
    }
    for (line_use, path) in blank.lines() {
        if line_use == LineUse::Board {
            continue;
        }
        let width = if line_use == LineUse::Cut { 0.7 } else { 0.45 };
        let stroke = |width: f64, dash| Stroke {
            colour: colour(line_use),
            width,
            dash,
        };
        let pieces = dashed(&page.path(&path), dash(line_use), unit);
        scene.shape(pieces, None, Some(stroke(width * unit, &[])));
    }
    let letters = Letters::shipped();
    let labels = Labels::new(blank, &letters, page.scale);
    for panel in &blank.panels {
        if let Some(label) = labels.place(panel, &panel.name, em) {
            scene
                .items
                .push(label.item(page.point(label.at), &panel.name, "#4a3b22"));
        }
    }
}

/// [`preview`] as SVG.
#[must_use]
pub fn preview_svg(blank: &Blank) -> String {
    preview(blank).to_svg()
}

fn page_rect(scene: &Scene) -> Path {
    Path::rect(Rect {
        min: DVec2::ZERO,
        max: DVec2::new(scene.width, scene.height),
    })
}

/// Straight dashes of a scale the static patterns of [`Stroke`] cannot have. Whole when the path
/// is curved or the pattern empty.
fn dashed(path: &Path, pattern: &[f64], unit: f64) -> Vec<Path> {
    if pattern.is_empty() || path.segments().any(|s| s.bulge != 0.0) {
        return vec![path.clone()];
    }
    let mut out = Vec::new();
    for s in path.segments() {
        let length = s.length();
        let along = (s.to - s.from).normalize_or_zero();
        let (mut at, mut i) = (0.0, 0);
        while at < length {
            let step = pattern[i % pattern.len()] * unit;
            if i % 2 == 0 {
                let end = (at + step).min(length);
                out.push(Path::line([s.from + along * at, s.from + along * end]));
            }
            at += step;
            i += 1;
        }
    }
    out
}

/// Where a panel's name goes.
pub(super) struct Label {
    /// Middle of the text, in blank coordinates.
    pub at: DVec2,
    /// Em in page mm.
    pub size: f64,
    /// Read from the right.
    pub upright: bool,
}

impl Label {
    /// The text with its middle at a point of the page.
    pub(super) fn item(&self, middle: DVec2, text: &str, colour: &'static str) -> Item {
        let down = 0.5 * CAP * self.size;
        let (at, turn) = if self.upright {
            (middle + DVec2::new(down, 0.0), 90.0)
        } else {
            (middle + DVec2::new(0.0, down), 0.0)
        };
        Item::Text {
            at,
            size: self.size,
            anchor: Anchor::Middle,
            turn,
            bold: false,
            colour,
            text: text.to_owned(),
        }
    }
}

/// Finds places for panel names that touch no line of the blank.
pub(super) struct Labels<'a> {
    letters: &'a Letters,
    lines: Vec<(Rect, Path)>,
    holes: Vec<Vec<DVec2>>,
    /// Page mm per mm of board.
    scale: f64,
}

impl<'a> Labels<'a> {
    pub(super) fn new(blank: &Blank, letters: &'a Letters, scale: f64) -> Self {
        let lines = blank
            .lines()
            .into_iter()
            .filter(|(u, _)| *u != LineUse::Board)
            .map(|(_, p)| (p.bounds(), p))
            .collect();
        Self {
            letters,
            lines,
            holes: blank.holes.iter().map(|h| h.flattened(0.5)).collect(),
            scale,
        }
    }

    /// Further lines to keep clear of, in blank coordinates.
    pub(super) fn avoid(&mut self, lines: impl IntoIterator<Item = Path>) {
        self.lines
            .extend(lines.into_iter().map(|p| (p.bounds(), p)));
    }

    /// A place inside the panel for a text: level or upright, at `em` page mm or down to 60 % of
    /// it, in the middle or as near to it as may be. `None` where there is no room.
    pub(super) fn place(&self, panel: &FlatPanel, text: &str, em: f64) -> Option<Label> {
        const SHARES: [f64; 7] = [0.5, 0.4, 0.6, 0.25, 0.75, 0.12, 0.88];
        let corners = panel.place.path(&panel.outline).flattened(0.5);
        let bounds = corners.iter().fold(Rect::EMPTY, |r, p| r.with(*p));
        let mut spots: Vec<DVec2> = SHARES
            .iter()
            .flat_map(|y| SHARES.iter().map(move |x| DVec2::new(*x, *y)))
            .map(|share| bounds.min + share * bounds.size())
            .collect();
        spots.sort_by(|a, b| {
            let from_middle = |p: &DVec2| p.distance(bounds.centre());
            from_middle(a).total_cmp(&from_middle(b))
        });
        for size in [1.0, 0.8, 0.6].map(|k| k * em) {
            let wide = 0.5 * (self.letters.width(text, size, false) + 0.8 * size) / self.scale;
            let high = 0.5 * (CAP * size + 0.5 * size) / self.scale;
            for upright in [false, true] {
                let half = if upright {
                    DVec2::new(high, wide)
                } else {
                    DVec2::new(wide, high)
                };
                let free = |at: &DVec2| {
                    let room = Rect {
                        min: *at - half,
                        max: *at + half,
                    };
                    clear_of(&corners, room) && self.no_line_in(room)
                };
                if let Some(at) = spots.iter().copied().find(free) {
                    return Some(Label { at, size, upright });
                }
            }
        }
        None
    }

    fn no_line_in(&self, room: Rect) -> bool {
        if self.holes.iter().any(|h| holds(h, room.centre())) {
            return false;
        }
        self.lines
            .iter()
            .all(|(b, p)| apart(*b, room) || super::clip::path(p, room).is_empty())
    }
}

fn apart(a: Rect, b: Rect) -> bool {
    a.max.x < b.min.x || b.max.x < a.min.x || a.max.y < b.min.y || b.max.y < a.min.y
}

/// Whether the point lies inside the polygon.
fn holds(corners: &[DVec2], p: DVec2) -> bool {
    let mut inside = false;
    for (a, b) in sides(corners) {
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}

fn sides(corners: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> {
    corners
        .iter()
        .copied()
        .zip(corners.iter().copied().cycle().skip(1))
}

/// Whether the rectangle lies inside the polygon: its middle does and no side enters it.
fn clear_of(corners: &[DVec2], room: Rect) -> bool {
    holds(corners, room.centre())
        && sides(corners).all(|(from, to)| {
            let side = Segment {
                from,
                to,
                bulge: 0.0,
            };
            super::clip::segment(side, room).next().is_none()
        })
}

/// A double arrow along the flutes with the word, under the blank.
fn flute_mark(scene: &mut Scene, blank: &Blank, em: f64, margin: f64) {
    let middle = DVec2::new(margin + em, scene.height - 0.5 * margin - 0.8 * em);
    super::drawing::double_arrow(
        scene,
        middle,
        DVec2::new(blank.flutes.x, -blank.flutes.y),
        1.8 * em,
        0.08 * em,
    );
    scene.text(
        middle + DVec2::new(1.2 * em, 0.5 * CAP * em),
        em,
        Anchor::Start,
        "flutes; inside face seen",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emit::sample::{slotted, tuck};

    #[test]
    fn the_cut_file_is_true_size_with_a_group_for_each_use() {
        let text = svg(&tuck(), &SvgOptions::default());
        assert!(text.contains("width=\"224mm\" height=\"134mm\" viewBox=\"0 0 224 134\""));
        for id in ["cut", "crease-outward", "perforation", "engrave", "board"] {
            assert!(text.contains(&format!("<g id=\"{id}\"")), "{id}");
        }
        assert!(!text.contains("crease-inward"));
        // The upper right corner: from (222, 17) a quarter of radius 15 to (207, 2), turning
        // left on the page, which is SVG's sweep 0.
        assert!(text.contains("L222 17 A15 15 0 0 0 207 2"), "{text}");
        assert!(!text.contains("<text"));
    }

    #[test]
    fn every_panel_of_the_preview_is_named_inside_itself() {
        let blank = slotted();
        let letters = Letters::shipped();
        let labels = Labels::new(&blank, &letters, 1.0);
        for panel in &blank.panels {
            let l = labels.place(panel, &panel.name, 20.0).unwrap();
            let b = panel.place.path(&panel.outline).bounds();
            assert!(l.at.cmpgt(b.min).all() && l.at.cmplt(b.max).all());
        }
        assert_eq!(preview_svg(&blank), preview_svg(&blank));
    }
}
