//! The door over files: shipped styles and boards, and those that a job names by path.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use boxwright::diag::{Diag, Named, Place, line_column};

use boxwright::read::MAX_BYTES;
use boxwright::sheet::file::MOST_LAYOUT_BYTES;
use boxwright::source::{Door, Shipped, Text};

/// What standard input is called in messages.
pub const STANDARD_INPUT: &str = "standard input";

/// Every text of this run: what the door hands out, and what messages point into.
#[derive(Debug, Default)]
pub struct Desk {
    texts: RefCell<BTreeMap<String, String>>,
    styles: Vec<(String, Text)>,
    boards: Vec<Text>,
}

/// A drawing of a case is a few hundred kilobytes.
const LONGEST_DRAWING: usize = 16 << 20;

/// Why a file could not be read.
struct Trouble {
    code: &'static str,
    message: String,
    help: &'static str,
    /// The text with every wrong byte replaced, and where the first of them is.
    spoilt: Option<(String, usize)>,
}

impl Desk {
    /// Remembers a text that messages may point into.
    pub fn note(&self, name: &str, text: &str) {
        self.texts
            .borrow_mut()
            .insert(name.to_owned(), text.to_owned());
    }

    /// A text of this run.
    pub fn text(&self, name: &str) -> Option<String> {
        self.texts.borrow().get(name).cloned()
    }

    fn noted(&self, text: Text) -> Text {
        self.note(&text.name, &text.text);
        text
    }

    /// Reads the job, from a file or from standard input for `-`.
    pub fn job(&self, path: &Path) -> Result<Text, Diag> {
        let (name, read) = if path == Path::new("-") {
            let name = STANDARD_INPUT.to_owned();
            let read = read_all(&mut std::io::stdin().lock(), &name, MAX_BYTES);
            (name, read)
        } else {
            let name = path.display().to_string();
            let read = read_file(path, &name, MAX_BYTES);
            (name, read)
        };
        match read {
            Ok(text) => Ok(self.noted(Text { name, text })),
            Err(trouble) => {
                let help = if trouble.code == "no-file" {
                    "`boxwright new` writes a job file; `-` reads one from standard input"
                } else {
                    trouble.help
                };
                let mut diag = Diag::error(trouble.code, trouble.message).help(help);
                if let Some((text, at)) = trouble.spoilt {
                    self.note(&name, &text);
                    diag = diag.at(Place {
                        input: name,
                        start: at,
                        end: at + 1,
                    });
                }
                Err(diag)
            }
        }
    }

    /// Reads a drawing, which may be longer than what people write.
    pub fn flat_file(&self, path: &Path) -> Result<Text, Diag> {
        let name = path.display().to_string();
        match read_file(path, &name, LONGEST_DRAWING) {
            Ok(text) => Ok(self.noted(Text { name, text })),
            Err(t) => {
                let help = match t.code {
                    "no-file" => "give a DXF or SVG file",
                    "not-utf-8" => "give an ASCII DXF of edition R12, 2000 or 2007, or an SVG",
                    _ => t.help,
                };
                Err(Diag::error(t.code, t.message).help(help))
            }
        }
    }

    /// Reads a layout file, which may be longer than what people write.
    pub fn layout(&self, path: &Path) -> Result<Text, Diag> {
        let name = path.display().to_string();
        match read_file(path, &name, MOST_LAYOUT_BYTES) {
            Ok(text) => Ok(self.noted(Text { name, text })),
            Err(t) => {
                let help = match t.code {
                    "no-file" => "give a layout file, as the laying of sheets writes it",
                    _ => t.help,
                };
                Err(Diag::error(t.code, t.message).help(help))
            }
        }
    }

    /// A machine by name, or by path to its file; `None` when no machine has the name.
    pub fn machine_named(&self, name: &str, place: Place) -> Result<Option<Text>, Diag> {
        if is_path(name) {
            let named = Named {
                name: name.to_owned(),
                place,
            };
            return self.named_file(&named, Path::new("")).map(Some);
        }
        Ok(self.machine(name))
    }

    /// Reads a things file, from a file or from standard input for `-`.
    pub fn things(&self, path: &Path) -> Result<Text, Diag> {
        if path == Path::new("-") {
            return self.job(path);
        }
        self.file(
            path,
            MAX_BYTES,
            "a things file lists what is to be sent; see docs/contents.md",
        )
    }

    /// Reads a stock file.
    pub fn stock_file(&self, path: &Path) -> Result<Text, Diag> {
        self.file(path, MAX_BYTES, "`boxwright stock export` writes one")
    }

    /// Reads a measurements file.
    pub fn measurements(&self, path: &Path) -> Result<Text, Diag> {
        self.file(path, MAX_BYTES, "`boxwright coupon` writes one to fill in")
    }

    /// Takes a style that comes with the program but is no shipped style.
    pub fn own_style(&mut self, name: &str, text: &str) {
        let text = Text {
            name: name.to_owned(),
            text: text.to_owned(),
        };
        self.styles.push((name.to_owned(), text));
    }

    /// Reads a table file that an option names.
    pub fn table_file(&self, named: &Named) -> Result<Text, Diag> {
        self.named_file(named, Path::new("")).map_err(|d| {
            let absent = d.code == "no-file";
            if absent {
                d.help("paths count from the current folder")
            } else {
                d
            }
        })
    }

