//! Parcels: volumetric mass, girth, and the cheapest class of a tariff that takes a packed case.

mod read;

use serde::Serialize;

use super::outside::Outside;
use crate::units::{Length, Mass, SLACK_MM, Volume};

pub use read::{divisor, read_parcels};

/// Volume that counts as one unit of mass: in mm3 for each kg.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Divisor(f64);

impl Divisor {
    /// From cubic centimetres for each kilogram.
    #[must_use]
    pub const fn cm3_per_kg(value: f64) -> Self {
        Self(value * 1e3)
    }
    /// As cubic centimetres for each kilogram.
    #[must_use]
    pub const fn to_cm3_per_kg(self) -> f64 {
        self.0 / 1e3
    }
    /// From cubic inches for each pound.
    #[must_use]
    pub const fn in3_per_lb(value: f64) -> Self {
        Self(value * 16_387.064 / 0.453_592_37)
    }
    /// As cubic inches for each pound.
    #[must_use]
    pub const fn to_in3_per_lb(self) -> f64 {
        self.0 * 0.453_592_37 / 16_387.064
    }
    /// The mass that a volume counts as.
    #[must_use]
    pub fn mass(self, volume: Volume) -> Mass {
        Mass::kg(volume.to_mm3() / self.0)
    }
}

/// How a figure is brought to whole steps.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Rounding {
    /// It stays.
    #[default]
    None,
    /// To the nearest step; a half goes up.
    Nearest,
    /// To the next step up.
    Up,
}

impl Rounding {
    /// `value` in whole steps. What is over a step by rounding of numbers alone stays on it.
    #[must_use]
    pub fn steps(self, value: f64, step: f64) -> f64 {
        let n = value / step;
        match self {
            Self::None => value,
            Self::Nearest => (n + 0.5 + 1e-9).floor() * step,
            Self::Up => (n - 1e-9).ceil() * step,
        }
    }
}

/// What a class may limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Limit {
    /// Mass that is charged.
    Charged,
    /// Mass on the scales.
    Mass,
    /// Longest side.
    Longest,
    /// Second side.
    Second,
    /// Shortest side.
    Third,
    /// Longest side and the way round the other two.
    LengthPlusGirth,
    /// Volume.
    Volume,
}

/// A class of a tariff.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Class {
    /// What it is called.
    pub name: String,
    /// Price of one parcel.
    pub price: f64,
    /// Price of each kg charged, on top.
    pub each_kg: f64,
    /// Greatest mass charged.
    pub charged: Option<Mass>,
    /// Greatest mass on the scales.
    pub mass: Option<Mass>,
    /// Greatest sides, longest first.
    pub sides: [Option<Length>; 3],
    /// Greatest length plus girth.
    pub girth: Option<Length>,
    /// Greatest volume.
    pub volume: Option<Volume>,
    /// Where it comes from.
    pub from: String,
}

/// A tariff.
#[derive(Clone, Debug, PartialEq)]
pub struct Tariff {
    /// Its name.
    pub name: String,
    /// What it is.
    pub title: String,
    /// Volume that counts as a unit of mass; `None` where only the scales count.
    pub divisor: Option<Divisor>,
    /// How sides are rounded before anything else.
    pub sides: (Rounding, Length),
    /// How masses are rounded before they are charged.
    pub masses: (Rounding, Mass),
    /// Its classes.
    pub classes: Vec<Class>,
    /// Where divisor and rounding come from.
    pub from: Vec<String>,
}

/// One limit that a parcel is over.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Over {
    /// Which.
    pub limit: Limit,
    /// What the parcel has: kg, mm or mm3.
    pub has: f64,
    /// What the class allows.
    pub most: f64,
}

/// A class held against a parcel.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Offer {
    /// The class.
    pub class: String,
    /// What it would cost.
    pub price: f64,
    /// What keeps the parcel out; empty when it is taken.
    pub over: Vec<Over>,
    /// Where the class comes from.
    pub from: String,
}

