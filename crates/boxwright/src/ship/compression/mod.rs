//! What a case stands before its walls buckle: McKee's formula in three forms, as a range.
//!
//! McKee, Gander and Wachuta, *Paperboard Packaging*, 1963. The constants are from memory. They are
//! plain numbers: the exponents of force and of length each add up, so any set of units that belong
//! together gives the right force, and no separate constant for metric units exists.
//!
//! - full: 2.028 ECT^0.746 (sqrt(Dx Dy))^0.254 Z^0.492
//! - power: 5.874 ECT h^0.508 Z^0.492
//! - simple: 5.87 ECT sqrt(h Z)
//!
//! ECT is the edge crush strength, Dx and Dy the flexural stiffness along and across the machine, h the
//! caliper and Z the perimeter through the middle of the walls.

mod walls;

use serde::Serialize;

use super::figure::{Caution, Range};
use crate::board::Wall;
use crate::brief::Brief;
use crate::fold::Folder;
use crate::units::{FlexuralStiffness, Force, ForcePerLength, Length, LengthUnit, trimmed};

pub use walls::{LYING_SHARE, LYING_SHARE_FROM, Side, sides};

/// Constant of the full form.
pub const FULL: f64 = 2.028;
/// Constant of the power form.
pub const POWER: f64 = 5.874;
/// Constant of the simple form.
pub const SIMPLE: f64 = 5.87;
/// sqrt(Dx Dy) over ECT h^2, by which the full form turns into the power form.
pub const STIFFNESS_LINK: f64 = 66.1;
/// Where the constants come from.
pub const CONSTANTS_FROM: &str = "memory: McKee, Gander and Wachuta, Paperboard Packaging, 1963";
/// How far the mean edge crush of a delivery may fall below the listed figure.
pub const ECT_SHORT: f64 = 0.05;
/// Where [`ECT_SHORT`] comes from.
pub const ECT_SHORT_FROM: &str = "seen: DIN 55468-1:2021 as listed at weka-sebnitz.de";
/// How far cases fell from the formula on average, either way.
pub const MODEL_ERROR: f64 = 0.06;
/// Where [`MODEL_ERROR`] comes from.
pub const MODEL_ERROR_FROM: &str = "memory: average error of the original work, about 6 %";
/// Least depth as a share of the perimeter for which the formula was made.
pub const LEAST_DEPTH: f64 = 1.0 / 7.0;
/// Greatest length over width for which it was made.
pub const MOST_SLENDER: f64 = 3.0;
/// Up to this depth the load shows several peaks, from horizontal edges that are crushed.
pub const SHALLOW: Length = Length::mm(120.0);

/// Which form of the formula.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// With the board's flexural stiffness.
    Full,
    /// With the caliper to the power 0.508.
    Power,
    /// With the square root of caliper times perimeter.
    Simple,
}

impl Form {
    /// Every form.
    pub const ALL: [Self; 3] = [Self::Full, Self::Power, Self::Simple];
    /// The word for it in commands and reports.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Power => "power",
            Self::Simple => "simple",
        }
    }
    /// The form with this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.word() == word)
    }
}

/// The full form. `stiffness` is along and across the machine direction.
#[must_use]
pub fn full(ect: ForcePerLength, stiffness: [FlexuralStiffness; 2], perimeter: Length) -> Force {
    let [x, y] = stiffness.map(FlexuralStiffness::to_n_mm);
    let bending = (x * y).sqrt().powf(0.254);
    Force::n(FULL * ect.to_n_per_mm().powf(0.746) * bending * perimeter.to_mm().powf(0.492))
}

/// The power form.
#[must_use]
pub fn power(ect: ForcePerLength, caliper: Length, perimeter: Length) -> Force {
    let size = caliper.to_mm().powf(0.508) * perimeter.to_mm().powf(0.492);
    Force::n(POWER * ect.to_n_per_mm() * size)
}

/// The simple form.
#[must_use]
pub fn simple(ect: ForcePerLength, caliper: Length, perimeter: Length) -> Force {
    simple_with(SIMPLE, ect, caliper, perimeter)
}

/// The simple form with another constant: pages print 5.87, 5.874 and 5.876.
#[must_use]
pub fn simple_with(
    constant: f64,
    ect: ForcePerLength,
    caliper: Length,
    perimeter: Length,
) -> Force {
    let size = (caliper.to_mm() * perimeter.to_mm()).sqrt();
    Force::n(constant * ect.to_n_per_mm() * size)
}

/// The edge crush strength that the simple form asks for to reach a strength.
#[must_use]
pub fn ect_for(strength: Force, caliper: Length, perimeter: Length) -> ForcePerLength {
    let size = (caliper.to_mm() * perimeter.to_mm()).sqrt();
    ForcePerLength::n_per_mm(strength.to_n() / (SIMPLE * size))
}

