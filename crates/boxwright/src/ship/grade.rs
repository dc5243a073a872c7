//! Grades of carriers and standards: which one a packed case needs, and which one its board holds.

mod read;

use serde::Serialize;

use super::outside::Outside;
use crate::board::{Board, Wall};
use crate::units::{ForcePerLength, Grammage, Length, Mass, Pressure};

pub use read::read_grades;

/// How many fluted layers a class is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Layers {
    /// One.
    Single,
    /// Two.
    Double,
    /// Three.
    Triple,
}

impl From<Wall> for Layers {
    fn from(wall: Wall) -> Self {
        match wall {
            Wall::Single => Self::Single,
            Wall::Double => Self::Double,
        }
    }
}

/// A class of cases or a grade of board.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Class {
    /// What it is called.
    pub name: String,
    /// For board of so many fluted layers.
    pub wall: Layers,
    /// Greatest gross mass.
    pub mass: Option<Mass>,
    /// Greatest outside length + width + depth.
    pub size: Option<Length>,
    /// Least burst strength.
    pub burst: Option<Pressure>,
    /// Least puncture energy, in J.
    pub puncture: Option<f64>,
    /// Least mass of all liners together.
    pub facings: Option<Grammage>,
    /// Least edge crush strength.
    pub ect: Option<ForcePerLength>,
    /// Where the row comes from.
    pub from: String,
}

/// A table of classes.
#[derive(Clone, Debug, PartialEq)]
pub struct Grades {
    /// Its name.
    pub name: String,
    /// What it is.
    pub title: String,
    /// Its classes; for each wall they grow from row to row in what they allow and ask.
    pub classes: Vec<Class>,
}

/// What decides a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// The gross mass.
    Mass,
    /// The size.
    Size,
    /// Both alike.
    Both,
}

/// A case and its board held against a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Graded {
    /// The table's name.
    pub table: String,
    /// What it is.
    pub title: String,
    /// The gross mass it was asked for.
    pub mass: Mass,
    /// The united size it was asked for.
    pub size: Length,
    /// The least class that takes both; `None` when no class of this wall does, or when the table
    /// is one of boards and limits neither.
    pub needs: Option<Class>,
    /// What decided it.
    pub by: Option<By>,
    /// Whether the table limits mass or size at all.
    pub limits: bool,
    /// The best class whose edge crush the board reaches.
    pub holds: Option<Class>,
    /// The class above that, and by how much its edge crush is missed.
    pub next: Option<(Class, ForcePerLength)>,
    /// Whether the board reaches the edge crush of the class needed; `None` when there is no such
    /// class or it asks for no edge crush.
    pub qualifies: Option<bool>,
    /// Edge crush that is missing for the class needed.
    pub missing: Option<ForcePerLength>,
}

/// Differences below this are rounding, in N/mm.
const SLACK: f64 = 1e-9;

impl Class {
    /// Whether a case of this gross mass and united size is within its limits.
    #[must_use]
    pub fn takes(&self, mass: Mass, size: Length) -> bool {
        let heavy = self.mass.is_some_and(|m| mass.to_kg() > m.to_kg() + SLACK);
        let large = self.size.is_some_and(|s| size.to_mm() > s.to_mm() + SLACK);
        !heavy && !large
    }
    fn reached(&self, ect: ForcePerLength) -> bool {
        self.ect
            .is_some_and(|least| ect.to_n_per_mm() >= least.to_n_per_mm() - SLACK)
    }
}

impl Grades {
    fn of(&self, wall: Layers) -> impl Iterator<Item = &Class> {
        self.classes.iter().filter(move |c| c.wall == wall)
    }
    /// The least class that takes both a gross mass and a united size.
    #[must_use]
    pub fn least(&self, wall: Layers, mass: Mass, size: Length) -> Option<&Class> {
        let limited = |c: &&Class| c.mass.is_some() || c.size.is_some();
        self.of(wall).filter(limited).find(|c| c.takes(mass, size))
    }
    /// The best class whose edge crush a board reaches.
    #[must_use]
    pub fn reached(&self, wall: Layers, ect: ForcePerLength) -> Option<&Class> {
        self.by_ect(wall).into_iter().rfind(|c| c.reached(ect))
    }
    /// Those that ask for an edge crush, in its order.
    fn by_ect(&self, wall: Layers) -> Vec<&Class> {
        let mut all: Vec<&Class> = self.of(wall).filter(|c| c.ect.is_some()).collect();
        let key = |c: &Class| c.ect.unwrap_or_default().to_n_per_mm();
        all.sort_by(|a, b| key(a).total_cmp(&key(b)));
        all
    }
    /// Holds a case and its board against the table.
    #[must_use]
    pub fn grade(&self, board: &Board, outside: &Outside) -> Graded {
        let (wall, ect) = (Layers::from(board.wall), board.ect);
        let (mass, size) = (outside.gross(), outside.united());
        let needs = self.least(wall, mass, size);
        let limits = self.of(wall).any(|c| c.mass.is_some() || c.size.is_some());
        let by = needs.map(|needs| self.by(wall, needs, mass, size));
        let short = |c: &Class| c.ect.unwrap_or_default() - ect;
        let next = self.by_ect(wall).into_iter().find(|c| !c.reached(ect));
        let asked = needs.filter(|c| c.ect.is_some());
        Graded {
            table: self.name.clone(),
            title: self.title.clone(),
            mass,
            size,
            needs: needs.cloned(),
            by,
            limits,
            holds: self.reached(wall, ect).cloned(),
            next: next.map(|c| (c.clone(), short(c))),
            qualifies: asked.map(|c| c.reached(ect)),
            missing: asked.filter(|c| !c.reached(ect)).map(short),
        }
    }
    fn by(&self, wall: Layers, needs: &Class, mass: Mass, size: Length) -> By {
        let of = |mass, size| self.least(wall, mass, size).is_some_and(|c| c == needs);
        match (of(mass, Length::ZERO), of(Mass::ZERO, size)) {
            (true, false) => By::Mass,
            (false, true) => By::Size,
            _ => By::Both,
        }
    }
}
