//! The drawn outline of one panel in its own coordinates, and what is cut inside it.
use super::corners::{cornered, dropping_repeats, rounded};
use super::tree::{
    Branch, Cut, Given, filled, holds, joined, length, outline_path, own_scope, quantity,
};
use super::validate::{CHORD, inside};
use crate::diag::Diag;
use crate::expr::Names;
use crate::geom::{DVec2, Path, Rect, Vertex};
use crate::style::{Corner, CutOutShape, Edge, Item, PathDef, RectDef, Values};
use crate::units::{Dim, Length, Quantity};

/// A panel's own shape before it is joined to its neighbours.
pub(super) struct Local {
    pub clear: Rect,
    pub drawn: Rect,
    pub outline: Path,
    /// Name and path of each cut-out, clockwise.
    pub holes: Vec<(String, Path)>,
    pub slits: Vec<Path>,
    pub marks: Vec<Path>,
}

impl Branch<'_> {
    /// The clear span in own coordinates.
    pub(super) fn clear(&self) -> Rect {
        let near = self.beyond[Edge::Near.index()];
        Rect {
            min: DVec2::new(0.0, near),
            max: DVec2::new(self.breadth, near + self.reach),
        }
    }
    /// The rectangle the panel is drawn from: the clear span and what lies beyond it.
    pub(super) fn drawn(&self) -> Rect {
        let c = self.clear();
        Rect {
            min: DVec2::new(c.min.x - self.beyond[Edge::Left.index()], 0.0),
            max: DVec2::new(
                c.max.x + self.beyond[Edge::Right.index()],
                c.max.y + self.beyond[Edge::Far.index()],
            ),
        }
    }
}

pub(super) fn local(b: &Branch<'_>, values: &Values) -> Result<Local, Diag> {
    let (clear, drawn) = (b.clear(), b.drawn());
    let outline = match outline_path(b) {
        Some((def, mirrored, given)) => given_outline(b, def, mirrored, given, values)?,
        None => cornered(b, drawn, values)?,
    };
    let mut l = Local {
        clear,
        drawn,
        outline,
        holes: Vec::new(),
        slits: Vec::new(),
        marks: Vec::new(),
    };
    let whole = l.outline.flattened(CHORD);
    for Cut {
        item,
        mirrored,
        given,
        prefix,
    } in &b.items
    {
        let scope = own_scope(values, b, given);
        match item {
            Item::CutOut(c) if holds(c.when.as_ref(), &scope)? => {
                let path = match &c.shape {
                    CutOutShape::Rect(def) => {
                        let RectDef {
                            x,
                            y,
                            breadth,
                            reach,
                            round,
                        } = def.as_ref();
                        let mut x = length(x, &scope)?;
                        if *mirrored {
                            x = b.breadth - x;
                        }
                        let centre = clear.min + DVec2::new(x, length(y, &scope)?);
                        let (w, h) = (length(breadth, &scope)?, length(reach, &scope)?);
                        let r = round.as_ref().map_or(Ok(0.0), |f| length(f, &scope))?;
                        if w <= 0.0 || h <= 0.0 || r < 0.0 {
                            return Err(Diag::error(
                                "no-panel-left",
                                format!("cut-out `{}` would measure {} by {} mm", c.name, w, h),
                            )
                            .at(c.place.clone())
                            .help("a cut-out needs sizes above zero"));
                        }
                        rounded(centre, w, h, r.min(w / 2.0).min(h / 2.0))
                    }
                    CutOutShape::Path(p) => {
                        let mut path = points(p, *mirrored, b, clear, &scope)?;
                        path.closed = true;
                        path
                    }
                };
                if let Some(out) = path
                    .flattened(CHORD)
                    .into_iter()
                    .find(|q| !inside(&whole, *q))
                {
                    return Err(Diag::error(
                        "cut-out-outside",
                        format!(
                            "cut-out `{}` leaves `{}` at {:.2}, {:.2} mm",
                            c.name,
                            b.name,
                            out.x - clear.min.x,
                            out.y - clear.min.y
                        ),
                    )
                    .at(c.place.clone())
                    .help(format!(
                        "the clear span of the panel is {:.2} by {:.2} mm",
                        b.breadth, b.reach
                    )));
                }
                let path = if path.area() > 0.0 {
                    path.reversed()
                } else {
                    path
                };
                l.holes.push((
                    joined(prefix.as_deref().unwrap_or(""), &filled(&c.name, given)),
                    path,
                ));
            }
            Item::Slit(p) => {
                let path = points(p, *mirrored, b, clear, &scope)?;
                keeps_to(&path, &whole, "slit", p, b)?;
                l.slits.push(path);
            }
            Item::Mark(p) => {
                let path = points(p, *mirrored, b, clear, &scope)?;
                keeps_to(&path, &whole, "mark", p, b)?;
                l.marks.push(path);
            }
            _ => {}
        }
    }
    apart(&l.holes, b)?;
    Ok(l)
}

