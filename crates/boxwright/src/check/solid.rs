//! Convex solids and how far they stand apart or reach into each other.
//!
//! Separating-axis test on convex polyhedra: over all face normals and all cross products of
//! edges, the widest gap is a lower bound of the distance (exact when a face separates them); when
//! no axis parts them, the least overlap is the depth of penetration.

use std::sync::OnceLock;

use crate::fold::{Shape, Slab, Wedge};
use crate::geom::{DAffine3, DMat3, DVec3};
use crate::units::SLACK_MM;

/// A convex solid in its own coordinates.
#[derive(Clone, Debug)]
pub struct Solid {
    /// Corners; of a prism first those of its upper face, then those below them.
    pub points: Vec<DVec3>,
    kind: Kind,
    /// A point from which every corner lies within `radius`.
    pub centre: DVec3,
    /// See `centre`.
    pub radius: f64,
    /// Found when first asked: most solids are told apart without them.
    directions: OnceLock<Directions>,
    faces: OnceLock<Faces>,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    /// A panel's piece of this caliper; its upper face lies at z = 0.
    Prism(f64),
    /// See [`Wedge`].
    Wedge,
}

#[derive(Clone, Debug)]
struct Directions {
    /// One normal for each pair of parallel faces.
    normals: Vec<DVec3>,
    /// One direction for each family of parallel edges.
    edges: Vec<DVec3>,
}

#[derive(Clone, Debug)]
struct Faces {
    /// Corners of each face in order round it, face after face.
    rounds: Vec<u32>,
    /// Where each face ends in `rounds`.
    ends: Vec<u32>,
}

fn add_direction(list: &mut Vec<DVec3>, v: DVec3) {
    if let Some(v) = v.try_normalize()
        && list.iter().all(|o| o.cross(v).length_squared() > 1e-18)
    {
        list.push(v);
    }
}

impl Directions {
    fn of_prism(hull: &[DVec3]) -> Self {
        let mut edges: Vec<DVec3> = Vec::with_capacity(hull.len() + 1);
        for (i, p) in hull.iter().enumerate() {
            add_direction(&mut edges, hull[(i + 1) % hull.len()] - *p);
        }
        let upright = edges.iter().map(|e| DVec3::new(e.y, -e.x, 0.0));
        let normals = std::iter::once(DVec3::Z).chain(upright).collect();
        edges.push(DVec3::Z);
        Self { normals, edges }
    }
    fn of_wedge(p: &[DVec3]) -> Self {
        let (mut normals, mut edges) = (Vec::with_capacity(4), Vec::with_capacity(4));
        for (a, b) in [(0, 1), (1, 2), (2, 0), (0, 3)] {
            add_direction(&mut edges, p[b] - p[a]);
        }
        for (a, b, c) in [(0, 1, 2), (0, 3, 1), (1, 4, 2), (2, 5, 0)] {
            add_direction(&mut normals, (p[b] - p[a]).cross(p[c] - p[a]));
        }
        Self { normals, edges }
    }
}

impl Faces {
    fn of_prism(hull: usize) -> Self {
        let n = u32::try_from(hull).unwrap_or(0);
        let mut rounds: Vec<u32> = (0..n).chain((n..2 * n).rev()).collect();
        rounds.extend((0..n).flat_map(|i| {
            let j = (i + 1) % n;
            [i, n + i, n + j, j]
        }));
        let ends = (0..n + 2).map(|k| match k {
            0 => n,
            k => 2 * n + 4 * (k - 1),
        });
        Self {
            rounds,
            ends: ends.collect(),
        }
    }
    fn of_wedge() -> Self {
        Self {
            rounds: vec![0, 1, 2, 5, 4, 3, 0, 3, 4, 1, 1, 4, 5, 2, 2, 5, 3, 0],
            ends: vec![3, 6, 10, 14, 18],
        }
    }
}

impl Solid {
    fn build(points: Vec<DVec3>, kind: Kind) -> Self {
        let block = Block::round(points.iter().copied());
        let centre = (block.min + block.max) * 0.5;
        let radius = points
            .iter()
            .map(|p| p.distance(centre))
            .fold(0.0, f64::max);
        Self {
            points,
            kind,
            centre,
            radius,
            directions: OnceLock::new(),
            faces: OnceLock::new(),
        }
    }

