//! Every named value of a style at one asked size, board and set of parameters.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::model::*;
use crate::diag::{Diag, Outcome};
use crate::expr::{Names, Value};
use crate::read::suggestion;
use crate::units::{Dim, Quantity};

/// A quick hash for short names; the standard one guards against crafted keys, which here could
/// only slow down their own style.
#[derive(Clone, Copy, Default)]
struct Quick(u64);

impl Hasher for Quick {
    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            let mixed = self.0.rotate_left(5) ^ u64::from_le_bytes(word);
            self.0 = mixed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        }
    }
    fn write_u8(&mut self, _: u8) {
        // Ends a text; a name is hashed alone.
    }
    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }
}

type ByName<K, V> = HashMap<K, V, BuildHasherDefault<Quick>>;

/// Named values: what expressions of the style may use.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Values {
    names: ByName<String, Value>,
}

impl Names for Values {
    fn get(&self, name: &str) -> Option<Value> {
        self.names.get(name).cloned()
    }
    fn all(&self) -> Vec<String> {
        let mut all: Vec<String> = self.names.keys().cloned().collect();
        all.sort();
        all
    }
}

impl Values {
    /// The quantity with this name, if it is one.
    #[must_use]
    pub fn quantity(&self, name: &str) -> Option<Quantity> {
        match self.names.get(name) {
            Some(Value::Quantity(q)) => Some(*q),
            _ => None,
        }
    }
    /// The value as text, for reports.
    #[must_use]
    pub fn show(&self, name: &str) -> Option<String> {
        Some(match self.names.get(name)? {
            Value::Quantity(q) => q.to_string(),
            Value::Bool(b) => b.to_string(),
            Value::Word(w) => w.to_string(),
        })
    }
}

enum Definition<'a> {
    Parameter(&'a Parameter),
    Set(&'a Parameter, &'a Formula),
    Derived(&'a Let),
}

impl<'a> Definition<'a> {
    fn formula(&self) -> &'a Formula {
        match self {
            Self::Parameter(p) => &p.default,
            Self::Set(_, f) => f,
            Self::Derived(l) => &l.value,
        }
    }
}

struct Resolver<'a> {
    definitions: ByName<&'a str, Definition<'a>>,
    values: Values,
    open: Vec<&'a str>,
    diags: Vec<Diag>,
}

/// Evaluates parameters and derived values in whatever order they need one another, then checks
/// ranges and requirements.
///
/// `given` holds the asked sizes and the board's figures; `set` the parameters the job sets, each
/// with the name's own place for messages.
///
/// # Errors
/// Unknown parameters, wrong units, cycles, values out of range (`out-of-range`), requirements
/// that do not hold (`requirement`), each at its place.
pub fn values(
    style: &Style,
    given: &[(&str, Quantity)],
    set: &[(Named, Formula)],
) -> Outcome<Values> {
    let own = style.parameters.len() + style.lets.len();
    let mut r = Resolver {
        definitions: ByName::with_capacity_and_hasher(own, BuildHasherDefault::default()),
        values: Values {
            names: ByName::with_capacity_and_hasher(
                own + given.len(),
                BuildHasherDefault::default(),
            ),
        },
        open: Vec::new(),
        diags: Vec::new(),
    };
    for (name, q) in given {
        r.values
            .names
            .insert((*name).to_owned(), Value::Quantity(*q));
    }
    for p in &style.parameters {
        r.define(&p.name, Definition::Parameter(p));
    }
    for l in &style.lets {
        r.define(&l.name, Definition::Derived(l));
    }
    let mut seen: Vec<&str> = Vec::new();
    for (name, formula) in set {
        let Some(p) = style.parameters.iter().find(|p| p.name == name.name) else {
            let known: Vec<&str> = style.parameters.iter().map(|p| p.name.as_str()).collect();
            r.diags.push(
                Diag::error(
                    "unknown-parameter",
                    format!("style `{}` has no parameter `{}`", style.name, name.name),
                )
                .at(name.place.clone())
                .help(suggestion(&name.name, known.iter().copied())),
            );
            continue;
        };
        if seen.contains(&name.name.as_str()) {
            r.diags.push(
                Diag::error("given-twice", format!("`{}` is set twice", name.name))
                    .at(name.place.clone())
                    .help("keep one of them"),
            );
        }
        seen.push(&name.name);
        r.definitions.insert(&p.name, Definition::Set(p, formula));
    }
    let order = style
        .parameters
        .iter()
        .map(|p| &p.name)
        .chain(style.lets.iter().map(|l| &l.name));
    for name in order {
        r.resolve(name);
    }
    if r.diags.is_empty() {
        r.ranges(style, set);
    }
    if r.diags.is_empty() {
        r.requirements(style);
    }
    if r.diags.is_empty() {
        Ok(r.values)
    } else {
        Err(r.diags)
    }
}

impl<'a> Resolver<'a> {
    fn define(&mut self, name: &'a str, d: Definition<'a>) {
        if self.values.names.contains_key(name) {
            let place = match &d {
                Definition::Parameter(p) | Definition::Set(p, _) => &p.place,
                Definition::Derived(l) => &l.place,
            };
            self.diags.push(
                Diag::error(
                    "name-taken",
                    format!("`{name}` already means something here"),
                )
                .at(place.clone())
                .help("choose another name; asked sizes and board figures are always known"),
            );
            return;
        }
        if let Some(Definition::Parameter(_)) = self.definitions.get(name)
            && let Definition::Derived(l) = &d
        {
            self.diags.push(
                Diag::error(
                    "given-twice",
                    format!("`{name}` is a parameter and cannot be derived too"),
                )
                .at(l.place.clone())
                .help("choose another name"),
            );
            return;
        }
        self.definitions.insert(name, d);
    }

