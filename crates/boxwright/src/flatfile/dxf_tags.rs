//! The text of a DXF file as pairs of group code and value, and what is wrong with them.

use crate::diag::{Diag, Outcome, Place};
use crate::source::Text;

/// A value with its group code and where it stands.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tag<'t> {
    pub code: i32,
    pub value: &'t str,
    /// Byte offset of the value.
    pub at: usize,
}

impl Tag<'_> {
    pub fn place(&self, input: &str) -> Place {
        Place {
            input: input.to_owned(),
            start: self.at,
            end: self.at + self.value.len().max(1),
        }
    }
    /// The value as a number.
    pub fn number(&self, input: &str) -> Result<f64, Diag> {
        let wrong = |what: String, code| {
            Err(Diag::error(code, what)
                .at(self.place(input))
                .help("the file is damaged here: write it again from the program it comes from"))
        };
        match self.value.parse::<f64>() {
            Ok(v) if v.is_finite() => Ok(v),
            Ok(_) => wrong(
                format!("`{}` is no finite number", short(self.value)),
                "not-a-number",
            ),
            Err(_) => wrong(
                format!(
                    "a number belongs here (group code {}), not `{}`",
                    self.code,
                    short(self.value)
                ),
                "not-a-number",
            ),
        }
    }
}

fn short(value: &str) -> String {
    value.chars().take(40).collect()
}

/// Splits a text into tags.
pub(super) fn tags(text: &Text) -> Outcome<Vec<Tag<'_>>> {
    let whole = text.text.trim_start_matches('\u{feff}');
    let skipped = text.text.len() - whole.len();
    let place = |start: usize, len: usize| Place {
        input: text.name.clone(),
        start,
        end: start + len.max(1),
    };
    // The format's own mark of its binary form: it ends so, in the first line.
    let first = whole.lines().next().unwrap_or_default();
    if first.len() < 40 && first.trim_end().ends_with("Binary DXF") {
        return Err(vec![
            Diag::error("binary-dxf", format!("`{}` is a binary DXF", text.name))
                .help("save it as an ASCII DXF of edition R12, 2000 or 2007"),
        ]);
    }
    let mut out = Vec::new();
    let mut at = skipped;
    let mut code: Option<i32> = None;
    for line in whole.split('\n') {
        let value = line.trim();
        let start = at + line.find(value).unwrap_or(0);
        at += line.len() + 1;
        match code.take() {
            Some(code) => out.push(Tag {
                code,
                value,
                at: start,
            }),
            None => match value.parse::<i32>() {
                Ok(c) => code = Some(c),
                // The last line feed.
                Err(_) if value.is_empty() && at > text.text.len() => {}
                Err(_) if out.len() < 2 => {
                    return Err(vec![
                        Diag::error(
                            "not-a-drawing",
                            format!("`{}` is neither DXF nor SVG", text.name),
                        )
                        .at(place(start, value.len()))
                        .help("a DXF file begins with a group code, an SVG file with `<`"),
                    ]);
                }
                Err(_) => {
                    return Err(vec![
                        Diag::error(
                            "bad-group-code",
                            format!("a group code belongs here, not `{}`", short(value)),
                        )
                        .at(place(start, value.len()))
                        .help("the file is damaged here: write it again from the program it comes from"),
                    ]);
                }
            },
        }
    }
    let ends = out.iter().rev().find(|t| t.code != 999);
    let whole = ends.is_some_and(|t| t.code == 0 && t.value == "EOF") && code.is_none();
    if !whole {
        let end = text.text.trim_end().len();
        return Err(vec![
            Diag::error(
                "cut-short",
                format!("`{}` breaks off: lines may be missing", text.name),
            )
            .at(place(end.saturating_sub(1), 1))
            .help("a DXF file ends with EOF: copy it again"),
        ]);
    }
    Ok(out)
}
