//! The shipping sheet: what goes with a case from the bench to the truck. The case with its size, masses
//! and signs, strength against what is asked, stack, grade, parcel and lifting on the first page; the
//! load on a pallet, containers, cautions and sources on the second.
//!
//! Nothing is worked out here: every figure is that of [`crate::ship`] or [`crate::haul`].

mod bars;
mod page;
mod pallet;
#[cfg(test)]
mod tests;
pub mod words;

use page::{BAD, Column, GREY, HEAD, INK, MARGIN, PALE, Pages, ROOM, SMALL, TEXT, TITLE, thin};

use super::picture::{View, with_sizes};
use super::scene::{Anchor, Scene};
use crate::brief::Brief;
use crate::fold::Folder;
use crate::geom::{DVec2, Path, Rect};
use crate::haul::Haul;
use crate::ship::outside::bounds;
use crate::ship::signs::Due;
use crate::ship::{Outlook, compression};
use crate::units::{Length, LengthUnit, Mass, trimmed};

/// What a shipping sheet is made from.
#[derive(Clone, Copy)]
pub struct Shipping<'a> {
    /// The job.
    pub brief: &'a Brief,
    /// The case folded.
    pub folder: &'a Folder<'a>,
    /// Size, masses, strength, stack, grade, parcel, lift.
    pub outlook: &'a Outlook,
    /// On a pallet, in containers and trailers.
    pub haul: &'a Haul,
    /// Signs that are due.
    pub signs: &'a [Due],
    /// Whether the mass of the contents was given beside the job.
    pub mass_given: bool,
    /// Unit of lengths; pounds go with inches.
    pub unit: LengthUnit,
}

/// The pages: A4, upright.
#[must_use]
pub fn shipping_sheet(of: &Shipping<'_>) -> Vec<Scene> {
    let mut pages = Pages::new(&of.outlook.title);
    of.head(&mut pages);
    of.case(&mut pages);
    of.strength(&mut pages);
    of.judged(&mut pages);
    // What did not go on the first page leaves room for the load.
    if pages.is_first() {
        pages.turn();
    } else {
        pages.room_for(LOAD);
    }
    of.pallet(&mut pages);
    of.rooms(&mut pages);
    of.cautions(&mut pages);
    of.sources(&mut pages);
    pages.finished()
}

/// Breadth of the fields at the head.
const FIELDS: f64 = 62.0;
/// Field of the picture.
const PICTURE: DVec2 = DVec2::new(96.0, 66.0);
/// What the load takes of a page at the most, in mm.
const LOAD: f64 = 140.0;
/// Between two columns.
const GUTTER: f64 = 8.0;
const HALF: f64 = 0.5 * (ROOM - GUTTER);

