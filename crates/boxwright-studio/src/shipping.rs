//! From a state and what surrounds it to everything that is to be said of shipping it.

use boxwright::blank::SoundPlan;
use boxwright::brief::Brief;
use boxwright::diag::{Diag, Outcome, Place};
use boxwright::emit::bundle::stem;
use boxwright::emit::pdf::pdf;
use boxwright::emit::shipping_sheet::{Shipping, shipping_sheet};
use boxwright::fold::Folder as Folding;
use boxwright::haul::{Haul, Wish, haul};
use boxwright::job::outside_constant;
use boxwright::ship::grade::{Class, Graded, Grades, read_grades};
use boxwright::ship::lift::{Hold, Lift, Task};
use boxwright::ship::losses::{Found, Losses, read_losses};
use boxwright::ship::parcel::{Limit, Over, Parcel, Tariff, read_parcels};
use boxwright::ship::signs::due;
use boxwright::ship::stack::{Assurance, Bearing, Rule};
use boxwright::ship::{
    Conditions, Outlook, Pattern, Surroundings, contents_mass, outlook, pick, table,
};
use boxwright::source::{Door, Shipped};
use boxwright::units::{Dim, Force, ForcePerLength, Length, LengthUnit, Mass, trimmed};

use crate::design::{Blanks, draw};
use crate::loading;
use crate::refuse::Refuse;
use crate::shelf::Shelf;
use crate::tongue;
use crate::wire::{
    ShipAsk, ShipClass, ShipConditions, ShipFactor, ShipForm, ShipGrade, ShipLift, ShipLists,
    ShipNamed, ShipOffer, ShipPallet, ShipParcel, ShipPattern, ShipRule, ShipShown, ShipSpan,
    ShipSpread, ShipStack, ShipStrength, Shown,
};

/// Heaviest contents, and heaviest thing on top, in kg.
const HEAVIEST: f64 = 20_000.0;
/// Longest time under load, in days.
const LONGEST_DAYS: f64 = 3650.0;
/// Highest stack that may be asked for.
const HIGHEST: u32 = 1000;

/// The tables that conditions are chosen from.
struct Shelves {
    losses: Vec<Losses>,
    grades: Vec<Grades>,
    parcels: Vec<Tariff>,
}

impl Shelves {
    fn read(door: &dyn Door) -> Outcome<Self> {
        Ok(Self {
            losses: read_losses(&table(door, "losses")?)?,
            grades: read_grades(&table(door, "grades")?)?,
            parcels: read_parcels(&table(door, "parcels")?)?,
        })
    }
}

fn refuse(diags: Vec<Diag>) -> Refuse {
    Refuse::of_diags("not-shipped", &diags)
}

/// What conditions can be chosen from.
///
/// # Errors
/// Whatever is wrong in a table.
pub fn lists() -> Result<ShipLists, Refuse> {
    let all = Shelves::read(&Shipped).map_err(refuse)?;
    let named = |name: &str, title: &str| ShipNamed {
        name: name.to_owned(),
        title: title.to_owned(),
    };
    let loads = loading::tables().map_err(refuse)?;
    Ok(ShipLists {
        losses: all
            .losses
            .iter()
            .map(|t| named(&t.name, &t.title))
            .collect(),
        grades: all
            .grades
            .iter()
            .map(|t| named(&t.name, &t.title))
            .collect(),
        parcels: all
            .parcels
            .iter()
            .map(|t| named(&t.name, &t.title))
            .collect(),
        pallets: loads
            .pallets
            .iter()
            .map(|p| named(&p.value.name, &p.title))
            .collect(),
    })
}

/// A figure as typed; `None` where nothing is.
pub fn figure(name: &str, text: &str, dim: Dim) -> Result<Option<f64>, Refuse> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let place = Place {
        input: name.to_owned(),
        start: 0,
        end: text.len(),
    };
    outside_constant(&place, text, dim)
        .map(Some)
        .map_err(|mut d| {
            d.message = format!("{name}: {}", d.message);
            if dim == Dim::MASS && d.code == "wrong-unit" && d.help.is_none() {
                d.help = Some(format!("write the unit, such as {}kg", text.trim()));
            }
            refuse(vec![*d])
        })
}

/// A refusal about a field.
pub fn no(message: impl Into<String>) -> Refuse {
    Refuse::conflict("not-shipped", message)
}

