//! From what was typed into the page to a job, with every message at its field.

use boxwright::board::Creasing;
use boxwright::diag::{Diag, Place};
use boxwright::job::{
    ASKED, DrawingFacts, Flutes, Job, asked_size, outside_constant, outside_contents,
    outside_fitments, outside_marks, outside_setting, outside_splits,
};
use boxwright::source::Text;
use boxwright::style::{Named, Style};
use boxwright::units::{Dim, Length};

use crate::tongue;
use crate::wire::{FieldError, State};

/// The whole text of a field as a place.
fn place(field: &str, text: &str) -> Place {
    Place {
        input: field.to_owned(),
        start: 0,
        end: text.len(),
    }
}

fn named(field: &str, text: &str) -> Named {
    Named {
        name: text.to_owned(),
        place: place(field, text),
    }
}

/// The job that a state asks for.
///
/// # Errors
/// Every message about what was typed; the input of its place is the field's name.
pub fn job(state: &State) -> Result<Job, Vec<Diag>> {
    let mut diags = Vec::new();
    let mut inside = [Length::ZERO; 3];
    for ((name, text), size) in ASKED.iter().zip(state.inside.all()).zip(&mut inside) {
        let field = format!("inside.{name}");
        match length(&field, text) {
            Ok(l) => match asked_size(l) {
                Ok(l) => *size = l,
                Err((code, message)) => {
                    diags.push(Diag::error(code, message).at(place(&field, text)));
                }
            },
            Err(d) => diags.push(*d),
        }
    }
    let mut positive = |field: &str, text: &str| match length(field, text) {
        Ok(l) if l > Length::ZERO => Some(l),
        Ok(_) => {
            diags.push(
                Diag::error("not-positive", "this must be more than zero").at(place(field, text)),
            );
            None
        }
        Err(d) => {
            diags.push(*d);
            None
        }
    };
    let caliper = state.caliper.as_ref().and_then(|t| positive("caliper", t));
    let mut pair = |name: &str, texts: &Option<[String; 2]>| {
        let [a, b] = texts.as_ref()?;
        let a = positive(&format!("{name}.0"), a);
        let b = positive(&format!("{name}.1"), b);
        Some([a?, b?])
    };
    let sheet = pair("sheet", &state.sheet);
    let bed = pair("bed", &state.bed);
    if let Some(p) = state.axis_depth {
        for (name, share) in [("along", p.along), ("across", p.across)] {
            if !(0.0..=1.0).contains(&share) {
                let message = "a fold axis depth lies between 0 and 1";
                let field = format!("axisDepth.{name}");
                diags.push(Diag::error("out-of-range", message).at(place(&field, "")));
            }
        }
    }
    if state.quantity == 0 {
        let message = "a whole number of cases is needed here";
        diags.push(Diag::error("wrong-kind", message).at(place("quantity", "0")));
    }
    let mut set = Vec::new();
    for (name, text) in &state.set {
        let field = format!("set.{name}");
        match outside_setting(&field, text) {
            Ok(formula) => set.push((named(&field, name), formula)),
            Err(d) => diags.extend(d),
        }
    }
    let fitments = kept("fitments", &state.fitments, outside_fitments, &mut diags);
    let contents = kept("contents", &state.contents, outside_contents, &mut diags);
    let splits = kept("splits", &state.splits, outside_splits, &mut diags);
    let marks = kept("marks", &state.marks, outside_marks, &mut diags);
    if !diags.is_empty() {
        return Err(diags);
    }
    let facts = &state.drawing;
    Ok(Job {
        title: state.title.clone(),
        style: named("style", &state.style),
        board: named("board", &state.board),
        board_files: state
            .board_files
            .iter()
            .map(|f| named("boardFiles", f))
            .collect(),
        inside,
        inside_place: place("inside.length", &state.inside.length),
        creasing: Creasing::from(state.crease),
        axis_depth: state.axis_depth.map(|p| [p.along, p.across]),
        caliper,
        measured: Vec::new(),
        set,
        fitments,
        contents,
        splits,
        marks,
        sheet,
        bed,
        quantity: state.quantity,
        flutes: Flutes::Kept,
        drawing: DrawingFacts {
            owner: facts.owner.clone(),
            creator: facts.creator.clone(),
            approved: facts.approved.clone(),
            number: facts.number.clone(),
            date: facts.date.clone(),
        },
    })
}

