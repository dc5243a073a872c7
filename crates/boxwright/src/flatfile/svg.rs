//! SVG: shapes and paths with what they are drawn in, at true size.

use std::collections::BTreeMap;
use std::str::FromStr;

use roxmltree::{Document, Node, ParsingOptions};
use svgtypes::{Color, LengthUnit, Transform, ViewBox};

use super::dxf::MOST_STROKES;
use super::model::{Drawing, FileUnit, Group, Stroke};
use super::svg_shapes::{Map, Pen};
use crate::diag::{Diag, Outcome, Place};
use crate::geom::DVec2;
use crate::source::Text;

const SVG: &str = "http://www.w3.org/2000/svg";
/// Groups in groups no deeper.
const DEEPEST: usize = 64;
/// Elements read at most.
const MOST_NODES: u32 = 400_000;
/// CSS pixels in a millimetre: 96 to the inch, by the standard.
const PIXEL: f64 = 25.4 / 96.0;

/// What an element takes from those it stands in.
#[derive(Clone)]
struct Ink {
    map: Map,
    names: Vec<String>,
    stroke: Option<String>,
    fill: Option<String>,
    shown: bool,
}

struct Reader<'t> {
    input: &'t str,
    sheet: Vec<(String, String)>,
    out: Drawing,
    groups: BTreeMap<(Vec<String>, Vec<String>), usize>,
    others: BTreeMap<String, usize>,
    wrong: Vec<Diag>,
}

