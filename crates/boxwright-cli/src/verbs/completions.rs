//! `completions`: prints a completion script for a shell.

use boxwright::diag::Diag;
use clap::CommandFactory;
use clap_complete::Shell;

use super::{Done, Status};
use crate::args::Cli;

/// Runs it.
pub fn run(shell: Shell) -> Result<Done, Vec<Diag>> {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "boxwright", &mut bytes);
    let text = String::from_utf8_lossy(&bytes);
    Done::saying(&text, Status::Fine, Vec::new())
}
