//! The dimensioned drawing of a blank, seen on the inside face.
//!
//! Sheet sizes, frame, line widths and the fields of the title block follow what is known of ISO
//! 5457, 128 and 7200 (docs/background.md). Creases are dashed, against ISO's unbroken bending
//! line, because the trade reads them so and two ways of folding must be told apart.
//!
//! Stages: gather the chains of sizes ([`sizes`]), lay them out round the blank for each sheet and
//! scale that might do ([`chain`], [`fan`]), take the smallest sheet that reads with ease, draw
//! ([`sheet`], [`names`], [`mirror`]).

mod chain;
mod fan;
mod mirror;
mod names;
mod sheet;
mod sizes;

use super::font::Letters;
use super::scene::{Anchor, Scene, Stroke, ToPage};
use super::svg::dash;
use crate::blank::{Blank, LineUse};
use crate::geom::{DVec2, Path};
use crate::units::{Length, LengthUnit, trimmed};
use chain::{Laid, Layout, Side};
use sizes::Axis;

/// What the title block says. Empty texts leave their field empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TitleBlock {
    /// Legal owner.
    pub owner: String,
    /// Identification number of the document.
    pub number: String,
    /// Date of issue, as it is to be read.
    pub date: String,
    /// Title.
    pub title: String,
    /// Who made it.
    pub creator: String,
    /// Who approved it.
    pub approved: String,
    /// Kind of document; `blank drawing` when empty.
    pub document_type: String,
    /// This sheet's number, from 1; 0 is read as 1.
    pub sheet: u32,
    /// How many sheets there are; 0 is read as 1.
    pub sheets: u32,
    /// Clear inside size: length, width, depth.
    pub inside: Option<[Length; 3]>,
}

/// A drawing sheet of the A series.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetSize {
    /// 210 x 297 mm.
    A4,
    /// 297 x 420 mm.
    A3,
    /// 420 x 594 mm.
    A2,
    /// 594 x 841 mm.
    A1,
    /// 841 x 1189 mm.
    A0,
}

impl SheetSize {
    /// From small to large.
    pub const ALL: [Self; 5] = [Self::A4, Self::A3, Self::A2, Self::A1, Self::A0];
    /// Short and long side in mm.
    #[must_use]
    pub const fn size(self) -> DVec2 {
        match self {
            Self::A4 => DVec2::new(210.0, 297.0),
            Self::A3 => DVec2::new(297.0, 420.0),
            Self::A2 => DVec2::new(420.0, 594.0),
            Self::A1 => DVec2::new(594.0, 841.0),
            Self::A0 => DVec2::new(841.0, 1189.0),
        }
    }
    /// Height of capitals in dimensions, mm.
    const fn cap(self) -> f64 {
        match self {
            Self::A4 | Self::A3 => 2.5,
            Self::A2 | Self::A1 | Self::A0 => 3.5,
        }
    }
    /// The smallest scale at which the sheet is taken without looking for a larger one.
    const fn smallest_scale(self) -> f64 {
        match self {
            Self::A4 => 1.0 / 5.0,
            Self::A3 => 1.0 / 10.0,
            Self::A2 | Self::A1 | Self::A0 => 1.0 / 20.0,
        }
    }
}

/// How a sheet is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Orientation {
    /// Short side level.
    Portrait,
    /// Long side level.
    Landscape,
}

/// What the drawing is told; what is `None` is chosen so that the blank fits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DrawingOptions {
    /// The unit sizes are written in.
    pub unit: LengthUnit,
    /// The sheet.
    pub sheet: Option<SheetSize>,
    /// How it is held.
    pub orientation: Option<Orientation>,
    /// The scale as `n` of 1 : n. A scale at which the blank does not fit any allowed sheet is
    /// passed over for the largest that fits.
    pub scale: Option<f64>,
}

/// The scales that are tried, as `n` of 1 : n; the last two for blanks past any sheet.
const SCALES: [f64; 9] = [1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 20.0, 50.0, 100.0];

/// No larger sheet is taken only to be read with more ease.
const LARGEST_CHOSEN: SheetSize = SheetSize::A2;
/// The shortest span between two stops that is still read with ease, mm on the page.
const LEGIBLE: f64 = 1.0;

/// One choice of sheet and scale with the chains laid out for it.
struct Plan {
    size: SheetSize,
    page: DVec2,
    scale: f64,
    laid: [Laid; 4],
    notes: Vec<String>,
    /// Along which axes the halves are said to be mirror images.
    mirrored: Vec<Axis>,
}

