//! Feature sizes of the flat blank, and whether it fits the sheet and the machine's bed.

use std::ops::Range;

use super::{Finding, Measure, Verdict};
use crate::blank::{Blank, Plan};
use crate::brief::Brief;
use crate::geom::{DVec2, Path, Segment};
use crate::units::{Length, LengthUnit, SLACK_MM};

/// Panels, cut-outs and the webs between them against the board's least feature.
pub(super) fn features(brief: &Brief, plan: &Plan, part: Range<usize>) -> Vec<Finding> {
    let least = brief.board_of(plan, part.start).limits.least_feature;
    let mut found = Vec::new();
    let mut smallest = Length::mm(f64::INFINITY);
    for b in &plan.pieces[part] {
        for p in &b.panels {
            // A panel that goes on in its parent's plane is no narrower than the two together.
            let flat = p.parent.is_some() && p.crease.is_none();
            let size = if flat {
                p.breadth
            } else {
                p.breadth.min(p.reach)
            };
            smallest = smallest.min(size);
            if size < least && !size.same(least) {
                found.push(
                    Finding::new(
                        "narrow-panel",
                        Verdict::Caution,
                        format!(
                            "`{}` is only {} wide: it may tear or not fold true",
                            p.name,
                            show(size)
                        ),
                    )
                    .measured(Measure::Mm(size), Measure::Mm(least))
                    .panels([p.name.clone()]),
                );
            }
        }
        found.extend(webs(b, least));
    }
    if found.is_empty() {
        found.push(
            Finding::new(
                "features",
                Verdict::Pass,
                format!("no panel or web narrower than {}", show(least)),
            )
            .measured(Measure::Mm(smallest), Measure::Mm(least)),
        );
    }
    found
}

fn show(l: Length) -> String {
    LengthUnit::Mm.show(l)
}

/// Board left between a cut-out and the outline of its panel or another cut-out.
fn webs(b: &Blank, least: Length) -> Vec<Finding> {
    let mut found = Vec::new();
    for p in &b.panels {
        for (i, hole) in p.holes.iter().enumerate() {
            let ring = hole.flattened(0.05);
            let bounds = hole.bounds().size();
            let width = bounds.x.min(bounds.y);
            if width < b.caliper.to_mm() - SLACK_MM {
                found.push(
                    Finding::new(
                        "narrow-slot",
                        Verdict::Caution,
                        format!(
                            "a slot in `{}` is {} wide: board of {} does not pass",
                            p.name,
                            show(Length::mm(width)),
                            show(b.caliper)
                        ),
                    )
                    .measured(Measure::Mm(Length::mm(width)), Measure::Mm(b.caliper))
                    .panels([p.name.clone()]),
                );
            }
            let others = p.holes.iter().skip(i + 1).map(|h| h.flattened(0.05));
            for other in std::iter::once(p.outline.flattened(0.05)).chain(others) {
                let web = between(&ring, &other);
                if web < least.to_mm() - SLACK_MM {
                    found.push(
                        Finding::new(
                            "narrow-web",
                            Verdict::Caution,
                            format!(
                                "only {} of board is left beside a cut-out of `{}`",
                                show(Length::mm(web)),
                                p.name
                            ),
                        )
                        .measured(Measure::Mm(Length::mm(web)), Measure::Mm(least))
                        .panels([p.name.clone()]),
                    );
                }
            }
        }
    }
    found
}

/// Least distance between two rings of points joined by straight lines.
fn between(a: &[DVec2], b: &[DVec2]) -> f64 {
    let one_way = |a: &[DVec2], b: &[DVec2]| {
        let mut least = f64::INFINITY;
        for p in a {
            for i in 0..b.len() {
                let (q, r) = (b[i], b[(i + 1) % b.len()]);
                let u = ((*p - q).dot(r - q) / (r - q).length_squared().max(1e-30)).clamp(0.0, 1.0);
                least = least.min(p.distance(q.lerp(r, u)));
            }
        }
        least
    };
    one_way(a, b).min(one_way(b, a))
}

