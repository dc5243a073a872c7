//! One figure of a board file: its value, its unit, its bounds and its origin.

use super::{Flute, GRAMMAGE_BASE, Origin, Wall};
use crate::diag::Diag;
use crate::expr::{Expr, ExprError, Names, Value};
use crate::read::{Field, Node};
use crate::units::{Dim, Length, Quantity};

/// What an origin begins with, so that a reader sees at once how far to trust a figure.
const STANDINGS: [&str; 6] = [
    "seen:",
    "memory:",
    "derived:",
    "practice:",
    "default:",
    "measured:",
];
const MOST_GRAMMAGE: f64 = 2000.0;

/// What expressions in a board file may name: the figures already read. `None` once one of them
/// failed, so that one slip gives one message.
pub(super) struct Scope(pub(super) Option<Vec<(&'static str, Quantity)>>);

impl Names for Scope {
    fn get(&self, name: &str) -> Option<Value> {
        let list = self.0.as_ref()?;
        list.iter()
            .find(|(n, _)| *n == name)
            .map(|(_, q)| Value::Quantity(*q))
    }
    fn all(&self) -> Vec<String> {
        let list = self.0.as_deref().unwrap_or(&[]);
        list.iter().map(|(n, _)| (*n).to_owned()).collect()
    }
}

pub(super) struct Reader<'a> {
    pub(super) node: Node<'a>,
    pub(super) scope: Scope,
    pub(super) origins: Vec<Origin>,
}

/// The values a figure may have, in the words of a message.
pub(super) struct Bounds {
    pub(super) fits: fn(f64) -> bool,
    pub(super) words: &'static str,
}

pub(super) const ABOVE_ZERO: Bounds = Bounds {
    fits: |v| v > 0.0,
    words: "above zero",
};
pub(super) const NOT_NEGATIVE: Bounds = Bounds {
    fits: |v| v >= 0.0,
    words: "zero or more",
};
pub(super) const SHARE: Bounds = Bounds {
    fits: |v| (0.0..=1.0).contains(&v),
    words: "from 0 to 1",
};
pub(super) const PAPER: Bounds = Bounds {
    fits: |v| v > 0.0 && v <= MOST_GRAMMAGE * GRAMMAGE_BASE,
    words: "above zero and at most 2000 g/m2",
};

impl<'a> Reader<'a> {
    pub(super) fn new(node: Node<'a>) -> Self {
        Self {
            node,
            scope: Scope(Some(Vec::new())),
            origins: Vec::new(),
        }
    }

    /// One value under its own word, with its origin.
    pub(super) fn figure(
        &mut self,
        parent: Node<'a>,
        name: &str,
        dim: Dim,
        bounds: &Bounds,
    ) -> Option<f64> {
        let node = self.part(parent, name)?;
        node.takes(1, &["from"]);
        node.childless();
        let value = node
            .need_arg(0, &dim.words())
            .and_then(|f| self.value(f, dim, bounds));
        self.origin(node, name);
        value
    }

    pub(super) fn value(&self, field: Field<'a>, dim: Dim, bounds: &Bounds) -> Option<f64> {
        let text = field.text();
        let expr = match Expr::parse(&text) {
            Ok(expr) => expr,
            Err(e) => return self.report(field, e),
        };
        if self.scope.0.is_none() && expr.uses().next().is_some() {
            return None;
        }
        match expr.eval_dim(dim, &self.scope) {
            Ok(v) if (bounds.fits)(v) => Some(v),
            Ok(v) => {
                field.error(
                    "out-of-range",
                    format!(
                        "{} cannot be; it must be {}",
                        Quantity { value: v, dim },
                        bounds.words
                    ),
                    None,
                );
                None
            }
            Err(e) => self.report(field, e),
        }
    }

    fn report(&self, field: Field<'a>, e: ExprError) -> Option<f64> {
        let (mut place, exact) = field.place_exact();
        if exact {
            place.end = place.end.min(place.start + e.end);
            place.start = place.end.min(place.start + e.start);
        }
        let mut diag = Diag::error(e.code, e.message).at(place);
        diag.help = e.help;
        field.report(diag);
        None
    }

    pub(super) fn origin(&mut self, node: Node<'a>, figure: &str) {
        self.origins
            .extend(origin(node, figure, "measured: own stack"));
    }

    pub(super) fn part(&self, parent: Node<'a>, name: &str) -> Option<Node<'a>> {
        let node = parent.child(name);
        if node.is_none() {
            self.missing(parent, name);
        }
        node
    }

    pub(super) fn missing(&self, parent: Node<'a>, name: &str) {
        parent.error(
            "missing",
            format!("`{}` needs `{name}`", parent.name()),
            None,
        );
    }

    pub(super) fn all(&self, name: &str) -> Vec<Node<'a>> {
        self.node.children().filter(|n| n.name() == name).collect()
    }

    pub(super) fn count(&self, what: &str, have: usize, want: usize, wall: Wall) -> Option<()> {
        if have == want {
            return Some(());
        }
        self.node.error(
            "wrong-count",
            format!(
                "a {} wall has {want} of `{what}`, and {have} given",
                wall.word()
            ),
            None,
        );
        None
    }

    pub(super) fn know(&mut self, name: &'static str, mm: Option<f64>) {
        match (&mut self.scope.0, mm) {
            (Some(list), Some(mm)) => list.push((name, Quantity::length(Length::mm(mm)))),
            (scope, _) => *scope = None,
        }
    }

    pub(super) fn know_flutes(&mut self, flutes: Option<&[Flute]>) {
        let coarsest = |of: fn(&Flute) -> Length| {
            let all = flutes?.iter().map(of);
            Some(all.fold(Length::ZERO, Length::max).to_mm())
        };
        self.know("flute-height", coarsest(|f| f.height));
        self.know("flute-pitch", coarsest(|f| f.pitch));
    }
}

/// Where a node's figures come from; `example` is shown where it does not say so.
pub(crate) fn origin(node: Node<'_>, figure: &str, example: &str) -> Option<Origin> {
    let words = format!("where the figure comes from, such as \"{example}\"");
    let from = node.need_prop("from", &words)?;
    standing(from);
    Some(Origin {
        figure: figure.to_owned(),
        from: from.text(),
    })
}

/// Reports an origin that does not begin with its standing.
pub(crate) fn standing(from: Field<'_>) {
    let text = from.text();
    let rest = STANDINGS.iter().find_map(|s| text.strip_prefix(s));
    if rest.is_none_or(|r| r.trim().is_empty()) {
        from.error(
            "bad-origin",
            "an origin begins with its standing and goes on with its source",
            Some(format!("begin with one of: {}", STANDINGS.join(" "))),
        );
    }
}
