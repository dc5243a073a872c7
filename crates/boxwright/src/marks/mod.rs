//! Texts, names and handling signs put on the panels of a plan.
//!
//! A mark is read on one face of a panel of the finished case. So the case is folded to find which
//! way is up there; the strokes are then laid into the panel, mirrored when they are read on the
//! outside face, because a blank is always drawn as seen on the inside one.

mod fit;

use std::sync::Arc;

use crate::blank::{Blank, PanelRef, Plan, PlanMark};
use crate::diag::{Diag, Outcome};
use crate::fold::Folder;
use crate::geom::{DAffine3, DVec2, DVec3, Path, Rect, Vertex};
use crate::job::{Face, Job, Mark, Shown, Spot, missing};
use crate::letters::{Sign, Strokes, written};
use crate::read::suggestion;
use crate::units::{Angle, Length, LengthUnit};

use fit::{Room, Trouble};

/// Least size of a handling sign on a package by ISO 780:2015; the others are 150 and 200 mm
/// (memory; docs/background.md).
pub const LEAST_SIGN: Length = Length::mm(100.0);
/// Letters under this height are hard to read on board (default).
pub const LEAST_LETTERS: Length = Length::mm(5.0);
/// Room kept to the edge, the creases, cut-outs and slits of a panel and to other marks (default).
pub const MARGIN: Length = Length::mm(3.0);
/// Height of letters if the job gives none (default).
const TEXT: Length = Length::mm(10.0);
/// Nothing is engraved smaller (default).
const SMALLEST: Length = Length::mm(2.0);
/// A sign that the job gives no size is made smaller in such steps until it fits, down to the last.
const SIGN_STEP: f64 = 5.0;
const SMALLEST_SIGN: f64 = 20.0;
/// A panel stands when it rises by this share of its own size: 30 degrees from lying flat.
const STANDS: f64 = 0.5;

/// Engraves the marks of a job on the blanks of its plan. A plan that cannot be folded is left as
/// it is: it says itself why not.
///
/// # Errors
/// `unknown-panel`; `no-up` for arrows on a panel that lies flat; `mark-does-not-fit` where a mark
/// would come too near an edge, a crease, a cut-out, a slit or another mark; `too-small`.
pub fn engrave(plan: &mut Plan, job: &Job) -> Outcome<()> {
    if job.marks.is_empty() {
        return Ok(());
    }
    let Ok(sound) = plan.clone().validated() else {
        return Ok(());
    };
    let folder = Folder::new(&sound);
    let frames = folder.frames(folder.last());
    let mut diags = Vec::new();
    let mut laid: Vec<Laid> = Vec::new();
    for mark in &job.marks {
        match lay(&sound, job, mark, &frames, &laid) {
            Ok(l) => laid.push(l),
            Err(d) => diags.push(*d),
        }
    }
    if !diags.is_empty() {
        return Err(diags);
    }
    for l in laid {
        let blank = Arc::make_mut(&mut plan.pieces[l.mark.panel.piece]);
        let place = blank.panels[l.mark.panel.panel].place;
        let first = blank.engravings.len();
        blank
            .engravings
            .extend(l.paths.iter().map(|p| place.path(p)));
        plan.marks.push(PlanMark {
            engravings: first..blank.engravings.len(),
            ..l.mark
        });
    }
    Ok(())
}

/// A mark at its place: in the panel's own coordinates.
struct Laid {
    mark: PlanMark,
    paths: Vec<Path>,
    ring: [DVec2; 4],
}

