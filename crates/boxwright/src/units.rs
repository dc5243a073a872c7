//! Lengths, angles, masses and forces as types, and the only conversions between units.
//!
//! Inside the library every length is a [`Length`], held as `f64` millimetres; geometry uses
//! [`glam`] vectors whose components are millimetres. Nothing else converts units.
//!
//! Conversion factors are exact by definition where the standard makes them so: 1 in = 25.4 mm,
//! 1 lb = 0.45359237 kg, g = 9.80665 m/s2. Derived: 1 lbf = 4.4482216152605 N,
//! 1 lbf/in = 0.175126835 kN/m.

mod digits;
mod rates;

pub(crate) use digits::{push_fixed, push_whole};
pub use rates::Rate;

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// Two lengths closer than this (in mm) are the same length: the one slack value of the library.
/// It is far below what any cutter resolves and far above the rounding of a chain of sums.
pub const SLACK_MM: f64 = 1e-6;

macro_rules! quantity {
    ($(#[$meta:meta])* $name:ident, $ctor:ident, $getter:ident, $unit:literal) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, serde::Serialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);
            #[doc = concat!("From a number of ", $unit, ".")]
            #[must_use]
            pub const fn $ctor(value: f64) -> Self { Self(value) }
            #[doc = concat!("As a number of ", $unit, ".")]
            #[must_use]
            pub const fn $getter(self) -> f64 { self.0 }
            /// Without its sign.
            #[must_use]
            pub const fn abs(self) -> Self { Self(self.0.abs()) }
            /// The smaller of the two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// The larger of the two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
        }
        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl AddAssign for $name { fn add_assign(&mut self, o: Self) { self.0 += o.0; } }
        impl SubAssign for $name { fn sub_assign(&mut self, o: Self) { self.0 -= o.0; } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(iter: I) -> Self { iter.fold(Self::ZERO, Add::add) }
        }
    };
}

quantity!(/// A length.
    Length, mm, to_mm, "millimetres");
quantity!(/// A plane angle.
    Angle, rad, to_rad, "radians");
quantity!(/// An area.
    Area, mm2, to_mm2, "square millimetres");
quantity!(/// A volume.
    Volume, mm3, to_mm3, "cubic millimetres");
quantity!(/// A mass.
    Mass, kg, to_kg, "kilograms");
quantity!(/// A force.
    Force, n, to_n, "newtons");
quantity!(/// A pressure.
    Pressure, n_per_mm2, to_n_per_mm2, "newtons per square millimetre (MPa)");
quantity!(/// A force per length, such as an edge crush strength.
    ForcePerLength, n_per_mm, to_n_per_mm, "newtons per millimetre (kN/m)");
quantity!(/// A flexural stiffness: bending moment per width and curvature.
    FlexuralStiffness, n_mm, to_n_mm, "newton millimetres (0.001 N m)");
quantity!(/// Mass per area of board or paper.
    Grammage, g_per_m2, to_g_per_m2, "grams per square metre");

/// Standard fall, in m/s2: what turns a mass into the force it presses with. Exact by definition.
pub const STANDARD_FALL: f64 = 9.806_65;

impl Length {
    /// From inches.
    #[must_use]
    pub const fn inch(value: f64) -> Self {
        Self(value * 25.4)
    }
    /// As inches.
    #[must_use]
    pub const fn to_inch(self) -> f64 {
        self.0 / 25.4
    }
    /// Whether the two are the same within [`SLACK_MM`].
    #[must_use]
    pub fn same(self, other: Self) -> bool {
        (self.0 - other.0).abs() <= SLACK_MM
    }
}

impl Angle {
    /// From degrees.
    #[must_use]
    pub const fn deg(value: f64) -> Self {
        Self(value * std::f64::consts::PI / 180.0)
    }
    /// As degrees.
    #[must_use]
    pub const fn to_deg(self) -> f64 {
        self.0 * 180.0 / std::f64::consts::PI
    }
}

impl Area {
    /// As square metres.
    #[must_use]
    pub const fn to_m2(self) -> f64 {
        self.0 * 1e-6
    }
}

impl Volume {
    /// Of a block.
    #[must_use]
    pub fn block(sides: [Length; 3]) -> Self {
        Self(sides.map(Length::to_mm).iter().product())
    }
    /// As cubic metres.
    #[must_use]
    pub const fn to_m3(self) -> f64 {
        self.0 * 1e-9
    }
}

impl Mass {
    /// As grams.
    #[must_use]
    pub const fn to_g(self) -> f64 {
        self.0 * 1e3
    }
    /// From avoirdupois pounds.
    #[must_use]
    pub const fn lb(value: f64) -> Self {
        Self(value * LB)
    }
    /// As avoirdupois pounds.
    #[must_use]
    pub const fn to_lb(self) -> f64 {
        self.0 / LB
    }
    /// What it presses with on what it stands on.
    #[must_use]
    pub const fn weight(self) -> Force {
        Force::n(self.0 * STANDARD_FALL)
    }
}

