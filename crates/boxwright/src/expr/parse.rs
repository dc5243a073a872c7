//! Tokens into a flat program, by binding power.

use super::lex::{Kind, Token, tokens};
use super::{Binary, Code, Compare, Expr, ExprError, Function, MAX_BYTES, MAX_DEPTH, Op, Span};
use crate::diag::nearest;
use crate::units::Quantity;

/// How tightly each level binds; an operator is taken while it binds at least as tightly as the
/// level being read.
mod level {
    pub(super) const LOOSEST: u8 = 0;
    pub(super) const OR: u8 = 1;
    pub(super) const AND: u8 = 2;
    pub(super) const COMPARE: u8 = 4;
    pub(super) const SUM: u8 = 5;
    pub(super) const PRODUCT: u8 = 6;
    pub(super) const SIGN: u8 = 7;
    pub(super) const POWER: u8 = 8;
}

pub(super) fn parse(text: &str) -> Result<Expr, ExprError> {
    if text.len() > MAX_BYTES {
        return Err(ExprError::new(
            "expression-too-long",
            Span::new(0, MAX_BYTES),
            format!(
                "an expression may have {MAX_BYTES} bytes, and this one has {}",
                text.len()
            ),
        )
        .help("split it into derived values"));
    }
    let tokens = tokens(text)?;
    if tokens.len() == 1 {
        return Err(ExprError::new(
            "empty-expression",
            Span::new(0, text.len()),
            "there is nothing to work out",
        ));
    }
    let mut parser = Parser {
        tokens,
        next: 0,
        depth: 0,
        ops: Vec::new(),
        end: Span::new(text.len(), text.len()),
    };
    parser.expression(level::LOOSEST)?;
    parser.finish()?;
    Ok(Expr {
        text: text.into(),
        ops: parser.ops.into(),
    })
}

struct Parser<'a> {
    tokens: Vec<Token<'a>>,
    next: usize,
    depth: usize,
    ops: Vec<Op>,
    end: Span,
}