impl Shipping<'_> {
    fn head(&self, pages: &mut Pages) {
        let o = self.outlook;
        let c = Column {
            x: MARGIN,
            room: ROOM - FIELDS - GUTTER,
        };
        let top = pages.y;
        pages.y += SMALL;
        pages.write(
            DVec2::new(c.x, pages.y),
            SMALL,
            false,
            GREY,
            Anchor::Start,
            "shipping sheet",
        );
        let lines = pages.letters.wrapped(&o.title, TITLE, true, c.room);
        let cut = lines.len() > 2;
        for (i, line) in lines.into_iter().take(2).enumerate() {
            pages.y += TITLE * 1.15;
            let text = if cut && i == 1 {
                format!("{line}\u{2026}")
            } else {
                line
            };
            let (text, size) = pages.letters.fitted(&text, TITLE, true, c.room);
            pages.write(
                DVec2::new(c.x, pages.y),
                size,
                true,
                INK,
                Anchor::Start,
                &text,
            );
        }
        pages.y += 1.5;
        let text = format!("{}, board {}", o.style, o.board);
        pages.text(c, TEXT, false, GREY, &text);
        let left = pages.y;
        pages.y = top;
        let facts = &self.brief.job.drawing;
        let x = MARGIN + ROOM - FIELDS;
        for (word, text) in [
            ("Owner", &facts.owner),
            ("Number", &facts.number),
            ("Prepared by", &facts.creator),
            ("Date", &facts.date),
        ] {
            pages.y += 6.0;
            let y = pages.y - 1.6;
            pages.write(DVec2::new(x, y), SMALL, false, GREY, Anchor::Start, word);
            let (text, size) = pages.letters.fitted(text, TEXT, false, FIELDS - 20.0);
            pages.write(
                DVec2::new(x + 20.0, y),
                size,
                false,
                INK,
                Anchor::Start,
                &text,
            );
            pages.level(pages.y, x, x + FIELDS, 0.15, PALE);
        }
        pages.y = pages.y.max(left);
        pages.rule();
    }

    fn case(&self, pages: &mut Pages) {
        let (o, unit) = (self.outlook, self.unit);
        let top = pages.y;
        let pose = self.folder.pose(self.folder.plan.stages.len());
        let block = bounds(self.folder);
        let words = o.outside.size.map(|s| unit.show(s));
        let sizes = (block.least, block.most);
        let drawn = with_sizes(
            &pose,
            &View::default(),
            sizes,
            &words,
            (PICTURE.x, PICTURE.y),
        );
        pages.page.put(drawn, DVec2::new(MARGIN, top));
        let c = Column {
            x: MARGIN + PICTURE.x + 6.0,
            room: ROOM - PICTURE.x - 6.0,
        };
        pages.y -= 3.0;
        pages.heading(c, "Size and mass");
        pages.pair(c, "Outside", &size(o.outside.size, unit));
        pages.pair(c, "Inside", &size(o.outside.inside, unit));
        let mass = |m: Mass| words::mass(m, unit);
        pages.pair(c, "Packed", &mass(o.gross));
        pages.pair(c, "Empty case", &mass(o.outside.case));
        if o.outside.fitments > Mass::ZERO {
            pages.pair(c, "Fitments", &mass(o.outside.fitments));
        }
        pages.pair(c, "Contents", &self.contents());
        pages.heading(c, "Signs due");
        self.signs(pages, c);
        pages.y = pages.y.max(top + PICTURE.y);
    }

    /// Mass of the contents and what they are.
    fn contents(&self) -> String {
        /// Kinds named one by one.
        const NAMED: usize = 3;
        let o = self.outlook;
        let all = &self.brief.job.contents;
        if o.outside.contents == Mass::ZERO {
            return "not known; all figures are for the empty case".to_owned();
        }
        let mass = words::mass(o.outside.contents, self.unit);
        if self.mass_given || all.is_empty() {
            return mass;
        }
        let mut names: Vec<String> = all
            .iter()
            .take(NAMED)
            .map(|c| {
                if c.count > 1 {
                    format!("{} x {}", c.count, c.name)
                } else {
                    c.name.clone()
                }
            })
            .collect();
        if all.len() > NAMED {
            names.push(format!("{} more", all.len() - NAMED));
        }
        format!("{mass}: {}", names.join(", "))
    }

    fn signs(&self, pages: &mut Pages, c: Column) {
        /// Side of a sign's field.
        const FIELD: f64 = 15.0;
        if self.signs.is_empty() {
            let text = "None asked for by contents, mass or job.";
            pages.text(c, TEXT, false, INK, text);
            return;
        }
        let top = pages.y + 1.5;
        let mut x = c.x;
        for due in self.signs {
            let frame = Rect {
                min: DVec2::new(x, top),
                max: DVec2::new(x + FIELD, top + FIELD),
            };
            pages
                .page
                .shape(vec![Path::rect(frame)], None, thin(0.15, PALE));
            match due.says.sign() {
                Some(sign) => {
                    let strokes = sign.drawn(Length::mm(11.0));
                    let shift = frame.centre()
                        - DVec2::new(strokes.bounds.centre().x, -strokes.bounds.centre().y);
                    let at = super::scene::ToPage {
                        origin: shift,
                        scale: 1.0,
                    };
                    let paths = strokes.paths.iter().map(|p| at.path(p)).collect();
                    pages.page.shape(paths, None, thin(0.5, INK));
                }
                None => {
                    let word = match due.says {
                        crate::ship::signs::Says::TwoLift => "2 persons".to_owned(),
                        _ => words::mass(self.outlook.gross, self.unit),
                    };
                    let (word, size) = pages.letters.fitted(&word, HEAD, true, FIELD - 1.5);
                    let at = frame.centre() + DVec2::new(0.0, 0.36 * size);
                    pages.write(at, size, true, INK, Anchor::Middle, &word);
                }
            }
            let at = DVec2::new(frame.centre().x, top + FIELD + SMALL * 1.2);
            let (word, size) = pages
                .letters
                .fitted(due.says.words(), SMALL, false, FIELD + 0.8);
            pages.write(at, size, false, INK, Anchor::Middle, &word);
            x += FIELD + 1.6;
        }
        pages.y = top + FIELD + SMALL * 1.2 + 0.8;
        let mut whys: Vec<&str> = Vec::new();
        for due in self.signs {
            let why = due.why.split(" (").next().unwrap_or_default();
            if !whys.contains(&why) {
                whys.push(why);
            }
        }
        pages.text(c, SMALL, false, GREY, &whys.join("; "));
    }

    fn strength(&self, pages: &mut Pages) {
        let (o, unit) = (self.outlook, self.unit);
        let c = Column::WHOLE;
        let form = &o.compression;
        pages.heading(c, "Strength from top to bottom: an estimate, not a test");
        let stack = &o.stack;
        let asked = match (stack.high, stack.holds) {
            (Some(high), Some(true)) => format!(
                "A stack {high} high holds: the low end of the strength, at the thick line, meets the most that is asked."
            ),
            (Some(high), Some(false)) => format!(
                "A STACK {high} HIGH DOES NOT HOLD: the low end of the strength, at the thick line, is less than is asked."
            ),
            _ => "No stack was asked for.".to_owned(),
        };
        let ink = if stack.holds == Some(false) { BAD } else { INK };
        pages.text(c, TEXT, stack.holds == Some(false), ink, &asked);
        bars::strength(pages, c, o, unit);
        let standing = match form.standing {
            compression::Standing::Within => "",
            compression::Standing::Beyond => "; beyond what it was made for",
        };
        let text = format!(
            "McKee's formula, {} form{standing}; edge crush {}, {} over all walls; perimeter {}, caliper {}.",
            form.form.word(),
            words::ect(form.board_ect, unit),
            words::ect(form.ect, unit),
            unit.show(form.perimeter),
            unit.show(form.caliper)
        );
        pages.text(c, SMALL, false, GREY, &text);
        pages.y += 1.2;
        let rows: Vec<Vec<String>> = o
            .factors
            .iter()
            .map(|f| vec![f.condition.clone(), words::kept(f), f.from.clone()])
            .chain(std::iter::once(vec![
                "all together".to_owned(),
                words::share_range(o.kept),
                format!("`{}`: {}", o.losses, o.losses_title),
            ]))
            .collect();
        pages.table(
            &[
                ("what takes from it", 62.0, Anchor::Start),
                ("keeps", 26.0, Anchor::Start),
                ("from", 92.0, Anchor::Start),
            ],
            &rows,
        );
    }

    /// Stack and grade at the left, parcel and lifting at the right; on a page of their own where this
    /// one has no room for all of it.
    fn judged(&self, pages: &mut Pages) {
        let top = pages.y;
        let before = pages.hold();
        let left = Column {
            x: MARGIN,
            room: HALF,
        };
        let right = Column {
            x: MARGIN + HALF + GUTTER,
            room: HALF,
        };
        self.stack(pages, left);
        self.grade(pages, left);
        let low = pages.y;
        pages.y = top;
        self.parcel(pages, right);
        self.lift(pages, right);
        pages.y = pages.y.max(low);
        pages.let_go(before, top);
    }

    fn stack(&self, pages: &mut Pages, c: Column) {
        let (o, unit) = (self.outlook, self.unit);
        let s = &o.stack;
        pages.heading(c, "Stack");
        let safe = match s.safe_high {
            None => "no limit: nothing presses".to_owned(),
            Some(0) => "not one under that load".to_owned(),
            Some(n) => format!("{n} high, the bottom one counted"),
        };
        pages.pair(c, "Safe height", &safe);
        let rule = format!("{}; load times {}", s.title, words::times(s.times));
        pages.pair(c, "Rule", &rule);
        if let (Some(high), Some(needs)) = (s.high, s.needs) {
            let holds = s.holds == Some(true);
            let text = format!("{high} high needs {}", words::force_range(needs, unit));
            pages.pair_in(c, "Asked", &text, if holds { INK } else { BAD });
            if let Some(ect) = s.needs_ect {
                let text = format!("edge crush of {} or more would do", words::ect(ect, unit));
                pages.pair(c, "Board for it", &text);
            }
        }
    }

    fn grade(&self, pages: &mut Pages, c: Column) {
        let g = &self.outlook.grade;
        pages.heading(c, "Grade");
        pages.pair(c, "Table", &g.title);
        let unit = self.unit;
        let what = format!(
            "{}, length + width + depth {}",
            words::mass(g.mass, unit),
            unit.show(g.size)
        );
        pages.pair(c, "Gross", &what);
        let Some(needs) = &g.needs else {
            if g.limits {
                pages.pair_in(c, "Class", "none for this wall takes it", BAD);
            } else {
                let holds = g.holds.as_ref().map_or("none", |h| h.name.as_str());
                pages.pair(c, "Class", "this table limits neither mass nor size");
                pages.pair(c, "Reached", holds);
            }
            return;
        };
        pages.pair(c, "Class", &format!("{} {}", needs.name, words::by(g.by)));
        let board = words::ect(self.outlook.compression.board_ect, unit);
        match (needs.ect, g.qualifies) {
            (Some(asks), Some(true)) => {
                let text = format!("{board}, {} asked: reached", words::ect(asks, unit));
                pages.pair(c, "Edge crush", &text);
            }
            (Some(asks), _) => {
                let text = format!("{board}, {} asked: not reached", words::ect(asks, unit));
                pages.pair_in(c, "Edge crush", &text, BAD);
            }
            (None, _) => pages.pair(c, "Edge crush", "none asked for"),
        }
    }

    fn parcel(&self, pages: &mut Pages, c: Column) {
        /// Cheaper classes told one by one.
        const TOLD: usize = 2;
        let (p, unit) = (&self.outlook.parcel, self.unit);
        pages.heading(c, "Parcel");
        pages.pair(c, "Tariff", &p.title);
        match p.chosen.and_then(|i| p.offers.get(i)) {
            Some(o) => pages.pair(c, "Class", &format!("{} at {:.2}", o.class, o.price)),
            None => pages.pair_in(c, "Class", "no class takes it", BAD),
        }
        pages.pair(c, "Charged", &words::charged(p, unit));
        let end = p.chosen.unwrap_or(p.offers.len());
        let cheaper = &p.offers[..end];
        // The nearest of the cheaper ones say most.
        for o in cheaper.iter().rev().take(TOLD) {
            pages.pair(c, &format!("not {}", o.class), &words::over(o, unit));
        }
        if cheaper.len() > TOLD {
            let n = cheaper.len() - TOLD;
            pages.pair(c, "", &format!("nor {n} cheaper still"));
        }
    }

    fn lift(&self, pages: &mut Pages, c: Column) {
        let (o, unit) = (self.outlook, self.unit);
        let l = &o.lift;
        pages.heading(c, "Lifting by one person");
        bars::lift(pages, c, o, unit);
        let bad = l.index.is_none_or(|i| i > 1.0);
        let how = format!(
            "{}, from {} to {}, {} a minute",
            bars::index(l.index),
            unit.number(l.task.from),
            unit.show(l.task.to),
            trimmed(l.task.each_minute, 2)
        );
        pages.pair_in(c, "Index", &how, if bad { BAD } else { INK });
    }

    fn cautions(&self, pages: &mut Pages) {
        let mut texts: Vec<String> = self
            .outlook
            .cautions
            .iter()
            .map(|c| sentence(&c.message))
            .collect();
        texts.push("Counts on pallets and in rooms are of size, mass and estimated strength. Secure every load and keep to local rules.".to_owned());
        texts.push("Lifting: local law comes first. Dangerous goods, food and medical goods need certified packaging.".to_owned());
        pages.warning("Cautions", &texts);
    }

    fn sources(&self, pages: &mut Pages) {
        let o = self.outlook;
        pages.y += 1.5;
        let mut all = vec![format!(
            "Strength: {}; board's edge crush {}",
            compression::CONSTANTS_FROM,
            o.compression.ect_from
        )];
        for s in &o.compression.spread {
            all.push(format!(
                "{} x {} to {}: {}",
                s.what,
                trimmed(s.times.least, 3),
                trimmed(s.times.most, 3),
                s.from
            ));
        }
        all.push(format!("Stack: {}", o.stack.from));
        if let Some(class) = &o.grade.needs {
            all.push(format!("Grade: {}", class.from));
        }
        if let Some(offer) = o.parcel.chosen.and_then(|i| o.parcel.offers.get(i)) {
            all.push(format!("Parcel class: {}", offer.from));
        }
        all.push("Lifting: revised equation of NIOSH 94-110, seen at ccohs.ca; limits and frequencies from memory".to_owned());
        let pallet = &self.haul.pallet;
        for figure in ["height", "mass", "safe-load"] {
            if let Some(from) = pallet.origin(figure) {
                all.push(format!("Pallet's {figure}: {from}"));
            }
        }
        pages.heading(Column::WHOLE, "Where the figures come from");
        pages.text(
            Column::WHOLE,
            SMALL,
            false,
            GREY,
            &format!("{}.", all.join(". ")),
        );
    }
}

fn size(s: [Length; 3], unit: LengthUnit) -> String {
    let [l, w, d] = s.map(|v| unit.number(v));
    format!("{l} x {w} x {d} {}", unit.symbol())
}

/// With a capital and a full stop.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!(
        "{}{}.",
        first.unwrap_or_default(),
        letters.as_str().trim_end_matches('.')
    )
}