/// Refuses a slit or mark with a corner or a stretch outside its panel; it may touch the edge.
fn keeps_to(
    path: &Path,
    whole: &[DVec2],
    what: &str,
    def: &PathDef,
    b: &Branch<'_>,
) -> Result<(), Diag> {
    let line = path.flattened(CHORD);
    let n = whole.len();
    let within = |p: DVec2| {
        inside(whole, p)
            || (0..n).any(|i| {
                let (q, r) = (whole[i], whole[(i + 1) % n]);
                let u = ((p - q).dot(r - q) / (r - q).length_squared()).clamp(0.0, 1.0);
                p.distance(q.lerp(r, u)) <= crate::units::SLACK_MM
            })
    };
    let middles = line.windows(2).map(|w| (w[0] + w[1]) * 0.5);
    match line.iter().copied().chain(middles).find(|p| !within(*p)) {
        None => Ok(()),
        Some(out) => Err(Diag::error(
            "cut-out-outside",
            format!(
                "a {what} leaves `{}` at {:.2}, {:.2} mm",
                b.name,
                out.x - b.clear().min.x,
                out.y - b.clear().min.y
            ),
        )
        .at(def.place.clone())
        .help(
            "it may end on the edge of its panel; what goes on from there belongs to the next one",
        )),
    }
}

/// Refuses cut-outs that run into each other: their lines would be cut across holes.
fn apart(holes: &[(String, Path)], b: &Branch<'_>) -> Result<(), Diag> {
    let rings: Vec<Vec<DVec2>> = holes.iter().map(|(_, p)| p.flattened(CHORD)).collect();
    for (i, one) in rings.iter().enumerate() {
        for (j, two) in rings.iter().enumerate().skip(i + 1) {
            let cross = (0..one.len()).any(|k| {
                let (p, q) = (one[k], one[(k + 1) % one.len()]);
                (0..two.len()).any(|m| meet(p, q, two[m], two[(m + 1) % two.len()]))
            });
            if cross || inside(one, two[0]) || inside(two, one[0]) {
                return Err(Diag::error(
                    "cut-outs-meet",
                    format!(
                        "cut-outs `{}` and `{}` of `{}` run into each other",
                        holes[i].0, holes[j].0, b.name
                    ),
                )
                .at(b.place().clone())
                .help("move them apart, or make them one"));
            }
        }
    }
    Ok(())
}

fn points(
    def: &PathDef,
    mirrored: bool,
    b: &Branch<'_>,
    clear: Rect,
    names: &dyn Names,
) -> Result<Path, Diag> {
    let mut vertices: Vec<Vertex> = Vec::with_capacity(def.points.len());
    for (i, (x, y, arc)) in def.points.iter().enumerate() {
        let mut x = length(x, names)?;
        let y = length(y, names)?;
        if mirrored {
            x = b.breadth - x;
        }
        if let Some(turn) = arc {
            let angle = quantity(turn, names, Dim::ANGLE)? * if mirrored { -1.0 } else { 1.0 };
            if angle.abs() > std::f64::consts::TAU * 0.99 || i == 0 {
                return Err(Diag::error(
                    "bad-angle",
                    "an arc turns through less than 356deg and needs a point before it",
                )
                .at(turn.place.clone()));
            }
            if let Some(last) = vertices.last_mut() {
                last.bulge = (angle / 4.0).tan();
            }
        }
        if !x.is_finite() || !y.is_finite() || x.abs() > 1e6 || y.abs() > 1e6 {
            return Err(
                Diag::error("too-large", "this point lies too far off").at(def.place.clone())
            );
        }
        vertices.push(Vertex {
            at: clear.min + DVec2::new(x, y),
            bulge: 0.0,
        });
    }
    Ok(Path {
        vertices,
        closed: false,
    })
}

