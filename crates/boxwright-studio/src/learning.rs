//! Test strips, what was read on them, and the measured figures that are kept in the folder.

use std::fmt::Write as _;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use boxwright::blank::SoundPlan;
use boxwright::board::{Figure, Known, Measured};
use boxwright::brief::{Brief, board_of, fitted};
use boxwright::check::check;
use boxwright::diag::{Diag, line_column};
use boxwright::emit::bundle::{BundleOptions, Kind, bundle};
use boxwright::emit::coupon::coupon_pages;
use boxwright::emit::pdf::pdf;
use boxwright::fold::Folder as Folding;
use boxwright::job::parse_job;
use boxwright::learn::{
    Coupon, Learned, TEST_STRIP, TEST_STRIP_FILE, blank_measurements, learn, length_words,
    read_measurements, share_words,
};
use boxwright::source::{Shipped, Text};
use boxwright::style::parse_style;
use boxwright::units::{Length, trimmed};
use boxwright_store::{Kept, Store};

use crate::refuse::Refuse;
use crate::shelf::Shelf;
use crate::stock::{open, refused};
use crate::tongue;
use crate::wire::{
    ChannelRead, FieldError, FigureShown, Fit, GaugeRead, MeasuredBook, MeasuredSet, Readings,
    StripsAsk, StripsFile, StripsShown,
};

/// Shown where files for a cutter are had; the same as the command line says.
const LASER: &str = "On a laser, corrugated board flares up: never leave it running alone, keep \
    an extinguisher at hand and the extraction on, and keep to the machine's manual and the \
    fire rules of your site.";
/// Fewest and most strips for each direction.
const STRIPS: Range<u32> = 2..51;
/// The file to fill in.
const MEASUREMENTS: &str = "measurements.kdl";

fn coupon(shelf: &Shelf, ask: &StripsAsk) -> Result<Coupon, Refuse> {
    if shelf.boards().get(&ask.board).is_none() {
        let message = format!("there is no board `{}`", ask.board);
        return Err(Refuse::conflict("unknown-board", message));
    }
    if !STRIPS.contains(&ask.strips) {
        let message = "2 to 50 strips are cut for each direction";
        return Err(Refuse::conflict("not-made", message));
    }
    let machine = match &ask.machine {
        None => None,
        Some(name) => Some(shelf.machine(name)?.name),
    };
    let mut coupon = Coupon::new(&ask.board, machine.as_deref(), ask.crease.into());
    coupon.strips = ask.strips;
    Ok(coupon)
}

/// The files of a set of strips, as the command line writes them.
///
/// # Errors
/// Board or machine is not known.
pub fn files(shelf: &Shelf, ask: &StripsAsk) -> Result<Vec<(String, Vec<u8>)>, Refuse> {
    let coupon = coupon(shelf, ask)?;
    let told = |d: Vec<Diag>| Refuse::of_diags("not-made", &d);
    let one = |d: Diag| told(vec![d]);
    let mut files = vec![(TEST_STRIP_FILE.to_owned(), TEST_STRIP.as_bytes().to_vec())];
    let mut drawn = Vec::new();
    for across in [false, true] {
        let (brief, plan) = strip(shelf, &coupon, across).map_err(told)?;
        let name = format!("strips-{}.kdl", if across { "across" } else { "along" });
        files.push((name, coupon.job(across).into_bytes()));
        let folding = Folding::new(&plan);
        let options = BundleOptions {
            kinds: vec![Kind::Dxf, Kind::Svg],
            ..BundleOptions::default()
        };
        let made = bundle(&brief, &plan, &folding, &check(&brief, &folding), &options);
        files.extend(made.map_err(one)?.files);
        drawn.push(plan);
    }
    let [along, across] = [0, 1].map(|n: usize| drawn.get(n).and_then(|p| p.blanks().first()));
    let (Some(along), Some(across)) = (along, across) else {
        return Err(Refuse::broken());
    };
    let pages = coupon_pages(&coupon, [along, across]);
    let title = format!("first article, board {}", coupon.board);
    files.push(("coupon.pdf".to_owned(), pdf(&pages, &title).map_err(one)?));
    let empty = blank_measurements(&coupon).into_bytes();
    files.push((MEASUREMENTS.to_owned(), empty));
    Ok(files)
}

