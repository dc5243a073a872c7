//! Which line is cut and which is creased: as asked, else by the words this program writes itself.

use super::model::{Drawing, Fault, Group, Role};
use crate::check::Verdict;
use crate::diag::Diag;

/// What a layer, group or class with this name is for. Our own words first, then plain ones of the
/// trade that say no side.
fn known(name: &str) -> Option<(Role, bool)> {
    Some(match name.to_lowercase().as_str() {
        "cut" => (Role::Cut, true),
        "crease-inward" => (Role::CreaseInward, true),
        "crease-outward" => (Role::CreaseOutward, true),
        "engrave" | "board" => (Role::Ignored, true),
        "perforation" | "crease" => (Role::CreaseInward, false),
        _ => return None,
    })
}

/// The role of each group.
///
/// # Errors
/// One message with everything found when a group cannot be told.
pub(super) fn roles(
    drawing: &Drawing,
    asked: &[(Role, String)],
) -> Result<(Vec<Role>, Vec<Fault>), Vec<Diag>> {
    let mut out = Vec::with_capacity(drawing.groups.len());
    let mut unsure: Vec<&str> = Vec::new();
    let mut untold: Vec<&Group> = Vec::new();
    for g in &drawing.groups {
        let role = asked
            .iter()
            .find(|(_, word)| answers(g, word))
            .map(|(r, _)| (*r, true));
        match role.or_else(|| g.names.iter().find_map(|n| known(n))) {
            Some((role, sure)) => {
                if !sure {
                    unsure.extend(g.names.first().map(String::as_str));
                }
                out.push(role);
            }
            None => {
                untold.push(g);
                out.push(Role::Ignored);
            }
        }
    }
    let mut wrong: Vec<Diag> = asked
        .iter()
        .filter(|(_, word)| !drawing.groups.iter().any(|g| answers(g, word)))
        .map(|(_, word)| {
            Diag::error(
                "unknown-layer",
                format!("no line has the layer or colour `{word}`"),
            )
            .help(format!("found: {}", listed(drawing)))
        })
        .collect();
    if !untold.is_empty() {
        wrong.push(unclear(drawing, &untold));
    } else if drawing.strokes.is_empty() {
        let others: Vec<String> = drawing
            .others
            .iter()
            .map(|(k, n)| format!("{n} {k}"))
            .collect();
        let also = if others.is_empty() {
            String::new()
        } else {
            format!(", only {}", others.join(", "))
        };
        wrong.push(
            Diag::error(
                "no-lines",
                format!("`{}` holds no lines{also}", drawing.input),
            )
            .help("draw cut and crease lines as lines, arcs or polylines"),
        );
    } else if !out.contains(&Role::Cut) {
        wrong.push(
            Diag::error(
                "no-cut-lines",
                "no line is cut, so nothing bounds the blank",
            )
            .help(format!(
                "say which are cut: --cut LAYER; found: {}",
                listed(drawing)
            )),
        );
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut faults = Vec::new();
    if !unsure.is_empty() {
        unsure.sort_unstable();
        unsure.dedup();
        let names: Vec<String> = unsure.iter().map(|n| format!("`{n}`")).collect();
        faults.push(
            Fault::new(
                "fold-side-assumed",
                Verdict::Pass,
                format!(
                    "the lines of {} are taken to fold inward",
                    names.join(" and ")
                ),
            )
            .cure("--crease-out LAYER folds them away from the inside face"),
        );
    }
    Ok((out, faults))
}

fn answers(g: &Group, word: &str) -> bool {
    g.names.iter().any(|n| n.eq_ignore_ascii_case(word))
        || g.colours.iter().any(|c| c.eq_ignore_ascii_case(word))
}

fn listed(drawing: &Drawing) -> String {
    let all: Vec<String> = drawing.groups.iter().map(said).collect();
    all.join(", ")
}

fn said(g: &Group) -> String {
    let name = g.names.first().map_or("no layer", String::as_str);
    let colour = g
        .colours
        .first()
        .map_or(String::new(), |c| format!(", colour {c}"));
    let word = if g.lines == 1 { "line" } else { "lines" };
    format!("`{name}`{colour} ({} {word})", g.lines)
}

fn unclear(drawing: &Drawing, untold: &[&Group]) -> Diag {
    // A layer that holds all of them tells nothing apart; their colours may.
    let one_layer = untold.len() > 1
        && untold
            .iter()
            .all(|g| g.names.first() == untold[0].names.first());
    let word = untold
        .first()
        .and_then(|g| {
            let (name, colour) = (g.names.first(), g.colours.first());
            if one_layer {
                colour.or(name)
            } else {
                name.or(colour)
            }
        })
        .map_or("LAYER", String::as_str);
    let shown = if word
        .chars()
        .all(|c| c.is_ascii_alphanumeric() || "-_".contains(c))
    {
        word.to_owned()
    } else {
        format!("\"{word}\"")
    };
    Diag::error(
        "unclear-lines",
        format!(
            "it does not say what these lines are for: {}",
            untold.iter().map(|g| said(g)).collect::<Vec<_>>().join(", ")
        ),
    )
    .help(format!(
        "say so for each by layer or colour, such as --cut {shown}, --crease-in {shown}, --crease-out {shown} or --ignore {shown}; in the whole file: {}",
        listed(drawing)
    ))
}
