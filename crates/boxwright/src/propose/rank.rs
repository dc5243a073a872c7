//! Which of two looks is better.
//!
//! First what is cared about, in steps: of all looks within [`SAME`] of the best figure the simplest is
//! taken, so that a hair's breadth of board never decides for a third piece. Before that stand the
//! wishes: a style that is known for fragile things goes before one that is not, and board that is as thick as
//! is usual for the mass before thinner board.

use std::cmp::Ordering;

use super::look::Look;
use super::need::{Need, Prefer};

/// Figures this close, as a share of the better one, count as the same. Practice, no source: a few
/// percent of board are less than what two layouts of one blank differ by.
pub const SAME: f64 = 0.05;

/// Steps in which a board falls short of the edge crush of a class, as a share of it. Seen: the mean of a
/// delivery may fall short of the listed figure by 5 %, DIN 55468-1:2021 as listed at weka-sebnitz.de.
const SHORT_STEP: f64 = 0.05;

/// The figure that ranks a look; less is better. Board in mm2, prices in the workshop's currency,
/// strength in N and cases on a pallet below zero.
#[must_use]
pub fn figure(look: &Look, prefer: Prefer) -> f64 {
    match prefer {
        Prefer::Board => look.board.to_mm2(),
        Prefer::Parcel => look.parcel_price().unwrap_or(f64::INFINITY),
        #[allow(clippy::cast_precision_loss, reason = "a count of cases")]
        Prefer::Pallet => -(look.on_pallet() as f64),
        Prefer::Stack => -look.outlook.left.least.to_n(),
        Prefer::Price => {
            look.supply.cost.unwrap_or(0.0) + look.parcel_price().unwrap_or(f64::INFINITY)
        }
    }
}

/// Whether figures count as the same.
fn same(best: f64, other: f64, prefer: Prefer) -> bool {
    if best == other {
        return true;
    }
    // Classes of a tariff are far apart or alike, and a case more on a pallet is one more.
    let share = match prefer {
        Prefer::Parcel | Prefer::Pallet => 0.0,
        _ => SAME,
    };
    other - best <= best.abs() * share
}

impl Look {
    /// How many wishes are not met, a board thick enough for the mass counted as one.
    #[must_use]
    pub fn misses(&self) -> usize {
        self.unmet.len() + usize::from(self.thin)
    }
    /// Price of the cheapest parcel class that takes it.
    #[must_use]
    pub fn parcel_price(&self) -> Option<f64> {
        let p = &self.outlook.parcel;
        p.chosen.and_then(|i| p.offers.get(i)).map(|o| o.price)
    }
    /// Cases on the pallet, no more layers than are safe; 0 where not one goes or no pallet is given.
    #[must_use]
    pub fn on_pallet(&self) -> usize {
        let Some(load) = &self.load else { return 0 };
        let safe = self.outlook.stack.safe_high;
        let safe = safe.map_or(usize::MAX, |n| usize::try_from(n).unwrap_or(usize::MAX));
        load.count.min(load.per_layer.saturating_mul(safe))
    }
    /// In how many steps of 5 % the board falls short of the class that mass and size ask for.
    fn short(&self) -> f64 {
        let grade = &self.outlook.grade;
        let asked = grade.needs.as_ref().and_then(|c| c.ect);
        match (grade.missing, asked) {
            (Some(missing), Some(asked)) => (missing / asked / SHORT_STEP).ceil(),
            _ if grade.limits && grade.needs.is_none() => f64::INFINITY,
            _ => 0.0,
        }
    }
    /// What decides between looks whose figures count as the same; less is better.
    fn plainness(&self, prefer: Prefer) -> [f64; 5] {
        #[allow(clippy::cast_precision_loss, reason = "small counts")]
        let count = |n: usize| n as f64;
        // Classes and layers say nothing of board, so it decides before creases do, in steps.
        let board = match prefer {
            Prefer::Parcel | Prefer::Pallet => {
                (self.board.to_mm2().max(1.0).ln() / (1.0 + SAME).ln()).floor()
            }
            _ => 0.0,
        };
        let glued = self
            .brief
            .style
            .suits
            .as_ref()
            .is_some_and(|s| s.folding == "machine");
        [
            f64::from(u8::from(glued)),
            count(self.plan.blanks().len()),
            self.short(),
            board,
            count(self.creases),
        ]
    }
}

/// Which of two looks comes first where their figures count as the same, by wishes, simplicity, class,
/// then the figure itself and the inside size that was named first.
#[must_use]
pub fn better(a: &Look, b: &Look, need: &Need) -> Ordering {
    let by = |a: [f64; 5], b: [f64; 5]| {
        let each = a.iter().zip(&b).map(|(a, b)| a.total_cmp(b));
        each.fold(Ordering::Equal, Ordering::then)
    };
    let inside = |l: &Look| need.insides.iter().position(|i| *i == l.brief.job.inside);
    (a.misses().cmp(&b.misses()))
        .then_with(|| by(a.plainness(need.prefer), b.plainness(need.prefer)))
        .then_with(|| figure(a, need.prefer).total_cmp(&figure(b, need.prefer)))
        .then_with(|| inside(a).cmp(&inside(b)))
}

/// Looks from best to worst, as places in the list.
#[must_use]
pub fn order(looks: &[Look], need: &Need) -> Vec<usize> {
    let unmet = |i: usize| looks[i].misses();
    let of = |i: usize| figure(&looks[i], need.prefer);
    let mut left: Vec<usize> = (0..looks.len()).collect();
    left.sort_by(|a, b| unmet(*a).cmp(&unmet(*b)).then(of(*a).total_cmp(&of(*b))));
    let mut out = Vec::new();
    // The next one is the simplest of those as good as the best that is left.
    while let Some(first) = left.first().copied() {
        let level = left
            .iter()
            .take_while(|i| unmet(**i) == unmet(first) && same(of(first), of(**i), need.prefer));
        let best = level.copied().enumerate();
        let best = best.min_by(|a, b| better(&looks[a.1], &looks[b.1], need).then(a.1.cmp(&b.1)));
        let at = best.map_or(0, |b| b.0);
        out.push(left.remove(at));
    }
    out
}
