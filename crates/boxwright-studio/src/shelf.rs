//! Styles and boards, parsed once and kept.

use std::collections::HashMap;
use std::path::MAIN_SEPARATOR;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use boxwright::board::{Boards, Measured, read_boards};
use boxwright::brief::{Brief, board_of, fitted, style_of};
use boxwright::diag::{Diag, Outcome};
use boxwright::job::Job;
use boxwright::machine::{Machine, read_machine};
use boxwright::read::suggestion;
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::{Style, parse_style};
use boxwright_store::FILE;

use crate::folder::Folder;
use crate::learning;
use crate::refuse::Refuse;
use crate::wire::State;

/// Style files of the user's own that are kept parsed.
const MOST_KEPT: usize = 64;
/// Sets of board files of the user's own that are kept parsed.
const MOST_SETS: usize = 16;

/// Styles and boards, parsed once and kept as long as their text stays the same.
pub struct Shelf {
    folder: Option<Arc<Folder>>,
    shipped: Vec<(String, Arc<Style>)>,
    boards: Arc<Boards>,
    own: Mutex<HashMap<String, (String, Arc<Style>)>>,
    /// The shipped boards with further files, by the texts of those.
    sets: Mutex<Vec<(Vec<Text>, Arc<Boards>)>>,
    /// What was measured, with length and time of change of the store it was read from.
    measured: Mutex<Option<((u64, SystemTime), Vec<Measured>)>>,
}

impl Shelf {
    /// A shelf with what is shipped.
    ///
    /// # Errors
    /// Whatever is wrong in a shipped file.
    pub fn new(folder: Option<Arc<Folder>>) -> Outcome<Self> {
        let mut shipped = Vec::new();
        for name in Shipped.style_names() {
            if let Some(text) = Shipped.style(&name) {
                shipped.push((name, Arc::new(parse_style(&text, &Shipped)?)));
            }
        }
        Ok(Self {
            folder,
            shipped,
            boards: Arc::new(read_boards(&Shipped.boards())?),
            own: Mutex::new(HashMap::new()),
            sets: Mutex::new(Vec::new()),
            measured: Mutex::new(None),
        })
    }

    /// The opened folder.
    #[must_use]
    pub fn folder(&self) -> Option<&Folder> {
        self.folder.as_deref()
    }

    /// The shipped styles.
    #[must_use]
    pub fn styles(&self) -> &[(String, Arc<Style>)] {
        &self.shipped
    }

    /// The style files of the opened folder that can be read, each with its path there.
    #[must_use]
    pub fn own_styles(&self) -> Vec<(String, Arc<Style>)> {
        let names = self.folder.as_ref().map_or_else(Vec::new, |f| f.names());
        names
            .into_iter()
            .filter_map(|n| self.own_style(&n).map(|s| (n, s)))
            .collect()
    }

    /// A style file of the opened folder.
    #[must_use]
    pub fn own_style(&self, name: &str) -> Option<Arc<Style>> {
        let text = self.text(None, name)?;
        // Most files of a folder are jobs: a style has its word at the head of a line.
        let may_be = text.text.lines().any(|l| l.starts_with("style"));
        may_be.then(|| self.parsed(text).ok()).flatten()
    }

    fn parsed(&self, text: Text) -> Outcome<Arc<Style>> {
        let door = Opened {
            shelf: self,
            from: Some(&text.name),
        };
        // What it draws on may have changed where its own text has not.
        if text.text.contains("kit") {
            return parse_style(&text, &door).map(Arc::new);
        }
        let mut own = self.own.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((known, style)) = own.get(&text.name)
            && *known == text.text
        {
            return Ok(Arc::clone(style));
        }
        let style = Arc::new(parse_style(&text, &door)?);
        if own.len() >= MOST_KEPT {
            own.clear();
        }
        own.insert(text.name, (text.text, Arc::clone(&style)));
        Ok(style)
    }

    /// The shipped boards.
    #[must_use]
    pub fn boards(&self) -> &Boards {
        &self.boards
    }

    /// Everything measured in the opened folder, the latest first.
    ///
    /// # Errors
    /// What the store says.
    pub fn measured(&self) -> Outcome<Vec<Measured>> {
        let Some(folder) = &self.folder else {
            return Ok(Vec::new());
        };
        let file = folder.root().join(FILE);
        let stamp = || {
            let meta = file.metadata().ok()?;
            Some((meta.len(), meta.modified().ok()?))
        };
        let Some(now) = stamp() else {
            return Ok(Vec::new());
        };
        let lock = || self.measured.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((then, all)) = &*lock()
            && *then == now
        {
            return Ok(all.clone());
        }
        let all = learning::measured(folder.root()).map_err(|mut diags| {
            let before = format!("{}{}", folder.root().display(), MAIN_SEPARATOR);
            for d in &mut diags {
                d.message = d.message.replace(&before, "");
            }
            diags
        })?;
        // Kept only when nothing was changed meanwhile.
        if stamp() == Some(now) {
            *lock() = Some((now, all.clone()));
        }
        Ok(all)
    }