/// A packed case as a parcel.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Parcel {
    /// The tariff's name.
    pub tariff: String,
    /// What it is.
    pub title: String,
    /// Sides as the tariff rounds them, longest first.
    pub sides: [Length; 3],
    /// Volume of those.
    pub volume: Volume,
    /// Mass on the scales.
    pub mass: Mass,
    /// Volumetric mass before it is rounded.
    pub volumetric: Option<Mass>,
    /// What is charged: the greater of both, rounded.
    pub charged: Mass,
    /// Whether volume decides what is charged.
    pub bulky: bool,
    /// Longest side and girth.
    pub length_plus_girth: Length,
    /// Every class, cheapest first.
    pub offers: Vec<Offer>,
    /// Index of the cheapest that takes it.
    pub chosen: Option<usize>,
    /// Index of the dearest of the classes that are cheaper, with what keeps the parcel out of it: the
    /// next one to reach. Where none takes the parcel, the one with the fewest limits broken.
    pub next: Option<usize>,
}

impl Tariff {
    /// Longest first, rounded as the tariff says.
    #[must_use]
    pub fn rounded(&self, size: [Length; 3]) -> [Length; 3] {
        let (way, step) = self.sides;
        let mut sides = size.map(|s| Length::mm(way.steps(s.to_mm(), step.to_mm())));
        sides.sort_by(|a, b| b.to_mm().total_cmp(&a.to_mm()));
        sides
    }
    /// What is charged for a mass on the scales and a volumetric one.
    #[must_use]
    pub fn charged(&self, mass: Mass, volumetric: Option<Mass>) -> Mass {
        let (way, step) = self.masses;
        let most = mass.max(volumetric.unwrap_or(Mass::ZERO));
        Mass::kg(way.steps(most.to_kg(), step.to_kg()))
    }
    /// Holds a size and a mass against every class.
    #[must_use]
    pub fn parcel(&self, size: [Length; 3], mass: Mass) -> Parcel {
        let sides = self.rounded(size);
        let volume = Volume::block(sides);
        let volumetric = self.divisor.map(|d| d.mass(volume));
        let charged = self.charged(mass, volumetric);
        let girth = length_plus_girth(sides);
        let mut offers: Vec<Offer> = self
            .classes
            .iter()
            .map(|c| Offer {
                class: c.name.clone(),
                price: c.price + c.each_kg * charged.to_kg(),
                over: c.over(sides, volume, girth, mass, charged),
                from: c.from.clone(),
            })
            .collect();
        offers.sort_by(|a, b| a.price.total_cmp(&b.price));
        let chosen = offers.iter().position(|o| o.over.is_empty());
        let next = match chosen {
            Some(i) => offers[..i].iter().rposition(|o| o.price < offers[i].price),
            None => (0..offers.len()).min_by_key(|i| offers[*i].over.len()),
        };
        Parcel {
            tariff: self.name.clone(),
            title: self.title.clone(),
            sides,
            volume,
            mass,
            volumetric,
            charged,
            bulky: volumetric.is_some_and(|v| v > mass),
            length_plus_girth: girth,
            offers,
            chosen,
            next,
        }
    }
    /// The same for a packed case.
    #[must_use]
    pub fn of(&self, outside: &Outside) -> Parcel {
        self.parcel(outside.size, outside.gross())
    }
}

/// Longest side and twice the sum of the other two.
#[must_use]
pub fn length_plus_girth(sides: [Length; 3]) -> Length {
    let mut s = sides.map(Length::to_mm);
    s.sort_by(f64::total_cmp);
    Length::mm(s[2] + 2.0 * (s[0] + s[1]))
}

impl Class {
    fn over(
        &self,
        sides: [Length; 3],
        volume: Volume,
        girth: Length,
        mass: Mass,
        charged: Mass,
    ) -> Vec<Over> {
        let [a, b, c] = self.sides.map(|s| s.map(Length::to_mm));
        let [longest, second, third] = sides.map(Length::to_mm);
        let kg = |m: Option<Mass>| m.map(Mass::to_kg);
        [
            (Limit::Charged, charged.to_kg(), kg(self.charged), 1e-9),
            (Limit::Mass, mass.to_kg(), kg(self.mass), 1e-9),
            (Limit::Longest, longest, a, SLACK_MM),
            (Limit::Second, second, b, SLACK_MM),
            (Limit::Third, third, c, SLACK_MM),
            (
                Limit::LengthPlusGirth,
                girth.to_mm(),
                self.girth.map(Length::to_mm),
                SLACK_MM,
            ),
            (
                Limit::Volume,
                volume.to_mm3(),
                self.volume.map(Volume::to_mm3),
                1.0,
            ),
        ]
        .into_iter()
        .filter_map(|(limit, has, most, slack)| {
            let most = most?;
            (has > most + slack).then_some(Over { limit, has, most })
        })
        .collect()
    }
}