fn strip(shelf: &Shelf, coupon: &Coupon, across: bool) -> Result<(Brief, SoundPlan), Vec<Diag>> {
    let style = Text {
        name: TEST_STRIP_FILE.to_owned(),
        text: TEST_STRIP.to_owned(),
    };
    let style = Arc::new(parse_style(&style, &Shipped)?);
    let job = parse_job(&Text {
        name: "the strips' job".to_owned(),
        text: coupon.job(across),
    })?;
    let brief = fitted(job, |job| {
        Ok((Arc::clone(&style), board_of(job, shelf.boards())?))
    })?;
    let plan = brief.plan()?.validated().map_err(|_| {
        let message = "the strips cannot be drawn in this board";
        vec![Diag::error("blank-not-sound", message)]
    })?;
    Ok((brief, plan))
}

/// What is made for a set of strips, and a form to fill in.
///
/// # Errors
/// As [`files`].
pub fn strips(shelf: &Shelf, ask: &StripsAsk) -> Result<StripsShown, Refuse> {
    let files = files(shelf, ask)?;
    let coupon = coupon(shelf, ask)?;
    let label = |name: &str| {
        let text = match name {
            TEST_STRIP_FILE => "style of a strip, beside the jobs",
            "strips-along.kdl" => "job of the strips with creases along the flutes",
            "strips-across.kdl" => "job of those with creases across them",
            "coupon.pdf" => "how to measure, and a table to write in",
            MEASUREMENTS => "readings to fill in, for the command line",
            n if n.ends_with(".dxf") => "drawn lines for other programs",
            _ => "picture in true size",
        };
        text.to_owned()
    };
    let channel = ChannelRead {
        drawn: mm(coupon.span),
        ..ChannelRead::default()
    };
    let n = usize::try_from(coupon.strips).unwrap_or(0);
    Ok(StripsShown {
        files: files
            .into_iter()
            .map(|(name, _)| StripsFile {
                label: label(&name),
                name,
            })
            .collect(),
        readings: Readings {
            board: coupon.board.clone(),
            machine: coupon.machine.clone().unwrap_or_default(),
            crease: coupon.way.word().to_owned(),
            step: mm(boxwright::learn::USUAL_STEP),
            caliper: vec![String::new(); 2 * n],
            along: vec![channel.clone(); n],
            across: vec![channel; n],
            gauges: vec![GaugeRead::default(); n],
            ..Readings::default()
        },
        caution: LASER.to_owned(),
    })
}

fn mm(l: Length) -> String {
    format!("{}mm", trimmed(l.to_mm(), 4))
}

/// A measurements file as a form.
///
/// # Errors
/// The first thing wrong in it, with its line.
pub fn readings(text: &str) -> Result<Readings, Refuse> {
    let text = Text {
        name: MEASUREMENTS.to_owned(),
        text: text.to_owned(),
    };
    let m = read_measurements(&text).map_err(|d| {
        let mut no = Refuse::of_diags("not-measurements", &d);
        if let Some(p) = d.first().and_then(|d| d.place.as_ref()) {
            let (line, _) = line_column(&text.text, p.start);
            no.message = format!("line {line}: {}", no.message);
        }
        no
    })?;
    let channels = |n: usize| {
        let all = m.readings.channels[n].iter();
        all.map(|c| ChannelRead {
            drawn: mm(c.drawn),
            inside: mm(c.inside),
            outside: c.outside.map(mm).unwrap_or_default(),
        })
        .collect()
    };
    Ok(Readings {
        board: m.board.name.clone(),
        machine: m
            .machine
            .as_ref()
            .map_or_else(String::new, |m| m.name.clone()),
        crease: m.way.word().to_owned(),
        when: m.when.clone(),
        note: m.note.clone(),
        step: mm(m.readings.step),
        caliper: m.readings.caliper.iter().map(|t| mm(*t)).collect(),
        along: channels(0),
        across: channels(1),
        gauges: m
            .readings
            .gauges
            .iter()
            .map(|g| GaugeRead {
                hole: mm(g.hole),
                piece: mm(g.slug),
            })
            .collect(),
    })
}

/// A measurements file being written, with the place of every field of the form.
#[derive(Default)]
struct Written {
    text: String,
    fields: Vec<(String, Range<usize>)>,
}

