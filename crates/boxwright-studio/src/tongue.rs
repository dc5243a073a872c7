//! Sentences of the library told in inches.
//!
//! The library writes lengths into its sentences in mm. A page that shows inches says the same
//! sentence with each of them in inches.

use boxwright::units::{Length, LengthUnit};

/// The sentence with its lengths in inches; `None` when it names none.
#[must_use]
pub fn inches(text: &str) -> Option<String> {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut found = false;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let (before, from) = rest.split_at(at);
        let end = from
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(from.len());
        let (digits, after) = from.split_at(end);
        let digits = digits.trim_end_matches('.');
        let after = if after.len() + digits.len() < from.len() {
            &from[digits.len()..]
        } else {
            after
        };
        out.push_str(before);
        // A figure inside a name, such as `side-1`, is none.
        let apart = !before.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_'));
        let minus = before
            .strip_suffix('-')
            .is_some_and(|b| b.is_empty() || b.ends_with(|c: char| c.is_whitespace() || c == '('));
        let length = digits.parse::<f64>().ok().filter(|_| apart || minus);
        match (length, unit_of(after)) {
            (Some(mm), Some(left)) => {
                out.push_str(&LengthUnit::Inch.show(Length::mm(mm)));
                rest = left;
                found = true;
            }
            _ => {
                out.push_str(digits);
                rest = after;
            }
        }
    }
    out.push_str(rest);
    found.then_some(out)
}

/// What follows the unit, where the text begins with millimetres.
fn unit_of(text: &str) -> Option<&str> {
    let left = text
        .strip_prefix(" mm")
        .or_else(|| text.strip_prefix("mm"))?;
    let ends = !left.starts_with(|c: char| c.is_alphanumeric());
    ends.then_some(left)
}

#[cfg(test)]
mod tests {
    use super::inches;

    #[test]
    fn lengths_in_a_sentence_turn_and_nothing_else() {
        let told = |text: &str| inches(text);
        assert_eq!(
            told("`side-1 top` must be pressed 2.54 mm into `front`"),
            Some("`side-1 top` must be pressed 0.1 in into `front`".to_owned())
        );
        assert_eq!(
            told("write the unit: 25.4mm"),
            Some("write the unit: 1 in".to_owned())
        );
        assert_eq!(
            told("it must be at most 254 mm."),
            Some("it must be at most 10 in.".to_owned())
        );
        assert_eq!(told("it ends at 3."), None);
        assert_eq!(told("`side-1` and 12 mm2 of 3 panels"), None);
        assert_eq!(told("gap is -25.4 mm"), Some("gap is -1 in".to_owned()));
        assert_eq!(told(""), None);
    }
}