fn mass(name: &str, text: &str) -> Result<Option<Mass>, Refuse> {
    match figure(name, text, Dim::MASS)? {
        Some(kg) if (0.0..=HEAVIEST).contains(&kg) => Ok(Some(Mass::kg(kg))),
        Some(_) => Err(no(format!("{name}: from 0 to {HEAVIEST} kg are meant"))),
        None => Ok(None),
    }
}

fn within(what: &str, value: f64, least: f64, most: f64) -> Result<f64, Refuse> {
    if (least..=most).contains(&value) {
        return Ok(value);
    }
    Err(no(format!("{what} must be from {least} to {most}")))
}

fn conditions(on: &ShipConditions, overhang: Length) -> Result<Conditions, Refuse> {
    let all = Shelves::read(&Shipped).map_err(refuse)?;
    let named = |text: &str| (!text.trim().is_empty()).then(|| text.trim().to_owned());
    let losses = named(&on.losses);
    let grades = named(&on.grades);
    let parcels = named(&on.parcels);
    if let Some(high) = on.high
        && !(1..=HIGHEST).contains(&high)
    {
        return Err(no(format!("a stack is 1 to {HIGHEST} cases high")));
    }
    let place = match on.rule {
        ShipRule::D4169Vehicle => boxwright::ship::stack::Place::Vehicle,
        _ => boxwright::ship::stack::Place::Warehouse,
    };
    Ok(Conditions {
        surroundings: Surroundings {
            days: within("days under load", on.days, 0.0, LONGEST_DAYS)?,
            humidity: within("humidity in percent", on.humidity, 0.0, 100.0)? / 100.0,
            pattern: match on.pattern {
                ShipPattern::ColumnAligned => Pattern::ColumnAligned,
                ShipPattern::ColumnOffset => Pattern::ColumnOffset,
                ShipPattern::Interlocked => Pattern::Interlocked,
            },
            overhang: overhang > Length::ZERO,
            deck_gap: on.deck_gap,
            handling: on.handling,
        },
        high: on.high,
        above: mass("mass on the uppermost", &on.above)?.unwrap_or(Mass::ZERO),
        rule: match on.rule {
            ShipRule::Losses => Rule::Losses,
            ShipRule::Gb => Rule::Gb,
            ShipRule::GbSea => Rule::GbSea,
            ShipRule::Cfr => Rule::Cfr,
            ShipRule::D4169Warehouse | ShipRule::D4169Vehicle => Rule::D4169 {
                place,
                bearing: Bearing::Case,
                level: Assurance::II,
            },
        },
        choice: boxwright::ship::compression::Choice::default(),
        task: Task::default(),
        handholds: None,
        losses: pick(&all.losses, losses.as_deref(), |t| &t.name)
            .map_err(refuse)?
            .clone(),
        grades: pick(&all.grades, grades.as_deref(), |t| &t.name)
            .map_err(refuse)?
            .clone(),
        tariff: pick(&all.parcels, parcels.as_deref(), |t| &t.name)
            .map_err(refuse)?
            .clone(),
    })
}

/// Draws the case of a state, which has to be one that can be cut.
fn sound(shelf: &Shelf, ask: &ShipAsk) -> Result<(Brief, Box<SoundPlan>), Refuse> {
    let drawn = draw(shelf, &ask.state).map_err(|u| Refuse::of_diags("not-drawn", &u.diags))?;
    match drawn.blanks {
        Blanks::Sound(plan) => Ok((drawn.brief, plan)),
        Blanks::Unsound(..) => {
            let message = "this blank cannot be cut from one sheet as it is drawn";
            Err(Refuse::conflict("not-sound", message).help("the page Case tells what is wrong"))
        }
    }
}

/// A packed case judged: what both the page and the sheet are made from.
struct Judged {
    brief: Brief,
    plan: Box<SoundPlan>,
    on: Conditions,
    wish: Wish,
    /// Mass of the contents where it was typed.
    given: Option<Mass>,
}

impl Judged {
    fn new(shelf: &Shelf, ask: &ShipAsk) -> Result<Self, Refuse> {
        let wish = loading::wish(&ask.on)?;
        let on = conditions(&ask.on, wish.overhang)?;
        let given = mass("mass of the contents", &ask.on.mass)?;
        let (brief, plan) = sound(shelf, ask)?;
        Ok(Self {
            brief,
            plan,
            on,
            wish,
            given,
        })
    }
    fn outlook(&self, folding: &Folding<'_>) -> Outlook {
        let contents = self.given.unwrap_or_else(|| contents_mass(&self.brief.job));
        outlook(&self.brief, folding, contents, &self.on)
    }
    fn haul(&self, o: &Outlook) -> Result<Haul, Refuse> {
        haul(o, &self.on, &self.wish).map_err(|d| refuse(vec![d]))
    }
}

