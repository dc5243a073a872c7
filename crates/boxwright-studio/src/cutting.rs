//! A layout cut by a machine: its programs, told stroke by stroke and moment by moment, and its files.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use boxwright::board::{Figure, Measured, known_kerf};
use boxwright::cut::play::{Leg, play};
use boxwright::cut::{Cost, Options, Program, Tally, cost, program, prove};
use boxwright::diag::Diag;
use boxwright::emit::bundle::stem;
use boxwright::emit::dxf::DxfOptions;
use boxwright::emit::gcode::{About, cautions, gcode};
use boxwright::emit::job_card::job_card;
use boxwright::emit::layout::{layout_dxf, layout_svg, pages};
use boxwright::emit::pdf::pdf;
use boxwright::emit::scene::{ToPage, path_data};
use boxwright::emit::svg::SvgOptions;
use boxwright::geom::DVec2;
use boxwright::learn::length_words;
use boxwright::machine::Machine;
use boxwright::sheet::{LaidSheet, Proved, read_layout};
use boxwright::source::Text;
use boxwright::units::{Length, LengthUnit, trimmed};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use crate::folder::{Held, Sort};
use crate::refuse::Refuse;
use crate::sheets;
use crate::shelf::Shelf;
use crate::solid::rounded;
use crate::wire::{
    CutAsk, CutCost, CutFileKind, CutLeg, CutOutput, CutSheet, CutShown, CutStroke, CutTotal,
    MachineLine, Unit,
};

/// Cuts worked out last that are kept, so that a file is not worked out again.
const MOST_KEPT: usize = 4;
/// Faults of a program that are told.
const MOST_FAULTS: usize = 3;

/// A layout, a machine and what it does.
pub struct Cut {
    layout: Proved,
    machine: Machine,
    line: MachineLine,
    programs: Vec<Program>,
    /// Measured kerfs that it is cut with, by board.
    kerfs: Vec<(String, Figure<Length>)>,
}

/// What makes two cuts the same.
#[derive(Clone, Debug, PartialEq)]
struct Key {
    layout: String,
    /// Name and text of the machine file.
    machine: (String, String),
    nicks: bool,
    lead_in: bool,
    measured: Vec<Measured>,
}

/// The cuts worked out last.
#[derive(Default)]
pub struct Cuts(Mutex<Vec<(Key, Arc<Cut>)>>);

/// A layout of the folder, proved.
///
/// # Errors
/// There is none, or it is not sound.
pub fn layout(shelf: &Shelf, name: &str) -> Result<(Held, Proved), Refuse> {
    let folder = shelf
        .folder()
        .ok_or_else(|| Refuse::absent("no-folder", "no folder is opened"))?;
    let held = folder.read_as(Sort::Layout, name)?;
    let text = Text {
        name: name.to_owned(),
        text: held.text.clone(),
    };
    let layout = read_layout(&text).map_err(|d| Refuse::of_diags("not-a-layout", &d))?;
    Ok((held, layout))
}

impl Cuts {
    /// Works a cut out, or takes it from those worked out last. `stop` ends the search for an order
    /// early; what comes of it then is not kept.
    ///
    /// # Errors
    /// The layout or the machine cannot be read, or the machine cannot cut it.
    pub fn cut(&self, shelf: &Shelf, ask: &CutAsk, stop: &AtomicBool) -> Result<Arc<Cut>, Refuse> {
        let (held, layout) = layout(shelf, &ask.layout).map_err(|no| {
            // It stands in a body: what cannot be a name is no file either.
            if no.code == "bad-name" {
                Sort::Layout.none(&ask.layout)
            } else {
                no
            }
        })?;
        let text = shelf.machine_text(&ask.machine)?;
        let measured = shelf.measured();
        let measured = measured.map_err(|d| Refuse::of_diags("not-cut", &d))?;
        let key = Key {
            layout: held.stamp,
            machine: (text.name.clone(), text.text.clone()),
            nicks: ask.nicks,
            lead_in: ask.lead_in,
            measured: measured.clone(),
        };
        let lock = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, cut)) = lock().iter().find(|(k, _)| *k == key) {
            return Ok(Arc::clone(cut));
        }
        let mut machine = shelf.machine(&ask.machine)?;
        let laid = layout.sheets.iter().map(|s| s.stock);
        let laid = laid.filter_map(|s| layout.stock.get(s));
        let kerfs = kerfs(&mut machine, laid.map(|p| p.board.as_str()), &measured);
        let programs = programs(shelf, &layout, &machine, ask, stop)?;
        let cut = Arc::new(Cut {
            line: line(&ask.machine, &machine),
            layout,
            machine,
            programs,
            kerfs,
        });
        if !stop.load(Ordering::Relaxed) {
            let mut kept = lock();
            if kept.len() >= MOST_KEPT {
                kept.remove(0);
            }
            kept.push((key, Arc::clone(&cut)));
        }
        Ok(cut)
    }
}