/// The flexural stiffness that edge crush and caliper let one expect, both ways alike: 66.1 ECT h^2.
/// An estimate from the link between the forms (66.1 from memory; 65.8 follows from the constants);
/// with it the full form says what the power form says.
#[must_use]
pub fn expected_stiffness(ect: ForcePerLength, caliper: Length) -> FlexuralStiffness {
    let square = caliper.to_mm() * caliper.to_mm();
    FlexuralStiffness::n_mm(STIFFNESS_LINK * ect.to_n_per_mm() * square)
}

/// Edge crush of walls that differ, each weighted with its length: seen in *Revista O Papel*, ABPO.
#[must_use]
pub fn weighted(walls: &[(Length, ForcePerLength)]) -> ForcePerLength {
    let whole: Length = walls.iter().map(|(l, _)| *l).sum();
    if whole.to_mm() <= 0.0 {
        return ForcePerLength::ZERO;
    }
    let sum: ForcePerLength = walls.iter().map(|(l, e)| *e * (*l / whole)).sum();
    sum
}

/// What is given beside the case itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Choice {
    /// Which form; `None` for the simple one with a range that takes in what the others say.
    pub form: Option<Form>,
    /// Measured flexural stiffness of the board, along and across the machine direction.
    pub stiffness: Option<[FlexuralStiffness; 2]>,
    /// Share of its edge crush that a wall with lying flutes counts with; [`LYING_SHARE`] if `None`.
    pub lying_share: Option<f64>,
}

/// One reason why the strength is a range and not one figure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spread {
    /// What is not known exactly.
    pub what: &'static str,
    /// What the figure is multiplied with at the least and at the most.
    pub times: Range<f64>,
    /// Where this comes from.
    pub from: String,
}

/// How far the formula may be trusted for a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// A single wall case of the slotted family with standing flutes: what the formula was made for.
    Within,
    /// Another kind of case, board or shape: the figure is a guide at most.
    Beyond,
}

/// What a case stands from top to bottom, empty, dry and once.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Compression {
    /// The form the middle figure is from.
    pub form: Form,
    /// What that form says.
    pub figure: Force,
    /// The range to reckon with.
    pub range: Range<Force>,
    /// Why it is a range.
    pub spread: Vec<Spread>,
    /// What each form that was looked at says.
    pub forms: Vec<(Form, Force)>,
    /// The four sides and what carries in them.
    pub sides: Vec<Side>,
    /// Perimeter through the middle of the walls.
    pub perimeter: Length,
    /// Caliper reckoned with.
    pub caliper: Length,
    /// Edge crush of the board.
    pub board_ect: ForcePerLength,
    /// Where the board's edge crush comes from.
    pub ect_from: String,
    /// Edge crush of the walls, weighted with their lengths.
    pub ect: ForcePerLength,
    /// Flexural stiffness used in the full form.
    pub stiffness: [FlexuralStiffness; 2],
    /// Whether that stiffness was given; else it is the estimate of [`expected_stiffness`].
    pub stiffness_given: bool,
    /// Whether the case is of the slotted family, which the formula was made for.
    pub slotted: bool,
    /// How far the formula may be trusted here.
    pub standing: Standing,
    /// What to mind.
    pub cautions: Vec<Caution>,
}

impl Compression {
    /// Estimates the strength of a drawn and folded case.
    #[must_use]
    pub fn of(brief: &Brief, folder: &Folder<'_>, choice: &Choice) -> Self {
        let caliper = brief.material.caliper;
        let sides = sides(folder);
        let perimeter: Length = sides.iter().map(|s| s.length).sum();
        let lying = choice.lying_share.unwrap_or(LYING_SHARE);
        let walls: Vec<_> = sides
            .iter()
            .map(|s| (s.length, brief.board.ect * s.carries(lying)))
            .collect();
        let ect = weighted(&walls);
        let stiffness = choice
            .stiffness
            .unwrap_or([expected_stiffness(ect, caliper); 2]);
        let of = |form: Form| match form {
            Form::Full => full(ect, stiffness, perimeter),
            Form::Power => power(ect, caliper, perimeter),
            Form::Simple => simple(ect, caliper, perimeter),
        };
        let asked = choice.form.map_or(Form::ALL.to_vec(), |f| vec![f]);
        let forms: Vec<(Form, Force)> = asked.into_iter().map(|f| (f, of(f))).collect();
        let form = choice.form.unwrap_or(Form::Simple);
        let figure = of(form);
        let spread = spread(figure, &forms);
        let times = |end: fn(&Range<f64>) -> f64| spread.iter().map(|s| end(&s.times)).product();
        let range = Range {
            least: figure * times(|r| r.least),
            most: figure * times(|r| r.most),
        };
        let mut c = Self {
            form,
            figure,
            range,
            spread,
            forms,
            sides,
            perimeter,
            caliper,
            board_ect: brief.board.ect,
            ect_from: brief.board.origin("ect").unwrap_or_default().to_owned(),
            ect,
            stiffness,
            stiffness_given: choice.stiffness.is_some(),
            slotted: brief
                .style
                .suits
                .as_ref()
                .is_some_and(|s| s.family == "slotted"),
            standing: Standing::Within,
            cautions: Vec::new(),
        };
        c.limits(brief, folder, lying);
        c
    }