/// An outline given point by point, from the near right corner to the near left one. Points past
/// the clear span at the ends are drawn to the crease line.
fn given_outline(
    b: &Branch<'_>,
    def: &PathDef,
    mirrored: bool,
    given: &Given<'_>,
    values: &Values,
) -> Result<Path, Diag> {
    let clear = b.clear();
    let scope = own_scope(values, b, given);
    let mut path = points(def, mirrored, b, clear, &scope)?;
    if mirrored {
        path = path.reversed();
    }
    let slack = crate::units::SLACK_MM;
    let on_crease = |v: &Vertex| (v.at.y - clear.min.y).abs() <= slack;
    let ends = (
        path.vertices.first().is_some_and(on_crease),
        path.vertices.last().is_some_and(on_crease),
    );
    if ends != (true, true) {
        return Err(Diag::error(
            "open-outline",
            format!(
                "the outline of `{}` must start and end on its near edge",
                b.name
            ),
        )
        .at(def.place.clone())
        .help(format!(
            "start at \"breadth\" \"0mm\" and end at \"0mm\" \"0mm\"; its breadth is {}",
            Quantity::length(Length::mm(b.breadth))
        )));
    }
    // Points on the clear span's sides move out to the drawn ones, where creases may lie.
    let drawn = b.drawn();
    for v in &mut path.vertices {
        if (v.at.x - clear.min.x).abs() <= slack {
            v.at.x = drawn.min.x;
        } else if (v.at.x - clear.max.x).abs() <= slack {
            v.at.x = drawn.max.x;
        }
        if (v.at.y - clear.max.y).abs() <= slack {
            v.at.y = drawn.max.y;
        }
    }
    // The strip between the clear span and the crease line belongs to the panel.
    let (first, last) = (
        path.vertices[0].at,
        path.vertices[path.vertices.len() - 1].at,
    );
    let mut vertices = vec![
        Vertex {
            at: DVec2::new(last.x, 0.0),
            bulge: 0.0,
        },
        Vertex {
            at: DVec2::new(first.x, 0.0),
            bulge: 0.0,
        },
    ];
    vertices.extend(path.vertices);
    let path = dropping_repeats(Path {
        vertices,
        closed: true,
    });
    if crosses_itself(&path) {
        return Err(Diag::error(
            "crossed-outline",
            format!("the outline of `{}` crosses or touches itself", b.name),
        )
        .at(def.place.clone())
        .help("go once round the panel; two stretches of its outline may not meet"));
    }
    if path.area() <= 0.0 {
        return Err(Diag::error("open-outline", format!("the outline of `{}` runs the wrong way round", b.name))
            .at(def.place.clone())
            .help("go from the near right corner up the right side, along the far edge and down the left side"));
    }
    Ok(path)
}

/// Corner words for messages.
impl Corner {
    /// Its word in style files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        ["near-left", "near-right", "far-right", "far-left"][self.index()]
    }
}

/// Whether two stretches of a closed path that are not neighbours meet, arcs taken as chords.
pub(super) fn crosses_itself(path: &Path) -> bool {
    let ring = path.flattened(0.01);
    let n = ring.len();
    let ends = |i: usize| (ring[i], ring[(i + 1) % n]);
    (0..n).any(|i| {
        (i + 1..n).any(|j| {
            let next = j == i + 1 || (i == 0 && j == n - 1);
            let ((a, b), (c, d)) = (ends(i), ends(j));
            if next {
                // Neighbours share a corner; they meet elsewhere only by turning back.
                let (u, v) = (b - a, d - c);
                return u.perp_dot(v).abs() <= 1e-9 * u.length() * v.length() && u.dot(v) < 0.0;
            }
            meet(a, b, c, d)
        })
    })
}

fn meet(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let apart = a.max(b).cmplt(c.min(d)).any() || c.max(d).cmplt(a.min(b)).any();
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    !apart && side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}