/// A machine in the list.
#[must_use]
pub fn line(name: &str, machine: &Machine) -> MachineLine {
    MachineLine {
        name: name.to_owned(),
        own: name.ends_with(".kdl"),
        title: machine.title.clone(),
        bed: machine.bed.map(Length::to_mm),
    }
}

fn programs(
    shelf: &Shelf,
    layout: &Proved,
    machine: &Machine,
    ask: &CutAsk,
    stop: &AtomicBool,
) -> Result<Vec<Program>, Refuse> {
    let options = Options {
        nicks: ask.nicks,
        lead_in: ask.lead_in,
        ..Options::default()
    };
    let one = |sheet: usize| -> Result<Program, Refuse> {
        let with = (machine, shelf.boards());
        let mut stop = || stop.load(Ordering::Relaxed);
        let told = |d: Vec<Diag>| {
            let mut no = Refuse::of_diags("not-cut", &d);
            no.message = format!("sheet {}: {}", sheet + 1, no.message);
            no
        };
        program(layout, sheet, with, &options, None, &mut stop).map_err(told)
    };
    // Sheets with the same on them are cut in the same way, and each is worked out alone.
    let first = |n: usize| {
        let same = |s: &LaidSheet| *s == layout.sheets[n];
        layout.sheets.iter().position(same).unwrap_or(n)
    };
    let found: Vec<Option<Result<Program, Refuse>>> = (0..layout.sheets.len())
        .into_par_iter()
        .map(|n| (first(n) == n).then(|| one(n)))
        .collect();
    let mut made = Vec::new();
    for n in 0..layout.sheets.len() {
        let p = match found.get(first(n)) {
            Some(Some(p)) => Program {
                sheet: n,
                ..p.clone()?
            },
            _ => one(n)?,
        };
        // Nothing that fails its own proof is shown or written.
        let faults = prove(&p, layout, machine);
        if !faults.is_empty() {
            let faults = faults.iter().take(MOST_FAULTS).map(ToString::to_string);
            let words = faults.collect::<Vec<_>>().join("; ");
            let message = format!("the program of sheet {} does not hold: {words}", n + 1);
            return Err(Refuse::conflict("program-not-sound", message)
                .help("this is a fault of the program; please keep the layout and report it"));
        }
        made.push(p);
    }
    Ok(made)
}

/// The measured kerf of each of these boards, put into the machine, as the command line does.
fn kerfs<'b>(
    machine: &mut Machine,
    boards: impl Iterator<Item = &'b str>,
    all: &[Measured],
) -> Vec<(String, Figure<Length>)> {
    let mut used: Vec<(String, Figure<Length>)> = Vec::new();
    for board in boards {
        if used.iter().all(|(b, _)| b != board)
            && let Some(f) = known_kerf(all, board, &machine.name)
            && machine.take_kerf(board, f.value)
        {
            used.push((board.to_owned(), f));
        }
    }
    used
}

impl Cut {
    /// Everything the page shows of it.
    #[must_use]
    pub fn shown(&self) -> CutShown {
        let total = self
            .programs
            .iter()
            .fold(Tally::default(), |sum, p| sum.with(&p.tally));
        CutShown {
            layout: sheets::shown(&self.layout),
            machine: self.line.clone(),
            sheets: self.programs.iter().map(|p| self.sheet(p)).collect(),
            total: self.total(&total, &self.programs),
            cautions: cautions(self.machine.kind)
                .iter()
                .map(ToString::to_string)
                .collect(),
            notes: self.notes(&total),
            outputs: self.outputs(),
        }
    }

    fn sheet(&self, p: &Program) -> CutSheet {
        let page = ToPage {
            origin: DVec2::new(0.0, p.size.y),
            scale: 1.0,
        };
        let legs = play(p, &self.machine);
        let span = |i: usize| {
            let leg = legs.iter().find(|l| l.stroke == Some(i));
            let moments = leg.map_or(&[][..], |l| &l.moments[..]);
            let at = |m: Option<&(DVec2, f64)>| m.map_or(0.0, |m| rounded(m.1));
            (at(moments.first()), at(moments.last()))
        };
        let strokes = p.strokes.iter().enumerate().map(|(i, s)| {
            let (begins, ends) = span(i);
            let powered = self.machine.tools.get(s.tool).is_some_and(|t| t.powered);
            CutStroke {
                use_: s.line_use.into(),
                way: s.way.words(),
                d: path_data(&page.path(&s.path)),
                length: rounded(s.path.length()),
                speed: s.speed,
                power: powered.then_some(s.power),
                passes: s.passes,
                of: s.of.iter().filter_map(|n| u32::try_from(*n).ok()).collect(),
                begins,
                ends,
            }
        });
        CutSheet {
            strokes: strokes.collect(),
            track: legs.iter().map(|l| leg(l, page)).collect(),
            total: self.total(&p.tally, std::slice::from_ref(p)),
        }
    }