impl Force {
    /// The mass that presses with this force.
    #[must_use]
    pub const fn to_mass(self) -> Mass {
        Mass::kg(self.0 / STANDARD_FALL)
    }
}

impl Mul<Area> for Grammage {
    type Output = Mass;
    fn mul(self, area: Area) -> Mass {
        Mass::kg(self.0 * 1e-3 * area.to_m2())
    }
}

/// The unit lengths are shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

impl LengthUnit {
    /// The unit's symbol.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Inch => "in",
        }
    }
    /// The bare number, to 0.01 mm or 0.001 in, without trailing zeros.
    #[must_use]
    pub fn number(self, length: Length) -> String {
        match self {
            Self::Mm => trimmed(length.to_mm(), 2),
            Self::Inch => trimmed(length.to_inch(), 3),
        }
    }
    /// The number and its unit, such as `312 mm`.
    #[must_use]
    pub fn show(self, length: Length) -> String {
        format!("{} {}", self.number(length), self.symbol())
    }
}

/// A number with at most `decimals` decimals, without trailing zeros and never `-0`.
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    let mut text = Vec::new();
    push_fixed(&mut text, value, decimals);
    if text.contains(&b'.') {
        while text.pop_if(|digit| *digit == b'0').is_some() {}
        text.pop_if(|digit| *digit == b'.');
    }
    String::from_utf8(text).unwrap_or_default()
}

/// What a number measures: exponents of millimetre, radian, kilogram and newton.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Dim {
    /// Exponent of length.
    pub length: i8,
    /// Exponent of angle.
    pub angle: i8,
    /// Exponent of mass.
    pub mass: i8,
    /// Exponent of force.
    pub force: i8,
}

impl Dim {
    /// A plain number.
    pub const NUMBER: Self = Self {
        length: 0,
        angle: 0,
        mass: 0,
        force: 0,
    };
    /// A length.
    pub const LENGTH: Self = Self {
        length: 1,
        ..Self::NUMBER
    };
    /// An area.
    pub const AREA: Self = Self {
        length: 2,
        ..Self::NUMBER
    };
    /// An angle.
    pub const ANGLE: Self = Self {
        angle: 1,
        ..Self::NUMBER
    };
    /// A mass.
    pub const MASS: Self = Self {
        mass: 1,
        ..Self::NUMBER
    };
    /// A force.
    pub const FORCE: Self = Self {
        force: 1,
        ..Self::NUMBER
    };
    /// A force per length.
    pub const FORCE_PER_LENGTH: Self = Self {
        force: 1,
        length: -1,
        ..Self::NUMBER
    };
    /// A pressure.
    pub const PRESSURE: Self = Self {
        force: 1,
        length: -2,
        ..Self::NUMBER
    };
    /// A mass per area.
    pub const GRAMMAGE: Self = Self {
        mass: 1,
        length: -2,
        ..Self::NUMBER
    };

    /// The exponents of a product, or `None` past what any formula here needs.
    #[must_use]
    pub fn times(self, o: Self) -> Option<Self> {
        Some(Self {
            length: self.length.checked_add(o.length)?,
            angle: self.angle.checked_add(o.angle)?,
            mass: self.mass.checked_add(o.mass)?,
            force: self.force.checked_add(o.force)?,
        })
    }
    /// The exponents of a quotient.
    #[must_use]
    pub fn over(self, o: Self) -> Option<Self> {
        Some(Self {
            length: self.length.checked_sub(o.length)?,
            angle: self.angle.checked_sub(o.angle)?,
            mass: self.mass.checked_sub(o.mass)?,
            force: self.force.checked_sub(o.force)?,
        })
    }
    /// In words, for messages.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::NUMBER => "a plain number".into(),
            Self::LENGTH => "a length".into(),
            Self::AREA => "an area".into(),
            Self::ANGLE => "an angle".into(),
            Self::MASS => "a mass".into(),
            Self::FORCE => "a force".into(),
            Self::FORCE_PER_LENGTH => "a force per length".into(),
            Self::PRESSURE => "a pressure".into(),
            Self::GRAMMAGE => "a mass per area".into(),
            d => {
                let mut parts = Vec::new();
                for (n, unit) in [
                    (d.length, "mm"),
                    (d.angle, "rad"),
                    (d.mass, "kg"),
                    (d.force, "N"),
                ] {
                    match n {
                        0 => {}
                        1 => parts.push(unit.to_owned()),
                        n => parts.push(format!("{unit}^{n}")),
                    }
                }
                format!("a quantity in {}", parts.join(" "))
            }
        }
    }
}

