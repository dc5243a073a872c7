//! One candidate drawn, folded, checked at rest, and everything reckoned that ranks it.

use super::model::Why;
use super::need::{AtHand, Candidate, Need};
use super::supply::{Supply, supply};
use crate::blank::{LineUse, SoundPlan};
use crate::board::{Board, Creasing};
use crate::brief::{Brief, equipped};
use crate::check::{Finding, Verdict, check, check_resting, of_defects};
use crate::diag::{Named, Place};
use crate::fold::Folder;
use crate::job::{DrawingFacts, Flutes, Job};
use crate::machine::{Machine, Runs, Way};
use crate::pallet::{Carton, Load, loads};
use crate::ship::{Outlook, outlook};
use crate::style::Needs;
use crate::units::{Area, LengthUnit, SLACK_MM, trimmed};

/// What one candidate turned out to be.
#[derive(Clone, Debug)]
pub struct Look {
    /// Its job with style and board.
    pub brief: Brief,
    /// Its blanks.
    pub plan: SoundPlan,
    /// Strength, grade, parcel, lifting.
    pub outlook: Outlook,
    /// Where its board comes from.
    pub supply: Supply,
    /// The fullest load of such cases on the pallet; `None` when no pallet is given or not one case goes.
    pub load: Option<Load>,
    /// Area of the rectangles round the blanks.
    pub board: Area,
    /// How many creases, over all pieces.
    pub creases: usize,
    /// What the check of the finished case did not simply pass.
    pub findings: Vec<Finding>,
    /// Wishes that the style is not known for.
    pub unmet: Vec<String>,
    /// Whether the board is thinner than is usual for the mass.
    pub thin: bool,
}

/// The ways of creasing that a machine makes in a board, in the order of [`Creasing::ALL`].
///
/// A pressed line is a wheel's crease, an etched one is folded by hand, dashes are a perforated
/// crease. What a machine leaves is folded by hand.
#[must_use]
pub fn ways(machine: &Machine, board: &str) -> Vec<Creasing> {
    let uses = [LineUse::CreaseInward, LineUse::CreaseOutward];
    let all = uses.into_iter().flat_map(|u| {
        [Runs::Along, Runs::Across].map(|runs| machine.setting(u, board, runs).map(|s| s.way))
    });
    let made: Vec<Creasing> = all
        .flatten()
        .map(|way| match way {
            Way::Pressed => Creasing::Wheel,
            Way::Dashes { .. } | Way::Through => Creasing::Perforated,
            Way::Etched | Way::Left => Creasing::Hand,
        })
        .collect();
    Creasing::ALL
        .into_iter()
        .filter(|c| made.contains(c))
        .collect()
}

/// Why a style is not tried at all for this need.
pub(super) fn refuses(c: &Candidate, need: &Need) -> Option<Why> {
    if c.style.is_fitment() {
        return Some(Why::new(
            "fitment",
            "goes into a case and is none itself",
            "",
        ));
    }
    let Some(suits) = &c.style.suits else {
        return None;
    };
    if suits.family == "interior" {
        return Some(Why::new(
            "fitment",
            "goes into a case and is none itself",
            "",
        ));
    }
    if !need.open && suits.closing == "open" && need.style.closing.is_empty() {
        return Some(Why::new(
            "stays-open",
            "stays open or is held by friction alone",
            "",
        ));
    }
    let asked = &need.style;
    let load = asked.load.unwrap_or_default().max(need.mass());
    let one = |needs: Needs| suits.misses(&needs).into_iter().next();
    let closing = Needs {
        closing: asked.closing.clone(),
        without: asked.without.clone(),
        ..Needs::default()
    };
    let opening = Needs {
        opening: asked.opening.clone(),
        ..Needs::default()
    };
    let family = Needs {
        family: asked.family.clone(),
        ..Needs::default()
    };
    let uses = Needs {
        uses: asked.uses.clone(),
        ..Needs::default()
    };
    let loads = Needs {
        load: (load.to_kg() > 0.0).then_some(load),
        ..Needs::default()
    };
    let table = [
        (family, "family", "is of another family"),
        (closing, "closing", "is closed in a way that is not wanted"),
        (opening, "opening", "opens in a way that is not wanted"),
        (uses, "uses", "is not known for what it is to be used for"),
        (loads, "load", "is not usual up to this mass"),
    ];
    table
        .into_iter()
        .find_map(|(needs, code, words)| one(needs).map(|more| Why::new(code, words, &more)))
}

/// Why a board is not tried at all.
pub(super) fn not_there(board: &Board, hand: &AtHand) -> Option<Why> {
    let mut why = None;
    if let Some(stock) = &hand.stock
        && !stock
            .pieces
            .iter()
            .any(|p| p.board == board.name && p.count > 0)
    {
        why = Some(Why::new(
            "no-board",
            "no sheet of this board is in stock",
            "",
        ));
    }
    if let Some(m) = &hand.machine
        && m.setting(LineUse::Cut, &board.name, Runs::Along).is_none()
    {
        let words = "the machine's file does not say how it is cut";
        why = why.or_else(|| Some(Why::new("not-cut", words, "")));
    }
    why
}

