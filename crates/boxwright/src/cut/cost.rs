//! What a layout costs: board, machine, hands. All in the workshop's currency.

use serde::Serialize;

use super::Program;
use crate::machine::Machine;
use crate::sheet::Layout;

/// Seconds in an hour.
const HOUR: f64 = 3600.0;

/// What the sheets of some programs cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Cost {
    /// Price of the sheets and off-cuts.
    pub board: f64,
    /// How much of that is for board in no part: waste, or off-cuts to keep.
    pub waste: f64,
    /// Time of the machine at its price.
    pub machine: f64,
    /// Time of hands at their price: each part taken out, folded and joined.
    pub hands: f64,
    /// Hours of hands.
    pub hand_hours: f64,
    /// How many parts.
    pub parts: usize,
    /// Board, machine and hands.
    pub total: f64,
}

/// The cost of these programs. Prices of the hour and the time of hands for a part are the machine
/// file's; the price of a sheet is the stock's. The time in which sheets are changed is not in it.
#[must_use]
pub fn cost(layout: &Layout, machine: &Machine, programs: &[Program]) -> Cost {
    let mut cost = Cost::default();
    for program in programs {
        let Some(laid) = layout.sheets.get(program.sheet) else {
            continue;
        };
        let Some(piece) = layout.stock.get(laid.stock) else {
            continue;
        };
        let parts = laid.placed.iter().filter_map(|p| layout.parts.get(p.part));
        let used: f64 = parts.map(|p| p.shape.area_mm2()).sum();
        let whole = piece.shape.area_mm2();
        let share = if whole > 0.0 {
            (used / whole).min(1.0)
        } else {
            0.0
        };
        cost.board += piece.price;
        cost.waste += piece.price * (1.0 - share);
        cost.machine += program.tally.seconds / HOUR * machine.hour_price;
        cost.parts += laid.placed.len();
    }
    #[allow(clippy::cast_precision_loss, reason = "a count of parts")]
    let hours = cost.parts as f64 * machine.hand_time / HOUR;
    cost.hand_hours = hours;
    cost.hands = hours * machine.hand_price;
    cost.total = cost.board + cost.machine + cost.hands;
    cost
}