pub(super) fn read(text: &Text, unit: Option<FileUnit>) -> Outcome<Drawing> {
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    let doc = Document::parse_with_options(&text.text, options).map_err(|e| {
        let pos = e.pos();
        let line = usize::try_from(pos.row).unwrap_or(1).saturating_sub(1);
        let start: usize = text
            .text
            .split_inclusive('\n')
            .take(line)
            .map(str::len)
            .sum();
        let start = start.min(text.text.len().saturating_sub(1));
        vec![
            Diag::error("bad-svg", format!("`{}` is no whole SVG: {e}", text.name))
                .at(Place {
                    input: text.name.clone(),
                    start,
                    end: start + 1,
                })
                .help("the file is damaged or cut short: write it again"),
        ]
    })?;
    let top = doc.root_element();
    if top.tag_name().name() != "svg" {
        return Err(vec![
            Diag::error(
                "not-a-drawing",
                format!("`{}` is neither DXF nor SVG", text.name),
            )
            .help("give a DXF or SVG file with cut and crease lines"),
        ]);
    }
    let (scale, origin, word) = size(&top, unit);
    let sheet = doc
        .descendants()
        .filter(|n| n.tag_name().name() == "style")
        .filter_map(|n| n.text())
        .flat_map(rules)
        .collect();
    let mut reader = Reader {
        input: &text.name,
        sheet,
        out: Drawing {
            input: text.name.clone(),
            format: "SVG",
            unit: word,
            y_down: true,
            flutes_left_right: flutes(&top),
            ..Drawing::default()
        },
        groups: BTreeMap::new(),
        others: BTreeMap::new(),
        wrong: Vec::new(),
    };
    let ink = Ink {
        map: Map {
            x: DVec2::new(scale, 0.0),
            y: DVec2::new(0.0, -scale),
            by: DVec2::new(-origin.x, origin.y) * scale,
        },
        names: Vec::new(),
        stroke: None,
        fill: None,
        shown: true,
    };
    for n in top.children() {
        reader.element(&n, &ink, 0);
    }
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

/// Millimetres in a user unit, where the page begins in user units, and what was made of it in words.
fn size(top: &Node<'_, '_>, asked: Option<FileUnit>) -> (f64, DVec2, String) {
    let view = top
        .attribute("viewBox")
        .and_then(|v| ViewBox::from_str(v).ok());
    let origin = view.map_or(DVec2::ZERO, |v| DVec2::new(v.x, v.y));
    if let Some(u) = asked {
        return (u.to_mm(), origin, format!("{}, as asked", u.word()));
    }
    let side = |name: &str| -> Option<(f64, bool)> {
        let l = svgtypes::Length::from_str(top.attribute(name)?).ok()?;
        let (mm, true_size) = match l.unit {
            LengthUnit::Mm => (1.0, true),
            LengthUnit::Cm => (10.0, true),
            LengthUnit::In => (25.4, true),
            LengthUnit::Pt => (25.4 / 72.0, true),
            LengthUnit::Pc => (25.4 / 6.0, true),
            LengthUnit::Px | LengthUnit::None => (PIXEL, false),
            LengthUnit::Percent | LengthUnit::Em | LengthUnit::Ex => return None,
        };
        Some((l.number * mm, true_size))
    };
    let (w, h) = (side("width"), side("height"));
    let scales: Vec<f64> = match view {
        Some(v) => [w.map(|w| w.0 / v.w), h.map(|h| h.0 / v.h)]
            .into_iter()
            .flatten()
            .collect(),
        None => Vec::new(),
    };
    let scale = scales
        .into_iter()
        .reduce(f64::min)
        .filter(|s| s.is_finite() && *s > 0.0);
    let said = w.or(h).is_some_and(|(_, t)| t);
    match scale {
        Some(s) if said => (s, origin, "mm, by the page's own size".to_owned()),
        Some(s) => (
            s,
            origin,
            "pixels, 96 to the inch: the page has no size in mm".to_owned(),
        ),
        None => (
            PIXEL,
            origin,
            "pixels, 96 to the inch: the page has no size in mm".to_owned(),
        ),
    }
}

/// Our own files say in their description how the flutes run.
fn flutes(top: &Node<'_, '_>) -> Option<bool> {
    let desc = top.children().find(|n| n.tag_name().name() == "desc")?;
    match desc.text()?.trim() {
        "flutes left-right" => Some(true),
        "flutes up-down" => Some(false),
        _ => None,
    }
}

/// Selectors with their declarations; only single names, classes and ids are understood.
fn rules(css: &str) -> Vec<(String, String)> {
    css.split('}')
        .filter_map(|rule| rule.split_once('{'))
        .flat_map(|(selectors, body)| {
            selectors
                .split(',')
                .map(move |s| (s.trim().to_owned(), body.to_owned()))
        })
        .collect()
}

fn declared(body: &str, name: &str) -> Option<String> {
    body.split(';')
        .filter_map(|d| d.split_once(':'))
        .filter(|(k, _)| k.trim() == name)
        .map(|(_, v)| v.trim().to_owned())
        .next_back()
}

fn words<'n>(n: &Node<'n, '_>, name: &str) -> Vec<&'n str> {
    n.attribute(name)
        .map_or(Vec::new(), |v| v.split_whitespace().collect())
}

impl Reader<'_> {
    /// A property of an element: its own style, then the sheet, then the attribute.
    fn property(&self, n: &Node<'_, '_>, name: &str) -> Option<String> {
        if let Some(v) = n.attribute("style").and_then(|s| declared(s, name)) {
            return Some(v);
        }
        let tag = n.tag_name().name();
        let classes = words(n, "class");
        let fits = |s: &str| {
            s == tag
                || s.strip_prefix('.').is_some_and(|c| classes.contains(&c))
                || s.strip_prefix('#')
                    .is_some_and(|i| n.attribute("id") == Some(i))
        };
        let mut of_sheet = self.sheet.iter().filter(|(s, _)| fits(s));
        of_sheet
            .rfind(|(_, body)| declared(body, name).is_some())
            .and_then(|(_, body)| declared(body, name))
            .or_else(|| n.attribute(name).map(str::to_owned))
    }

    fn element(&mut self, n: &Node<'_, '_>, outer: &Ink, depth: usize) {
        if !n.is_element() || depth > DEEPEST {
            return;
        }
        let tag = n.tag_name().name();
        // What a drawing program keeps for itself is not drawn.
        if n.tag_name().namespace().is_some_and(|ns| ns != SVG) {
            return;
        }
        match tag {
            "title" | "desc" | "metadata" | "style" | "defs" | "symbol" | "clipPath" | "mask"
            | "marker" | "pattern" | "linearGradient" | "radialGradient" | "filter" => return,
            "g" | "a" | "svg" | "switch" | "path" | "line" | "rect" | "circle" | "ellipse"
            | "polyline" | "polygon" => {}
            _ => {
                *self.others.entry(tag.to_owned()).or_default() += 1;
                return;
            }
        }
        let Some(ink) = self.ink(n, outer) else {
            return;
        };
        if matches!(tag, "g" | "a" | "svg" | "switch") {
            for c in n.children() {
                self.element(&c, &ink, depth + 1);
            }
            return;
        }
        let mut pen = Pen::new(&ink.map);
        if let Err(what) = shape(n, tag, &mut pen) {
            self.wrong.push(self.bad(n, &what));
            return;
        }
        let segments = pen.out;
        let visible = ink.shown && (ink.stroke.is_some() || ink.fill.is_some());
        if !visible || segments.is_empty() {
            return;
        }
        let colours: Vec<String> = ink.stroke.or(ink.fill).into_iter().collect();
        let key = (ink.names, colours);
        let groups = &mut self.out.groups;
        let group = *self.groups.entry(key.clone()).or_insert_with(|| {
            groups.push(Group {
                names: key.0,
                colours: key.1,
                lines: 0,
            });
            groups.len() - 1
        });
        self.out.groups[group].lines += 1;
        self.out.strokes.extend(
            segments
                .into_iter()
                .map(|segment| Stroke { segment, group }),
        );
    }

    fn bad(&self, n: &Node<'_, '_>, what: &str) -> Diag {
        let range = n.range();
        Diag::error(
            "bad-shape",
            format!("this {} cannot be read: {what}", n.tag_name().name()),
        )
        .at(Place {
            input: self.input.to_owned(),
            start: range.start,
            end: range.end,
        })
        .help("the file is damaged here: write it again from the program it comes from")
    }

    fn ink(&mut self, n: &Node<'_, '_>, outer: &Ink) -> Option<Ink> {
        let mut ink = outer.clone();
        if let Some(t) = n.attribute("transform") {
            match Transform::from_str(t) {
                Ok(t) if [t.a, t.b, t.c, t.d, t.e, t.f].iter().all(|v| v.is_finite()) => {
                    ink.map = ink.map.then(&Map {
                        x: DVec2::new(t.a, t.b),
                        y: DVec2::new(t.c, t.d),
                        by: DVec2::new(t.e, t.f),
                    });
                }
                _ => {
                    self.wrong.push(self.bad(n, "its transform is none"));
                    return None;
                }
            }
        }
        let own = words(n, "class").into_iter().chain(n.attribute("id"));
        // A drawing program gives every path an id of its own: only those of groups tell layers.
        let is_group = matches!(n.tag_name().name(), "g" | "svg" | "a");
        let classes = words(n, "class").into_iter();
        let mut names: Vec<String> = if is_group {
            own.map(str::to_owned).collect()
        } else {
            classes.map(str::to_owned).collect()
        };
        names.append(&mut ink.names);
        ink.names = names;
        for (name, slot) in [("stroke", &mut ink.stroke), ("fill", &mut ink.fill)] {
            match self.property(n, name).as_deref() {
                None | Some("inherit") => {}
                Some("none" | "transparent") => *slot = None,
                Some(v) => *slot = Some(colour(v)),
            }
        }
        if self.property(n, "display").as_deref() == Some("none")
            || matches!(
                self.property(n, "visibility").as_deref(),
                Some("hidden" | "collapse")
            )
        {
            ink.shown = false;
        }
        Some(ink)
    }
}

