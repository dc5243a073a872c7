//! The sheet round the drawing: frame, title block, legend and notes.

use super::{TitleBlock, double_arrow, narrow, stroke, write};
use crate::blank::{Blank, LineUse};
use crate::emit::font::{CAP, Letters};
use crate::emit::scene::{Anchor, Scene};
use crate::geom::{DVec2, Path, Rect};
use crate::units::LengthUnit;

/// Frame to the sheet's edge on the left, mm: room for filing.
pub(super) const LEFT: f64 = 20.0;
/// Frame to the sheet's other edges, mm.
pub(super) const OTHER: f64 = 10.0;

/// The title block fills the frame of an upright A4 sheet.
const BLOCK: DVec2 = DVec2::new(180.0, 38.0);
const ROW: f64 = 5.2;
/// The narrowest column that holds a line sample and its meaning.
const COLUMN: f64 = 72.0;
const NOTE: f64 = 4.2;
pub(super) const NOTE_EM: f64 = 3.0;

/// Lines of the legend: one for each use, the flutes, the face.
const fn legend_rows(uses: usize) -> usize {
    uses + 2
}

fn legend_beside(page: DVec2) -> bool {
    page.x - LEFT - OTHER - BLOCK.x >= COLUMN
}

/// Height the title block and the legend take inside the frame.
pub(super) fn foot_height(page: DVec2, uses: usize) -> f64 {
    if legend_beside(page) {
        BLOCK.y
    } else {
        BLOCK.y + strip_height(uses)
    }
}

fn strip_height(uses: usize) -> f64 {
    let rows = u32::try_from(legend_rows(uses).div_ceil(2)).unwrap_or(u32::MAX);
    f64::from(rows) * ROW + 3.0
}

/// Height the notes take above that.
pub(super) fn note_height(notes: &[String]) -> f64 {
    let lines = u32::try_from(notes.len()).unwrap_or(u32::MAX);
    if lines == 0 {
        0.0
    } else {
        f64::from(lines) * NOTE + 3.0
    }
}

/// Writes the notes above the foot.
pub(super) fn notes(scene: &mut Scene, notes: &[String], uses: usize) {
    let page = DVec2::new(scene.width, scene.height);
    let top = page.y - OTHER - foot_height(page, uses) - note_height(notes);
    let lines = std::iter::successors(Some(top + NOTE), |y| Some(y + NOTE));
    for (note, y) in notes.iter().zip(lines) {
        scene.text(
            DVec2::new(LEFT + 4.0, y),
            NOTE_EM,
            Anchor::Start,
            note.clone(),
        );
    }
}

/// The frame.
pub(super) fn frame(scene: &mut Scene) {
    let frame = Path::rect(Rect {
        min: DVec2::new(LEFT, OTHER),
        max: DVec2::new(scene.width - OTHER, scene.height - OTHER),
    });
    scene.shape(vec![frame], None, Some(narrow(0.7)));
}

/// One field: what it is, what it says, how wide it is, how large it may be written.
type Field<'a> = (&'static str, &'a str, f64, f64);

