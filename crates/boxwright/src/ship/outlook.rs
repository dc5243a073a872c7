//! Everything that is to be said of shipping one packed case, gathered by one function.

use serde::Serialize;

use super::compression::{Choice, Compression, Standing};
use super::figure::{Caution, Range};
use super::grade::{Graded, Grades, read_grades};
use super::lift::{Lift, Task};
use super::losses::{Factor, Losses, Surroundings, kept, pick, read_losses};
use super::outside::Outside;
use super::parcel::{Parcel, Tariff, read_parcels};
use super::proportions::unusual;
use super::stack::{CFR_HEIGHT, Rule, Stack, load, reaching, safe_high};
use crate::brief::Brief;
use crate::diag::{Diag, Outcome};
use crate::fold::Folder;
use crate::job::Job;
use crate::source::{Door, Text};
use crate::units::{Force, Length, Mass};

/// What surrounds the case on its way, and the tables and rules to judge it by.
#[derive(Clone, Debug, PartialEq)]
pub struct Conditions {
    /// Time, air, stacking, handling.
    pub surroundings: Surroundings,
    /// How many stand on one another, the bottom one counted; `None` to ask only how high is safe.
    pub high: Option<u32>,
    /// What stands on the uppermost.
    pub above: Mass,
    /// The rule for the strength a stack asks for.
    pub rule: Rule,
    /// How the strength is estimated.
    pub choice: Choice,
    /// How the case is lifted.
    pub task: Task,
    /// How high handholds are over the bottom of the case; `None` for hands under it.
    pub handholds: Option<Length>,
    /// The table of losses.
    pub losses: Losses,
    /// The table of grades.
    pub grades: Grades,
    /// The tariff.
    pub tariff: Tariff,
}

impl Conditions {
    /// A month in column at half humidity, judged by the first table of each file that the door hands
    /// out.
    ///
    /// # Errors
    /// Whatever is wrong in a table file.
    pub fn usual(door: &dyn Door) -> Outcome<Self> {
        let losses = read_losses(&table(door, "losses")?)?;
        let grades = read_grades(&table(door, "grades")?)?;
        let parcels = read_parcels(&table(door, "parcels")?)?;
        Ok(Self {
            surroundings: Surroundings::default(),
            high: None,
            above: Mass::ZERO,
            rule: Rule::default(),
            choice: Choice::default(),
            task: Task::default(),
            handholds: None,
            losses: pick(&losses, None, |t| &t.name)?.clone(),
            grades: pick(&grades, None, |t| &t.name)?.clone(),
            tariff: pick(&parcels, None, |t| &t.name)?.clone(),
        })
    }
}

/// The text of a table file.
///
/// # Errors
/// `unknown-table`.
pub fn table(door: &dyn Door, name: &str) -> Outcome<Text> {
    door.table(name).ok_or_else(|| {
        let message = format!("there is no table file `{name}`");
        vec![Diag::error("unknown-table", message)]
    })
}

/// Mass of all that a job says it sends.
#[must_use]
pub fn contents_mass(job: &Job) -> Mass {
    job.contents.iter().map(crate::job::Content::whole).sum()
}

/// Everything that is to be said of shipping one packed case. Forces are in N, masses in kg, lengths
/// in mm, also where it is written as JSON.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Outlook {
    /// The job's title.
    pub title: String,
    /// The style's title.
    pub style: String,
    /// The board's name.
    pub board: String,
    /// Size and masses.
    pub outside: Outside,
    /// Mass of the packed case.
    pub gross: Mass,
    /// Strength of a dry single case.
    pub compression: Compression,
    /// What surrounds it.
    pub surroundings: Surroundings,
    /// The table of losses.
    pub losses: String,
    /// What that table is.
    pub losses_title: String,
    /// What takes from the strength.
    pub factors: Vec<Factor>,
    /// Share of the strength that is kept under all of them.
    pub kept: Range<f64>,
    /// Strength that is left.
    pub left: Range<Force>,
    /// The stack.
    pub stack: Stack,
    /// The grade.
    pub grade: Graded,
    /// The parcel.
    pub parcel: Parcel,
    /// The lift.
    pub lift: Lift,
    /// What to mind, all parts together.
    pub cautions: Vec<Caution>,
}

/// Gathers everything that is to be said of shipping one packed case.
#[must_use]
pub fn outlook(brief: &Brief, folder: &Folder<'_>, contents: Mass, on: &Conditions) -> Outlook {
    let outside = Outside::of(folder, contents);
    let gross = outside.gross();
    let compression = Compression::of(brief, folder, &on.choice);
    let (factors, told) = on.losses.factors(&on.surroundings);
    let kept = kept(&factors);
    let left = Range {
        least: compression.range.least * kept.least,
        most: compression.range.most * kept.most,
    };
    let stack = stacked(&compression, &outside, kept, on);
    let grade = on.grades.grade(&brief.board, &outside);
    let parcel = on.tariff.of(&outside);
    let lift = Lift::of(outside.size, gross, on.handholds, &on.task);
    let mut cautions = vec![Caution::new(
        "estimate",
        "strength is an estimate, not a test; people stand near stacks: test by the relevant standard and ask a qualified person where a load can hurt someone",
    )];
    if compression.standing == Standing::Beyond {
        cautions.push(Caution::new(
            "beyond-formula",
            "this case is beyond what the strength formula was made for; trust the figure less",
        ));
    }
    cautions.extend(compression.cautions.iter().cloned());
    if compression.slotted {
        cautions.extend(unusual(brief.job.inside));
    }
    cautions.extend(told);
    if contents == Mass::ZERO {
        cautions.push(Caution::new(
            "no-contents",
            "no mass of contents is given, so this is for the empty case",
        ));
    }
    if lift.heavy {
        cautions.push(Caution::new("heavy", "heavy: mark it, and lift with care"));
    }
    cautions.extend(lift.cautions.iter().cloned());
    Outlook {
        title: brief.job.title.clone(),
        style: brief.style.title.clone(),
        board: brief.board.name.clone(),
        outside,
        gross,
        compression,
        surroundings: on.surroundings,
        losses: on.losses.name.clone(),
        losses_title: on.losses.title.clone(),
        factors,
        kept,
        left,
        stack,
        grade,
        parcel,
        lift,
        cautions,
    }
}

fn stacked(c: &Compression, outside: &Outside, kept: Range<f64>, on: &Conditions) -> Stack {
    let (mass, rule) = (outside.gross(), on.rule);
    let times = rule.times(on.surroundings.days, kept);
    let high = match rule {
        Rule::Cfr => reaching(CFR_HEIGHT, outside.size[2]),
        _ => on.high,
    };
    let pressing = high.map(|n| load(mass, n, on.above));
    let needs = pressing.map(|l| Range {
        least: l * times.least,
        most: l * times.most,
    });
    let strength = c.range.least;
    let met = |most: Force| most.to_n() <= strength.to_n() * (1.0 + 1e-9);
    Stack {
        rule,
        title: rule.title(),
        from: rule.from(),
        mass,
        above: on.above,
        times,
        high,
        load: pressing,
        needs,
        holds: needs.map(|n| met(n.most)),
        safe_high: safe_high(strength, mass, on.above, times.most),
        needs_ect: needs.and_then(|n| c.board_ect_for(n.most)),
    }
}
