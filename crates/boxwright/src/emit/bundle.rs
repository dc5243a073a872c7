//! Every file of a case, as names and bytes: what a face offers for download or writes to a folder.

use super::drawing::{DrawingOptions, TitleBlock, drawing};
use super::dxf::{DxfOptions, dxf};
use super::glb;
use super::instructions::{self, instructions};
use super::pdf::{pdf, true_size};
use super::picture::{View, picture};
use super::png::png;
use super::report::{Told, report};
use super::scene::Scene;
use super::svg::{SvgOptions, svg};
use super::tiles::{Paper, tiles};
use crate::blank::{Blank, SoundPlan};
use crate::brief::Brief;
use crate::check::{self, Verdict};
use crate::diag::Diag;
use crate::fold::{Folder, Pose, Room};
use crate::geom::DVec2;
use crate::units::LengthUnit;

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Lines to cut and crease, one file a piece.
    Dxf,
    /// The same as SVG.
    Svg,
    /// The blank with its sizes on a drawing sheet.
    Drawing,
    /// The blank 1 : 1 on one page.
    TrueSize,
    /// The blank 1 : 1 over pages to tape together.
    Tiles,
    /// Folding instructions.
    Fold,
    /// A picture of the folded case.
    Preview,
    /// The folded case as a solid.
    Glb,
    /// Everything asked, drawn and found, as JSON.
    Report,
}

impl Kind {
    /// Every kind, in the order the files are made.
    pub const ALL: [Self; 9] = [
        Self::Dxf,
        Self::Svg,
        Self::Drawing,
        Self::TrueSize,
        Self::Tiles,
        Self::Fold,
        Self::Preview,
        Self::Glb,
        Self::Report,
    ];
    /// The word a user writes.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dxf => "dxf",
            Self::Svg => "svg",
            Self::Drawing => "drawing",
            Self::TrueSize => "true-size",
            Self::Tiles => "tiles",
            Self::Fold => "fold",
            Self::Preview => "preview",
            Self::Glb => "glb",
            Self::Report => "report",
        }
    }
    /// What it is, in a few words for a list.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Dxf => "Cut and crease lines (DXF)",
            Self::Svg => "Cut and crease lines (SVG)",
            Self::Drawing => "Drawing with sizes (PDF)",
            Self::TrueSize => "Blank at true size on one page (PDF)",
            Self::Tiles => "Blank at true size over pages to tape together (PDF)",
            Self::Fold => "Folding instructions (PDF)",
            Self::Preview => "Picture of the folded case (PNG)",
            Self::Glb => "Folded case as a solid (GLB)",
            Self::Report => "Everything measured (JSON)",
        }
    }
    /// Whether there is one file for each piece.
    #[must_use]
    pub const fn is_of_pieces(self) -> bool {
        matches!(
            self,
            Self::Dxf | Self::Svg | Self::Drawing | Self::TrueSize | Self::Tiles
        )
    }
    /// Whether a cutter or laser reads it.
    #[must_use]
    pub const fn is_cut_file(self) -> bool {
        matches!(self, Self::Dxf | Self::Svg)
    }
}

/// What is made, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct BundleOptions {
    /// Which kinds; their order does not matter.
    pub kinds: Vec<Kind>,
    /// Unit of sizes on drawings and in the words on pages.
    pub unit: LengthUnit,
    /// Stage that the preview and the solid show; the finished case when `None`.
    pub stage: Option<usize>,
    /// How DXF files are written.
    pub dxf: DxfOptions,
    /// Paper of the tiled pages, and of the instructions when it is letter paper.
    pub paper: Paper,
    /// Scale of the drawing as `n` of 1 : n; chosen to fit when `None`.
    pub scale: Option<f64>,
}

impl Default for BundleOptions {
    fn default() -> Self {
        Self {
            kinds: Kind::ALL.to_vec(),
            unit: LengthUnit::Mm,
            stage: None,
            dxf: DxfOptions::default(),
            paper: Paper::A4,
            scale: None,
        }
    }
}

/// The files of a case.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bundle {
    /// Name and bytes; the report comes last.
    pub files: Vec<(String, Vec<u8>)>,
    /// Files that make no sense for this case, each with why, as warnings.
    pub left_out: Vec<Diag>,
}

/// More tiled pages than anyone tapes together.
pub const MOST_TILES: f64 = 400.0;
/// Size of the preview in page mm and in pixels.
const PREVIEW: (f64, f64, u32) = (240.0, 180.0, 1600);
/// Bare page round the preview in mm.
const BORDER: f64 = 8.0;

