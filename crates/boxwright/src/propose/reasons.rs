//! What speaks for a proposal and what against it, with figures.

use super::look::Look;
use super::model::OnSheet;
use super::need::Need;
use crate::check::Verdict;
use crate::units::trimmed;

/// What all looks have in common, to hold one against.
pub(super) struct Field {
    /// Least board of all, in mm2, and whose it is.
    least_board: (f64, String),
    /// Least price of a parcel, where one takes it.
    least_parcel: Option<f64>,
}

impl Field {
    pub(super) fn of(looks: &[Look]) -> Self {
        let board = looks.iter().map(|l| (l.board.to_mm2(), l));
        let least = board.min_by(|a, b| a.0.total_cmp(&b.0));
        let parcels = looks.iter().filter_map(Look::parcel_price);
        Self {
            least_board: least.map_or((0.0, String::new()), |(a, l)| {
                let words = format!("{} in {}", l.brief.style.name, l.brief.board.name);
                (a, words)
            }),
            least_parcel: parcels.reduce(f64::min),
        }
    }
}

/// For and against.
pub(super) struct Reasons {
    pub good: Vec<String>,
    pub against: Vec<String>,
}

impl Reasons {
    fn side(&mut self, good: bool, text: String) {
        if good {
            self.good.push(text);
        } else {
            self.against.push(text);
        }
    }
}

pub(super) fn reasons(look: &Look, need: &Need, field: &Field, laid: Option<&OnSheet>) -> Reasons {
    let mut r = Reasons {
        good: Vec::new(),
        against: Vec::new(),
    };
    style(&mut r, look, need);
    board(&mut r, look, need, field);
    sheets(&mut r, look, laid);
    grade(&mut r, look);
    stack(&mut r, look, need);
    parcel(&mut r, look, field);
    pallet(&mut r, look, need);
    hands(&mut r, look);
    r
}

fn style(r: &mut Reasons, look: &Look, need: &Need) {
    let Some(suits) = &look.brief.style.suits else {
        r.against
            .push("its file does not say what it suits, so nobody vouches for the mass".into());
        return;
    };
    r.good.push(suits.good.clone());
    r.against.push(suits.bad.clone());
    let load = trimmed(suits.load.to_kg(), 2);
    let mass = need.mass();
    if mass.to_kg() > 0.0 {
        let share = mass / suits.load;
        let text = format!("usual up to {load} kg; {} kg go in", kg(mass.to_kg()));
        r.side(share <= 0.8, text);
    } else {
        r.against.push(format!(
            "no mass of the contents is known; this style is usual up to {load} kg"
        ));
    }
    let known: Vec<String> = need
        .wishes_for(look.brief.job.inside)
        .into_iter()
        .filter(|w| !look.unmet.contains(w))
        .collect();
    if !known.is_empty() {
        r.good.push(format!("known for: {}", known.join(", ")));
    }
    if !look.unmet.is_empty() {
        r.against
            .push(format!("not known for: {}", look.unmet.join(", ")));
    }
}

fn board(r: &mut Reasons, look: &Look, need: &Need, field: &Field) {
    if let Some((least, from)) = need.usual_thickness().filter(|_| look.thin) {
        r.against.push(format!(
            "board {} mm thick: from {} kg on, {} mm or more is usual (default, no source)",
            trimmed(look.brief.material.caliper.to_mm(), 2),
            trimmed(from.to_kg(), 1),
            trimmed(least.to_mm(), 1)
        ));
    }
    let (least, whose) = &field.least_board;
    let area = look.board.to_mm2();
    let m2 = trimmed(look.board.to_m2(), 3);
    if area <= *least {
        r.good
            .push(format!("takes {m2} m2 of board, the least of all"));
        return;
    }
    let more = (area / least - 1.0) * 100.0;
    let text = format!(
        "takes {m2} m2 of board, {} % more than the least ({whose})",
        trimmed(more, if more < 10.0 { 1 } else { 0 })
    );
    r.side(more < 100.0 * super::rank::SAME, text);
}

fn sheets(r: &mut Reasons, look: &Look, laid: Option<&OnSheet>) {
    let s = &look.supply;
    if let Some(first) = s.from.first() {
        let alike = s.from.iter().all(|f| f == first);
        let all: f64 = s.share.iter().sum();
        let percent = trimmed(all * 100.0, 0);
        let mut text = if alike {
            format!("fits `{first}` and takes {percent} % of it")
        } else {
            let mut names: Vec<&String> = Vec::new();
            for f in &s.from {
                if !names.contains(&f) {
                    names.push(f);
                }
            }
            let names: Vec<String> = names.iter().map(|n| format!("`{n}`")).collect();
            format!("fits {}", names.join(" and "))
        };
        if let Some(cost) = s.cost {
            text.push_str(&format!(": board for {cost:.2}"));
        }
        r.good.push(text);
    }
    if let Some(laid) = laid {
        let each = laid.sheets.iter().map(|(n, k)| format!("{k} of `{n}`"));
        let each: Vec<String> = each.collect();
        if laid.left > 0 {
            r.against.push(format!(
                "the stock is not enough for {} cases: {} blanks find no room",
                laid.cases, laid.left
            ));
        } else if laid.cases > 1 || laid.sheets.len() > 1 {
            r.good.push(format!(
                "{} laid on {}",
                cases(laid.cases),
                each.join(" and ")
            ));
        }
    }
}

