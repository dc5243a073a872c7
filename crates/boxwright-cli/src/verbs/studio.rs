//! `studio`: serves the page on which cases are designed.

use std::io::ErrorKind;
use std::process::{Command, Stdio};

use boxwright::diag::Diag;
use boxwright_studio::Options;

use super::{Done, Status};
use crate::args::StudioArgs;
use crate::console::Console;
use crate::desk::io_words;

/// Runs it until the user stops it.
pub fn run(args: &StudioArgs) -> Result<Done, Vec<Diag>> {
    let options = Options {
        folder: args.folder.clone(),
        port: args.port,
    };
    let ready = |address: &str| {
        // Nobody may be reading; the page is served all the same.
        let _ = Console::print(&format!("{address}\n"));
        if !args.no_open {
            browse(address);
        }
    };
    boxwright_studio::run(&options, ready).map_err(|e| vec![trouble(args, &e)])?;
    Ok(Done {
        status: Status::Fine,
        warnings: Vec::new(),
    })
}

fn trouble(args: &StudioArgs, e: &std::io::Error) -> Diag {
    let shown = args.folder.display();
    match e.kind() {
        ErrorKind::NotFound => Diag::error("no-folder", format!("there is no folder `{shown}`"))
            .help("name the folder that holds your jobs"),
        ErrorKind::NotADirectory => {
            Diag::error("no-folder", format!("`{shown}` is a file, not a folder"))
                .help("name the folder that holds it")
        }
        _ => Diag::error(
            "cannot-serve",
            format!("the studio cannot be served: {}", io_words(e)),
        ),
    }
}

/// Opens the address in the user's browser. Where there is none, the printed address is left.
fn browse(address: &str) {
    let mut command = if cfg!(target_os = "windows") {
        let mut c = Command::new("explorer");
        c.arg(address);
        c
    } else if cfg!(target_os = "macos") {
        let mut c = Command::new("open");
        c.arg(address);
        c
    } else {
        let mut c = Command::new("xdg-open");
        c.arg(address);
        c
    };
    let quiet = command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let _ = quiet.spawn();
}