/// What the page keeps as the job file writes it. One text, so that names are told apart among all.
fn kept<T>(
    name: &str,
    texts: &[String],
    read: fn(&Text) -> Result<Vec<T>, Vec<Diag>>,
    diags: &mut Vec<Diag>,
) -> Vec<T> {
    let text = Text {
        name: name.to_owned(),
        text: texts.join("\n"),
    };
    read(&text).unwrap_or_else(|d| {
        diags.extend(d);
        Vec::new()
    })
}

fn length(field: &str, text: &str) -> Result<Length, Box<Diag>> {
    outside_constant(&place(field, text), text, Dim::LENGTH).map(Length::mm)
}

/// Sorts messages into those that belong to a field of the page and those that do not. A message
/// about a place in the style file belongs to the parameter or asked size that it speaks of.
pub fn told(
    diags: &[Diag],
    state: &State,
    style: Option<&Style>,
) -> (Vec<FieldError>, Vec<FieldError>) {
    let mut fields = Vec::new();
    let mut notes = Vec::new();
    for d in diags {
        let (field, start, end) = match &d.place {
            Some(p) if is_field(&p.input) => {
                let text = text_of(state, &p.input).unwrap_or_default();
                (p.input.clone(), units(text, p.start), units(text, p.end))
            }
            Some(p) => (style.and_then(|s| blamed(s, p)).unwrap_or_default(), 0, 0),
            None => (String::new(), 0, 0),
        };
        let line = FieldError {
            field,
            code: d.code.to_owned(),
            message: d.message.clone(),
            message_in: tongue::inches(&d.message),
            help: d.help.clone(),
            start,
            end,
        };
        let list = if line.field.is_empty() {
            &mut notes
        } else {
            &mut fields
        };
        if !list.contains(&line) {
            list.push(line);
        }
    }
    (fields, notes)
}

fn is_field(input: &str) -> bool {
    const WHOLE: [&str; 5] = ["style", "board", "caliper", "quantity", "boardFiles"];
    const BEFORE_A_DOT: [&str; 5] = ["inside", "set", "sheet", "bed", "axisDepth"];
    WHOLE.contains(&input)
        || input
            .split_once('.')
            .is_some_and(|(head, _)| BEFORE_A_DOT.contains(&head))
}

fn text_of<'a>(state: &'a State, field: &str) -> Option<&'a str> {
    let of_pair = |pair: &'a Option<[String; 2]>, at: &str| {
        let at: usize = at.parse().ok()?;
        pair.as_ref()?.get(at).map(String::as_str)
    };
    match field.split_once('.') {
        Some(("inside", name)) => {
            let at = ASKED.iter().position(|a| *a == name)?;
            state.inside.all().get(at).copied()
        }
        Some(("set", name)) => state.set.get(name).map(String::as_str),
        Some(("sheet", at)) => of_pair(&state.sheet, at),
        Some(("bed", at)) => of_pair(&state.bed, at),
        _ => match field {
            "style" => Some(&state.style),
            "board" => Some(&state.board),
            "caliper" => state.caliper.as_deref(),
            _ => None,
        },
    }
}

/// A byte offset in UTF-16 units.
fn units(text: &str, offset: usize) -> u32 {
    let mut end = offset.min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let count = text[..end].encode_utf16().count();
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// The field that a message at a place of the style file, or of a kit it draws on, is about.
fn blamed(style: &Style, place: &Place) -> Option<String> {
    let within = |outer: &Place| {
        outer.input == place.input && outer.start <= place.start && place.end <= outer.end
    };
    let parameter = |p: &&boxwright::style::Parameter| {
        let bounds = p.min.iter().chain(&p.max);
        within(&p.place) || within(&p.default.place) || bounds.into_iter().any(|f| within(&f.place))
    };
    if let Some(p) = style.parameters.iter().find(parameter) {
        return Some(format!("set.{}", p.name));
    }
    let r = style.requires.iter().find(|r| within(&r.condition.place))?;
    let names = r.condition.expr.names();
    let known = |name: &&String| style.parameters.iter().any(|p| p.name == **name);
    let set = names.iter().map(|(n, _, _)| n).find(known);
    let asked = ASKED
        .iter()
        .find(|a| names.iter().any(|(n, _, _)| n == *a))
        .map(|a| format!("inside.{a}"));
    asked.or_else(|| set.map(|n| format!("set.{n}")))
}