    /// The edge crush of board with which the least of the range would reach a strength, all else
    /// unchanged; `None` where no board does, because no wall carries.
    #[must_use]
    pub fn board_ect_for(&self, strength: Force) -> Option<ForcePerLength> {
        let least = self.range.least;
        if least.to_n() <= 0.0 {
            return None;
        }
        // All forms grow with the edge crush itself, but for the full one with a given stiffness.
        let full_leads = self.forms.iter().all(|(_, f)| {
            let full = self.forms.iter().find(|(form, _)| *form == Form::Full);
            full.is_some_and(|(_, full)| full <= f)
        });
        let exponent = if self.stiffness_given && full_leads {
            0.746
        } else {
            1.0
        };
        let times = (strength / least).powf(1.0 / exponent);
        Some(self.board_ect * times)
    }

    fn limits(&mut self, brief: &Brief, folder: &Folder<'_>, lying: f64) {
        let mut cautions = Vec::new();
        let mut beyond = |code, message: String| cautions.push(Caution::new(code, message));
        let [length, width, depth] = brief.job.inside;
        let z = self.perimeter;
        if depth < z * LEAST_DEPTH {
            beyond(
                "low-for-formula",
                format!(
                    "depth to perimeter is 1 : {}; the formula holds above 1 : 7",
                    trimmed(z / depth, 1)
                ),
            );
        }
        if length.max(width) > length.min(width) * MOST_SLENDER {
            beyond(
                "slender",
                "length over width is above 3, beyond what the formula was made for (memory)"
                    .into(),
            );
        }
        if depth <= SHALLOW {
            beyond(
                "shallow",
                format!(
                    "up to {} deep, horizontal edges are crushed first and the load has several peaks",
                    LengthUnit::Mm.show(SHALLOW)
                ),
            );
        }
        if brief.board.wall == Wall::Double {
            beyond(
                "double-wall",
                "the formula was made for single wall board".into(),
            );
        }
        if !self.slotted {
            beyond(
                "not-slotted",
                "the formula was made for slotted cases; this case is built otherwise, so the figure is a guide at most"
                    .into(),
            );
        }
        let lies: Length = self.sides.iter().map(|s| s.length * s.lying).sum();
        if lies > z * 0.01 {
            beyond(
                "lying-flutes",
                format!(
                    "flutes lie down in {} % of the walls; they count with {} % of the edge crush",
                    trimmed(lies / z * 100.0, 0),
                    trimmed(lying * 100.0, 0)
                ),
            );
        }
        let open: Length = self.sides.iter().map(|s| s.length * s.open()).sum();
        if open > z * 0.05 {
            beyond(
                "open-sides",
                format!(
                    "{} % of the walls do not reach from bottom to top; they are taken to carry nothing",
                    trimmed(open / z * 100.0, 0)
                ),
            );
        }
        if !cautions.is_empty() {
            self.standing = Standing::Beyond;
        }
        // These do not put the case beyond the formula, but lower what it stands.
        if walls::pierced(folder) {
            cautions.push(Caution::new(
                "pierced",
                "openings in the walls weaken them; the figure does not take that off",
            ));
        }
        if self.board_ect_is_default() {
            cautions.push(Caution::new(
                "default-ect",
                "the board's edge crush is a default of the board file, not measured on your board",
            ));
        }
        self.cautions = cautions;
    }

    fn board_ect_is_default(&self) -> bool {
        self.ect_from.starts_with("default:") || self.ect_from.starts_with("memory:")
    }
}

/// What a strength is multiplied with at its least and at its most.
fn spread(figure: Force, forms: &[(Form, Force)]) -> Vec<Spread> {
    let mut all = vec![
        Spread {
            what: "edge crush of the board",
            times: Range {
                least: 1.0 - ECT_SHORT,
                most: 1.0,
            },
            from: ECT_SHORT_FROM.into(),
        },
        Spread {
            what: "the formula against real cases",
            times: Range {
                least: 1.0 - MODEL_ERROR,
                most: 1.0 + MODEL_ERROR,
            },
            from: MODEL_ERROR_FROM.into(),
        },
    ];
    if forms.len() > 1 && figure.to_n() > 0.0 {
        let shares = forms.iter().map(|(_, f)| *f / figure);
        let (least, most) = shares.fold((1.0, 1.0), |(a, b): (f64, f64), s| (a.min(s), b.max(s)));
        all.push(Spread {
            what: "between the forms of the formula",
            times: Range { least, most },
            from: "derived: from what each form says here".into(),
        });
    }
    all
}
