//! The range in words, as JSON and as CSV.

use std::fmt::Write as _;

use boxwright::diag::Diag;
use boxwright::suite::{Chosen, Range};
use boxwright::units::{Length, LengthUnit, trimmed};
use serde_json::{Value, json};

use super::Found;
use crate::args::Least;
use crate::say;

/// Kinds of figures rounded for people: four digits that count.
fn figure(v: f64) -> String {
    let digits = if v.abs() >= 1000.0 {
        0
    } else if v.abs() >= 100.0 {
        1
    } else if v.abs() >= 10.0 {
        2
    } else {
        3
    };
    trimmed(v, digits)
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.0005 {
        return "under 0.05 %".to_owned();
    }
    format!("{} %", trimmed(share * 100.0, 1))
}

#[allow(clippy::cast_precision_loss, reason = "a share")]
fn share(part: u64, whole: u64) -> f64 {
    part as f64 / (whole as f64).max(1.0)
}

/// Everything, for a terminal.
pub fn told(found: &Found, unit: LengthUnit) -> String {
    let mut out = String::new();
    let h = found.history();
    let placed = h.orders() - found.ranges.too_large;
    let text = format!(
        "{} in {} rows, {} distinct sizes, {} l of things",
        h.orders(),
        found.orders.rows,
        h.distinct(),
        figure(h.filled_litres())
    );
    say::line(&mut out, "orders", &text);
    say::line(
        &mut out,
        "least",
        &format!("{}: {}", found.word(), found.price),
    );
    let how = h.how();
    let mut text = format!("inside sizes in whole multiples of {}", unit.show(how.grid));
    if how.clearance > Length::ZERO {
        let _ = write!(text, ", {} free on each side", unit.show(how.clearance));
    }
    if how.upright {
        text.push_str(", things stay upright");
    }
    say::line(&mut out, "grid", &text);
    out.push('\n');
    if let Some(range) = found.range() {
        sizes(&mut out, found, range, placed, unit);
        out.push('\n');
        let all = format!(
            "{} {} of {}, {} for each order{}",
            figure(found.told(range.cost)),
            found.unit(),
            found.word(),
            figure(found.told(range.cost) * share(1, placed)),
            match found.least {
                Least::Void => format!(
                    "; {} of the cases' room",
                    percent(found.told(range.cost) / range.cost)
                ),
                Least::Board | Least::Freight => String::new(),
            }
        );
        say::line(&mut out, "in all", &all);
        say::line(&mut out, "proof", &proof(found, range));
    }
    out.push('\n');
    let head = ["sizes", found.word(), "at least", "saves", "proof"].map(str::to_owned);
    let mut rows = vec![head.to_vec()];
    let mut before: Option<f64> = None;
    for r in &found.ranges.by_sizes {
        let cost = found.told(r.cost);
        let saves = before.map(|b| percent((b - cost) / b));
        rows.push(vec![
            r.sizes.to_string(),
            format!("{} {}", figure(cost), found.unit()),
            format!("{} {}", figure(found.told(r.bound)), found.unit()),
            saves.unwrap_or_default(),
            if r.proved {
                "best".to_owned()
            } else {
                format!("within {}", percent(gap(found, r)))
            },
        ]);
        before = Some(cost).filter(|c| *c > 0.0);
    }
    say::table(&mut out, &rows);
    out
}

/// How far the bound is below the told cost, as a share of it.
fn gap(found: &Found, r: &Range) -> f64 {
    let (cost, bound) = (found.told(r.cost), found.told(r.bound));
    if r.proved || cost <= 0.0 {
        0.0
    } else {
        (cost - bound) / cost
    }
}

