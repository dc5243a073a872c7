//! Text into tokens; numbers swallow their units.

use super::{Compare, ExprError, Span};
use crate::diag::nearest;
use crate::units::{Dim, Quantity, UNITS, Unit};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind<'a> {
    Number(Quantity),
    Word(&'a str),
    Name(&'a str),
    If,
    Then,
    Else,
    And,
    Or,
    Not,
    Plus,
    Minus,
    Times,
    Over,
    Power,
    Compare(Compare),
    Open,
    Close,
    Comma,
    End,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'a> {
    pub kind: Kind<'a>,
    pub at: Span,
}

pub(super) fn tokens(text: &str) -> Result<Vec<Token<'_>>, ExprError> {
    let mut lexer = Lexer { text, pos: 0 };
    let mut out = Vec::new();
    loop {
        let token = lexer.next()?;
        out.push(token);
        if token.kind == Kind::End {
            return Ok(out);
        }
    }
}

struct Lexer<'a> {
    text: &'a str,
    pos: usize,
}

impl<'a> Lexer<'a> {
    fn rest(&self, from: usize) -> &'a str {
        self.text.get(from..).unwrap_or("")
    }

    fn next(&mut self) -> Result<Token<'a>, ExprError> {
        let rest = self.rest(self.pos);
        self.pos += rest.len() - rest.trim_start().len();
        let start = self.pos;
        let rest = self.rest(start);
        let mut chars = rest.chars();
        let Some(first) = chars.next() else {
            return Ok(Token {
                kind: Kind::End,
                at: Span::new(start, start),
            });
        };
        let second = chars.next();
        if first.is_ascii_digit() || (first == '.' && second.is_some_and(|c| c.is_ascii_digit())) {
            return self.number();
        }
        if first.is_alphabetic() || first == '_' {
            return Ok(self.name());
        }
        let (kind, len) = match (first, second) {
            ('\'', _) => {
                let Some(len) = rest.get(1..).and_then(|r| r.find('\'')) else {
                    return Err(ExprError::new(
                        "not-closed",
                        Span::new(start, self.text.len()),
                        "the word has no closing quote",
                    ));
                };
                (Kind::Word(rest.get(1..=len).unwrap_or("")), len + 2)
            }
            ('<', Some('=')) => (Kind::Compare(Compare::LessOrEqual), 2),
            ('>', Some('=')) => (Kind::Compare(Compare::MoreOrEqual), 2),
            ('!', Some('=')) => (Kind::Compare(Compare::Unequal), 2),
            ('<', _) => (Kind::Compare(Compare::Less), 1),
            ('>', _) => (Kind::Compare(Compare::More), 1),
            ('=', _) => (Kind::Compare(Compare::Equal), 1),
            ('+', _) => (Kind::Plus, 1),
            ('-', _) => (Kind::Minus, 1),
            ('*', _) => (Kind::Times, 1),
            ('/', _) => (Kind::Over, 1),
            ('^', _) => (Kind::Power, 1),
            ('(', _) => (Kind::Open, 1),
            (')', _) => (Kind::Close, 1),
            (',', _) => (Kind::Comma, 1),
            (c, _) => return Err(bad_character(c, start)),
        };
        self.pos += len;
        Ok(Token {
            kind,
            at: Span::new(start, self.pos),
        })
    }

    fn name(&mut self) -> Token<'a> {
        let start = self.pos;
        let rest = self.rest(start);
        let mut len = 0;
        let mut chars = rest.char_indices().peekable();
        while let Some((i, c)) = chars.next() {
            let glued = c == '-' && chars.peek().is_some_and(|(_, n)| is_name_char(*n));
            if !is_name_char(c) && !glued {
                break;
            }
            len = i + c.len_utf8();
        }
        self.pos = start + len;
        let name = rest.get(..len).unwrap_or("");
        Token {
            kind: match name {
                "if" => Kind::If,
                "then" => Kind::Then,
                "else" => Kind::Else,
                "and" => Kind::And,
                "or" => Kind::Or,
                "not" => Kind::Not,
                _ => Kind::Name(name),
            },
            at: Span::new(start, self.pos),
        }
    }

    fn number(&mut self) -> Result<Token<'a>, ExprError> {
        let start = self.pos;
        if let Some((value, unit, end)) = self.fraction(start)? {
            return self.finish(start, end, value, Some(unit));
        }
        let mut end = start + digits(self.rest(start));
        if self.rest(end).starts_with('.') {
            let decimals = digits(self.rest(end + 1));
            end += 1 + decimals;
            if decimals == 0 || self.rest(end).starts_with('.') {
                return Err(ExprError::new(
                    "bad-number",
                    Span::new(start, end),
                    "a decimal point needs digits after it, and there can be only one",
                ));
            }
        }
        let value = self
            .text
            .get(start..end)
            .and_then(|s| s.parse::<f64>().ok())
            .unwrap_or(f64::INFINITY);
        if let Some((unit, unit_end)) = self.unit(end) {
            return self.finish(start, unit_end, value, Some(unit));
        }
        let glued = self.rest(end);
        let len: usize = glued
            .chars()
            .take_while(|c| is_name_char(*c))
            .map(char::len_utf8)
            .sum();
        if len > 0 {
            return Err(unknown_unit(glued.get(..len).unwrap_or(""), end, end + len));
        }
        self.finish(start, end, value, None)
    }

    fn finish(
        &mut self,
        start: usize,
        end: usize,
        value: f64,
        unit: Option<&Unit>,
    ) -> Result<Token<'a>, ExprError> {
        self.pos = end;
        let at = Span::new(start, end);
        let (factor, dim) = unit.map_or((1.0, Dim::NUMBER), |u| (u.factor, u.dim));
        let value = value * factor;
        if !value.is_finite() {
            return Err(ExprError::new("not-finite", at, "the number is too large"));
        }
        Ok(Token {
            kind: Kind::Number(Quantity { value, dim }),
            at,
        })
    }

    /// `1/4in` or `3-5/16in`: glued digits, then a unit.
    fn fraction(&self, start: usize) -> Result<Option<(f64, &'static Unit, usize)>, ExprError> {
        let mut end = start;
        let mut whole = None;
        let mut part = self.whole_number(&mut end);
        if self.rest(end).starts_with('-') {
            end += 1;
            whole = part;
            part = self.whole_number(&mut end);
        }
        if !self.rest(end).starts_with('/') {
            return Ok(None);
        }
        end += 1;
        let (Some(part), Some(of)) = (part, self.whole_number(&mut end)) else {
            return Ok(None);
        };
        let Some((unit, unit_end)) = self.unit(end) else {
            return Ok(None);
        };
        let at = Span::new(start, unit_end);
        if of == 0.0 {
            return Err(ExprError::new(
                "division-by-zero",
                at,
                "a fraction over zero",
            ));
        }
        if whole.is_some() && part >= of {
            return Err(ExprError::new(
                "bad-number",
                at,
                "the fraction after a whole number must be less than one",
            )
            .help("for a subtraction put blanks round the minus"));
        }
        Ok(Some((whole.unwrap_or(0.0) + part / of, unit, unit_end)))
    }

    fn whole_number(&self, end: &mut usize) -> Option<f64> {
        let rest = self.rest(*end);
        let len = digits(rest);
        *end += len;
        rest.get(..len)?.parse().ok()
    }

    /// The unit at `from` or after blanks there, and where it ends.
    fn unit(&self, from: usize) -> Option<(&'static Unit, usize)> {
        let rest = self.rest(from);
        let word = rest.trim_start();
        let from = from + rest.len() - word.len();
        UNITS.iter().find_map(|u| {
            let after = word.strip_prefix(u.symbol)?;
            let ends = u.symbol == "%" || !after.starts_with(is_name_char);
            ends.then_some((u, from + u.symbol.len()))
        })
    }
}

