//! Expressions with units: the small language in which sizes are written.
//!
//! A text is parsed once into a flat program and evaluated many times. Units are checked when it
//! is evaluated, and every error carries the byte range of the part that is to blame.
//!
//! ```text
//! values       12   2.5cm   3 in   1/4in   3-5/16in   45deg   5.5kN/m   'tape'   pi   true
//! loosest      if A then B else C
//!              or
//!              and
//!              not
//!              = != < <= > >=      one comparison, not a chain
//!              + -
//!              * /
//!              - in front
//! tightest     ^                   from the right: 2^3^2 is 2^(3^2)
//! functions    min max abs floor ceil round sqrt sin cos tan asin acos atan
//! ```
//!
//! A fraction or mixed fraction of glued digits before a unit is one value: `3-5/16in` is three
//! and five sixteenths of an inch. A hyphen between letters or digits belongs to a name
//! (`inner-flap`), so a minus after a name needs blanks round it.
//!
//! Comparisons hold within a slack that hides rounding: [`SLACK_MM`](crate::units::SLACK_MM) for
//! lengths, one part in 10^9 otherwise. `floor` and `ceil` forgive the same part of a step, so
//! `floor(30mm / 10mm)` is 3 however the 30 came about.

mod code;
mod eval;
mod functions;
mod lex;
mod parse;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use self::code::{Binary, Code, Compare, Function, Op, Span};
use crate::units::{Angle, Dim, Length, Quantity};

/// Longest expression, in bytes.
pub const MAX_BYTES: usize = 4096;
/// Deepest nesting of parentheses, calls, signs, powers and conditionals.
pub const MAX_DEPTH: usize = 64;

/// Words that cannot name a parameter or a value.
pub const RESERVED: [&str; 9] = [
    "if", "then", "else", "and", "or", "not", "pi", "true", "false",
];

/// A parsed expression.
#[derive(Clone, Debug, PartialEq)]
pub struct Expr {
    text: Arc<str>,
    ops: Arc<[Op]>,
}

/// What is wrong with an expression, and where in its text.
#[derive(Clone, Debug, PartialEq)]
pub struct ExprError {
    /// Stable, such as `unit-mismatch`.
    pub code: &'static str,
    /// First byte in the expression's text.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// What is wrong, in one sentence.
    pub message: String,
    /// How to cure it.
    pub help: Option<String>,
}

/// What an expression or a name stands for.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number with its dimension.
    Quantity(Quantity),
    /// True or false.
    Bool(bool),
    /// One of the words of a choice.
    Word(Arc<str>),
}

/// Gives the values of the names an expression uses.
pub trait Names {
    /// The value of this name.
    fn get(&self, name: &str) -> Option<Value>;
    /// Every name there is, for "did you mean".
    fn all(&self) -> Vec<String>;
}

/// No names at all, for plain figures in data files.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoNames;

impl Names for NoNames {
    fn get(&self, _: &str) -> Option<Value> {
        None
    }
    fn all(&self) -> Vec<String> {
        Vec::new()
    }
}

/// A name compared with a word, such as `joint = 'tape'`, so that a style can check the word
/// against the choices of the parameter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The name.
    pub name: String,
    /// The word.
    pub word: String,
    /// First byte of the word with its quotes.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
}

impl Expr {
    /// Parses `text`.
    ///
    /// # Errors
    /// When it is no expression; nothing is looked up yet and no unit is compared.
    pub fn parse(text: &str) -> Result<Self, ExprError> {
        parse::parse(text)
    }

    /// An expression that is just this quantity.
    #[must_use]
    pub fn number(q: Quantity) -> Self {
        let text: Arc<str> = q.to_string().into();
        let end = u16::try_from(text.len()).unwrap_or(u16::MAX);
        let at = Span { start: 0, end };
        Self {
            text,
            ops: [Op {
                code: Code::Literal(q),
                at,
            }]
            .into(),
        }
    }

    /// The text it was parsed from.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Its value.
    ///
    /// # Errors
    /// Unknown names, units that do not fit, division by zero, a result that is not finite.
    pub fn eval(&self, names: &dyn Names) -> Result<Value, ExprError> {
        // Most sizes are a figure or a name and need no stack.
        if let [op] = &*self.ops {
            match &op.code {
                Code::Literal(q) => return Ok(Value::Quantity(*q)),
                Code::Name(name) => {
                    if let Some(value) = names.get(name) {
                        return Ok(value);
                    }
                }
                _ => {}
            }
        }
        eval::run(&self.ops, names)
    }

    /// Its value as a quantity of dimension `dim`, in base units.
    ///
    /// # Errors
    /// As [`Self::eval`], and when the value measures something else.
    pub fn eval_dim(&self, dim: Dim, names: &dyn Names) -> Result<f64, ExprError> {
        match self.eval(names)? {
            Value::Quantity(q) if q.dim == dim => Ok(q.value),
            other => {
                let error = ExprError::new(
                    "wrong-unit",
                    self.whole(),
                    format!(
                        "{} is needed here, and this is {}",
                        dim.words(),
                        other.words()
                    ),
                );
                Err(match unit_hint(dim) {
                    Some(u) if other.is_plain() => {
                        error.help(format!("give the unit, such as `{}{u}`", self.text.trim()))
                    }
                    _ => error,
                })
            }
        }
    }

