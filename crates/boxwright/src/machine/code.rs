//! Lines of machine code that a machine file may bring along for its tools: what is let through.
//!
//! A tool's lines may lift, lower, switch and wait, and nothing else: a line that moved the head
//! sideways, stopped the program or changed units would make what follows untrue.

/// A line has at most so many characters; controllers of this kind read lines of 70 to 80 (memory).
pub const LONGEST: usize = 60;

/// What is wrong with a line, or the line with its letters made large and one space between words.
///
/// # Errors
/// What is wrong, in words.
pub fn line(text: &str) -> Result<String, String> {
    if let Some(c) = text.chars().find(|c| !c.is_ascii() || c.is_ascii_control()) {
        return Err(format!("{c:?} is no letter of machine code"));
    }
    if text.len() > LONGEST {
        return Err(format!("a line has at most {LONGEST} characters"));
    }
    let mut words = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        words.push(self::word(word)?);
    }
    if words.is_empty() {
        return Err("an empty line does nothing".into());
    }
    Ok(words.join(" "))
}

fn word(text: &str) -> Result<String, String> {
    let wrong = || format!("`{text}` is not a letter and a number, such as M3 or Z-4.5");
    let mut chars = text.chars();
    let letter = chars
        .next()
        .filter(char::is_ascii_alphabetic)
        .ok_or_else(wrong)?;
    let letter = letter.to_ascii_uppercase();
    let digits = chars.as_str();
    let plain = digits.strip_prefix('-').unwrap_or(digits);
    let fits = plain.chars().all(|c| c.is_ascii_digit() || c == '.')
        && plain.chars().any(|c| c.is_ascii_digit())
        && plain.matches('.').count() <= 1;
    if !fits {
        return Err(wrong());
    }
    let number: f64 = digits.parse().map_err(|_| wrong())?;
    let allowed = match letter {
        'G' => [0.0, 1.0, 4.0].contains(&number),
        'M' => number >= 3.0 && ![30.0, 60.0, 98.0, 99.0].contains(&number),
        'T' | 'S' | 'P' | 'F' => number >= 0.0,
        'Z' => true,
        _ => false,
    };
    if !allowed {
        return Err(format!(
            "`{text}` does not belong here: a tool's lines may lift or lower (Z), switch (M3 to M97), \
             take a tool (T), wait (G4 P) and set S or F"
        ));
    }
    Ok(format!("{letter}{digits}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tool_line_lifts_switches_and_waits_and_nothing_else() {
        for good in ["M3 S1000", "g0 z5", "G1 Z-3.5 F600", "T2 M6", "G4 P0.2"] {
            assert_eq!(line(good).unwrap(), good.to_uppercase(), "{good}");
        }
        for bad in [
            "",
            "  ",
            "G1 X5",
            "M2",
            "M30",
            "M0",
            "G20",
            "G91",
            "M3(S)",
            "M3;x",
            "M3\nG0 X9",
            "M3\tS1",
            "S-5",
            "M",
            "G0.5",
            "Z1.2.3",
            "Zé",
            "Z1e3",
            "%",
            "$H",
            "I5",
            "G2 Z1",
            "Z-",
        ] {
            assert!(line(bad).is_err(), "{bad:?}");
        }
        assert!(line(&"Z1 ".repeat(40)).is_err());
    }
}