/// Width of the slots between flaps against what the trade cuts: 4 to 10 mm (GOST 9142, seen).
pub(super) fn slots(plan: &Plan, part: Range<usize>) -> Vec<Finding> {
    let (low, high) = (Length::mm(4.0), Length::mm(10.0));
    let mut widths: Vec<f64> = Vec::new();
    let mut parted = false;
    for b in &plan.pieces[part] {
        let segments: Vec<Segment> = b
            .outline
            .iter()
            .flat_map(|p| p.segments().collect::<Vec<_>>())
            .collect();
        for i in 0..segments.len() {
            let n = segments.len();
            // A slot: down one side, across its closed end, up the other.
            let (s, c, e) = (segments[i], segments[(i + 1) % n], segments[(i + 2) % n]);
            let (u, v) = (s.to - s.from, e.to - e.from);
            let width = (c.to - c.from).length();
            let turns = u.perp_dot(c.to - c.from) < 0.0 && (c.to - c.from).perp_dot(v) < 0.0;
            let opposite = u.normalize().dot(v.normalize()) < -0.999;
            if turns
                && opposite
                && s.bulge == 0.0
                && c.bulge == 0.0
                && e.bulge == 0.0
                && u.length().min(v.length()) > 3.0 * width
                && ends_crease(b, c)
            {
                widths.push(width);
            }
        }
        parted |= b.slits.iter().any(|s| slit_ends_crease(b, s));
    }
    if widths.is_empty() && parted {
        widths.push(0.0);
    }
    let Some(worst) = widths.iter().copied().reduce(f64::min) else {
        return Vec::new();
    };
    let widest = widths.iter().copied().fold(0.0, f64::max);
    if widest > high.to_mm() + SLACK_MM {
        return vec![
            Finding::new(
                "slot-width",
                Verdict::Caution,
                format!("slots up to {} wide let dust in", show(Length::mm(widest))),
            )
            .measured(Measure::Mm(Length::mm(widest)), Measure::Mm(high)),
        ];
    }
    let narrow = worst > SLACK_MM && worst < low.to_mm() - SLACK_MM;
    vec![
        Finding::new(
            "slot-width",
            if narrow {
                Verdict::Caution
            } else {
                Verdict::Pass
            },
            if worst <= SLACK_MM {
                "flaps are parted by knife-wide slits".to_owned()
            } else {
                format!(
                    "slots between flaps from {} to {} wide",
                    show(Length::mm(worst)),
                    show(Length::mm(widest))
                )
            },
        )
        .measured(Measure::Mm(Length::mm(worst)), Measure::Mm(low)),
    ]
}

/// Whether a crease runs into the middle of a slot's closed end: the trade's slots between flaps
/// are centred on the crease between their walls.
fn ends_crease(b: &Blank, closed: Segment) -> bool {
    let middle = (closed.from + closed.to) * 0.5;
    let reach = 0.25 * closed.from.distance(closed.to) + SLACK_MM;
    b.creases
        .iter()
        .any(|c| c.from.distance(middle) < reach || c.to.distance(middle) < reach)
}

/// Whether a slit runs out from the end of a crease, as those that part flaps do.
fn slit_ends_crease(b: &Blank, slit: &Path) -> bool {
    slit.vertices.iter().any(|v| {
        b.creases
            .iter()
            .any(|c| c.from.distance(v.at) < SLACK_MM || c.to.distance(v.at) < SLACK_MM)
    })
}

/// Whether each blank fits the sheet at hand with its flutes the right way, and the bed.
pub(super) fn fit(brief: &Brief, plan: &Plan) -> Vec<Finding> {
    let mut found = Vec::new();
    for b in &plan.pieces {
        // The sheet at hand is of the job's own board.
        let sheet = brief.job.sheet.filter(|_| b.board == brief.board.name);
        if let Some(sheet) = sheet {
            let (need, have) = b.on_sheet(sheet);
            let over = need - have;
            let fits = over <= SLACK_MM;
            found.push(
                Finding::new(
                    "sheet-fit",
                    if fits { Verdict::Pass } else { Verdict::Fail },
                    if fits {
                        format!("`{}` fits the sheet with its flutes the right way", b.piece)
                    } else {
                        format!(
                            "`{}` is {} larger than the sheet",
                            b.piece,
                            show(Length::mm(over))
                        )
                    },
                )
                .measured(Measure::Mm(Length::mm(need)), Measure::Mm(Length::mm(have))),
            );
        }
        if let Some(bed) = brief.job.bed {
            let (need, have) = b.on_bed(bed);
            let over = need - have;
            let fits = over <= SLACK_MM;
            found.push(
                Finding::new(
                    "bed-fit",
                    if fits { Verdict::Pass } else { Verdict::Fail },
                    if fits {
                        format!("`{}` fits the cutter's bed", b.piece)
                    } else {
                        format!(
                            "`{}` is {} larger than the cutter's bed",
                            b.piece,
                            show(Length::mm(over))
                        )
                    },
                )
                .measured(Measure::Mm(Length::mm(need)), Measure::Mm(Length::mm(have))),
            );
        }
    }
    found
}