impl<'a> Parser<'a> {
    fn peek(&self) -> Token<'a> {
        self.tokens.get(self.next).copied().unwrap_or(Token {
            kind: Kind::End,
            at: self.end,
        })
    }

    fn take(&mut self) -> Token<'a> {
        let token = self.peek();
        self.next += 1;
        token
    }

    fn emit(&mut self, code: Code, at: Span) -> usize {
        self.ops.push(Op { code, at });
        self.ops.len() - 1
    }

    /// Points the jump at `op` to the step that comes next.
    fn land(&mut self, op: usize) {
        let here = self.ops.len();
        if let Some(Op {
            code: Code::Unless(to) | Code::Jump(to) | Code::ShortAnd(to) | Code::ShortOr(to),
            ..
        }) = self.ops.get_mut(op)
        {
            *to = here;
        }
    }

    /// Reads one level deeper; the limit keeps the recursion within any stack.
    fn deeper(&mut self, level: u8, at: Span) -> Result<Span, ExprError> {
        if self.depth == MAX_DEPTH {
            return Err(ExprError::new(
                "expression-too-deep",
                at,
                format!("an expression may be nested {MAX_DEPTH} deep"),
            )
            .help("split it into derived values"));
        }
        self.depth += 1;
        let span = self.expression(level)?;
        self.depth -= 1;
        Ok(span)
    }

    fn expression(&mut self, floor: u8) -> Result<Span, ExprError> {
        let mut left = self.operand()?;
        loop {
            let token = self.peek();
            let level = match token.kind {
                Kind::Or => level::OR,
                Kind::And => level::AND,
                Kind::Compare(_) => level::COMPARE,
                Kind::Plus | Kind::Minus => level::SUM,
                Kind::Times | Kind::Over => level::PRODUCT,
                Kind::Power => level::POWER,
                _ => return Ok(left),
            };
            if level < floor {
                return Ok(left);
            }
            self.next += 1;
            let jump = match token.kind {
                Kind::And => Some(self.emit(Code::ShortAnd(0), left)),
                Kind::Or => Some(self.emit(Code::ShortOr(0), left)),
                _ => None,
            };
            let right = if level == level::POWER {
                self.deeper(level, token.at)?
            } else {
                self.expression(level + 1)?
            };
            let whole = left.to(right);
            match (token.kind, jump) {
                (_, Some(jump)) => {
                    self.emit(Code::NeedBool, right);
                    self.land(jump);
                }
                (Kind::Compare(c), _) => {
                    self.emit(Code::Compare(c), whole);
                    self.no_chain()?;
                }
                (kind, _) => {
                    let binary = match kind {
                        Kind::Plus => Binary::Add,
                        Kind::Minus => Binary::Subtract,
                        Kind::Times => Binary::Multiply,
                        Kind::Over => Binary::Divide,
                        _ => Binary::Power,
                    };
                    self.emit(Code::Binary(binary), whole);
                }
            }
            left = whole;
        }
    }

    fn no_chain(&self) -> Result<(), ExprError> {
        let token = self.peek();
        if !matches!(token.kind, Kind::Compare(_)) {
            return Ok(());
        }
        Err(
            ExprError::new("chained-comparison", token.at, "comparisons do not chain")
                .help("join two of them with `and`: `a < b and b < c`"),
        )
    }

    fn operand(&mut self) -> Result<Span, ExprError> {
        let token = self.take();
        let at = token.at;
        match token.kind {
            Kind::Number(q) => {
                self.emit(Code::Literal(q), at);
                Ok(at)
            }
            Kind::Word(w) => {
                self.emit(Code::Word(w.into()), at);
                Ok(at)
            }
            Kind::Name(name) => self.name(name, at),
            Kind::Minus => {
                let whole = at.to(self.deeper(level::SIGN, at)?);
                self.emit(Code::Negate, whole);
                Ok(whole)
            }
            Kind::Not => {
                let whole = at.to(self.deeper(level::COMPARE, at)?);
                self.emit(Code::Not, whole);
                Ok(whole)
            }
            Kind::Open => {
                self.deeper(level::LOOSEST, at)?;
                self.close(at)
            }
            Kind::If => self.conditional(at),
            _ => Err(self.unexpected(token)),
        }
    }

    fn name(&mut self, name: &str, at: Span) -> Result<Span, ExprError> {
        if self.peek().kind == Kind::Open {
            return self.call(name, at);
        }
        let code = match name {
            "pi" => Code::Literal(Quantity::number(std::f64::consts::PI)),
            "true" => Code::Truth(true),
            "false" => Code::Truth(false),
            _ => Code::Name(name.into()),
        };
        self.emit(code, at);
        Ok(at)
    }

    fn call(&mut self, name: &str, at: Span) -> Result<Span, ExprError> {
        let Some(function) = Function::named(name) else {
            let near = nearest(name, Function::ALL.iter().map(|(n, _)| *n));
            return Err(ExprError::new(
                "unknown-function",
                at,
                format!("there is no function `{name}`"),
            )
            .help(near.map_or_else(
                || "to multiply, write `*` before the parenthesis".to_owned(),
                |n| format!("did you mean `{n}`?"),
            )));
        };
        let open = self.take().at;
        let mut count = 0;
        if self.peek().kind != Kind::Close {
            loop {
                self.deeper(level::LOOSEST, open)?;
                count += 1;
                if self.peek().kind != Kind::Comma {
                    break;
                }
                self.next += 1;
            }
        }
        let whole = at.to(self.close(open)?);
        let (fewest, most) = function.arity();
        if count < fewest || count > most {
            let takes = match (fewest, most) {
                (1, 1) => "one value",
                (1, _) => "one value, or a value and a step",
                _ => "at least two values",
            };
            return Err(ExprError::new(
                "wrong-arity",
                whole,
                format!("`{name}` takes {takes}, not {count}"),
            ));
        }
        self.emit(Code::Call(function, count), whole);
        Ok(whole)
    }

    fn conditional(&mut self, at: Span) -> Result<Span, ExprError> {
        self.deeper(level::LOOSEST, at)?;
        self.expect(Kind::Then, "then")?;
        let unless = self.emit(Code::Unless(0), at);
        self.deeper(level::LOOSEST, at)?;
        self.expect(Kind::Else, "else")?;
        let jump = self.emit(Code::Jump(0), at);
        self.land(unless);
        let last = self.deeper(level::LOOSEST, at)?;
        self.land(jump);
        Ok(at.to(last))
    }

    fn expect(&mut self, kind: Kind<'_>, word: &str) -> Result<(), ExprError> {
        let token = self.take();
        if token.kind == kind {
            return Ok(());
        }
        Err(
            ExprError::new("unexpected", token.at, format!("`{word}` is needed here"))
                .help("a conditional is written `if A then B else C`"),
        )
    }

    /// Takes the parenthesis that closes `open`; the span of both.
    fn close(&mut self, open: Span) -> Result<Span, ExprError> {
        let token = self.take();
        match token.kind {
            Kind::Close => Ok(open.to(token.at)),
            Kind::End => Err(ExprError::new(
                "not-closed",
                open,
                "this parenthesis is never closed",
            )),
            _ => Err(self.unexpected(token)),
        }
    }

    fn finish(&self) -> Result<(), ExprError> {
        let token = self.peek();
        match token.kind {
            Kind::End => Ok(()),
            Kind::Close => Err(ExprError::new(
                "unexpected",
                token.at,
                "this parenthesis was never opened",
            )),
            _ => Err(self.unexpected(token)),
        }
    }

    fn unexpected(&self, token: Token<'_>) -> ExprError {
        let after_value = self
            .tokens
            .get(..self.next.saturating_sub(1))
            .and_then(<[_]>::last)
            .is_some_and(|t| ends_value(t.kind));
        let starts_value = matches!(
            token.kind,
            Kind::Number(_) | Kind::Word(_) | Kind::Name(_) | Kind::Open | Kind::If | Kind::Not
        );
        match token.kind {
            Kind::End => ExprError::new(
                "unexpected",
                token.at,
                "the expression stops where a value is needed",
            ),
            Kind::Comma => ExprError::new("unexpected", token.at, "a comma has no meaning here")
                .help("decimals take a point, as in `2.5mm`"),
            Kind::Compare(Compare::Equal) if !after_value => {
                ExprError::new("unexpected", token.at, "a value is needed here")
                    .help("equality is a single `=`")
            }
            _ if starts_value => ExprError::new(
                "missing-operator",
                token.at,
                "two values stand side by side",
            )
            .help("write an operator between them, such as `*`"),
            _ => ExprError::new("unexpected", token.at, "a value is needed here"),
        }
    }
}

const fn ends_value(kind: Kind<'_>) -> bool {
    matches!(
        kind,
        Kind::Number(_) | Kind::Word(_) | Kind::Name(_) | Kind::Close
    )
}