fn lay(
    plan: &Plan,
    job: &Job,
    mark: &Mark,
    frames: &[Vec<DAffine3>],
    others: &[Laid],
) -> Result<Laid, Box<Diag>> {
    let panel = find(plan, mark)?;
    let blank = &plan.pieces[panel.piece];
    let seen = Seen::of(frames[panel.piece][panel.panel], mark.face);
    if mark.shown == Shown::Sign(Sign::ThisWayUp) && !seen.stands {
        return Err(Box::new(no_up(plan, mark, panel, frames)));
    }
    let others = others
        .iter()
        .filter(|o| o.mark.panel == panel && o.mark.face == mark.face)
        .map(|o| o.ring);
    let room = Room::of(blank, panel.panel, others);
    let mut turn = mark.turn.unwrap_or(Angle::ZERO);
    let at_height = |height: Length, turn: Angle| -> Result<(Strokes, Laying), Box<Diag>> {
        let strokes = strokes(plan, job, mark, panel, height)?;
        let size = strokes.bounds.size();
        let laying = Laying::of(blank, panel.panel, mark, turn, seen, size);
        Ok((strokes, laying))
    };
    let (usual, sign) = match mark.shown {
        Shown::Sign(_) => (LEAST_SIGN, true),
        Shown::Text(_) => (TEXT, false),
        Shown::PartName => (LEAST_LETTERS, false),
    };
    let mut height = mark.height.unwrap_or(usual);
    if height < SMALLEST {
        let show = |l| LengthUnit::Mm.show(l);
        return Err(Box::new(
            Diag::error(
                "too-small",
                format!("a mark {} high cannot be engraved", show(height)),
            )
            .at(mark.place.clone())
            .help(format!("give it {} at least", show(SMALLEST))),
        ));
    }
    let (mut strokes, mut laying) = at_height(height, turn)?;
    let mut trouble = room.trouble(&laying.ring(), MARGIN.to_mm());
    // A name goes up the panel where it is too long to go across.
    if trouble.is_some() && mark.shown == Shown::PartName && mark.turn.is_none() {
        let upward = Angle::deg(90.0);
        let (s, l) = at_height(height, upward)?;
        if room.trouble(&l.ring(), MARGIN.to_mm()).is_none() {
            (strokes, laying, turn, trouble) = (s, l, upward, None);
        }
    }
    // A sign of no stated size is made as large as the panel allows.
    while trouble.is_some() && sign && mark.height.is_none() && height.to_mm() > SMALLEST_SIGN {
        height = Length::mm(height.to_mm() - SIGN_STEP);
        (strokes, laying) = at_height(height, turn)?;
        trouble = room.trouble(&laying.ring(), MARGIN.to_mm());
    }
    if let Some(t) = trouble {
        let fits = |height: f64| {
            at_height(Length::mm(height), turn)
                .is_ok_and(|(_, l)| room.trouble(&l.ring(), MARGIN.to_mm()).is_none())
        };
        let size = strokes.bounds.size();
        return Err(Box::new(does_not_fit(
            plan, mark, panel, t, size, height, fits,
        )));
    }
    Ok(Laid {
        mark: PlanMark {
            panel,
            face: mark.face,
            kind: kind(&mark.shown),
            sign,
            height,
            at: laying.middle,
            engravings: 0..0,
        },
        paths: strokes.paths.iter().map(|p| laying.path(p)).collect(),
        ring: laying.ring(),
    })
}

const fn kind(shown: &Shown) -> &'static str {
    match shown {
        Shown::Text(_) => "text",
        Shown::PartName => "part-name",
        Shown::Sign(s) => s.word(),
    }
}

fn strokes(
    plan: &Plan,
    job: &Job,
    mark: &Mark,
    panel: PanelRef,
    height: Length,
) -> Result<Strokes, Box<Diag>> {
    let (text, place) = match &mark.shown {
        Shown::Sign(s) => return Ok(s.drawn(height)),
        Shown::Text(t) => (t.name.clone(), &t.place),
        Shown::PartName => {
            let piece = &plan.pieces[panel.piece].piece;
            (format!("{}: {piece}", job.title.trim()), &mark.place)
        }
    };
    written(&text, height).map_err(|c| {
        let help = "the names of the job and of its pieces are written with letters of western \
                    and northern Europe, figures and common signs";
        Box::new(
            Diag::error("unknown-letter", missing(c))
                .at(place.clone())
                .help(help),
        )
    })
}

/// The panel of a mark: by its full name, or by its own name in the first piece that has it.
fn find(plan: &Plan, mark: &Mark) -> Result<PanelRef, Box<Diag>> {
    let all = || {
        plan.pieces
            .iter()
            .enumerate()
            .flat_map(|(piece, b)| (0..b.panels.len()).map(move |panel| PanelRef { piece, panel }))
    };
    let wanted = mark.on.name.as_str();
    let own = |r: &PanelRef| plan.pieces[r.piece].panels[r.panel].name == wanted;
    let full = |r: &PanelRef| {
        wanted.split_once(": ").is_some_and(|(piece, panel)| {
            let b = &plan.pieces[r.piece];
            b.piece == piece && b.panels[r.panel].name == panel
        })
    };
    all().find(full).or_else(|| all().find(own)).ok_or_else(|| {
        let known: Vec<String> = all().map(|r| plan.name(r)).collect();
        Box::new(
            Diag::error("unknown-panel", format!("there is no panel `{wanted}`"))
                .at(mark.on.place.clone())
                .help(suggestion(wanted, known.iter().map(String::as_str))),
        )
    })
}

fn no_up(plan: &Plan, mark: &Mark, panel: PanelRef, frames: &[Vec<DAffine3>]) -> Diag {
    let stands: Vec<String> = (0..plan.pieces[panel.piece].panels.len())
        .map(|p| PanelRef { panel: p, ..panel })
        .filter(|r| Seen::of(frames[r.piece][r.panel], mark.face).stands)
        .map(|r| plan.name(r))
        .collect();
    let help = if stands.is_empty() {
        "put it on a panel that stands".to_owned()
    } else {
        format!("panels that stand: {}", stands.join(", "))
    };
    let message = format!(
        "`{}` lies flat in the finished case: arrows on it cannot show which way is up",
        plan.name(panel)
    );
    Diag::error("no-up", message)
        .at(mark.on.place.clone())
        .help(help)
}

