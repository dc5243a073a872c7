//! A gallery of styles: each flat, half closed and folded at a size that suits it, with what it is
//! good for, as a page of text and pictures for reading.

use std::fmt::Write as _;
use std::sync::Arc;

use super::picture::{View, in_room, picture};
use super::png::png;
use super::scene::{Anchor, Scene, ToPage, num};
use super::svg::face_up;
use crate::blank::{Blank, SoundPlan};
use crate::board::Board;
use crate::brief::equipped;
use crate::check::{Verdict, check};
use crate::diag::Diag;
use crate::fold::{Folder, Pose};
use crate::geom::{DVec2, Path, Rect};
use crate::proof::plain;
use crate::style::{FAMILIES, Style, Suits};
use crate::units::{Length, trimmed};

/// Inside sizes that are shown, in mm, tried in turn.
const SIZES: [[f64; 3]; 5] = [
    [300.0, 200.0, 150.0],
    [300.0, 220.0, 80.0],
    [250.0, 150.0, 60.0],
    [320.0, 240.0, 50.0],
    [400.0, 300.0, 120.0],
];
/// The size tried first for what is used for flat goods, for tall ones, for long ones.
const FLAT: [f64; 3] = [300.0, 220.0, 80.0];
const TALL: [f64; 3] = [240.0, 180.0, 240.0];
const LONG: [f64; 3] = [480.0, 160.0, 120.0];
/// A picture's page in mm.
const PAGE: DVec2 = DVec2::new(120.0, 90.0);
/// Clear margin of a flat picture.
const MARGIN: f64 = 3.0;
/// Lines of a flat picture over those of a page 300 mm long, and its letters in mm.
const UNIT: f64 = 0.6;
const EM: f64 = 3.2;
/// Pictures side by side on the sheet, and its breadth in pixels.
const COLUMNS: usize = 6;
const SHEET_PIXELS: u32 = 1500;
/// Height of what is written under a picture of the sheet, in page mm.
const CAPTION: f64 = 12.0;
/// Breadth of a picture in the page, in pixels.
const SHOWN_PIXELS: u32 = 420;

/// A style with its pictures.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The style.
    pub style: Arc<Style>,
    /// The board it is shown in.
    pub board: String,
    /// The clear inside size it is shown at.
    pub inside: [Length; 3],
    /// Its blanks, those that are alike only once.
    pub flat: Scene,
    /// Half through its last step; `None` for what has no such step or stays open.
    pub closing: Option<Scene>,
    /// As it stands when finished.
    pub folded: Scene,
}

/// A style at the first size that holds in this board; `None` when none does.
#[must_use]
pub fn entry(style: &Arc<Style>, board: &Board) -> Option<Entry> {
    let uses = |word: &str| {
        let s = style.suits.as_ref();
        s.is_some_and(|s| s.uses.iter().any(|u| u == word))
    };
    let first = if uses("flat") || uses("books") {
        FLAT
    } else if uses("tall") || uses("bottles") {
        TALL
    } else if uses("long") {
        LONG
    } else {
        SIZES[0]
    };
    std::iter::once(first).chain(SIZES).find_map(|size| {
        let inside = size.map(Length::mm);
        let brief = equipped(
            plain(style, board, inside),
            Arc::clone(style),
            board.clone(),
        );
        let plan = brief.plan().ok()?.validated().ok()?;
        let folder = Folder::new(&plan);
        let report = check(&brief, &folder);
        let fails = report.findings.iter().any(|f| f.verdict == Verdict::Fail);
        (!fails).then(|| drawn(style, &board.name, inside, &plan, &folder))
    })
}

fn drawn(
    style: &Arc<Style>,
    board: &str,
    inside: [Length; 3],
    plan: &SoundPlan,
    folder: &Folder<'_>,
) -> Entry {
    let look = |mut pose: Pose| {
        pose.moved.clear();
        pose.shown_up = pose.up;
        let (w, h) = (PAGE.x, PAGE.y);
        // At this size the flutes would be a grey smear.
        let view = View {
            flutes: false,
            ..View::default()
        };
        let seen = if plan.room.leaves.is_empty() {
            picture(&pose, None, &view, w, h)
        } else {
            in_room(&pose, &folder.room, &view, w, h)
        };
        on_white(seen)
    };
    let last = plan.stages.len();
    let open = style.suits.as_ref().is_some_and(|s| s.closing == "open");
    let closes = plan.stages.last().is_some_and(|s| {
        let turns = !open && !s.turns.is_empty();
        turns || !s.enters.is_empty()
    });
    Entry {
        style: Arc::clone(style),
        board: board.to_owned(),
        inside,
        flat: flat(&plan.blanks().iter().map(|b| &**b).collect::<Vec<_>>()),
        closing: (closes && plan.room.leaves.is_empty())
            .then(|| look(folder.pose_within(last, 0.5))),
        folded: look(folder.pose(last)),
    }
}