    /// Reads a layout file.
    pub fn layout_file(&self, path: &Path) -> Result<Text, Diag> {
        self.file(path, MOST_LAYOUT_BYTES, "`boxwright lay` writes one")
    }

    fn file(&self, path: &Path, most: usize, absent: &'static str) -> Result<Text, Diag> {
        let name = path.display().to_string();
        match read_file(path, &name, most) {
            Ok(text) => Ok(self.noted(Text { name, text })),
            Err(t) if t.code == "no-file" => Err(Diag::error(t.code, t.message).help(absent)),
            Err(t) => Err(Diag::error(t.code, t.message).help(t.help)),
        }
    }

    /// Reads a style file, when the style is named by path.
    pub fn bring_style(&mut self, named: &Named, base: &Path) -> Result<(), Diag> {
        if is_path(&named.name) {
            let text = self.named_file(named, base)?;
            self.styles.push((named.name.clone(), text));
        }
        Ok(())
    }

    /// Reads a board file.
    pub fn bring_boards(&mut self, named: &Named, base: &Path) -> Result<(), Diag> {
        let text = self.named_file(named, base)?;
        self.boards.push(text);
        Ok(())
    }

    fn named_file(&self, named: &Named, base: &Path) -> Result<Text, Diag> {
        let path: PathBuf = base.join(&named.name);
        let name = path.display().to_string();
        match read_file(&path, &name, MAX_BYTES) {
            Ok(text) => Ok(self.noted(Text { name, text })),
            Err(t) => Err(Diag::error(t.code, t.message)
                .at(named.place.clone())
                .help(t.help)),
        }
    }
}

/// Whether a style is named by a path to its file.
pub fn is_path(style: &str) -> bool {
    style.ends_with(".kdl")
}

fn read_file(path: &Path, name: &str, most: usize) -> Result<String, Trouble> {
    let file = File::open(path).map_err(|e| unreadable(name, &e))?;
    if file.metadata().is_ok_and(|m| m.is_dir()) {
        return Err(unreadable(name, &ErrorKind::IsADirectory.into()));
    }
    read_all(&mut { file }, name, most)
}

fn read_all(from: &mut dyn Read, name: &str, most: usize) -> Result<String, Trouble> {
    let mut bytes = Vec::new();
    from.take(u64::try_from(most).unwrap_or(u64::MAX).saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|e| unreadable(name, &e))?;
    if bytes.len() > most {
        return Err(Trouble {
            code: "too-long",
            message: format!("`{name}` is too long: {most} bytes are read at most"),
            help: "check that it is the file you meant",
            spoilt: None,
        });
    }
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let bytes = e.into_bytes();
        let wrong = bytes.get(at).copied().unwrap_or_default();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (line, _) = line_column(&text, at);
        Trouble {
            code: "not-utf-8",
            message: format!(
                "`{name}` is not UTF-8 text: byte 0x{wrong:02x} at offset {at}, on line {line}"
            ),
            help: "save it as UTF-8",
            spoilt: Some((text, at)),
        }
    })
}

fn unreadable(name: &str, e: &std::io::Error) -> Trouble {
    let (code, message, help) = match e.kind() {
        ErrorKind::NotFound => (
            "no-file",
            format!("there is no file `{name}`"),
            "paths in a job count from the job file's folder",
        ),
        ErrorKind::IsADirectory => (
            "not-a-file",
            format!("`{name}` is a folder, not a file"),
            "name the file in it",
        ),
        _ => (
            "unreadable",
            format!("`{name}` cannot be read: {}", io_words(e)),
            "check the path and who may read it",
        ),
    };
    Trouble {
        code,
        message,
        help,
        spoilt: None,
    }
}

/// An operating system's error in plain words.
pub fn io_words(e: &std::io::Error) -> String {
    let text = e.to_string();
    let plain = text.split(" (os error").next().unwrap_or(&text);
    plain.to_lowercase()
}

impl Door for Desk {
    fn style(&self, name: &str) -> Option<Text> {
        let own = self.styles.iter().find(|(n, _)| n == name);
        own.map(|(_, t)| t.clone())
            .or_else(|| Shipped.style(name))
            .map(|t| self.noted(t))
    }
    fn boards(&self) -> Vec<Text> {
        Shipped
            .boards()
            .into_iter()
            .chain(self.boards.iter().cloned())
            .map(|t| self.noted(t))
            .collect()
    }
    fn style_names(&self) -> Vec<String> {
        Shipped.style_names()
    }
    fn kit(&self, name: &str, from: &str) -> Option<Text> {
        // Beside a style of the user's own lies perhaps a folder `kits`.
        let own = self.styles.iter().any(|(_, t)| t.name == from);
        let beside = Path::new(from).parent().filter(|_| own).and_then(|at| {
            let path = at.join("kits").join(format!("{name}.kdl"));
            let name = path.display().to_string();
            read_file(&path, &name, MAX_BYTES)
                .ok()
                .map(|text| Text { name, text })
        });
        let text = beside.or_else(|| Shipped.kit(name, from));
        text.map(|t| self.noted(t))
    }
    fn machine(&self, name: &str) -> Option<Text> {
        Shipped.machine(name).map(|t| self.noted(t))
    }
    fn table(&self, name: &str) -> Option<Text> {
        Shipped.table(name).map(|t| self.noted(t))
    }
}
