//! One figure of a machine file: its value, its unit, its bounds and its origin.

use crate::board::Origin;
use crate::diag::Diag;
use crate::expr::{ExprError, parse_quantity};
use crate::read::{Field, Node};
use crate::units::{Dim, Length, Quantity, Rate};

/// The values a figure may have, least and most.
pub(super) type Bounds = (f64, f64);

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

/// The node with this name, or a message that it is missing.
pub(super) fn part<'a>(parent: Node<'a>, name: &str) -> Option<Node<'a>> {
    let node = parent.child(name);
    if node.is_none() {
        let message = format!("`{}` needs `{name}`", parent.name());
        parent.error("missing", message, None);
    }
    node
}

/// A quantity of one dimension, in base units.
pub(super) fn measure(field: Field<'_>, dim: Dim, bounds: Bounds) -> Option<f64> {
    let q = match parse_quantity(&field.text()) {
        Ok(q) => q,
        Err(e) => return report(field, e),
    };
    if q.dim != dim {
        let message = format!("this is {}; {} is needed here", q.dim.words(), dim.words());
        field.error("wrong-kind", message, None);
        return None;
    }
    within(field, q.value, bounds, |value| {
        Quantity { value, dim }.to_string()
    })
}

/// A length.
pub(super) fn length(field: Field<'_>, bounds: Bounds) -> Option<Length> {
    measure(field, Dim::LENGTH, bounds).map(Length::mm)
}

/// A whole number.
pub(super) fn whole(field: Field<'_>, bounds: Bounds) -> Option<u32> {
    let value = measure(field, Dim::NUMBER, bounds)?;
    if value.fract() != 0.0 {
        field.error("wrong-kind", "a whole number is needed here", None);
        return None;
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and within small bounds"
    )]
    Some(value as u32)
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

fn within(
    field: Field<'_>,
    value: f64,
    (least, most): Bounds,
    show: impl Fn(f64) -> String,
) -> Option<f64> {
    if (least..=most).contains(&value) {
        return Some(value);
    }
    let [value, least, most] = [value, least, most].map(show);
    let message = format!("{value} cannot be; it must be from {least} to {most}");
    field.error("out-of-range", message, None);
    None
}

fn report<T>(field: Field<'_>, e: ExprError) -> Option<T> {
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
