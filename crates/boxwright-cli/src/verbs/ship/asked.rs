//! What was asked for on the command line, read and bounded.

use boxwright::diag::{Diag, Named, Outcome, Place};
use boxwright::haul::{AskedFor, Wish};
use boxwright::job::outside_constant;
use boxwright::pallet::{Listed, read_tables};
use boxwright::read::suggestion;
use boxwright::ship::compression::Choice;
use boxwright::ship::grade::read_grades;
use boxwright::ship::lift::Task;
use boxwright::ship::parcel::{divisor, read_parcels};
use boxwright::ship::stack::Rule;
use boxwright::ship::{Conditions, Surroundings, losses::read_losses, pick, table};
use boxwright::source::Text;
use boxwright::units::{Angle, Dim, FlexuralStiffness, Length, Mass};

use crate::args::{RuleWord, ShipArgs};
use crate::desk::{Desk, is_path};
use crate::overrides::option;

/// What was asked.
pub struct Asked {
    /// Mass of the contents, where it is given here.
    pub mass: Option<Mass>,
    /// What the case meets, and what it is judged by.
    pub conditions: Conditions,
    /// What the load on a pallet may be.
    pub wish: Wish,
    /// What was asked for by name.
    pub by_name: AskedFor,
}

/// Masses in kg, lengths in mm, angles in rad, and plain numbers.
const MASS: (f64, f64) = (0.0, 20_000.0);
const DAYS: (f64, f64) = (0.0, 36_500.0);
const SHARE: (f64, f64) = (0.0, 1.0);
const HEIGHT: (f64, f64) = (100.0, 10_000.0);
const OVERHANG: (f64, f64) = (-500.0, 500.0);
const LIFT: (f64, f64) = (0.0, 3000.0);
const LIFTS: (f64, f64) = (0.0, 60.0);
const ASIDE: (f64, f64) = (0.0, std::f64::consts::PI);
const STIFFNESS: (f64, f64) = (1.0, 1e9);

