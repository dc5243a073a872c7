//! What the functions compute, and what they take.

use super::eval::{Item, Placed, SLACK_SHARE, quantity, same_dim};
use super::{ExprError, Function, Span, unit_hint};
use crate::units::{Dim, Quantity};

pub(super) fn call(function: Function, args: &[Item], at: Span) -> Result<Quantity, ExprError> {
    let (Some(first), rest) = (args.first(), args.get(1..).unwrap_or(&[])) else {
        return Err(ExprError::new(
            "broken-expression",
            at,
            "a value is missing",
        ));
    };
    let x = quantity(first)?;
    let needs = |dim: Dim, help: &str| {
        if x.dim == dim {
            return Ok(x.value);
        }
        Err(ExprError::new(
            "wrong-unit",
            first.at,
            format!(
                "`{}` needs {}, and this is {}",
                function.name(),
                dim.words(),
                x.dim.words()
            ),
        )
        .help(help))
    };
    let angle = || needs(Dim::ANGLE, "angles are written with `deg` or `rad`");
    let ratio = || {
        let v = needs(Dim::NUMBER, "divide by a quantity in the same unit")?;
        if function != Function::Atan && v.abs() > 1.0 + SLACK_SHARE {
            return Err(ExprError::new(
                "out-of-domain",
                first.at,
                format!("`{}` needs a number from -1 to 1", function.name()),
            ));
        }
        Ok(v)
    };
    let as_angle = |value| Quantity {
        value,
        dim: Dim::ANGLE,
    };
    Ok(match function {
        Function::Min | Function::Max => {
            let mut best = x;
            for item in rest {
                let next = quantity(item)?;
                same_dim((x, first.at), (next, item.at), at, "compared")?;
                best.value = if function == Function::Min {
                    best.value.min(next.value)
                } else {
                    best.value.max(next.value)
                };
            }
            best
        }
        Function::Abs => Quantity {
            value: x.value.abs(),
            ..x
        },
        Function::Floor | Function::Ceil | Function::Round => {
            let step = step(function, (x, first.at), rest.first(), at)?;
            let steps = x.value / step;
            let whole = match function {
                Function::Floor => (steps + SLACK_SHARE).floor(),
                Function::Ceil => (steps - SLACK_SHARE).ceil(),
                _ => steps.round(),
            };
            Quantity {
                value: whole * step + 0.0,
                ..x
            }
        }
        Function::Sqrt => root(x, first.at)?,
        Function::Sin => Quantity::number(angle()?.sin()),
        Function::Cos => Quantity::number(angle()?.cos()),
        Function::Tan => {
            let a = angle()?;
            if a.cos().abs() < SLACK_SHARE {
                return Err(ExprError::new(
                    "out-of-domain",
                    first.at,
                    "the tangent of a right angle has no value",
                ));
            }
            Quantity::number(a.tan())
        }
        Function::Asin => as_angle(ratio()?.clamp(-1.0, 1.0).asin()),
        Function::Acos => as_angle(ratio()?.clamp(-1.0, 1.0).acos()),
        Function::Atan => as_angle(ratio()?.atan()),
    })
}

fn step(function: Function, x: Placed, step: Option<&Item>, at: Span) -> Result<f64, ExprError> {
    let name = function.name();
    let Some(item) = step else {
        if x.0.dim == Dim::NUMBER {
            return Ok(1.0);
        }
        let unit = unit_hint(x.0.dim).unwrap_or("mm");
        return Err(ExprError::new(
            "missing-step",
            at,
            format!("`{name}` of {} needs the step to go by", x.0.dim.words()),
        )
        .help(format!("such as `{name}(x, 1{unit})`")));
    };
    let step = quantity(item)?;
    same_dim(x, (step, item.at), at, "combined")?;
    if step.value == 0.0 {
        return Err(ExprError::new(
            "division-by-zero",
            item.at,
            "the step is zero",
        ));
    }
    if step.value < 0.0 {
        return Err(ExprError::new(
            "out-of-domain",
            item.at,
            "the step is negative",
        ));
    }
    Ok(step.value)
}

fn root(x: Quantity, at: Span) -> Result<Quantity, ExprError> {
    let d = x.dim;
    if [d.length, d.angle, d.mass, d.force]
        .iter()
        .any(|e| e % 2 != 0)
    {
        return Err(ExprError::new(
            "wrong-unit",
            at,
            format!("{} has no square root", d.words()),
        )
        .help("a square root needs a plain number or a square, such as an area"));
    }
    if x.value < 0.0 {
        return Err(ExprError::new(
            "out-of-domain",
            at,
            "a negative value has no square root",
        ));
    }
    Ok(Quantity {
        value: x.value.sqrt(),
        dim: Dim {
            length: d.length / 2,
            angle: d.angle / 2,
            mass: d.mass / 2,
            force: d.force / 2,
        },
    })
}
