//! What may be written on the command line.

mod choose;
mod range;
mod ship;

use std::path::PathBuf;

use boxwright::blank::{Creasing, LineUse};
use boxwright::contents::By;
use boxwright::emit::bundle::Kind;
use boxwright::emit::dxf::{DxfVersion, LayerTable, LineType};
use boxwright::emit::tiles::Paper;
use boxwright::emit::use_word;
use boxwright::flatfile::{DepthAlong, FileUnit};
use boxwright::propose::Prefer;
use boxwright::sheet::stock::good_price;
use boxwright::style::{CLOSINGS, FAMILIES, OPENINGS, USES};
use boxwright::units::LengthUnit;
use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

pub use choose::{ChooseArgs, Three};
pub use range::{Least, RangeArgs, Sizes};
pub use ship::{RuleWord, ShipArgs};

/// Makes corrugated cases to measure: from an asked size to files that a cutter and a person read.
///
/// A job file says what is asked: the clear inside size, the style, the board. `boxwright new`
/// writes one; `boxwright make` draws the blank, folds it as thick board, checks it and writes the
/// files; `boxwright check` does the same without writing.
#[derive(Debug, Parser)]
#[command(
    name = "boxwright",
    version,
    max_term_width = 100,
    after_help = "Exit status: 0 fine, 1 a check failed, 2 could not run."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Write a job file for a style, with a note on everything that can be set
    New(NewArgs),
    /// Draw, fold and check a job, and write all its files
    Make(MakeArgs),
    /// Draw, fold and check a job without writing anything
    Check(JobArgs),
    /// List styles, boards and machines, or show one in full
    List(ListArgs),
    /// Propose styles and boards for an inside size or a job, ranked, with what speaks for and against
    Choose(Box<ChooseArgs>),
    /// Fold a flat DXF or SVG drawn by anyone, and measure it
    Fold(FoldArgs),
    /// Check a job over a grid of two sizes or parameters
    Sweep(SweepArgs),
    /// Propose inside sizes for things to be sent: cushion, arrangement, smallest room
    Size(SizeArgs),
    /// Choose the few case sizes that serve an order history best
    Range(RangeArgs),
    /// Lay the blanks of jobs on sheets, and write what to cut
    Lay(LayArgs),
    /// Write machine files for a layout: kerf, nicks, creases, order, time and cost
    Cut(CutArgs),
    /// Tell what a packed case stands, weighs and costs on its way, and write its shipping sheet
    Ship(Box<ShipArgs>),
    /// Design cases on a page in the browser, served by this program to this machine only
    Studio(StudioArgs),
    /// Keep the sheets and off-cuts at hand, and take from them what a layout uses
    Stock(StockArgs),
    /// Write strips to cut, fold and measure: the first article of a board, a machine, a crease
    Coupon(CouponArgs),
    /// Fit what was read on the strips, and keep the figures for all cases from now on
    Learn(LearnArgs),
    /// How many of many cases will hold the room, as board, creases and cuts differ
    Spread(SpreadArgs),
    /// Try out a style of your own, or picture those that are shipped
    Style(StyleArgs),
    /// Print a completion script for a shell
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Print the manual page
    Man,
}

/// `new`
#[derive(Debug, Args)]
pub struct NewArgs {
    /// Name of a style, or a style file ending in .kdl
    pub style: String,
    /// File to write, never over one that is there; `-` for standard output
    #[arg(
        long,
        value_name = "FILE",
        help = "File to write, `-` for standard output [default: <style>-job.kdl]"
    )]
    pub out: Option<PathBuf>,
}

/// `style`
#[derive(Debug, Args)]
pub struct StyleArgs {
    /// What to do with it
    #[command(subcommand)]
    pub verb: StyleVerb,
}

/// The verbs of `style`.
#[derive(Debug, Subcommand)]
pub enum StyleVerb {
    /// Read it, then draw, fold and check it at random sizes, boards and crease depths
    Check {
        /// A style file ending in .kdl, or the name of a shipped style
        file: String,
        /// How many cases
        #[arg(long, value_name = "N", default_value_t = 2000)]
        cases: u64,
        /// Where the random numbers begin
        #[arg(long, value_name = "N", default_value_t = 20_250_601)]
        seed: u64,
        /// How many of the wrong cases to list
        #[arg(long, value_name = "N", default_value_t = 8)]
        shown: usize,
    },
    /// Write pictures of every shipped style, flat and folded, with a page that tells of them
    Gallery {
        /// Folder to write to
        #[arg(long, value_name = "DIR", default_value = "gallery")]
        out: PathBuf,
        /// Board they are shown in
        #[arg(long, value_name = "NAME", default_value = "B")]
        board: String,
    },
}