/// The names of the files that [`bundle`] makes, by kind, in the same order and without making
/// any. Kinds of which nothing would be written are left out.
///
/// # Errors
/// As [`bundle`].
pub fn names(
    brief: &Brief,
    plan: &SoundPlan,
    folder: &Folder<'_>,
    found: &check::Report,
    opts: &BundleOptions,
) -> Result<Vec<(Kind, Vec<String>)>, Diag> {
    let maker = Maker::new(brief, plan, folder, found, opts)?;
    let mut out = Vec::new();
    for kind in Kind::ALL.into_iter().filter(|k| opts.kinds.contains(k)) {
        let names: Vec<String> = if kind.is_of_pieces() {
            let pieces = plan.blanks().iter().enumerate();
            pieces
                .filter(|(_, blank)| maker.no_use(kind, blank).is_none())
                .map(|(i, _)| maker.name(kind, i))
                .collect()
        } else if kind == Kind::Glb && glb::refused(&maker.pose(), maker.room()).is_some() {
            Vec::new()
        } else {
            vec![maker.name(kind, 0)]
        };
        if !names.is_empty() {
            out.push((kind, names));
        }
    }
    Ok(out)
}

/// The name of one file; `piece` counts pieces where there is one file for each.
#[must_use]
pub fn name(
    brief: &Brief,
    plan: &SoundPlan,
    kind: Kind,
    piece: usize,
    opts: &BundleOptions,
) -> String {
    file_name(
        &stem(&brief.job.title),
        &parts(plan),
        kind,
        piece,
        opts.paper,
    )
}

fn file_name(stem: &str, parts: &[String], kind: Kind, piece: usize, paper: Paper) -> String {
    let part = |tail: &str| {
        let part = parts.get(piece).map_or("", String::as_str);
        format!("{stem}-{part}{tail}")
    };
    match kind {
        Kind::Dxf => part(".dxf"),
        Kind::Svg => part(".svg"),
        Kind::Drawing => part("-drawing.pdf"),
        Kind::TrueSize => part("-true-size.pdf"),
        Kind::Tiles => part(&format!("-tiles-{}.pdf", paper_word(paper))),
        Kind::Fold => format!("{stem}-fold.pdf"),
        Kind::Preview => format!("{stem}-preview.png"),
        Kind::Glb => format!("{stem}.glb"),
        Kind::Report => format!("{stem}-report.json"),
    }
}

/// Makes the files.
///
/// # Errors
/// `unknown-stage` when the case has no such stage, or the error of the writer that failed.
pub fn bundle(
    brief: &Brief,
    plan: &SoundPlan,
    folder: &Folder<'_>,
    found: &check::Report,
    opts: &BundleOptions,
) -> Result<Bundle, Diag> {
    let maker = Maker::new(brief, plan, folder, found, opts)?;
    let mut out = Bundle::default();
    for kind in Kind::ALL.into_iter().filter(|k| opts.kinds.contains(k)) {
        maker.add(kind, &mut out)?;
    }
    Ok(out)
}

fn stage(plan: &SoundPlan, asked: Option<usize>) -> Result<usize, Diag> {
    let last = plan.stages.len();
    match asked {
        Some(n) if n > last => {
            let list: Vec<String> = std::iter::once("0 flat".to_owned())
                .chain(
                    plan.stages
                        .iter()
                        .enumerate()
                        .map(|(i, s)| format!("{} {}", i + 1, s.title.to_lowercase())),
                )
                .collect();
            Err(
                Diag::error("unknown-stage", format!("this case has no stage {n}"))
                    .help(format!("the stages are: {}", list.join(", "))),
            )
        }
        Some(n) => Ok(n),
        None => Ok(last),
    }
}

/// A name for files: letters and digits of the title in lower case, everything else a hyphen.
#[must_use]
pub fn stem(title: &str) -> String {
    let mut out = String::new();
    for c in title.chars().flat_map(char::to_lowercase) {
        if out.len() + c.len_utf8() > LONGEST_STEM {
            break;
        }
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    let out = out.trim_end_matches('-');
    let device = |d: &str| {
        out.strip_prefix(d)
            .is_some_and(|n| n.len() == 1 && n.chars().all(|c| c.is_ascii_digit()))
    };
    if out.is_empty() {
        "case".to_owned()
    } else if matches!(out, "con" | "prn" | "aux" | "nul") || device("com") || device("lpt") {
        // Some systems keep these names for devices, whatever comes after a full stop.
        format!("case-{out}")
    } else {
        out.to_owned()
    }
}

/// Longest stem in bytes, so that every file name stays under what file systems take.
const LONGEST_STEM: usize = 60;

/// File-safe names of the pieces, told apart by a number where they would be the same.
fn parts(plan: &SoundPlan) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for blank in plan.blanks() {
        let base = stem(&blank.piece);
        let mut name = base.clone();
        let mut n = 2;
        while out.contains(&name) {
            name = format!("{base}-{n}");
            n += 1;
        }
        out.push(name);
    }
    out
}