fn cases(n: u32) -> String {
    if n == 1 {
        "the case is".to_owned()
    } else {
        format!("{n} cases are")
    }
}

fn grade(r: &mut Reasons, look: &Look) {
    let g = &look.outlook.grade;
    let Some(class) = &g.needs else {
        if g.limits {
            r.against.push(format!(
                "no class for {} wall board takes {} kg and {} mm of length, width and depth: {}",
                look.brief.board.wall.word(),
                kg(g.mass.to_kg()),
                trimmed(g.size.to_mm(), 0),
                g.title
            ));
        }
        return;
    };
    match (g.missing, class.ect) {
        (Some(missing), Some(asked)) => r.against.push(format!(
            "edge crush {} kN/m, {} short of class `{}` ({})",
            trimmed(look.brief.board.ect.to_n_per_mm(), 2),
            trimmed(missing.to_n_per_mm(), 2),
            class.name,
            trimmed(asked.to_n_per_mm(), 2)
        )),
        (None, Some(asked)) => r.good.push(format!(
            "reaches class `{}`, which asks for {} kN/m of edge crush",
            class.name,
            trimmed(asked.to_n_per_mm(), 2)
        )),
        _ => r
            .good
            .push(format!("within the limits of class `{}`", class.name)),
    }
}

fn stack(r: &mut Reasons, look: &Look, need: &Need) {
    let o = &look.outlook;
    let on = &need.on.surroundings;
    let under = format!(
        "after {} days at {} % humidity",
        trimmed(on.days, 0),
        trimmed(on.humidity * 100.0, 0)
    );
    let left = format!(
        "{} to {} N of strength left {under}",
        trimmed(o.left.least.to_n(), 0),
        trimmed(o.left.most.to_n(), 0)
    );
    match (o.stack.holds, o.stack.high, o.stack.safe_high) {
        (Some(true), Some(high), Some(safe)) => {
            r.good
                .push(format!("stands {safe} high where {high} are asked; {left}"));
        }
        (_, _, Some(safe)) if need.mass().to_kg() > 0.0 => {
            r.side(safe > 1, format!("stands {safe} high; {left}"));
        }
        _ => r.good.push(left),
    }
    if let Some(suits) = &look.brief.style.suits
        && suits.stacking == "poor"
    {
        r.against.push("cannot well be stacked".into());
    }
}

fn parcel(r: &mut Reasons, look: &Look, field: &Field) {
    let p = &look.outlook.parcel;
    let Some(offer) = p.chosen.and_then(|i| p.offers.get(i)) else {
        r.against
            .push(format!("no parcel class of `{}` takes it", p.tariff));
        return;
    };
    let charged = kg(p.charged.to_kg());
    let mut text = format!("parcel class `{}` for {:.2}", offer.class, offer.price);
    if p.bulky {
        text.push_str(&format!(
            ", charged for {charged} kg because of its volume; {} kg on the scales",
            kg(p.mass.to_kg())
        ));
    } else {
        text.push_str(&format!(", charged for {charged} kg"));
    }
    let cheapest = field.least_parcel.is_none_or(|l| offer.price <= l);
    if let Some(least) = field.least_parcel.filter(|_| !cheapest) {
        text.push_str(&format!("; the cheapest of all is {least:.2}"));
    }
    r.side(cheapest, text);
}

fn pallet(r: &mut Reasons, look: &Look, need: &Need) {
    let Some(p) = &need.pallet else { return };
    let Some(l) = &look.load else {
        r.against
            .push(format!("not one case goes on the pallet `{}`", p.base.name));
        return;
    };
    let text = format!(
        "{} on a pallet `{}` in {} of {}, {} % of its floor",
        counted(look.on_pallet(), "case"),
        p.base.name,
        counted(look.on_pallet().div_ceil(l.per_layer.max(1)), "layer"),
        l.per_layer,
        trimmed(l.area_share * 100.0, 0)
    );
    r.side(l.area_share >= 0.8, text);
    if look.on_pallet() < l.count {
        r.against.push(format!(
            "the pallet has room for {} layers, and more than {} are not safe",
            l.layers,
            look.outlook.stack.safe_high.unwrap_or_default()
        ));
    }
}

fn counted(n: usize, word: &str) -> String {
    let s = if n == 1 { "" } else { "s" };
    format!("{n} {word}{s}")
}

fn hands(r: &mut Reasons, look: &Look) {
    let pieces = look.plan.blanks().len();
    let glue = look.brief.style.suits.as_ref();
    let text = match pieces {
        1 => format!("one piece, {} creases", look.creases),
        n => format!("{n} pieces, {} creases", look.creases),
    };
    r.side(pieces == 1, text);
    if glue.is_some_and(|s| s.folding == "machine") {
        r.against
            .push("made to be glued by machine; by hand it takes patience".into());
    }
    if look.outlook.lift.heavy {
        r.against.push("heavy: mark it, and lift with care".into());
    }
    for f in &look.findings {
        if f.verdict == Verdict::Caution {
            r.against.push(format!("check cautions: {}", f.message));
        }
    }
}

pub(super) fn kg(value: f64) -> String {
    trimmed(value, if value < 10.0 { 2 } else { 1 })
}