/// What `make` and `check` share.
#[derive(Debug, Args)]
pub struct JobArgs {
    /// The job file, or `-` for standard input
    pub job: PathBuf,
    /// Set length, width, depth or a parameter of the style, whatever the job says
    #[arg(long, value_name = "NAME=VALUE", value_parser = setting)]
    pub set: Vec<(String, String)>,
    /// Cut it from this board
    #[arg(long, value_name = "NAME")]
    pub board: Option<String>,
    /// Make creases this way
    #[arg(long, value_name = "WAY")]
    pub crease: Option<Way>,
    /// Thickness measured on the board at hand
    #[arg(long, value_name = "LENGTH")]
    pub caliper: Option<String>,
    /// Fold axis depth, as a share of the caliper: one number, or along,across the flutes
    #[arg(long, value_name = "SHARE")]
    pub axis_depth: Option<String>,
    /// Where measured figures are.
    #[command(flatten)]
    pub measured: MeasuredArgs,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
    /// List every check, those that passed too
    #[arg(long)]
    pub all: bool,
    /// Print the report as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// Where figures measured in the workshop come from.
#[derive(Clone, Debug, Default, Args)]
pub struct MeasuredArgs {
    /// Use the figures measured in the workshop of this folder
    #[arg(
        long,
        value_name = "DIR",
        help = "Use the figures measured in the workshop of this folder [default: the current one, where a store is kept]"
    )]
    pub measured: Option<PathBuf>,
    /// Use no measured figures: only what board, machine and job say
    #[arg(long, conflicts_with = "measured")]
    pub no_measured: bool,
}

/// `coupon`
#[derive(Debug, Args)]
pub struct CouponArgs {
    /// Strips of this board
    #[arg(long, value_name = "NAME", required = true)]
    pub board: String,
    /// They are cut on this machine: its name, or a machine file ending in .kdl
    #[arg(long, value_name = "NAME")]
    pub machine: Option<String>,
    /// Creases are made this way
    #[arg(long, value_name = "WAY", default_value = "rule")]
    pub crease: Way,
    /// Board file of your own, as in the jobs
    #[arg(long, value_name = "FILE")]
    pub boards: Vec<PathBuf>,
    /// How many strips for each direction of the flutes
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u32).range(2..=50))]
    pub strips: u32,
    /// Folder to write to
    #[arg(
        long,
        value_name = "DIR",
        help = "Folder to write to [default: out/coupon-<board>-<way>]"
    )]
    pub out: Option<PathBuf>,
}

/// `learn`
#[derive(Debug, Args)]
pub struct LearnArgs {
    /// The measurements file, filled in
    #[arg(required_unless_present_any = ["list", "forget"])]
    pub file: Option<PathBuf>,
    /// The workshop's folder, in which the figures are kept
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub store: PathBuf,
    /// Fit and tell, and keep nothing
    #[arg(long, conflicts_with_all = ["list", "forget"])]
    pub dry_run: bool,
    /// List what is kept
    #[arg(long, conflicts_with_all = ["file", "forget"])]
    pub list: bool,
    /// Forget the figures of this number; those before them count again
    #[arg(long, value_name = "N", conflicts_with = "file")]
    pub forget: Option<i64>,
    /// Board file of your own, as in the jobs
    #[arg(long, value_name = "FILE")]
    pub boards: Vec<PathBuf>,
    /// Print what there is to say as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// `spread`
#[derive(Debug, Args)]
pub struct SpreadArgs {
    /// The job and what overrides it.
    #[command(flatten)]
    pub job: JobArgs,
    /// How many cases
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u64).range(100..=boxwright::learn::MOST_CASES))]
    pub cases: u64,
    /// Where the random numbers begin
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Standard deviation of the thickness of the board
    #[arg(long, value_name = "LENGTH")]
    pub caliper_sd: Option<String>,
    /// Standard deviation of the fold axis depth, a share of the caliper: one number, or
    /// along,across the flutes
    #[arg(long, value_name = "SHARE")]
    pub depth_sd: Option<String>,
    /// Standard deviation of where a crease lies
    #[arg(long, value_name = "LENGTH")]
    pub crease_sd: Option<String>,
    /// Standard deviation of where a cut edge lies
    #[arg(long, value_name = "LENGTH")]
    pub cut_sd: Option<String>,
    /// Room that may be lacking before a case counts as too small
    #[arg(long, value_name = "LENGTH", default_value = "0mm")]
    pub short: String,
}

