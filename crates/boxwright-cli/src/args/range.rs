//! What `range` takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Units;

/// `range`
#[derive(Debug, Args)]
pub struct RangeArgs {
    /// The order history, a CSV file with the columns length, width, height and perhaps count and
    /// mass; `-` for standard input
    pub orders: PathBuf,
    /// How many case sizes, those that are kept among them
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=60))]
    pub sizes: u8,
    /// Show the cost of every number of sizes up to this one [default: 3 more than --sizes]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=60))]
    pub up_to: Option<u8>,
    /// What there should be least of
    #[arg(long, value_name = "WHAT", default_value = "void")]
    pub least: Least,
    /// The style whose blanks are counted, for the least board: a name, or a style file ending in .kdl
    #[arg(long, value_name = "NAME", default_value = "slotted-case")]
    pub style: String,
    /// The board the cases are made of, for the least board and freight
    #[arg(long, value_name = "NAME", default_value = "B")]
    pub board: String,
    /// Room added on each side of a thing
    #[arg(
        long,
        value_name = "LENGTH",
        default_value = "0mm",
        allow_hyphen_values = true
    )]
    pub clearance: String,
    /// Inside sizes are whole multiples of this
    #[arg(long, value_name = "LENGTH", default_value = "1mm")]
    pub grid: String,
    /// A size that is in the range whatever comes, by its inside
    #[arg(long, value_name = "LxWxD", value_parser = three)]
    pub keep: Vec<Sizes>,
    /// No other case is smaller inside
    #[arg(long, value_name = "LxWxD", value_parser = three)]
    pub smallest: Option<Sizes>,
    /// No other case is larger inside
    #[arg(long, value_name = "LxWxD", value_parser = three)]
    pub largest: Option<Sizes>,
    /// Things stay upright: the height is the case's depth
    #[arg(long)]
    pub upright: bool,
    /// Outside volume charged as one kilogram, in cm3, for the least freight
    #[arg(long, value_name = "N", default_value_t = 5000.0, value_parser = divisor)]
    pub divisor: f64,
    /// Mass is charged in whole steps of this, for the least freight
    #[arg(long, value_name = "MASS", default_value = "0.5kg")]
    pub step: String,
    /// Leave out rows that cannot be read, and tell how many
    #[arg(long)]
    pub skip_bad: bool,
    /// Millions of steps to search: the same range every time for the same number
    #[arg(long, value_name = "N", default_value_t = 5000, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub work: u64,
    /// Folder to write to: the range as JSON and CSV, and a plot of cost against sizes as PDF and PNG
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
    /// Print the range as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// What there should be least of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Least {
    /// Room that the things do not fill
    Void,
    /// Board that the blanks are cut from
    Board,
    /// Mass that is charged: true or by volume
    Freight,
}

/// What `--keep`, `--smallest` and `--largest` say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sizes {
    /// All of it.
    pub text: String,
    /// Each size with its unit, and where it stands in the text.
    pub sizes: [(String, usize, usize); 3],
}

fn three(text: &str) -> Result<Sizes, String> {
    let wrong = || "write it as LxWxD, such as 300x200x150mm".to_owned();
    let mut sizes = Vec::new();
    let mut at = 0;
    for part in text.split('x') {
        sizes.push((part.trim().to_owned(), at, at + part.len()));
        at += part.len() + 1;
    }
    let mut sizes: [_; 3] = sizes.try_into().map_err(|_| wrong())?;
    if sizes.iter().any(|s| s.0.is_empty()) {
        return Err(wrong());
    }
    // A unit after the last counts for all that have none.
    let unit = sizes[2].0.trim_start_matches(|c: char| !c.is_alphabetic());
    let unit = unit.to_owned();
    for s in &mut sizes {
        if !s.0.contains(char::is_alphabetic) {
            s.0.push_str(&unit);
        }
    }
    Ok(Sizes {
        text: text.to_owned(),
        sizes,
    })
}

fn divisor(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(v) if (1.0..=1e6).contains(&v) => Ok(v),
        _ => Err("a divisor lies between 1 and a million cm3 for a kilogram".to_owned()),
    }
}
