//! A pose drawn in lines, as on an instruction sheet: parallel projection, real board thickness,
//! hidden faces removed, the flutes as a wave on the cut sides that cross them.
//!
//! Faces that look to the reader are painted farthest first; the visible stretches of the edges
//! are worked out separately and drawn on top, so their weight can say outline, rim or fold.

mod faces;
mod lines;
mod motion;
mod painter;
mod tones;

use glam::DMat3;

use super::font::Letters;
use super::scene::{Anchor, Scene, Stroke};
use crate::fold::{Pose, Room};
use crate::geom::{DVec2, DVec3, Path, Rect};
use faces::{Face, Seen, Wave};
use lines::Weight;

/// How a picture looks at the case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// From the case towards the reader, with the pose turned so that its up is +z: x runs to the
    /// right, y away from the reader. Its length does not matter.
    pub direction: DVec3,
    /// Whether cut sides show the wave of the flutes.
    pub flutes: bool,
}

impl Default for View {
    /// From the front, above and a little to the right.
    fn default() -> Self {
        Self {
            direction: DVec3::new(0.52, -0.8, 0.66),
            flutes: true,
        }
    }
}

/// Em of the sizes round a picture, in mm.
const SIZES: f64 = 3.0;
/// Room for sizes round a picture, in mm.
const BESIDE: f64 = 8.5;
/// Clear margin round the picture in mm.
const MARGIN: f64 = 1.5;
/// A board thinner than this on the page, in mm, shows no wave.
const THINNEST_WAVE: f64 = 0.45;
/// Flutes closer than this on the page, in mm, would run together: the wave is drawn longer.
const SHORTEST_WAVE: f64 = 1.1;
/// Usual length of a flute over the caliper.
const WAVE_PER_CALIPER: f64 = 2.0;

/// The pose drawn to fit a field of `width_mm` by `height_mm` on the page. Panels named in
/// `pose.moved`, and panels that were not there in `before`, are tinted; the arrows of their motion
/// are drawn when `before` is given. An empty pose gives an empty field.
#[must_use]
pub fn picture(
    pose: &Pose,
    before: Option<&Pose>,
    view: &View,
    width_mm: f64,
    height_mm: f64,
) -> Scene {
    drawn(pose, before, None, view, width_mm, height_mm)
}

/// The pose as [`picture`] draws it, in the outline of the room it goes into.
#[must_use]
pub fn in_room(pose: &Pose, room: &Room, view: &View, width_mm: f64, height_mm: f64) -> Scene {
    drawn(pose, None, Some(room), view, width_mm, height_mm)
}

/// The finished case as [`picture`] draws it, with the sizes of the upright block round it.
///
/// `words` name length, width and depth; `from` and `to` are the block's least and greatest corner in
/// case coordinates.
#[must_use]
pub fn with_sizes(
    pose: &Pose,
    view: &View,
    (from, to): (DVec3, DVec3),
    words: &[String; 3],
    (width_mm, height_mm): (f64, f64),
) -> Scene {
    let mut scene = Scene::new(width_mm, height_mm);
    let room = DVec2::new(width_mm, height_mm) - 2.0 * DVec2::splat(BESIDE);
    let (turn, _) = faces::axes(pose, view);
    let seen = faces::seen(pose, turn);
    let points = seen.faces.iter().flat_map(|f| &f.points);
    let extent = points.fold(Rect::EMPTY, |r, p| r.with(p.truncate()));
    let Some(inner) = Fit::new(extent, room.x, room.y) else {
        return scene;
    };
    scene.put(
        picture(pose, None, view, room.x, room.y),
        DVec2::splat(BESIDE),
    );
    let corner = |k: [bool; 3]| {
        let at = DVec3::new(
            if k[0] { to.x } else { from.x },
            if k[1] { to.y } else { from.y },
            if k[2] { to.z } else { from.z },
        );
        inner.point((turn * at).truncate()) + DVec2::splat(BESIDE)
    };
    let letters = Letters::shipped();
    let centre = 0.5 * DVec2::new(width_mm, height_mm);
    for (axis, words) in words.iter().enumerate() {
        let edges = (0..4).map(|k: usize| {
            let mut end = [false; 3];
            end[(axis + 1) % 3] = k & 1 == 1;
            end[(axis + 2) % 3] = k & 2 == 2;
            let near = corner(end);
            end[axis] = true;
            [near, corner(end)]
        });
        let edges: Vec<[DVec2; 2]> = edges.collect();
        let Some(first) = edges.first() else { continue };
        let run = first[1] - first[0];
        // Upright edges are measured at the left, the others below.
        let upright = run.y.abs() > 2.0 * run.x.abs();
        let rank = |e: &[DVec2; 2]| {
            let m = 0.5 * (e[0] + e[1]);
            if upright { -m.x } else { m.y }
        };
        let best = edges.iter().max_by(|a, b| rank(a).total_cmp(&rank(b)));
        let Some(edge) = best else { continue };
        let across = DVec2::new(-run.y, run.x).normalize_or_zero();
        let outward = 0.5 * (edge[0] + edge[1]) - centre;
        let off = if across.dot(outward) < 0.0 {
            -across
        } else {
            across
        };
        let wide = letters.width(words, SIZES, false);
        if run.length() > wide + 1.0 {
            super::load::dimension(&mut scene, *edge, 4.5 * off, words);
            continue;
        }
        // Too short for its words: they stand beside it.
        super::load::dimension(&mut scene, *edge, 4.5 * off, "");
        let ends = edge.map(|e| e + 4.5 * off);
        let high = ends[0].y.min(ends[1].y);
        let (at, anchor) = if upright {
            (DVec2::new(edge[0].x - 1.0, high - 1.5), Anchor::End)
        } else if off.x < 0.0 {
            let out = ends[0].x.min(ends[1].x) - 1.5;
            let middle = 0.5 * (ends[0].y + ends[1].y) + 0.36 * SIZES;
            (DVec2::new(out, middle), Anchor::End)
        } else {
            let out = ends[0].x.max(ends[1].x) + 1.5;
            let middle = 0.5 * (ends[0].y + ends[1].y) + 0.36 * SIZES;
            (DVec2::new(out, middle), Anchor::Start)
        };
        scene.text(at, SIZES, anchor, words.clone());
    }
    scene
}