fn on_white(picture: Scene) -> Scene {
    let mut scene = Scene::new(picture.width, picture.height);
    let page = Path::rect(Rect {
        min: DVec2::ZERO,
        max: DVec2::new(picture.width, picture.height),
    });
    scene.shape(vec![page], Some("#ffffff"), None);
    scene.put(picture, DVec2::ZERO);
    scene
}

/// Blanks in rows, as large as the page allows; of blanks that are alike the first, with how many.
fn flat(blanks: &[&Blank]) -> Scene {
    let mut kinds: Vec<(&Blank, usize)> = Vec::new();
    for &b in blanks {
        match kinds.iter_mut().find(|(k, _)| k.lines() == b.lines()) {
            Some((_, n)) => *n += 1,
            None => kinds.push((b, 1)),
        }
    }
    let several = blanks.len() > 1;
    let under = if several { 1.8 * EM } else { 0.0 };
    // Scale, rows and their sizes for each number of blanks in a row; the largest scale wins.
    let laid = |columns: usize| {
        let rows: Vec<&[(&Blank, usize)]> = kinds.chunks(columns).collect();
        let size = |b: &Blank| b.bounds.size();
        let wide = |row: &[(&Blank, usize)]| row.iter().map(|(b, _)| size(b).x).sum::<f64>();
        let high = |row: &[(&Blank, usize)]| row.iter().map(|(b, _)| size(b).y).fold(0.0, f64::max);
        #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
        let (n, m) = (columns as f64, rows.len() as f64);
        let across = rows.iter().map(|r| wide(r)).fold(0.0, f64::max);
        let up: f64 = rows.iter().map(|r| high(r)).sum();
        let scale = ((PAGE.x - MARGIN * (n + 1.0)) / across)
            .min((PAGE.y - (MARGIN + under) * m - MARGIN) / up);
        let rows: Vec<(f64, &[(&Blank, usize)])> = rows.iter().map(|r| (high(r), *r)).collect();
        (scale, up, rows)
    };
    let mut scene = on_white(Scene::new(PAGE.x, PAGE.y));
    let best = (1..=kinds.len()).map(laid);
    let Some((scale, up, rows)) = best.max_by(|a, b| a.0.total_cmp(&b.0)) else {
        return scene;
    };
    #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
    let spare = PAGE.y - scale * up - under * rows.len() as f64;
    #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
    let gap = spare / (rows.len() + 1) as f64;
    let mut top = gap;
    for (high, row) in rows {
        let wide: f64 = row.iter().map(|(b, _)| scale * b.bounds.size().x).sum();
        #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
        let between = (PAGE.x - wide) / (row.len() + 1) as f64;
        let mut left = between;
        for (blank, count) in row {
            let bounds = blank.bounds;
            let origin = DVec2::new(left - scale * bounds.min.x, top + scale * bounds.max.y);
            face_up(&mut scene, blank, ToPage { origin, scale }, (UNIT, EM));
            let size = scale * bounds.size();
            if several {
                let name = if *count > 1 {
                    format!("{} ({count} alike)", blank.piece)
                } else {
                    blank.piece.clone()
                };
                let at = DVec2::new(left + 0.5 * size.x, top + size.y + 1.3 * EM);
                scene.text(at, EM, Anchor::Middle, name);
            }
            left += size.x + between;
        }
        top += scale * high + under + gap;
    }
    scene
}

