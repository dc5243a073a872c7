//! Poses built by hand for the tests of pictures and solids. Creases turn about the inside face
//! (p = 0), so outlines need no allowance and each fold opens one wedge outside.

use std::sync::Arc;

use glam::DMat3;

use crate::fold::{Pose, Shape, Slab, Wedge};
use crate::geom::{DAffine3, DVec2, DVec3, convex_pieces};

pub type Frame = DAffine3;

pub fn rect(w: f64, h: f64) -> Vec<DVec2> {
    outline(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)])
}

pub fn outline(p: &[(f64, f64)]) -> Vec<DVec2> {
    p.iter().map(|&(x, y)| DVec2::new(x, y)).collect()
}

/// A clockwise circle in chords, for cut-outs.
pub fn round_hole(x: f64, y: f64, r: f64, chords: u32) -> Vec<DVec2> {
    (0..chords)
        .map(|k| {
            let a = -std::f64::consts::TAU * f64::from(k) / f64::from(chords);
            DVec2::new(x, y) + DVec2::from_angle(a) * r
        })
        .collect()
}

pub struct Builder {
    pub caliper: f64,
    pub slabs: Vec<Slab>,
}

impl Builder {
    pub fn new(caliper: f64) -> Self {
        Self {
            caliper,
            slabs: Vec::new(),
        }
    }
    pub fn add(&mut self, name: &str, rings: Vec<Vec<DVec2>>, frame: Frame, flutes: DVec2) {
        let pieces = convex_pieces(&rings);
        self.slabs.push(Slab {
            piece: 0,
            panel: self.slabs.len(),
            name: name.into(),
            frame,
            shape: Arc::new(Shape {
                rings,
                pieces,
                caliper: self.caliper,
                flutes,
            }),
            wedges: Vec::new(),
        });
    }
    /// A panel on the line from `from` to `to` of a parent; the line is the panel's near edge and
    /// the panel lies to the right of the run. Returns its frame.
    pub fn hang(
        &mut self,
        name: &str,
        parent: Frame,
        (from, to): (DVec2, DVec2),
        degrees: f64,
        rings: Vec<Vec<DVec2>>,
        flutes: DVec2,
    ) -> Frame {
        // Seen from the panel, with its near edge down, the parent's edge runs right to left.
        let x = (from - to).normalize();
        let before = parent
            * DAffine3 {
                matrix3: DMat3::from_cols(x.extend(0.0), x.perp().extend(0.0), DVec3::Z),
                translation: to.extend(0.0),
            };
        let frame = before * DAffine3::from_rotation_x(degrees.to_radians());
        let flutes = DVec2::new(flutes.dot(x), flutes.dot(x.perp()));
        self.add(name, rings, frame, flutes);
        let reach = from.distance(to);
        if degrees != 0.0 {
            let t = DVec3::new(0.0, 0.0, -self.caliper);
            let end = |x: f64| {
                let along = DVec3::new(x, 0.0, 0.0);
                [
                    frame.transform_point3(along),
                    before.transform_point3(along + t),
                    frame.transform_point3(along + t),
                ]
            };
            let ([a, b, c], [d, e, f]) = (end(0.0), end(reach));
            let slab = self.slabs.last_mut().unwrap();
            slab.wedges.push(Wedge([a, b, c, d, e, f]));
        }
        frame
    }
    pub fn pose(self, stage: usize, title: &str, text: &str, moved: &[&str], up: DVec3) -> Pose {
        Pose {
            stage,
            title: title.into(),
            text: text.into(),
            slabs: self.slabs,
            moved: moved.iter().map(|m| (*m).to_owned()).collect(),
            up,
            shown_up: up,
        }
    }
}