fn drawn(
    pose: &Pose,
    before: Option<&Pose>,
    room: Option<&Room>,
    view: &View,
    width_mm: f64,
    height_mm: f64,
) -> Scene {
    let mut scene = Scene::new(width_mm, height_mm);
    let (turn, upright) = faces::axes(pose, view);
    let seen = faces::seen(pose, turn);
    let courses: Vec<Vec<DVec2>> = before
        .map(|b| motion::courses(b, pose))
        .unwrap_or_default()
        .into_iter()
        .map(|c| c.into_iter().map(|p| (turn * p).truncate()).collect())
        .collect();
    let points = seen
        .faces
        .iter()
        .flat_map(|f| &f.points)
        .map(|p| p.truncate());
    let sides = room.map_or_else(Vec::new, |r| block(r, turn));
    let extent = points
        .chain(courses.iter().flatten().copied())
        .chain(sides.iter().flatten().map(|p| p.truncate()))
        .fold(Rect::EMPTY, Rect::with);
    let Some(page) = Fit::new(extent, width_mm, height_mm) else {
        return scene;
    };
    // What meets in the far corner lies behind the case, the rest round it.
    let far = |p: &DVec3| sides.iter().flatten().all(|q| q.z >= p.z - 1e-9);
    let (behind, round): (Vec<[DVec3; 2]>, Vec<_>) =
        sides.iter().copied().partition(|s| s.iter().any(far));
    outline(&mut scene, &behind, page);
    paint(
        &mut scene,
        pose,
        before,
        &seen,
        turn * upright.transpose(),
        (page, view.flutes),
    );
    draw(&mut scene, &seen, pose, page);
    outline(&mut scene, &round, page);
    for c in &courses {
        arrow(
            &mut scene,
            &c.iter().map(|p| page.point(*p)).collect::<Vec<_>>(),
        );
    }
    scene
}

/// The twelve edges of a room in view axes.
fn block(room: &Room, turn: DMat3) -> Vec<[DVec3; 2]> {
    let corner = |k: usize| {
        let at = |axis: usize| {
            let end = if k >> axis & 1 == 0 {
                room.min
            } else {
                room.max
            };
            end.to_array()[axis]
        };
        turn * DVec3::new(at(0), at(1), at(2))
    };
    (0..8)
        .flat_map(|k| [1, 2, 4].map(|bit| (k, k | bit)))
        .filter(|(a, b)| a != b)
        .map(|(a, b)| [corner(a), corner(b)])
        .collect()
}