    fn resolve(&mut self, name: &'a str) {
        if self.values.names.contains_key(name) {
            return;
        }
        let Some((name, d)) = self.definitions.remove_entry(name) else {
            return;
        };
        self.open.push(name);
        let formula = d.formula();
        for (needed, start, end) in formula.expr.uses() {
            if self.open.contains(&needed) {
                let ring = self
                    .open
                    .iter()
                    .skip_while(|n| **n != needed)
                    .copied()
                    .collect::<Vec<_>>();
                let e = crate::expr::ExprError {
                    code: "cycle",
                    start,
                    end,
                    message: format!("`{name}` needs itself: {} -> {needed}", ring.join(" -> ")),
                    help: Some("give one of them a value that does not use the others".into()),
                };
                self.diags.push(formula.diag(&e));
                self.open.pop();
                return;
            }
            if let Some((key, _)) = self.definitions.get_key_value(needed) {
                self.resolve(key);
            }
        }
        self.open.pop();
        match self.evaluate(&d) {
            Ok(v) => {
                self.values.names.insert(name.to_owned(), v);
            }
            Err(diag) => {
                let follows = diag.code == "unknown-name" && !self.diags.is_empty();
                if !follows {
                    self.diags.push(diag);
                }
            }
        }
    }

    fn evaluate(&self, d: &Definition<'_>) -> Result<Value, Diag> {
        let formula = d.formula();
        let parameter = match d {
            Definition::Derived(_) => {
                return formula
                    .expr
                    .eval(&self.values)
                    .map_err(|e| formula.diag(&e));
            }
            Definition::Parameter(p) | Definition::Set(p, _) => p,
        };
        match &parameter.kind {
            ParameterKind::Choice(words) => {
                let word = formula.expr.text().trim().trim_matches('\'');
                words
                    .iter()
                    .find(|w| *w == word)
                    .map(|w| Value::Word(w.as_str().into()))
                    .ok_or_else(|| {
                        Diag::error(
                            "unknown-word",
                            format!("`{}` cannot be `{word}`", parameter.name),
                        )
                        .at(formula.place.clone())
                        .help(suggestion(word, words.iter().map(String::as_str)))
                    })
            }
            ParameterKind::Quantity(dim) => {
                let v = formula
                    .expr
                    .eval(&self.values)
                    .map_err(|e| formula.diag(&e))?;
                match v {
                    Value::Quantity(q) if q.dim == *dim => Ok(v),
                    other => Err(wrong_kind(&parameter.name, *dim, &other, formula)),
                }
            }
        }
    }

    fn ranges(&mut self, style: &Style, set: &[(Named, Formula)]) {
        for p in &style.parameters {
            let Some(value) = self.values.quantity(&p.name) else {
                continue;
            };
            for (bound, least) in [(&p.min, true), (&p.max, false)] {
                let Some(f) = bound else { continue };
                let limit = match f.expr.eval(&self.values) {
                    Ok(Value::Quantity(q)) if q.dim == value.dim => q,
                    Ok(other) => {
                        self.diags.push(wrong_kind(&p.name, value.dim, &other, f));
                        continue;
                    }
                    Err(e) => {
                        self.diags.push(f.diag(&e));
                        continue;
                    }
                };
                let slack = 1e-9 * (1.0 + limit.value.abs());
                let outside = if least {
                    value.value < limit.value - slack
                } else {
                    value.value > limit.value + slack
                };
                if outside {
                    let word = if least { "at least" } else { "at most" };
                    let mut d = Diag::error(
                        "out-of-range",
                        format!("`{}` is {value}; it must be {word} {limit} here", p.name),
                    );
                    match set.iter().find(|(n, _)| n.name == p.name) {
                        Some((_, formula)) => d = d.at(formula.place.clone()).help(p.help.clone()),
                        None => {
                            d = d.at(p.default.place.clone()).help(format!(
                                "this is its default at the asked size and board; {}",
                                p.help
                            ));
                        }
                    }
                    self.diags.push(d);
                }
            }
        }
    }

    fn requirements(&mut self, style: &Style) {
        for r in &style.requires {
            match r.condition.expr.eval(&self.values) {
                Ok(Value::Bool(true)) => {}
                Ok(Value::Bool(false)) => self.diags.push(
                    Diag::error("requirement", r.message.clone())
                        .at(r.condition.place.clone())
                        .help(self.shown(&r.condition)),
                ),
                Ok(_) => self.diags.push(
                    Diag::error("wrong-kind", "a requirement must be true or false")
                        .at(r.condition.place.clone()),
                ),
                Err(e) => self.diags.push(r.condition.diag(&e)),
            }
        }
    }

    /// The names in a condition with their values.
    fn shown(&self, f: &Formula) -> String {
        let mut parts: Vec<String> = Vec::new();
        for (name, _, _) in f.expr.uses() {
            if let Some(v) = self.values.show(name) {
                let part = format!("{name} is {v}");
                if !parts.contains(&part) {
                    parts.push(part);
                }
            }
        }
        format!("needed: {}; here {}", f.expr.text(), parts.join(", "))
    }
}

fn wrong_kind(name: &str, dim: Dim, got: &Value, f: &Formula) -> Diag {
    let got_words = match got {
        Value::Quantity(q) => q.dim.words(),
        Value::Bool(_) => "true or false".into(),
        Value::Word(_) => "a word".into(),
    };
    let mut d = Diag::error(
        "wrong-unit",
        format!("`{name}` must be {}, but this is {got_words}", dim.words()),
    )
    .at(f.place.clone());
    if dim == Dim::LENGTH && matches!(got, Value::Quantity(q) if q.dim == Dim::NUMBER) {
        d = d.help(format!("write the unit: \"{}mm\"", f.expr.text()));
    }
    d
}