impl Plan {
    /// Sizes that found no place.
    fn dropped(&self) -> usize {
        self.laid.iter().map(|l| l.dropped).sum()
    }
    /// The shortest span with a number, mm on the page.
    fn shortest(&self) -> f64 {
        self.laid
            .iter()
            .flat_map(|l| &l.chains)
            .flat_map(|c| c.stops.windows(2))
            .map(|w| (w[1].at - w[0].at) * self.scale)
            .fold(f64::INFINITY, f64::min)
    }
    fn reads(&self) -> bool {
        self.dropped() == 0 && self.shortest() >= LEGIBLE
    }
    fn clearer_than(&self, o: &Self) -> bool {
        self.dropped() < o.dropped()
            || self.dropped() == o.dropped() && self.scale > o.scale * (1.0 + 1e-9)
    }
}

/// The blank drawn with its sizes on one sheet.
#[must_use]
pub fn drawing(blank: &Blank, title: &TitleBlock, opts: &DrawingOptions) -> Scene {
    let letters = Letters::shipped();
    let gathered = sizes::gather(blank, opts.unit);
    let plan = choose(blank, opts, &gathered, &letters);
    draw(blank, title, opts, &plan, &letters)
}

fn choose(
    blank: &Blank,
    opts: &DrawingOptions,
    gathered: &sizes::Sizes,
    letters: &Letters,
) -> Plan {
    let sizes: Vec<SheetSize> = opts.sheet.map_or(SheetSize::ALL.to_vec(), |s| vec![s]);
    let given = opts.scale.filter(|n| n.is_finite() && *n > 0.0);
    let holds = match opts.orientation {
        Some(o) => vec![o],
        None => vec![Orientation::Landscape, Orientation::Portrait],
    };
    let fitting = |size: SheetSize, n: f64| {
        let bare = blank.bounds.size() / n;
        let small = bare.max_element() <= size.size().y && bare.min_element() <= size.size().x;
        let tried = if small { holds.as_slice() } else { &[] };
        tried
            .iter()
            .map(|h| plan(blank, gathered, letters, (size, *h), 1.0 / n))
            .find(|p| fits(blank, p))
    };
    if let Some(found) = given.and_then(|n| sizes.iter().find_map(|s| fitting(*s, n))) {
        return found;
    }
    // Each sheet at the largest scale that fits: the smallest sheet that reads with ease, or else
    // the one that comes nearest.
    let mut best: Option<Plan> = None;
    for size in &sizes {
        if best.is_some() && size.size().x > LARGEST_CHOSEN.size().x {
            break;
        }
        let fair = |n: &f64| opts.sheet.is_some() || 1.0 / n >= size.smallest_scale();
        let Some(found) = SCALES
            .into_iter()
            .filter(fair)
            .find_map(|n| fitting(*size, n))
        else {
            continue;
        };
        if found.reads() {
            return found;
        }
        if best.as_ref().is_none_or(|b| found.clearer_than(b)) {
            best = Some(found);
        }
    }
    best.unwrap_or_else(|| {
        let size = opts.sheet.unwrap_or(SheetSize::A0);
        let long = blank.bounds.size().max_element().max(1.0);
        let scale = 1.0 / (2.0 * long / size.size().x).ceil().max(1.0);
        plan(blank, gathered, letters, (size, holds[0]), scale)
    })
}

fn plan(
    blank: &Blank,
    gathered: &sizes::Sizes,
    letters: &Letters,
    (size, hold): (SheetSize, Orientation),
    scale: f64,
) -> Plan {
    let s = size.size();
    let page = match hold {
        Orientation::Portrait => s,
        Orientation::Landscape => DVec2::new(s.y, s.x),
    };
    let on = Layout {
        bounds: blank.bounds,
        scale,
        cap: size.cap(),
        letters,
    };
    let laid = chain::lay_all(&gathered.chains, &on);
    let halved = |sides: [Side; 2]| sides.iter().any(|s| laid[s.index()].halved);
    let mut mirrored = Vec::new();
    for (axis, left_out) in [Axis::X, Axis::Y].into_iter().zip(gathered.mirrored) {
        if left_out || halved(axis.sides()) {
            mirrored.push(axis);
        }
    }
    let labels = names::labels(blank, letters, scale, &laid, &mirrored);
    let mut notes = names::key(blank, &labels, letters, size.cap(), page.x);
    notes.extend(gathered.radii.clone());
    notes.extend(mirrored.iter().map(|a| mirror::words(*a).into()));
    if gathered.left_out || laid.iter().any(|l| l.dropped > 0) {
        notes.push("Not every size is written here; the cut file holds them all.".into());
    }
    Plan {
        size,
        page,
        scale,
        laid,
        notes,
        mirrored,
    }
}

/// Room for the blank and its sizes inside the frame.
fn room(plan: &Plan, uses: usize) -> (DVec2, DVec2) {
    let foot = sheet::foot_height(plan.page, uses) + sheet::note_height(&plan.notes);
    (
        DVec2::new(sheet::LEFT + 4.0, sheet::OTHER + 4.0),
        DVec2::new(
            plan.page.x - sheet::OTHER - 4.0,
            plan.page.y - sheet::OTHER - foot - 4.0,
        ),
    )
}