/// Words for a family: heading and what it holds.
fn family(word: &str) -> (&'static str, &'static str) {
    match word {
        "slotted" => (
            "Slotted cases",
            "a tube of four walls, closed by flaps that are parted by slots",
        ),
        "telescope" => (
            "Telescope cases",
            "a body and a separate lid or caps that slide over it",
        ),
        "folder" => ("Folders and wraps", "one sheet wrapped round the goods"),
        "tray" => (
            "Trays",
            "walls folded up from a floor, some with a hinged lid",
        ),
        "slide" => ("Slides", "sleeves, and trays that slide in them"),
        "rigid" => (
            "Rigid cases",
            "ends of their own, joined to a body that is wrapped round them",
        ),
        "ready-glued" => (
            "Ready-glued cases",
            "glued in the works, delivered flat, set up in one movement",
        ),
        "interior" => (
            "Fitments",
            "what goes into a case; the size is the inside of that case, drawn in dashes",
        ),
        _ => ("Others", "what says nothing of its family"),
    }
}

fn family_of(style: &Style) -> &str {
    style.suits.as_ref().map_or("", |s| s.family.as_str())
}

/// Entries in the order of the gallery: by family, those with a case code first, then by title.
#[must_use]
pub fn sorted(mut entries: Vec<Entry>) -> Vec<Entry> {
    let key = |e: &Entry| {
        let own = family_of(&e.style);
        let place = FAMILIES.iter().position(|f| *f == own);
        let code = e.style.code.clone().unwrap_or_else(|| "~".to_owned());
        (
            place.unwrap_or(FAMILIES.len()),
            code,
            e.style.title.clone(),
            e.style.name.clone(),
        )
    };
    entries.sort_by_key(key);
    entries
}

/// Every file of the gallery with its name in the folder: the page, the pictures, the sheet.
///
/// # Errors
/// `png-failed` when the sheet cannot be drawn.
pub fn files(entries: &[Entry]) -> Result<Vec<(String, Vec<u8>)>, Diag> {
    let mut out = vec![("styles-gallery.md".to_owned(), page(entries).into_bytes())];
    for e in entries {
        let pictures = [
            ("flat", Some(&e.flat)),
            ("closing", e.closing.as_ref()),
            ("folded", Some(&e.folded)),
        ];
        for (word, scene) in pictures {
            if let Some(scene) = scene {
                let name = picture_name(e, word);
                out.push((name, scene.clone().rounded(2).to_svg().into_bytes()));
            }
        }
    }
    out.push((
        "pictures/styles.png".to_owned(),
        png(&sheet(entries), SHEET_PIXELS)?,
    ));
    Ok(out)
}

fn picture_name(e: &Entry, word: &str) -> String {
    format!("gallery/{}-{word}.svg", e.style.name)
}

/// Every style in one picture: half closed where there is such a picture, else folded.
#[must_use]
pub fn sheet(entries: &[Entry]) -> Scene {
    let cell = PAGE + DVec2::new(6.0, CAPTION + 4.0);
    let rows = entries.len().div_ceil(COLUMNS).max(1);
    #[allow(clippy::cast_precision_loss, reason = "some dozens")]
    let at = |column: usize, row: usize| cell * DVec2::new(column as f64, row as f64);
    let all = at(COLUMNS, rows);
    let mut scene = on_white(Scene::new(all.x, all.y));
    for (n, e) in entries.iter().enumerate() {
        let corner = at(n % COLUMNS, n / COLUMNS) + 3.0;
        scene.put(e.closing.as_ref().unwrap_or(&e.folded).clone(), corner);
        let under = corner + DVec2::new(0.5 * PAGE.x, PAGE.y + 9.0);
        scene.text(under, 8.5, Anchor::Middle, e.style.name.clone());
    }
    scene
}

/// The page, in Markdown.
#[must_use]
pub fn page(entries: &[Entry]) -> String {
    let mut s = String::new();
    let _ = writeln!(
        s,
        "<!-- Written by `boxwright style gallery`; change the styles, not this page. -->\n\n\
         # The styles\n\n\
         {} styles come with the program. Each is shown flat with its inside face up, most halfway\n\
         through the last step, and as it stands when folded. `boxwright list styles` finds one by what\n\
         is needed of it, `boxwright new NAME` begins a job. Creases that fold inward are blue, those\n\
         that fold outward violet. A load is a rule of thumb, no test of your board.\n",
        entries.len()
    );
    let mut families: Vec<&str> = Vec::new();
    for e in entries {
        let own = family_of(&e.style);
        if !families.contains(&own) {
            families.push(own);
        }
    }
    for own in &families {
        let (heading, _) = family(own);
        let anchor = heading.to_lowercase().replace(' ', "-");
        let names: Vec<String> = entries
            .iter()
            .filter(|e| family_of(&e.style) == *own)
            .map(|e| format!("[{0}](#{0})", e.style.name))
            .collect();
        let _ = writeln!(s, "- [{heading}](#{anchor}): {}", names.join(" · "));
    }
    for own in &families {
        let (heading, what) = family(own);
        let _ = writeln!(s, "\n## {heading}\n\n`{own}`: {what}.");
        for e in entries.iter().filter(|e| family_of(&e.style) == *own) {
            told(&mut s, e);
        }
    }
    s
}