/// Draws one candidate, folds it, checks it at rest and reckons everything that ranks it. Style,
/// board and stock are all held against the need, so this alone tells whether a candidate would do.
///
/// # Errors
/// Why it would not do.
pub fn evaluate(c: &Candidate, need: &Need, hand: &AtHand) -> Result<Look, Why> {
    if let Some(why) = refuses(c, need).or_else(|| not_there(&c.board, hand)) {
        return Err(why);
    }
    let brief = equipped(job(c, need), c.style.clone(), c.board.clone());
    let plan = brief.plan().map_err(|diags| {
        let more = diags.first().map_or("", |d| d.message.as_str());
        Why::new(
            "not-drawn",
            "cannot be drawn at this size in this board",
            more,
        )
    })?;
    if let Some(bed) = hand.reach() {
        let over = plan.pieces.iter().map(|b| b.on_bed(bed));
        let worst = over
            .map(|(need, have)| need - have)
            .fold(f64::MIN, f64::max);
        if worst > SLACK_MM {
            let more = format!("{} mm too large", trimmed(worst, 0));
            return Err(Why::new("bed", "the blank does not fit the bed", &more));
        }
    }
    let plan = plan.validated().map_err(|(_, defects)| {
        let found = of_defects(&defects);
        let more = found.first().map_or("", |f| f.message.as_str());
        Why::new("not-sound", "the blank cannot be cut from one sheet", more)
    })?;
    let Some(supply) = supply(&plan, &brief.job, hand) else {
        let all = plan.blanks().iter();
        let largest = all
            .map(|b| b.bounds.size())
            .reduce(|a, b| if a.x * a.y >= b.x * b.y { a } else { b });
        let more = largest.map_or(String::new(), |s| {
            format!("{} x {} mm", trimmed(s.x, 0), trimmed(s.y, 0))
        });
        return Err(Why::new("sheet", "the blank does not fit any sheet", &more));
    };
    let mut brief = brief;
    brief.job.sheet = supply.sheet;
    brief.job.bed = hand.reach();
    let folder = Folder::new(&plan);
    let report = check_resting(&brief, &folder);
    if let Some(f) = failing(&report.findings) {
        return Err(Why::of_check("the folded case fails its checks", f));
    }
    let outlook = outlook(&brief, &folder, need.mass(), &need.on);
    if outlook.stack.holds == Some(false) {
        let high = outlook.stack.high.unwrap_or_default();
        let more = match outlook.stack.safe_high {
            Some(n) => format!("{n} high is safe, {high} are asked"),
            None => format!("{high} are asked"),
        };
        return Err(Why::new("too-weak", "too weak for the stack", &more));
    }
    if need.graded && outlook.grade.qualifies != Some(true) {
        let more = match (&outlook.grade.needs, outlook.grade.missing) {
            (Some(class), Some(missing)) => format!(
                "{} kN/m short of class `{}`",
                trimmed(missing.to_n_per_mm(), 2),
                class.name
            ),
            _ => "no class of the table takes this mass and size in this board".to_owned(),
        };
        let words = "the board does not reach the class that mass and size ask for";
        return Err(Why::new("grade", words, &more));
    }
    let board = plan.blanks().iter().map(|b| b.bounds.size());
    let board = Area::mm2(board.map(|s| s.x * s.y).sum());
    let creases = plan.blanks().iter().map(|b| b.creases.len()).sum();
    let known = brief.style.suits.as_ref().map(|s| s.uses.clone());
    let wishes = need.wishes_for(c.inside);
    let unmet = wishes.into_iter();
    let unmet = unmet.filter(|w| known.as_ref().is_some_and(|k| !k.contains(w)));
    let unmet = unmet.collect();
    let usual = need.usual_thickness();
    let thin = usual.is_some_and(|(least, _)| brief.material.caliper < least);
    let findings = report.findings.into_iter();
    let findings = findings.filter(|f| f.verdict != Verdict::Pass).collect();
    Ok(Look {
        brief,
        plan,
        supply,
        load: load(&outlook, need),
        outlook,
        board,
        creases,
        findings,
        unmet,
        thin,
    })
}

/// The fullest load on the pallet of the need.
fn load(outlook: &Outlook, need: &Need) -> Option<Load> {
    let p = need.pallet.as_ref()?;
    let carton = Carton {
        outside: outlook.outside.size,
        mass: outlook.gross,
        down: p.down,
    };
    loads(&p.base, &carton, &p.rules).ok()?.into_iter().next()
}

impl Look {
    /// Runs the whole check, motion too; what is not passed takes the place of the findings at rest.
    ///
    /// # Errors
    /// The first finding that fails.
    pub fn proven(mut self) -> Result<Self, Why> {
        let report = check(&self.brief, &Folder::new(&self.plan));
        if let Some(f) = failing(&report.findings) {
            return Err(Why::of_check("fails on the way to the folded case", f));
        }
        let found = report.findings.into_iter();
        self.findings = found.filter(|f| f.verdict != Verdict::Pass).collect();
        Ok(self)
    }
}

fn failing(findings: &[Finding]) -> Option<&Finding> {
    findings.iter().find(|f| f.verdict == Verdict::Fail)
}

fn job(c: &Candidate, need: &Need) -> Job {
    let named = |name: &str| Named {
        name: name.to_owned(),
        place: Place {
            input: "proposal".to_owned(),
            start: 0,
            end: 0,
        },
    };
    Job {
        title: need.title.clone(),
        style: named(&c.style.name),
        board: named(&c.board.name),
        board_files: Vec::new(),
        inside: c.inside,
        inside_place: named("").place,
        creasing: c.way,
        axis_depth: None,
        caliper: None,
        measured: Vec::new(),
        set: Vec::new(),
        fitments: Vec::new(),
        contents: need.contents.clone(),
        splits: Vec::new(),
        marks: Vec::new(),
        sheet: None,
        bed: None,
        quantity: need.quantity,
        flutes: Flutes::Kept,
        drawing: DrawingFacts::default(),
    }
}

impl Candidate {
    /// In a few words: style, board, creases, inside.
    #[must_use]
    pub fn words(&self) -> String {
        let [l, w, d] = self.inside.map(|s| LengthUnit::Mm.number(s));
        format!(
            "{} in {}, {} creases, inside {l} x {w} x {d} mm",
            self.style.name,
            self.board.name,
            self.way.word()
        )
    }
}
