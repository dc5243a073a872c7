//! From a state to everything the page shows of it.

use std::collections::HashMap;

use boxwright::blank::{Plan, SoundPlan};
use boxwright::brief::{Brief, measured_for};
use boxwright::check::{self, Report, check};
use boxwright::diag::Diag;
use boxwright::emit::bundle::{self, BundleOptions};
use boxwright::expr::{Names, Value};
use boxwright::fold::Folder as Folding;
use boxwright::style::{Formula, ParameterKind, Style};
use boxwright::units::{Dim, Length, LengthUnit, trimmed};

use crate::learning::known_words;
use crate::shelf::Shelf;
use crate::wire::{
    AxisDepth, Case, CaseBoard, CaseStyle, Design, FileKind, Finding, Kind, Output, Parameter,
    Shown, State, Verdict,
};
use crate::{ask, fix, flat, solid, tongue};

/// A state drawn.
pub struct Drawn {
    /// The job with its style and board.
    pub brief: Brief,
    /// Its blanks.
    pub blanks: Blanks,
}

/// What came of drawing it.
pub enum Blanks {
    /// Blanks that may be folded and cut.
    Sound(Box<SoundPlan>),
    /// Blanks that may not, and why.
    Unsound(Box<Plan>, Vec<check::Finding>),
}

/// The messages that keep a state from being drawn, and its style if that was found.
pub struct Undrawn {
    /// The messages.
    pub diags: Vec<Diag>,
    /// The style.
    pub style: Option<std::sync::Arc<Style>>,
}

/// Draws a state.
///
/// # Errors
/// Every message that keeps it from being drawn.
pub fn draw(shelf: &Shelf, state: &State) -> Result<Drawn, Undrawn> {
    let without = |diags| Undrawn { diags, style: None };
    let mut job = ask::job(state).map_err(without)?;
    shelf.know(&mut job, state).map_err(without)?;
    let from = state.job.as_deref();
    let style = shelf.style(&job, from).map_err(without)?;
    let with = |diags| Undrawn {
        diags,
        style: Some(std::sync::Arc::clone(&style)),
    };
    let brief = shelf
        .brief(job, std::sync::Arc::clone(&style), from)
        .map_err(with)?;
    let blanks = match brief.plan().map_err(with)?.validated() {
        Ok(plan) => Blanks::Sound(Box::new(plan)),
        Err((plan, defects)) => Blanks::Unsound(plan, check::of_defects(&defects)),
    };
    Ok(Drawn { brief, blanks })
}

/// Everything the page shows of a state.
#[must_use]
pub fn design(shelf: &Shelf, state: &State) -> Design {
    let mut out = Design {
        fields: Vec::new(),
        notes: Vec::new(),
        case: None,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    };
    match draw(shelf, state) {
        Ok(drawn) => out.case = Some(case(&drawn)),
        Err(u) => (out.fields, out.notes) = ask::told(&u.diags, state, u.style.as_deref()),
    }
    out
}

fn case(drawn: &Drawn) -> Case {
    let brief = &drawn.brief;
    match &drawn.blanks {
        Blanks::Unsound(plan, findings) => {
            let keys = Keys::new(plan);
            Case {
                findings: findings.iter().map(|f| finding(f, &keys)).collect(),
                verdict: Verdict::Fail,
                ..bare(brief, plan)
            }
        }
        Blanks::Sound(plan) => {
            let folding = Folding::new(plan);
            let keys = Keys::new(plan);
            // The checks take as long as all the rest; both are plain functions of the plan.
            let (report, (solid, bare)) = rayon::join(
                || check(brief, &folding),
                || (solid::solid(plan, &folding, &keys), bare(brief, plan)),
            );
            let mut findings: Vec<Finding> =
                report.findings.iter().map(|f| finding(f, &keys)).collect();
            for (line, fix) in findings.iter_mut().zip(fix::fixes(brief, plan, &report)) {
                line.fix = fix;
            }
            Case {
                found: Some(report.room.map(Length::to_mm)),
                solid: Some(solid),
                findings,
                verdict: report.verdict().into(),
                outputs: outputs(brief, plan, &folding, &report),
                ..bare
            }
        }
    }
}

/// What is known before folding.
fn bare(brief: &Brief, plan: &Plan) -> Case {
    Case {
        title: brief.job.title.clone(),
        style: CaseStyle {
            name: brief.job.style.name.clone(),
            title: plan.style.title.clone(),
            code: plan.style.code.clone(),
        },
        asked: brief.job.inside.map(Length::to_mm),
        found: None,
        board: CaseBoard {
            name: brief.board.name.clone(),
            caliper: plan.material.caliper.to_mm(),
            axis_depth: {
                let [along, across] = plan.material.axis_depth;
                AxisDepth { along, across }
            },
            measured: known_words(&measured_for(&brief.job)),
        },
        parameters: parameters(brief, plan),
        pieces: flat::pieces(plan),
        solid: None,
        findings: Vec::new(),
        verdict: Verdict::Pass,
        outputs: Vec::new(),
    }
}

