//! One figure of a data file: its value, its unit and its bounds.

use super::{Field, Node};
use crate::diag::Diag;
use crate::expr::{ExprError, parse_quantity};
use crate::units::{Dim, Length, Quantity};

/// The values a figure may have, least and most, in base units.
pub(crate) type Bounds = (f64, f64);

/// The node with this name, or a message that it is missing.
pub(crate) fn part<'a>(parent: Node<'a>, name: &str) -> Option<Node<'a>> {
    let node = parent.child(name);
    if node.is_none() {
        let message = format!("`{}` needs `{name}`", parent.name());
        parent.error("missing", message, None);
    }
    node
}

/// A quantity of one dimension, in base units.
pub(crate) fn measure(field: Field<'_>, dim: Dim, bounds: Bounds) -> Option<f64> {
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
pub(crate) fn length(field: Field<'_>, bounds: Bounds) -> Option<Length> {
    measure(field, Dim::LENGTH, bounds).map(Length::mm)
}

/// A whole number.
pub(crate) fn whole(field: Field<'_>, bounds: Bounds) -> Option<u32> {
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

/// The value, or a message that it is out of bounds.
pub(crate) fn within(
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