fn outline(scene: &mut Scene, sides: &[[DVec3; 2]], page: Fit) {
    let paths: Vec<Path> = sides
        .iter()
        .map(|s| Path::line(s.map(|p| page.point(p.truncate()))))
        .collect();
    if !paths.is_empty() {
        let dashes = Stroke {
            colour: tones::ROOM,
            width: 0.25,
            dash: &[1.6, 1.2],
        };
        scene.shape(paths, None, Some(dashes));
    }
}

/// The colours of a picture that need words: colour and meaning.
pub(super) fn key() -> [(&'static str, &'static str); 3] {
    use faces::Surface::{Inside, Outside};
    [
        (tones::tone(Inside, false, DVec3::Z), "inside face"),
        (tones::tone(Outside, false, DVec3::NEG_Y), "outside face"),
        (
            tones::tone(Inside, true, DVec3::NEG_Y),
            "moves in this step",
        ),
    ]
}

/// From view axes to the page.
#[derive(Clone, Copy)]
struct Fit {
    scale: f64,
    centre: DVec2,
    middle: DVec2,
}

impl Fit {
    fn new(extent: Rect, width: f64, height: f64) -> Option<Self> {
        let size = extent.size();
        let room = DVec2::new(width, height) - 2.0 * MARGIN;
        let scale = (room.x / size.x.max(1e-9)).min(room.y / size.y.max(1e-9));
        (size.is_finite() && scale.is_finite() && scale > 0.0 && scale < 1e6).then(|| Self {
            scale,
            centre: extent.centre(),
            middle: DVec2::new(width, height) / 2.0,
        })
    }
    fn point(self, p: DVec2) -> DVec2 {
        let p = (p - self.centre) * self.scale;
        self.middle + DVec2::new(p.x, -p.y)
    }
}

const fn stroke(colour: &'static str, width: f64) -> Option<Stroke> {
    Some(Stroke {
        colour,
        width,
        dash: &[],
    })
}

fn paint(
    scene: &mut Scene,
    pose: &Pose,
    before: Option<&Pose>,
    seen: &Seen,
    look: DMat3,
    (page, flutes): (Fit, bool),
) {
    let moved: Vec<bool> = pose
        .slabs
        .iter()
        .map(|s| {
            let new = before.is_some_and(|b| {
                !b.slabs
                    .iter()
                    .any(|o| o.piece == s.piece && o.panel == s.panel)
            });
            new || pose.moved.contains(&s.name)
        })
        .collect();
    let waves: Vec<Vec<DVec2>> = seen
        .faces
        .iter()
        .map(|f| {
            let wave = flutes.then(|| wave(f, pose, page.scale)).flatten();
            wave.unwrap_or_default()
        })
        .collect();
    let fragments = painter::order(&seen.faces);
    // Pieces of one face of a panel are one shape: seams between them would show.
    let same = |a: &painter::Fragment, b: &painter::Fragment| {
        let (f, g) = (&seen.faces[a.face], &seen.faces[b.face]);
        let flat = f.surface != faces::Surface::Side && !f.wedge && !g.wedge;
        flat && (f.slab, f.surface) == (g.slab, g.surface)
    };
    for pieces in fragments.chunk_by(same) {
        let Some(face) = pieces.first().map(|p| &seen.faces[p.face]) else {
            continue;
        };
        let tone = tones::tone(
            face.surface,
            moved[face.slab],
            look.transpose() * face.normal,
        );
        let corners = |f: &painter::Fragment| -> Vec<DVec2> {
            f.points.iter().map(|p| p.truncate()).collect()
        };
        let outlines = pieces
            .iter()
            .map(|f| Path::polygon(corners(f).into_iter().map(|p| page.point(p))))
            .collect();
        // The hairline closes the seam that smoothing leaves beside the next shape.
        scene.shape(outlines, Some(tone), stroke(tone, 0.12));
        for piece in pieces {
            let runs = within(&waves[piece.face], &corners(piece));
            if !runs.is_empty() {
                let runs = runs
                    .into_iter()
                    .map(|r| Path::line(r.into_iter().map(|p| page.point(p))))
                    .collect();
                scene.shape(runs, None, stroke(tones::FLUTE, 0.12));
            }
        }
    }
}