fn v(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

/// A base with four walls turned up by `long` and `short` degrees; a round hole in the base.
pub fn tray(stage: usize, long: f64, short: f64, moved: &[&str]) -> Pose {
    let (w, d, h, t) = (240.0, 160.0, 60.0, 4.0);
    let mut b = Builder::new(t);
    let base = Frame::IDENTITY;
    let flutes = DVec2::X;
    let hole = round_hole(60.0, 80.0, 25.0, 48);
    b.add("base", vec![rect(w, d), hole], base, flutes);
    let wall = |w: f64| vec![rect(w, h)];
    b.hang(
        "front",
        base,
        (v(0.0, 0.0), v(w, 0.0)),
        long,
        wall(w),
        flutes,
    );
    b.hang("right", base, (v(w, 0.0), v(w, d)), short, wall(d), flutes);
    b.hang("back", base, (v(w, d), v(0.0, d)), long, wall(w), flutes);
    b.hang(
        "left",
        base,
        (v(0.0, d), v(0.0, 0.0)),
        short,
        wall(d),
        flutes,
    );
    b.pose(
        stage,
        if stage == 0 { "Flat" } else { "Raise the walls" },
        "Lay the blank with its inside face up and turn the walls up along their creases until they stand square.",
        moved,
        DVec3::Z,
    )
}

/// A slotted case: walls turned by `walls`, upper flaps of the short and of the long walls by
/// `short` and `long` degrees, lower flaps closed once the walls stand. The long walls reach one
/// caliper further, so that their flaps lie on the short ones.
pub fn slotted(stage: usize, walls: f64, short: f64, long: f64, moved: &[&str]) -> Pose {
    let (l, w, h, t) = (300.0, 200.0, 180.0, 4.0);
    let mut b = Builder::new(t);
    let standing = walls > 80.0;
    // Standing, the first wall is nearest the reader and its inside face looks to the back.
    let mut frame = if standing {
        DAffine3::from_mat3(DMat3::from_cols(DVec3::NEG_X, DVec3::Z, DVec3::Y))
    } else {
        DAffine3::IDENTITY
    };
    let spans = [("front", l), ("right", w), ("back", l), ("left", w)];
    for (i, (name, span)) in spans.into_iter().enumerate() {
        let e = if i % 2 == 0 { t } else { 0.0 };
        let (top, bottom, flutes);
        if i == 0 {
            let ring = outline(&[(0.0, -e), (span, -e), (span, h + e), (0.0, h + e)]);
            b.add(name, vec![ring], frame, DVec2::Y);
            top = (v(span, h + e), v(0.0, h + e));
            bottom = (v(0.0, -e), v(span, -e));
            flutes = DVec2::Y;
        } else {
            // Every further wall has its hinge down: x runs from top to bottom.
            let (line, parents_flutes) = if i == 1 {
                ((v(l, 0.0), v(l, h)), DVec2::Y)
            } else {
                let before = spans[i - 1].1;
                ((v(h, before), v(0.0, before)), DVec2::X)
            };
            let ring = outline(&[(-e, 0.0), (h + e, 0.0), (h + e, span), (-e, span)]);
            frame = b.hang(name, frame, line, walls, vec![ring], parents_flutes);
            top = (v(-e, span), v(-e, 0.0));
            bottom = (v(h + e, 0.0), v(h + e, span));
            flutes = DVec2::X;
        }
        let flap = vec![rect(span, w / 2.0 - 0.5)];
        let turn = if i % 2 == 0 { long } else { short };
        let upper = format!("{name} upper flap");
        b.hang(&upper, frame, top, turn, flap.clone(), flutes);
        let floor = if standing { 90.0 } else { 0.0 };
        b.hang(
            &format!("{name} lower flap"),
            frame,
            bottom,
            floor,
            flap,
            flutes,
        );
    }
    b.pose(
        stage,
        if standing { "Close the top" } else { "Flat" },
        "Turn the short flaps in first, then the long ones over them, and tape the seam.",
        moved,
        DVec3::Z,
    )
}

/// A plate with a slot and a tongue standing through it, 20 mm on each side, 0.5 mm clear all
/// round; the tongue's plate lies over one end of the first.
pub fn tongue(through: f64) -> Pose {
    let t = 4.0;
    let mut b = Builder::new(t);
    let mut slot = outline(&[(50.0, 47.75), (100.0, 47.75), (100.0, 52.25), (50.0, 52.25)]);
    slot.reverse();
    b.add(
        "plate",
        vec![rect(150.0, 100.0), slot],
        DAffine3::IDENTITY,
        DVec2::X,
    );
    let shape = outline(&[
        (0.0, 0.0),
        (49.0, 0.0),
        (49.0, 30.0),
        (70.0, 30.0),
        (70.0, 60.0),
        (-21.0, 60.0),
        (-21.0, 30.0),
        (0.0, 30.0),
    ]);
    let frame = DAffine3 {
        matrix3: DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y),
        translation: DVec3::new(50.5, 48.0, -through),
    };
    b.add("tongue", vec![shape], frame, DVec2::Y);
    b.slabs[1].piece = 1;
    b.pose(
        2,
        "Push the tongue",
        "Push the tongue through the slot until its shoulders rest on the plate.",
        &["tongue"],
        DVec3::Z,
    )
}