/// Everything that is to be said of shipping a packed case.
///
/// # Errors
/// What keeps the case from being drawn, or a condition that cannot be.
pub fn shown(shelf: &Shelf, ask: &ShipAsk) -> Result<ShipShown, Refuse> {
    let judged = Judged::new(shelf, ask)?;
    let o = judged.outlook(&Folding::new(&judged.plan));
    let haul = judged.haul(&o)?;
    let pallet = loading::shown(&haul, ask.on.pattern, ask.unit.into());
    let signs = due(&judged.brief.job, &o.lift);
    Ok(ShipShown {
        signs: signs.iter().map(|d| d.says.words().to_owned()).collect(),
        ..told(&o, pallet)
    })
}

/// Name and bytes of the shipping sheet, as the command line writes it.
///
/// # Errors
/// As [`shown`].
pub fn sheet(shelf: &Shelf, ask: &ShipAsk) -> Result<(String, Vec<u8>), Refuse> {
    let judged = Judged::new(shelf, ask)?;
    let folding = Folding::new(&judged.plan);
    let o = judged.outlook(&folding);
    let haul = judged.haul(&o)?;
    let job = &judged.brief.job;
    let pages = shipping_sheet(&Shipping {
        brief: &judged.brief,
        folder: &folding,
        outlook: &o,
        haul: &haul,
        signs: &due(job, &o.lift),
        mass_given: judged.given.is_some(),
        unit: ask.unit.into(),
    });
    let title = format!("shipping sheet, {}", job.title);
    let bytes = pdf(&pages, &title).map_err(|d| refuse(vec![d]))?;
    Ok((format!("{}-shipping.pdf", stem(&job.title)), bytes))
}

/// A sentence with its lengths in both units.
pub fn both(text: &str) -> Shown {
    Shown {
        inch: tongue::inches(text).unwrap_or_else(|| text.to_owned()),
        mm: text.to_owned(),
    }
}

const fn span(r: boxwright::ship::Range<f64>) -> ShipSpan {
    ShipSpan {
        least: r.least,
        most: r.most,
    }
}

pub fn forces(r: boxwright::ship::Range<Force>) -> ShipSpan {
    ShipSpan {
        least: r.least.to_n(),
        most: r.most.to_n(),
    }
}

fn told(o: &Outlook, pallet: ShipPallet) -> ShipShown {
    ShipShown {
        title: o.title.clone(),
        style: o.style.clone(),
        board: o.board.clone(),
        outside: o.outside.size.map(Length::to_mm),
        united: o.outside.united().to_mm(),
        case_mass: o.outside.case.to_kg(),
        fitment_mass: o.outside.fitments.to_kg(),
        contents_mass: o.outside.contents.to_kg(),
        gross: o.gross.to_kg(),
        strength: strength(o),
        losses: o.losses_title.clone(),
        factors: factors(o),
        kept: span(o.kept),
        left: forces(o.left),
        stack: ShipStack {
            rule: o.stack.title.to_owned(),
            from: o.stack.from.to_owned(),
            times: span(o.stack.times),
            high: o.stack.high,
            load: o.stack.load.map(Force::to_n),
            needs: o.stack.needs.map(forces),
            holds: o.stack.holds,
            safe_high: o.stack.safe_high,
            needs_ect: o.stack.needs_ect.map(ForcePerLength::to_n_per_mm),
        },
        grade: grade(&o.grade),
        parcel: parcel(&o.parcel),
        lift: lift(&o.lift),
        pallet,
        signs: Vec::new(),
        cautions: o.cautions.iter().map(|c| both(&c.message)).collect(),
    }
}

fn strength(o: &Outlook) -> ShipStrength {
    let c = &o.compression;
    ShipStrength {
        range: forces(c.range),
        forms: c
            .forms
            .iter()
            .map(|(form, force)| ShipForm {
                form: form.word().to_owned(),
                force: force.to_n(),
            })
            .collect(),
        spread: c
            .spread
            .iter()
            .map(|s| ShipSpread {
                what: s.what.to_owned(),
                times: span(s.times),
                from: s.from.clone(),
            })
            .collect(),
        perimeter: c.perimeter.to_mm(),
        ect: c.ect.to_n_per_mm(),
        ect_from: c.ect_from.clone(),
        within: c.standing == boxwright::ship::compression::Standing::Within,
    }
}