/// `make`
#[derive(Debug, Args)]
pub struct MakeArgs {
    /// The job and what overrides it.
    #[command(flatten)]
    pub job: JobArgs,
    /// Folder to write to
    #[arg(
        long,
        value_name = "DIR",
        help = "Folder to write to [default: out/<title of the job>]"
    )]
    pub out: Option<PathBuf>,
    /// Write only these kinds of file
    #[arg(long, value_name = "KIND", value_delimiter = ',')]
    pub only: Vec<FileKind>,
    /// Stage that the preview and the solid show, 0 for flat; the finished case if absent
    #[arg(long, value_name = "N")]
    pub stage: Option<usize>,
    /// Edition of the DXF files
    #[arg(long, value_name = "EDITION", default_value = "r2010")]
    pub dxf_version: Edition,
    /// Paper of the tiled pages
    #[arg(long, value_name = "PAPER", default_value = "a4")]
    pub paper: Sheet,
    /// Scale of the drawing, such as 1:5; chosen to fit if absent
    #[arg(long, value_name = "1:N", value_parser = scale)]
    pub scale: Option<f64>,
    /// Layer for a use of lines in DXF: cut, crease-inward, crease-outward, perforation, engrave
    /// or board. Colour is an index from 1 to 255; line types are continuous, dashed, dash-dot and
    /// dotted. Parts left empty keep their default; `USE=off` leaves the lines out
    #[arg(long, value_name = "USE=NAME:COLOUR:LINETYPE", value_parser = layer)]
    pub layer: Vec<Layer>,
}

/// `fold`
#[derive(Debug, Args)]
pub struct FoldArgs {
    /// The DXF or SVG file, its inside face up
    pub file: PathBuf,
    /// Fold it as this board
    #[arg(long, value_name = "NAME", required = true)]
    pub board: String,
    /// Creases are made this way
    #[arg(long, value_name = "WAY", default_value = "rule")]
    pub crease: Way,
    /// Thickness measured on the board at hand
    #[arg(long, value_name = "LENGTH")]
    pub caliper: Option<String>,
    /// Fold axis depth, as a share of the caliper: one number, or along,across the flutes
    #[arg(long, value_name = "SHARE")]
    pub axis_depth: Option<String>,
    /// How the flutes run on the drawing
    #[arg(long, value_name = "WAY")]
    pub flutes: Option<Flutes>,
    /// Lines on this layer, of this class or colour are cut
    #[arg(long, value_name = "LAYER")]
    pub cut: Vec<String>,
    /// They are creases that fold toward the inside face
    #[arg(long, value_name = "LAYER")]
    pub crease_in: Vec<String>,
    /// They are creases that fold away from it
    #[arg(long, value_name = "LAYER")]
    pub crease_out: Vec<String>,
    /// They are neither
    #[arg(long, value_name = "LAYER")]
    pub ignore: Vec<String>,
    /// Unit of the file's numbers, whatever it says itself
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<DrawnIn>,
    /// Line ends this close, in mm, are one
    #[arg(long, value_name = "MM", default_value_t = 0.05, value_parser = tolerance)]
    pub tolerance: f64,
    /// The panel at this point stays where it is; the largest if absent
    #[arg(long, value_name = "X,Y", value_parser = spot, allow_hyphen_values = true)]
    pub root: Option<Spot>,
    /// Fold the crease nearest to the point by so many degrees, negative ones away from the inside
    #[arg(long, value_name = "X,Y=DEG", value_parser = angle, allow_hyphen_values = true)]
    pub angle: Vec<(Spot, f64)>,
    /// Leave the crease nearest to the point flat
    #[arg(long, value_name = "X,Y", value_parser = spot, allow_hyphen_values = true)]
    pub flat: Vec<Spot>,
    /// The panel at this point is a lap: it may stand in the room
    #[arg(long, value_name = "X,Y", value_parser = spot, allow_hyphen_values = true)]
    pub lap: Vec<Spot>,
    /// Which way the depth runs, seen from the root
    #[arg(long, value_name = "WAY")]
    pub depth: Option<DepthWay>,
    /// Write a picture of the folded case, never over a file that is there
    #[arg(long, value_name = "FILE")]
    pub png: Option<PathBuf>,
    /// Write the folded case as a solid, never over a file that is there
    #[arg(long, value_name = "FILE")]
    pub glb: Option<PathBuf>,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
    /// List every check, those that passed too
    #[arg(long)]
    pub all: bool,
    /// Print the report as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// `cut`
#[derive(Debug, Args)]
pub struct CutArgs {
    /// The layout file
    pub layout: PathBuf,
    /// Machine by name, or a machine file ending in .kdl
    #[arg(long, value_name = "NAME")]
    pub machine: String,
    /// Folder to write to
    #[arg(
        long,
        value_name = "DIR",
        help = "Folder to write to [default: out/<title of the layout>]"
    )]
    pub out: Option<PathBuf>,
    /// Board file of your own, as in the jobs
    #[arg(long, value_name = "FILE")]
    pub boards: Vec<PathBuf>,
    /// Where the measured kerf is.
    #[command(flatten)]
    pub measured: MeasuredArgs,
    /// Look for a short way for so many seconds a sheet; a fixed number of tries if absent
    #[arg(long, value_name = "N", value_parser = seconds)]
    pub seconds: Option<f64>,
    /// Leave no nicks
    #[arg(long)]
    pub no_nicks: bool,
    /// Begin contours with a short cut from the waste
    #[arg(long)]
    pub lead_in: bool,
    /// Cut edges that two parts share once; they lie exactly a kerf apart
    #[arg(long)]
    pub common: bool,
    /// Keep the beam off board that is still warm, at the cost of a longer way
    #[arg(long)]
    pub cool: bool,
    /// Cut a sheet that is longer than the bed in passes, placed by register holes
    #[arg(long)]
    pub passes: bool,
    /// Print the report as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// A point in mm.
