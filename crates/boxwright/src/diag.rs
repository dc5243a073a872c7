//! The one diagnostic type: a stable code, a place in an input, a message and what cures it.

use serde::Serialize;

/// A place in a named input, as byte offsets into its text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The input's name: a file path, `standard input`, or a shipped file's name.
    pub input: String,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// A name as written, with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// The name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
}

/// How grave it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The work cannot go on.
    Error,
    /// It can, but the user should know.
    Warning,
}

/// One message about one place in one input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Diag {
    /// Stable, such as `unknown-name`.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong, in one sentence.
    pub message: String,
    /// Where; `None` when no input is to blame (a folder that cannot be written).
    pub place: Option<Place>,
    /// How to cure it.
    pub help: Option<String>,
}

impl Diag {
    /// An error without a place yet.
    #[must_use]
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            message: message.into(),
            place: None,
            help: None,
        }
    }
    /// A warning without a place yet.
    #[must_use]
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::error(code, message)
        }
    }
    /// At this place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }
    /// With this cure.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// What a reading step returns: the value, or every message it gathered.
pub type Outcome<T> = Result<T, Vec<Diag>>;

/// The line and column (both from 1, columns in characters) of a byte offset.
#[must_use]
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let offset = offset.min(text.len());
    let mut line_start = 0;
    let mut line = 1;
    for (i, b) in text.bytes().enumerate().take(offset) {
        if b == b'\n' {
            line += 1;
            line_start = i + 1;
        }
    }
    let column = text
        .get(line_start..offset)
        .map_or(1, |s| s.chars().count() + 1);
    (line, column)
}

/// The known name closest to `name`, when it is close enough to be a slip of the pen.
#[must_use]
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|k| (distance(name, k), k))
        .filter(|(d, k)| *d <= 1 + k.len().max(name.len()) / 4)
        .min()
        .map(|(_, k)| k)
}

fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_finds_slips_and_nothing_far() {
        assert_eq!(
            nearest("lenght", ["length", "width", "depth"]),
            Some("length")
        );
        assert_eq!(nearest("caliper", ["length", "width"]), None);
    }

    #[test]
    fn columns_count_characters() {
        assert_eq!(line_column("a\nbé c", 6), (2, 4));
    }
}
