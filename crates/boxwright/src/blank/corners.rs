//! Corners and sides of a panel: rounded, cut off, notched and tapered.

use super::tree::{Branch, Cut, Given, corner_cuts, length, own_scope};
use crate::diag::Diag;
use crate::expr::Names;
use crate::geom::{DVec2, Path, Rect, Vertex};
use crate::style::{CornerCut, Formula, Item, Values};
use crate::units::Dim;

/// A rectangle with quarter arcs at its corners, counter-clockwise.
pub(super) fn rounded(centre: DVec2, w: f64, h: f64, r: f64) -> Path {
    let (x, y) = (w / 2.0, h / 2.0);
    let corners = [
        DVec2::new(-x, -y),
        DVec2::new(x, -y),
        DVec2::new(x, y),
        DVec2::new(-x, y),
    ];
    let mut vertices = Vec::new();
    for i in 0..4 {
        let (c, before, after) = (corners[i], corners[(i + 3) % 4], corners[(i + 1) % 4]);
        push_round(
            &mut vertices,
            centre + c,
            (before - c).normalize(),
            (after - c).normalize(),
            r,
        );
    }
    dropping_repeats(Path {
        vertices,
        closed: true,
    })
}

fn push_round(out: &mut Vec<Vertex>, corner: DVec2, back: DVec2, on: DVec2, r: f64) {
    if r <= 0.0 {
        out.push(Vertex {
            at: corner,
            bulge: 0.0,
        });
        return;
    }
    out.push(Vertex {
        at: corner + back * r,
        bulge: QUARTER,
    });
    out.push(Vertex {
        at: corner + on * r,
        bulge: 0.0,
    });
}

/// tan(90 deg / 4): the bulge of a quarter circle.
const QUARTER: f64 = 0.414_213_562_373_095_03;

/// Removes corners that coincide with the one before, keeping the later one's bulge.
pub(super) fn dropping_repeats(mut p: Path) -> Path {
    let n = p.vertices.len();
    let keep: Vec<bool> = (0..n)
        .map(|i| p.vertices[i].at.distance(p.vertices[(i + 1) % n].at) > crate::units::SLACK_MM)
        .collect();
    let mut i = 0;
    p.vertices.retain(|_| {
        i += 1;
        keep[i - 1]
    });
    straightened(p)
}

/// Removes corners in the middle of a straight line.
fn straightened(mut p: Path) -> Path {
    let mut i = 0;
    while i < p.vertices.len() && p.vertices.len() > 3 {
        let n = p.vertices.len();
        let (a, b, c) = (
            p.vertices[(i + n - 1) % n],
            p.vertices[i],
            p.vertices[(i + 1) % n],
        );
        let (u, v) = (b.at - a.at, c.at - b.at);
        let in_line = u.perp_dot(v).abs() <= crate::units::SLACK_MM * u.length().max(v.length())
            && u.dot(v) > 0.0;
        if a.bulge == 0.0 && b.bulge == 0.0 && in_line {
            p.vertices.remove(i);
        } else {
            i += 1;
        }
    }
    p
}

