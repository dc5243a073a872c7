//! Bars: strength as a range against what is asked, and a mass against what may be lifted.

use super::page::{BAD, Column, GREY, INK, LEAD, PALE, Pages, SMALL, TEXT, thin};
use super::words;
use crate::emit::scene::Anchor;
use crate::geom::{DVec2, Path, Rect};
use crate::ship::{Outlook, Range};
use crate::units::{Force, LengthUnit, trimmed};

const DRY: &str = "#7fa6b8";
const LEFT: &str = "#cfe3ec";
const ASKED: &str = "#e0b074";
/// Breadth of the words before the bars, and of the figures after them.
const WORDS: f64 = 33.0;
const FIGURES: f64 = 31.0;
const HIGH: f64 = 4.2;
const PITCH: f64 = 6.6;

/// Strength dry and in use, and what a stack asks for, on one scale.
pub(super) fn strength(pages: &mut Pages, c: Column, o: &Outlook, unit: LengthUnit) {
    let mut bars = vec![
        ("dry, once", o.compression.range, DRY),
        ("kept in use", o.left, LEFT),
    ];
    let stack = &o.stack;
    if let Some(load) = stack.load {
        let pressing = Range {
            least: Force::n(0.0),
            most: load,
        };
        bars.push(("load on the bottom", pressing, PALE));
        if let Some(needs) = stack.needs {
            let colour = if stack.holds == Some(true) {
                ASKED
            } else {
                BAD
            };
            bars.push(("asked of it, dry", needs, colour));
        }
    }
    let shown = |f: Force| words::force_number(f, unit);
    let most = bars.iter().map(|b| shown(b.1.most)).fold(1.0, f64::max);
    let (step, end) = ticks(most);
    let from = c.x + WORDS;
    let wide = c.room - WORDS - FIGURES;
    let at = |n: f64| from + wide * n / end;
    let top = pages.y + 1.5;
    #[allow(clippy::cast_precision_loss, reason = "four bars at most")]
    let foot = top + PITCH * bars.len() as f64;
    let mut n = 0.0;
    while n <= end + 0.5 * step {
        let line = Path::line([DVec2::new(at(n), top), DVec2::new(at(n), foot + 1.0)]);
        pages.page.shape(vec![line], None, thin(0.1, PALE));
        let place = DVec2::new(at(n), foot + 1.0 + SMALL);
        pages.write(place, SMALL, false, GREY, Anchor::Middle, &trimmed(n, 2));
        n += step;
    }
    let mut y = top + 0.5 * (PITCH - HIGH);
    for (word, range, colour) in &bars {
        let (a, b) = (shown(range.least), shown(range.most));
        // A single figure is still to be seen.
        let (a, b) = (at(a), at(b).max(at(a) + 0.8));
        let bar = Rect {
            min: DVec2::new(a, y),
            max: DVec2::new(b, y + HIGH),
        };
        pages
            .page
            .shape(vec![Path::rect(bar)], Some(colour), thin(0.2, INK));
        let base = y + 0.5 * HIGH + 0.36 * TEXT;
        pages.write(DVec2::new(c.x, base), TEXT, false, INK, Anchor::Start, word);
        let text = words::force_range(*range, unit);
        let text = if range.least.to_n() == 0.0 {
            words::force(range.most, unit)
        } else {
            text
        };
        let end = DVec2::new(c.x + c.room, base);
        pages.write(end, TEXT, false, INK, Anchor::End, &text);
        y += PITCH;
    }
    if stack.needs.is_some() {
        // The low end decides.
        let x = at(shown(o.compression.range.least));
        let line = Path::line([DVec2::new(x, top), DVec2::new(x, foot + 1.0)]);
        pages.page.shape(vec![line], None, thin(0.4, INK));
    }
    pages.y = foot + 1.0 + SMALL * LEAD;
}

/// A step of 1, 2 or 5 with up to six ticks, and the last tick.
fn ticks(most: f64) -> (f64, f64) {
    let rough = most / 5.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|k| k * power)
        .find(|s| *s >= rough)
        .unwrap_or(power);
    (step, step * (most / step).ceil())
}

/// The mass of the case against what one person should lift.
pub(super) fn lift(pages: &mut Pages, c: Column, o: &Outlook, unit: LengthUnit) {
    let l = &o.lift;
    let (mass, limit) = (l.mass.to_kg(), l.limit.to_kg());
    let end = mass.max(limit) * 1.05;
    let at = |kg: f64| c.x + c.room * kg / end;
    let y = pages.y + 1.5;
    let bar = |to: f64, high: f64| {
        Path::rect(Rect {
            min: DVec2::new(c.x, y),
            max: DVec2::new(to, y + high),
        })
    };
    let colour = if mass > limit { BAD } else { DRY };
    pages
        .page
        .shape(vec![bar(c.x + c.room, HIGH)], None, thin(0.1, PALE));
    pages
        .page
        .shape(vec![bar(at(mass), HIGH)], Some(colour), thin(0.2, INK));
    let mark = Path::line([
        DVec2::new(at(limit), y - 1.0),
        DVec2::new(at(limit), y + HIGH + 1.0),
    ]);
    pages.page.shape(vec![mark], None, thin(0.5, INK));
    let base = y + HIGH + 1.2 + SMALL;
    let text = format!("case {}", words::mass(l.mass, unit));
    pages.write(
        DVec2::new(c.x, base),
        SMALL,
        false,
        GREY,
        Anchor::Start,
        &text,
    );
    let text = format!("limit {}", words::mass(l.limit, unit));
    let place = DVec2::new(c.x + c.room, base);
    pages.write(place, SMALL, false, GREY, Anchor::End, &text);
    pages.y = base + 0.6;
}

/// The lifting index in words.
pub(super) fn index(i: Option<f64>) -> String {
    match i {
        None => "no lift like this is allowed".to_owned(),
        Some(i) if i > 1.0 => format!("{}, too much for one", trimmed(i, 2)),
        Some(i) => trimmed(i, 2),
    }
}
