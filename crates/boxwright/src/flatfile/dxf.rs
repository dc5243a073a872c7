//! DXF: lines of the entities section, with what blocks put there.

use std::collections::BTreeMap;

use super::curves::{chain, ellipse, spline};
use super::dxf_tags::{Tag, tags};
use super::model::{Drawing, FileUnit, Group, Stroke};
use crate::diag::{Diag, Outcome};
use crate::geom::{DVec2, Segment};
use crate::source::Text;

/// More lines than a drawn case has.
pub(super) const MOST_STROKES: usize = 20_000;
/// Blocks in blocks no deeper.
const DEEPEST: usize = 8;
/// Messages of one kind gathered before giving up.
const MOST_WRONG: usize = 20;

/// An entity with its tags.
struct Entity<'t> {
    kind: &'t str,
    tags: &'t [Tag<'t>],
}

/// A block: its base point and what is in it.
struct Block<'t> {
    base: DVec2,
    entities: Vec<Entity<'t>>,
}

/// Where a block is put: a linear part by its columns, and a shift.
#[derive(Clone, Copy)]
struct Put {
    x: DVec2,
    y: DVec2,
    by: DVec2,
}

impl Put {
    fn point(&self, p: DVec2) -> DVec2 {
        self.x * p.x + self.y * p.y + self.by
    }
    fn mirrors(&self) -> bool {
        self.x.perp_dot(self.y) < 0.0
    }
    /// Whether circles stay circles.
    fn even(&self) -> bool {
        let (a, b) = (self.x.length(), self.y.length());
        (a - b).abs() <= 1e-9 * a.max(b) && self.x.dot(self.y).abs() <= 1e-9 * a * b
    }
}

struct Reader<'t> {
    input: &'t str,
    blocks: BTreeMap<String, Block<'t>>,
    layers: BTreeMap<String, String>,
    out: Drawing,
    groups: BTreeMap<(String, Vec<String>), usize>,
    others: BTreeMap<String, usize>,
    wrong: Vec<Diag>,
}

pub(super) fn read(text: &Text, unit: Option<FileUnit>) -> Outcome<Drawing> {
    let tags = tags(text)?;
    let sections = sections(&tags);
    let Some(entities) = sections.get("ENTITIES") else {
        return Err(vec![
            Diag::error(
                "not-a-drawing",
                format!("`{}` has no section of entities", text.name),
            )
            .help("give a DXF file with lines in it"),
        ]);
    };
    let (said, word) = header_unit(sections.get("HEADER").copied().unwrap_or(&[]), unit, &tags);
    let scale = said.to_mm();
    let mut reader = Reader {
        input: &text.name,
        blocks: blocks(sections.get("BLOCKS").copied().unwrap_or(&[])),
        layers: layers(sections.get("TABLES").copied().unwrap_or(&[])),
        out: Drawing {
            input: text.name.clone(),
            format: "DXF",
            unit: word,
            flutes_left_right: flutes(&tags),
            ..Drawing::default()
        },
        groups: BTreeMap::new(),
        others: BTreeMap::new(),
        wrong: Vec::new(),
    };
    let put = Put {
        x: DVec2::X * scale,
        y: DVec2::Y * scale,
        by: DVec2::ZERO,
    };
    let entities = split(entities);
    reader.all(&entities, put, None, 0);
    let mut out = reader.out;
    if out.strokes.len() > MOST_STROKES {
        reader.wrong.push(
            Diag::error(
                "too-many-lines",
                format!("more than {MOST_STROKES} lines are drawn"),
            )
            .help("keep the cut and crease lines of one blank only"),
        );
    }
    if !reader.wrong.is_empty() {
        return Err(reader.wrong);
    }
    out.others = reader.others.into_iter().collect();
    Ok(out)
}