/// The key of every panel by its full name.
pub struct Keys(HashMap<String, String>);

/// The key of a panel.
#[must_use]
pub fn key(piece: &str, panel: usize) -> String {
    format!("{piece}/{panel}")
}

impl Keys {
    fn new(plan: &Plan) -> Self {
        let mut all = HashMap::new();
        for (p, blank) in plan.pieces.iter().enumerate() {
            for i in 0..blank.panels.len() {
                let r = boxwright::blank::PanelRef { piece: p, panel: i };
                all.insert(plan.name(r), key(&blank.piece, i));
                // Messages about a flat piece use the panel's own name.
                all.entry(blank.panels[i].name.clone())
                    .or_insert_with(|| key(&blank.piece, i));
            }
        }
        Self(all)
    }
    /// The keys of these panels, as far as they are known.
    #[must_use]
    pub fn of(&self, names: &[String]) -> Vec<String> {
        names
            .iter()
            .filter_map(|n| self.0.get(n).cloned())
            .collect()
    }
}

fn finding(f: &check::Finding, keys: &Keys) -> Finding {
    let shown = |m: Option<check::Measure>| {
        m.map(|m| Shown {
            mm: m.show(LengthUnit::Mm),
            inch: m.show(LengthUnit::Inch),
        })
    };
    Finding {
        code: f.code.to_owned(),
        verdict: f.verdict.into(),
        message: f.message.clone(),
        message_in: tongue::inches(&f.message),
        measured: shown(f.measured),
        limit: shown(f.limit),
        panels: keys.of(&f.panels),
        places: f
            .places
            .iter()
            .map(|p| p.to_array().map(solid::rounded))
            .collect(),
        cure: f.cure.clone(),
        cure_in: f.cure.as_deref().and_then(tongue::inches),
        fix: None,
        stage: f.stage.and_then(|s| u32::try_from(s).ok()),
    }
}

/// What a parameter measures, for the page.
#[must_use]
pub fn kind(kind: &ParameterKind) -> (Kind, Vec<String>) {
    match kind {
        ParameterKind::Choice(words) => (Kind::Choice, words.clone()),
        ParameterKind::Quantity(Dim::LENGTH) => (Kind::Length, Vec::new()),
        ParameterKind::Quantity(Dim::ANGLE) => (Kind::Angle, Vec::new()),
        ParameterKind::Quantity(_) => (Kind::Number, Vec::new()),
    }
}

fn parameters(brief: &Brief, plan: &Plan) -> Vec<Parameter> {
    let number = |v: f64, dim: Dim| if dim == Dim::ANGLE { v.to_degrees() } else { v };
    let bound = |f: &Option<Formula>| match f.as_ref()?.expr.eval(&plan.values) {
        Ok(Value::Quantity(q)) => Some(number(q.value, q.dim)),
        _ => None,
    };
    let line = |p: &boxwright::style::Parameter| {
        let (kind, choices) = kind(&p.kind);
        let q = plan.values.quantity(&p.name);
        let word = match plan.values.get(&p.name) {
            Some(Value::Word(w)) => Some(w.to_string()),
            _ => None,
        };
        let shown = match q {
            Some(q) if q.dim == Dim::LENGTH => LengthUnit::Mm.show(Length::mm(q.value)),
            Some(q) if q.dim == Dim::ANGLE => format!("{} deg", trimmed(q.value.to_degrees(), 2)),
            Some(q) => q.to_string(),
            None => word.clone().unwrap_or_default(),
        };
        Parameter {
            name: p.name.clone(),
            help: p.help.clone(),
            kind,
            choices,
            value: q.map(|q| number(q.value, q.dim)),
            word,
            shown,
            min: bound(&p.min),
            max: bound(&p.max),
            is_default: !brief.job.set.iter().any(|(n, _)| n.name == p.name),
            default: p.default.expr.text().to_owned(),
            panels: driven(plan, &p.name),
        }
    };
    plan.style.parameters.iter().map(line).collect()
}

/// Keys of the panels whose sizes a parameter drives.
fn driven(plan: &Plan, name: &str) -> Vec<String> {
    let mut out = Vec::new();
    for blank in &plan.pieces {
        for (i, panel) in blank.panels.iter().enumerate() {
            let d = &panel.drivers;
            let mut all = [&d.reach, &d.breadth, &d.inset, &d.raise]
                .into_iter()
                .flatten();
            if all.any(|n| n == name) {
                out.push(key(&blank.piece, i));
            }
        }
    }
    out
}

fn outputs(brief: &Brief, plan: &SoundPlan, folding: &Folding<'_>, report: &Report) -> Vec<Output> {
    let opts = BundleOptions::default();
    let names = bundle::names(brief, plan, folding, report, &opts).unwrap_or_default();
    names
        .into_iter()
        .map(|(kind, names)| Output {
            kind: FileKind(kind),
            label: kind.label().to_owned(),
            names,
        })
        .collect()
}