fn is_name_char(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

fn unknown_unit(symbol: &str, start: usize, end: usize) -> ExprError {
    let known = || UNITS.iter().map(|u| u.symbol);
    let help = match nearest(symbol, known()) {
        Some(near) if near.len() > 1 => format!("did you mean `{near}`?"),
        _ => format!(
            "units are {}; to multiply, write `*`",
            known().collect::<Vec<_>>().join(", ")
        ),
    };
    ExprError::new(
        "unknown-unit",
        Span::new(start, end),
        format!("there is no unit `{symbol}`"),
    )
    .help(help)
}

fn bad_character(c: char, start: usize) -> ExprError {
    let error = ExprError::new(
        "bad-character",
        Span::new(start, start + c.len_utf8()),
        format!("`{}` has no meaning here", c.escape_debug()),
    );
    match c {
        '"' | '\u{2033}' | '\u{201d}' => {
            error.help("inches are written `in`, words in single quotes")
        }
        '\u{d7}' | '\u{b7}' => error.help("multiplication is written `*`"),
        '\u{f7}' | ':' => error.help("division is written `/`"),
        '\u{2212}' | '\u{2013}' => error.help("minus is written `-`"),
        '&' => error.help("write `and`"),
        '|' => error.help("write `or`"),
        '!' => error.help("write `not`, or `!=` for unequal"),
        '\u{2264}' => error.help("write `<=`"),
        '\u{2265}' => error.help("write `>=`"),
        '\u{2260}' => error.help("write `!=`"),
        '\u{b0}' => error.help("degrees are written `deg`"),
        _ => error,
    }
}
