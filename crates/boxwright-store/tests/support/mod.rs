//! A folder of its own and a small layout.
#![allow(dead_code, reason = "each test file uses its own part of this")]
#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use std::fs;
use std::path::PathBuf;

use boxwright::sheet::{
    Keep, LaidSheet, Layout, Part, Piece, Placed, Rest, Shape, Spot, Turn, Turns, rests_of,
};

pub fn folder(name: &str) -> PathBuf {
    let at = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&at);
    fs::create_dir_all(&at).unwrap();
    at
}

pub fn sheets(count: u32) -> Piece {
    Piece::sheet("C large", "C", 1_600_000, 1_200_000, count, 3.4)
}

/// A layout of blanks 900 x 700 mm, one in the corner of each of `n` sheets, with its rests.
pub fn layout(title: &str, n: usize) -> (Layout, Vec<Rest>) {
    let part = Part {
        name: "case: body".into(),
        job: "case".into(),
        piece: "body".into(),
        board: "C".into(),
        caliper: 4.0,
        wanted: u32::try_from(n).unwrap(),
        turns: Turns::Half,
        flutes_along_x: true,
        outside_up: false,
        shape: Shape::rect(900_000, 700_000),
        lines: Vec::new(),
    };
    let placed = Placed {
        part: 0,
        turn: Turn::None,
        at: Spot::new(0, 0),
    };
    let sheet = LaidSheet {
        stock: 0,
        placed: vec![placed],
    };
    let layout = Layout {
        title: title.into(),
        parts: vec![part],
        stock: vec![sheets(100)],
        spacing: 5000,
        margin: 0,
        reach: None,
        sheets: vec![sheet; n],
        left: vec![0],
    };
    let rests = rests_of(&layout, &Keep::default());
    (layout, rests)
}
