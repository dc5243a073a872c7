//! All candidates of a need: the best proposed, the others counted.

use super::look::{Look, evaluate, not_there, refuses, ways};
use super::model::{LeftOut, OnSheet, Piece, Proposal, Proposals, Why};
use super::need::{AtHand, Candidate, Need};
use super::rank::order;
use super::reasons::{Field, reasons};
use crate::board::Creasing;
use crate::sheet::part::parts;
use crate::sheet::{Task, lay, steps};
use crate::units::{Length, LengthUnit};

/// Draws, checks and ranks every candidate, and proposes the best `top`. Each proposal has passed the
/// whole check. Where there is more than one style, each is proposed once, in its best board and
/// inside size; others that would do are named beside it.
#[must_use]
pub fn propose(need: &Need, hand: &AtHand, top: usize) -> Proposals {
    let mut run = Run {
        candidates: 0,
        left_out: Vec::new(),
    };
    let looks = run.looks(need, hand);
    let order = order(&looks, need);
    let field = Field::of(&looks);
    let mut looks: Vec<Option<Look>> = looks.into_iter().map(Some).collect();
    let several = hand.styles.len() > 1;
    let mut further = 0;
    let mut proposals: Vec<Proposal> = Vec::new();
    for i in order {
        let Some(look) = looks.get_mut(i).and_then(Option::take) else {
            continue;
        };
        let name = &look.brief.style.name;
        if let Some(shown) = proposals.iter_mut().find(|p| several && p.style == *name) {
            let text = beside(&look, shown, need);
            shown.also.push(text);
            further += 1;
        } else if proposals.len() >= top {
            further += 1;
        } else {
            let what = words(&look);
            let (style, board) = (name.clone(), look.brief.board.name.clone());
            match look.proven() {
                Ok(look) => proposals.push(proposal(&look, need, hand, &field)),
                Err(why) => run.out(&style, &board, &what, why),
            }
        }
    }
    // The most first, then as met.
    run.left_out
        .sort_by_key(|l| std::cmp::Reverse(l.candidates));
    Proposals {
        candidates: run.candidates,
        proposals,
        further,
        left_out: run.left_out,
    }
}

struct Run {
    candidates: usize,
    left_out: Vec<LeftOut>,
}

impl Run {
    fn looks(&mut self, need: &Need, hand: &AtHand) -> Vec<Look> {
        let mut looks = Vec::new();
        for style in &hand.styles {
            for board in &hand.boards {
                let made = match &hand.machine {
                    Some(m) => ways(m, &board.name),
                    None => vec![hand.creasing.unwrap_or(Creasing::Rule)],
                };
                for inside in &need.insides {
                    let candidate = |way| Candidate {
                        inside: *inside,
                        style: style.clone(),
                        board: board.clone(),
                        way,
                    };
                    if made.is_empty() {
                        // It still counts: as a candidate that no crease can be made for.
                        let c = candidate(Creasing::Hand);
                        let words = "the machine's file does not say how it is creased";
                        let why = refuses(&c, need).or_else(|| not_there(board, hand));
                        let why = why.unwrap_or_else(|| Why::new("not-creased", words, ""));
                        self.candidates += 1;
                        self.out(&style.name, &board.name, &c.words(), why);
                    }
                    for way in &made {
                        let c = candidate(*way);
                        self.candidates += 1;
                        match evaluate(&c, need, hand) {
                            Ok(look) => looks.push(look),
                            Err(why) => self.out(&style.name, &board.name, &c.words(), why),
                        }
                    }
                }
            }
        }
        looks
    }

    fn out(&mut self, style: &str, board: &str, what: &str, why: Why) {
        let same = |l: &LeftOut| l.code == why.code && l.words == why.words;
        let at = self.left_out.iter().position(same).unwrap_or_else(|| {
            self.left_out.push(LeftOut {
                code: why.code,
                words: why.words.clone(),
                candidates: 0,
                styles: Vec::new(),
                boards: Vec::new(),
                each: Vec::new(),
            });
            self.left_out.len() - 1
        });
        let l = &mut self.left_out[at];
        l.candidates += 1;
        if !l.styles.iter().any(|s| s == style) {
            l.styles.push(style.to_owned());
        }
        if !l.boards.iter().any(|b| b == board) {
            l.boards.push(board.to_owned());
        }
        l.each.push(if why.more.is_empty() {
            what.to_owned()
        } else {
            format!("{what}: {}", why.more)
        });
    }
}