fn proof(found: &Found, r: &Range) -> String {
    if r.proved {
        return format!(
            "proved best: no {} on this grid make it less",
            say::counted(r.sizes, "size")
        );
    }
    let mut text = format!(
        "not proved best: no {} come below {} {}, {} less",
        say::counted(r.sizes, "size"),
        figure(found.told(r.bound)),
        found.unit(),
        percent(gap(found, r))
    );
    if found.ranges.coarse {
        let _ = write!(
            text,
            "; things were put together into {} kinds, which the bound allows for. A coarser --grid, or a higher --work, may bring the two together",
            found.ranges.kinds
        );
    } else {
        text.push_str(". A higher --work may bring the two together");
    }
    text
}

fn sizes(out: &mut String, found: &Found, range: &Range, placed: u64, unit: LengthUnit) {
    let head = ["inside", "orders", "share", "filled", found.word(), ""].map(str::to_owned);
    let mut rows = vec![head.to_vec()];
    for c in &range.chosen {
        rows.push(vec![
            say::sizes(c.inside, unit),
            c.orders.to_string(),
            percent(share(c.orders, placed)),
            percent(fill(c)),
            format!("{} {}", figure(own(found, c)), found.unit()),
            if c.kept { "kept" } else { "" }.to_owned(),
        ]);
    }
    say::table(out, &rows);
}

/// What one size has of the cost as it is told.
fn own(found: &Found, c: &Chosen) -> f64 {
    match found.least {
        Least::Void => (c.cost - c.filled).max(0.0),
        Least::Board | Least::Freight => c.cost,
    }
}

/// The share of the room of a size that things fill.
fn fill(c: &Chosen) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a share")]
    let room = c.inside.iter().map(|l| l.to_mm()).product::<f64>() * 1e-6 * c.orders as f64;
    if room > 0.0 { c.filled / room } else { 0.0 }
}

fn range_json(found: &Found, r: &Range) -> Value {
    let chosen = r.chosen.iter().map(|c| {
        json!({
            "inside": c.inside,
            "kept": c.kept,
            "orders": c.orders,
            "filled": c.filled,
            "cost": own(found, c),
        })
    });
    json!({
        "sizes": r.sizes,
        "cost": found.told(r.cost),
        "bound": found.told(r.bound),
        "gap": gap(found, r),
        "proved": r.proved,
        "chosen": chosen.collect::<Vec<_>>(),
    })
}

/// Everything, for programs; `docs/formats.md` has every field.
pub fn json(found: &Found) -> Result<String, Vec<Diag>> {
    let h = found.history();
    let how = h.how();
    let all = json!({
        "format": "boxwright-range",
        "version": 1,
        "title": found.title,
        "least": found.word(),
        "unit": found.unit(),
        "price": found.price,
        "orders": h.orders(),
        "rows": found.orders.rows,
        "bad-rows": found.orders.bad,
        "too-large": found.ranges.too_large,
        "distinct": h.distinct(),
        "kinds": found.ranges.kinds,
        "things": h.filled_litres(),
        "grid": how.grid,
        "rounded-to": h.rounded_to(),
        "clearance": how.clearance,
        "upright": how.upright,
        "asked": found.asked.sizes,
        "stopped": found.ranges.stopped,
        "ranges": found.ranges.by_sizes.iter().map(|r| range_json(found, r)).collect::<Vec<_>>(),
    });
    serde_json::to_string_pretty(&all)
        .map(|s| s + "\n")
        .map_err(|e| {
            let message = format!("the range cannot be written: {e}");
            vec![Diag::error("report-failed", message)]
        })
}

/// The sizes of the asked range as a table for other programs, in mm.
pub fn csv(found: &Found) -> String {
    let mut out = format!(
        "length_mm,width_mm,depth_mm,kept,orders,filled_l,{}_{}\n",
        found.word().replace(' ', "_"),
        found.unit()
    );
    for c in found.range().into_iter().flat_map(|r| &r.chosen) {
        let [l, w, d] = c.inside.map(|l| trimmed(l.to_mm(), 3));
        let _ = writeln!(
            out,
            "{l},{w},{d},{},{},{},{}",
            if c.kept { "yes" } else { "no" },
            c.orders,
            trimmed(c.filled, 3),
            trimmed(own(found, c), 3)
        );
    }
    out
}