impl Written {
    fn put(&mut self, field: String, value: &str) {
        let start = self.text.len();
        self.text.push('"');
        for c in value.chars() {
            match c {
                '"' | '\\' => self.text.extend(['\\', c]),
                c if c.is_control() => self.text.push(' '),
                c => self.text.push(c),
            }
        }
        self.text.push('"');
        self.fields.push((field, start..self.text.len()));
    }
    fn line(&mut self, name: &str, value: &str) {
        let _ = write!(self.text, "    {name} ");
        self.put(name.to_owned(), value);
        self.text.push('\n');
    }
    fn channels(&mut self, way: &str, all: &[ChannelRead]) {
        for (n, c) in all.iter().enumerate() {
            let _ = write!(self.text, "    channel \"{way}\"");
            for (name, value) in [
                ("drawn", &c.drawn),
                ("inside", &c.inside),
                ("outside", &c.outside),
            ] {
                let _ = write!(self.text, " {name}=");
                self.put(format!("{way}.{n}.{name}"), value);
            }
            self.text.push('\n');
        }
    }
}

fn written(r: &Readings) -> Written {
    let mut out = Written::default();
    out.text.push_str("measurements {\n");
    out.line("board", &r.board);
    if !r.machine.trim().is_empty() {
        out.line("machine", &r.machine);
    }
    out.line("crease", &r.crease);
    out.line("when", &r.when);
    out.line("note", &r.note);
    if !r.step.trim().is_empty() {
        out.line("step", &r.step);
    }
    if !r.caliper.is_empty() {
        out.text.push_str("    caliper");
        for (n, value) in r.caliper.iter().enumerate() {
            out.text.push(' ');
            out.put(format!("caliper.{n}"), value);
        }
        out.text.push('\n');
    }
    out.channels("along", &r.along);
    out.channels("across", &r.across);
    for (n, g) in r.gauges.iter().enumerate() {
        out.text.push_str("    gauge hole=");
        out.put(format!("gauges.{n}.hole"), &g.hole);
        out.text.push_str(" piece=");
        out.put(format!("gauges.{n}.piece"), &g.piece);
        out.text.push('\n');
    }
    out.text.push_str("}\n");
    out
}

/// Fits readings; what comes of it, and the figures to keep where there are some.
#[must_use]
pub fn fit(shelf: &Shelf, r: &Readings) -> (Fit, Option<Learned>) {
    let Written { text, fields } = written(r);
    let text = Text {
        name: MEASUREMENTS.to_owned(),
        text,
    };
    let mut empty = 0;
    let found = read_measurements(&text).and_then(|m| {
        empty = m.empty;
        let board = shelf.boards().get(&m.board.name);
        let mut learned = learn(&m, board)?;
        if board.is_none() {
            let message = format!(
                "there is no board `{}`: nothing is held against it",
                m.board.name
            );
            let at = m.board.place.clone();
            let help = "check the name: jobs find the figures by it";
            let d = Diag::warning("unknown-board", message).at(at).help(help);
            learned.warnings.push(d);
        }
        Ok(learned)
    });
    let (diags, learned) = match found {
        Ok(learned) => (learned.warnings.clone(), Some(learned)),
        Err(diags) => (diags, None),
    };
    let told = diags.iter().map(|d| {
        let at = d.place.as_ref().filter(|p| p.input == text.name);
        let field = at.and_then(|p| {
            let holds = |range: &Range<usize>| range.contains(&p.start);
            fields.iter().find(|(_, range)| holds(range))
        });
        FieldError {
            field: field.map_or_else(String::new, |(name, _)| name.clone()),
            code: d.code.to_owned(),
            message: d.message.clone(),
            message_in: tongue::inches(&d.message),
            help: d.help.clone(),
            start: 0,
            end: 0,
        }
    });
    let (fields, notes) = told.partition(|e| !e.field.is_empty());
    let fit = Fit {
        fields,
        notes,
        figures: learned.as_ref().map(|l| {
            let [along, across] = l.fitted.axis_depth;
            figures(l.fitted.caliper, along, across, l.fitted.kerf)
        }),
        empty: u32::try_from(empty).unwrap_or(u32::MAX),
        file: text.text,
    };
    (fit, learned)
}

