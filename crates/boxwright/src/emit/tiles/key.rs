//! The first page: a map of the others and how to join them.

use super::{
    Anchor, Blank, CAP, DVec2, GREY, Grid, Item, LineUse, MARGIN, OVERLAP_MM, Path, Rect, Scene,
    Stroke, Tile, ToPage, check_rule, name, thin, trimmed,
};

const LINE: f64 = 6.0;

/// The key page.
pub(super) fn page(blank: &Blank, grid: &Grid, used: &[Tile]) -> Scene {
    let mut scene = Scene::new(grid.page.x, grid.page.y);
    let left = MARGIN + 5.0;
    scene.items.push(Item::Text {
        at: DVec2::new(left, 22.0),
        size: 6.5,
        anchor: Anchor::Start,
        turn: 0.0,
        bold: true,
        colour: "#000000",
        text: format!("{}: pages to tape together", blank.piece),
    });
    let all = grid.columns * grid.rows;
    let bare = u64::from(all) - used.len() as u64;
    let size = blank.bounds.size();
    let mut said = vec![
        format!(
            "{} x {} mm at full size on {} pages, inside face towards you.",
            trimmed(size.x, 1),
            trimmed(size.y, 1),
            used.len()
        ),
        "1. Print every page at full size (100 %), without fitting to the page.".to_owned(),
        "2. Measure the rule below and on each page: it must be 100 mm long.".to_owned(),
        format!(
            "3. Pages overlap by {OVERLAP_MM} mm. Trim each page along its grey frame on the left and upper side."
        ),
        "4. Lay it over its neighbours with the trimmed edge on their dashed line, so that"
            .to_owned(),
        "marks with the same number lie on each other and their arms run on. Tape.".to_owned(),
    ];
    if bare > 0 {
        said.push(format!(
            "{bare} of {all} pages carry no line and are left out; the map shows them as bare."
        ));
    }
    let letters = super::Letters::shipped();
    for (line, y) in said
        .iter()
        .zip(std::iter::successors(Some(32.0), |y| Some(y + LINE)))
    {
        let (text, em) = letters.fitted(line, 3.8, false, grid.page.x - 2.0 * left);
        scene.text(DVec2::new(left, y), em, Anchor::Start, text);
    }
    map(&mut scene, blank, grid, used, 38.0 + 7.0 * LINE);
    check_rule(
        &mut scene,
        DVec2::new(left, grid.page.y - MARGIN),
        "100 mm when printed at full size",
    );
    scene
}

fn map(scene: &mut Scene, blank: &Blank, grid: &Grid, used: &[Tile], top: f64) {
    let whole = Rect {
        min: grid.window(0, grid.rows - 1).min,
        max: grid.window(grid.columns - 1, 0).max,
    };
    let room = DVec2::new(
        scene.width - 2.0 * (MARGIN + 5.0),
        scene.height - top - MARGIN - 12.0,
    );
    let scale = (room / whole.size()).min_element().min(0.25);
    let to_page = ToPage {
        origin: DVec2::new(
            0.5 * scene.width - scale * whole.centre().x,
            top + scale * whole.max.y,
        ),
        scale,
    };
    for (line_use, path) in blank.lines() {
        if line_use == LineUse::Board {
            continue;
        }
        let heavy = line_use == LineUse::Cut;
        let stroke = Stroke {
            colour: if heavy { "#000000" } else { GREY },
            width: if heavy { 0.35 } else { 0.18 },
            dash: &[],
        };
        scene.shape(vec![to_page.path(&path)], None, Some(stroke));
    }
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let window = grid.window(column, row);
            let half = DVec2::splat(0.5 * OVERLAP_MM);
            // Drawn to the middle of the overlaps, so that the cells lie side by side.
            let cell = Rect {
                min: window.min + half,
                max: window.max - half,
            };
            let on_page = to_page.path(&Path::rect(cell));
            scene.shape(vec![on_page.clone()], None, Some(thin("#1f5fbf")));
            let size = (0.22 * scale * cell.size().min_element()).clamp(1.5, 7.0);
            let middle = to_page.point(cell.centre());
            let is_used = used.iter().any(|t| (t.column, t.row) == (column, row));
            let mut write = |text: String, size: f64, down: f64, bold: bool| {
                scene.items.push(Item::Text {
                    at: middle + DVec2::new(0.0, 0.5 * CAP * size + down),
                    size,
                    anchor: Anchor::Middle,
                    turn: 0.0,
                    bold,
                    colour: "#1f5fbf",
                    text,
                });
            };
            write(name(column, row), size, 0.0, true);
            if !is_used {
                write("bare".into(), 0.6 * size, size, false);
            }
        }
    }
}
