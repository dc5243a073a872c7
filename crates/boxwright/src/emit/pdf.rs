//! Pages as PDF, exactly true to size: a millimetre is 72/25.4 points. No date, no name of a
//! machine and no random number goes in, so the same pages give the same bytes.

use krilla::Document;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};

use super::clip::short_arcs;
use super::font;
use super::scene::{Item, Scene, Stroke, ToPage};
use super::svg::{colour, dash};
use super::tiles::check_rule;
use crate::blank::{Blank, LineUse};
use crate::diag::Diag;
use crate::geom::{DVec2, Path};

/// Longest side of a page in mm that readers accept (14400 points).
pub const LONGEST_PAGE_MM: f64 = 5080.0;

/// The pages as one PDF file under the given title.
///
/// # Errors
/// `page-too-long` when a side of a page is over [`LONGEST_PAGE_MM`] or not a size at all,
/// `pdf-failed` when the writer refuses.
pub fn pdf(pages: &[Scene], title: &str) -> Result<Vec<u8>, Diag> {
    let mut document = Document::new();
    let options = font::options();
    for scene in pages {
        fits(scene)?;
        let smooth = with_short_arcs(scene);
        let tree = usvg::Tree::from_str(&smooth.to_svg(), &options).map_err(|e| {
            Diag::error("pdf-failed", format!("a page could not be read back: {e}"))
        })?;
        let points = |mm: f64| to_f32(mm * 72.0 / 25.4);
        let refused = || Diag::error("pdf-failed", "a page could not be written");
        let size = Size::from_wh(points(scene.width), points(scene.height)).ok_or_else(refused)?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(refused)?;
        surface.finish();
        page.finish();
    }
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .language("en".into()),
    );
    document.finish().map_err(|e| {
        Diag::error(
            "pdf-failed",
            format!("the pages could not be written: {e:?}"),
        )
    })
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "the writer counts points in f32: 5080 mm are held to 0.0005 mm"
)]
const fn to_f32(v: f64) -> f32 {
    v as f32
}

fn fits(scene: &Scene) -> Result<(), Diag> {
    let long = scene.width.max(scene.height);
    let short = scene.width.min(scene.height);
    if short > 0.0 && long <= LONGEST_PAGE_MM {
        return Ok(());
    }
    let message = format!(
        "a page of {} x {} mm cannot be written: readers accept up to {LONGEST_PAGE_MM} mm a side",
        crate::units::trimmed(scene.width, 1),
        crate::units::trimmed(scene.height, 1),
    );
    Err(Diag::error("page-too-long", message)
        .help("print it on several pages, or take the DXF or SVG file to the cutter"))
}

fn with_short_arcs(scene: &Scene) -> Scene {
    let mut scene = scene.clone();
    for item in &mut scene.items {
        if let Item::Shape { paths, .. } = item {
            for p in paths {
                *p = short_arcs(p);
            }
        }
    }
    scene
}

/// How a use is drawn on a page that is true to size.
pub(super) fn true_stroke(line_use: LineUse) -> Stroke {
    Stroke {
        colour: colour(line_use),
        width: if line_use == LineUse::Cut { 0.35 } else { 0.25 },
        dash: dash(line_use),
    }
}

/// Bare page round the blank on [`true_size`], mm.
const MARGIN: f64 = 15.0;

/// The blank at 1 : 1 on one page as large as it needs, with a rule of 100 mm to check the print
/// by. The board's own rectangle is left out: nothing is cut along it.
///
/// # Errors
/// `page-too-long` when the page would be longer than readers accept.
pub fn true_size(blank: &Blank) -> Result<Scene, Diag> {
    let size = blank.bounds.size();
    let mut scene = Scene::new((size.x + 2.0 * MARGIN).max(130.0), size.y + 2.0 * MARGIN);
    fits(&scene)?;
    let page = ToPage {
        origin: DVec2::new(MARGIN - blank.bounds.min.x, MARGIN + blank.bounds.max.y),
        scale: 1.0,
    };
    draw_lines(&mut scene, &blank.lines(), page);
    check_rule(
        &mut scene,
        DVec2::new(MARGIN, size.y + 2.0 * MARGIN - 4.0),
        &format!(
            "100 mm when printed at full size; {}, inside face",
            blank.piece
        ),
    );
    Ok(scene)
}

/// Lines at true size, without the board's rectangle.
pub(super) fn draw_lines(scene: &mut Scene, lines: &[(LineUse, Path)], page: ToPage) {
    // Cut lines last, so that they lie on top.
    for line_use in LineUse::ALL.into_iter().rev() {
        if line_use == LineUse::Board {
            continue;
        }
        for (_, path) in lines.iter().filter(|(u, _)| *u == line_use) {
            scene.shape(vec![page.path(path)], None, Some(true_stroke(line_use)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emit::sample::slotted;

    fn text(bytes: &[u8]) -> String {
        String::from_utf8_lossy(bytes).into_owned()
    }

    // 1051 + 30 and 366 + 30 mm, times 72 / 25.4 points: 3064.252 and 1122.520.
    #[test]
    fn a_page_is_its_size_in_points() {
        let file = pdf(&[true_size(&slotted()).unwrap()], "body").unwrap();
        let text = text(&file);
        let at = text.find("/MediaBox").unwrap();
        let numbers: Vec<f64> = text[at..at + 80]
            .split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .filter_map(|t| t.parse().ok())
            .take(4)
            .collect();
        assert!((numbers[2] - 3_064.252).abs() < 0.002, "{numbers:?}");
        assert!((numbers[3] - 1_122.520).abs() < 0.002, "{numbers:?}");
    }

    #[test]
    fn the_same_pages_give_the_same_bytes_without_a_date() {
        let page = true_size(&slotted()).unwrap();
        let one = pdf(std::slice::from_ref(&page), "body").unwrap();
        assert_eq!(one, pdf(&[page], "body").unwrap());
        assert!(!text(&one).contains("CreationDate"));
    }

    #[test]
    fn a_blank_longer_than_readers_accept_is_refused_in_plain_words() {
        let mut blank = slotted();
        blank.bounds.max.x = 5100.0;
        let refused = true_size(&blank).unwrap_err();
        assert_eq!(refused.code, "page-too-long");
        assert!(
            refused.message.contains("5130 x 396 mm"),
            "{}",
            refused.message
        );
        assert!(pdf(&[Scene::new(6000.0, 10.0)], "x").is_err());
        assert!(pdf(&[Scene::new(f64::NAN, 10.0)], "x").is_err());
    }
}