    /// Gives a job the figures measured in the folder, unless the page leaves them off.
    ///
    /// # Errors
    /// What the store says, with that way out.
    pub fn know(&self, job: &mut Job, state: &State) -> Outcome<()> {
        if state.no_measured {
            return Ok(());
        }
        job.measured = self.measured().map_err(|mut diags| {
            for d in &mut diags {
                let more = "leaving measured figures off goes on without it";
                d.help = Some(match d.help.take() {
                    Some(help) => format!("{help}; {more}"),
                    None => more.to_owned(),
                });
            }
            diags
        })?;
        Ok(())
    }

    /// The machines by the names that are asked for: those that come with the program, then the
    /// machine files of the opened folder that can be read.
    #[must_use]
    pub fn machines(&self) -> Vec<(String, Machine)> {
        let names = self.folder.as_ref().map_or_else(Vec::new, |f| f.names());
        Shipped
            .machine_names()
            .into_iter()
            .chain(names)
            .filter_map(|n| {
                let text = self.machine_text(&n).ok()?;
                // Most files of a folder are jobs: a machine has its word at the head of a line.
                let may_be = text.text.lines().any(|l| l.starts_with("machine"));
                let machine = may_be.then(|| read_machine(&text).ok()).flatten()?;
                Some((n, machine))
            })
            .collect()
    }

    /// The text of a machine file, shipped or of the opened folder.
    ///
    /// # Errors
    /// `unknown-machine`.
    pub fn machine_text(&self, name: &str) -> Result<Text, Refuse> {
        let text = if name.ends_with(".kdl") {
            self.text(None, name)
        } else {
            Shipped.machine(name)
        };
        text.ok_or_else(|| {
            let known = Shipped.machine_names();
            let help = suggestion(name, known.iter().map(String::as_str));
            Refuse::conflict("unknown-machine", format!("there is no machine `{name}`"))
                .help(format!("{help}; a file of your own ends in .kdl"))
        })
    }

    /// A machine by name, or by the path of its file in the folder.
    ///
    /// # Errors
    /// `unknown-machine`, or `not-a-machine` with what is wrong in its file.
    pub fn machine(&self, name: &str) -> Result<Machine, Refuse> {
        let text = self.machine_text(name)?;
        read_machine(&text).map_err(|d| Refuse::of_diags("not-a-machine", &d))
    }

    /// The style a job names. `from` is the job's own file, from which paths count.
    ///
    /// # Errors
    /// `unknown-style`, or whatever is wrong in its file.
    pub fn style(&self, job: &Job, from: Option<&str>) -> Outcome<Arc<Style>> {
        let name = &job.style.name;
        if let Some((_, style)) = self.shipped.iter().find(|(n, _)| n == name) {
            return Ok(Arc::clone(style));
        }
        let door = Opened { shelf: self, from };
        if let Some(text) = door.style(name) {
            return self.parsed(text);
        }
        style_of(job, &door)
    }

    /// A job with its style and board, and what goes into its case.
    ///
    /// # Errors
    /// Unknown style or board, or whatever is wrong in their files.
    pub fn brief(&self, job: Job, style: Arc<Style>, from: Option<&str>) -> Outcome<Brief> {
        let boards = if job.board_files.is_empty() {
            Arc::clone(&self.boards)
        } else {
            let mut own = Vec::new();
            for file in &job.board_files {
                let text = self.text(from, &file.name).ok_or_else(|| {
                    let message = format!("there is no file `{}` in this folder", file.name);
                    vec![Diag::error("no-file", message).at(file.place.clone())]
                })?;
                own.push(text);
            }
            self.with(own)?
        };
        let mut case = Some(style);
        fitted(job, |job| {
            // The case comes first, and its style is at hand.
            let style = match case.take() {
                Some(style) => style,
                None => self.style(job, from)?,
            };
            Ok((style, board_of(job, &boards)?))
        })
    }

    /// The shipped boards with these files after them.
    fn with(&self, own: Vec<Text>) -> Outcome<Arc<Boards>> {
        let lock = || self.sets.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, boards)) = lock().iter().find(|(texts, _)| *texts == own) {
            return Ok(Arc::clone(boards));
        }
        let mut all = Shipped.boards();
        all.extend(own.iter().cloned());
        let boards = Arc::new(read_boards(&all)?);
        let mut sets = lock();
        if sets.len() >= MOST_SETS {
            sets.remove(0);
        }
        sets.push((own, Arc::clone(&boards)));
        Ok(boards)
    }

    fn text(&self, from: Option<&str>, name: &str) -> Option<Text> {
        let held = self.folder.as_ref()?.read_beside(from, name).ok()?;
        Some(Text {
            name: name.to_owned(),
            text: held.text,
        })
    }
}

/// What is shipped, and the style files of the opened folder.
struct Opened<'a> {
    shelf: &'a Shelf,
    from: Option<&'a str>,
}

impl Door for Opened<'_> {
    fn style(&self, name: &str) -> Option<Text> {
        if name.ends_with(".kdl") {
            self.shelf.text(self.from, name)
        } else {
            Shipped.style(name)
        }
    }
    fn boards(&self) -> Vec<Text> {
        Shipped.boards()
    }
    fn style_names(&self) -> Vec<String> {
        Shipped.style_names()
    }
    fn kit(&self, name: &str, from: &str) -> Option<Text> {
        let own = from.ends_with(".kdl") && !from.starts_with("styles/");
        own.then(|| self.shelf.text(Some(from), &format!("kits/{name}.kdl")))
            .flatten()
            .or_else(|| Shipped.kit(name, from))
    }
}
