//! Blanks drawn by hand for the tests of the emitters, with lengths worked out on paper.

use crate::blank::{Blank, Crease, Creasing, Figures, FlatPanel, FoldSide};
use crate::geom::{DVec2, Path, Placement, Rect, Vertex};
use crate::units::{Angle, Length};

fn v(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

fn upright(origin: DVec2) -> Placement {
    Placement {
        origin,
        x: DVec2::X,
    }
}

fn panel(name: &str, parent: Option<usize>, place: Placement, outline: Path) -> FlatPanel {
    let size = outline.bounds();
    FlatPanel {
        name: name.into(),
        parent,
        crease: parent.map(|_| 0),
        place,
        outline,
        holes: Vec::new(),
        clear: size,
        breadth: Length::mm(size.size().x),
        reach: Length::mm(size.size().y),
        may_intrude: false,
        drivers: crate::blank::Drivers::default(),
    }
}

fn crease(parent: usize, child: usize, from: DVec2, to: DVec2, side: FoldSide) -> Crease {
    Crease {
        parent,
        child,
        from,
        to,
        side,
        angle: Angle::deg(90.0),
        axis_depth: 0.5,
        allowance: Length::mm(2.0),
        way: Creasing::Wheel,
        across_flutes: (to - from).x.abs() > (to - from).y.abs(),
    }
}

fn rect(w: f64, h: f64) -> Path {
    Path::rect(Rect {
        min: DVec2::ZERO,
        max: v(w, h),
    })
}

fn finished(mut b: Blank) -> Blank {
    for i in 0..b.creases.len() {
        let child = b.creases[i].child;
        if b.creases[i].way != Creasing::Perforated {
            b.panels[child].crease = Some(i);
        }
    }
    b.bounds = b
        .outline
        .iter()
        .fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
    let size = b.bounds.size();
    b.figures = Figures {
        length: Length::mm(size.x),
        width: Length::mm(size.y),
        ..Figures::default()
    };
    b
}

/// A blank without anything in it.
pub fn empty(piece: &str) -> Blank {
    Blank {
        piece: piece.into(),
        caliper: Length::mm(4.0),
        board: "single wall C".into(),
        flutes: DVec2::Y,
        panels: Vec::new(),
        creases: Vec::new(),
        outline: Vec::new(),
        holes: Vec::new(),
        slits: Vec::new(),
        engravings: Vec::new(),
        bounds: Rect::EMPTY,
        figures: Figures::default(),
    }
}

/// All cut lines of [`slotted`]: along x twice 1016; lap ends 2 sqrt(35^2 + 15^2); lap edge 116;
/// last edge 154; flap sides 16 of 102, steps 6 of 4, lap shoulders 2 of 8.
pub const SLOTTED_CUT: f64 = 2.0 * 1016.0 + 76.157_731_058_639_08 + 116.0 + 154.0 + 1672.0;
/// All creases of [`slotted`]: 4 of 298, 4 of 198, 3 of 154, lap 146.
pub const SLOTTED_CREASE: f64 = 1192.0 + 792.0 + 462.0 + 146.0;

/// Clear 300 x 200 x 150, caliper 4, axis depth 0.5: walls 304 and 204 broad, 162 high under the
/// outer flaps and 154 under the inner ones, flaps 102, slots 6, lap 35 with tapered ends.
pub fn slotted() -> Blank {
    let mut b = empty("body");
    let names = ["back", "left", "front", "right"];
    let xs = [35.0, 339.0, 543.0, 847.0, 1051.0];
    let (mut under, mut over) = (vec![v(0.0, 125.0), v(35.0, 110.0)], Vec::new());
    for (i, name) in names.iter().enumerate() {
        let (x0, x1) = (xs[i], xs[i + 1]);
        let outer = i % 2 == 0;
        let (low, high) = if outer {
            (102.0, 264.0)
        } else {
            (106.0, 260.0)
        };
        let height = high - low;
        let wall = b.panels.len();
        let (wall_parent, wall_panel) = if i == 0 {
            (None, rect(x1 - x0, height))
        } else {
            (Some(wall - 3), rect(height, x1 - x0))
        };
        let place = if i == 0 {
            upright(v(x0, low))
        } else {
            Placement {
                origin: v(x0, high),
                x: v(0.0, -1.0),
            }
        };
        b.panels.push(panel(name, wall_parent, place, wall_panel));
        if let Some(parent) = wall_parent {
            b.creases.push(crease(
                parent,
                wall,
                v(x0, 260.0),
                v(x0, 106.0),
                FoldSide::Inward,
            ));
        }
        let broad = x1 - x0 - 6.0;
        b.panels.push(panel(
            &format!("{name}-top"),
            Some(wall),
            upright(v(x0 + 3.0, high)),
            rect(broad, 102.0),
        ));
        b.creases.push(crease(
            wall,
            wall + 1,
            v(x0 + 3.0, high),
            v(x1 - 3.0, high),
            FoldSide::Inward,
        ));
        b.panels.push(panel(
            &format!("{name}-bottom"),
            Some(wall),
            Placement {
                origin: v(x1 - 3.0, low),
                x: v(-1.0, 0.0),
            },
            rect(broad, 102.0),
        ));
        b.creases.push(crease(
            wall,
            wall + 2,
            v(x1 - 3.0, low),
            v(x0 + 3.0, low),
            FoldSide::Inward,
        ));
        under.extend([
            v(x0, low),
            v(x0 + 3.0, low),
            v(x0 + 3.0, low - 102.0),
            v(x1 - 3.0, low - 102.0),
            v(x1 - 3.0, low),
            v(x1, low),
        ]);
        over.extend([
            v(x0, high),
            v(x0 + 3.0, high),
            v(x0 + 3.0, high + 102.0),
            v(x1 - 3.0, high + 102.0),
            v(x1 - 3.0, high),
            v(x1, high),
        ]);
    }
    let lap = b.panels.len();
    b.panels.push(panel(
        "lap",
        Some(0),
        Placement {
            origin: v(35.0, 110.0),
            x: v(0.0, 1.0),
        },
        Path::polygon([v(0.0, 0.0), v(146.0, 0.0), v(131.0, 35.0), v(15.0, 35.0)]),
    ));
    b.creases.push(crease(
        0,
        lap,
        v(35.0, 110.0),
        v(35.0, 256.0),
        FoldSide::Inward,
    ));
    let mut points = under;
    points.extend(over.into_iter().rev());
    points.extend([v(35.0, 256.0), v(0.0, 241.0)]);
    b.outline = vec![Path::polygon(points)];
    finished(b)
}

/// Cut lines of [`tuck`]: outline 220 + 2 * 90 + 2 * (40 - 15) + (220 - 30) + pi * 15, obround
/// 2 * 60 + pi * 25, slit 40.
pub const TUCK_CUT: f64 =
    220.0 + 180.0 + 50.0 + 190.0 + 47.123_889_803_846_9 + 120.0 + 78.539_816_339_744_83 + 40.0;

/// A panel 220 x 90 with an obround hole, under a tuck 40 long with corners of 15 that folds
/// outward; a slit, a perforated line inside the panel and an engraved mark.
pub fn tuck() -> Blank {
    const QUARTER: f64 = 0.414_213_562_373_095_03;
    let mut b = empty("lid");
    b.flutes = DVec2::X;
    let vx = |x: f64, y: f64, bulge: f64| Vertex { at: v(x, y), bulge };
    b.panels
        .push(panel("top", None, upright(DVec2::ZERO), rect(220.0, 90.0)));
    let flap = Path {
        vertices: vec![
            vx(0.0, 0.0, 0.0),
            vx(220.0, 0.0, 0.0),
            vx(220.0, 25.0, QUARTER),
            vx(205.0, 40.0, 0.0),
            vx(15.0, 40.0, QUARTER),
            vx(0.0, 25.0, 0.0),
        ],
        closed: true,
    };
    b.panels
        .push(panel("tuck", Some(0), upright(v(0.0, 90.0)), flap));
    b.creases.push(crease(
        0,
        1,
        v(0.0, 90.0),
        v(220.0, 90.0),
        FoldSide::Outward,
    ));
    let mut perforated = crease(0, 1, v(170.0, 0.0), v(170.0, 90.0), FoldSide::Inward);
    perforated.way = Creasing::Perforated;
    b.creases.push(perforated);
    b.outline = vec![Path {
        vertices: vec![
            vx(0.0, 0.0, 0.0),
            vx(220.0, 0.0, 0.0),
            vx(220.0, 115.0, QUARTER),
            vx(205.0, 130.0, 0.0),
            vx(15.0, 130.0, QUARTER),
            vx(0.0, 115.0, 0.0),
        ],
        closed: true,
    }];
    let hole = Path {
        vertices: vec![
            vx(50.0, 35.0, -1.0),
            vx(50.0, 60.0, 0.0),
            vx(110.0, 60.0, -1.0),
            vx(110.0, 35.0, 0.0),
        ],
        closed: true,
    };
    b.panels[0].holes = vec![hole.clone()];
    b.holes = vec![hole];
    b.slits = vec![Path::line([v(140.0, 20.0), v(140.0, 60.0)])];
    b.engravings = vec![Path {
        vertices: vec![vx(190.0, 20.0, 1.0), vx(200.0, 20.0, 1.0)],
        closed: true,
    }];
    finished(b)
}

/// A row of panels with narrow spacers between them, as a turned-over wall has: many short sizes
/// side by side.
pub fn spacers() -> Blank {
    let mut b = empty("divider");
    let mut x = 0.0;
    for (i, w) in [30.0, 5.0, 90.0, 5.0, 4.0, 4.5, 90.0, 3.0, 20.0]
        .into_iter()
        .enumerate()
    {
        let parent = i.checked_sub(1);
        let name = format!("part {}", i + 1);
        b.panels
            .push(panel(&name, parent, upright(v(x, 0.0)), rect(w, 140.0)));
        if let Some(parent) = parent {
            b.creases
                .push(crease(parent, i, v(x, 140.0), v(x, 0.0), FoldSide::Inward));
        }
        x += w;
    }
    b.outline = vec![rect(x, 140.0)];
    finished(b)
}

#[test]
fn the_samples_have_the_lengths_worked_out_on_paper() {
    let cut = |b: &Blank| -> f64 {
        b.outline
            .iter()
            .chain(&b.holes)
            .chain(&b.slits)
            .map(Path::length)
            .sum()
    };
    assert!((cut(&slotted()) - SLOTTED_CUT).abs() < 1e-9);
    assert!((cut(&tuck()) - TUCK_CUT).abs() < 1e-9);
    let creases: f64 = slotted().creases.iter().map(|c| c.length().to_mm()).sum();
    assert!((creases - SLOTTED_CREASE).abs() < 1e-9);
    assert_eq!(slotted().bounds.size(), v(1051.0, 366.0));
}

/// Writes every format of both samples into the folder named by `SAMPLES`, for eyes and for
/// outside readers.
#[test]
#[ignore = "writes files; run by hand with SAMPLES set"]
fn write_samples() {
    use crate::emit::{drawing, dxf, pdf, png, svg, tiles};
    let Some(folder) = std::env::var_os("SAMPLES") else {
        return;
    };
    let folder = std::path::PathBuf::from(folder);
    let put = |name: String, bytes: &[u8]| std::fs::write(folder.join(name), bytes).unwrap();
    for (name, blank) in [
        ("slotted", slotted()),
        ("tuck", tuck()),
        ("spacers", spacers()),
    ] {
        for (edition, version) in [
            ("r12", dxf::DxfVersion::R12),
            ("r2000", dxf::DxfVersion::R2000),
            ("r2010", dxf::DxfVersion::R2010),
        ] {
            let opts = dxf::DxfOptions {
                version,
                ..dxf::DxfOptions::default()
            };
            put(
                format!("{name}-{edition}.dxf"),
                dxf::dxf(&blank, &opts).as_bytes(),
            );
            let mut named = opts.clone();
            named.layers.style_mut(crate::blank::LineUse::Cut).name = "coupé / découpe".into();
            put(
                format!("{name}-{edition}-named.dxf"),
                dxf::dxf(&blank, &named).as_bytes(),
            );
        }
        put(
            format!("{name}.svg"),
            svg::svg(&blank, &svg::SvgOptions::default()).as_bytes(),
        );
        put(
            format!("{name}-preview.png"),
            &png::png(&svg::preview(&blank), 1400).unwrap(),
        );
        let title = drawing::TitleBlock {
            owner: "Clock repair workshop".into(),
            number: "CRW-0042".into(),
            date: "2026-05-04".into(),
            title: format!("Case for a mantel clock, {}", blank.piece),
            creator: "bench 2".into(),
            inside: Some([300.0, 200.0, 150.0].map(Length::mm)),
            ..drawing::TitleBlock::default()
        };
        for (kind, opts) in [
            ("drawing", drawing::DrawingOptions::default()),
            (
                "drawing-a3-in",
                drawing::DrawingOptions {
                    unit: crate::units::LengthUnit::Inch,
                    sheet: Some(drawing::SheetSize::A3),
                    ..drawing::DrawingOptions::default()
                },
            ),
            (
                "drawing-a4-upright",
                drawing::DrawingOptions {
                    unit: crate::units::LengthUnit::Inch,
                    sheet: Some(drawing::SheetSize::A4),
                    orientation: Some(drawing::Orientation::Portrait),
                    ..drawing::DrawingOptions::default()
                },
            ),
        ] {
            let page = drawing::drawing(&blank, &title, &opts);
            put(
                format!("{name}-{kind}.png"),
                &png::png(&page, 2000).unwrap(),
            );
            put(
                format!("{name}-{kind}.pdf"),
                &pdf::pdf(&[page], name).unwrap(),
            );
        }
        let page = pdf::true_size(&blank).unwrap();
        put(
            format!("{name}-true-size.pdf"),
            &pdf::pdf(&[page], name).unwrap(),
        );
        let pages = tiles::tiles(&blank, tiles::Paper::A4);
        put(
            format!("{name}-tiles-a4.pdf"),
            &pdf::pdf(&pages, name).unwrap(),
        );
    }
}
