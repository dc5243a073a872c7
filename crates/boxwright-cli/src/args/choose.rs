//! What may be written after `choose`.

use std::path::PathBuf;

use boxwright::propose::Prefer;
use boxwright::style::{CLOSINGS, FAMILIES, OPENINGS, USES};
use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, ValueEnum};

use super::{Units, Way, sizes};

/// `choose`
#[derive(Debug, Args)]
pub struct ChooseArgs {
    /// A things file, or a job file, or `-` for standard input. Of things, inside sizes are worked out as
    /// `size` does; of a job, its inside size, contents, sheet and bed are what is needed
    #[arg(required_unless_present = "inside", conflicts_with = "inside")]
    pub source: Option<PathBuf>,
    /// Only this thing of the file; given more than once, these together
    #[arg(long, value_name = "NAME", conflicts_with = "inside")]
    pub thing: Vec<String>,
    /// Try so many inside sizes for things
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=50))]
    pub sizes: u16,
    /// The clear inside size that is needed
    #[arg(long, value_name = "LENGTHxWIDTHxDEPTH", value_parser = three)]
    pub inside: Option<Three>,
    /// Mass of what goes into one case, such as 4.1kg, whatever the file says
    #[arg(long, value_name = "MASS")]
    pub mass: Option<String>,
    /// What the case is called
    #[arg(long, value_name = "TITLE")]
    pub title: Option<String>,
    /// How many cases [default: 1, or what the job says]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub quantity: Option<u32>,
    /// What is cared about most
    #[arg(long, value_name = "WHAT", default_value = "board")]
    pub by: By,
    /// So many cases stand on one another, the lowest counted: weaker ones are left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    pub high: Option<u32>,
    /// For so many days
    #[arg(long, value_name = "N", default_value_t = 30.0, value_parser = days)]
    pub days: f64,
    /// In air of this humidity
    #[arg(long, value_name = "SHARE", default_value = "50%")]
    pub humidity: String,
    /// Pallet that the packed cases stand on, by its name in the table of loads; the first of it with --by
    /// pallet
    #[arg(long, value_name = "NAME")]
    pub pallet: Option<String>,
    /// Greatest height of pallet and cases
    #[arg(long, value_name = "LENGTH", default_value = "1.6m")]
    pub pallet_height: String,
    /// The board must reach the edge crush of the carrier's class that mass and size ask for
    #[arg(long)]
    pub graded: bool,
    /// Styles of this family
    #[arg(long, value_name = "WORD", value_parser = PossibleValuesParser::new(FAMILIES))]
    pub family: Option<String>,
    /// Styles held closed this way; given more than once, in any of them
    #[arg(long, value_name = "WORD", value_parser = PossibleValuesParser::new(CLOSINGS))]
    pub closing: Vec<String>,
    /// Styles closed without this
    #[arg(long, value_name = "WORD", value_parser = PossibleValuesParser::new(CLOSINGS))]
    pub without: Vec<String>,
    /// Styles opened by cutting, or again and again
    #[arg(long, value_name = "WORD", value_parser = PossibleValuesParser::new(OPENINGS))]
    pub opening: Option<String>,
    /// Styles used for this; given more than once, for all of them
    #[arg(long = "for", value_name = "WORD", value_parser = PossibleValuesParser::new(USES))]
    pub uses: Vec<String>,
    /// Styles known for this come first; what is flat, long, tall or heavy is seen without
    #[arg(long, value_name = "WORD", value_parser = PossibleValuesParser::new(USES))]
    pub wish: Vec<String>,
    /// Styles that stay open or are held by friction alone are welcome too
    #[arg(long)]
    pub open: bool,
    /// Only this style, by name or by a file ending in .kdl; may be given several times
    #[arg(long, value_name = "NAME")]
    pub style: Vec<String>,
    /// Only this board; may be given several times
    #[arg(long, value_name = "NAME")]
    pub board: Vec<String>,
    /// Board file of your own
    #[arg(long, value_name = "FILE")]
    pub boards: Vec<PathBuf>,
    /// A stock file, or the folder of a store: only boards and sheets that are there
    #[arg(long, value_name = "PATH", conflicts_with = "sheet")]
    pub stock: Option<PathBuf>,
    /// The sheet at hand, whatever the board: length along the flutes, width across them
    #[arg(long, value_name = "LENGTHxWIDTH", value_parser = sizes)]
    pub sheet: Option<(String, String)>,
    /// Machine by name, or a machine file ending in .kdl: its bed, and the creases it makes
    #[arg(long, value_name = "NAME")]
    pub machine: Option<String>,
    /// The cutter's bed
    #[arg(long, value_name = "LENGTHxWIDTH", value_parser = sizes, conflicts_with = "machine")]
    pub bed: Option<(String, String)>,
    /// Make creases this way
    #[arg(long, value_name = "WAY", conflicts_with = "machine")]
    pub crease: Option<Way>,
    /// Show so many proposals
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub top: u16,
    /// Write the job of a proposal to this file, never over one that is there; `-` prints it and
    /// nothing else
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// The proposal that --job writes
    #[arg(long, value_name = "N", default_value_t = 1, requires = "job", value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub take: u16,
    /// List every candidate that was left out, with what kept it out
    #[arg(long)]
    pub all: bool,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
    /// Print the proposals as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// Three sizes, as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Three {
    /// All of it.
    pub text: String,
    /// Length, width, depth.
    pub parts: [String; 3],
}

/// A preference, by the library's word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct By(pub Prefer);

impl ValueEnum for By {
    fn value_variants<'a>() -> &'a [Self] {
        const ALL: [By; Prefer::ALL.len()] = {
            let mut all = [By(Prefer::ALL[0]); Prefer::ALL.len()];
            let mut i = 0;
            while i < all.len() {
                all[i] = By(Prefer::ALL[i]);
                i += 1;
            }
            all
        };
        &ALL
    }
    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.0.word()))
    }
}

fn three(text: &str) -> Result<Three, String> {
    let parts: Vec<String> = text.split('x').map(|p| p.trim().to_owned()).collect();
    match <[String; 3]>::try_from(parts) {
        Ok(parts) if parts.iter().all(|p| !p.is_empty()) => Ok(Three {
            text: text.to_owned(),
            parts,
        }),
        _ => Err("write it as LENGTHxWIDTHxDEPTH, such as 342mmx178mmx266mm".to_owned()),
    }
}

fn days(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(v) if (0.0..=10_000.0).contains(&v) => Ok(v),
        _ => Err("a number of days lies between 0 and 10000".to_owned()),
    }
}
