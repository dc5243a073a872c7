//! What may be written after `ship`.

use std::path::PathBuf;

use boxwright::ship::Pattern;
use boxwright::ship::compression::Form;
use boxwright::ship::lift::Hours;
use boxwright::ship::stack::{Assurance, Bearing, Place};
use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::JobArgs;

/// `ship`
#[derive(Debug, Args)]
pub struct ShipArgs {
    /// The job and what overrides it.
    #[command(flatten)]
    pub job: JobArgs,
    /// Mass of what is sent in one case, whatever the job says
    #[arg(long, value_name = "MASS")]
    pub mass: Option<String>,
    /// Days under load
    #[arg(long, value_name = "N", default_value = "30")]
    pub days: String,
    /// Relative humidity of the air
    #[arg(long, value_name = "PERCENT", default_value = "50%")]
    pub humidity: String,
    /// How cases stand on one another
    #[arg(long, value_name = "WAY", default_value = "column-aligned")]
    pub pattern: Stacking,
    /// How many stand on one another, the bottom one counted
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub high: Option<u32>,
    /// What stands on the uppermost case of each column
    #[arg(long, value_name = "MASS")]
    pub above: Option<String>,
    /// The deck of the pallet leaves gaps under the cases
    #[arg(long)]
    pub deck_gap: bool,
    /// They are handled often or roughly
    #[arg(long)]
    pub handling: bool,
    /// Rule for the strength that a stack asks for
    #[arg(long, value_name = "RULE", default_value = "losses")]
    pub rule: RuleWord,
    /// Where a stack by ASTM D4169 stands
    #[arg(long, value_name = "PLACE", default_value = "warehouse")]
    pub place: PlaceWord,
    /// What bears in a stack by ASTM D4169
    #[arg(long, value_name = "PART", default_value = "case")]
    pub bearing: BearingWord,
    /// Assurance level of ASTM D4169: 1 the most, 3 the least
    #[arg(long, value_name = "LEVEL", default_value = "2")]
    pub assurance: Level,
    /// Form of the strength formula; the simple one with what the others say as its range if absent
    #[arg(long, value_name = "FORM")]
    pub formula: Option<FormWord>,
    /// Flexural stiffness measured on the board, in N mm, along and across the machine
    #[arg(long, value_name = "ALONG,ACROSS")]
    pub stiffness: Option<String>,
    /// Share of its edge crush that a wall with lying flutes counts with
    #[arg(long, value_name = "PERCENT")]
    pub lying_share: Option<String>,
    /// Table of losses: a name, or a file of your own ending in .kdl; FILE.kdl:NAME for one of several
    #[arg(long, value_name = "NAME")]
    pub losses: Option<String>,
    /// Table of grades, given in the same way
    #[arg(long, value_name = "NAME")]
    pub grades: Option<String>,
    /// Table of parcel classes, given in the same way
    #[arg(long, value_name = "NAME")]
    pub parcels: Option<String>,
    /// Volume that counts as a unit of mass, in place of the table's: 5000 in cm3/kg, or with its
    /// unit, such as 139in3/lb
    #[arg(long, value_name = "DIVISOR")]
    pub divisor: Option<String>,
    /// File of pallets, containers and trailers of your own
    #[arg(long, value_name = "FILE")]
    pub loads: Vec<PathBuf>,
    /// Pallet by name
    #[arg(long, value_name = "NAME")]
    pub pallet: Option<String>,
    /// Greatest height of a loaded pallet, the pallet counted in
    #[arg(long, value_name = "LENGTH", default_value = "1800mm")]
    pub pallet_height: String,
    /// Greatest mass of a loaded pallet, the pallet counted in
    #[arg(long, value_name = "MASS")]
    pub pallet_mass: Option<String>,
    /// How far cases may reach past the pallet on each side; below zero, how far they stay inside
    #[arg(
        long,
        value_name = "LENGTH",
        default_value = "0mm",
        allow_hyphen_values = true
    )]
    pub overhang: String,
    /// Fill this container or trailer only; may be given several times
    #[arg(long, value_name = "NAME")]
    pub room: Vec<String>,
    /// Height of what the case stands on before it is lifted
    #[arg(long, value_name = "LENGTH", default_value = "0mm")]
    pub lift_from: String,
    /// Height of what it is set on
    #[arg(long, value_name = "LENGTH", default_value = "750mm")]
    pub lift_to: String,
    /// Lifts a minute
    #[arg(long, value_name = "N", default_value = "0.2")]
    pub lifts: String,
    /// Hours a day of lifting
    #[arg(long, value_name = "HOURS", default_value = "1")]
    pub hours: HoursWord,
    /// How far the case is turned aside while it is lifted
    #[arg(long, value_name = "ANGLE", default_value = "0deg")]
    pub aside: String,
    /// How high handholds are over the bottom of the case; hands go under it if absent
    #[arg(long, value_name = "LENGTH")]
    pub handholds: Option<String>,
    /// Folder to write the shipping sheet to
    #[arg(
        long,
        value_name = "DIR",
        help = "Folder to write the shipping sheet to [default: out/<title of the job>]"
    )]
    pub out: Option<PathBuf>,
    /// Write no shipping sheet
    #[arg(long, conflicts_with = "out")]
    pub no_sheet: bool,
}

macro_rules! words {
    ($(#[$meta:meta])* $name:ident, $inner:ty, [$($value:expr => $word:literal, $help:literal;)*]) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $name(pub $inner);

        impl ValueEnum for $name {
            fn value_variants<'a>() -> &'a [Self] {
                const { &[$(Self($value)),*] }
            }
            fn to_possible_value(&self) -> Option<PossibleValue> {
                $(if self.0 == $value {
                    return Some(PossibleValue::new($word).help($help));
                })*
                None
            }
        }
    };
}

words!(/// A way of stacking.
Stacking, Pattern, [
    Pattern::ColumnAligned => "column-aligned", "Corners on corners";
    Pattern::ColumnOffset => "column-offset", "In columns that are not straight";
    Pattern::Interlocked => "interlocked", "Each layer bridges the joints of the one below";
]);
words!(/// A form of the strength formula.
FormWord, Form, [
    Form::Full => "full", "With the board's flexural stiffness";
    Form::Power => "power", "With the caliper to the power 0.508";
    Form::Simple => "simple", "With the square root of caliper times perimeter";
]);
words!(/// Where a stack stands.
PlaceWord, Place, [
    Place::Warehouse => "warehouse", "In a warehouse, schedule B";
    Place::Vehicle => "vehicle", "In a vehicle, schedule C";
]);
words!(/// What bears.
BearingWord, Bearing, [
    Bearing::Case => "case", "The case alone";
    Bearing::Parts => "parts", "The case with interior parts that bear";
    Bearing::Contents => "contents", "The contents bear";
]);
words!(/// How sure.
Level, Assurance, [
    Assurance::I => "1", "The most";
    Assurance::II => "2", "In between";
    Assurance::III => "3", "The least";
]);
words!(/// How long a day is lifted.
HoursWord, Hours, [
    Hours::One => "1", "Up to one hour";
    Hours::Two => "2", "Up to two";
    Hours::Eight => "8", "Up to eight";
]);

/// A rule by its word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RuleWord {
    /// Load over what is kept by the table of losses
    Losses,
    /// GB 6543-86, annex G
    Gb,
    /// The same for sea freight
    GbSea,
    /// 49 CFR 178.606: a stack of 3 m
    Cfr,
    /// ASTM D4169, with --place, --bearing and --assurance
    D4169,
}
