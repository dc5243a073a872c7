//! Runs the flat program, checking units on the way.

use super::functions::call;
use super::{Binary, Code, Compare, ExprError, Names, Op, Span, Value};
use crate::diag::nearest;
use crate::units::{Dim, Quantity, SLACK_MM, unit};

/// What rounding may do to a number, as a share of it.
pub(super) const SLACK_SHARE: f64 = 1e-9;

pub(super) struct Item {
    pub(super) value: Value,
    pub(super) at: Span,
}

struct Stack(Vec<Item>);

impl Stack {
    fn pop(&mut self, op: &Op) -> Result<Item, ExprError> {
        self.0
            .pop()
            .ok_or_else(|| ExprError::new("broken-expression", op.at, "a value is missing"))
    }
    fn quantity(&mut self, op: &Op) -> Result<(Quantity, Span), ExprError> {
        let item = self.pop(op)?;
        Ok((quantity(&item)?, item.at))
    }
    fn truth(&mut self, op: &Op) -> Result<bool, ExprError> {
        let item = self.pop(op)?;
        match item.value {
            Value::Bool(b) => Ok(b),
            other => Err(ExprError::new(
                "wrong-kind",
                item.at,
                format!("a condition is needed here, and this is {}", other.words()),
            )),
        }
    }
    fn push(&mut self, value: impl Into<Value>, at: Span) {
        self.0.push(Item {
            value: value.into(),
            at,
        });
    }
}

pub(super) fn quantity(item: &Item) -> Result<Quantity, ExprError> {
    match &item.value {
        Value::Quantity(q) => Ok(*q),
        other => Err(ExprError::new(
            "wrong-kind",
            item.at,
            format!("a figure is needed here, and this is {}", other.words()),
        )),
    }
}

pub(super) fn run(ops: &[Op], names: &dyn Names) -> Result<Value, ExprError> {
    let mut stack = Stack(Vec::with_capacity(ops.len().min(8)));
    let mut step = 0;
    while let Some(op) = ops.get(step) {
        step += 1;
        match &op.code {
            Code::Literal(q) => stack.push(*q, op.at),
            Code::Truth(b) => stack.push(*b, op.at),
            Code::Word(w) => stack.push(Value::Word(w.clone()), op.at),
            Code::Name(name) => match names.get(name) {
                Some(value) => stack.push(value, op.at),
                None => return Err(unknown_name(name, op.at, ops.get(step), names)),
            },
            Code::Negate => {
                let (q, _) = stack.quantity(op)?;
                stack.push(
                    Quantity {
                        value: -q.value,
                        ..q
                    },
                    op.at,
                );
            }
            Code::Not => {
                let b = stack.truth(op)?;
                stack.push(!b, op.at);
            }
            Code::Binary(binary) => {
                let right = stack.quantity(op)?;
                let left = stack.quantity(op)?;
                let result = finite(combine(*binary, left, right, op.at)?, op.at)?;
                stack.push(result, op.at);
            }
            Code::Compare(compare) => {
                let right = stack.pop(op)?;
                let left = stack.pop(op)?;
                stack.push(compared(*compare, &left, &right, op.at)?, op.at);
            }
            Code::Call(function, count) => {
                let base = stack.0.len().saturating_sub(*count);
                let args = stack.0.get(base..).unwrap_or(&[]);
                let result = finite(call(*function, args, op.at)?, op.at)?;
                stack.0.truncate(base);
                stack.push(result, op.at);
            }
            Code::Unless(to) => {
                if !stack.truth(op)? {
                    step = *to;
                }
            }
            Code::Jump(to) => step = *to,
            Code::ShortAnd(to) => {
                if !stack.truth(op)? {
                    stack.push(false, op.at);
                    step = *to;
                }
            }
            Code::ShortOr(to) => {
                if stack.truth(op)? {
                    stack.push(true, op.at);
                    step = *to;
                }
            }
            Code::NeedBool => {
                let b = stack.truth(op)?;
                stack.push(b, op.at);
            }
        }
    }
    stack
        .0
        .pop()
        .map(|item| item.value)
        .ok_or_else(|| ExprError::new("broken-expression", Span::new(0, 0), "a value is missing"))
}

fn finite(q: Quantity, at: Span) -> Result<Quantity, ExprError> {
    if q.value.is_finite() {
        Ok(q)
    } else {
        Err(ExprError::new("not-finite", at, "the result is too large"))
    }
}

pub(super) type Placed = (Quantity, Span);

fn combine(
    op: Binary,
    (a, a_at): Placed,
    (b, b_at): Placed,
    at: Span,
) -> Result<Quantity, ExprError> {
    let too_much = || ExprError::new("not-finite", at, "the unit has too large a power");
    match op {
        Binary::Add | Binary::Subtract => {
            let verb = if op == Binary::Add {
                "added"
            } else {
                "subtracted"
            };
            same_dim((a, a_at), (b, b_at), at, verb)?;
            let value = if op == Binary::Add {
                a.value + b.value
            } else {
                a.value - b.value
            };
            Ok(Quantity { value, dim: a.dim })
        }
        Binary::Multiply => Ok(Quantity {
            value: a.value * b.value,
            dim: a.dim.times(b.dim).ok_or_else(too_much)?,
        }),
        Binary::Divide => {
            if b.value == 0.0 {
                return Err(ExprError::new(
                    "division-by-zero",
                    b_at,
                    "this is zero, and it divides",
                ));
            }
            Ok(Quantity {
                value: a.value / b.value,
                dim: a.dim.over(b.dim).ok_or_else(too_much)?,
            })
        }
        Binary::Power => power(a, b, b_at, at),
    }
}

