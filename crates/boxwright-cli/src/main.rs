//! The command line of boxwright: a thin face over the library.

mod args;
mod case;
mod console;
mod desk;
mod excerpt;
mod folder;
mod known;
mod overrides;
mod say;
mod verbs;

use std::process::ExitCode;

use boxwright::diag::Diag;
use clap::Parser;

use args::Cli;
use console::Console;
use desk::Desk;
use verbs::Status;

fn main() -> ExitCode {
    let status = match Cli::try_parse() {
        Ok(cli) => verbs::run(&cli.verb),
        Err(e) => usage(&e),
    };
    ExitCode::from(status as u8)
}

/// Help and version go to standard output; what was written wrongly is a message like any other.
fn usage(e: &clap::Error) -> Status {
    let json = std::env::args_os().any(|a| a == "--json");
    if e.use_stderr() && json {
        let text = e.render().to_string();
        let text = text.trim().strip_prefix("error: ").unwrap_or(&text);
        let message = text.split("\n\n").next().unwrap_or(text).trim();
        let diag = Diag::error("usage", message).help("see boxwright help");
        Console { json }.show(vec![diag], &Desk::default(), "");
        return Status::Stopped;
    }
    // Nothing is left to say it with when the stream is gone.
    let _ = e.print();
    if e.use_stderr() {
        Status::Stopped
    } else {
        Status::Fine
    }
}