    /// Corners of a prism's upper face.
    fn hull(&self) -> &[DVec3] {
        &self.points[..self.points.len() / 2]
    }

    fn directions(&self) -> &Directions {
        self.directions.get_or_init(|| match self.kind {
            Kind::Prism(_) => Directions::of_prism(self.hull()),
            Kind::Wedge => Directions::of_wedge(&self.points),
        })
    }

    /// Corners of each face, in order round it.
    pub fn faces(&self) -> impl Iterator<Item = &[u32]> {
        let faces = self.faces.get_or_init(|| match self.kind {
            Kind::Prism(_) => Faces::of_prism(self.hull().len()),
            Kind::Wedge => Faces::of_wedge(),
        });
        let starts = std::iter::once(0).chain(faces.ends.iter().copied());
        starts
            .zip(&faces.ends)
            .map(|(from, to)| &faces.rounds[from as usize..*to as usize])
    }

    /// Least and greatest value along an axis, in own coordinates.
    fn along(&self, axis: DVec3) -> (f64, f64) {
        let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
        if let Kind::Prism(caliper) = self.kind {
            for p in self.hull() {
                let d = axis.x * p.x + axis.y * p.y;
                lo = lo.min(d);
                hi = hi.max(d);
            }
            let down = -caliper * axis.z;
            (lo + down.min(0.0), hi + down.max(0.0))
        } else {
            for p in &self.points {
                let d = axis.dot(*p);
                lo = lo.min(d);
                hi = hi.max(d);
            }
            (lo, hi)
        }
    }

    /// Greatest value along an axis in case coordinates, of the solid in a frame.
    pub fn most_along(&self, frame: DAffine3, axis: DVec3) -> f64 {
        self.along(frame.matrix3.transpose() * axis).1 + axis.dot(frame.translation)
    }

    /// The convex pieces of a panel's rigid part, in the panel's own coordinates.
    #[must_use]
    pub fn of_shape(shape: &Shape) -> Vec<Self> {
        shape
            .pieces
            .iter()
            .filter(|h| h.len() >= 3)
            .map(|hull| {
                let mut points: Vec<DVec3> = Vec::with_capacity(2 * hull.len());
                points.extend(hull.iter().map(|p| p.extend(0.0)));
                points.extend(hull.iter().map(|p| p.extend(-shape.caliper)));
                Self::build(points, Kind::Prism(shape.caliper))
            })
            .collect()
    }

    /// A wedge, in case coordinates; `None` when it has no volume.
    #[must_use]
    pub fn of_wedge(w: &Wedge) -> Option<Self> {
        let p = w.0;
        let area = (p[1] - p[0]).cross(p[2] - p[0]).length();
        if area < 1e-9 || p[0].distance(p[3]) < 1e-9 {
            return None;
        }
        Some(Self::build(p.to_vec(), Kind::Wedge))
    }
}

/// The smallest upright block round some points, in case coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Least corner.
    pub min: DVec3,
    /// Greatest corner.
    pub max: DVec3,
}

impl Block {
    fn round(points: impl Iterator<Item = DVec3>) -> Self {
        let none = Self {
            min: DVec3::splat(f64::INFINITY),
            max: DVec3::splat(f64::NEG_INFINITY),
        };
        points.fold(none, |b, p| Self {
            min: b.min.min(p),
            max: b.max.max(p),
        })
    }
    /// Whether the two come within `gap`.
    #[must_use]
    pub fn near(&self, o: &Self, gap: f64) -> bool {
        self.min.cmplt(o.max + gap).all() && o.min.cmplt(self.max + gap).all()
    }
}

/// A panel's solids, ready for measuring in one pose.
pub struct Body<'a> {
    /// The slab it comes from.
    pub slab: &'a Slab,
    /// Rigid pieces in the panel's own coordinates.
    pub pieces: &'a [Solid],
    /// Stretched board, in case coordinates.
    pub wedges: Vec<Solid>,
    /// The block round each of its solids: the pieces, then the wedges.
    blocks: Vec<Block>,
    /// Least corner of an upright block round it, in case coordinates.
    pub min: DVec3,
    /// Greatest corner.
    pub max: DVec3,
}