fn colour(text: &str) -> String {
    match Color::from_str(text) {
        Ok(c) => format!("#{:02x}{:02x}{:02x}", c.red, c.green, c.blue),
        Err(_) => text.to_owned(),
    }
}

fn shape(n: &Node<'_, '_>, tag: &str, pen: &mut Pen<'_>) -> Result<(), String> {
    let number = |name: &str| -> Result<f64, String> {
        let Some(text) = n.attribute(name) else {
            return Ok(0.0);
        };
        match svgtypes::Length::from_str(text) {
            Ok(l)
                if l.number.is_finite() && matches!(l.unit, LengthUnit::None | LengthUnit::Px) =>
            {
                Ok(l.number)
            }
            Ok(l) if l.number.is_finite() => Err(format!(
                "`{name}` is {text}, but only plain numbers are read here"
            )),
            _ => Err(format!(
                "`{name}` is no number: {}",
                text.chars().take(40).collect::<String>()
            )),
        }
    };
    let point =
        |x: &str, y: &str| -> Result<DVec2, String> { Ok(DVec2::new(number(x)?, number(y)?)) };
    match tag {
        "line" => {
            let (a, b) = (point("x1", "y1")?, point("x2", "y2")?);
            pen.line(a, b);
        }
        "rect" => {
            let (rx, ry) = (number("rx")?, number("ry")?);
            let rx = if n.has_attribute("rx") { rx } else { ry };
            let ry = if n.has_attribute("ry") { ry } else { rx };
            pen.rect(point("x", "y")?, point("width", "height")?, rx, ry);
        }
        "circle" => {
            let r = number("r")?;
            if r > 0.0 {
                pen.ellipse(point("cx", "cy")?, r, r);
            }
        }
        "ellipse" => {
            let r = point("rx", "ry")?;
            if r.min_element() > 0.0 {
                pen.ellipse(point("cx", "cy")?, r.x, r.y);
            }
        }
        "polyline" | "polygon" => {
            let points = svgtypes::PointsParser::from(n.attribute("points").unwrap_or(""));
            let points: Vec<DVec2> = points.map(|(x, y)| DVec2::new(x, y)).collect();
            pen.points(&points, tag == "polygon");
        }
        _ => pen.path(n.attribute("d").unwrap_or(""))?,
    }
    if pen
        .out
        .iter()
        .all(|s| s.from.is_finite() && s.to.is_finite() && s.bulge.is_finite())
    {
        Ok(())
    } else {
        Err("a number in it is not finite".to_owned())
    }
}