fn words(look: &Look) -> String {
    Candidate {
        inside: look.brief.job.inside,
        style: look.brief.style.clone(),
        board: look.brief.board.clone(),
        way: look.brief.job.creasing,
    }
    .words()
}

/// What tells a further look of the same style apart.
fn beside(look: &Look, shown: &Proposal, need: &Need) -> String {
    let mut text = look.brief.board.name.clone();
    if look.brief.job.creasing != shown.creasing {
        text.push_str(&format!(", {} creases", look.brief.job.creasing.word()));
    }
    if need.insides.len() > 1 {
        let [l, w, d] = look.brief.job.inside.map(|s| LengthUnit::Mm.number(s));
        text.push_str(&format!(", inside {l} x {w} x {d} mm"));
    }
    text
}

fn proposal(look: &Look, need: &Need, hand: &AtHand, field: &Field) -> Proposal {
    let laid = laid(look, hand);
    let told = reasons(look, need, field, laid.as_ref());
    let o = &look.outlook;
    let offer = o.parcel.chosen.and_then(|i| o.parcel.offers.get(i));
    let pieces = look.plan.blanks().iter().enumerate().map(|(i, b)| {
        let size = b.bounds.size();
        Piece {
            name: b.piece.clone(),
            size: [Length::mm(size.x), Length::mm(size.y)],
            from: look.supply.from.get(i).cloned(),
        }
    });
    Proposal {
        style: look.brief.style.name.clone(),
        style_title: look.brief.style.title.clone(),
        board: look.brief.board.name.clone(),
        creasing: look.brief.job.creasing,
        inside: look.brief.job.inside,
        outside: o.outside.size,
        pieces: pieces.collect(),
        creases: look.creases,
        board_area: look.board,
        tare: o.outside.tare(),
        gross: o.gross,
        class: o.grade.needs.as_ref().map(|c| c.name.clone()),
        short_of_class: o.grade.missing,
        parcel: offer.map(|o| o.class.clone()),
        parcel_price: offer.map(|o| o.price),
        charged: o.parcel.charged,
        strength: o.left,
        safe_high: o.stack.safe_high,
        on_pallet: need.pallet.as_ref().map(|_| look.on_pallet()),
        board_cost: look.supply.cost,
        laid,
        good: told.good,
        against: told.against,
        findings: look.findings.clone(),
        cautions: o.cautions.clone(),
        also: Vec::new(),
        job: look.brief.job.clone(),
    }
}

/// All cases laid on the stock of their board, in the plainest way that is worth looking at.
fn laid(look: &Look, hand: &AtHand) -> Option<OnSheet> {
    let stock = hand.stock.as_ref()?;
    let job = &look.brief.job;
    let parts = parts(&look.plan, job, &job.title, job.quantity).ok()?;
    let task = Task {
        title: job.title.clone(),
        parts,
        stock: stock.pieces.clone(),
        spacing: steps(hand.spacing),
        margin: steps(hand.margin),
        reach: hand.reach().map(|r| r.map(steps)),
    };
    let layout = lay(&task, 0, &mut |_| 1.0).ok()?;
    let mut sheets: Vec<(String, usize)> = Vec::new();
    let mut cost = 0.0;
    for s in &layout.sheets {
        let piece = layout.stock.get(s.stock)?;
        cost += piece.price;
        match sheets.iter_mut().find(|(n, _)| *n == piece.name) {
            Some((_, k)) => *k += 1,
            None => sheets.push((piece.name.clone(), 1)),
        }
    }
    Some(OnSheet {
        cases: job.quantity,
        sheets,
        left: layout.left.iter().map(|n| u64::from(*n)).sum(),
        cost,
    })
}
