//! Board files into boards: every message at its place, as many as there are.

use super::figure::{ABOVE_ZERO, Bounds, NOT_NEGATIVE, PAPER, Reader, SHARE};
use super::{AxisDepth, Board, Boards, Creasing, Flute, Limits, Origin, Wall, take_up};
use crate::diag::Outcome;
use crate::read::{Node, parse};
use crate::source::Text;
use crate::units::{Dim, ForcePerLength, Grammage, Length};

const PARTS: [&str; 11] = [
    "title",
    "wall",
    "caliper",
    "flute",
    "liner",
    "medium",
    "glue",
    "ect",
    "crease",
    "slot-width",
    "limits",
];
const LIMITS: [&str; 8] = [
    "crush",
    "give",
    "least-feature",
    "least-slot",
    "glue-gap",
    "size-tolerance",
    "crease-zone",
    "crease-bead",
];
const MOST_CALIPER_MM: f64 = 30.0;
const MOST_TAKE_UP: f64 = 2.5;
const TAKE_UP_FROM: &str =
    "derived: 0.8 + 1.33 h/p, H. J. Tenzer 1989, as quoted at mediencommunity.de";

/// Reads board files. A board in a later file takes the place of one with the same name.
///
/// # Errors
/// Every message of every file, when one of them is an error.
pub fn read_boards(texts: &[Text]) -> Outcome<Boards> {
    let mut boards = Boards::default();
    let mut diags = Vec::new();
    for text in texts {
        match read_file(text) {
            Ok(list) => list.into_iter().for_each(|b| boards.put(b)),
            Err(list) => diags.extend(list),
        }
    }
    if diags.is_empty() {
        Ok(boards)
    } else {
        Err(diags)
    }
}

fn read_file(text: &Text) -> Outcome<Vec<Board>> {
    let doc = parse(text)?;
    let mut boards: Vec<Board> = Vec::new();
    let mut names: Vec<String> = Vec::new();
    for node in doc.nodes() {
        if node.name() != "board" {
            node.unknown("a board file", ["board"]);
            continue;
        }
        node.takes(1, &[]);
        let Some(field) = node.need_arg(0, "a name, such as board \"C\"") else {
            continue;
        };
        let name = field.text();
        if name.trim().is_empty() {
            field.error("bad-name", "a board needs a name", None);
        }
        if names.contains(&name) {
            field.error(
                "given-twice",
                format!("board `{name}` is given twice in this file"),
                Some("give one of them another name".into()),
            );
        }
        names.push(name.clone());
        boards.extend(Reader::new(node).board(name));
    }
    doc.finish(Some(boards)).map(|(boards, _)| boards)
}

impl<'a> Reader<'a> {
    fn board(mut self, name: String) -> Option<Board> {
        let repeated = ["flute", "liner", "medium", "crease"];
        only_once(self.node, &PARTS, &repeated, "a board");
        let title = self.title();
        let wall = self.wall();
        let (caliper, caliper_tolerance) = self.caliper();
        let flutes = self.flutes(wall, caliper);
        self.know_flutes(flutes.as_deref());
        let (liners, mediums) = self.papers(wall);
        let glue = self.figure(self.node, "glue", Dim::GRAMMAGE, &NOT_NEGATIVE);
        let ect = self.figure(self.node, "ect", Dim::FORCE_PER_LENGTH, &ABOVE_ZERO);
        let axis_depths = self.creases();
        let limits = self.limits(caliper);
        Some(Board {
            name,
            title: title?,
            wall: wall?,
            caliper: caliper?,
            caliper_tolerance: caliper_tolerance?,
            flutes: flutes?,
            liners: liners?,
            mediums: mediums?,
            glue: grammage(glue?),
            ect: ForcePerLength::n_per_mm(ect?),
            axis_depths: axis_depths?,
            limits: limits?,
            origins: self.origins,
        })
    }

    fn title(&self) -> Option<String> {
        let node = self.part(self.node, "title")?;
        node.takes(1, &[]);
        node.childless();
        node.need_arg(0, "one line of text").map(|f| f.text())
    }

    fn wall(&self) -> Option<Wall> {
        let node = self.part(self.node, "wall")?;
        node.takes(1, &[]);
        node.childless();
        node.need_arg(0, "single or double")?
            .choice(&[Wall::Single, Wall::Double].map(|w| (w.word(), w)))
    }