pub type Spot = [f64; 2];

/// How flutes run on a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Flutes {
    /// Left to right
    LeftRight,
    /// Up and down
    UpDown,
}

/// Unit of a flat file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DrawnIn {
    /// Millimetres
    Mm,
    /// Centimetres
    Cm,
    /// Metres
    M,
    /// Inches
    In,
    /// Feet
    Ft,
}

impl From<DrawnIn> for FileUnit {
    fn from(u: DrawnIn) -> Self {
        match u {
            DrawnIn::Mm => Self::Mm,
            DrawnIn::Cm => Self::Cm,
            DrawnIn::M => Self::M,
            DrawnIn::In => Self::In,
            DrawnIn::Ft => Self::Ft,
        }
    }
}

/// Where depth runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DepthWay {
    /// Along the root's left-right
    Across,
    /// Along its near-far
    Along,
    /// Away from it
    In,
}

impl From<DepthWay> for DepthAlong {
    fn from(w: DepthWay) -> Self {
        match w {
            DepthWay::Across => Self::Across,
            DepthWay::Along => Self::Along,
            DepthWay::In => Self::In,
        }
    }
}

/// `list`
#[derive(Debug, Args)]
pub struct ListArgs {
    /// Which of them; all if absent
    pub what: Option<Listed>,
    /// Show this one in full
    #[arg(long, value_name = "NAME")]
    pub show: Option<String>,
    /// With --show: print the file itself, to copy and change
    #[arg(long, requires = "show")]
    pub file: bool,
    /// Styles of this family
    #[arg(long, value_name = "WORD", conflicts_with = "show", value_parser = PossibleValuesParser::new(FAMILIES))]
    pub family: Option<String>,
    /// Styles held closed this way; given more than once, in any of them
    #[arg(long, value_name = "WORD", conflicts_with = "show", value_parser = PossibleValuesParser::new(CLOSINGS))]
    pub closing: Vec<String>,
    /// Styles closed without this
    #[arg(long, value_name = "WORD", conflicts_with = "show", value_parser = PossibleValuesParser::new(CLOSINGS))]
    pub without: Vec<String>,
    /// Styles opened by cutting, or again and again
    #[arg(long, value_name = "WORD", conflicts_with = "show", value_parser = PossibleValuesParser::new(OPENINGS))]
    pub opening: Option<String>,
    /// Styles usual for this mass, such as 2kg
    #[arg(long, value_name = "MASS", conflicts_with = "show")]
    pub load: Option<String>,
    /// Styles used for this; given more than once, for all of them
    #[arg(long = "for", value_name = "WORD", conflicts_with = "show", value_parser = PossibleValuesParser::new(USES))]
    pub uses: Vec<String>,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
}

