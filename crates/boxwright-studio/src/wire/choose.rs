//! Which style and which board for an inside size.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{Crease, ShipSpan, Shown, State};

/// What is asked of a case.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseAsk {
    /// Inside size, contents, sheet, bed and way of creasing; its style and board are left aside.
    pub state: State,
    /// What is cared about most.
    pub by: ChooseBy,
}

/// What is cared about most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChooseBy {
    /// Least board.
    Board,
    /// The cheapest parcel.
    Parcel,
    /// Most cases on the first pallet of the table.
    Pallet,
    /// Most strength left in a stack.
    Stack,
}

/// Styles and boards, best first.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ChooseShown {
    /// How many were tried: styles times boards.
    pub candidates: u32,
    /// The best ones; each has passed the whole check.
    pub proposals: Vec<ChooseLine>,
    /// How many more would do.
    pub further: u32,
    /// Those that would not, by reason.
    pub left_out: Vec<ChooseLeftOut>,
    /// What to mind, in sentences.
    pub cautions: Vec<Shown>,
}

/// A style and board, with what speaks for it and against it.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ChooseLine {
    /// The style, as a job names it.
    pub style: String,
    /// Its title.
    pub title: String,
    /// The board, as a job names it.
    pub board: String,
    /// How creases are made.
    pub crease: Crease,
    /// Outside length, width and depth.
    pub outside: [f64; 3],
    /// Area of the rectangles round its blanks.
    pub area: f64,
    /// Mass of the packed case.
    pub gross: f64,
    /// Strength left in a stack, after time and air.
    pub strength: ShipSpan,
    /// The cheapest parcel class that takes it.
    #[schema(required = true)]
    pub parcel: Option<String>,
    /// What speaks for it.
    #[serde(rename = "for")]
    pub good: Vec<Shown>,
    /// What speaks against it.
    pub against: Vec<Shown>,
    /// Others of the same style that would do.
    pub also: Vec<Shown>,
}

/// Candidates left out for one reason.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ChooseLeftOut {
    /// The reason.
    pub why: Shown,
    /// How many.
    pub count: u32,
    /// Styles among them.
    pub styles: Vec<String>,
}
