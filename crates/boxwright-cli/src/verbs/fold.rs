//! `fold`: reads a flat file drawn by anyone, folds it and measures it.

use std::path::Path;

use boxwright::blank::SoundPlan;
use boxwright::board::read_boards;
use boxwright::brief::{board_of, equipped};
use boxwright::check::{self, Finding, Verdict};
use boxwright::diag::{Diag, Named};
use boxwright::emit::bundle::{BundleOptions, Kind, bundle};
use boxwright::flatfile::{
    Drawing, Folded, Role, Wishes, fold, job_as_drawn, read, report, style_as_drawn,
};
use boxwright::fold::Folder;
use boxwright::geom::DVec2;
use boxwright::source::Door as _;
use boxwright::units::{Angle, Length, LengthUnit, trimmed};

use super::{Done, Status};
use crate::args::{Flutes, FoldArgs, Spot};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::say::{self, counted, line};
use crate::{folder, overrides};

/// Runs it.
pub fn run(args: &FoldArgs, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let board = Named {
        name: args.board.clone(),
        place: overrides::option(desk, "--board", &args.board),
    };
    let mut job = job_as_drawn(board);
    job.creasing = args.crease.0;
    let wrong = overrides::measured(
        &mut job,
        args.caliper.as_deref(),
        args.axis_depth.as_deref(),
        desk,
    );
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let board = board_of(&job, &read_boards(&desk.boards())?)?;
    let brief = equipped(job, style_as_drawn(), board);
    let text = desk.flat_file(&args.file).map_err(|d| vec![d])?;
    let drawing = read(&text, args.unit.map(Into::into))?;
    let folded = fold(&drawing, &wishes(args), brief)?;
    pictures(args, &folded)?;
    let text = if args.json {
        report(&drawing, &folded).to_json().map_err(|d| vec![d])?
    } else {
        words(&drawing, &folded, args)
    };
    let status = match folded.verdict() {
        Verdict::Pass | Verdict::Caution => Status::Fine,
        Verdict::Fail => Status::Failed,
    };
    Done::saying(&text, status, Vec::new())
}

fn point(s: Spot) -> DVec2 {
    DVec2::new(s[0], s[1])
}

fn wishes(args: &FoldArgs) -> Wishes {
    let lists = [
        (Role::Cut, &args.cut),
        (Role::CreaseInward, &args.crease_in),
        (Role::CreaseOutward, &args.crease_out),
        (Role::Ignored, &args.ignore),
    ];
    let roles = lists
        .into_iter()
        .flat_map(|(role, list)| list.iter().map(move |w| (role, w.clone())))
        .collect();
    let turned = args
        .angle
        .iter()
        .map(|(p, deg)| (point(*p), Angle::deg(*deg)));
    let flat = args.flat.iter().map(|p| (point(*p), Angle::ZERO));
    Wishes {
        roles,
        tolerance: Length::mm(args.tolerance),
        root: args.root.map(point),
        angles: turned.chain(flat).collect(),
        flutes_left_right: args.flutes.map(|f| f == Flutes::LeftRight),
        depth: args.depth.map(Into::into),
        laps: args.lap.iter().copied().map(point).collect(),
    }
}

/// The files asked for beside the report.
fn pictures(args: &FoldArgs, folded: &Folded) -> Result<(), Vec<Diag>> {
    let wanted = [(Kind::Preview, &args.png), (Kind::Glb, &args.glb)];
    for (kind, path) in wanted {
        let (Some(path), Some(plan)) = (path, &folded.plan) else {
            continue;
        };
        write(kind, path, folded, plan).map_err(|d| vec![d])?;
    }
    Ok(())
}

fn write(kind: Kind, path: &Path, folded: &Folded, plan: &SoundPlan) -> Result<(), Diag> {
    let found = check::Report {
        findings: folded.findings.clone(),
        room: folded.room.as_ref().map_or([Length::ZERO; 3], |r| r.sizes),
    };
    let opts = BundleOptions {
        kinds: vec![kind],
        ..BundleOptions::default()
    };
    let made = bundle(&folded.brief, plan, &Folder::new(plan), &found, &opts)?;
    match made.files.first() {
        Some((_, bytes)) => folder::write_new(path, bytes),
        None => Ok(()),
    }
}

