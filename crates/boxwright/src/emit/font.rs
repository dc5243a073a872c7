//! The shipped letters: how wide a text is, and what the page renderers load. System fonts are
//! never asked, so that a page looks the same on every machine.

use std::sync::Arc;

use usvg::fontdb::Database;

/// Height of a capital over the em in the shipped letters (714 of 1000 units).
pub const CAP: f64 = 0.714;

const REGULAR: &[u8] = include_bytes!("../../fonts/NotoSans-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../fonts/NotoSans-Bold.ttf");

/// How SVG text is read for PDF and PNG: the shipped letters and nothing else.
pub(super) fn options() -> usvg::Options<'static> {
    let mut db = Database::new();
    db.load_font_data(REGULAR.to_vec());
    db.load_font_data(BOLD.to_vec());
    usvg::Options {
        font_family: "Noto Sans".into(),
        fontdb: Arc::new(db),
        ..usvg::Options::default()
    }
}

/// Measures lines of text.
pub struct Letters {
    regular: Option<ttf_parser::Face<'static>>,
    bold: Option<ttf_parser::Face<'static>>,
}

impl Letters {
    /// The shipped letters.
    #[must_use]
    pub fn shipped() -> Self {
        Self {
            regular: ttf_parser::Face::parse(REGULAR, 0).ok(),
            bold: ttf_parser::Face::parse(BOLD, 0).ok(),
        }
    }

    /// The text in lines no wider than `room` mm, broken between words; a word wider than the room
    /// is broken where it must be.
    #[must_use]
    pub fn wrapped(&self, text: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let joined = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if self.width(&joined, size, bold) <= room {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if self.width(&line, size, bold) > room && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// Width in mm of a line set with an em of `size` mm. Kerning, which only narrows it, is left
    /// out.
    #[must_use]
    pub fn width(&self, text: &str, size: f64, bold: bool) -> f64 {
        let face = if bold { &self.bold } else { &self.regular };
        let Some(face) = face else {
            return 0.6 * size * f64::from(u32::try_from(text.chars().count()).unwrap_or(u32::MAX));
        };
        let units: u32 = text
            .chars()
            .map(|c| {
                let glyph = face.glyph_index(c).unwrap_or(ttf_parser::GlyphId(0));
                u32::from(face.glyph_hor_advance(glyph).unwrap_or(600))
            })
            .sum();
        size * f64::from(units) / f64::from(face.units_per_em())
    }

    /// The text and the em in mm at which it fits `room` mm: set smaller down to 70 %, then cut
    /// short with an ellipsis.
    #[must_use]
    pub fn fitted(&self, text: &str, size: f64, bold: bool, room: f64) -> (String, f64) {
        let wide = self.width(text, size, bold);
        if wide <= room {
            return (text.to_owned(), size);
        }
        let small = size * (room / wide).max(0.7);
        let mut kept = text.to_owned();
        while self.width(&kept, small, bold) > room {
            let stem: Vec<char> = text
                .chars()
                .take(kept.chars().count().saturating_sub(2))
                .collect();
            if stem.is_empty() {
                return (String::new(), small);
            }
            kept = stem.into_iter().collect::<String>() + "\u{2026}";
        }
        (kept, small)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Advance widths read from the font's hmtx table with another reader: digits 572 of 1000.
    #[test]
    fn digits_are_0_572_em_wide() {
        let l = Letters::shipped();
        assert!((l.width("304", 10.0, false) - 17.16).abs() < 1e-9);
    }

    #[test]
    fn a_long_text_is_shrunk_then_cut() {
        let l = Letters::shipped();
        let (t, s) = l.fitted("a wall with a very long name indeed", 3.5, false, 20.0);
        assert!(t.ends_with('\u{2026}') && (s - 2.45).abs() < 1e-9);
        assert!(l.width(&t, s, false) <= 20.0);
        assert_eq!(l.fitted("wall", 3.5, false, 20.0).0, "wall");
    }
}