    fn caliper(&mut self) -> (Option<Length>, Option<f64>) {
        let bounds = Bounds {
            fits: |v| v > 0.0 && v <= MOST_CALIPER_MM,
            words: "above zero and at most 30 mm",
        };
        let tolerance_bounds = Bounds {
            fits: |v| (0.0..=0.5).contains(&v),
            words: "from 0 to 50%",
        };
        let Some(node) = self.part(self.node, "caliper") else {
            self.scope.0 = None;
            return (None, None);
        };
        node.takes(1, &["tolerance", "from"]);
        node.childless();
        let caliper = node
            .need_arg(0, "a length")
            .and_then(|f| self.value(f, Dim::LENGTH, &bounds));
        let tolerance = node
            .need_prop("tolerance", "a share, such as \"8%\"")
            .and_then(|f| self.value(f, Dim::NUMBER, &tolerance_bounds));
        self.origin(node, "caliper");
        self.know("t", caliper);
        (caliper.map(Length::mm), tolerance)
    }

    fn flutes(&mut self, wall: Option<Wall>, caliper: Option<Length>) -> Option<Vec<Flute>> {
        let nodes = self.all("flute");
        let flutes: Vec<Flute> = nodes.iter().filter_map(|n| self.flute(*n)).collect();
        if flutes.len() < nodes.len() {
            return None;
        }
        let wall = wall?;
        self.count("flute", nodes.len(), wall.flutes(), wall)?;
        let height: Length = flutes.iter().map(|f| f.height).sum();
        if let (Some(caliper), Some(node)) = (caliper, nodes.first())
            && height >= caliper
        {
            node.prop("height")?.error(
                "out-of-range",
                format!(
                    "the flutes are {} mm high, which leaves no room for liners in a caliper of \
                     {} mm",
                    crate::units::trimmed(height.to_mm(), 3),
                    crate::units::trimmed(caliper.to_mm(), 3)
                ),
                Some("flute height is measured without the liners".into()),
            );
            return None;
        }
        Some(flutes)
    }

    fn flute(&mut self, node: Node<'a>) -> Option<Flute> {
        let take_up_bounds = Bounds {
            fits: |v| (1.0..=MOST_TAKE_UP).contains(&v),
            words: "from 1 to 2.5",
        };
        node.takes(1, &["height", "pitch", "take-up", "from"]);
        node.childless();
        let letter = node.need_arg(0, "its letter, such as C").map(|f| f.text());
        let height = node
            .need_prop("height", "wave height without liners")
            .and_then(|f| self.value(f, Dim::LENGTH, &ABOVE_ZERO));
        let pitch = node
            .need_prop("pitch", "crest to crest")
            .and_then(|f| self.value(f, Dim::LENGTH, &ABOVE_ZERO));
        let given = node.prop("take-up");
        let told = given.map(|f| self.value(f, Dim::NUMBER, &take_up_bounds));
        let name = letter.clone().unwrap_or_default();
        self.origin(node, &format!("flute {name}"));
        let (height, pitch) = (Length::mm(height?), Length::mm(pitch?));
        let take_up = match told {
            Some(told) => told?,
            None => {
                self.origins.push(Origin {
                    figure: format!("take-up {name}"),
                    from: TAKE_UP_FROM.into(),
                });
                take_up(height, pitch)
            }
        };
        if !(take_up_bounds.fits)(take_up) {
            node.error(
                "out-of-range",
                format!("height and pitch make a take-up of {take_up:.3}, which no flute has"),
                Some("check both, or give `take-up`".into()),
            );
            return None;
        }
        Some(Flute {
            letter: letter?,
            height,
            pitch,
            take_up,
        })
    }

    /// Liners and mediums in the order of the file, which is the order of the board.
    fn papers(&mut self, wall: Option<Wall>) -> (Option<Vec<Grammage>>, Option<Vec<Grammage>>) {
        let layers: Vec<Node<'a>> = self
            .node
            .children()
            .filter(|n| matches!(n.name(), "liner" | "medium"))
            .collect();
        let mut papers = [Some(Vec::new()), Some(Vec::new())];
        for (i, node) in layers.iter().enumerate() {
            let expected = if i % 2 == 0 { "liner" } else { "medium" };
            if node.name() != expected && Some(layers.len()) == wall.map(|w| 2 * w.flutes() + 1) {
                node.error(
                    "wrong-order",
                    format!("a {expected} is expected here"),
                    Some("give the layers from the outside in: liner, medium, liner".into()),
                );
            }
            node.takes(1, &["from"]);
            node.childless();
            let value = node
                .need_arg(0, "a mass per area")
                .and_then(|f| self.value(f, Dim::GRAMMAGE, &PAPER));
            let kind = usize::from(node.name() == "medium");
            let nth = layers[..=i]
                .iter()
                .filter(|n| n.name() == node.name())
                .count();
            self.origin(*node, &format!("{} {nth}", node.name()));
            match (&mut papers[kind], value) {
                (Some(list), Some(v)) => list.push(grammage(v)),
                (slot, _) => *slot = None,
            }
        }
        let [mut liners, mut mediums] = papers;
        if let Some(wall) = wall {
            let have = |name: &str| layers.iter().filter(|n| n.name() == name).count();
            let liners_fit = self.count("liner", have("liner"), wall.flutes() + 1, wall);
            let mediums_fit = self.count("medium", have("medium"), wall.flutes(), wall);
            liners = liners_fit.and(liners);
            mediums = mediums_fit.and(mediums);
        }
        (liners, mediums)
    }