struct Maker<'a> {
    brief: &'a Brief,
    plan: &'a SoundPlan,
    folder: &'a Folder<'a>,
    found: &'a check::Report,
    opts: &'a BundleOptions,
    stage: usize,
    stem: String,
    parts: Vec<String>,
}

impl<'a> Maker<'a> {
    fn new(
        brief: &'a Brief,
        plan: &'a SoundPlan,
        folder: &'a Folder<'a>,
        found: &'a check::Report,
        opts: &'a BundleOptions,
    ) -> Result<Self, Diag> {
        Ok(Self {
            brief,
            plan,
            folder,
            found,
            opts,
            stage: stage(plan, opts.stage)?,
            stem: stem(&brief.job.title),
            parts: parts(plan),
        })
    }

    fn add(&self, kind: Kind, out: &mut Bundle) -> Result<(), Diag> {
        match kind {
            Kind::Fold => {
                let pages = self.instructions();
                let title = format!("{}: folding", self.title());
                out.files.push((self.name(kind, 0), pdf(&pages, &title)?));
            }
            Kind::Preview => {
                let (w, h, px) = PREVIEW;
                let mut pose = self.pose();
                if self.stage == self.folder.plan.stages.len() {
                    // Finished, it stands as it will be used.
                    pose.shown_up = pose.up;
                }
                // A picture on its own: nothing has moved since another one.
                pose.moved.clear();
                let view = View::default();
                let drawn = picture(&pose, None, &view, w - 2.0 * BORDER, h - 2.0 * BORDER);
                let mut scene = Scene::new(w, h);
                scene.put(drawn, DVec2::splat(BORDER));
                out.files.push((self.name(kind, 0), png(&scene, px)?));
            }
            Kind::Glb => {
                let name = self.name(kind, 0);
                match glb::glb(&self.pose(), self.room()) {
                    Ok(bytes) => out.files.push((name, bytes)),
                    Err(why) => out.left_out.push(left_out(&name, &why.message)),
                }
            }
            Kind::Report => {
                let own = self.name(kind, 0);
                let mut names: Vec<String> = out.files.iter().map(|(n, _)| n.clone()).collect();
                names.push(own.clone());
                let told = Told::folded(self.folder, self.found);
                let text = report(self.brief, self.plan, &told, &names).to_json()?;
                out.files.push((own, text.into_bytes()));
            }
            Kind::Dxf | Kind::Svg | Kind::Drawing | Kind::TrueSize | Kind::Tiles => {
                for (i, blank) in self.plan.blanks().iter().enumerate() {
                    self.flat(kind, i, blank, out)?;
                }
            }
        }
        Ok(())
    }

    /// A file of one flat piece.
    fn flat(&self, kind: Kind, i: usize, blank: &Blank, out: &mut Bundle) -> Result<(), Diag> {
        let titled = || Blank {
            piece: format!("{}: {}", self.title(), blank.piece),
            ..blank.clone()
        };
        let name = self.name(kind, i);
        if let Some(why) = self.no_use(kind, blank) {
            out.left_out.push(left_out(&name, &why));
            return Ok(());
        }
        let bytes = match kind {
            Kind::Dxf => dxf(blank, &self.opts.dxf).into_bytes(),
            Kind::Svg => svg(&titled(), &SvgOptions::default()).into_bytes(),
            Kind::Drawing => {
                let opts = DrawingOptions {
                    unit: self.opts.unit,
                    scale: self.opts.scale,
                    ..DrawingOptions::default()
                };
                let title = self.title_block(i);
                let page = drawing(blank, &title, &opts);
                pdf(&[page], &titled().piece)?
            }
            Kind::TrueSize => {
                let blank = titled();
                pdf(&[true_size(&blank)?], &blank.piece)?
            }
            Kind::Tiles => {
                let blank = titled();
                let pages = tiles(&blank, self.opts.paper);
                pdf(&pages, &blank.piece)?
            }
            _ => return Ok(()),
        };
        out.files.push((name, bytes));
        Ok(())
    }

