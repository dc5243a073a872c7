//! What no layout can beat: the least that the laid parts take by area alone.
//!
//! Parts keep their spacing, so round each of them half of it belongs to no other part. That border
//! is counted with a regular octagon that fits into a circle of that radius, so it is never counted
//! too large; what a sheet offers is its area within the margin, widened by the same half. The bound says nothing of
//! shapes: most often even the best layout needs more.

use super::layout::Layout;
use super::nofit::no_fit;
use super::rings::{grown, shrunk};
use super::shape::{STEPS_PER_MM, Shape, Spot};

/// The least that a board's parts take.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// The board.
    pub board: String,
    /// Sheets and off-cuts that the layout uses.
    pub sheets: usize,
    /// No layout of the same parts on this stock uses fewer.
    pub least_sheets: usize,
    /// Cost of the sheets used, in the workshop's currency; `None` when no sheet has a price.
    pub cost: Option<f64>,
    /// No layout of the same parts on this stock costs less.
    pub least_cost: Option<f64>,
}

/// The bound of each board of a layout, for the parts that it lays.
#[must_use]
pub fn bounds(layout: &Layout) -> Vec<Bound> {
    super::lay::boards(&layout.parts)
        .into_iter()
        .filter_map(|board| bound(layout, board))
        .collect()
}

fn bound(layout: &Layout, board: String) -> Option<Bound> {
    let half = (layout.spacing + 1) / 2;
    let of_board = |i: &usize| layout.parts[*i].board == board;
    let need: f64 = (0..layout.parts.len())
        .filter(of_board)
        .map(|i| count(layout.laid(i)) * taken(&layout.parts[i].shape, layout.spacing / 2))
        .sum();
    let used: Vec<usize> = layout
        .sheets
        .iter()
        .map(|s| s.stock)
        .filter(|i| layout.stock[*i].board == board)
        .collect();
    if used.is_empty() {
        return None;
    }
    let priced = layout
        .stock
        .iter()
        .any(|p| p.board == board && p.price > 0.0);
    // What each kind of sheet offers, how many there are, what one costs.
    let mut offers: Vec<(f64, u32, f64)> = layout
        .stock
        .iter()
        .filter(|p| p.board == board)
        .map(|p| (offered(&p.shape, layout.margin, half), p.count, p.price))
        .filter(|o| o.0 > 0.0)
        .collect();
    offers.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut rest = need;
    let mut least_sheets = 0;
    for (area, there, _) in &offers {
        let whole = (rest / area - HAIR).ceil().max(0.0);
        let n = whole.min(f64::from(*there));
        least_sheets += whole_number(n);
        rest -= n * area;
    }
    offers.sort_by(|a, b| (a.2 / a.0).total_cmp(&(b.2 / b.0)));
    let mut rest = need;
    let mut least_cost = 0.0;
    for (area, there, price) in &offers {
        let n = (rest / area).max(0.0).min(f64::from(*there));
        least_cost += n * price;
        rest -= n * area;
    }
    Some(Bound {
        sheets: used.len(),
        least_sheets: least_sheets.max(1),
        cost: priced.then(|| used.iter().map(|i| layout.stock[*i].price).sum()),
        least_cost: priced.then_some(least_cost),
        board,
    })
}

/// Share of a sheet by which sums of areas may be off, being sums of rounded numbers.
const HAIR: f64 = 1e-9;

#[allow(clippy::cast_precision_loss, reason = "a count")]
const fn count(n: usize) -> f64 {
    n as f64
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "whole, not below zero, and at most a count of sheets"
)]
const fn whole_number(n: f64) -> usize {
    n as usize
}

/// Area that a part keeps from others, in mm2; at least that of the part.
fn taken(shape: &Shape, radius: i64) -> f64 {
    if radius < 1 {
        return shape.area_mm2();
    }
    // Corners on the circle, rounded toward its middle.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "a length within a sheet"
    )]
    let leg = (radius as f64 * std::f64::consts::FRAC_1_SQRT_2).floor() as i64;
    let (r, k) = (radius, leg);
    let at = Spot::new;
    let octagon = Shape {
        outer: vec![
            at(r, 0),
            at(k, k),
            at(0, r),
            at(-k, k),
            at(-r, 0),
            at(-k, -k),
            at(0, -r),
            at(k, -k),
        ],
        holes: Vec::new(),
    };
    // Corners of the sum are rounded to the grid: half a step along its whole edge.
    let sum = no_fit(shape, &octagon);
    let edge: f64 = sum.iter().flat_map(|s| s.rings()).map(|r| around(r)).sum();
    let area: f64 = sum.iter().map(Shape::area_mm2).sum();
    (area - edge * 1.0 / STEPS_PER_MM).max(shape.area_mm2())
}

/// Length of a ring in mm.
#[allow(clippy::cast_precision_loss, reason = "exact below 2^53 micrometres")]
fn around(ring: &[Spot]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    let edge = |(a, b): (&Spot, &Spot)| ((b.x - a.x) as f64).hypot((b.y - a.y) as f64);
    ring.iter().zip(next).map(edge).sum::<f64>() / STEPS_PER_MM
}

/// Area a sheet offers to parts with half their spacing round them, in mm2.
fn offered(sheet: &Shape, margin: i64, half: i64) -> f64 {
    let inner = shrunk(sheet, margin);
    inner
        .iter()
        .flat_map(|s| grown(s, half))
        .map(|s| s.area_mm2())
        .sum()
}

impl Bound {
    /// How far the layout is from the bound, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let sheets = |n: usize| {
            if n == 1 {
                "1 sheet".to_owned()
            } else {
                format!("{n} sheets")
            }
        };
        let mut text = if self.sheets <= self.least_sheets {
            format!(
                "{}; by area alone fewer are not possible",
                sheets(self.sheets)
            )
        } else {
            format!(
                "{}; by area alone {} could do, so at most {} could be saved",
                sheets(self.sheets),
                self.least_sheets,
                self.sheets - self.least_sheets
            )
        };
        if let (Some(cost), Some(least)) = (self.cost, self.least_cost)
            && cost > 0.0
        {
            let over = (cost - least) / cost * 100.0;
            let share = crate::units::trimmed(over, 1);
            text.push_str(&format!(
                "; board for {cost:.2}, by area alone at least {least:.2} ({share} % less)"
            ));
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Half a spacing of 10 mm round a square of 100 mm: an octagon in a circle of 5 mm adds
    // 4 x 100 x 5 along the sides and its own 2 sqrt 2 x 25 = 70.71 at the corners.
    #[test]
    fn a_part_takes_its_border_too() {
        let area = taken(&Shape::rect(100_000, 100_000), 5_000);
        assert!((area - (10_000.0 + 2_000.0 + 70.71)).abs() < 0.5, "{area}");
        assert!((taken(&Shape::rect(1000, 1000), 0) - 1.0).abs() < 1e-12);
    }

    // 1000 x 500 with 10 mm kept free all round, then 5 mm given back: 990 x 490.
    #[test]
    fn a_sheet_offers_what_is_within_its_margin() {
        let area = offered(&Shape::rect(1_000_000, 500_000), 10_000, 5_000);
        assert!((area - 990.0 * 490.0).abs() < 1e-6, "{area}");
    }
}
