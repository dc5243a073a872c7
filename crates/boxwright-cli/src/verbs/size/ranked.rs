//! Inside sizes ranked by the packed case that a usual style and board make of them.

use std::sync::Arc;

use boxwright::board::{Creasing, read_boards};
use boxwright::contents::{Proposal, Proposals, Thing, usual_board, usual_style};
use boxwright::diag::Diag;
use boxwright::propose::{AtHand, Candidate, Look, Need, Prefer, Why, evaluate, order};
use boxwright::read::suggestion;
use boxwright::ship::Conditions;
use boxwright::source::Door as _;
use boxwright::style::parse_style;
use boxwright::units::trimmed;

use crate::args::SizeArgs;
use crate::desk::Desk;
use crate::overrides::option;
use crate::verbs::choose::asked::{contents_of, pallet};

/// So many inside sizes are made into packed cases.
pub const LOOKED_AT: usize = 40;
/// Height of pallet and cases.
const HIGH: &str = "1.6m";

/// Ranks the sizes by what the packed case comes to, says what that is, and keeps as many as are asked
/// for. A size of which no such case can be made goes last, with why.
pub fn rank(
    found: &mut Proposals,
    things: &[&Thing],
    prefer: Prefer,
    args: &SizeArgs,
    desk: &Desk,
) -> Result<(), Vec<Diag>> {
    let Some(first) = found.list.first() else {
        return Ok(());
    };
    let mut need = Need::new(&first.name, first.inside, Conditions::usual(desk)?);
    need.insides = found.list.iter().map(|p| p.inside).collect();
    need.contents = contents_of(things);
    need.prefer = prefer;
    need.open = true;
    need.pallet = match prefer {
        Prefer::Pallet => Some(pallet(None, HIGH, desk)?),
        _ => None,
    };
    let hand = AtHand::default();
    let (mut looks, mut at, mut rest) = (Vec::new(), Vec::new(), Vec::new());
    for mut p in std::mem::take(&mut found.list) {
        let c = candidate(&p, args, desk)?;
        let what = format!("as `{}` in {}", c.style.name, c.board.name);
        match evaluate(&c, &need, &hand) {
            Ok(look) => {
                p.reasons.push(format!("{what}: {}", words(&look, prefer)));
                // Only the figure ranks sizes, not what the style is known for.
                looks.push(Look {
                    unmet: Vec::new(),
                    thin: false,
                    ..look
                });
                at.push(Some(p));
            }
            Err(Why { words, more, .. }) => {
                p.reasons.push(format!("{what} {words}: {more}"));
                rest.push(p);
            }
        }
    }
    for i in order(&looks, &need) {
        found.list.extend(at.get_mut(i).and_then(Option::take));
    }
    found.list.extend(rest);
    let most = usize::from(args.most);
    found.more += found.list.len().saturating_sub(most);
    found.list.truncate(most);
    Ok(())
}

/// What the order is, in words.
pub const fn told(prefer: Prefer) -> &'static str {
    match prefer {
        Prefer::Parcel => {
            "the cheapest parcel first, as a usual style and board make it; parcel classes are those of the table file"
        }
        Prefer::Pallet => "most cases on a pallet first, as a usual style and board make them",
        _ => {
            "most strength left in a stack first, as a usual style and board make it; an estimate, not a test"
        }
    }
}

fn candidate(p: &Proposal, args: &SizeArgs, desk: &Desk) -> Result<Candidate, Vec<Diag>> {
    let name = args.style.as_deref().unwrap_or(usual_style(p));
    let Some(text) = desk.style(name) else {
        return Err(unknown("style", name, &desk.style_names(), desk));
    };
    let style = Arc::new(parse_style(&text, desk)?);
    let name = args.board.as_deref().unwrap_or(usual_board(p));
    let boards = read_boards(&desk.boards())?;
    let Some(board) = boards.get(name).cloned() else {
        let known: Vec<String> = boards.names().iter().map(|n| (*n).to_owned()).collect();
        return Err(unknown("board", name, &known, desk));
    };
    Ok(Candidate {
        inside: p.inside,
        style,
        board,
        way: Creasing::Rule,
    })
}

fn unknown(what: &str, name: &str, known: &[String], desk: &Desk) -> Vec<Diag> {
    let code = if what == "style" {
        "unknown-style"
    } else {
        "unknown-board"
    };
    vec![
        Diag::error(code, format!("there is no {what} `{name}`"))
            .at(option(desk, &format!("--{what}"), name))
            .help(suggestion(name, known.iter().map(String::as_str))),
    ]
}

fn words(look: &Look, prefer: Prefer) -> String {
    let o = &look.outlook;
    match prefer {
        Prefer::Parcel => match o.parcel.chosen.and_then(|i| o.parcel.offers.get(i)) {
            Some(offer) => format!(
                "parcel class `{}` for {:.2}, charged for {} kg",
                offer.class,
                offer.price,
                trimmed(o.parcel.charged.to_kg(), 2)
            ),
            None => "no parcel class takes it".to_owned(),
        },
        Prefer::Pallet => format!("{} cases on a pallet", look.on_pallet()),
        _ => format!(
            "{} to {} N left in a stack after a month at half humidity",
            trimmed(o.left.least.to_n(), 0),
            trimmed(o.left.most.to_n(), 0)
        ),
    }
}