fn told(s: &mut String, e: &Entry) {
    let style = &e.style;
    let _ = writeln!(s, "\n### {}\n", style.name);
    let code = style.code.as_ref();
    let code = code.map_or_else(String::new, |c| format!(", case code {c}"));
    let _ = writeln!(
        s,
        "**{}**{code}: {}.\n",
        plain_text(&style.title),
        sentence(&style.purpose)
    );
    if let Some(suits) = &style.suits {
        suited(s, suits);
    }
    let image = |s: &mut String, word: &str, what: &str| {
        let _ = writeln!(
            s,
            "<img src=\"{}\" width=\"{SHOWN_PIXELS}\" alt=\"{}, {what}\">",
            picture_name(e, word),
            plain_text(&style.title)
        );
    };
    image(s, "flat", "flat");
    if e.closing.is_some() {
        image(s, "closing", "halfway through the last step");
    }
    image(s, "folded", "folded");
    let [l, w, d] = e.inside.map(|l| num(l.to_mm()));
    let _ = writeln!(
        s,
        "\nShown at {l} x {w} x {d} mm inside, in {} board.",
        e.board
    );
}

fn suited(s: &mut String, suits: &Suits) {
    let closing = match suits.closing.as_str() {
        "tape" => "closed with tape",
        "glue" => "closed with glue",
        "tuck" => "closed by tucking in",
        "lock" => "closed by locking tabs",
        "lid" => "closed by a lid",
        _ => "left open",
    };
    let opening = if suits.opening == "again" {
        "to open again and again"
    } else {
        "opened by cutting"
    };
    let folding = match suits.folding.as_str() {
        "hand" => "folded by hand",
        "machine" => "folded by machine",
        _ => "folded by hand or machine",
    };
    let load = trimmed(suits.load.to_kg(), 2);
    let (good, bad) = (sentence(&suits.good), sentence(&suits.bad));
    let (stacking, uses) = (&suits.stacking, suits.uses.join(", "));
    let _ = writeln!(
        s,
        "- Good: {good}.\n- Bad: {bad}.\n- How: {closing}, {opening}; {folding}; stacks {stacking}; \
         usual up to {load} kg.\n- For: {uses}.\n"
    );
}

/// Without its last stop.
fn sentence(text: &str) -> String {
    plain_text(text.trim_end_matches('.'))
}

/// Text that means nothing else in Markdown.
fn plain_text(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_control() {
            out.push(' ');
        } else {
            if matches!(c, '<' | '&' | '*' | '_' | '`' | '[' | '\\') {
                out.push('\\');
            }
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emit::sample::{slotted, tuck};

    #[test]
    fn blanks_that_are_alike_are_drawn_once() {
        let (a, b) = (slotted(), tuck());
        let words = |s: &Scene, word: &str| s.to_svg().matches(word).count();
        let three = flat(&[&a, &b, &a]);
        assert_eq!(words(&three, "(2 alike)"), 1);
        assert_eq!(words(&flat(&[&a]), "alike"), 0);
        // Everything lies on the page.
        for item in &three.items {
            if let super::super::scene::Item::Shape { paths, .. } = item {
                for p in paths.iter().flat_map(|p| &p.vertices) {
                    assert!(
                        p.at.cmpge(DVec2::ZERO).all() && p.at.cmple(PAGE).all(),
                        "{p:?}"
                    );
                }
            }
        }
        assert!(flat(&[]).items.len() == 1);
    }

    #[test]
    fn text_of_a_style_means_nothing_else_on_the_page() {
        assert_eq!(plain_text("a_b <i>\u{7}"), "a\\_b \\<i> ");
        assert_eq!(sentence("So."), "So");
    }
}