    fn creases(&mut self) -> Option<[AxisDepth; 4]> {
        let mut found: [Option<AxisDepth>; 4] = [None; 4];
        let mut seen = [false; 4];
        let mut unclear = false;
        for node in self.all("crease") {
            node.takes(1, &["along", "across", "from"]);
            node.childless();
            let field = node.need_arg(0, "a way of creasing");
            let way = field.and_then(|f| f.choice(&Creasing::ALL.map(|c| (c.word(), c))));
            let depth = |key: &str| {
                node.need_prop(key, "fold axis depth as a share of the caliper")
                    .and_then(|f| self.value(f, Dim::NUMBER, &SHARE))
            };
            let (along, across) = (depth("along"), depth("across"));
            let Some(way) = way else {
                unclear = true;
                continue;
            };
            self.origin(node, &format!("crease {}", way.word()));
            let at = way as usize;
            if seen[at] {
                node.error(
                    "given-twice",
                    format!("`crease` is given twice for `{}`", way.word()),
                    Some("keep one of them".into()),
                );
            }
            seen[at] = true;
            if let (Some(along), Some(across)) = (along, across) {
                found[at] = Some(AxisDepth { way, along, across });
            }
        }
        for (way, seen) in Creasing::ALL.iter().zip(seen) {
            if !seen && !unclear {
                self.missing(self.node, &format!("crease {}", way.word()));
            }
        }
        let [hand, wheel, rule, perforated] = found;
        Some([hand?, wheel?, rule?, perforated?])
    }

    fn limits(&mut self, caliper: Option<Length>) -> Option<Limits> {
        let slot_width = self.figure(self.node, "slot-width", Dim::LENGTH, &ABOVE_ZERO);
        let node = self.part(self.node, "limits")?;
        node.takes(0, &[]);
        only_once(node, &LIMITS, &[], "`limits`");
        let [
            crush,
            give,
            least_feature,
            least_slot,
            glue_gap,
            size_tolerance,
            zone,
            bead,
        ] = LIMITS.map(|name| {
            self.figure(node, name, Dim::LENGTH, &NOT_NEGATIVE)
                .map(Length::mm)
        });
        if let (Some(crush), Some(caliper)) = (crush, caliper)
            && crush > caliper
            && let Some(field) = node.child("crush").and_then(|n| n.arg(0))
        {
            field.error(
                "out-of-range",
                "board cannot be crushed by more than its caliper",
                Some("crush is a small share of t, such as \"t / 8\"".into()),
            );
        }
        Some(Limits {
            crush: crush?,
            give: give?,
            least_feature: least_feature?,
            least_slot: least_slot?,
            glue_gap: glue_gap?,
            size_tolerance: size_tolerance?,
            crease_zone: zone?,
            crease_bead: bead?,
            slot_width: Length::mm(slot_width?),
        })
    }
}

fn grammage(base: f64) -> Grammage {
    Grammage::g_per_m2(base / super::GRAMMAGE_BASE)
}

/// Each child known, and given once unless it may be repeated.
pub(crate) fn only_once(node: Node<'_>, known: &[&'static str], repeated: &[&str], what: &str) {
    let mut seen: Vec<&str> = Vec::new();
    for child in node.children() {
        let name = child.name();
        if !known.contains(&name) {
            child.unknown(what, known.iter().copied());
        } else if seen.contains(&name) && !repeated.contains(&name) {
            child.error(
                "given-twice",
                format!("`{name}` is given twice"),
                Some("keep one of them".into()),
            );
        }
        seen.push(name);
    }
}