fn uses(blank: &Blank) -> Vec<LineUse> {
    let lines = blank.lines();
    LineUse::ALL
        .into_iter()
        .filter(|u| *u != LineUse::Board && lines.iter().any(|(v, _)| v == u))
        .collect()
}

fn needed(blank: &Blank, plan: &Plan) -> DVec2 {
    let deep = |s: Side| plan.laid[s.index()].depth;
    blank.bounds.size() * plan.scale
        + DVec2::new(
            deep(Side::Left) + deep(Side::Right),
            deep(Side::Bottom) + deep(Side::Top),
        )
}

fn fits(blank: &Blank, plan: &Plan) -> bool {
    let (low, high) = room(plan, uses(blank).len());
    needed(blank, plan).cmple(high - low).all()
}

/// How a use is drawn: wide for cuts, half as wide for all else.
pub(super) fn stroke(line_use: LineUse) -> Stroke {
    let wide = line_use == LineUse::Cut;
    Stroke {
        colour: "#000000",
        width: if wide { 0.7 } else { 0.35 },
        dash: dash(line_use),
    }
}

/// A line as narrow as dimensions are drawn with.
const fn narrow(width: f64) -> Stroke {
    Stroke {
        colour: "#000000",
        width,
        dash: &[],
    }
}

fn draw(
    blank: &Blank,
    title: &TitleBlock,
    opts: &DrawingOptions,
    plan: &Plan,
    letters: &Letters,
) -> Scene {
    let mut scene = Scene::new(plan.page.x, plan.page.y);
    let uses = uses(blank);
    let (low, high) = room(plan, uses.len());
    let deep = |s: Side| plan.laid[s.index()].depth;
    let spare = (high - low - needed(blank, plan)) * 0.5;
    let corner = low + spare + DVec2::new(deep(Side::Left), deep(Side::Top));
    let page = ToPage {
        origin: DVec2::new(
            corner.x - plan.scale * blank.bounds.min.x,
            corner.y + plan.scale * blank.bounds.max.y,
        ),
        scale: plan.scale,
    };
    for line_use in LineUse::ALL.into_iter().rev() {
        for (_, path) in blank.lines().iter().filter(|(u, _)| *u == line_use) {
            if line_use != LineUse::Board {
                scene.shape(vec![page.path(path)], None, Some(stroke(line_use)));
            }
        }
    }
    names::write(&mut scene, blank, plan, page, letters);
    for side in Side::ALL {
        chain::draw(
            &mut scene,
            &plan.laid[side.index()],
            side,
            page,
            blank.bounds,
        );
    }
    for axis in &plan.mirrored {
        mirror::draw(&mut scene, blank.bounds, *axis, page);
    }
    sheet::frame(&mut scene);
    sheet::title_block(
        &mut scene,
        blank,
        title,
        &scale_words(plan.scale),
        opts.unit,
        letters,
    );
    sheet::legend(&mut scene, blank, &uses, letters);
    sheet::notes(&mut scene, &plan.notes, uses.len());
    scene
}

fn scale_words(scale: f64) -> String {
    if scale > 1.0 {
        format!("{} : 1", trimmed(scale, 3))
    } else {
        format!("1 : {}", trimmed(1.0 / scale, 3))
    }
}

/// A double arrow of `length` mm about `middle`, along a page direction.
pub(super) fn double_arrow(
    scene: &mut Scene,
    middle: DVec2,
    along: DVec2,
    length: f64,
    width: f64,
) {
    let along = along.normalize_or(DVec2::X);
    let across = DVec2::new(-along.y, along.x);
    let half = 0.5 * length * along;
    let head = 0.28 * length;
    scene.shape(
        vec![Path::line([
            middle - half + 0.8 * head * along,
            middle + half - 0.8 * head * along,
        ])],
        None,
        Some(narrow(width)),
    );
    let tips = [1.0, -1.0]
        .map(|k| {
            let tip = middle + k * half;
            let back = tip - k * head * along;
            Path::polygon([tip, back + 0.3 * head * across, back - 0.3 * head * across])
        })
        .to_vec();
    scene.shape(tips, Some("#000000"), None);
}

/// Text on the page with all its traits.
fn write(scene: &mut Scene, at: DVec2, size: f64, anchor: Anchor, bold: bool, text: &str) {
    scene.items.push(super::scene::Item::Text {
        at,
        size,
        anchor,
        turn: 0.0,
        bold,
        colour: "#000000",
        text: text.to_owned(),
    });
}

#[cfg(test)]
mod style_tests;
#[cfg(test)]
mod tests;