impl<'a> Body<'a> {
    /// From a slab and the solids of its shape.
    #[must_use]
    pub fn new(slab: &'a Slab, pieces: &'a [Solid]) -> Self {
        let mut wedges: Vec<Solid> = Vec::with_capacity(slab.wedges.len());
        wedges.extend(slab.wedges.iter().filter_map(Solid::of_wedge));
        let mut blocks: Vec<Block> = Vec::with_capacity(pieces.len() + wedges.len());
        blocks.extend(pieces.iter().map(|s| {
            let points = s.points.iter();
            Block::round(points.map(|p| slab.frame.transform_point3(*p)))
        }));
        blocks.extend(
            wedges
                .iter()
                .map(|w| Block::round(w.points.iter().copied())),
        );
        let whole = Block::round(blocks.iter().flat_map(|b| [b.min, b.max]));
        Self {
            slab,
            pieces,
            wedges,
            blocks,
            min: whole.min,
            max: whole.max,
        }
    }
    /// Its solids with their frames to case coordinates.
    pub fn solids(&self) -> impl Iterator<Item = (&Solid, DAffine3)> {
        self.pieces
            .iter()
            .map(|s| (s, self.slab.frame))
            .chain(self.wedges.iter().map(|w| (w, DAffine3::IDENTITY)))
    }
    /// The same, each with the upright block round it.
    pub fn blocks(&self) -> impl Iterator<Item = (&Solid, DAffine3, &Block)> {
        self.solids().zip(&self.blocks).map(|((s, f), b)| (s, f, b))
    }
    /// The rigid ones of them.
    pub fn rigid(&self) -> impl Iterator<Item = (&Solid, DAffine3, &Block)> {
        self.blocks().take(self.pieces.len())
    }
    /// The block round all of it.
    #[must_use]
    pub const fn block(&self) -> Block {
        Block {
            min: self.min,
            max: self.max,
        }
    }
}

/// How two solids stand to each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    /// Gap when positive (never more than the true distance), depth of penetration when negative.
    pub gap: f64,
    /// The axis it was measured along, in case coordinates.
    pub axis: DVec3,
}

/// The two solids seen from the second, for trying axes.
struct Pair<'a> {
    a: &'a Solid,
    b: &'a Solid,
    rel: DAffine3,
    back: DMat3,
}

impl<'a> Pair<'a> {
    fn new(a: &'a Solid, fa: DAffine3, b: &'a Solid, fb: DAffine3) -> Self {
        let rel = fb.inverse() * fa;
        let back = rel.matrix3.transpose();
        Self { a, b, rel, back }
    }
    /// The gap along an axis, and the axis turned to point from the first to the second.
    fn gap(&self, axis: DVec3) -> (f64, DVec3) {
        let shift = axis.dot(self.rel.translation);
        let (a0, a1) = self.a.along(self.back * axis);
        let (b0, b1) = self.b.along(axis);
        let (over, under) = (a0 + shift - b1, b0 - a1 - shift);
        if over > under {
            (over, -axis)
        } else {
            (under, axis)
        }
    }
    /// Normals of the faces, in coordinates of the second.
    fn normals(&self) -> impl Iterator<Item = DVec3> {
        let of_a = self.a.directions().normals.iter();
        let of_b = self.b.directions().normals.iter().copied();
        of_b.chain(of_a.map(|n| self.rel.matrix3 * *n))
    }
    /// Directions square to an edge of either.
    fn crossed(&self) -> impl Iterator<Item = DVec3> {
        let of_b = &self.b.directions().edges;
        let of_a = self.a.directions().edges.iter();
        of_a.map(|e| self.rel.matrix3 * *e).flat_map(move |e| {
            of_b.iter()
                .map(move |g| e.cross(*g))
                .filter(|c| c.length_squared() > 1e-12)
                .filter_map(DVec3::try_normalize)
        })
    }
}

