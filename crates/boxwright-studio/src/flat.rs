//! Flat pieces for the page: y runs down, the upper left corner is the origin.

use boxwright::blank::{Blank, FlatPanel as Panel, LineUse, Plan};
use boxwright::emit::drawing::{Size, dimensions};
use boxwright::emit::scene::{ToPage, path_data};
use boxwright::geom::{DVec2, Path, doubled_area, triangles};
use boxwright::units::{Length, LengthUnit};

use crate::design::key;
use crate::solid::rounded;
use crate::wire::{Axis, Dimension, Figures, FlatPanel, Line, Piece};

/// Every flat piece.
#[must_use]
pub fn pieces(plan: &Plan) -> Vec<Piece> {
    plan.pieces.iter().map(|blank| piece(blank)).collect()
}

fn piece(blank: &Blank) -> Piece {
    let b = blank.bounds;
    let page = ToPage {
        origin: DVec2::new(-b.min.x, b.max.y),
        scale: 1.0,
    };
    let point = |p: DVec2| page.point(p).to_array().map(rounded);
    let f = &blank.figures;
    let size = b.size();
    Piece {
        name: blank.piece.clone(),
        figures: Figures {
            length: f.length.to_mm(),
            width: f.width.to_mm(),
            area: f.area.to_mm2(),
            cut: f.cut_length.to_mm(),
            crease: f.crease_length.to_mm(),
            perforation: f.perforation_length.to_mm(),
            mass: f.mass.to_kg(),
        },
        flutes: [blank.flutes.x, -blank.flutes.y].map(|v| v + 0.0),
        bounds: [0.0, 0.0, rounded(size.x), rounded(size.y)],
        panels: blank
            .panels
            .iter()
            .enumerate()
            .map(|(i, p)| panel(blank, i, p, page))
            .collect(),
        lines: lines(blank, page),
        dimensions: once(dimensions(blank))
            .iter()
            .map(|s| Dimension {
                from: point(s.from),
                to: point(s.to),
                at: point(s.side),
                row: u32::try_from(s.row).unwrap_or(u32::MAX),
                text_mm: LengthUnit::Mm.number(s.length),
                text_in: LengthUnit::Inch.number(s.length),
                axis: if s.along_x { Axis::X } else { Axis::Y },
            })
            .collect(),
    }
}

/// Without the chains that say nothing new: whose places, as far as they are shown, all stand in
/// one chain before them. The chains outside of one left out move in.
fn once(all: Vec<Size>) -> Vec<Size> {
    let side = |s: &Size| {
        let across = if s.along_x { s.side.y } else { s.side.x };
        (s.along_x, across.to_bits())
    };
    let ends = |s: &Size| {
        let shown = |p: DVec2| LengthUnit::Mm.number(Length::mm(if s.along_x { p.x } else { p.y }));
        (shown(s.from), shown(s.to))
    };
    let chains: Vec<&[Size]> = all
        .chunk_by(|a, b| side(a) == side(b) && a.row == b.row)
        .collect();
    let mut out: Vec<Size> = Vec::with_capacity(all.len());
    let mut kept: Vec<&[Size]> = Vec::new();
    for chain in chains {
        let said = |k: &&&[Size]| {
            k[0].along_x == chain[0].along_x
                && chain.iter().all(|s| k.iter().any(|o| ends(o) == ends(s)))
        };
        if kept.iter().any(|k| said(&k)) {
            continue;
        }
        let inward = kept.iter().filter(|k| side(&k[0]) == side(&chain[0]));
        let row = inward.count();
        out.extend(chain.iter().map(|s| Size { row, ..*s }));
        kept.push(chain);
    }
    out
}

fn panel(blank: &Blank, i: usize, panel: &Panel, page: ToPage) -> FlatPanel {
    let on_page = |p: &Path| path_data(&page.path(&panel.place.path(p)));
    let outline: Vec<String> = std::iter::once(&panel.outline)
        .chain(&panel.holes)
        .map(on_page)
        .collect();
    FlatPanel {
        key: key(&blank.piece, i),
        name: panel.name.clone(),
        outline: outline.join(" "),
        label: page
            .point(panel.place.point(middle(panel)))
            .to_array()
            .map(rounded),
        breadth: panel.breadth.to_mm(),
        reach: panel.reach.to_mm(),
    }
}

/// The middle of the panel, or of its largest triangle where the middle is cut out.
fn middle(panel: &Panel) -> DVec2 {
    const CHORD: f64 = 0.5;
    let centre = panel.outline.bounds().centre();
    let rings: Vec<Vec<DVec2>> = std::iter::once(&panel.outline)
        .chain(&panel.holes)
        .map(|p| p.flattened(CHORD))
        .collect();
    let points: Vec<DVec2> = rings.iter().flatten().copied().collect();
    let corners = triangles(&rings).into_iter().map(|t| t.map(|c| points[c]));
    let area = |t: &[DVec2; 3]| doubled_area(t[0], t[1], t[2]);
    let mut largest: Option<[DVec2; 3]> = None;
    for t in corners {
        let holds = (0..3).all(|k| (t[(k + 1) % 3] - t[k]).perp_dot(centre - t[k]) >= 0.0);
        if holds {
            return centre;
        }
        if largest.is_none_or(|l| area(&t) > area(&l)) {
            largest = Some(t);
        }
    }
    largest.map_or(centre, |t| (t[0] + t[1] + t[2]) / 3.0)
}

/// The lines of each use in one path.
fn lines(blank: &Blank, page: ToPage) -> Vec<Line> {
    let all = blank.lines();
    LineUse::ALL
        .into_iter()
        .filter_map(|line_use| {
            let data: Vec<String> = all
                .iter()
                .filter(|(u, _)| *u == line_use)
                .map(|(_, p)| path_data(&page.path(p)))
                .collect();
            (!data.is_empty()).then(|| Line {
                use_: line_use.into(),
                d: data.join(" "),
            })
        })
        .collect()
}
