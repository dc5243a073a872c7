//! What a case costs in board: its blanks drawn, or a polynomial where that says the same.

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

use super::{PlainSlotted, Price, Quadratic};
use crate::blank::Blank;
use crate::board::Board;
use crate::brief::equipped;
use crate::diag::Outcome;
use crate::proof::{Dice, plain};
use crate::style::Style;
use crate::units::{Length, Mass};

/// Sizes drawn to find the polynomial, and as many more to try it on.
const SAMPLES: usize = 60;
/// A polynomial this near to what is drawn, as a share, says the same.
const SAME: f64 = 1e-9;

/// Board of the rectangles that the blanks of a style are cut from, in m2.
#[derive(Debug)]
pub struct Blanks {
    style: Arc<Style>,
    board: Board,
    /// Where the area is as good as a polynomial.
    quick: Option<Quadratic>,
    drawn: RefCell<HashMap<[u64; 3], Option<f64>>>,
}

impl Blanks {
    /// Draws the style at some sizes between the two ends, `upright` where the third is the height.
    ///
    /// # Errors
    /// What keeps the style from being drawn at any of them.
    pub fn new(
        style: Arc<Style>,
        board: Board,
        ends: [[Length; 3]; 2],
        upright: bool,
    ) -> Outcome<Self> {
        let mut out = Self {
            style,
            board,
            quick: None,
            drawn: RefCell::default(),
        };
        let mut dice = Dice(1);
        let mut samples = Vec::new();
        let mut why = Vec::new();
        let mut refused = 0;
        for _ in 0..2 * SAMPLES {
            let mut size = [0, 1, 2].map(|d| {
                let [a, b] = ends.map(|e| e[d].to_mm());
                // A little room beyond, so that things of one size fix a polynomial too.
                Length::mm(dice.between(a.min(b * 0.9), b))
            });
            let turned = if upright { 2 } else { 3 };
            size[..turned].sort_by(|a, b| b.to_mm().total_cmp(&a.to_mm()));
            match out.draw(size) {
                Ok(area) => samples.push((size, area)),
                Err(d) => {
                    refused += 1;
                    why = d;
                }
            }
        }
        if samples.is_empty() {
            return Err(why);
        }
        let (fit, test) = samples.split_at(samples.len() / 2);
        if refused == 0 {
            out.quick = Quadratic::through(fit).filter(|q| q.error(test) < SAME);
        }
        Ok(out)
    }

    /// Whether a polynomial says what drawing would.
    #[must_use]
    pub const fn is_quick(&self) -> bool {
        self.quick.is_some()
    }

    /// The area at a size, drawn, in m2.
    ///
    /// # Errors
    /// What keeps it from being drawn.
    pub fn draw(&self, inside: [Length; 3]) -> Outcome<f64> {
        let job = plain(&self.style, &self.board, inside);
        let brief = equipped(job, Arc::clone(&self.style), self.board.clone());
        let plan = brief.plan()?;
        let area = |b: &Arc<Blank>| b.figures.length.to_mm() * b.figures.width.to_mm() * 1e-6;
        Ok(plan.pieces.iter().map(area).sum())
    }

    fn known(&self, inside: [Length; 3]) -> Option<f64> {
        let key = inside.map(|l| l.to_mm().to_bits());
        if let Some(known) = self.drawn.borrow().get(&key) {
            return *known;
        }
        let area = self.draw(inside).ok();
        self.drawn.borrow_mut().insert(key, area);
        area
    }
}

impl Price for Blanks {
    fn cost(&self, inside: [Length; 3], mass: Mass) -> f64 {
        match &self.quick {
            Some(q) => q.cost(inside, mass),
            // A size that cannot be drawn is never chosen; it still needs a figure for the bound.
            None => (self.known(inside)).unwrap_or_else(|| PlainSlotted.cost(inside, mass)),
        }
    }
    fn allowed(&self, inside: [Length; 3]) -> bool {
        self.quick.is_some() || self.known(inside).is_some()
    }
}