fn figures(
    caliper: Option<Figure<Length>>,
    along: Option<Figure<f64>>,
    across: Option<Figure<f64>>,
    kerf: Option<Figure<Length>>,
) -> Vec<FigureShown> {
    let length = |name: &str, words: &str, f: Option<Figure<Length>>| {
        f.map(|f| FigureShown {
            name: name.to_owned(),
            words: words.to_owned(),
            length: true,
            value: f.value.to_mm(),
            half: f.half.to_mm(),
            spread: f.spread.to_mm(),
            count: f.count,
        })
    };
    let share = |name: &str, words: &str, f: Option<Figure<f64>>| {
        f.map(|f| FigureShown {
            name: name.to_owned(),
            words: words.to_owned(),
            length: false,
            value: f.value,
            half: f.half,
            spread: f.spread,
            count: f.count,
        })
    };
    let all = [
        length("caliper", "thickness", caliper),
        length("kerf", "kerf, the full width the tool takes", kerf),
        share("along", "fold axis depth along the flutes", along),
        share("across", "fold axis depth across the flutes", across),
    ];
    all.into_iter().flatten().collect()
}

/// What is kept in a folder.
///
/// # Errors
/// What the store says.
pub fn book(root: &Path) -> Result<MeasuredBook, Refuse> {
    let kept = match open(root)? {
        None => Vec::new(),
        Some(mut store) => store.all_measured().map_err(|d| refused(&d, root))?,
    };
    Ok(MeasuredBook {
        sets: kept.into_iter().map(set).collect(),
    })
}

fn set(k: Kept) -> MeasuredSet {
    let m = k.measured;
    MeasuredSet {
        number: k.number,
        figures: figures(m.caliper, m.along, m.across, m.kerf),
        board: m.board,
        machine: m.machine,
        crease: m.way.word().to_owned(),
        when: m.when,
        note: m.note,
        at: k.at,
    }
}

/// Keeps figures.
///
/// # Errors
/// The first thing wrong with the readings, or what the store says.
pub fn keep(shelf: &Shelf, root: &Path, readings: &Readings) -> Result<MeasuredBook, Refuse> {
    let (fit, learned) = fit(shelf, readings);
    let Some(learned) = learned else {
        let first = fit.fields.first().or_else(|| fit.notes.first());
        let message = first.map_or("the readings give no figures", |f| &f.message);
        let no = Refuse::conflict("not-learned", message);
        return Err(match first.and_then(|f| f.help.as_ref()) {
            Some(help) => no.help(help),
            None => no,
        });
    };
    let kept = Store::open(root).and_then(|mut s| s.put_measured(&learned.measured));
    kept.map_err(|d| refused(&d, root))?;
    book(root)
}

/// Forgets a set.
///
/// # Errors
/// `unknown-figures`, or what else the store says.
pub fn forget(root: &Path, number: u32) -> Result<MeasuredBook, Refuse> {
    let Some(mut store) = open(root)? else {
        let message = format!("no measured figures have the number {number}");
        return Err(Refuse::conflict("unknown-figures", message).help("nothing is kept"));
    };
    let gone = store.forget_measured(i64::from(number));
    gone.map_err(|d| refused(&d, root))?;
    book(root)
}

/// What is used of measured figures for a board and a way of creasing, in one line.
#[must_use]
pub fn known_words(known: &Known) -> Option<String> {
    let caliper = known
        .caliper
        .map(|f| format!("caliper {}", length_words(&f)));
    let along = known.along.map(|f| format!("{} along", share_words(&f)));
    let across = known
        .across
        .map(|f| format!("{} across the flutes", share_words(&f)));
    let depth = match (along, across) {
        (Some(a), Some(b)) => Some(format!("fold axis depth {a} and {b}")),
        (Some(a), None) => Some(format!("fold axis depth {a} the flutes")),
        (None, b) => b.map(|b| format!("fold axis depth {b}")),
    };
    let all: Vec<String> = caliper.into_iter().chain(depth).collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// Everything measured in a folder, the latest first.
///
/// # Errors
/// What the store says.
pub fn measured(root: &Path) -> Result<Vec<Measured>, Vec<Diag>> {
    let kept = match Store::open_existing(root) {
        Ok(mut store) => store.all_measured()?,
        Err(d) if d.iter().any(|d| d.code == "no-store") => Vec::new(),
        Err(d) => return Err(d),
    };
    Ok(kept.into_iter().map(|k| k.measured).collect())
}
