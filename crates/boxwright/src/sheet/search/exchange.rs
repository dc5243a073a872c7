//! Sheets exchanged for fewer or cheaper ones.

use super::separate::Patience;
use super::sheets::{Open, Search};
use super::swap::cheaper;

/// Times an exchange is tried before it is given up.
const MOST_FAILS: u32 = 8;

impl Search<'_> {
    /// Some sheets exchanged for cheaper ones. `false` when no exchange could be cheaper.
    pub(super) fn exchange(&mut self, tries: usize) -> bool {
        let mut order: Vec<usize> = (0..self.open.len()).collect();
        let fill = |n: &usize| self.free(*n) / self.sheets[self.open[*n].bin].size;
        order.sort_by(|a, b| fill(b).total_cmp(&fill(a)));
        let spare: Vec<u32> = (0..self.sheets.len()).map(|b| self.spare(b)).collect();
        // The emptiest sheet among others; every other try by chance.
        let first = if tries.is_multiple_of(2) {
            order[(tries / 2) % order.len()]
        } else {
            order[self.work.dice.below(order.len())]
        };
        let group = self.group(first);
        if self.crowded(&group) {
            return tries < 10 * self.open.len();
        }
        let (now, mut options) = self.options(&group, &spare);
        if options.is_empty() {
            // Other groups may have options, unless this is all there is.
            let every: Vec<usize> = (0..self.open.len()).collect();
            return group.len() < every.len()
                && tries < 40 * every.len()
                && !self.options(&every, &spare).1.is_empty();
        }
        let r = self.work.dice.between(0.0, 1.0);
        #[allow(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "an index drawn by chance"
        )]
        let pick = ((r * r * options.len() as f64) as usize).min(options.len() - 1);
        let to = options.swap_remove(pick);
        let afresh = self.work.dice.below(2) == 0;
        // Sheets that stay keep their parts, if not all is laid afresh; other parts go anywhere.
        let mut stay = to.clone();
        let mut opens: Vec<Open> = Vec::new();
        let mut loose: Vec<usize> = Vec::new();
        for n in &group {
            let o = &self.open[*n];
            if let Some(k) = stay.iter().position(|b| *b == o.bin) {
                stay.swap_remove(k);
                opens.push(o.clone());
                if afresh && let Some(o) = opens.last_mut() {
                    loose.extend(o.parts.drain(..).map(|p| p.kind));
                }
            } else {
                loose.extend(o.parts.iter().map(|p| p.kind));
            }
        }
        opens.extend(stay.into_iter().map(|bin| Open {
            bin,
            parts: Vec::new(),
        }));
        if opens.is_empty() || !self.scatter(&mut opens, &loose) {
            return true;
        }
        let bins: Vec<usize> = opens.iter().map(|o| o.bin).collect();
        let mut floor = self.floor(&opens);
        let patience = Patience {
            rounds: 60 + 2 * tries.min(70),
            strikes: 1 + usize::from(tries > 20),
        };
        if self.work.part(&mut floor, patience) {
            let opened = self.opened(&floor, &bins);
            let mut n = 0;
            self.open.retain(|_| {
                n += 1;
                !group.contains(&(n - 1))
            });
            self.open.extend(opened);
            self.open.retain(|o| !o.parts.is_empty());
            self.tell();
        } else {
            *self.failed.entry((now, to)).or_default() += 1;
        }
        true
    }

    /// The sheets of a group, sorted, and what could stand in for them and was not given up yet.
    fn options(&self, group: &[usize], spare: &[u32]) -> (Vec<usize>, Vec<Vec<usize>>) {
        let mut now: Vec<usize> = group.iter().map(|n| self.open[*n].bin).collect();
        now.sort_unstable();
        let parts: f64 = group
            .iter()
            .flat_map(|n| &self.open[*n].parts)
            .map(|p| self.size(p.kind))
            .sum();
        let mut options = cheaper(&self.sheets, &now, spare, parts);
        options.retain(|to| {
            let fails = self.failed.get(&(now.clone(), to.clone()));
            fails.is_none_or(|n| *n < MOST_FAILS)
        });
        (now, options)
    }

    /// Loose parts put where they lie free, else anywhere; `false` when one fits on no sheet.
    fn scatter(&mut self, opens: &mut [Open], loose: &[usize]) -> bool {
        let mut counts = vec![0_u32; self.left.len()];
        for k in loose {
            counts[*k] += 1;
        }
        let mut refused = vec![false; counts.len()];
        for kind in self.work.order(&counts) {
            let mut lies = None;
            if !refused[kind] {
                for (n, o) in opens.iter().enumerate() {
                    let mut all = self.sheets[o.bin].bites.clone();
                    all.extend_from_slice(&o.parts);
                    if let Some(l) = self.work.lay(kind, 0, self.sheets[o.bin].area, &all) {
                        lies = Some((n, l));
                        break;
                    }
                }
                refused[kind] = lies.is_none();
            }
            if lies.is_none() {
                let turns = self.work.turns[kind].clone();
                let turn = turns[self.work.dice.below(turns.len())];
                for n in super::area::shuffled(0..opens.len(), &mut self.work.dice) {
                    if let Some(l) = self.anywhere(kind, turn, opens[n].bin) {
                        lies = Some((n, l));
                        break;
                    }
                }
            }
            let Some((n, l)) = lies else {
                return false;
            };
            opens[n].parts.push(l);
        }
        true
    }
}
