//! The flat program an expression is parsed into.

use std::sync::Arc;

use crate::units::Quantity;

/// A byte range; `u16` holds any place in a text of [`MAX_BYTES`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) start: u16,
    pub(super) end: u16,
}

impl Span {
    pub(super) fn new(start: usize, end: usize) -> Self {
        let clip = |n| u16::try_from(n).unwrap_or(u16::MAX);
        Self {
            start: clip(start),
            end: clip(end),
        }
    }
    pub(super) const fn to(self, other: Self) -> Self {
        Self {
            start: self.start,
            end: other.end,
        }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Op {
    pub(super) code: Code,
    /// The part of the text it computes.
    pub(super) at: Span,
}

/// One step of the program. It is flat, so a sum of a thousand terms needs no deep recursion.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Code {
    Literal(Quantity),
    Truth(bool),
    Word(Arc<str>),
    Name(Arc<str>),
    Negate,
    Not,
    Binary(Binary),
    Compare(Compare),
    Call(Function, usize),
    /// Takes a condition; goes on at the step when it is false.
    Unless(usize),
    Jump(usize),
    /// `and`: keeps a false and jumps, drops a true.
    ShortAnd(usize),
    /// `or`: keeps a true and jumps, drops a false.
    ShortOr(usize),
    /// The right side of `and` and `or` must be a condition too.
    NeedBool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Binary {
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Compare {
    Less,
    LessOrEqual,
    More,
    MoreOrEqual,
    Equal,
    Unequal,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Function {
    Min,
    Max,
    Abs,
    Floor,
    Ceil,
    Round,
    Sqrt,
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
}

impl Function {
    pub(super) const ALL: [(&'static str, Self); 13] = [
        ("min", Self::Min),
        ("max", Self::Max),
        ("abs", Self::Abs),
        ("floor", Self::Floor),
        ("ceil", Self::Ceil),
        ("round", Self::Round),
        ("sqrt", Self::Sqrt),
        ("sin", Self::Sin),
        ("cos", Self::Cos),
        ("tan", Self::Tan),
        ("asin", Self::Asin),
        ("acos", Self::Acos),
        ("atan", Self::Atan),
    ];
    pub(super) fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|(n, _)| *n == name).map(|(_, f)| *f)
    }
    pub(super) fn name(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, f)| *f == self)
            .map_or("", |(n, _)| n)
    }
    /// Fewest and most arguments.
    pub(super) const fn arity(self) -> (usize, usize) {
        match self {
            Self::Min | Self::Max => (2, usize::MAX),
            Self::Floor | Self::Ceil | Self::Round => (1, 2),
            _ => (1, 1),
        }
    }
}
