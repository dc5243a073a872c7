//! Where a value stands in a JSON text.
//!
//! The text has been read before, so it is known to be JSON; what is not found has no place.

use std::ops::Range;

/// A step from a value to one in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// Of an object, by its key.
    Key(&'static str),
    /// Of an array, counted from 0.
    Index(usize),
}

/// The bytes of the value that the steps lead to, or of the innermost one they reach.
pub(super) fn locate(text: &str, steps: &[Step]) -> Range<usize> {
    let mut reader = Reader {
        bytes: text.as_bytes(),
        at: 0,
    };
    reader.blank();
    let mut found = reader.at;
    for step in steps {
        reader.at = found;
        match reader.enter(*step) {
            Some(at) => found = at,
            None => break,
        }
    }
    reader.at = found;
    reader.value();
    found..reader.at.min(text.len())
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn peek(&self) -> u8 {
        self.bytes.get(self.at).copied().unwrap_or(0)
    }
    fn blank(&mut self) {
        while self.peek().is_ascii_whitespace() {
            self.at += 1;
        }
    }
    /// Past a text in quotes; what is between them, as written.
    fn text(&mut self) -> Range<usize> {
        self.at += 1;
        let from = self.at;
        while !matches!(self.peek(), b'"' | 0) {
            self.at += if self.peek() == b'\\' { 2 } else { 1 };
        }
        let to = self.at.min(self.bytes.len());
        self.at += 1;
        from..to
    }
    /// Past a value of any kind.
    fn value(&mut self) {
        let mut depth = 0usize;
        loop {
            self.blank();
            match self.peek() {
                0 => return,
                b'"' => {
                    self.text();
                }
                b'{' | b'[' => {
                    depth += 1;
                    self.at += 1;
                }
                b'}' | b']' => {
                    depth = depth.saturating_sub(1);
                    self.at += 1;
                }
                b',' | b':' => self.at += 1,
                _ => {
                    while !matches!(self.peek(), 0 | b',' | b':' | b'}' | b']')
                        && !self.peek().is_ascii_whitespace()
                    {
                        self.at += 1;
                    }
                }
            }
            if depth == 0 {
                return;
            }
        }
    }
    /// The beginning of a value in this one.
    fn enter(&mut self, step: Step) -> Option<usize> {
        let opening = match step {
            Step::Key(_) => b'{',
            Step::Index(_) => b'[',
        };
        if self.peek() != opening {
            return None;
        }
        self.at += 1;
        let mut n = 0;
        let mut last = None;
        loop {
            self.blank();
            match self.peek() {
                0 | b'}' | b']' => return last,
                b',' => {
                    self.at += 1;
                    continue;
                }
                _ => {}
            }
            let wanted = match step {
                Step::Key(key) => {
                    let name = self.text();
                    self.blank();
                    self.at += 1;
                    self.blank();
                    self.bytes.get(name) == Some(key.as_bytes())
                }
                Step::Index(i) => i == n,
            };
            if wanted {
                // Of a key given twice the last counts.
                last = Some(self.at);
                if matches!(step, Step::Index(_)) {
                    return last;
                }
            }
            n += 1;
            self.value();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_found_where_they_stand() {
        let text = r#" { "a\"}": [1, {"b" : [ -2e3 , "x]" ]}], "c": null } "#;
        let at = |steps: &[Step]| &text[locate(text, steps)];
        assert_eq!(at(&[Step::Key("c")]), "null");
        assert_eq!(at(&[Step::Key("gone")]), text.trim());
        assert_eq!(at(&[]), text.trim());
        let text = r#"{"p":[1,{"b" : [ -2e3 , "x]" ]}]}"#;
        let at = |steps: &[Step]| &text[locate(text, steps)];
        let deep = [
            Step::Key("p"),
            Step::Index(1),
            Step::Key("b"),
            Step::Index(1),
        ];
        assert_eq!(at(&deep), "\"x]\"");
        assert_eq!(at(&deep[..3]), "[ -2e3 , \"x]\" ]");
    }
}