/// The flutes' wave on a side, in view axes, long enough to be told apart on the page.
fn wave(face: &Face, pose: &Pose, scale: f64) -> Option<Vec<DVec2>> {
    const PER_WAVE: f64 = 10.0;
    let Wave { a, b, across, rise } = face.wave?;
    let (a, b, rise) = (a.truncate(), b.truncate(), rise.truncate());
    let thick = 2.0 * rise.length() * scale;
    if thick < THINNEST_WAVE {
        return None;
    }
    let span = across[1] - across[0];
    // How much the side is foreshortened along its length.
    let short = (b - a).length() / span.abs();
    let caliper = pose.slabs[face.slab].shape.caliper;
    let pitch = (WAVE_PER_CALIPER * caliper).max(SHORTEST_WAVE / (scale * short.max(0.05)));
    let (low, high) = (across[0].min(across[1]), across[0].max(across[1]));
    let step = pitch / PER_WAVE;
    #[allow(
        clippy::cast_possible_truncation,
        reason = "whole steps along a side, bounded by the page and the shortest wave"
    )]
    let (first, last) = ((low / step).floor() as i64, (high / step).ceil() as i64);
    let mut run = Vec::new();
    for k in first..=last {
        #[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
        let s = (k as f64 * step).clamp(low, high);
        let swing = (std::f64::consts::TAU * s / pitch).sin() * 0.62;
        run.push(a + (b - a) * ((s - across[0]) / span) + rise * swing);
    }
    Some(run)
}

/// The stretches of a line inside a convex polygon.
fn within(line: &[DVec2], polygon: &[DVec2]) -> Vec<Vec<DVec2>> {
    let mut runs: Vec<Vec<DVec2>> = Vec::new();
    for pair in line.windows(2) {
        let (p, q) = (pair[0], pair[1]);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (i, &c) in polygon.iter().enumerate() {
            let run = polygon[(i + 1) % polygon.len()] - c;
            let (hp, hq) = (run.perp_dot(p - c), run.perp_dot(q - c));
            if hp < 0.0 && hq < 0.0 {
                from = 2.0;
            } else if hp < 0.0 {
                from = from.max(hp / (hp - hq));
            } else if hq < 0.0 {
                to = to.min(hp / (hp - hq));
            }
        }
        if from >= to {
            continue;
        }
        let (a, b) = (p.lerp(q, from), p.lerp(q, to));
        match runs.last_mut() {
            Some(r) if from == 0.0 && r.last() == Some(&a) => r.push(b),
            _ => runs.push(vec![a, b]),
        }
    }
    runs
}

fn draw(scene: &mut Scene, seen: &Seen, pose: &Pose, page: Fit) {
    let caliper = pose
        .slabs
        .iter()
        .map(|s| s.shape.caliper)
        .fold(0.0, f64::max);
    let visible = lines::visible(seen, 0.02 / page.scale, 2.5 * caliper);
    // Two rims of a thin board must not run into one line.
    let rim = (0.05 + 0.2 * caliper * page.scale).clamp(0.12, 0.25);
    for (weight, width) in [
        (Weight::Fine, 0.6 * rim),
        (Weight::Rim, rim),
        (Weight::Outline, 0.32),
    ] {
        let paths: Vec<Path> = visible
            .iter()
            .filter(|l| l.weight == weight)
            .map(|l| Path::line([l.a, l.b].map(|p| page.point(p.truncate()))))
            .collect();
        if !paths.is_empty() {
            scene.shape(paths, None, stroke(tones::INK, width));
        }
    }
}

/// An arrow along a course on the page.
fn arrow(scene: &mut Scene, course: &[DVec2]) {
    let long: f64 = course.windows(2).map(|p| p[0].distance(p[1])).sum();
    let Some(&tip) = course.last() else { return };
    if long < 2.0 {
        return;
    }
    let head_long = (0.6 * long).min(2.6);
    // The shaft ends where the head's chord begins.
    let inside = course
        .iter()
        .take_while(|p| p.distance(tip) > head_long)
        .count();
    let shaft: Vec<DVec2> = course[..inside].to_vec();
    let Some(&neck) = shaft.last() else { return };
    let along = (tip - neck).normalize_or_zero();
    let base = tip - along * head_long;
    let mut shaft = shaft;
    shaft.push(base);
    let wing = along.perp() * (head_long * 0.38);
    let head = Path::polygon([tip, base + wing, base - wing]);
    let shaft = Path::line(shaft);
    scene.shape(
        vec![shaft.clone(), head.clone()],
        None,
        stroke(tones::HALO, 1.5),
    );
    scene.shape(vec![shaft], None, stroke(tones::ARROW, 0.6));
    scene.shape(vec![head], Some(tones::ARROW), stroke(tones::ARROW, 0.2));
}

#[cfg(test)]
pub(super) mod tests;
