//! How wide a line of text is in the shipped letters.

const REGULAR: &[u8] = include_bytes!("../../fonts/NotoSans-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../fonts/NotoSans-Bold.ttf");

/// The shipped letters, regular and bold.
pub(super) struct Letters([Option<ttf_parser::Face<'static>>; 2]);

impl Letters {
    pub fn shipped() -> Self {
        Self([REGULAR, BOLD].map(|data| ttf_parser::Face::parse(data, 0).ok()))
    }

    /// Width in mm of a line set with an em of `size` mm, without kerning.
    pub fn width(&self, text: &str, size: f64, bold: bool) -> f64 {
        let face = self.0[usize::from(bold)].as_ref();
        let per_em = face.map_or(1000, ttf_parser::Face::units_per_em);
        let units: u32 = text
            .chars()
            .map(|c| {
                let advance = face.and_then(|f| f.glyph_hor_advance(f.glyph_index(c)?));
                u32::from(advance.unwrap_or(600))
            })
            .sum();
        size * f64::from(units) / f64::from(per_em)
    }

    /// The text in lines no wider than `room` mm, broken between words; a word wider than the room
    /// is broken where it must be.
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
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_its_room_and_no_letter_is_lost() {
        let l = Letters::shipped();
        let text =
            "Turn the lid down while tucking a wordfartoolongforanyline under the front wall";
        for room in [12.0, 30.0, 80.0] {
            let lines = l.wrapped(text, 3.4, false, room);
            assert!(lines.iter().all(|s| l.width(s, 3.4, false) <= room));
            let kept: String = lines.concat().replace(' ', "");
            assert_eq!(kept, text.replace(' ', ""));
        }
    }
}