/// A number with its dimension, in base units (mm, rad, kg, N).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The number, in base units.
    pub value: f64,
    /// What it measures.
    pub dim: Dim,
}

impl Quantity {
    /// A plain number.
    #[must_use]
    pub const fn number(value: f64) -> Self {
        Self {
            value,
            dim: Dim::NUMBER,
        }
    }
    /// A length.
    #[must_use]
    pub const fn length(l: Length) -> Self {
        Self {
            value: l.to_mm(),
            dim: Dim::LENGTH,
        }
    }
    /// An angle.
    #[must_use]
    pub const fn angle(a: Angle) -> Self {
        Self {
            value: a.to_rad(),
            dim: Dim::ANGLE,
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let v = self.value;
        match self.dim {
            Dim::NUMBER => write!(f, "{}", trimmed(v, 4)),
            Dim::LENGTH => write!(f, "{} mm", trimmed(v, 3)),
            Dim::AREA => write!(f, "{} mm2", trimmed(v, 1)),
            Dim::ANGLE => write!(f, "{} deg", trimmed(v.to_degrees(), 3)),
            Dim::MASS => write!(f, "{} kg", trimmed(v, 4)),
            Dim::FORCE => write!(f, "{} N", trimmed(v, 3)),
            Dim::FORCE_PER_LENGTH => write!(f, "{} kN/m", trimmed(v, 4)),
            Dim::PRESSURE => write!(f, "{} kPa", trimmed(v * 1e3, 3)),
            Dim::GRAMMAGE => write!(f, "{} g/m2", trimmed(v * 1e9, 2)),
            d => write!(f, "{v} ({})", d.words()),
        }
    }
}

/// A unit that may follow a number: its symbol, its size in base units, what it measures.
pub struct Unit {
    /// As written.
    pub symbol: &'static str,
    /// How many base units it is.
    pub factor: f64,
    /// What it measures.
    pub dim: Dim,
}

const LBF: f64 = 4.448_221_615_260_5;
const LB: f64 = 0.453_592_37;

/// Every unit the program reads, longest symbols first so that `kN/m` is not read as `kN`.
pub const UNITS: &[Unit] = &[
    Unit {
        symbol: "lbf/in",
        factor: LBF / 25.4,
        dim: Dim::FORCE_PER_LENGTH,
    },
    Unit {
        symbol: "N/mm",
        factor: 1.0,
        dim: Dim::FORCE_PER_LENGTH,
    },
    Unit {
        symbol: "kN/m",
        factor: 1.0,
        dim: Dim::FORCE_PER_LENGTH,
    },
    Unit {
        symbol: "g/m2",
        factor: 1e-9,
        dim: Dim::GRAMMAGE,
    },
    Unit {
        symbol: "kPa",
        factor: 1e-3,
        dim: Dim::PRESSURE,
    },
    Unit {
        symbol: "psi",
        factor: LBF / (25.4 * 25.4),
        dim: Dim::PRESSURE,
    },
    Unit {
        symbol: "lbf",
        factor: LBF,
        dim: Dim::FORCE,
    },
    Unit {
        symbol: "deg",
        factor: std::f64::consts::PI / 180.0,
        dim: Dim::ANGLE,
    },
    Unit {
        symbol: "rad",
        factor: 1.0,
        dim: Dim::ANGLE,
    },
    Unit {
        symbol: "mm",
        factor: 1.0,
        dim: Dim::LENGTH,
    },
    Unit {
        symbol: "cm",
        factor: 10.0,
        dim: Dim::LENGTH,
    },
    Unit {
        symbol: "in",
        factor: 25.4,
        dim: Dim::LENGTH,
    },
    Unit {
        symbol: "ft",
        factor: 304.8,
        dim: Dim::LENGTH,
    },
    Unit {
        symbol: "kg",
        factor: 1.0,
        dim: Dim::MASS,
    },
    Unit {
        symbol: "lb",
        factor: LB,
        dim: Dim::MASS,
    },
    Unit {
        symbol: "kN",
        factor: 1e3,
        dim: Dim::FORCE,
    },
    Unit {
        symbol: "m",
        factor: 1e3,
        dim: Dim::LENGTH,
    },
    Unit {
        symbol: "g",
        factor: 1e-3,
        dim: Dim::MASS,
    },
    Unit {
        symbol: "N",
        factor: 1.0,
        dim: Dim::FORCE,
    },
    Unit {
        symbol: "%",
        factor: 0.01,
        dim: Dim::NUMBER,
    },
];

/// The unit with exactly this symbol.
#[must_use]
pub fn unit(symbol: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|u| u.symbol == symbol)
}
