//! The panels' names on the drawing, and the key to the numbers that stand for names without room.

use super::chain::{self, Laid, Side};
use super::sheet::{LEFT, NOTE_EM, OTHER};
use super::sizes::Axis;
use super::{Plan, SheetSize, mirror};
use crate::blank::{Blank, FlatPanel};
use crate::emit::font::Letters;
use crate::emit::scene::{Scene, ToPage};
use crate::emit::svg::{Label, Labels};

/// Where panel names may stand: clear of the blank's lines, the extension lines and the marks.
pub(super) fn labels<'a>(
    blank: &Blank,
    letters: &'a Letters,
    scale: f64,
    laid: &[Laid; 4],
    mirrored: &[Axis],
) -> Labels<'a> {
    let mut labels = Labels::new(blank, letters, scale);
    for side in Side::ALL {
        labels.avoid(chain::extensions(&laid[side.index()], side, blank.bounds));
    }
    for axis in mirrored {
        labels.avoid(mirror::marks(blank.bounds, *axis, scale));
    }
    labels
}

/// A place for a text in a panel, where dimensions have capitals of `cap` mm: in letters as large
/// as the sheet's, or else as large as the smallest sheet's.
fn place(labels: &Labels<'_>, panel: &FlatPanel, text: &str, cap: f64) -> Option<Label> {
    let least = SheetSize::A4.cap();
    let at = |cap: f64| labels.place(panel, text, 1.7 * cap);
    at(cap).or_else(|| (cap > least).then(|| at(least)).flatten())
}

/// Lines that tell which panel a number stands for, for a sheet of this width.
pub(super) fn key(
    blank: &Blank,
    labels: &Labels<'_>,
    letters: &Letters,
    cap: f64,
    sheet: f64,
) -> Vec<String> {
    let room = sheet - LEFT - OTHER - 8.0;
    let (mut numbered, mut unmarked) = (Vec::new(), Vec::new());
    for (i, panel) in blank.panels.iter().enumerate() {
        if place(labels, panel, &panel.name, cap).is_some() {
            continue;
        }
        let number = (i + 1).to_string();
        if place(labels, panel, &number, cap).is_some() {
            numbered.push(format!("{number} {}", panel.name));
        } else {
            unmarked.push(panel.name.clone());
        }
    }
    let mut lines = letters.wrapped(&numbered.join("; "), NOTE_EM, false, room);
    if !unmarked.is_empty() {
        let said = format!("Too narrow to be marked: {}.", unmarked.join(", "));
        lines.extend(letters.wrapped(&said, NOTE_EM, false, room));
    }
    lines
}

pub(super) fn write(
    scene: &mut Scene,
    blank: &Blank,
    plan: &Plan,
    page: ToPage,
    letters: &Letters,
) {
    let labels = labels(blank, letters, plan.scale, &plan.laid, &plan.mirrored);
    let cap = plan.size.cap();
    for (i, panel) in blank.panels.iter().enumerate() {
        let number = (i + 1).to_string();
        let found = [panel.name.as_str(), &number]
            .into_iter()
            .find_map(|text| Some((place(&labels, panel, text, cap)?, text)));
        if let Some((label, text)) = found {
            scene
                .items
                .push(label.item(page.point(label.at), text, "#000000"));
        }
    }
}