/// Reads everything; all messages come together.
pub fn asked(args: &ShipArgs, desk: &mut Desk) -> Outcome<Asked> {
    let mut wrong = Vec::new();
    let mass = reading(
        desk,
        &mut wrong,
        "--mass",
        args.mass.as_deref(),
        Dim::MASS,
        MASS,
    );
    let above = reading(
        desk,
        &mut wrong,
        "--above",
        args.above.as_deref(),
        Dim::MASS,
        MASS,
    );
    let mut must = |name, text: &str, dim, bounds| {
        reading(desk, &mut wrong, name, Some(text), dim, bounds).unwrap_or_default()
    };
    let days = must("--days", &args.days, Dim::NUMBER, DAYS);
    let humidity = must("--humidity", &args.humidity, Dim::NUMBER, SHARE);
    let high = must("--pallet-height", &args.pallet_height, Dim::LENGTH, HEIGHT);
    let overhang = must("--overhang", &args.overhang, Dim::LENGTH, OVERHANG);
    let from = must("--lift-from", &args.lift_from, Dim::LENGTH, LIFT);
    let to = must("--lift-to", &args.lift_to, Dim::LENGTH, LIFT);
    let lifts = must("--lifts", &args.lifts, Dim::NUMBER, LIFTS);
    let aside = must("--aside", &args.aside, Dim::ANGLE, ASIDE);
    let mut may = |name, text: &Option<String>, dim, bounds| {
        reading(desk, &mut wrong, name, text.as_deref(), dim, bounds)
    };
    let lying = may("--lying-share", &args.lying_share, Dim::NUMBER, SHARE);
    let pallet_mass = may("--pallet-mass", &args.pallet_mass, Dim::MASS, MASS);
    let handholds = may("--handholds", &args.handholds, Dim::LENGTH, LIFT);
    let stiffness = args
        .stiffness
        .as_deref()
        .and_then(|text| keep(&mut wrong, two_stiffness(desk, text)));
    let own = Own { desk };
    let losses = keep(
        &mut wrong,
        own.table(
            "losses",
            "--losses",
            args.losses.as_deref(),
            read_losses,
            |t| &t.name,
        ),
    );
    let grades = keep(
        &mut wrong,
        own.table(
            "grades",
            "--grades",
            args.grades.as_deref(),
            read_grades,
            |t| &t.name,
        ),
    );
    let tariff = keep(
        &mut wrong,
        own.table(
            "parcels",
            "--parcels",
            args.parcels.as_deref(),
            read_parcels,
            |t| &t.name,
        ),
    );
    let divided = args.divisor.as_deref().and_then(|text| {
        let read = divisor(text).ok_or_else(|| {
            let message = format!("`{text}` is no volume for each unit of mass");
            let help = "write cm3 for each kg, such as 5000, or with its unit, such as 139in3/lb";
            vec![
                Diag::error("bad-divisor", message)
                    .at(option(desk, "--divisor", text))
                    .help(help),
            ]
        });
        keep(&mut wrong, read)
    });
    let wish = keep(&mut wrong, wish(args, desk));
    let (Some(losses), Some(grades), Some(mut tariff), Some(mut wish), true) =
        (losses, grades, tariff, wish, wrong.is_empty())
    else {
        return Err(wrong);
    };
    if divided.is_some() {
        tariff.divisor = divided;
    }
    wish.height = Length::mm(high);
    wish.mass = pallet_mass.map(Mass::kg);
    wish.overhang = Length::mm(overhang);
    let conditions = Conditions {
        surroundings: Surroundings {
            days,
            humidity,
            pattern: args.pattern.0,
            overhang: overhang > 0.0,
            deck_gap: args.deck_gap,
            handling: args.handling,
        },
        high: args.high,
        above: Mass::kg(above.unwrap_or_default()),
        rule: rule(args),
        choice: Choice {
            form: args.formula.map(|f| f.0),
            stiffness,
            lying_share: lying,
        },
        task: Task {
            from: Length::mm(from),
            to: Length::mm(to),
            aside: Angle::rad(aside),
            each_minute: lifts,
            hours: args.hours.0,
        },
        handholds: handholds.map(Length::mm),
        losses,
        grades,
        tariff,
    };
    Ok(Asked {
        mass: mass.map(Mass::kg),
        conditions,
        wish,
        by_name: AskedFor {
            grades: args.grades.is_some(),
            parcels: args.parcels.is_some(),
            pallet: args.pallet.is_some() || args.pallet_mass.is_some() || !args.loads.is_empty(),
        },
    })
}

const fn rule(args: &ShipArgs) -> Rule {
    match args.rule {
        RuleWord::Losses => Rule::Losses,
        RuleWord::Gb => Rule::Gb,
        RuleWord::GbSea => Rule::GbSea,
        RuleWord::Cfr => Rule::Cfr,
        RuleWord::D4169 => Rule::D4169 {
            place: args.place.0,
            bearing: args.bearing.0,
            level: args.assurance.0,
        },
    }
}

fn keep<T>(wrong: &mut Vec<Diag>, read: Outcome<T>) -> Option<T> {
    read.map_err(|d| wrong.extend(d)).ok()
}

/// A figure of an option, in the units of the library, within bounds.
fn reading(
    desk: &Desk,
    wrong: &mut Vec<Diag>,
    name: &str,
    text: Option<&str>,
    dim: Dim,
    bounds: (f64, f64),
) -> Option<f64> {
    keep(
        wrong,
        figure(&option(desk, name, text?), text?, dim, bounds),
    )
}

fn figure(place: &Place, text: &str, dim: Dim, (least, most): (f64, f64)) -> Outcome<f64> {
    let value = outside_constant(place, text, dim).map_err(|d| vec![*d])?;
    if (least..=most).contains(&value) {
        return Ok(value);
    }
    let name = &place.input;
    let [least, most] =
        [least, most].map(|value| boxwright::units::Quantity { value, dim }.to_string());
    let mut diag = Diag::error(
        "out-of-range",
        format!("{name} lies between {least} and {most}"),
    )
    .at(place.clone());
    if matches!(name.as_str(), "--humidity" | "--lying-share") && value > 1.0 && value <= 100.0 {
        diag = diag.help(format!("write it in percent: {}%", text.trim()));
    }
    Err(vec![diag])
}

