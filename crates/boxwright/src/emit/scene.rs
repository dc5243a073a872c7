//! A page of lines and text in millimetres: what drawings and instructions are made of before
//! they become SVG, PDF or PNG. x runs right, y runs **down**, origin at the top left.

use std::fmt::Write as _;

use crate::geom::{DVec2, Path};

/// How a line is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Colour, `#rrggbb`.
    pub colour: &'static str,
    /// Width in mm.
    pub width: f64,
    /// Alternating on and off lengths in mm; empty for a continuous line.
    pub dash: &'static [f64],
}

/// Where a text's anchor lies along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The text starts there.
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}

/// One thing on the page.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// One or more paths painted together (even-odd), in page coordinates.
    Shape {
        /// The paths. Bulges keep the meaning they have in y-up coordinates **after** mirroring:
        /// use [`Scene::shape_from`] to bring y-up geometry in.
        paths: Vec<Path>,
        /// Fill colour, if any.
        fill: Option<&'static str>,
        /// Outline, if any.
        stroke: Option<Stroke>,
    },
    /// A line of text.
    Text {
        /// Anchor on the base line.
        at: DVec2,
        /// Height of the em in mm.
        size: f64,
        /// Where the anchor lies.
        anchor: Anchor,
        /// Turn in degrees, counter-clockwise as seen.
        turn: f64,
        /// Heavier letters.
        bold: bool,
        /// Colour, `#rrggbb`.
        colour: &'static str,
        /// The text.
        text: String,
    },
}

/// A page.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Breadth in mm.
    pub width: f64,
    /// Height in mm.
    pub height: f64,
    /// What is on it, painted in order.
    pub items: Vec<Item>,
}

/// Maps y-up model coordinates (mm) to the page: `page = (origin.x + k x, origin.y - k y)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToPage {
    /// Where the model's origin lies on the page.
    pub origin: DVec2,
    /// Page mm per model mm.
    pub scale: f64,
}

impl ToPage {
    /// A point on the page.
    #[must_use]
    pub fn point(&self, p: DVec2) -> DVec2 {
        DVec2::new(
            self.origin.x + self.scale * p.x,
            self.origin.y - self.scale * p.y,
        )
    }
    /// A path on the page: mirrored, so bulges change sign.
    #[must_use]
    pub fn path(&self, path: &Path) -> Path {
        let mut out = path.clone();
        for v in &mut out.vertices {
            v.at = self.point(v.at);
            v.bulge = -v.bulge;
        }
        out
    }
}