/// `sweep`
#[derive(Debug, Args)]
pub struct SweepArgs {
    /// The job and what overrides it.
    #[command(flatten)]
    pub job: JobArgs,
    /// Vary length, width, depth or a parameter of the style between two values; given twice, the
    /// first runs across the map and the second up
    #[arg(long, value_name = "NAME=FROM..TO", value_parser = vary, required = true)]
    pub vary: Vec<Vary>,
    /// Values of each, the first and the last among them: one number, or across,up
    #[arg(long, value_name = "N", default_value = "25", value_parser = steps)]
    pub steps: Steps,
    /// Folder to write the map to, as SVG and PNG, and the cells as JSON
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// `size`
#[derive(Debug, Args)]
pub struct SizeArgs {
    /// The things file, or `-` for standard input
    pub things: PathBuf,
    /// Only this thing; given more than once, these together
    #[arg(long, value_name = "NAME")]
    pub thing: Vec<String>,
    /// A case for each thing, not one for all together
    #[arg(long)]
    pub each: bool,
    /// Height of fall, whatever the file says
    #[arg(long, value_name = "LENGTH", conflicts_with = "drop_table")]
    pub drop: Option<String>,
    /// Height of fall from this table, by mass
    #[arg(long, value_name = "NAME")]
    pub drop_table: Option<String>,
    /// Cushion factor of the padding, off its cushion curve
    #[arg(long, value_name = "N")]
    pub cushion_factor: Option<String>,
    /// Plain clearance on each side
    #[arg(long, value_name = "LENGTH")]
    pub room: Option<String>,
    /// What is to be small
    #[arg(long, value_name = "WHAT", default_value = "volume")]
    pub by: Smallest,
    /// Sizes to propose at most
    #[arg(long, value_name = "N", default_value_t = 6, value_parser = clap::value_parser!(u16).range(1..=400))]
    pub most: u16,
    /// Write a job file for the first proposal, never over one that is there; with --each a folder
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// Style of that job; a usual one for the shape if absent
    #[arg(long, value_name = "NAME", requires = "job")]
    pub style: Option<String>,
    /// Board of that job; a usual one for the mass if absent
    #[arg(long, value_name = "NAME", requires = "job")]
    pub board: Option<String>,
    /// Write a picture of the first proposal, as its name ends: png, pdf or svg; with --each a folder
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
    /// Print the proposals as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// What a case is to have little of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Smallest {
    /// Volume inside
    Volume,
    /// Board of a slotted blank
    Board,
    /// Depth
    Flat,
    /// Longest side
    Cube,
    /// Price as a parcel, packed
    Parcel,
    /// Room on a pallet, packed: most cases on one first
    Pallet,
    /// Weakness in a stack, packed: the strongest first
    Stack,
}

impl Smallest {
    /// What packed cases are ranked by; `None` where the inside alone decides.
    pub const fn prefer(self) -> Option<Prefer> {
        match self {
            Self::Parcel => Some(Prefer::Parcel),
            Self::Pallet => Some(Prefer::Pallet),
            Self::Stack => Some(Prefer::Stack),
            _ => None,
        }
    }
}

impl From<Smallest> for By {
    fn from(s: Smallest) -> Self {
        match s {
            // The packed cases of many sizes are looked at, the smallest first.
            Smallest::Volume | Smallest::Parcel | Smallest::Pallet | Smallest::Stack => {
                Self::Volume
            }
            Smallest::Board => Self::Board,
            Smallest::Flat => Self::Flat,
            Smallest::Cube => Self::Cube,
        }
    }
}

/// `lay`
#[derive(Debug, Args)]
pub struct LayArgs {
    /// The job files; `-` for standard input
    #[arg(required = true)]
    pub jobs: Vec<PathBuf>,
    /// So many cases of a job, whatever it says itself: by its title or as its file is named here
    #[arg(long, value_name = "JOB=N", value_parser = quantity)]
    pub quantity: Vec<(String, u32)>,
    /// Sheets at hand: length along the flutes, width across them, how many there are (as many as
    /// are needed if absent), what one costs
    #[arg(long, value_name = "LENGTHxWIDTH[:COUNT[:PRICE]]", value_parser = sheet)]
    pub sheet: Vec<SheetArg>,
    /// The board of those sheets; every board that the jobs name if absent
    #[arg(long, value_name = "NAME", requires = "sheet")]
    pub board: Option<String>,
    /// A stock file, or the folder of a store: the sheets and off-cuts at hand
    #[arg(long, value_name = "PATH", conflicts_with = "sheet")]
    pub stock: Option<PathBuf>,
    /// Least room between two parts: what the tool takes away and what should stand between
    #[arg(long, value_name = "LENGTH", default_value = "3mm")]
    pub spacing: String,
    /// Least room between a part and the edge of its sheet
    #[arg(long, value_name = "LENGTH", default_value = "5mm")]
    pub margin: String,
    /// How far the machine reaches on a sheet: along and across its flutes
    #[arg(long, value_name = "LENGTHxWIDTH", value_parser = sizes)]
    pub bed: Option<(String, String)>,
    /// Where measured figures are; a store named with --stock has them too.
    #[command(flatten)]
    pub measured: MeasuredArgs,
    /// Search for so long
    #[arg(long, value_name = "N", default_value_t = 10.0, value_parser = seconds, conflicts_with = "rounds")]
    pub seconds: f64,
    /// Search so many rounds, whatever time they take: the same layout every time
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub rounds: Option<u64>,
    /// Search on so many threads, each with its own random numbers [default: one for each core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=256))]
    pub threads: Option<u64>,
    /// Where the random numbers begin
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// What the layout is called [default: the title of the first job]
    #[arg(long, value_name = "TITLE")]
    pub title: Option<String>,
    /// Folder to write to: the layout, a DXF and an SVG of each sheet, and a PDF to look at
    #[arg(
        long,
        value_name = "DIR",
        help = "Folder to write to: the layout, a DXF and an SVG of each sheet, and a PDF to look at [default: out/<title>]"
    )]
    pub out: Option<PathBuf>,
    /// Edition of the DXF files
    #[arg(long, value_name = "EDITION", default_value = "r2010")]
    pub dxf_version: Edition,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    pub units: Units,
    /// Print the layout as JSON, and messages as JSON to standard error
    #[arg(long)]
    pub json: bool,
}