fn two_stiffness(desk: &Desk, text: &str) -> Outcome<[FlexuralStiffness; 2]> {
    let place = option(desk, "--stiffness", text);
    let wrong = || {
        let message = "two numbers in N mm are needed here, along and across the machine";
        vec![
            Diag::error("bad-stiffness", message)
                .at(place.clone())
                .help("such as 4500,2300"),
        ]
    };
    let (along, across) = text.split_once(',').ok_or_else(wrong)?;
    let one = |t: &str| {
        let v = t.trim().parse::<f64>().ok()?;
        (STIFFNESS.0..=STIFFNESS.1)
            .contains(&v)
            .then(|| FlexuralStiffness::n_mm(v))
    };
    one(along)
        .zip(one(across))
        .map(|(a, b)| [a, b])
        .ok_or_else(wrong)
}

/// Tables, shipped or the user's own.
struct Own<'a> {
    desk: &'a Desk,
}

impl Own<'_> {
    fn table<T: Clone>(
        &self,
        file: &str,
        name: &str,
        asked: Option<&str>,
        read: impl Fn(&Text) -> Outcome<Vec<T>>,
        named: impl Fn(&T) -> &str,
    ) -> Outcome<T> {
        let Some(asked) = asked else {
            let all = read(&table(self.desk, file)?)?;
            return pick(&all, None, named).cloned();
        };
        let place = option(self.desk, name, asked);
        let (path, wanted) = match asked.rsplit_once(".kdl:") {
            Some((path, wanted)) => (Some(format!("{path}.kdl")), Some(wanted)),
            None if is_path(asked) => (Some(asked.to_owned()), None),
            None => (None, Some(asked)),
        };
        let text = match &path {
            Some(path) => {
                let named = Named {
                    name: path.clone(),
                    place: place.clone(),
                };
                self.desk.table_file(&named).map_err(|d| vec![d])?
            }
            None => table(self.desk, file)?,
        };
        let all = read(&text)?;
        let found = pick(&all, wanted, named).cloned();
        found.map_err(|diags| {
            let own = path.is_none();
            diags
                .into_iter()
                .map(|mut d| {
                    d.place = Some(place.clone());
                    if own {
                        d.help = Some(format!(
                            "{}; a file of your own ends in .kdl",
                            d.help.unwrap_or_default()
                        ));
                    }
                    d
                })
                .collect()
        })
    }
}

/// The pallet and the rooms; sizes and limits are put in by the caller.
fn wish(args: &ShipArgs, desk: &Desk) -> Outcome<Wish> {
    let mut texts = vec![table(desk, "loads")?];
    for file in &args.loads {
        let name = file.display().to_string();
        let place = option(desk, "--loads", &name);
        texts.push(
            desk.table_file(&Named { name, place })
                .map_err(|d| vec![d])?,
        );
    }
    let all = read_tables(&texts)?;
    let pallet = match &args.pallet {
        None => all.pallets.first(),
        Some(name) => all.pallet(name),
    };
    let known = |name: &str, option_name: &str, what: &str, names: Vec<&str>| {
        Diag::error(
            if what == "pallet" {
                "unknown-pallet"
            } else {
                "unknown-room"
            },
            format!("there is no {what} `{name}`"),
        )
        .at(option(desk, option_name, name))
        .help(format!(
            "{}; --loads brings a file of your own",
            suggestion(name, names)
        ))
    };
    let mut wrong = Vec::new();
    if pallet.is_none() {
        let names = all.pallets.iter().map(|p| p.value.name.as_str()).collect();
        wrong.push(known(
            args.pallet.as_deref().unwrap_or_default(),
            "--pallet",
            "pallet",
            names,
        ));
    }
    let mut rooms = Vec::new();
    for name in &args.room {
        match all.room(name) {
            Some(room) => rooms.push(room.clone()),
            None => {
                let names = all.rooms.iter().map(|r| r.value.name.as_str()).collect();
                wrong.push(known(name, "--room", "container or trailer", names));
            }
        }
    }
    if args.room.is_empty() {
        rooms = all.rooms.clone();
    }
    let pallet: Option<Listed<_>> = pallet.cloned();
    match (pallet, wrong.is_empty()) {
        (Some(pallet), true) => Ok(Wish {
            pallet,
            height: Length::ZERO,
            mass: None,
            overhang: Length::ZERO,
            rooms,
        }),
        _ => Err(wrong),
    }
}