impl Scene {
    /// An empty page.
    #[must_use]
    pub const fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            items: Vec::new(),
        }
    }
    /// A stroked or filled shape given in page coordinates.
    pub fn shape(&mut self, paths: Vec<Path>, fill: Option<&'static str>, stroke: Option<Stroke>) {
        self.items.push(Item::Shape {
            paths,
            fill,
            stroke,
        });
    }
    /// A line of text.
    pub fn text(&mut self, at: DVec2, size: f64, anchor: Anchor, text: impl Into<String>) {
        self.items.push(Item::Text {
            at,
            size,
            anchor,
            turn: 0.0,
            bold: false,
            colour: "#000000",
            text: text.into(),
        });
    }
    /// Everything on another page, shifted by `by` mm, painted after what is here.
    pub fn put(&mut self, other: Self, by: DVec2) {
        self.items.extend(other.items.into_iter().map(|mut item| {
            match &mut item {
                Item::Shape { paths, .. } => paths
                    .iter_mut()
                    .flat_map(|p| &mut p.vertices)
                    .for_each(|v| v.at += by),
                Item::Text { at, .. } => *at += by,
            }
            item
        }));
    }
    /// The page with every point to so many decimals, for pictures that are looked at, not cut by.
    #[must_use]
    pub fn rounded(mut self, decimals: i32) -> Self {
        let k = 10_f64.powi(decimals);
        let near = |p: &mut DVec2| *p = (*p * k).round() / k;
        for item in &mut self.items {
            match item {
                Item::Shape { paths, .. } => paths
                    .iter_mut()
                    .flat_map(|p| &mut p.vertices)
                    .for_each(|v| near(&mut v.at)),
                Item::Text { at, .. } => near(at),
            }
        }
        self
    }
    /// The page as SVG at true size: one user unit is one millimetre.
    #[must_use]
    pub fn to_svg(&self) -> String {
        let mut s = String::new();
        let (w, h) = (num(self.width), num(self.height));
        let _ = writeln!(
            s,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" fill-rule=\"evenodd\" stroke-linejoin=\"round\" stroke-linecap=\"round\">"
        );
        for item in &self.items {
            match item {
                Item::Shape {
                    paths,
                    fill,
                    stroke,
                } => {
                    let data: String = paths.iter().map(path_data).collect::<Vec<_>>().join(" ");
                    let _ = write!(s, "<path d=\"{data}\" fill=\"{}\"", fill.unwrap_or("none"));
                    if let Some(k) = stroke {
                        let _ = write!(
                            s,
                            " stroke=\"{}\" stroke-width=\"{}\"",
                            k.colour,
                            num(k.width)
                        );
                        if !k.dash.is_empty() {
                            let d: Vec<String> = k.dash.iter().map(|v| num(*v)).collect();
                            let _ = write!(s, " stroke-dasharray=\"{}\"", d.join(" "));
                        }
                    }
                    s.push_str("/>\n");
                }
                Item::Text {
                    at,
                    size,
                    anchor,
                    turn,
                    bold,
                    colour,
                    text,
                } => {
                    let anchor = match anchor {
                        Anchor::Start => "start",
                        Anchor::Middle => "middle",
                        Anchor::End => "end",
                    };
                    let _ = write!(
                        s,
                        "<text x=\"{}\" y=\"{}\" font-family=\"Noto Sans\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{colour}\"",
                        num(at.x),
                        num(at.y),
                        num(*size)
                    );
                    if *bold {
                        s.push_str(" font-weight=\"bold\"");
                    }
                    if *turn != 0.0 {
                        let _ = write!(
                            s,
                            " transform=\"rotate({} {} {})\"",
                            num(-turn),
                            num(at.x),
                            num(at.y)
                        );
                    }
                    let _ = writeln!(s, ">{}</text>", escape(text));
                }
            }
        }
        s.push_str("</svg>\n");
        s
    }
}

/// SVG path data of a path in page coordinates (y down): lines and true circular arcs.
#[must_use]
pub fn path_data(path: &Path) -> String {
    let mut d = String::new();
    let mut first = true;
    for seg in path.segments() {
        if first {
            let _ = write!(d, "M{} {}", num(seg.from.x), num(seg.from.y));
            first = false;
        }
        match seg.circle() {
            None => {
                let _ = write!(d, " L{} {}", num(seg.to.x), num(seg.to.y));
            }
            Some((_, r)) => {
                // With y down, a positive bulge (counter-clockwise in y-up terms of the stored
                // coordinates) runs with increasing angle in page axes: SVG's sweep flag 1.
                let sweep = u8::from(seg.bulge > 0.0);
                let large = u8::from(seg.bulge.abs() > 1.0);
                let _ = write!(
                    d,
                    " A{0} {0} 0 {large} {sweep} {1} {2}",
                    num(r),
                    num(seg.to.x),
                    num(seg.to.y)
                );
            }
        }
    }
    if path.closed {
        d.push_str(" Z");
    }
    d
}

/// A coordinate to 0.0001 mm, without trailing zeros.
#[must_use]
pub fn num(v: f64) -> String {
    crate::units::trimmed(v, 4)
}

/// Text made safe inside XML, which has no way to write control characters: they become blanks.
#[must_use]
pub fn escape(text: &str) -> String {
    text.replace(
        |c: char| c.is_control() || c == '\u{fffe}' || c == '\u{ffff}',
        " ",
    )
    .replace('&', "&amp;")
    .replace('<', "&lt;")
    .replace('>', "&gt;")
    .replace('"', "&quot;")
}