fn sections<'t>(tags: &'t [Tag<'t>]) -> BTreeMap<&'t str, &'t [Tag<'t>]> {
    let mut out = BTreeMap::new();
    let mut from: Option<(&str, usize)> = None;
    for (i, t) in tags.iter().enumerate() {
        match (t.code, t.value) {
            (0, "ENDSEC" | "EOF") => {
                if let Some((name, start)) = from.take() {
                    out.insert(name, &tags[start..i]);
                }
            }
            (2, name) if i > 0 && tags[i - 1].code == 0 && tags[i - 1].value == "SECTION" => {
                from = Some((name, i + 1));
            }
            _ => {}
        }
    }
    out
}

/// What the header says of the unit: `$INSUNITS`, or in our own files the comment at their head.
fn header_unit(header: &[Tag<'_>], asked: Option<FileUnit>, all: &[Tag<'_>]) -> (FileUnit, String) {
    if let Some(u) = asked {
        return (u, format!("{}, as asked", u.word()));
    }
    let mut said = None;
    for w in header.windows(2) {
        if w[0].code == 9 && w[0].value == "$INSUNITS" {
            said = w[1].value.parse::<i32>().ok();
        }
    }
    let unit = match said {
        Some(1) => Some(FileUnit::In),
        Some(2) => Some(FileUnit::Ft),
        Some(4) => Some(FileUnit::Mm),
        Some(5) => Some(FileUnit::Cm),
        Some(6) => Some(FileUnit::M),
        _ => None,
    };
    let own = all
        .iter()
        .take_while(|t| t.code == 999)
        .any(|t| t.value.contains("millimetres"));
    match unit {
        Some(u) => (u, format!("{}, as the file says", u.word())),
        None if own => (FileUnit::Mm, "mm, as the file says".to_owned()),
        None => (
            FileUnit::Mm,
            "mm, taken so: the file does not say".to_owned(),
        ),
    }
}

