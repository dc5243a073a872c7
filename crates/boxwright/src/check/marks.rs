//! What to know about the marks of a case: which way up the board lies for them, and their size.

use super::{Finding, Measure, Verdict};
use crate::blank::PlanMark;
use crate::fold::Folder;
use crate::geom::DVec3;
use crate::job::Face;
use crate::marks::{LEAST_LETTERS, LEAST_SIGN};
use crate::units::{Length, LengthUnit};

/// Whether the board has to be turned over for the marks, and signs and letters that are small.
pub(super) fn marks(folder: &Folder<'_>) -> Vec<Finding> {
    let plan = folder.plan;
    if plan.marks.is_empty() {
        return Vec::new();
    }
    let frames = folder.frames(folder.last());
    let place = |m: &PlanMark| -> DVec3 {
        let t = plan.pieces[m.panel.piece].caliper.to_mm();
        let z = if m.face == Face::Outside { -t } else { 0.0 };
        frames[m.panel.piece][m.panel.panel].transform_point3(m.at.extend(z))
    };
    let mut found = Vec::new();
    for (i, b) in plan.pieces.iter().enumerate() {
        let own = || plan.marks.iter().filter(|m| m.panel.piece == i);
        let on = |face| own().filter(move |m| m.face == face);
        let (outside, inside) = (on(Face::Outside).count(), on(Face::Inside).count());
        let mut panels: Vec<String> = own().map(|m| plan.name(m.panel)).collect();
        panels.dedup();
        let mut f = match (outside, inside) {
            (0, 0) => continue,
            (0, _) => Finding::new(
                "mark-face",
                Verdict::Pass,
                format!("the marks of `{}` are on the face it is drawn on", b.piece),
            ),
            (_, 0) => Finding::new(
                "mark-face",
                Verdict::Caution,
                format!(
                    "the marks of `{}` are on its outside face, and are drawn as seen through the board: mirrored",
                    b.piece
                ),
            )
            .cure(
                "engrave and cut with the outside face up and the whole drawing mirrored, or turn the board over between the two",
            ),
            _ => Finding::new(
                "mark-face",
                Verdict::Caution,
                format!(
                    "`{}` has marks on both faces: {inside} inside, and {outside} outside that are drawn mirrored",
                    b.piece
                ),
            )
            .cure(
                "engrave those inside as drawn; turn the board over and mirror the drawing for those outside",
            ),
        }
        .panels(panels);
        f.places = own().map(place).collect();
        found.push(f);
    }
    for m in &plan.marks {
        let least = if m.sign { LEAST_SIGN } else { LEAST_LETTERS };
        if m.height >= least || m.height.same(least) {
            continue;
        }
        let (name, height) = (plan.name(m.panel), LengthUnit::Mm.show(m.height));
        let least_shown = LengthUnit::Mm.show(least);
        let message = if m.sign {
            format!(
                "the sign `{}` on `{name}` is {height} high; the standard sizes are 100, 150 and 200 mm",
                m.kind
            )
        } else {
            format!(
                "letters {height} high on `{name}` may be hard to read; {least_shown} can be read"
            )
        };
        found.push(
            Finding::new("mark-size", Verdict::Caution, message)
                .measured(
                    Measure::Mm(m.height),
                    Measure::Mm(Length::mm(least.to_mm())),
                )
                .panels([name])
                .at(place(m)),
        );
    }
    found
}
