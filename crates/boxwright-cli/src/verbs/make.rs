//! `make`: draws, folds and checks a job, and writes its files.

use std::path::{Path, PathBuf};

use boxwright::blank::{Plan, SoundPlan};
use boxwright::brief::Brief;
use boxwright::check::{Finding, check};
use boxwright::diag::Diag;
use boxwright::emit::bundle::{BundleOptions, Kind, bundle, stem};
use boxwright::emit::dxf::DxfOptions;
use boxwright::emit::report::{Told, report};
use boxwright::fold::Folder;

use super::check::status;
use super::{Done, Status};
use crate::args::MakeArgs;
use crate::case::{Drawn, case};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::{folder, say};

/// Shown where files for a cutter are written.
const LASER: &str = "On a laser, corrugated board flares up: never leave it running alone, keep \
    an extinguisher at hand and the extraction on, and keep to the machine's manual and the \
    fire rules of your site.";

/// Runs it.
pub fn run(args: &MakeArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let case = case(&args.job, desk)?;
    let out = args
        .out
        .clone()
        .unwrap_or_else(|| Path::new("out").join(stem(&case.brief.job.title)));
    match case.drawn {
        Drawn::Sound(plan) => sound(args, &case.brief, &plan, &out),
        Drawn::Unsound(plan, findings) => unsound(args, &case.brief, &plan, findings),
    }
}

fn sound(args: &MakeArgs, brief: &Brief, plan: &SoundPlan, out: &Path) -> Result<Done, Vec<Diag>> {
    let folder = Folder::new(plan);
    let found = check(brief, &folder);
    let told = Told::folded(&folder, &found);
    let opts = options(args);
    let bundle = bundle(brief, plan, &folder, &found, &opts).map_err(|d| vec![d])?;
    if bundle.files.is_empty() {
        return Err(bundle.left_out);
    }
    folder::write(out, &bundle.files).map_err(|d| vec![d])?;
    let names: Vec<String> = bundle.files.iter().map(|(n, _)| n.clone()).collect();
    let text = if args.job.json {
        report(brief, plan, &told, &names)
            .to_json()
            .map_err(|d| vec![d])?
    } else {
        let mut text = say::report(brief, plan, &told, opts.unit, args.job.all);
        text.push('\n');
        files(&mut text, out, &names);
        if opts.kinds.iter().any(|k| k.is_cut_file()) {
            text.push('\n');
            say::line(&mut text, "take care", LASER);
        }
        cleaned(&text)
    };
    Done::saying(&text, status(&told), bundle.left_out)
}

fn unsound(
    args: &MakeArgs,
    brief: &Brief,
    plan: &Plan,
    findings: Vec<Finding>,
) -> Result<Done, Vec<Diag>> {
    let told = Told::unsound(findings);
    let text = if args.job.json {
        report(brief, plan, &told, &[])
            .to_json()
            .map_err(|d| vec![d])?
    } else {
        let mut text = say::report(brief, plan, &told, args.job.units.into(), args.job.all);
        text.push('\n');
        let why = "none written: this blank cannot be cut from one sheet as it is drawn";
        say::line(&mut text, "files", why);
        text
    };
    Done::saying(&text, Status::Failed, Vec::new())
}

fn options(args: &MakeArgs) -> BundleOptions {
    let mut dxf = DxfOptions {
        version: args.dxf_version.into(),
        ..DxfOptions::default()
    };
    for layer in &args.layer {
        layer.apply(&mut dxf.layers);
    }
    BundleOptions {
        kinds: if args.only.is_empty() {
            Kind::ALL.to_vec()
        } else {
            args.only.iter().map(|k| k.0).collect()
        },
        unit: args.job.units.into(),
        stage: args.stage,
        dxf,
        paper: args.paper.into(),
        scale: args.scale,
    }
}

fn files(text: &mut String, out: &Path, names: &[String]) {
    let word = say::counted(names.len(), "file");
    let shown: PathBuf = if out.as_os_str().is_empty() {
        ".".into()
    } else {
        out.into()
    };
    say::line(text, "files", &format!("{word} in {}", shown.display()));
    for name in names {
        say::line(text, "", name);
    }
}