/// What `--sheet` says.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetArg {
    /// All of it.
    pub text: String,
    /// Along the flutes, as written.
    pub length: String,
    /// Across them.
    pub width: String,
    /// How many there are.
    pub count: Option<u32>,
    /// What one costs.
    pub price: f64,
}

/// What `--vary` says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Vary {
    /// What is varied.
    pub name: String,
    /// First value, as written.
    pub from: String,
    /// Last value, as written.
    pub to: String,
}

/// What `--steps` says: across and up.
pub type Steps = (usize, usize);

/// `studio`
#[derive(Debug, Args)]
pub struct StudioArgs {
    /// Folder whose jobs are opened and saved
    #[arg(default_value = ".")]
    pub folder: PathBuf,
    /// Port to listen on; a free one is taken when it is in use
    #[arg(long, value_name = "N", default_value_t = 8017)]
    pub port: u16,
    /// Do not open the browser
    #[arg(long)]
    pub no_open: bool,
}

/// `stock`
#[derive(Debug, Args)]
pub struct StockArgs {
    /// What to do with it
    #[command(subcommand)]
    pub verb: StockVerb,
    /// The workshop's folder, in which the stock is kept
    #[arg(long, value_name = "DIR", default_value = ".", global = true)]
    pub folder: PathBuf,
    /// Unit that lengths are shown in
    #[arg(long, value_name = "UNIT", default_value = "mm", global = true)]
    pub units: Units,
    /// Print what there is to say as JSON, and messages as JSON to standard error
    #[arg(long, global = true)]
    pub json: bool,
}

/// The verbs of `stock`.
#[derive(Debug, Subcommand)]
pub enum StockVerb {
    /// List what is at hand
    List,
    /// Add sheets or an off-cut; those that are there already are added to
    Add(StockAddArgs),
    /// Take sheets or an off-cut out
    Take {
        /// What it is called
        name: String,
        /// How many
        #[arg(long, value_name = "N", default_value_t = 1)]
        count: u32,
        /// All of them, and no longer list it
        #[arg(long, conflicts_with = "count")]
        all: bool,
    },
    /// Bring in a stock file, all of it or nothing
    Import {
        /// The stock file
        file: PathBuf,
        /// In place of everything that is there
        #[arg(long)]
        replace: bool,
    },
    /// Write what is at hand as a stock file
    Export {
        /// File to write, never over one that is there; standard output if absent
        file: Option<PathBuf>,
    },
    /// Take out the sheets of a layout that was cut, and put its useful rests back
    Use(StockUseArgs),
    /// Take the last use back
    Undo,
}

/// `stock add`
#[derive(Debug, Args)]
pub struct StockAddArgs {
    /// What it is called; for more of a kind that is there already, the name is enough
    pub name: String,
    /// The board's name
    #[arg(long, value_name = "NAME", requires_all = ["length", "width"])]
    pub board: Option<String>,
    /// Size along the flutes
    #[arg(long, value_name = "LENGTH", requires_all = ["board", "width"])]
    pub length: Option<String>,
    /// Size across the flutes
    #[arg(long, value_name = "LENGTH", requires_all = ["board", "length"])]
    pub width: Option<String>,
    /// How many
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub count: u32,
    /// What one costs, a plain number in the workshop's currency
    #[arg(long, value_name = "NUMBER", requires = "board", value_parser = price)]
    pub price: Option<f64>,
    /// It is an off-cut
    #[arg(long, requires = "board")]
    pub off_cut: bool,
}

/// `stock use`
#[derive(Debug, Args)]
pub struct StockUseArgs {
    /// The layout file
    pub layout: PathBuf,
    /// Even if it was used already
    #[arg(long)]
    pub again: bool,
    /// Keep no rests
    #[arg(long, conflicts_with_all = ["least_side", "least_area"])]
    pub no_rests: bool,
    /// A rest is kept when a square of this side fits on it
    #[arg(
        long,
        value_name = "LENGTH",
        help = "A rest is kept when a square of this side fits on it [default: 150mm]"
    )]
    pub least_side: Option<String>,
    /// and when it has this area
    #[arg(
        long,
        value_name = "AREA",
        help = "and when it has this area, such as \"200mm * 300mm\" [default: 200mm * 300mm]"
    )]
    pub least_area: Option<String>,
}

