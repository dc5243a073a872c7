//! One figure of a machine file: its value, its unit, its bounds and its origin.

use crate::board::Origin;
use crate::read::{Bounds as Limits, within};
use crate::read::{Field, Node};
pub(super) use crate::read::{length, measure, part, whole};
use crate::units::{Dim, Length, Rate};

/// The values a figure may have, least and most.
pub(super) type Bounds = Limits;

/// Gathers origins while a file is read.
#[derive(Default)]
pub(super) struct Figures {
    pub(super) origins: Vec<Origin>,
}

impl Figures {
    /// Where a node's figures come from.
    pub(super) fn origin(&mut self, node: Node<'_>, figure: &str) {
        let example = "measured: ten strips of 100 mm";
        self.origins
            .extend(crate::board::origin(node, figure, example));
    }
    /// The node of one figure, which has one value and an origin.
    pub(super) fn one<'a>(
        &mut self,
        parent: Node<'a>,
        name: &str,
        what: &str,
    ) -> Option<Field<'a>> {
        let node = part(parent, name)?;
        node.takes(1, &["from"]);
        node.childless();
        self.origin(node, name);
        node.need_arg(0, what)
    }
    /// A length under its own word.
    pub(super) fn length(
        &mut self,
        parent: Node<'_>,
        name: &str,
        bounds: Bounds,
    ) -> Option<Length> {
        length(self.one(parent, name, "a length")?, bounds)
    }
    /// A figure with time in it under its own word.
    pub(super) fn rate(
        &mut self,
        parent: Node<'_>,
        name: &str,
        kind: Rate,
        bounds: Bounds,
    ) -> Option<f64> {
        rate(self.one(parent, name, kind.words())?, kind, bounds)
    }
    /// A plain number under its own word.
    pub(super) fn number(&mut self, parent: Node<'_>, name: &str, bounds: Bounds) -> Option<f64> {
        measure(self.one(parent, name, "a number")?, Dim::NUMBER, bounds)
    }
    /// A whole number under its own word.
    pub(super) fn count(&mut self, parent: Node<'_>, name: &str, bounds: Bounds) -> Option<u32> {
        whole(self.one(parent, name, "a whole number")?, bounds)
    }
}

/// A figure with time in it, in base units.
pub(super) fn rate(field: Field<'_>, kind: Rate, bounds: Bounds) -> Option<f64> {
    let text = field.text();
    let Some(value) = kind.read(&text) else {
        let message = format!("`{text}` cannot be read; {} is needed here", kind.words());
        field.error("wrong-kind", message, None);
        return None;
    };
    within(field, value, bounds, |v| crate::units::trimmed(v, 4))
}