/// The drawn rectangle with tapers and cut corners.
pub(super) fn cornered(b: &Branch<'_>, drawn: Rect, values: &Values) -> Result<Path, Diag> {
    let mut quad = [
        drawn.min,
        DVec2::new(drawn.max.x, drawn.min.y),
        drawn.max,
        DVec2::new(drawn.min.x, drawn.max.y),
    ];
    for Cut {
        item,
        mirrored,
        given,
        ..
    } in &b.items
    {
        let Item::Taper(left, right) = item else {
            continue;
        };
        let scope = own_scope(values, b, given);
        let (left, right) = if *mirrored {
            (right, left)
        } else {
            (left, right)
        };
        let tall = drawn.max.y - drawn.min.y;
        let l = left.as_ref().map_or(Ok(0.0), |f| taper(f, &scope, tall))?;
        let r = right.as_ref().map_or(Ok(0.0), |f| taper(f, &scope, tall))?;
        quad[2].x -= r;
        quad[3].x += l;
        if quad[2].x - quad[3].x < crate::units::SLACK_MM {
            return Err(Diag::error(
                "no-panel-left",
                format!("the taper leaves nothing of the far edge of `{}`", b.name),
            )
            .at(b.place().clone())
            .help("taper it less, or make the panel wider"));
        }
    }
    let mut cuts: [Option<(&CornerCut, bool, &Given<'_>)>; 4] = [None; 4];
    for (corners, cut, mirrored, given) in corner_cuts(b) {
        for c in corners {
            let c = if mirrored { c.mirrored() } else { *c };
            if cuts[c.index()].is_some() {
                return Err(Diag::error(
                    "given-twice",
                    format!("corner {} of `{}` is cut twice", c.word(), b.name),
                )
                .at(b.place().clone())
                .help("keep one of the cuts"));
            }
            cuts[c.index()] = Some((cut, mirrored, given));
        }
    }
    let mut vertices = Vec::with_capacity(8);
    // What each corner's cut takes of the edge before it and of the edge after it.
    let mut taken = [(0.0, 0.0); 4];
    for i in 0..4 {
        let (c, before, after) = (quad[i], quad[(i + 3) % 4], quad[(i + 1) % 4]);
        let (back, on) = ((before - c).normalize(), (after - c).normalize());
        let Some((cut, _, given)) = cuts[i] else {
            vertices.push(Vertex { at: c, bulge: 0.0 });
            continue;
        };
        let scope = own_scope(values, b, given);
        // Near and far edges run along the breadth: at corners 0 and 2 the next edge does.
        let lying_next = i % 2 == 0;
        let ordered = |lying: f64, upright: f64| {
            if lying_next {
                (upright, lying)
            } else {
                (lying, upright)
            }
        };
        match cut {
            CornerCut::Round(f) => {
                let r = length(f, &scope)?;
                let half = back.angle_to(on).abs() / 2.0;
                let away = r / half.tan();
                let turn = std::f64::consts::PI - 2.0 * half;
                if r > crate::units::SLACK_MM {
                    taken[i] = (away, away);
                    vertices.push(Vertex {
                        at: c + back * away,
                        bulge: (turn / 4.0).tan(),
                    });
                    vertices.push(Vertex {
                        at: c + on * away,
                        bulge: 0.0,
                    });
                } else {
                    vertices.push(Vertex { at: c, bulge: 0.0 });
                }
            }
            CornerCut::Chamfer(lying, upright) => {
                let (k_back, k_on) = ordered(length(lying, &scope)?, length(upright, &scope)?);
                taken[i] = (k_back, k_on);
                vertices.push(Vertex {
                    at: c + back * k_back,
                    bulge: 0.0,
                });
                vertices.push(Vertex {
                    at: c + on * k_on,
                    bulge: 0.0,
                });
            }
            CornerCut::Notch(lying, upright) => {
                let (k_back, k_on) = ordered(length(lying, &scope)?, length(upright, &scope)?);
                taken[i] = (k_back, k_on);
                vertices.push(Vertex {
                    at: c + back * k_back,
                    bulge: 0.0,
                });
                vertices.push(Vertex {
                    at: c + back * k_back + on * k_on,
                    bulge: 0.0,
                });
                vertices.push(Vertex {
                    at: c + on * k_on,
                    bulge: 0.0,
                });
            }
        }
    }
    let eaten = (0..4).any(|i| {
        let next = (i + 1) % 4;
        taken[i].1 + taken[next].0 > quad[i].distance(quad[next]) + crate::units::SLACK_MM
    });
    if eaten {
        return Err(too_cut(b));
    }
    let path = dropping_repeats(Path {
        vertices,
        closed: true,
    });
    for (a, s) in path.segments().enumerate() {
        let Some(next) = path.segments().nth((a + 1) % path.vertices.len()) else {
            continue;
        };
        // Corner cuts that eat past each other turn an edge round.
        if s.bulge == 0.0 && next.bulge == 0.0 {
            let (u, v) = (s.to - s.from, next.to - next.from);
            if u.dot(v) < 0.0 && u.perp_dot(v).abs() < 1e-9 {
                return Err(too_cut(b));
            }
        }
    }
    if path.area() <= 0.0 || !within(path.bounds(), drawn) {
        return Err(too_cut(b));
    }
    Ok(path)
}

fn too_cut(b: &Branch<'_>) -> Diag {
    Diag::error(
        "no-panel-left",
        format!("the corner cuts of `{}` meet each other", b.name),
    )
    .at(b.place().clone())
    .help("make the cuts smaller, or the panel larger")
}

fn within(inner: Rect, outer: Rect) -> bool {
    let k = crate::units::SLACK_MM;
    inner.min.cmpge(outer.min - k).all() && inner.max.cmple(outer.max + k).all()
}

/// A taper is a length, or an angle over the drawn reach.
fn taper(f: &Formula, names: &dyn Names, tall: f64) -> Result<f64, Diag> {
    match f.expr.eval(names).map_err(|e| f.diag(&e))? {
        crate::expr::Value::Quantity(q) if q.dim == Dim::LENGTH => Ok(q.value),
        crate::expr::Value::Quantity(q) if q.dim == Dim::ANGLE && q.value.abs() < 1.5 => {
            Ok(tall * q.value.tan())
        }
        _ => Err(
            Diag::error("wrong-unit", "a taper is a length, or an angle below 85deg")
                .at(f.place.clone()),
        ),
    }
}