/// What can be listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Listed {
    /// Ways to build a case
    Styles,
    /// What cases are cut from
    Boards,
    /// What cuts them
    Machines,
}

/// Unit of shown lengths.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Units {
    /// Millimetres
    Mm,
    /// Inches
    In,
}

impl From<Units> for LengthUnit {
    fn from(u: Units) -> Self {
        match u {
            Units::Mm => Self::Mm,
            Units::In => Self::Inch,
        }
    }
}

/// Edition of DXF.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Edition {
    /// For old machines
    R12,
    /// In between
    R2000,
    /// For everything else
    R2010,
}

impl From<Edition> for DxfVersion {
    fn from(e: Edition) -> Self {
        match e {
            Edition::R12 => Self::R12,
            Edition::R2000 => Self::R2000,
            Edition::R2010 => Self::R2010,
        }
    }
}

/// Printing paper.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Sheet {
    /// 210 x 297 mm
    A4,
    /// 297 x 420 mm
    A3,
    /// 8.5 x 11 in
    Letter,
}

impl From<Sheet> for Paper {
    fn from(s: Sheet) -> Self {
        match s {
            Sheet::A4 => Self::A4,
            Sheet::A3 => Self::A3,
            Sheet::Letter => Self::Letter,
        }
    }
}

macro_rules! library_words {
    ($(#[$meta:meta])* $name:ident, $inner:ty, $all:expr) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub struct $name(pub $inner);

        impl ValueEnum for $name {
            fn value_variants<'a>() -> &'a [Self] {
                const { &$all }
            }
            fn to_possible_value(&self) -> Option<PossibleValue> {
                Some(PossibleValue::new(self.0.word()))
            }
        }
    };
}

library_words!(/// A way of creasing, by the library's word.
Way, Creasing, [
    Way(Creasing::Hand), Way(Creasing::Wheel), Way(Creasing::Rule), Way(Creasing::Perforated),
]);
library_words!(/// A kind of file, by the library's word.
FileKind, Kind, [
    FileKind(Kind::Dxf), FileKind(Kind::Svg), FileKind(Kind::Drawing),
    FileKind(Kind::TrueSize), FileKind(Kind::Tiles), FileKind(Kind::Fold),
    FileKind(Kind::Preview), FileKind(Kind::Glb), FileKind(Kind::Report),
]);

/// What `--layer` says about one use of lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layer {
    line_use: LineUse,
    drawn: bool,
    name: Option<String>,
    colour: Option<u8>,
    line_type: Option<LineType>,
}

impl Layer {
    /// Puts it into the table.
    pub fn apply(&self, table: &mut LayerTable) {
        let style = table.style_mut(self.line_use);
        style.drawn = self.drawn;
        if let Some(name) = &self.name {
            style.name.clone_from(name);
        }
        style.colour = self.colour.unwrap_or(style.colour);
        style.line_type = self.line_type.unwrap_or(style.line_type);
    }
}

fn setting(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() => {
            Ok((name.trim().to_owned(), value.trim().to_owned()))
        }
        _ => Err("write it as NAME=VALUE, such as depth=80mm".to_owned()),
    }
}

fn quantity(text: &str) -> Result<(String, u32), String> {
    let read = || {
        let (job, n) = text.rsplit_once('=')?;
        let n = n.trim().parse::<u32>().ok()?;
        (!job.trim().is_empty() && n <= 1_000_000).then(|| (job.trim().to_owned(), n))
    };
    read().ok_or_else(|| "write it as JOB=N, such as clock.kdl=12, N up to a million".to_owned())
}

fn sizes(text: &str) -> Result<(String, String), String> {
    match text.split_once('x') {
        Some((a, b)) if !a.trim().is_empty() && !b.trim().is_empty() => {
            Ok((a.trim().to_owned(), b.trim().to_owned()))
        }
        _ => Err("write it as LENGTHxWIDTH, such as 1600mmx1200mm".to_owned()),
    }
}

fn sheet(text: &str) -> Result<SheetArg, String> {
    let mut parts = text.split(':');
    let (length, width) = sizes(parts.next().unwrap_or(""))?;
    let count = match parts.next().map(str::trim) {
        None | Some("") => None,
        Some(n) => match n.parse::<u32>() {
            Ok(n) if (1..=1_000_000).contains(&n) => Some(n),
            _ => return Err(format!("`{n}` is no number of sheets from 1 to a million")),
        },
    };
    let price = match parts.next().map(str::trim) {
        None => 0.0,
        Some(p) => match p.parse::<f64>() {
            Ok(v) if (0.0..=1e9).contains(&v) => v,
            _ => return Err(format!("`{p}` is no price of a sheet")),
        },
    };
    if parts.next().is_some() {
        return Err("write it as LENGTHxWIDTH:COUNT:PRICE, such as 1600mmx1200mm:40:2.10".into());
    }
    Ok(SheetArg {
        text: text.to_owned(),
        length,
        width,
        count,
        price,
    })
}

