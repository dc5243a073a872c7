//! Panels and what may stand inside them.

use super::model::*;
use super::parse::{formula, maybe, needed};
use crate::read::Node;

const PANEL: &[&str] = &[
    "on",
    "reach",
    "from",
    "breadth",
    "at",
    "shift",
    "inset",
    "inset-left",
    "inset-right",
    "raise",
    "fold",
    "angle",
    "allow",
    "when",
    "intrudes",
];
const INSIDE: &[&str] = &[
    "panel", "use", "corner", "taper", "outline", "cut-out", "slit", "mark", "relief", "slant",
    "each",
];
/// The edges of a panel; `None` for a line of its own.
const EDGES: &[(&str, Option<Edge>)] = &[
    ("near", Some(Edge::Near)),
    ("far", Some(Edge::Far)),
    ("left", Some(Edge::Left)),
    ("right", Some(Edge::Right)),
    ("slant", None),
];

/// Reads one panel and all it carries.
pub(super) fn panel(node: &Node<'_>, root: bool) -> Option<PanelDef> {
    node.takes(1, PANEL);
    let name_field = node.need_arg(0, "a name")?;
    let mut slant = None;
    let on = if root {
        if let Some(f) = node.prop("on") {
            f.error(
                "root-panel",
                "the first panel of a piece hangs on nothing",
                Some("remove `on`".into()),
            );
        }
        None
    } else {
        let field = node.need_prop(
            "on",
            "the edge it hangs on: near, far, left, right or slant",
        )?;
        let on = field.choice(EDGES)?;
        if on.is_none() {
            slant = Some(slanted(node)?);
        }
        Some(on.unwrap_or(Edge::Far))
    };
    if let Some(c) = node.child("slant").filter(|_| slant.is_none()) {
        c.error(
            "no-effect",
            "`slant` is the line of a panel that hangs on one",
            Some("write on=\"slant\", or leave it out".into()),
        );
    }
    let from_crease = node.prop("from").map_or(Some(false), |f| {
        f.choice(&[("inside", false), ("crease", true)])
    })?;
    let along = node.prop("at").map_or(Some(None), |f| {
        f.choice(&[
            ("centre", Some(Along::Centre)),
            ("left", Some(Along::Left)),
            ("right", Some(Along::Right)),
        ])
    })?;
    let breadth = maybe(node, "breadth");
    if let Some(f) = node.prop("at").filter(|_| breadth.is_none()) {
        f.error(
            "no-effect",
            "`at` places a panel that has a `breadth` of its own",
            Some("give `breadth` too, or use insets".into()),
        );
    }
    if node.child("outline").is_some() {
        for c in node
            .children()
            .filter(|c| matches!(c.name(), "corner" | "taper"))
        {
            c.error(
                "no-effect",
                format!("`{}` has no effect beside an `outline`", c.name()),
                Some("draw it into the outline, or leave the outline out".into()),
            );
        }
    }
    let both = maybe(node, "inset");
    let inset = [
        maybe(node, "inset-left").or_else(|| both.clone()),
        maybe(node, "inset-right").or_else(|| both.clone()),
    ];
    if breadth.is_some() && inset.iter().any(Option::is_some) {
        node.error(
            "two-ways",
            "a panel takes either `breadth` or insets",
            Some("remove one of them".into()),
        );
    }
    let fold = node
        .prop("fold")
        .map_or(Some(FoldWay::Crease(FoldSide::Inward)), |f| {
            f.choice(&[
                ("in", FoldWay::Crease(FoldSide::Inward)),
                ("out", FoldWay::Crease(FoldSide::Outward)),
                ("flat", FoldWay::Flat),
            ])
        })?;
    Some(PanelDef {
        name: name_field.word()?.to_owned(),
        place: name_field.place(),
        on,
        slant,
        reach: needed(node, "reach", "its size from near to far")?,
        from_crease,
        along: along.unwrap_or(if breadth.is_some() {
            Along::Centre
        } else {
            Along::Whole
        }),
        breadth,
        shift: maybe(node, "shift"),
        inset,
        raise: maybe(node, "raise"),
        fold,
        angle: maybe(node, "angle"),
        allow: maybe(node, "allow"),
        when: maybe(node, "when"),
        may_intrude: node.prop("intrudes").map_or(Some(false), |f| f.flag())?,
        items: items(node).into(),
    })
}

/// Reads what stands inside a panel or a part.
pub(super) fn items(node: &Node<'_>) -> Vec<Item> {
    node.children()
        .filter(|c| c.name() != "slant")
        .filter_map(|c| item(&c))
        .collect()
}

fn slanted(node: &Node<'_>) -> Option<Slant> {
    let Some(c) = node.child("slant") else {
        node.error(
            "missing",
            "a panel on a slant needs its line",
            Some("write inside it: slant x y x y, from its left end to its right end".into()),
        );
        return None;
    };
    c.takes(4, &[]);
    c.childless();
    let at = |i: usize, what| c.need_arg(i, what).and_then(|f| formula(&f));
    Some(Slant([
        at(0, "x of its left end, on the parent")?,
        at(1, "y of its left end")?,
        at(2, "x of its right end")?,
        at(3, "y of its right end")?,
    ]))
}

