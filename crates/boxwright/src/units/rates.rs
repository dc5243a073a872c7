//! Figures with time in them, as machine files state them: a plain number and one unit. Expressions
//! do not know these.

/// What a figure with time in it measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rate {
    /// Speed; base unit mm/s.
    Speed,
    /// Acceleration; base unit mm/s2.
    Acceleration,
    /// Time; base unit s.
    Time,
    /// Power; base unit W.
    Power,
    /// Money for an hour of work; base unit one of the workshop's currency an hour.
    Hourly,
}

/// Every unit of each, with its size in base units. Exact by definition.
const UNITS: &[(&str, f64, Rate)] = &[
    ("mm/s", 1.0, Rate::Speed),
    ("mm/min", 1.0 / 60.0, Rate::Speed),
    ("m/min", 1000.0 / 60.0, Rate::Speed),
    ("in/min", 25.4 / 60.0, Rate::Speed),
    ("mm/s2", 1.0, Rate::Acceleration),
    ("m/s2", 1000.0, Rate::Acceleration),
    ("ms", 0.001, Rate::Time),
    ("s", 1.0, Rate::Time),
    ("min", 60.0, Rate::Time),
    ("W", 1.0, Rate::Power),
    ("kW", 1000.0, Rate::Power),
    ("/h", 1.0, Rate::Hourly),
];

impl Rate {
    /// The number in base units, or `None` when the text is not a plain number and a unit of this
    /// kind.
    #[must_use]
    pub fn read(self, text: &str) -> Option<f64> {
        let text = text.trim();
        let at = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
            .unwrap_or(text.len());
        let (number, unit) = text.split_at(at);
        let (_, factor, _) = UNITS
            .iter()
            .find(|(u, _, rate)| *u == unit.trim() && *rate == self)?;
        let value = number.parse::<f64>().ok()? * factor;
        value.is_finite().then_some(value)
    }
    /// What to write, for messages.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Speed => "a speed, such as \"75mm/s\"; also mm/min, m/min, in/min",
            Self::Acceleration => "an acceleration, such as \"1500mm/s2\"; also m/s2",
            Self::Time => "a time, such as \"0.4s\"; also ms, min",
            Self::Power => "a power, such as \"40W\"; also kW",
            Self::Hourly => "a price of an hour, such as \"12/h\"",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_needed_and_of_the_right_kind() {
        let near = |a: Option<f64>, b: f64| a.is_some_and(|a| (a - b).abs() < 1e-12);
        assert!(near(Rate::Speed.read("4500mm/min"), 75.0));
        assert!(near(Rate::Speed.read("4.5 m/min"), 75.0));
        assert!(near(Rate::Acceleration.read("1.5m/s2"), 1500.0));
        assert!(near(Rate::Time.read("400ms"), 0.4));
        assert!(near(Rate::Hourly.read("12/h"), 12.0));
        for wrong in [
            "75",
            "75W",
            "mm/s",
            "1e3mm/s",
            "--5mm/s",
            "",
            "75 mm / s",
            "NaNmm/s",
        ] {
            assert_eq!(Rate::Speed.read(wrong), None, "{wrong}");
        }
    }
}