fn seconds(text: &str) -> Result<f64, String> {
    match text.trim().trim_end_matches('s').trim().parse::<f64>() {
        Ok(v) if (0.0..=86_400.0).contains(&v) => Ok(v),
        _ => Err("a number of seconds lies between 0 and 86400".to_owned()),
    }
}

fn vary(text: &str) -> Result<Vary, String> {
    let read = || {
        let (name, values) = text.split_once('=')?;
        let (from, to) = values.split_once("..")?;
        let parts = [name, from, to].map(str::trim);
        let [name, from, to] = parts.map(str::to_owned);
        parts
            .iter()
            .all(|p| !p.is_empty())
            .then_some(Vary { name, from, to })
    };
    read().ok_or_else(|| "write it as NAME=FROM..TO, such as width=100mm..400mm".to_owned())
}

fn steps(text: &str) -> Result<Steps, String> {
    let (across, up) = text.split_once(',').unwrap_or((text, text));
    match (across.trim().parse(), up.trim().parse()) {
        (Ok(a), Ok(u)) if a > 0 && u > 0 => Ok((a, u)),
        _ => Err("write one number or two, such as 40 or 40,20".to_owned()),
    }
}

fn spot(text: &str) -> Result<Spot, String> {
    let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    let both = text.split_once(',').map(|(x, y)| (number(x), number(y)));
    match both {
        Some((Some(x), Some(y))) => Ok([x, y]),
        _ => Err("write it as X,Y in mm, such as 120,45.5".to_owned()),
    }
}

fn angle(text: &str) -> Result<(Spot, f64), String> {
    let read = || {
        let (at, deg) = text.split_once('=')?;
        let deg = deg.trim().trim_end_matches("deg").parse::<f64>().ok()?;
        Some((spot(at).ok()?, deg))
    };
    match read() {
        Some((at, deg)) if (-180.0..=180.0).contains(&deg) => Ok((at, deg)),
        _ => Err("write it as X,Y=DEG with -180 to 180 degrees, such as 120,45=60".to_owned()),
    }
}

fn price(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(v) if good_price(v) => Ok(v),
        _ => Err("a price is a plain number in the workshop's currency, such as 3.40".to_owned()),
    }
}

fn tolerance(text: &str) -> Result<f64, String> {
    match text.trim().trim_end_matches("mm").trim().parse::<f64>() {
        Ok(v) if (0.0..=5.0).contains(&v) => Ok(v),
        _ => Err("a tolerance lies between 0 and 5 mm".to_owned()),
    }
}

fn scale(text: &str) -> Result<f64, String> {
    let n = text.strip_prefix("1:").unwrap_or(text).trim();
    match n.parse::<f64>() {
        Ok(n) if n.is_finite() && (1.0..=1000.0).contains(&n) => Ok(n),
        _ => Err("write it as 1:N with N from 1 to 1000, such as 1:5".to_owned()),
    }
}

fn layer(text: &str) -> Result<Layer, String> {
    let Some((word, rest)) = text.split_once('=') else {
        return Err("write it as USE=NAME:COLOUR:LINETYPE, such as cut=knife:1:continuous".into());
    };
    let Some(line_use) = LineUse::ALL.into_iter().find(|u| use_word(*u) == word) else {
        let known = LineUse::ALL.map(use_word).join(", ");
        return Err(format!("there is no use `{word}`; known here: {known}"));
    };
    let mut layer = Layer {
        line_use,
        drawn: rest != "off",
        name: None,
        colour: None,
        line_type: None,
    };
    if !layer.drawn {
        return Ok(layer);
    }
    let parts: Vec<&str> = rest.split(':').map(str::trim).collect();
    if parts.len() > 3 {
        return Err("a layer has at most three parts: NAME:COLOUR:LINETYPE".to_owned());
    }
    let part = |i: usize| parts.get(i).copied().filter(|p| !p.is_empty());
    layer.name = part(0).map(str::to_owned);
    if let Some(colour) = part(1) {
        match colour.parse::<u8>() {
            Ok(n) if n > 0 => layer.colour = Some(n),
            _ => return Err(format!("`{colour}` is not a colour index from 1 to 255")),
        }
    }
    if let Some(word) = part(2) {
        let same = |t: &LineType| t.word().eq_ignore_ascii_case(word);
        match LineType::ALL.into_iter().find(same) {
            Some(t) => layer.line_type = Some(t),
            None => {
                return Err(format!(
                    "there is no line type `{word}`; known here: continuous, dashed, dash-dot, dotted"
                ));
            }
        }
    }
    Ok(layer)
}