/// Our own files say at their head how the flutes run.
fn flutes(all: &[Tag<'_>]) -> Option<bool> {
    let mut comments = all.iter().take_while(|t| t.code == 999);
    comments.find_map(|t| match t.value {
        "flutes left-right" => Some(true),
        "flutes up-down" => Some(false),
        _ => None,
    })
}

fn split<'t>(tags: &'t [Tag<'t>]) -> Vec<Entity<'t>> {
    let starts: Vec<usize> = (0..tags.len()).filter(|i| tags[*i].code == 0).collect();
    let ends = starts.iter().skip(1).copied().chain([tags.len()]);
    starts
        .iter()
        .zip(ends)
        .map(|(from, to)| Entity {
            kind: tags[*from].value,
            tags: &tags[from + 1..to],
        })
        .collect()
}

fn layers(tables: &[Tag<'_>]) -> BTreeMap<String, String> {
    split(tables)
        .iter()
        .filter(|e| e.kind == "LAYER")
        .filter_map(|e| {
            let name = e.word(2)?.to_lowercase();
            let colour = e.word(62)?.trim_start_matches('-').to_owned();
            Some((name, colour))
        })
        .collect()
}

fn blocks<'t>(tags: &'t [Tag<'t>]) -> BTreeMap<String, Block<'t>> {
    let mut out = BTreeMap::new();
    let mut open: Option<(String, Block<'t>)> = None;
    for e in split(tags) {
        match (e.kind, &mut open) {
            ("BLOCK", _) => {
                let at = |code| e.word(code).and_then(|v| v.parse().ok()).unwrap_or(0.0);
                let base = DVec2::new(at(10), at(20));
                let name = e.word(2).unwrap_or_default().to_lowercase();
                let entities = Vec::new();
                open = Some((name, Block { base, entities }));
            }
            ("ENDBLK", _) => out.extend(open.take()),
            (_, Some((_, block))) => block.entities.push(e),
            _ => {}
        }
    }
    out
}

impl<'t> Entity<'t> {
    fn tag(&self, code: i32) -> Option<&'t Tag<'t>> {
        self.tags.iter().find(|t| t.code == code)
    }
    fn word(&self, code: i32) -> Option<&'t str> {
        self.tag(code).map(|t| t.value)
    }
    fn flag(&self, code: i32, bit: i64) -> bool {
        let value: i64 = self.word(code).and_then(|v| v.parse().ok()).unwrap_or(0);
        value & bit != 0
    }
}

impl Reader<'_> {
    fn all(&mut self, entities: &[Entity<'_>], put: Put, layer: Option<&str>, depth: usize) {
        let mut i = 0;
        while i < entities.len() && self.wrong.len() < MOST_WRONG {
            let e = &entities[i];
            let mut next = i + 1;
            if e.kind == "POLYLINE" {
                while next < entities.len() && entities[next].kind == "VERTEX" {
                    next += 1;
                }
                let vertices = &entities[i + 1..next];
                next += usize::from(entities.get(next).is_some_and(|e| e.kind == "SEQEND"));
                let drawn = self.polyline(e, vertices);
                self.keep(drawn, e, put, layer);
            } else if e.kind == "INSERT" {
                self.insert(e, put, layer, depth);
            } else {
                match self.entity(e) {
                    Ok(None) => *self.others.entry(e.kind.to_owned()).or_default() += 1,
                    Ok(Some(s)) => self.keep(Ok(s), e, put, layer),
                    Err(d) => self.wrong.push(d),
                }
            }
            i = next;
        }
    }

    fn keep(
        &mut self,
        drawn: Result<Vec<Segment>, Diag>,
        e: &Entity<'_>,
        put: Put,
        outer: Option<&str>,
    ) {
        let segments = match drawn {
            Ok(s) => s,
            Err(d) => return self.wrong.push(d),
        };
        // Paper space is not the drawing.
        if e.flag(67, 1) {
            return;
        }
        let own = e.word(8).unwrap_or("0");
        let layer = match outer {
            Some(outer) if own == "0" => outer,
            _ => own,
        };
        let index = e.word(62).filter(|c| !matches!(*c, "256" | "0"));
        let mut colours: Vec<String> = Vec::new();
        if let Some(v) = e.word(420).and_then(|v| v.parse::<u32>().ok()) {
            colours.push(format!("#{:06x}", v & 0x00ff_ffff));
        }
        let of_layer = self.layers.get(&layer.to_lowercase());
        colours.extend(
            index
                .map(str::to_owned)
                .or_else(|| of_layer.cloned())
                .filter(|_| colours.is_empty()),
        );
        let key = (layer.to_owned(), colours.clone());
        let groups = &mut self.out.groups;
        let group = *self.groups.entry(key).or_insert_with(|| {
            groups.push(Group {
                names: vec![layer.to_owned()],
                colours,
                lines: 0,
            });
            groups.len() - 1
        });
        self.out.groups[group].lines += 1;
        for s in segments {
            let bulge = if put.mirrors() { -s.bulge } else { s.bulge };
            if s.bulge != 0.0 && !put.even() {
                let points = bent(&s)
                    .into_iter()
                    .map(|p| put.point(p))
                    .collect::<Vec<_>>();
                self.out
                    .strokes
                    .extend(chain(&points).map(|segment| Stroke { segment, group }));
                continue;
            }
            let segment = Segment {
                from: put.point(s.from),
                to: put.point(s.to),
                bulge,
            };
            self.out.strokes.push(Stroke { segment, group });
        }
    }

    /// What is drawn by an entity that stands alone; `None` when it is no line.
    fn entity(&self, e: &Entity<'_>) -> Result<Option<Vec<Segment>>, Diag> {
        Ok(Some(match e.kind {
            "LINE" => vec![Segment {
                from: self.point(e, 10)?,
                to: self.point(e, 11)?,
                bulge: 0.0,
            }],
            "CIRCLE" => {
                let (c, r) = (self.point(e, 10)?, self.need(e, 40)?);
                arc(self.axis(e), c, r, 0.0, std::f64::consts::TAU)
            }
            "ARC" => {
                let (c, r) = (self.point(e, 10)?, self.need(e, 40)?);
                let (a, b) = (
                    self.need(e, 50)?.to_radians(),
                    self.need(e, 51)?.to_radians(),
                );
                let sweep = (b - a).rem_euclid(std::f64::consts::TAU);
                let sweep = if sweep == 0.0 {
                    std::f64::consts::TAU
                } else {
                    sweep
                };
                arc(self.axis(e), c, r, a, sweep)
            }
            "LWPOLYLINE" => self.light(e)?,
            "ELLIPSE" => {
                let (c, major) = (self.point(e, 10)?, self.point(e, 11)?);
                let ratio = self.need(e, 40)?;
                let (a, mut b) = (self.need(e, 41)?, self.need(e, 42)?);
                if b <= a {
                    b += std::f64::consts::TAU;
                }
                let minor = major.perp() * ratio * self.axis(e);
                chain(&ellipse(c, major, minor, a, b)).collect()
            }
            "SPLINE" => self.spline(e)?,
            _ => return Ok(None),
        }))
    }

    /// 1, or -1 for an entity drawn from behind.
    fn axis(&self, e: &Entity<'_>) -> f64 {
        let z = e.word(230).and_then(|v| v.parse::<f64>().ok());
        if z.is_some_and(|z| z < 0.0) {
            -1.0
        } else {
            1.0
        }
    }

    fn need(&self, e: &Entity<'_>, code: i32) -> Result<f64, Diag> {
        match e.tag(code) {
            Some(t) => t.number(self.input),
            None => {
                let mut d = Diag::error(
                    "cut-short",
                    format!("this {} lacks its group code {code}", e.kind),
                );
                if let Some(t) = e.tags.first() {
                    d = d.at(t.place(self.input));
                }
                Err(d.help(
                    "the file is damaged here: write it again from the program it comes from",
                ))
            }
        }
    }

    fn point(&self, e: &Entity<'_>, code: i32) -> Result<DVec2, Diag> {
        Ok(DVec2::new(self.need(e, code)?, self.need(e, code + 10)?))
    }

    fn light(&self, e: &Entity<'_>) -> Result<Vec<Segment>, Diag> {
        let mut corners: Vec<(DVec2, f64)> = Vec::new();
        let mut x = None;
        for t in e.tags {
            match t.code {
                10 => x = Some(t.number(self.input)?),
                20 => {
                    if let Some(x) = x.take() {
                        corners.push((DVec2::new(x, t.number(self.input)?), 0.0));
                    }
                }
                42 => {
                    let bulge = t.number(self.input)?;
                    if let Some(last) = corners.last_mut() {
                        last.1 = bulge;
                    }
                }
                _ => {}
            }
        }
        Ok(joined(&corners, e.flag(70, 1), self.axis(e)))
    }

    fn polyline(&self, e: &Entity<'_>, vertices: &[Entity<'_>]) -> Result<Vec<Segment>, Diag> {
        let mut corners = Vec::with_capacity(vertices.len());
        for v in vertices {
            // Control points of a spline frame are not on the line.
            if v.flag(70, 16) {
                continue;
            }
            let bulge = v.tag(42).map_or(Ok(0.0), |t| t.number(self.input))?;
            corners.push((self.point(v, 10)?, bulge));
        }
        Ok(joined(&corners, e.flag(70, 1), self.axis(e)))
    }

    fn spline(&self, e: &Entity<'_>) -> Result<Vec<Segment>, Diag> {
        let all = |code| -> Result<Vec<f64>, Diag> {
            let tags = e.tags.iter().filter(|t| t.code == code);
            tags.map(|t| t.number(self.input)).collect()
        };
        let points = |code| -> Result<Vec<DVec2>, Diag> {
            let (x, y) = (all(code)?, all(code + 10)?);
            Ok(x.into_iter()
                .zip(y)
                .map(|(x, y)| DVec2::new(x, y))
                .collect())
        };
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small whole number, checked by the curve"
        )]
        let degree = self.need(e, 71)?.clamp(0.0, 16.0) as usize;
        match spline(degree, &all(40)?, &points(10)?, &all(41)?) {
            Some(p) => Ok(chain(&p).collect()),
            None => {
                let mut d = Diag::error(
                    "bad-spline",
                    "this spline has no control points that make a curve",
                );
                if let Some(t) = e.tags.first() {
                    d = d.at(t.place(self.input));
                }
                Err(d.help("draw it as arcs and lines"))
            }
        }
    }

    fn insert(&mut self, e: &Entity<'_>, put: Put, layer: Option<&str>, depth: usize) {
        let name = e.word(2).unwrap_or_default().to_lowercase();
        let Some(block) = self.blocks.remove(&name) else {
            *self.others.entry("INSERT".to_owned()).or_default() += 1;
            return;
        };
        let at = |code: i32, absent: f64| e.tag(code).map_or(Ok(absent), |t| t.number(self.input));
        let read = || -> Result<Put, Diag> {
            let by = DVec2::new(at(10, 0.0)?, at(20, 0.0)?);
            let (sx, sy) = (at(41, 1.0)?, at(42, 1.0)?);
            let turn = DVec2::from_angle(at(50, 0.0)?.to_radians());
            let (x, y) = (turn * sx, turn.perp() * sy);
            let by = by - x * block.base.x - y * block.base.y;
            Ok(Put {
                x: put.x * x.x + put.y * x.y,
                y: put.x * y.x + put.y * y.y,
                by: put.point(by),
            })
        };
        match read() {
            Err(d) => self.wrong.push(d),
            Ok(inner) if depth < DEEPEST && self.out.strokes.len() <= MOST_STROKES => {
                let own = e.word(8).filter(|l| *l != "0").or(layer).map(str::to_owned);
                self.all(
                    &block.entities,
                    inner,
                    own.as_deref().or(Some("0")),
                    depth + 1,
                );
            }
            Ok(_) => {}
        }
        // Taken out meanwhile, so that no block can hold itself.
        self.blocks.insert(name, block);
    }
}

/// Circular arcs of at most half a turn each. `axis` is -1 when drawn from behind: x is mirrored.
fn arc(axis: f64, c: DVec2, r: f64, from: f64, sweep: f64) -> Vec<Segment> {
    let n = if sweep > std::f64::consts::PI + 1e-9 {
        2
    } else {
        1
    };
    let at = |k: i32| {
        let p = c + DVec2::from_angle(from + sweep * f64::from(k) / f64::from(n)) * r;
        DVec2::new(p.x * axis, p.y)
    };
    let end = |k: i32| {
        if k == n && sweep == std::f64::consts::TAU {
            at(0)
        } else {
            at(k)
        }
    };
    let bulge = (sweep / f64::from(n) / 4.0).tan() * axis;
    (0..n)
        .map(|k| Segment {
            from: at(k),
            to: end(k + 1),
            bulge,
        })
        .collect()
}

fn joined(corners: &[(DVec2, f64)], closed: bool, axis: f64) -> Vec<Segment> {
    let n = corners.len();
    let count = if closed { n } else { n.saturating_sub(1) };
    let flip = |p: DVec2| DVec2::new(p.x * axis, p.y);
    let mut out = Vec::with_capacity(count);
    for i in 0..count {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        let s = Segment {
            from: flip(a.0),
            to: flip(b.0),
            bulge: a.1 * axis,
        };
        // The end that repeats a closed line's beginning is no line.
        if s.from == s.to && (closed && i + 1 == n || s.bulge != 0.0) {
            continue;
        }
        out.push(s);
    }
    out
}

/// An arc as chords, for a block that is put unevenly.
fn bent(s: &Segment) -> Vec<DVec2> {
    let Some((c, r)) = s.circle() else {
        return vec![s.from, s.to];
    };
    let start = (s.from - c).to_angle();
    let sweep = 4.0 * s.bulge.atan();
    super::curves::sampled(0.0, sweep, r, sweep.abs(), |a| {
        c + DVec2::from_angle(start + a) * r
    })
}
