//! Words that the tables of this module share: spans, origins, shares.

use serde::Serialize;

use crate::read::{Bounds, Field, Node, measure};
use crate::units::Dim;

/// A share of what there was.
pub(super) const SHARE: Bounds = (0.0, 1.0);

/// From the least to the most that something can be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Range<T> {
    /// The least.
    pub least: T,
    /// The most.
    pub most: T,
}

/// Where nothing more is to be said than a short warning: what it is about and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// A stable word for it.
    pub code: &'static str,
    /// In words.
    pub message: String,
}

impl Caution {
    pub(super) fn new(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            code,
            message: message.into(),
        }
    }
}

/// Where the figures of a node come from.
pub(super) fn origin(node: Node<'_>) -> Option<String> {
    let example = "measured: ten cases crushed in our own press";
    crate::board::origin(node, node.name(), example).map(|o| o.from)
}

/// A share above zero.
pub(super) fn share(field: Field<'_>) -> Option<f64> {
    let value = measure(field, Dim::NUMBER, SHARE)?;
    if value > 0.0 {
        return Some(value);
    }
    field.error(
        "out-of-range",
        "nothing would be left; a share above 0 is needed here",
        None,
    );
    None
}