fn words(drawing: &Drawing, folded: &Folded, args: &FoldArgs) -> String {
    let show: LengthUnit = args.units.into();
    let mut out = String::new();
    line(
        &mut out,
        "file",
        &format!(
            "{}, {}; lengths are {}",
            drawing.input, drawing.format, drawing.unit
        ),
    );
    let [cut, inward, outward, ignored] = folded.lines;
    let mut lines = format!("{cut} cut, {inward} creased inward, {outward} outward");
    if ignored > 0 {
        lines.push_str(&format!(", {ignored} left out"));
    }
    line(&mut out, "lines", &lines);
    let (healed, most) = folded.healed;
    if healed > 0 {
        let text = format!(
            "{} moved onto others, by {} mm at most",
            counted(healed, "line end"),
            trimmed(most.to_mm(), 3)
        );
        line(&mut out, "healed", &text);
    }
    let brief = &folded.brief;
    let m = &brief.material;
    let [along, across] = m.axis_depth.map(|p| trimmed(p, 3));
    let text = format!(
        "{}, {} thick; {} creases turn {along} of it under the face along the flutes, {across} across them",
        m.board,
        show.show(m.caliper),
        m.way.word()
    );
    line(&mut out, "board", &text);
    out.push('\n');
    panels(&mut out, drawing, folded, show);
    out.push('\n');
    room(&mut out, folded, show);
    let mut all: Vec<Finding> = folded
        .faults
        .iter()
        .map(|f| {
            let g = Finding::new(f.code, f.verdict, f.message.clone());
            match &f.cure {
                Some(c) => g.cure(c.clone()),
                None => g,
            }
        })
        .collect();
    all.extend(folded.findings.iter().cloned());
    all.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    line(&mut out, "verdict", &say::verdict(&all, args.all));
    say::findings(&mut out, &all, show, args.all);
    // What was taken for granted is told even where nothing is wrong.
    if !args.all {
        for f in folded.faults.iter().filter(|f| f.verdict == Verdict::Pass) {
            let cure = f.cure.as_ref().map_or(String::new(), |c| format!("; {c}"));
            line(&mut out, "note", &format!("{}{cure}", f.message));
        }
        for f in folded
            .findings
            .iter()
            .filter(|f| f.code == "motion-not-checked")
        {
            line(&mut out, "note", &f.message);
        }
    }
    cleaned(&out)
}

fn panels(out: &mut String, drawing: &Drawing, folded: &Folded, show: LengthUnit) {
    let Some(blank) = &folded.blank else { return };
    let size = format!(
        "{} x {} {}",
        show.number(blank.figures.length),
        show.number(blank.figures.width),
        show.symbol()
    );
    let hinges = blank.panels.iter().filter(|p| p.crease.is_some()).count();
    let text = format!(
        "{size}: {}, {}, {} of creases, {} of cuts, {}",
        counted(blank.panels.len(), "panel"),
        counted(hinges, "crease"),
        say::run(blank.figures.crease_length, show),
        say::run(blank.figures.cut_length, show),
        say::area(blank.figures.area, show)
    );
    line(out, "blank", &text);
    out.push('\n');
    let mut rows = vec![
        ["panel", "hangs on", "middle at, mm", "size", "folds"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for p in &blank.panels {
        let at = folded.in_file(drawing, p.place.point(p.outline.bounds().centre()));
        let crease = p.crease.map(|c| &blank.creases[c]);
        let mut folds = crease.map_or(String::new(), |c| {
            format!("{} {} deg", side(c.side), trimmed(c.angle.to_deg(), 1))
        });
        if p.may_intrude {
            folds.push_str(", a lap");
        }
        rows.push(vec![
            p.name.clone(),
            p.parent
                .map_or(String::new(), |q| blank.panels[q].name.clone()),
            format!("{}, {}", trimmed(at.x, 1), trimmed(at.y, 1)),
            format!("{} x {}", show.number(p.breadth), show.number(p.reach)),
            folds,
        ]);
    }
    say::table(out, &rows);
}

fn side(s: boxwright::style::FoldSide) -> &'static str {
    match s {
        boxwright::style::FoldSide::Inward => "inward",
        boxwright::style::FoldSide::Outward => "outward",
    }
}

fn room(out: &mut String, folded: &Folded, show: LengthUnit) {
    let Some(room) = &folded.room else { return };
    line(
        out,
        "clear room",
        &format!("{}, length x width x depth", say::sizes(room.sizes, show)),
    );
    let words = ["left", "right", "near", "far", "below", "above"];
    let stops: Vec<String> = words
        .iter()
        .zip(&room.stops)
        .map(|(w, s)| format!("{w} {}", s.as_deref().unwrap_or("open")))
        .collect();
    line(
        out,
        "",
        &format!("bounded, seen from the root: {}", stops.join(", ")),
    );
}