    fn total(&self, t: &Tally, programs: &[Program]) -> CutTotal {
        let c: Cost = cost(&self.layout, &self.machine, programs);
        let item = |what: String, amount: f64| CutCost { what, amount };
        CutTotal {
            seconds: t.seconds,
            cut: t.cut,
            marked: t.marked,
            travel: t.travel,
            joules: self.machine.full_power.map(|_| t.joules),
            nicks: u32::try_from(t.nicks).unwrap_or(u32::MAX),
            by_hand: t.by_hand,
            costs: vec![
                item(format!("board ({:.2} of it in no part)", c.waste), c.board),
                item("machine".to_owned(), c.machine),
                item(
                    format!(
                        "hands ({} h to take out, fold and join)",
                        trimmed(c.hand_hours, 2)
                    ),
                    c.hands,
                ),
                item("in all".to_owned(), c.total),
            ],
        }
    }

    fn notes(&self, total: &Tally) -> Vec<String> {
        let kerf = |(board, f): &(String, Figure<Length>)| {
            format!(
                "cut with the kerf measured in board {board}: {}",
                length_words(f)
            )
        };
        let mut notes: Vec<String> = self.kerfs.iter().map(kerf).collect();
        let all = self.programs.iter().flat_map(|p| &p.notes);
        let told = all.map(|d| match &d.help {
            Some(help) => format!("{}: {help}", d.message),
            None => d.message.clone(),
        });
        for text in told {
            if !notes.contains(&text) {
                notes.push(text);
            }
        }
        if total.by_hand > 0.0 {
            let metres = trimmed(total.by_hand / 1000.0, 2);
            notes.push(format!("{metres} m of lines are left to be made by hand"));
        }
        notes
    }

    fn names(&self, kind: CutFileKind) -> Vec<String> {
        let stem = stem(&self.layout.title);
        let each = |end: &str| {
            let names = (1..=self.layout.sheets.len()).map(|n| format!("{stem}-sheet-{n}.{end}"));
            names.collect()
        };
        match kind {
            CutFileKind::Gcode => each("gcode"),
            CutFileKind::Dxf => each("dxf"),
            CutFileKind::Svg => each("svg"),
            CutFileKind::Pdf | CutFileKind::Card if self.layout.sheets.is_empty() => Vec::new(),
            CutFileKind::Card => vec![format!("{stem}-card.pdf")],
            CutFileKind::Pdf => vec![format!("{stem}-layout.pdf")],
        }
    }

    fn outputs(&self) -> Vec<CutOutput> {
        let all = [
            (CutFileKind::Gcode, "machine code"),
            (CutFileKind::Dxf, "lines for other programs"),
            (CutFileKind::Svg, "the same lines as a picture in true size"),
            (CutFileKind::Pdf, "every sheet on paper"),
            (CutFileKind::Card, "job card for the bench"),
        ];
        all.map(|(kind, label)| CutOutput {
            kind,
            label: label.to_owned(),
            names: self.names(kind),
        })
        .into()
    }

    /// A file, to the byte as the command line writes it.
    ///
    /// # Errors
    /// There is no such sheet, or the file cannot be made.
    pub fn file(
        &self,
        kind: CutFileKind,
        unit: Unit,
        n: usize,
    ) -> Result<(String, Vec<u8>), Refuse> {
        let name = self.names(kind).into_iter().nth(n);
        let name = name.ok_or_else(|| {
            Refuse::absent("no-sheet", format!("this layout has no sheet {}", n + 1))
        })?;
        let bytes = match kind {
            CutFileKind::Gcode => {
                let none = || Refuse::absent("no-sheet", "this layout has no such sheet");
                let p = self.programs.get(n).ok_or_else(none)?;
                gcode(p, &self.machine, &About::of(&self.layout, p.sheet)).into_bytes()
            }
            CutFileKind::Dxf => layout_dxf(&self.layout, n, &DxfOptions::default()).into_bytes(),
            CutFileKind::Svg => layout_svg(&self.layout, n, &SvgOptions::default()).into_bytes(),
            CutFileKind::Pdf => {
                let unit: LengthUnit = unit.into();
                pdf(&pages(&self.layout, unit), &self.layout.title)
                    .map_err(|d| Refuse::of_diags("not-made", &[d]))?
            }
            CutFileKind::Card => {
                let names: Vec<Vec<String>> = self
                    .names(CutFileKind::Gcode)
                    .into_iter()
                    .map(|n| vec![n])
                    .collect();
                let (layout, machine) = (&self.layout, &self.machine);
                let card = job_card(layout, machine, &self.programs, &names, unit.into());
                pdf(&card, &format!("job card, {}", layout.title))
                    .map_err(|d| Refuse::of_diags("not-made", &[d]))?
            }
        };
        Ok((name, bytes))
    }
}

fn leg(l: &Leg, page: ToPage) -> CutLeg {
    let moment = |(p, t): &(DVec2, f64)| {
        let at = page.point(*p);
        [at.x, at.y, *t].map(rounded)
    };
    CutLeg {
        stroke: l.stroke.and_then(|n| u32::try_from(n).ok()),
        points: l.moments.iter().flat_map(moment).collect(),
    }
}
