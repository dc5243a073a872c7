//! The coupon: strips that are cut, folded to a channel and measured.
//!
//! A strip is a job like any other, of the style [`TEST_STRIP`], so that every stage from laying to
//! cutting takes it. Its job states a fold axis depth of 0, so its creases are drawn exactly
//! [`Coupon::span`] apart on every board, whatever was measured before.

use std::fmt::Write as _;

use super::file::quoted;
use crate::board::Creasing;
use crate::units::{Length, trimmed};

/// The style of a strip, as a style file.
pub const TEST_STRIP: &str = include_str!("test-strip.kdl");
/// What the style's file is called beside the jobs.
pub const TEST_STRIP_FILE: &str = "test-strip.kdl";

/// What strips are cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Coupon {
    /// The board's name.
    pub board: String,
    /// Board files of one's own, as the jobs name them.
    pub board_files: Vec<String>,
    /// The machine's name.
    pub machine: Option<String>,
    /// How creases are made.
    pub way: Creasing,
    /// Crease to crease.
    pub span: Length,
    /// Breadth of a strip, along its creases.
    pub breadth: Length,
    /// Height of the two walls.
    pub wall: Length,
    /// Side of the square hole.
    pub gauge: Length,
    /// How many strips for each direction.
    pub strips: u32,
}

impl Coupon {
    /// A coupon of five strips for each direction, of a size that hands and callipers hold well: 60 mm
    /// from crease to crease, walls of 30 mm, 50 mm broad, with a hole of 20 mm.
    #[must_use]
    pub fn new(board: &str, machine: Option<&str>, way: Creasing) -> Self {
        Self {
            board: board.to_owned(),
            board_files: Vec::new(),
            machine: machine.map(str::to_owned),
            way,
            span: Length::mm(60.0),
            breadth: Length::mm(50.0),
            wall: Length::mm(30.0),
            gauge: Length::mm(20.0),
            strips: 5,
        }
    }

    /// The job file of the strips whose creases run along the flutes, or across them.
    #[must_use]
    pub fn job(&self, across: bool) -> String {
        let (word, [length, width]) = if across {
            ("across", [self.span, self.breadth])
        } else {
            ("along", [self.breadth, self.span])
        };
        let mm = |l: Length| trimmed(l.to_mm(), 3);
        let mut files = String::new();
        for f in &self.board_files {
            let _ = writeln!(files, "    board-file {}", quoted(f));
        }
        format!(
            "// Strips for the first article: creases {word} the flutes, {span} mm apart as drawn.\n\
             job \"strips {word} {name}\" {{\n    \
             style \"{TEST_STRIP_FILE}\"\n    \
             inside length=\"{length}mm\" width=\"{width}mm\" depth=\"{wall}mm\"\n    \
             board {board}\n{files}    \
             // A depth of 0 draws the creases at the inside size itself; the strips tell the true one.\n    \
             crease \"{way}\" depth=0\n    \
             set \"creases\" \"{word}\"\n    \
             set \"gauge\" \"{gauge}mm\"\n    \
             quantity {strips}\n\
             }}\n",
            span = mm(self.span),
            name = self.board.replace(['"', '\\'], " "),
            length = mm(length),
            width = mm(width),
            wall = mm(self.wall),
            board = quoted(&self.board),
            way = self.way.word(),
            gauge = mm(self.gauge),
            strips = self.strips,
        )
    }
}
