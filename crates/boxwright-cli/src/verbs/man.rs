//! `man`: prints the manual page, all verbs on one page.

use boxwright::diag::Diag;
use clap::{Command, CommandFactory};
use clap_mangen::Man;

use super::{Done, Status};
use crate::args::Cli;

/// Runs it.
pub fn run() -> Result<Done, Vec<Diag>> {
    let text = page().map_err(|e| {
        vec![Diag::error(
            "cannot-print",
            format!("the manual page cannot be written: {e}"),
        )]
    })?;
    Done::saying(&text, Status::Fine, Vec::new())
}

fn page() -> std::io::Result<String> {
    let mut whole = Cli::command();
    whole.build();
    let mut bytes = Vec::new();
    let top = Man::new(whole.clone());
    top.render_title(&mut bytes)?;
    top.render_name_section(&mut bytes)?;
    top.render_synopsis_section(&mut bytes)?;
    top.render_description_section(&mut bytes)?;
    let mut text = String::from_utf8_lossy(&bytes).into_owned();
    for verb in whole.get_subcommands().filter(|v| v.get_name() != "help") {
        text.push_str(&section(verb)?);
    }
    text.push_str(
        ".SH \"EXIT STATUS\"\n.TP\n0\nfine\n.TP\n1\na check failed\n.TP\n2\nit could not run\n",
    );
    Ok(text)
}

fn section(verb: &Command) -> std::io::Result<String> {
    let man = Man::new(verb.clone());
    let mut bytes = Vec::new();
    man.render_synopsis_section(&mut bytes)?;
    man.render_description_section(&mut bytes)?;
    man.render_options_section(&mut bytes)?;
    let text = String::from_utf8_lossy(&bytes);
    let mut out = format!(".SH \"{}\"\n", verb.get_name().to_uppercase());
    for line in text.lines() {
        // A verb's parts are under its own heading; the font helper is given once, at the top.
        match line.strip_prefix(".SH ") {
            Some("DESCRIPTION" | "SYNOPSIS") => out.push_str(".PP\n"),
            Some(part) => {
                out.push_str(".SS ");
                out.push_str(part);
                out.push('\n');
            }
            None if line.starts_with(".ie ") || line.starts_with(".el ") => {}
            None => {
                out.push_str(line);
                out.push('\n');
            }
        }
    }
    Ok(out)
}