fn item(c: &Node<'_>) -> Option<Item> {
    match c.name() {
        "panel" => panel(c, false).map(|p| Item::Panel(Box::new(p))),
        "use" => use_def(c),
        "corner" => corner(c),
        "taper" => {
            c.takes(0, &["left", "right", "both"]);
            c.childless();
            let both = maybe(c, "both");
            Some(Item::Taper(
                maybe(c, "left").or_else(|| both.clone()),
                maybe(c, "right").or_else(|| both.clone()),
            ))
        }
        "outline" => path(c).map(Item::Outline),
        "cut-out" => cut_out(c),
        "slit" => path(c).map(Item::Slit),
        "mark" => path(c).map(Item::Mark),
        "relief" => {
            c.takes(1, &["deep", "wide"]);
            c.childless();
            let kind = c.need_arg(0, "none, slit or notch")?.choice(&[
                ("none", 0),
                ("slit", 1),
                ("notch", 2),
            ])?;
            Some(Item::Relief(match kind {
                0 => Relief::None,
                1 => Relief::Slit(needed(c, "deep", "how deep the cut goes into the parent")?),
                _ => Relief::Notch(
                    needed(c, "deep", "how deep the notch goes into the parent")?,
                    needed(c, "wide", "how wide the notch is")?,
                ),
            }))
        }
        "each" => {
            let (count, to) = super::parse::each_head(c)?;
            let items = items(c);
            Some(Item::Each(Box::new(EachItem { count, to, items })))
        }
        "crease" | "perforate" => {
            c.error(
                "not-built",
                format!(
                    "`{}` inside a panel is part of the language but not built yet",
                    c.name()
                ),
                Some("split the panel in two, the second with its own fold".into()),
            );
            None
        }
        _ => {
            c.unknown("a panel", INSIDE.iter().copied());
            None
        }
    }
}

fn use_def(c: &Node<'_>) -> Option<Item> {
    c.takes_any(1);
    c.childless();
    let part = c.need_arg(0, "a part")?;
    let mut def = UseDef {
        part: part.word()?.to_owned(),
        place: part.place(),
        prefix: None,
        mirror: false,
        when: maybe(c, "when"),
        values: Vec::new(),
    };
    for (key, field) in c.props() {
        match key {
            "as" => def.prefix = Some(field.word()?.to_owned()),
            "mirror" => def.mirror = field.flag()?,
            "when" => {}
            _ => def.values.push((key.to_owned(), formula(&field)?)),
        }
    }
    Some(Item::Use(Box::new(def)))
}

fn corner(c: &Node<'_>) -> Option<Item> {
    use Corner::{FarLeft, FarRight, NearLeft, NearRight};
    c.takes(4, &["round", "chamfer", "notch", "by"]);
    c.childless();
    let words: &[(&str, &[Corner])] = &[
        ("near-left", &[NearLeft]),
        ("near-right", &[NearRight]),
        ("far-left", &[FarLeft]),
        ("far-right", &[FarRight]),
        ("near", &[NearLeft, NearRight]),
        ("far", &[FarRight, FarLeft]),
        ("all", &[NearLeft, NearRight, FarRight, FarLeft]),
    ];
    let mut corners = Vec::new();
    for f in c.args() {
        corners.extend_from_slice(f.choice(words)?);
    }
    if corners.is_empty() {
        c.error(
            "missing",
            "`corner` needs to know which: far-left, near, all ...",
            None,
        );
    }
    let cut = match (c.prop("round"), c.prop("chamfer"), c.prop("notch")) {
        (Some(r), None, None) => CornerCut::Round(formula(&r)?),
        (None, Some(a), None) => {
            let a = formula(&a)?;
            let b = maybe(c, "by").unwrap_or_else(|| a.clone());
            CornerCut::Chamfer(a, b)
        }
        (None, None, Some(a)) => {
            CornerCut::Notch(formula(&a)?, needed(c, "by", "its size along the side")?)
        }
        _ => {
            c.error(
                "missing",
                "`corner` takes one of round, chamfer, notch",
                None,
            );
            return None;
        }
    };
    Some(Item::Corner(corners, cut))
}

fn cut_out(c: &Node<'_>) -> Option<Item> {
    c.takes(1, &["x", "y", "breadth", "reach", "round", "when"]);
    let name = c.need_arg(0, "a name")?.word()?.to_owned();
    let shape = if c.children().next().is_some() {
        CutOutShape::Path(points(c)?)
    } else {
        CutOutShape::Rect(Box::new(RectDef {
            x: needed(c, "x", "its centre, from the left of the clear span")?,
            y: needed(c, "y", "its centre, from the near end of the clear span")?,
            breadth: needed(c, "breadth", "its size left to right")?,
            reach: needed(c, "reach", "its size near to far")?,
            round: maybe(c, "round"),
        }))
    };
    Some(Item::CutOut(Box::new(CutOutDef {
        name,
        place: c.place(),
        when: maybe(c, "when"),
        shape,
    })))
}

fn path(c: &Node<'_>) -> Option<PathDef> {
    c.takes(0, &[]);
    points(c)
}

fn points(c: &Node<'_>) -> Option<PathDef> {
    let mut out = Vec::new();
    for p in c.children() {
        let arc = match p.name() {
            "to" => {
                p.takes(2, &[]);
                None
            }
            "arc" => {
                p.takes(2, &["turn"]);
                Some(needed(
                    &p,
                    "turn",
                    "the angle it turns through, positive to the left",
                )?)
            }
            _ => {
                p.unknown("a path", ["to", "arc"]);
                continue;
            }
        };
        p.childless();
        let x = formula(&p.need_arg(0, "x, from the left of the clear span")?)?;
        let y = formula(&p.need_arg(1, "y, from the near end of the clear span")?)?;
        out.push((x, y, arc));
    }
    if out.len() < 2 {
        c.error(
            "missing",
            "a path needs at least two points",
            Some("write: to x y".into()),
        );
        return None;
    }
    Some(PathDef {
        place: c.place(),
        points: out,
    })
}
