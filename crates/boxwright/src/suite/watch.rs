//! How far a search is, and how much it may still do.

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// How many sizes are chosen at the moment.
    pub sizes: usize,
    /// Cost of the best suite so far.
    pub cost: f64,
    /// What no suite can cost less than, as far as is proved.
    pub bound: f64,
    /// Steps spent on this number of sizes.
    pub spent: u64,
    /// Steps there are for it.
    pub most: u64,
}

/// Told now and then how far a search is; says whether it goes on.
pub trait Watch {
    /// `false` ends the search with the best so far.
    fn goes_on(&mut self, progress: &Progress) -> bool;
}

/// Nobody watches.
#[derive(Clone, Copy, Debug)]
pub struct Unwatched;

impl Watch for Unwatched {
    fn goes_on(&mut self, _: &Progress) -> bool {
        true
    }
}

/// Steps between two words to the watch.
const TELL: u64 = 20_000_000;

/// The work a search may do, in steps: one looks at one thing in one case.
pub(super) struct Work<'a> {
    pub at: Progress,
    told: u64,
    /// Beyond this a part of the search ends.
    pub fence: u64,
    pub stopped: bool,
    /// Whether a cost was seen to fall while a size grows.
    pub falls: bool,
    watch: &'a mut dyn Watch,
}

impl<'a> Work<'a> {
    pub fn new(sizes: usize, most: u64, watch: &'a mut dyn Watch) -> Self {
        Self {
            at: Progress {
                sizes,
                cost: f64::INFINITY,
                bound: 0.0,
                spent: 0,
                most,
            },
            told: 0,
            fence: most,
            stopped: false,
            falls: false,
            watch,
        }
    }
    /// Takes so many steps; `false` when there are none left or the watch has had enough.
    pub fn spend(&mut self, steps: usize) -> bool {
        self.at.spent += u64::try_from(steps).unwrap_or(u64::MAX / 4);
        if self.at.spent > self.told + TELL {
            self.told = self.at.spent;
            self.stopped |= !self.watch.goes_on(&self.at);
        }
        self.goes_on()
    }
    pub const fn goes_on(&self) -> bool {
        !self.stopped && self.at.spent < self.fence
    }
    /// So many steps from now on, though never beyond the whole.
    pub fn fenced(&mut self, share: f64) {
        #[allow(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of the steps"
        )]
        let more = (self.at.most as f64 * share) as u64;
        self.fence = (self.at.spent + more).min(self.at.most);
    }
}