fn power(a: Quantity, b: Quantity, b_at: Span, at: Span) -> Result<Quantity, ExprError> {
    let bad = |message: String| ExprError::new("bad-exponent", b_at, message);
    if b.dim != Dim::NUMBER {
        return Err(bad(format!(
            "an exponent is a plain number, and this is {}",
            b.dim.words()
        )));
    }
    if a.value == 0.0 && b.value < 0.0 {
        return Err(ExprError::new(
            "division-by-zero",
            at,
            "zero to a negative power",
        ));
    }
    let dim = if a.dim == Dim::NUMBER {
        if a.value < 0.0 && b.value.fract() != 0.0 {
            return Err(ExprError::new(
                "out-of-domain",
                at,
                "a negative number has no power that is not whole",
            ));
        }
        Dim::NUMBER
    } else {
        raised(a.dim, b.value).ok_or_else(|| {
            bad(format!(
                "{} can only be raised to a small whole power",
                a.dim.words()
            ))
        })?
    };
    let value = if b.value.fract() == 0.0 && b.value.abs() <= 64.0 {
        a.value.powi(b.value as i32)
    } else {
        a.value.powf(b.value)
    };
    Ok(Quantity { value, dim })
}

fn raised(dim: Dim, exponent: f64) -> Option<Dim> {
    if exponent.fract() != 0.0 || exponent.abs() > 64.0 {
        return None;
    }
    let n = exponent as i8;
    Some(Dim {
        length: dim.length.checked_mul(n)?,
        angle: dim.angle.checked_mul(n)?,
        mass: dim.mass.checked_mul(n)?,
        force: dim.force.checked_mul(n)?,
    })
}

pub(super) fn same_dim(
    (a, a_at): Placed,
    (b, b_at): Placed,
    at: Span,
    verb: &str,
) -> Result<(), ExprError> {
    if a.dim == b.dim {
        return Ok(());
    }
    let blamed = match (a.dim, b.dim) {
        (Dim::NUMBER, _) => a_at,
        (_, Dim::NUMBER) => b_at,
        _ => at,
    };
    let error = ExprError::new(
        "unit-mismatch",
        blamed,
        format!("{} and {} cannot be {verb}", a.dim.words(), b.dim.words()),
    );
    let other = if a.dim == Dim::NUMBER { b.dim } else { a.dim };
    Err(match super::unit_hint(other) {
        Some(u) if a.dim == Dim::NUMBER || b.dim == Dim::NUMBER => {
            error.help(format!("give the number a unit, such as `{u}`"))
        }
        _ => error,
    })
}

fn compared(op: Compare, left: &Item, right: &Item, at: Span) -> Result<bool, ExprError> {
    let equal = match (&left.value, &right.value) {
        (Value::Quantity(a), Value::Quantity(b)) => {
            same_dim((*a, left.at), (*b, right.at), at, "compared")?;
            let slack = slack(a, b);
            let (a, b) = (a.value, b.value);
            return Ok(match op {
                Compare::Less => a < b - slack,
                Compare::LessOrEqual => a <= b + slack,
                Compare::More => a > b + slack,
                Compare::MoreOrEqual => a >= b - slack,
                Compare::Equal => (a - b).abs() <= slack,
                Compare::Unequal => (a - b).abs() > slack,
            });
        }
        (Value::Bool(a), Value::Bool(b)) => a == b,
        (Value::Word(a), Value::Word(b)) => a == b,
        (a, b) => {
            return Err(ExprError::new(
                "wrong-kind",
                at,
                format!("{} and {} cannot be compared", a.words(), b.words()),
            ));
        }
    };
    match op {
        Compare::Equal => Ok(equal),
        Compare::Unequal => Ok(!equal),
        _ => Err(ExprError::new(
            "wrong-kind",
            at,
            format!("{} has no order", left.value.words()),
        )
        .help("only `=` and `!=` fit here")),
    }
}

fn slack(a: &Quantity, b: &Quantity) -> f64 {
    let size = a.value.abs().max(b.value.abs());
    match a.dim {
        Dim::LENGTH => SLACK_MM,
        Dim::NUMBER | Dim::ANGLE => SLACK_SHARE * size.max(1.0),
        _ => SLACK_SHARE * size,
    }
}

fn unknown_name(name: &str, at: Span, next: Option<&Op>, names: &dyn Names) -> ExprError {
    let error = ExprError::new("unknown-name", at, format!("there is no `{name}` here"));
    let known = |part: &str| names.get(part).is_some();
    let split = name.match_indices('-').find_map(|(i, _)| {
        let (left, right) = (name.get(..i)?, name.get(i + 1..)?);
        let number = right.starts_with(|c: char| c.is_ascii_digit());
        (known(left) && (known(right) || number)).then_some((left, right))
    });
    if let Some((left, right)) = split {
        return error.help(format!(
            "for a subtraction put blanks round the minus: `{left} - {right}`"
        ));
    }
    let all = names.all();
    if let Some(near) = nearest(name, all.iter().map(String::as_str)) {
        return error.help(format!("did you mean `{near}`?"));
    }
    if unit(name).is_some() {
        return error.help(format!(
            "`{name}` is a unit and follows a number, as in `1{name}`"
        ));
    }
    match next.map(|op| &op.code) {
        Some(Code::Compare(Compare::Equal | Compare::Unequal)) => error.help(format!(
            "a word of a choice stands in single quotes: '{name}'"
        )),
        _ => error,
    }
}