fn factors(o: &Outlook) -> Vec<ShipFactor> {
    let found = |f: Found| match f {
        Found::Listed => "listed",
        Found::Between => "between two listed",
        Found::Before => "the first listed",
        Found::Past => "the last listed",
    };
    o.factors
        .iter()
        .map(|f| ShipFactor {
            condition: f.condition.clone(),
            keeps: ShipSpan {
                least: f.worst,
                most: f.best,
            },
            found: found(f.found).to_owned(),
            from: f.from.clone(),
        })
        .collect()
}

fn grade(g: &Graded) -> ShipGrade {
    use boxwright::ship::grade::By;
    let class = |c: &Class| ShipClass {
        name: c.name.clone(),
        mass: c.mass.map(Mass::to_kg),
        size: c.size.map(Length::to_mm),
        ect: c.ect.map(ForcePerLength::to_n_per_mm),
        from: c.from.clone(),
    };
    let by = |b: By| match b {
        By::Mass => "mass",
        By::Size => "size",
        By::Both => "mass and size alike",
    };
    ShipGrade {
        title: g.title.clone(),
        limits: g.limits,
        needs: g.needs.as_ref().map(class),
        by: g.by.map(|b| by(b).to_owned()),
        holds: g.holds.as_ref().map(class),
        qualifies: g.qualifies,
        missing: g.missing.map(ForcePerLength::to_n_per_mm),
    }
}

fn parcel(p: &Parcel) -> ShipParcel {
    ShipParcel {
        title: p.title.clone(),
        sides: p.sides.map(Length::to_mm),
        girth: p.length_plus_girth.to_mm(),
        volumetric: p.volumetric.map(Mass::to_kg),
        charged: p.charged.to_kg(),
        bulky: p.bulky,
        offers: p
            .offers
            .iter()
            .enumerate()
            .map(|(n, o)| ShipOffer {
                class: o.class.clone(),
                price: o.price,
                over: o.over.iter().map(over).collect(),
                chosen: p.chosen == Some(n),
                from: o.from.clone(),
            })
            .collect(),
    }
}

fn over(o: &Over) -> Shown {
    let what = match o.limit {
        Limit::Charged => "charged mass",
        Limit::Mass => "mass",
        Limit::Longest => "longest side",
        Limit::Second => "second side",
        Limit::Third => "shortest side",
        Limit::LengthPlusGirth => "length plus girth",
        Limit::Volume => "volume",
    };
    let told = |unit: LengthUnit| {
        let figure = |v: f64| match (o.limit, unit) {
            (Limit::Charged | Limit::Mass, LengthUnit::Mm) => format!("{} kg", trimmed(v, 2)),
            (Limit::Charged | Limit::Mass, LengthUnit::Inch) => {
                format!("{} lb", trimmed(Mass::kg(v).to_lb(), 2))
            }
            (Limit::Volume, LengthUnit::Mm) => format!("{} l", trimmed(v / 1e6, 1)),
            (Limit::Volume, LengthUnit::Inch) => {
                let foot = 25.4 * 12.0;
                format!("{} cu ft", trimmed(v / (foot * foot * foot), 2))
            }
            (_, unit) => unit.show(Length::mm(v)),
        };
        format!("{what} {} over {}", figure(o.has), figure(o.most))
    };
    Shown {
        mm: told(LengthUnit::Mm),
        inch: told(LengthUnit::Inch),
    }
}

fn lift(l: &Lift) -> ShipLift {
    let hold = match l.hold {
        Hold::Good => "good: handholds in a case of good size",
        Hold::Fair => "fair: fingers under a case of good size",
        Hold::Poor => "poor: too long or too high to hold well",
    };
    let task = format!(
        "from {} mm to {} mm over the floor, straight ahead, once in five minutes for up to an hour",
        trimmed(l.task.from.to_mm(), 0),
        trimmed(l.task.to.to_mm(), 0)
    );
    ShipLift {
        task: both(&task),
        hold: hold.to_owned(),
        limit: l.limit.to_kg(),
        index: l.index,
        heavy: l.heavy,
        two: l.two,
        from: "revised lifting equation, NIOSH 94-110".to_owned(),
    }
}