    /// The case as the preview and the solid show it.
    fn pose(&self) -> Pose {
        self.folder.pose(self.stage)
    }

    /// The room that the solid shows.
    const fn room(&self) -> Option<&'a Room> {
        Some(&self.folder.room)
    }

    fn name(&self, kind: Kind, i: usize) -> String {
        file_name(&self.stem, &self.parts, kind, i, self.opts.paper)
    }

    /// Why a file of this kind makes no sense for a piece.
    fn no_use(&self, kind: Kind, blank: &Blank) -> Option<String> {
        match kind {
            Kind::TrueSize => true_size(blank).err().map(|why| why.message),
            Kind::Tiles => {
                let about = pages_about(blank, self.opts.paper);
                let word = paper_word(self.opts.paper);
                (about > MOST_TILES)
                    .then(|| format!("it would take about {about:.0} pages of {word}"))
            }
            _ => None,
        }
    }

    fn title(&self) -> &str {
        &self.brief.job.title
    }

    fn title_block(&self, i: usize) -> TitleBlock {
        let facts = &self.brief.job.drawing;
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let fitment = self.plan.fitment_of(i);
        let inside = fitment.map_or(self.brief.job.inside, |f| self.plan.fitments[f].room.asked);
        TitleBlock {
            owner: facts.owner.clone(),
            number: facts.number.clone(),
            date: facts.date.clone(),
            title: self.title().to_owned(),
            creator: facts.creator.clone(),
            approved: facts.approved.clone(),
            document_type: String::new(),
            sheet: count(i + 1),
            sheets: count(self.plan.blanks().len()),
            inside: Some(inside),
        }
    }

    fn instructions(&self) -> Vec<Scene> {
        let poses: Vec<_> = (0..=self.plan.stages.len())
            .map(|s| self.folder.pose(s))
            .collect();
        let style = &self.plan.style;
        let unit = self.opts.unit;
        let [l, w, d] = self.brief.job.inside.map(|s| unit.number(s));
        let code = style.code.as_ref().map(|c| format!(" {c}"));
        let subtitle = format!(
            "{}{}, inside {l} x {w} x {d} {}, board {} {}",
            style.title,
            code.unwrap_or_default(),
            unit.symbol(),
            self.brief.board.name,
            unit.show(self.plan.material.caliper),
        );
        let notes = notes(self.found);
        let paper = match self.opts.paper {
            Paper::Letter => instructions::Paper::Letter,
            Paper::A4 | Paper::A3 => instructions::Paper::A4,
        };
        instructions(self.title(), &subtitle, &poses, &notes, paper)
    }
}

/// Cautions for whoever folds it, each once.
fn notes(found: &check::Report) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let told = found.findings.iter();
    for f in told.filter(|f| f.verdict != Verdict::Pass) {
        if !out.contains(&f.message) {
            out.push(f.message.clone());
        }
    }
    if out.len() > MOST_NOTES {
        let more = out.len() - MOST_NOTES;
        out.truncate(MOST_NOTES);
        out.push(format!("and {more} more, all of them in the report"));
    }
    out
}

/// More cautions than this are left to the report.
const MOST_NOTES: usize = 8;

fn left_out(name: &str, why: &str) -> Diag {
    Diag::warning("left-out", format!("`{name}` is not written: {why}"))
        .help("the DXF, SVG and drawing hold the same blank")
}

/// The word for a paper in file names.
#[must_use]
pub const fn paper_word(paper: Paper) -> &'static str {
    match paper {
        Paper::A4 => "a4",
        Paper::A3 => "a3",
        Paper::Letter => "letter",
    }
}

/// About how many tiled pages a blank takes, counted with a border of 20 mm all round.
fn pages_about(blank: &Blank, paper: Paper) -> f64 {
    let need = blank.bounds.size() / (paper.size() - 40.0);
    need.x.ceil() * need.y.ceil()
}

#[cfg(test)]
mod tests {
    use super::stem;

    #[test]
    fn stems_are_safe_for_files() {
        for (title, want) in [
            ("mantel clock", "mantel-clock"),
            ("../../etc", "etc"),
            ("a/b\\c:d", "a-b-c-d"),
            ("", "case"),
            ("..", "case"),
            ("CON", "case-con"),
            ("lpt1", "case-lpt1"),
            ("Ä 12", "ä-12"),
        ] {
            assert_eq!(stem(title), want, "{title}");
        }
        assert!(stem(&"long ".repeat(2000)).len() <= 60);
    }
}