    /// Its value as a length.
    ///
    /// # Errors
    /// As [`Self::eval_dim`].
    pub fn eval_length(&self, names: &dyn Names) -> Result<Length, ExprError> {
        self.eval_dim(Dim::LENGTH, names).map(Length::mm)
    }

    /// Its value as an angle.
    ///
    /// # Errors
    /// As [`Self::eval_dim`].
    pub fn eval_angle(&self, names: &dyn Names) -> Result<Angle, ExprError> {
        self.eval_dim(Dim::ANGLE, names).map(Angle::rad)
    }

    /// Its value as a plain number.
    ///
    /// # Errors
    /// As [`Self::eval_dim`].
    pub fn eval_number(&self, names: &dyn Names) -> Result<f64, ExprError> {
        self.eval_dim(Dim::NUMBER, names)
    }

    /// Its value as true or false.
    ///
    /// # Errors
    /// As [`Self::eval`], and when it is neither.
    pub fn eval_bool(&self, names: &dyn Names) -> Result<bool, ExprError> {
        match self.eval(names)? {
            Value::Bool(b) => Ok(b),
            other => Err(ExprError::new(
                "wrong-kind",
                self.whole(),
                format!("a condition is needed here, and this is {}", other.words()),
            )
            .help("compare it with something, such as `length >= width`")),
        }
    }

    /// Every use of a name: the name, its first byte and one past its last.
    #[must_use]
    pub fn names(&self) -> Vec<(String, usize, usize)> {
        self.uses()
            .map(|(name, start, end)| (name.to_owned(), start, end))
            .collect()
    }

    /// The same one by one, without copying the names.
    pub fn uses(&self) -> impl Iterator<Item = (&str, usize, usize)> {
        self.ops.iter().filter_map(|op| match &op.code {
            Code::Name(n) => Some((&**n, op.at.start.into(), op.at.end.into())),
            _ => None,
        })
    }

    /// Every name compared with a word.
    #[must_use]
    pub fn choices(&self) -> Vec<Choice> {
        self.ops
            .windows(3)
            .filter_map(|w| {
                let (name, word, at) = match (&w[0].code, &w[1].code, &w[2].code) {
                    (Code::Name(n), Code::Word(s), Code::Compare(_)) => (n, s, w[1].at),
                    (Code::Word(s), Code::Name(n), Code::Compare(_)) => (n, s, w[0].at),
                    _ => return None,
                };
                Some(Choice {
                    name: name.to_string(),
                    word: word.to_string(),
                    start: at.start.into(),
                    end: at.end.into(),
                })
            })
            .collect()
    }

    fn whole(&self) -> Span {
        let trimmed = self.text.trim_start();
        let start = self.text.len() - trimmed.len();
        Span::new(start, start + trimmed.trim_end().len())
    }
}

/// Reads a figure of a data file: an expression without names.
///
/// # Errors
/// As [`Expr::parse`] and [`Expr::eval`], and when it is not a quantity.
pub fn parse_quantity(text: &str) -> Result<Quantity, ExprError> {
    let expr = Expr::parse(text)?;
    match expr.eval(&NoNames)? {
        Value::Quantity(q) => Ok(q),
        other => Err(ExprError::new(
            "wrong-kind",
            expr.whole(),
            format!("a figure is needed here, and this is {}", other.words()),
        )),
    }
}

fn unit_hint(dim: Dim) -> Option<&'static str> {
    Some(match dim {
        Dim::LENGTH => "mm",
        Dim::ANGLE => "deg",
        Dim::MASS => "kg",
        Dim::FORCE => "N",
        Dim::FORCE_PER_LENGTH => "kN/m",
        Dim::PRESSURE => "kPa",
        Dim::GRAMMAGE => "g/m2",
        _ => return None,
    })
}

impl Value {
    /// What kind of value it is, for messages.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Quantity(q) => q.dim.words(),
            Self::Bool(_) => "true or false".into(),
            Self::Word(w) => format!("the word '{w}'"),
        }
    }
    fn is_plain(&self) -> bool {
        matches!(self, Self::Quantity(q) if q.dim == Dim::NUMBER)
    }
}

impl From<Quantity> for Value {
    fn from(q: Quantity) -> Self {
        Self::Quantity(q)
    }
}

impl From<Length> for Value {
    fn from(l: Length) -> Self {
        Self::Quantity(Quantity::length(l))
    }
}

impl From<Angle> for Value {
    fn from(a: Angle) -> Self {
        Self::Quantity(Quantity::angle(a))
    }
}

impl From<bool> for Value {
    fn from(b: bool) -> Self {
        Self::Bool(b)
    }
}

impl From<&str> for Value {
    fn from(word: &str) -> Self {
        Self::Word(word.into())
    }
}

impl ExprError {
    fn new(code: &'static str, at: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            start: at.start.into(),
            end: at.end.into(),
            message: message.into(),
            help: None,
        }
    }
    fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

impl std::fmt::Display for ExprError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for ExprError {}
