//! `coupon`: strips to cut, fold and measure, with a page to write on and a file to fill in.

use std::path::{Path, PathBuf};

use boxwright::blank::SoundPlan;
use boxwright::brief::Brief;
use boxwright::check::check;
use boxwright::diag::{Diag, Named};
use boxwright::emit::bundle::{BundleOptions, Kind, bundle, stem};
use boxwright::emit::coupon::coupon_pages;
use boxwright::emit::pdf::pdf;
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::learn::{Coupon, TEST_STRIP, TEST_STRIP_FILE, blank_measurements};
use boxwright::source::Text;

use super::{Done, Status, cut};
use crate::args::CouponArgs;
use crate::case::{Case, Drawn, draw};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::{folder, overrides, say};

/// The file to be filled in.
const MEASUREMENTS: &str = "measurements.kdl";
/// Shown where files for a cutter are written.
const LASER: &str = "On a laser, corrugated board flares up: never leave it running alone, keep \
    an extinguisher at hand and the extraction on, and keep to the machine's manual and the \
    fire rules of your site.";

/// Runs it.
pub fn run(args: &CouponArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    for file in &args.boards {
        let name = file.display().to_string();
        let place = overrides::option(desk, "--boards", &name);
        desk.bring_boards(&Named { name, place }, Path::new(""))
            .map_err(|d| vec![d])?;
    }
    let machine = args.machine.as_ref().map(|m| cut::machine(desk, m));
    let machine = machine.transpose()?.map(|m| m.name);
    let mut coupon = Coupon::new(&args.board, machine.as_deref(), args.crease.0);
    coupon.strips = args.strips;
    coupon.board_files = args.boards.iter().map(|f| absolute(f)).collect();
    desk.own_style(TEST_STRIP_FILE, TEST_STRIP);
    let usual = || {
        let name = format!("coupon-{}-{}", stem(&args.board), args.crease.0.word());
        PathBuf::from("out").join(name)
    };
    let out = args.out.clone().unwrap_or_else(usual);
    if out.join(MEASUREMENTS).exists() {
        let message = format!("`{}` is there already", out.join(MEASUREMENTS).display());
        let help = "it may hold what was read; name another folder with --out, or move it away";
        return Err(vec![Diag::error("already-there", message).help(help)]);
    }
    let mut files = vec![(TEST_STRIP_FILE.to_owned(), TEST_STRIP.as_bytes().to_vec())];
    let mut drawn = Vec::new();
    for across in [false, true] {
        let (brief, plan) = strip(&coupon, across, args, desk)?;
        let name = format!("strips-{}.kdl", if across { "across" } else { "along" });
        files.push((name, coupon.job(across).into_bytes()));
        let folder = Folder::new(&plan);
        let options = BundleOptions {
            kinds: vec![Kind::Dxf, Kind::Svg],
            ..BundleOptions::default()
        };
        let made = bundle(&brief, &plan, &folder, &check(&brief, &folder), &options);
        files.extend(made.map_err(|d| vec![d])?.files);
        drawn.push(plan);
    }
    let blanks: Vec<_> = drawn.iter().map(|p| &*p.blanks()[0]).collect();
    let pages = coupon_pages(&coupon, [blanks[0], blanks[1]]);
    let title = format!("first article, board {}", coupon.board);
    files.push((
        "coupon.pdf".to_owned(),
        pdf(&pages, &title).map_err(|d| vec![d])?,
    ));
    files.push((
        MEASUREMENTS.to_owned(),
        blank_measurements(&coupon).into_bytes(),
    ));
    folder::write(&out, &files).map_err(|d| vec![d])?;
    Done::saying(
        &cleaned(&words(&coupon, &out, &files)),
        Status::Fine,
        Vec::new(),
    )
}

/// Jobs are written to another folder than the command is run in.
fn absolute(file: &Path) -> String {
    std::path::absolute(file)
        .unwrap_or_else(|_| file.to_owned())
        .display()
        .to_string()
}

fn strip(
    coupon: &Coupon,
    across: bool,
    args: &CouponArgs,
    desk: &Desk,
) -> Result<(Brief, SoundPlan), Vec<Diag>> {
    let text = Text {
        name: "the strips' job".to_owned(),
        text: coupon.job(across),
    };
    desk.note(&text.name, &text.text);
    let mut job = parse_job(&text)?;
    // A board that is not there is one that the command line named.
    job.board.place = overrides::option(desk, "--board", &args.board);
    let Case { brief, drawn } = draw(job, desk)?;
    match drawn {
        Drawn::Sound(plan) => Ok((brief, *plan)),
        Drawn::Unsound(..) => {
            let message = "the strips cannot be drawn in this board";
            Err(vec![Diag::error("blank-not-sound", message)])
        }
    }
}

fn words(coupon: &Coupon, out: &Path, files: &[(String, Vec<u8>)]) -> String {
    let mut text = String::new();
    let machine = coupon
        .machine
        .as_deref()
        .unwrap_or("none named: no kerf is kept");
    say::line(&mut text, "board", &coupon.board);
    say::line(&mut text, "machine", machine);
    say::line(&mut text, "creases", coupon.way.word());
    let strips = format!(
        "{} with their creases along the flutes, {} across",
        coupon.strips, coupon.strips
    );
    say::line(&mut text, "strips", &strips);
    text.push('\n');
    let count = say::counted(files.len(), "file");
    say::line(&mut text, "files", &format!("{count} in {}", out.display()));
    for (name, _) in files {
        say::line(&mut text, "", name);
    }
    text.push('\n');
    let at = |name: &str| out.join(name).display().to_string();
    let lay = format!(
        "boxwright lay {} {} lays them, `boxwright cut` cuts them, coupon.pdf tells how to measure",
        at("strips-along.kdl"),
        at("strips-across.kdl")
    );
    say::line(&mut text, "next", &lay);
    say::line(
        &mut text,
        "",
        &format!("then: boxwright learn {}", at(MEASUREMENTS)),
    );
    text.push('\n');
    say::line(&mut text, "take care", LASER);
    text
}