/// The title block, bottom right.
pub(super) fn title_block(
    scene: &mut Scene,
    blank: &Blank,
    title: &TitleBlock,
    scale: &str,
    unit: LengthUnit,
    letters: &Letters,
) {
    let kind = if title.document_type.is_empty() {
        "blank drawing"
    } else {
        &title.document_type
    };
    let sheet = format!("{} / {}", title.sheet.max(1), title.sheets.max(1));
    let inside = title.inside.map_or(String::new(), |s| {
        let [l, w, d] = s.map(|v| unit.number(v));
        format!("{l} x {w} x {d} {}", unit.symbol())
    });
    let caliper = unit.show(blank.caliper);
    let flutes = flute_words(blank);
    let lengths = match unit {
        LengthUnit::Mm => "millimetres",
        LengthUnit::Inch => "inches",
    };
    let rows: [(f64, Vec<Field<'_>>); 4] = [
        (
            9.0,
            vec![
                ("Owner", &title.owner, 70.0, 3.5),
                ("Document type", kind, 60.0, 3.5),
                ("Date of issue", &title.date, 50.0, 3.5),
            ],
        ),
        (
            11.0,
            vec![
                ("Title", &title.title, 120.0, 5.0),
                ("Identification number", &title.number, 60.0, 5.0),
            ],
        ),
        (
            9.0,
            vec![
                ("Creator", &title.creator, 47.0, 3.5),
                ("Approved by", &title.approved, 47.0, 3.5),
                ("Lengths in", lengths, 30.0, 3.5),
                ("Scale", scale, 28.0, 3.5),
                ("Sheet", &sheet, 28.0, 3.5),
            ],
        ),
        (
            9.0,
            vec![
                ("Board", &blank.board, 58.0, 3.5),
                ("Caliper", &caliper, 24.0, 3.5),
                ("Flutes", &flutes, 42.0, 3.5),
                ("Inside size", &inside, 56.0, 3.5),
            ],
        ),
    ];
    let low = DVec2::new(scene.width - OTHER, scene.height - OTHER);
    let corner = low - BLOCK;
    let mut rules = Vec::new();
    let mut y = corner.y;
    for (high, fields) in rows {
        let mut x = corner.x;
        for (what, says, wide, size) in fields {
            write(
                scene,
                DVec2::new(x + 1.2, y + 2.7),
                2.3,
                Anchor::Start,
                false,
                what,
            );
            let bold = size > 4.0;
            let (text, em) = letters.fitted(says, size, bold, wide - 2.4);
            write(
                scene,
                DVec2::new(x + 1.2, y + high - 1.6),
                em,
                Anchor::Start,
                bold,
                &text,
            );
            x += wide;
            if x < low.x - 0.5 {
                rules.push(Path::line([DVec2::new(x, y), DVec2::new(x, y + high)]));
            }
        }
        if y > corner.y {
            rules.push(Path::line([DVec2::new(corner.x, y), DVec2::new(low.x, y)]));
        }
        y += high;
    }
    scene.shape(rules, None, Some(narrow(0.25)));
    scene.shape(
        vec![Path::rect(Rect {
            min: corner,
            max: low,
        })],
        None,
        Some(narrow(0.7)),
    );
}

fn flute_words(blank: &Blank) -> String {
    let f = blank.flutes;
    if f.x.abs() < 1e-9 {
        "up the sheet".into()
    } else if f.y.abs() < 1e-9 {
        "across the sheet".into()
    } else {
        let degrees = f.to_angle().to_degrees().rem_euclid(180.0);
        format!("{}° from level", crate::units::trimmed(degrees, 1))
    }
}

/// What each kind of line means.
const fn meaning(line_use: LineUse) -> &'static str {
    match line_use {
        LineUse::Cut => "cut",
        LineUse::CreaseInward => "crease, folds to the inside",
        LineUse::CreaseOutward => "crease, folds to the outside",
        LineUse::Perforation => "perforation",
        LineUse::Engrave => "engraved, not cut through",
        LineUse::Board => "board",
    }
}

/// The legend: left of the title block, or over it where the sheet is narrow.
pub(super) fn legend(scene: &mut Scene, blank: &Blank, uses: &[LineUse], letters: &Letters) {
    let page = DVec2::new(scene.width, scene.height);
    let beside = legend_beside(page);
    let high = if beside {
        BLOCK.y
    } else {
        strip_height(uses.len())
    };
    let top = page.y - OTHER - BLOCK.y - if beside { 0.0 } else { high };
    let right = page.x - OTHER - if beside { BLOCK.x } else { 0.0 };
    let columns = if beside { 1 } else { 2 };
    let wide = ((right - LEFT) / f64::from(columns)).min(100.0);
    let per_column = legend_rows(uses.len()).div_ceil(if beside { 1 } else { 2 });
    scene.shape(
        vec![Path::line([DVec2::new(LEFT, top), DVec2::new(right, top)])],
        None,
        Some(narrow(0.35)),
    );
    let at = |row: usize| {
        let place = |n: usize| f64::from(u32::try_from(n).unwrap_or(u32::MAX));
        DVec2::new(
            LEFT + 4.0 + wide * place(row / per_column),
            top + 1.5 + ROW * (place(row % per_column) + 0.5),
        )
    };
    let down = DVec2::new(0.0, 0.5 * CAP * NOTE_EM);
    let text_at = DVec2::new(22.0, 0.0);
    let say = |scene: &mut Scene, spot: DVec2, words: &str| {
        let (text, em) = letters.fitted(words, NOTE_EM, false, wide - 28.0);
        write(
            scene,
            spot + text_at + down,
            em,
            Anchor::Start,
            false,
            &text,
        );
    };
    for (row, line_use) in uses.iter().enumerate() {
        let spot = at(row);
        let sample = Path::line([spot, spot + DVec2::new(18.0, 0.0)]);
        scene.shape(vec![sample], None, Some(stroke(*line_use)));
        say(scene, spot, meaning(*line_use));
    }
    let spot = at(uses.len());
    let along = DVec2::new(blank.flutes.x, -blank.flutes.y);
    let short = if along.y.abs() > 0.3 { ROW } else { 12.0 };
    double_arrow(scene, spot + DVec2::new(9.0, 0.0), along, short, 0.35);
    say(scene, spot, "flutes run this way");
    let spot = at(uses.len() + 1);
    write(
        scene,
        spot + DVec2::new(9.0, 0.0) + down,
        NOTE_EM,
        Anchor::Middle,
        true,
        "inside",
    );
    say(scene, spot, "face is towards the reader");
}
