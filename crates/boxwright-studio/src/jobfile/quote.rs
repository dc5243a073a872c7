//! Values as KDL text.

use std::fmt::Write as _;

/// A text in quotes.
pub fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if must_be_escaped(c) => {
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Line ends, and what KDL lets nobody write as it is.
fn must_be_escaped(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{2028}' | '\u{2029}' | '\u{200e}' | '\u{200f}' | '\u{feff}'
        )
        || ('\u{202a}'..='\u{202e}').contains(&c)
        || ('\u{2066}'..='\u{2069}').contains(&c)
}

/// A text written the way the value it takes the place of was: bare words stay bare where they
/// can, all else is quoted.
pub(super) fn like(old: &str, text: &str) -> String {
    let was_bare = !old.starts_with(['"', '#']);
    let word = text.chars().next().is_some_and(|c| c.is_ascii_alphabetic())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
        && !matches!(text, "true" | "false" | "null" | "inf" | "nan");
    if was_bare && word {
        text.to_owned()
    } else {
        quoted(text)
    }
}