fn does_not_fit(
    plan: &Plan,
    mark: &Mark,
    panel: PanelRef,
    trouble: Trouble,
    size: DVec2,
    height: Length,
    fits: impl Fn(f64) -> bool,
) -> Diag {
    let show = |mm: f64| LengthUnit::Mm.show(Length::mm(mm));
    let near = match trouble {
        Trouble::Edge => "an edge or crease of it",
        Trouble::CutOut => "a cut-out in it",
        Trouble::Slit => "a slit in it",
        Trouble::Mark => "another mark on it",
    };
    let d = Diag::error(
        "mark-does-not-fit",
        format!(
            "this mark is {} wide and {} high, and on `{}` it would come nearer than {} to {near}",
            show(size.x),
            show(size.y),
            plan.name(panel),
            LengthUnit::Mm.show(MARGIN),
        ),
    )
    .at(mark.place.clone());
    // The largest half millimetre that fits at the same spot.
    let key = if matches!(mark.shown, Shown::Sign(_)) {
        "size"
    } else {
        "height"
    };
    let mut halves = (height.to_mm() * 2.0).ceil() - 1.0;
    while halves >= SMALLEST.to_mm() * 2.0 {
        if fits(halves / 2.0) {
            return d.help(format!(
                "there it fits with {key}=\"{}\"; or move it, or turn it",
                show(halves / 2.0).replace(' ', "")
            ));
        }
        halves -= 1.0;
    }
    d.help("move it, or put it on another panel")
}

/// How a face of a panel is seen: which way is up and to the right, in the panel's own coordinates.
#[derive(Clone, Copy)]
struct Seen {
    up: DVec2,
    right: DVec2,
    stands: bool,
}

impl Seen {
    /// Up on a panel that stands is up; on one that lies, up is away from the front of the case.
    fn of(frame: DAffine3, face: Face) -> Self {
        let back = frame.matrix3.transpose();
        let along = |v: DVec3| (back * v).truncate();
        let (rise, away) = (along(DVec3::Z), along(DVec3::Y));
        let stands = rise.length() >= STANDS;
        let clean = |v: f64| if v.abs() < 1e-12 { 0.0 } else { v };
        let up = if stands { rise } else { away }.normalize_or(DVec2::Y);
        let up = DVec2::new(clean(up.x), clean(up.y)).normalize_or(DVec2::Y);
        let right = match face {
            Face::Inside => DVec2::new(up.y, -up.x),
            Face::Outside => DVec2::new(-up.y, up.x),
        };
        Self { up, right, stands }
    }
    fn local(self, p: DVec2) -> DVec2 {
        self.right * p.x + self.up * p.y
    }
    fn seen(self, p: DVec2) -> DVec2 {
        DVec2::new(self.right.dot(p), self.up.dot(p))
    }
}

/// Where a mark lies in its panel.
struct Laying {
    seen: Seen,
    turn: DVec2,
    size: DVec2,
    middle: DVec2,
    mirrored: bool,
}

impl Laying {
    fn of(blank: &Blank, panel: usize, mark: &Mark, turn: Angle, seen: Seen, size: DVec2) -> Self {
        let c = blank.panels[panel].clear;
        let corners = [
            c.min,
            DVec2::new(c.max.x, c.min.y),
            c.max,
            DVec2::new(c.min.x, c.max.y),
        ];
        let span = corners
            .iter()
            .fold(Rect::EMPTY, |r, p| r.with(seen.seen(*p)));
        let turn = turned(turn.to_rad());
        let half = DVec2::new(
            size.x * turn.x.abs() + size.y * turn.y.abs(),
            size.x * turn.y.abs() + size.y * turn.x.abs(),
        ) / 2.0;
        let middle = match mark.spot {
            Spot::At(way) => {
                let way = DVec2::new(f64::from(way[0]), f64::from(way[1]));
                let free = span.size() / 2.0 - half - DVec2::splat(MARGIN.to_mm());
                span.centre() + way * free.max(DVec2::ZERO)
            }
            Spot::From([x, y]) => span.min + DVec2::new(x.to_mm(), y.to_mm()),
        };
        Self {
            seen,
            turn,
            size,
            middle: seen.local(middle),
            mirrored: mark.face == Face::Outside,
        }
    }
    fn point(&self, p: DVec2) -> DVec2 {
        let from_middle = p - self.size / 2.0;
        self.middle + self.seen.local(self.turn.rotate(from_middle))
    }
    fn path(&self, path: &Path) -> Path {
        let vertices = path.vertices.iter().map(|v| Vertex {
            at: self.point(v.at),
            bulge: if self.mirrored { -v.bulge } else { v.bulge },
        });
        Path {
            vertices: vertices.collect(),
            closed: path.closed,
        }
    }
    fn ring(&self) -> [DVec2; 4] {
        let s = self.size;
        [DVec2::ZERO, DVec2::new(s.x, 0.0), s, DVec2::new(0.0, s.y)].map(|p| self.point(p))
    }
}

/// The unit vector at an angle, exact at quarter turns.
fn turned(angle: f64) -> DVec2 {
    let quarters = angle / std::f64::consts::FRAC_PI_2;
    let near = quarters.round();
    if (quarters - near).abs() > 1e-9 {
        return DVec2::from_angle(angle);
    }
    match near.rem_euclid(4.0) {
        q if q < 0.5 => DVec2::X,
        q if q < 1.5 => DVec2::Y,
        q if q < 2.5 => DVec2::NEG_X,
        _ => DVec2::NEG_Y,
    }
}
