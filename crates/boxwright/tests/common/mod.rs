//! Shared by the tests: cases asked for in code, and the checks run on them.

#![allow(
    dead_code,
    unused_imports,
    reason = "each test file uses its own share of this"
)]

use std::sync::Arc;

use boxwright::blank::{FlatPanel, PanelRef, Plan, SoundPlan};
use boxwright::board::{Board, Creasing, read_boards};
use boxwright::brief::{Brief, equipped};
use boxwright::check::{Finding, Measure, Report, Verdict, check, check_resting};
use boxwright::diag::{Outcome, Place};
use boxwright::fold::Folder;
use boxwright::geom::DVec3;
use boxwright::job::{DrawingFacts, Flutes, Job, Named, outside_setting};
pub use boxwright::proof::Dice;
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::{Style, parse_style};
use boxwright::units::Length;

/// The shipped style with this name.
pub fn shipped(name: &str) -> Arc<Style> {
    written(&shipped_text(name))
}

/// Its text.
pub fn shipped_text(name: &str) -> String {
    Shipped.style(name).expect("a shipped style").text
}

/// A style written in a test.
pub fn written(text: &str) -> Arc<Style> {
    let text = Text {
        name: "style.kdl".into(),
        text: text.into(),
    };
    Arc::new(parse_style(&text, &Shipped).unwrap_or_else(|d| panic!("{d:#?}")))
}

/// A shipped board.
pub fn board(name: &str) -> Board {
    let boards = read_boards(&Shipped.boards()).expect("shipped boards are sound");
    boards.get(name).expect("a shipped board").clone()
}

/// Every shipped board.
pub fn boards() -> Vec<Board> {
    let boards = read_boards(&Shipped.boards()).expect("shipped boards are sound");
    boards.iter().cloned().collect()
}

/// A case asked for.
#[derive(Clone, Debug)]
pub struct Ask {
    pub style: Arc<Style>,
    pub board: Board,
    /// Clear inside length, width, depth in mm.
    pub inside: [f64; 3],
    pub creasing: Creasing,
    /// Fold axis depth along and across, instead of the board's.
    pub p: Option<[f64; 2]>,
    /// Caliper in mm, instead of the board's.
    pub caliper: Option<f64>,
    /// Style parameters.
    pub set: Vec<(String, String)>,
}

impl Ask {
    pub fn new(style: &Arc<Style>, board: &Board, inside: [f64; 3]) -> Self {
        Self {
            style: Arc::clone(style),
            board: board.clone(),
            inside,
            creasing: Creasing::Rule,
            p: None,
            caliper: None,
            set: Vec::new(),
        }
    }
    pub fn p(mut self, p: f64) -> Self {
        self.p = Some([p, p]);
        self
    }
    pub fn caliper(mut self, t: f64) -> Self {
        self.caliper = Some(t);
        self
    }
    pub fn set(mut self, name: &str, value: impl Into<String>) -> Self {
        let value = value.into();
        match self.set.iter_mut().find(|(n, _)| n == name) {
            Some((_, old)) => *old = value,
            None => self.set.push((name.into(), value)),
        }
        self
    }
    /// A length parameter, in mm and exact to the last bit.
    pub fn mm(self, name: &str, value: f64) -> Self {
        self.set(name, format!("{value}mm"))
    }

    pub fn brief(&self) -> Outcome<Brief> {
        let place = Place {
            input: "job".into(),
            start: 0,
            end: 0,
        };
        let named = |name: &str| Named {
            name: name.into(),
            place: place.clone(),
        };
        let mut set = Vec::new();
        for (name, value) in &self.set {
            set.push((named(name), outside_setting("job", value)?));
        }
        let job = Job {
            title: "case".into(),
            style: named(&self.style.name),
            board: named(&self.board.name),
            board_files: Vec::new(),
            inside: self.inside.map(Length::mm),
            inside_place: place.clone(),
            creasing: self.creasing,
            axis_depth: self.p,
            caliper: self.caliper.map(Length::mm),
            measured: Vec::new(),
            set,
            fitments: Vec::new(),
            contents: Vec::new(),
            splits: Vec::new(),
            marks: Vec::new(),
            sheet: None,
            bed: None,
            quantity: 1,
            flutes: Flutes::Kept,
            drawing: DrawingFacts::default(),
        };
        Ok(equipped(job, Arc::clone(&self.style), self.board.clone()))
    }

    /// Drawn; it must be possible.
    pub fn plan(&self) -> Plan {
        self.brief()
            .and_then(|b| b.plan())
            .unwrap_or_else(|d| panic!("{:?} {:?}: {d:#?}", self.inside, self.set))
    }

    pub fn sound(&self) -> SoundPlan {
        self.plan()
            .validated()
            .unwrap_or_else(|(_, d)| panic!("{d:#?}"))
    }

    fn measured(&self, run: fn(&Brief, &Folder<'_>) -> Report) -> Report {
        let brief = self.brief().expect("a sound job");
        let plan = self.sound();
        run(&brief, &Folder::new(&plan))
    }
    /// Every check.
    pub fn report(&self) -> Report {
        self.measured(check)
    }
    /// The checks of the finished case.
    pub fn resting(&self) -> Report {
        self.measured(check_resting)
    }
}

/// A panel by its full name.
pub fn panel<'p>(plan: &'p Plan, name: &str) -> &'p FlatPanel {
    for (piece, blank) in plan.pieces.iter().enumerate() {
        for (panel, flat) in blank.panels.iter().enumerate() {
            if plan.name(PanelRef { piece, panel }) == name {
                return flat;
            }
        }
    }
    panic!("no panel `{name}`")
}

/// The upright block round all board of the finished case.
pub fn outside(plan: &SoundPlan) -> [f64; 3] {
    let folder = Folder::new(plan);
    let (mut lo, mut hi) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    for slab in folder.slabs(folder.last()) {
        let t = slab.shape.caliper;
        let rigid = slab.shape.rings[0]
            .iter()
            .flat_map(|q| [0.0, -t].map(|z| slab.frame.transform_point3(q.extend(z))));
        for p in rigid.chain(slab.wedges.iter().flat_map(|w| w.0)) {
            lo = lo.min(p);
            hi = hi.max(p);
        }
    }
    (hi - lo).to_array()
}

/// Findings that fail.
pub fn failing(report: &Report) -> Vec<&Finding> {
    report
        .findings
        .iter()
        .filter(|f| f.verdict == Verdict::Fail)
        .collect()
}

/// A finding in one line.
pub fn line(f: &Finding) -> String {
    let stage = f.stage.map_or(String::new(), |s| format!(" (stage {s})"));
    format!("{}{stage}: {} [{:?}]", f.code, f.message, f.cure)
}

/// The measured length of a finding, in mm.
pub fn mm(f: &Finding) -> f64 {
    match f.measured {
        Some(Measure::Mm(l)) => l.to_mm(),
        other => panic!("{} measures {other:?}", f.code),
    }
}

/// Findings with this code about all of these panels.
pub fn about<'r>(report: &'r Report, code: &str, panels: &[&str]) -> Vec<&'r Finding> {
    report
        .findings
        .iter()
        .filter(|f| f.code == code && panels.iter().all(|p| f.panels.iter().any(|q| q == p)))
        .collect()
}

#[track_caller]
pub fn same(what: &str, found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{what}: found {found}, expected {expected}"
    );
}
