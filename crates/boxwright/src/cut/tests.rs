//! Whole programs of a layout made by hand.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use super::*;
use crate::board::{Boards, read_boards};
use crate::geom::{Rect, Vertex};
use crate::machine::{Machine, read_machine};
use crate::sheet::{LaidSheet, Layout, Line, Part, Piece, Placed, Shape, Spot, Turn, Turns, steps};
use crate::source::{Door, Shipped};
use crate::units::Length;

fn at(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Path {
    Path::rect(Rect {
        min: at(x0, y0),
        max: at(x1, y1),
    })
}

fn spots(path: &Path) -> Vec<Spot> {
    path.flattened(0.01)
        .into_iter()
        .map(Spot::nearest)
        .collect()
}

/// A tray blank: rounded corners, a window of 60 x 40, a hand hole with round ends, a slit, creases.
fn tray() -> Part {
    let round = (std::f64::consts::FRAC_PI_8).tan();
    let corner = |x: f64, y: f64, bulge: f64| Vertex {
        at: at(x, y),
        bulge,
    };
    let outline = Path {
        vertices: vec![
            corner(10.0, 0.0, 0.0),
            corner(190.0, 0.0, round),
            corner(200.0, 10.0, 0.0),
            corner(200.0, 110.0, round),
            corner(190.0, 120.0, 0.0),
            // A slot of 6 mm, 20 deep.
            corner(103.0, 120.0, 0.0),
            corner(103.0, 100.0, 0.0),
            corner(97.0, 100.0, 0.0),
            corner(97.0, 120.0, 0.0),
            corner(10.0, 120.0, round),
            corner(0.0, 110.0, 0.0),
            corner(0.0, 10.0, round),
        ],
        closed: true,
    };
    let window = rect(30.0, 40.0, 90.0, 80.0).reversed();
    let hole = Path {
        vertices: vec![
            corner(130.0, 50.0, -1.0),
            corner(130.0, 70.0, 0.0),
            corner(160.0, 70.0, -1.0),
            corner(160.0, 50.0, 0.0),
        ],
        closed: true,
    };
    let line = |line_use, path| Line { line_use, path };
    let shape = Shape {
        outer: spots(&outline),
        holes: vec![spots(&window), spots(&hole)],
    };
    Part {
        name: "clock tray".into(),
        job: "clock".into(),
        piece: "tray".into(),
        board: "B".into(),
        caliper: 3.2,
        wanted: 3,
        turns: Turns::Quarter,
        flutes_along_x: true,
        outside_up: false,
        shape,
        lines: vec![
            line(LineUse::Cut, outline),
            line(LineUse::Cut, window),
            line(LineUse::Cut, hole),
            line(LineUse::Cut, Path::line([at(20.0, 20.0), at(20.0, 60.0)])),
            line(
                LineUse::CreaseInward,
                Path::line([at(0.0, 30.0), at(200.0, 30.0)]),
            ),
            line(
                LineUse::CreaseOutward,
                Path::line([at(110.0, 0.0), at(110.0, 30.0)]),
            ),
            line(
                LineUse::Perforation,
                Path::line([at(0.0, 95.0), at(97.0, 95.0)]),
            ),
            line(
                LineUse::Engrave,
                Path::line([at(140.0, 100.0), at(160.0, 100.0), at(160.0, 105.0)]),
            ),
        ],
    }
}

/// A small pad, which fits into the window of the tray.
fn pad() -> Part {
    let outline = rect(0.0, 0.0, 40.0, 20.0);
    Part {
        name: "clock pad".into(),
        piece: "pad".into(),
        shape: Shape {
            outer: spots(&outline),
            holes: Vec::new(),
        },
        lines: vec![Line {
            line_use: LineUse::Cut,
            path: outline,
        }],
        ..tray()
    }
}

fn mm(v: f64) -> i64 {
    steps(Length::mm(v))
}

/// Three trays, one turned by a quarter and one by half, and two pads, one in a window.
pub(crate) fn layout() -> Layout {
    let place = |part, turn, x, y| Placed {
        part,
        turn,
        at: Spot::new(mm(x), mm(y)),
    };
    let placed = vec![
        place(0, Turn::None, 5.0, 5.0),
        place(0, Turn::Half, 210.0, 255.0),
        place(0, Turn::Quarter, 340.0, 5.0),
        place(1, Turn::None, 45.0, 55.0),
        place(1, Turn::None, 350.0, 5.0),
    ];
    Layout {
        title: "clock week".into(),
        parts: vec![tray(), pad()],
        stock: vec![Piece {
            name: "B off-cut".into(),
            board: "B".into(),
            shape: Shape::rect(mm(400.0), mm(300.0)),
            count: 1,
            price: 1.2,
            off_cut: true,
        }],
        spacing: mm(5.0),
        margin: mm(5.0),
        reach: None,
        sheets: vec![LaidSheet { stock: 0, placed }],
        left: vec![0, 1],
    }
}

pub(crate) fn machine(name: &str) -> Machine {
    read_machine(&Shipped.machine(name).unwrap()).unwrap()
}

fn quick() -> order::Effort {
    order::Effort {
        rounds: 500,
        prove: false,
        ..order::Effort::default()
    }
}

pub(crate) fn boards() -> Boards {
    read_boards(&Shipped.boards()).unwrap()
}

pub(crate) fn made(name: &str, options: &Options) -> (Layout, Machine, Program) {
    let (layout, machine) = (layout(), machine(name));
    let mut never = || false;
    let made = program(
        &layout,
        0,
        (&machine, &boards()),
        options,
        Some(&quick()),
        &mut never,
    );
    let made = made.unwrap_or_else(|d| panic!("{d:#?}"));
    (layout, machine, made)
}

const ALL: [Options; 4] = [
    Options {
        nicks: true,
        lead_in: false,
        common: false,
        passes: false,
        cool: false,
    },
    Options {
        nicks: true,
        lead_in: true,
        common: false,
        passes: false,
        cool: false,
    },
    Options {
        nicks: false,
        lead_in: false,
        common: false,
        passes: false,
        cool: false,
    },
    Options {
        nicks: false,
        lead_in: true,
        common: false,
        passes: false,
        cool: false,
    },
];

#[test]
fn every_program_is_proved() {
    for name in ["bench-laser", "knife-table"] {
        for options in ALL {
            let (layout, machine, p) = made(name, &options);
            assert_eq!(prove(&p, &layout, &machine), [], "{name} {options:?}");
            assert!(p.notes.is_empty(), "{:#?}", p.notes);
        }
    }
}

#[test]
fn the_proof_bites() {
    let (layout, machine, p) = made(
        "bench-laser",
        &Options {
            nicks: false,
            lead_in: false,
            common: false,
            passes: false,
            cool: false,
        },
    );
    let n = p.strokes.len();
    let find = |f: &dyn Fn(&Stroke) -> bool| p.strokes.iter().position(f).unwrap();
    // The outline of the first tray before its window, the pad in the window after it, a crease last.
    let outline = find(&|s| s.of == [0] && s.way == Way::Through && s.path.length() > 600.0);
    let window = find(&|s| s.of == [0] && (s.path.length() - 200.0).abs() < 2.0);
    let pad = find(&|s| s.of == [3]);
    let crease = find(&|s| s.line_use == LineUse::CreaseInward);
    for (from, to) in [(outline, window), (pad, n - 1), (crease, n - 1)] {
        let mut bad = p.clone();
        let s = bad.strokes.remove(from);
        bad.strokes.insert(to, s);
        let faults = prove(&bad, &layout, &machine);
        assert!(
            faults.iter().any(|f| matches!(f, Fault::Late { .. })),
            "{from} {to} {faults:?}"
        );
    }
    let mut bad = p.clone();
    bad.strokes.push(p.strokes[outline].clone());
    let faults = prove(&bad, &layout, &machine);
    assert!(
        faults.iter().any(|f| matches!(f, Fault::Twice { .. })),
        "{faults:?}"
    );
    // A piece of the round corner, cut again.
    let mut bad = p.clone();
    let track = track::Track::new(&p.strokes[outline].path);
    let arc = track
        .segments()
        .iter()
        .position(|s| s.bulge != 0.0)
        .unwrap();
    let (from, to) = (track.ways()[arc], track.ways()[arc + 1]);
    bad.strokes.push(Stroke {
        path: track.piece(from + 1.0, to - 1.0).reversed(),
        ..p.strokes[outline].clone()
    });
    let faults = prove(&bad, &layout, &machine);
    assert!(
        faults.iter().any(|f| matches!(f, Fault::Twice { .. })),
        "{faults:?}"
    );
    let mut bad = p.clone();
    bad.strokes[0].path.vertices[0].at.x = 601.0;
    let faults = prove(&bad, &layout, &machine);
    assert!(
        faults.iter().any(|f| matches!(f, Fault::OffBed { .. })),
        "{faults:?}"
    );
}

#[test]
fn a_cool_order_costs_travel_and_keeps_all_else() {
    let plain = made("bench-laser", &ALL[0]).2;
    let cool = Options {
        cool: true,
        ..ALL[0].clone()
    };
    let (layout, machine, program) = made("bench-laser", &cool);
    assert_eq!(prove(&program, &layout, &machine), Vec::new());
    assert!((program.tally.cut - plain.tally.cut).abs() < 1e-6);
    assert_eq!(program.tally.strokes, plain.tally.strokes);
    assert_ne!(program.strokes, plain.strokes, "another order");
    // Blades warm nothing.
    let knife = |o: &Options| made("knife-table", o).2.strokes;
    assert_eq!(knife(&cool), knife(&ALL[0]));
}

#[test]
fn lengths_add_up() {
    let (layout, _, plain) = made(
        "bench-laser",
        &Options {
            nicks: false,
            lead_in: false,
            common: false,
            passes: false,
            cool: false,
        },
    );
    let drawn: f64 = layout.sheets[0]
        .placed
        .iter()
        .flat_map(|p| &layout.parts[p.part].lines)
        .filter(|l| l.line_use == LineUse::Cut)
        .map(|l| l.path.length())
        .sum();
    // Each outline is longer by pi times the kerf or what its tips add, each window shorter.
    assert!(
        (plain.tally.cut - drawn).abs() < 5.0 * 4.0 * 0.16,
        "{} {drawn}",
        plain.tally.cut
    );
    // 24 % of 40 W at 75 mm/s is 0.128 J/mm; marks at 150 mm/s and 8 % are less.
    let creased: f64 = plain
        .strokes
        .iter()
        .filter(|s| s.way != Way::Through)
        .map(|s| {
            s.path.length()
                * if s.way == Way::Etched {
                    40.0 * 0.08 / 150.0
                } else {
                    0.128
                }
        })
        .sum();
    assert!((plain.tally.joules - (plain.tally.cut * 0.128 + creased)).abs() < 1e-6);
    let (_, _, held) = made("bench-laser", &Options::default());
    assert_eq!(held.tally.nicks, 15);
    let gaps = plain.tally.cut - held.tally.cut;
    assert!((gaps - 15.0 * (0.6 + 0.16)).abs() < 1e-6, "{gaps}");
    assert!(held.tally.seconds > plain.tally.seconds);
    let (_, table, knife) = made("knife-table", &Options::default());
    assert_eq!((knife.tally.joules, knife.tally.nicks), (0.0, 0));
    assert!(
        (knife.tally.by_hand - 75.0).abs() < 1e-9,
        "three engravings of 25 mm are left"
    );
    let c = cost(&layout, &table, std::slice::from_ref(&knife));
    assert!((c.machine - knife.tally.seconds / 3600.0 * 14.0).abs() < 1e-9);
    assert!((c.hands - 5.0 * 2.0 / 60.0 * 24.0).abs() < 1e-9);
    assert!(c.waste > 0.0 && c.waste < c.board);
    assert!((c.total - c.board - c.machine - c.hands).abs() < 1e-12);
}

#[test]
fn dashes_keep_off_the_ends_of_creases() {
    let (_, _, p) = made("bench-laser", &Options::default());
    let dashes: Vec<&Stroke> = p
        .strokes
        .iter()
        .filter(|s| s.line_use == LineUse::CreaseInward && s.of == [0])
        .collect();
    // 4 + 4 on 200 mm, parted where another crease ends on it, 110 mm along: 14 dashes, the outer two of
    // 3 mm, and 11.
    assert_eq!(dashes.len(), 25);
    for s in dashes {
        let (a, b) = (s.enter(), s.path.vertices[1].at);
        let (a, b) = (a.x.min(b.x), a.x.max(b.x));
        assert!(s.path.vertices.iter().all(|v| (v.at.y - 35.0).abs() < 1e-9));
        for end in [5.0, 115.0, 205.0] {
            assert!(b <= end - 2.0 + 1e-9 || a >= end + 2.0 - 1e-9, "{a} {b}");
        }
        assert!(b - a > 2.9 && b - a < 4.0 + 1e-9);
    }
    // Across the flutes on the part turned by a quarter: the other setting.
    let turned: Vec<&Stroke> = p
        .strokes
        .iter()
        .filter(|s| s.line_use == LineUse::CreaseInward && s.of == [2])
        .collect();
    assert!(turned.iter().any(|s| (s.path.length() - 6.0).abs() < 1e-9));
}

#[test]
fn what_cannot_be_cut_is_refused_in_words() {
    let boards = boards();
    let run = |layout: &Layout, machine: &Machine| {
        let mut never = || false;
        let made = program(
            layout,
            0,
            (machine, &boards),
            &Options::default(),
            Some(&quick()),
            &mut never,
        );
        made.map(|_| ()).map_err(|d| d[0].code)
    };
    let laser = machine("bench-laser");
    let mut close = layout();
    close.spacing = 170;
    assert_eq!(run(&close, &laser), Err("too-close"));
    let mut small = laser.clone();
    small.bed[0] = Length::mm(390.0);
    assert_eq!(run(&layout(), &small), Err("too-big-for-the-bed"));
    let mut edge = layout();
    edge.sheets[0].placed[0].at = Spot::new(0, 0);
    assert_eq!(run(&edge, &laser), Err("off-the-bed"));
    let mut dumb = laser.clone();
    dumb.settings.retain(|s| s.line_use != LineUse::Perforation);
    assert_eq!(run(&layout(), &dumb), Err("no-setting"));
    let mut other = layout();
    other.parts[0].board = "Z".into();
    assert_eq!(run(&other, &laser), Err("unknown-board"));
    let mut thin = layout();
    thin.parts[0].lines[1].path = rect(30.0, 40.0, 30.1, 80.0);
    assert_eq!(run(&thin, &laser), Err("narrower-than-kerf"));
    let mut none = layout();
    none.sheets.clear();
    assert_eq!(run(&none, &laser), Err("no-sheet"));
    let mut empty = layout();
    empty.sheets[0].placed.clear();
    assert_eq!(run(&empty, &laser), Ok(()));
}

#[test]
fn the_same_layout_gives_the_same_program() {
    let (_, _, a) = made("bench-laser", &Options::default());
    let (_, _, b) = made("bench-laser", &Options::default());
    assert_eq!(a, b);
}

/// Pads of 40 x 20 in rows and columns, exactly a kerf apart.
fn packed(gap: f64, columns: usize, rows: usize) -> Layout {
    let mut layout = layout();
    layout.spacing = mm(gap);
    #[allow(clippy::cast_precision_loss, reason = "a few")]
    let place = |i: usize, step: f64| mm(5.0) + mm(step + gap) * i as i64;
    layout.sheets[0].placed = (0..columns * rows)
        .map(|n| Placed {
            part: 1,
            turn: Turn::None,
            at: Spot::new(place(n % columns, 40.0), place(n / columns, 20.0)),
        })
        .collect();
    layout
}

#[test]
fn edges_a_kerf_apart_are_cut_once() {
    let (laser, boards) = (machine("bench-laser"), boards());
    let run = |layout: &Layout, common: bool, nicks: bool| {
        let options = Options {
            nicks,
            lead_in: false,
            common,
            passes: false,
            cool: false,
        };
        let mut never = || false;
        program(
            layout,
            0,
            (&laser, &boards),
            &options,
            Some(&quick()),
            &mut never,
        )
    };
    let layout = packed(0.16, 4, 3);
    assert_eq!(run(&layout, false, false).unwrap_err()[0].code, "too-close");
    let p = run(&layout, true, false).unwrap();
    assert_eq!(prove(&p, &layout, &laser), []);
    // Four rows of lines over four columns and five columns of lines over three rows, each 0.16 apart.
    let (w, h) = (4.0 * 40.16, 3.0 * 20.16);
    assert!(
        (p.tally.cut - (4.0 * w + 5.0 * h)).abs() < 0.01,
        "{}",
        p.tally.cut
    );
    // Two touch the T joints: no more strokes than half the odd corners, (2 (3 + 2)) / 2.
    assert!(p.strokes.len() <= 5, "{}", p.strokes.len());
    let held = run(&layout, true, true).unwrap();
    assert_eq!(prove(&held, &layout, &laser), []);
    assert_eq!(held.tally.nicks, 36);
    let gaps = p.tally.cut - held.tally.cut;
    // Neighbours may have chosen the same place for a nick: then one gap is both.
    assert!(gaps > 17.0 * 0.76 && gaps < 36.0 * 0.76 + 1e-6, "{gaps}");
    // Parts that are not a kerf apart share nothing.
    let wide = packed(3.0, 2, 2);
    let (a, b) = (
        run(&wide, true, false).unwrap(),
        run(&wide, false, false).unwrap(),
    );
    assert!((a.tally.cut - b.tally.cut).abs() < 1e-9);
}

#[test]
fn a_long_sheet_is_cut_in_passes_that_meet_end_to_end() {
    let (mut laser, boards) = (machine("bench-laser"), boards());
    let mut long = layout();
    long.stock[0].shape = Shape::rect(mm(940.0), mm(180.0));
    long.sheets[0].placed = (0..4)
        .map(|i| Placed {
            part: 0,
            turn: Turn::None,
            at: Spot::new(mm(20.0) + mm(225.0) * i, mm(30.0)),
        })
        .collect();
    laser.bed[0] = Length::mm(400.0);
    let options = Options {
        passes: true,
        cool: false,
        ..Options::default()
    };
    let mut never = || false;
    let p = program(
        &long,
        0,
        (&laser, &boards),
        &options,
        Some(&quick()),
        &mut never,
    )
    .unwrap();
    let list = passes(&p, &long, &laser).unwrap();
    assert!(list.len() >= 3, "{}", list.len());
    let mut cut = 0.0;
    for (k, pass) in list.iter().enumerate() {
        for s in &pass.program.strokes {
            let b = s.path.bounds();
            assert!(b.min.x >= -1e-6 && b.max.x <= 400.0 + 1e-6, "{k} {b:?}");
        }
        let ranks: Vec<u32> = pass
            .program
            .strokes
            .iter()
            .skip(pass.holes.len())
            .map(|s| s.rank)
            .collect();
        assert!(ranks.is_sorted());
        cut += pass.program.tally.cut + pass.program.tally.marked;
        // The holes of one pass are where the next is put.
        if let Some(next) = list.get(k + 1) {
            assert_eq!(pass.holes.len(), 2);
            assert!(next.moved > pass.moved);
            for (a, b) in pass.holes.iter().zip(&next.put_at) {
                assert!((*a + at(pass.moved, 0.0)).distance(*b + at(next.moved, 0.0)) < 1e-9);
                assert!(b.x > HOLE && b.x < 400.0 - HOLE);
            }
            assert!(pass.holes[0].distance(pass.holes[1]) >= 0.4 * 180.0);
        }
    }
    const HOLE: f64 = passes::HOLE_MM;
    #[allow(clippy::cast_precision_loss, reason = "a few")]
    let holes = (list.len() - 1) as f64 * 2.0 * std::f64::consts::TAU * (HOLE - 0.08);
    let whole = p.tally.cut + p.tally.marked;
    assert!((cut - whole - holes).abs() < 1e-6, "{cut} {whole} {holes}");
    // No hole in a part, and a sheet without waste is refused.
    for pass in &list {
        for h in &pass.holes {
            let h = *h + at(pass.moved, 0.0);
            assert!(
                h.y < 30.0 || h.y > 150.0 || (h.x - 20.0).rem_euclid(225.0) > 200.0,
                "{h}"
            );
        }
    }
    let short = passes(&p, &long, &machine("knife-table")).unwrap();
    assert_eq!(short.len(), 1);
    assert_eq!(short[0].program.strokes, p.strokes);
    // Parts 5 mm apart leave no waste for them on a sheet without a margin.
    for (i, q) in long.sheets[0].placed.iter_mut().enumerate() {
        q.at = Spot::new(mm(5.0) + mm(205.0) * i64::try_from(i).unwrap(), mm(5.0));
    }
    long.stock[0].shape = Shape::rect(mm(830.0), mm(130.0));
    let mut never = || false;
    let p = program(
        &long,
        0,
        (&laser, &boards),
        &options,
        Some(&quick()),
        &mut never,
    )
    .unwrap();
    assert_eq!(passes(&p, &long, &laser).unwrap_err().code, "no-register");
}