/// Measures two solids in their frames. Stops early once a gap over `enough` is certain.
#[must_use]
pub fn apart(a: &Solid, fa: DAffine3, b: &Solid, fb: DAffine3, enough: f64) -> Apart {
    let (ca, cb) = (fa.transform_point3(a.centre), fb.transform_point3(b.centre));
    let between = ca.distance(cb) - a.radius - b.radius;
    if between > enough {
        return Apart {
            gap: between,
            axis: (cb - ca).normalize_or_zero(),
        };
    }
    let pair = Pair::new(a, fa, b, fb);
    let mut best = Apart {
        gap: f64::NEG_INFINITY,
        axis: DVec3::ZERO,
    };
    let mut widest = |axes: &mut dyn Iterator<Item = DVec3>| {
        for axis in axes {
            let (gap, axis) = pair.gap(axis);
            if gap > best.gap {
                best = Apart { gap, axis };
            }
            if gap > enough {
                break;
            }
        }
        best.gap
    };
    // A gap found on a face normal already parts them; crossed edges can only widen it.
    if widest(&mut pair.normals()) <= SLACK_MM.min(enough) {
        widest(&mut pair.crossed());
    }
    Apart {
        gap: best.gap,
        axis: fb.matrix3 * best.axis,
    }
}

/// The greatest value that `free` gives for an axis that parts the two solids (given in case
/// coordinates, pointing from the first to the second), looking no further once it is over `enough`; how deep they
/// reach into each other when no axis parts them.
pub fn freest(
    (a, fa): (&Solid, DAffine3),
    (b, fb): (&Solid, DAffine3),
    enough: f64,
    mut free: impl FnMut(Apart) -> f64,
) -> Result<f64, Apart> {
    let pair = Pair::new(a, fa, b, fb);
    let mut best = f64::NEG_INFINITY;
    let mut least = Apart {
        gap: f64::NEG_INFINITY,
        axis: DVec3::ZERO,
    };
    let mut look = |axes: &mut dyn Iterator<Item = DVec3>| {
        for axis in axes {
            let (gap, axis) = pair.gap(axis);
            if gap < -SLACK_MM {
                if gap > least.gap {
                    least = Apart { gap, axis };
                }
                continue;
            }
            let axis = fb.matrix3 * axis;
            best = best.max(free(Apart { gap, axis }));
            if best > enough {
                break;
            }
        }
        best
    };
    if look(&mut pair.normals()) == f64::NEG_INFINITY
        && look(&mut pair.crossed()) == f64::NEG_INFINITY
    {
        let axis = fb.matrix3 * least.axis;
        return Err(Apart { axis, ..least });
    }
    Ok(best)
}

/// The deepest penetration between two bodies, rigid parts and wedges: depth and axis; `None`
/// when they do not reach into each other by more than the library's slack.
#[must_use]
pub fn deepest(a: &Body<'_>, b: &Body<'_>) -> Option<Apart> {
    if !a.block().near(&b.block(), -SLACK_MM) {
        return None;
    }
    deepest_of(a.blocks(), || b.blocks())
}

/// The same between the rigid parts alone.
#[must_use]
pub fn deepest_rigid(a: &Body<'_>, b: &Body<'_>) -> Option<Apart> {
    deepest_of(a.rigid(), || b.rigid())
}

fn deepest_of<'a, 'b, B: Iterator<Item = (&'b Solid, DAffine3, &'b Block)>>(
    a: impl Iterator<Item = (&'a Solid, DAffine3, &'a Block)>,
    b: impl Fn() -> B,
) -> Option<Apart> {
    let mut worst: Option<Apart> = None;
    for (s, fs, block) in a {
        for (o, fo, _) in b().filter(|(_, _, other)| block.near(other, -SLACK_MM)) {
            let m = apart(s, fs, o, fo, 0.0);
            if m.gap < -SLACK_MM && worst.is_none_or(|w| m.gap < w.gap) {
                worst = Some(m);
            }
        }
    }
    worst
}

/// Least and greatest value along `axis` of the part of a solid inside a column: the points whose
/// dot product with each `sides[k].0` lies strictly between its two bounds. `None` when the solid
/// misses the column.
#[must_use]
pub fn within_column(
    solid: &Solid,
    frame: DAffine3,
    axis: DVec3,
    sides: &[(DVec3, f64, f64)],
) -> Option<(f64, f64)> {
    let mut range: Option<(f64, f64)> = None;
    each_within(solid, frame, sides, |p| {
        let d = axis.dot(p);
        range = Some(range.map_or((d, d), |(a, b)| (a.min(d), b.max(d))));
    });
    range
}

