//! One file per verb.

pub mod check;
pub mod choose;
pub mod completions;
pub mod coupon;
pub mod cut;
pub mod fold;
pub mod gallery;
pub mod lay;
pub mod learn;
pub mod list;
mod machines;
pub mod make;
pub mod man;
pub mod new;
pub mod range;
pub mod ship;
pub mod size;
pub mod spread;
pub mod stock;
pub mod studio;
pub mod style;
pub mod sweep;

use boxwright::diag::Diag;

use crate::args::{JobArgs, Verb};
use crate::console::Console;
use crate::desk::{Desk, STANDARD_INPUT};
use crate::excerpt::cleaned;

/// What a run came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// All is well.
    Fine = 0,
    /// A check failed.
    Failed = 1,
    /// It could not run.
    Stopped = 2,
}

/// Runs a verb and shows whatever messages come of it.
pub fn run(verb: &Verb) -> Status {
    let mut desk = Desk::default();
    let (console, job) = match verb {
        Verb::Make(a) => of_job(&a.job),
        Verb::Check(a) => of_job(a),
        Verb::Sweep(a) => of_job(&a.job),
        Verb::Spread(a) => of_job(&a.job),
        Verb::Learn(a) => (
            Console { json: a.json },
            a.file
                .as_ref()
                .map_or_else(String::new, |f| f.display().to_string()),
        ),
        Verb::Ship(a) => of_job(&a.job),
        Verb::Stock(a) => (Console { json: a.json }, String::new()),
        Verb::Size(a) => (Console { json: a.json }, a.things.display().to_string()),
        Verb::Lay(a) => (Console { json: a.json }, String::new()),
        Verb::Range(a) => (Console { json: a.json }, String::new()),
        Verb::Fold(a) => (Console { json: a.json }, a.file.display().to_string()),
        Verb::Cut(a) => (Console { json: a.json }, a.layout.display().to_string()),
        Verb::Choose(a) => {
            let file = a.source.as_ref().map(|s| s.display().to_string());
            let file = file.map(|f| {
                if f == "-" {
                    STANDARD_INPUT.to_owned()
                } else {
                    f
                }
            });
            (Console { json: a.json }, file.unwrap_or_default())
        }
        _ => (Console { json: false }, String::new()),
    };
    let result = match verb {
        Verb::New(a) => new::run(a, &mut desk),
        Verb::Make(a) => make::run(a, &mut desk),
        Verb::Check(a) => check::run(a, &mut desk),
        Verb::List(a) => list::run(a, &desk),
        Verb::Choose(a) => choose::run(a, &mut desk),
        Verb::Fold(a) => fold::run(a, &desk),
        Verb::Sweep(a) => sweep::run(a, &mut desk),
        Verb::Size(a) => size::run(a, &desk),
        Verb::Lay(a) => lay::run(a, &mut desk),
        Verb::Range(a) => range::run(a, &mut desk),
        Verb::Cut(a) => cut::run(a, &mut desk),
        Verb::Ship(a) => ship::run(a, &mut desk),
        Verb::Studio(a) => studio::run(a),
        Verb::Stock(a) => stock::run(a, &desk),
        Verb::Coupon(a) => coupon::run(a, &mut desk),
        Verb::Learn(a) => learn::run(a, &mut desk),
        Verb::Spread(a) => spread::run(a, &mut desk),
        Verb::Style(a) => style::run(a, &mut desk),
        Verb::Completions { shell } => completions::run(*shell),
        Verb::Man => man::run(),
    };
    let (status, diags) = match result {
        Ok(done) => (done.status, done.warnings),
        Err(diags) => (Status::Stopped, diags),
    };
    if !diags.is_empty() {
        console.show(diags, &desk, &job);
    }
    status
}

fn of_job(args: &JobArgs) -> (Console, String) {
    let name = args.job.display().to_string();
    let name = if name == "-" {
        STANDARD_INPUT.to_owned()
    } else {
        name
    };
    (Console { json: args.json }, name)
}

/// A run that came to its end.
pub struct Done {
    /// How.
    pub status: Status,
    /// What the user should know.
    pub warnings: Vec<Diag>,
}

impl Done {
    /// After printing what there is to say.
    pub fn saying(text: &str, status: Status, warnings: Vec<Diag>) -> Result<Self, Vec<Diag>> {
        Console::print(text).map_err(|d| vec![d])?;
        Ok(Self { status, warnings })
    }
    /// A run with nothing but its words.
    pub fn words(text: &str) -> Result<Self, Vec<Diag>> {
        Self::saying(&cleaned(text), Status::Fine, Vec::new())
    }
}