/// Gives the corners of what a solid's faces have inside a column, in case coordinates.
pub fn each_within(
    solid: &Solid,
    frame: DAffine3,
    sides: &[(DVec3, f64, f64)],
    mut take: impl FnMut(DVec3),
) {
    // Seen from the solid: whether each pair of bounds misses it, cuts it or holds all of it.
    let back = frame.matrix3.transpose();
    let mut cutting: [(DVec3, f64, f64); 3] = [(DVec3::ZERO, 0.0, 0.0); 3];
    let mut count = 0;
    for (n, lo, hi) in sides {
        let shift = n.dot(frame.translation);
        let (own, least, most) = (back * *n, lo - shift, hi - shift);
        let (a, b) = solid.along(own);
        if b < least || a > most {
            return;
        }
        if a < least || b > most {
            if count == cutting.len() {
                debug_assert!(false, "a column has at most three pairs of sides");
                return;
            }
            cutting[count] = (own, least, most);
            count += 1;
        }
    }
    if count == 0 {
        for p in &solid.points {
            take(frame.transform_point3(*p));
        }
        return;
    }
    let (mut ring, mut next): (Vec<DVec3>, Vec<DVec3>) = (Vec::new(), Vec::new());
    for face in solid.faces() {
        ring.clear();
        ring.extend(face.iter().map(|i| solid.points[*i as usize]));
        for (n, lo, hi) in &cutting[..count] {
            clip(&ring, *n, *lo, &mut next);
            clip(&next, -*n, -*hi, &mut ring);
        }
        for p in &ring {
            take(frame.transform_point3(*p));
        }
    }
}

/// The part of a polygon on the side where the dot product with `n` is at least `least`.
fn clip(ring: &[DVec3], n: DVec3, least: f64, out: &mut Vec<DVec3>) {
    out.clear();
    let Some(last) = ring.last() else { return };
    let (mut a, mut da) = (*last, n.dot(*last) - least);
    for b in ring {
        let db = n.dot(*b) - least;
        if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
            out.push(a.lerp(*b, da / (da - db)));
        }
        if db >= 0.0 {
            out.push(*b);
        }
        (a, da) = (*b, db);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::DVec2;

    fn slab(w: f64, h: f64, t: f64) -> Solid {
        let hull = vec![
            DVec2::ZERO,
            DVec2::new(w, 0.0),
            DVec2::new(w, h),
            DVec2::new(0.0, h),
        ];
        let shape = Shape {
            rings: vec![hull.clone()],
            pieces: vec![hull],
            caliper: t,
            flutes: DVec2::X,
        };
        Solid::of_shape(&shape).remove(0)
    }

    #[test]
    fn stacked_plates_measure_their_gap_and_depth() {
        let a = slab(100.0, 60.0, 4.0);
        for gap in [3.0, 0.25, 0.0, -1.5, -4.0] {
            let over = DAffine3::from_translation(DVec3::new(10.0, 5.0, 4.0 + gap));
            let m = apart(&a, DAffine3::IDENTITY, &a, over, 1e9);
            assert!((m.gap - gap).abs() < 1e-12, "{gap} measured {}", m.gap);
        }
    }

    #[test]
    fn crossed_edges_are_parted_by_their_own_axis() {
        // Two square bars turned so that only an edge-edge axis parts them.
        let a = slab(100.0, 4.0, 4.0);
        let tilt = DAffine3::from_rotation_x(std::f64::consts::FRAC_PI_4);
        let cross = DAffine3::from_rotation_z(std::f64::consts::FRAC_PI_2) * tilt;
        let mid = |f: DAffine3| f * DAffine3::from_translation(DVec3::new(-50.0, -2.0, 2.0));
        let up = 4.0 * 2f64.sqrt() + 0.1;
        let lifted = DAffine3::from_translation(DVec3::new(0.0, 0.0, up));
        let m = apart(&a, mid(tilt), &a, lifted * mid(cross), 0.0);
        assert!((m.gap - 0.1).abs() < 1e-9, "{m:?}");
    }
}
