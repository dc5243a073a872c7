//! The opened folder: the only files the server reads or writes, and only `*.kdl` and
//! `*.layout.json` in it, and `*.csv`, which it only reads; the stock is kept in it by a crate of its own.

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use boxwright::read::MAX_BYTES;
use boxwright::sheet::file::MOST_LAYOUT_BYTES;
use sha2::{Digest, Sha256};

use crate::refuse::Refuse;

/// More jobs than this are not listed.
const MOST_JOBS: usize = 1000;
/// Longest order history that is read here, in bytes; the command line reads any.
pub const MOST_ORDERS_BYTES: usize = 16 << 20;
/// Folders below the opened one are looked into this deep.
const DEEPEST: usize = 4;
/// Folders and files looked at for one list, or at the start.
const MOST_LOOKED_AT: usize = 20_000;
/// Longest name of a job, in characters.
const LONGEST_NAME: usize = 100;
const PART: (&str, &str) = (".boxwright-", ".part");

/// What a file of the folder is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// A job, a style or a board.
    Job,
    /// A layout.
    Layout,
    /// An order history; never written.
    Orders,
}

impl Sort {
    const fn ending(self) -> &'static str {
        match self {
            Self::Job => ".kdl",
            Self::Layout => ".layout.json",
            Self::Orders => ".csv",
        }
    }
    const fn most_bytes(self) -> usize {
        match self {
            Self::Job => MAX_BYTES,
            Self::Layout => MOST_LAYOUT_BYTES,
            Self::Orders => MOST_ORDERS_BYTES,
        }
    }
    const fn word(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Layout => "layout",
            Self::Orders => "order history",
        }
    }
    /// That there is no such file.
    pub fn none(self, name: &str) -> Refuse {
        let code = match self {
            Self::Job => "no-job",
            Self::Layout => "no-layout",
            Self::Orders => "no-orders-file",
        };
        let word = self.word();
        Refuse::absent(code, format!("there is no {word} `{name}` in this folder"))
    }
    fn bad_name(self) -> Refuse {
        let (word, end) = (self.word(), self.ending());
        Refuse::unfit(
            "bad-name",
            format!("this cannot name a {word} in the opened folder"),
        )
        .help(format!(
            "a name such as `clock{end}` or `spring/clock{end}`"
        ))
    }
}

/// The opened folder.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    /// One save at a time, so that two pages cannot both find the file unchanged.
    saving: Mutex<()>,
    count: AtomicU64,
}

/// What a file held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// Its text.
    pub text: String,
    /// Hash of its bytes.
    pub stamp: String,
}

/// Tells one content from any other.
#[must_use]
pub fn stamp(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

impl Folder {
    /// Opens a folder.
    ///
    /// # Errors
    /// When there is no such folder.
    pub fn open(path: &Path) -> std::io::Result<Self> {
        let root = path.canonicalize()?;
        if !root.is_dir() {
            return Err(ErrorKind::NotADirectory.into());
        }
        let mut left = MOST_LOOKED_AT;
        clear_away(&root, 0, &mut left);
        Ok(Self {
            root,
            saving: Mutex::new(()),
            count: AtomicU64::new(0),
        })
    }

    /// Where a name leads, which need not exist; links are followed as far as the path exists and
    /// must end inside the folder.
    fn path(&self, sort: Sort, name: &str) -> Result<PathBuf, Refuse> {
        let part_is_plain = |part: &str| {
            !part.is_empty()
                && !part.starts_with('.')
                && !part.contains(|c: char| c.is_control() || matches!(c, '\\' | ':'))
        };
        let plain = name.chars().count() <= LONGEST_NAME
            && name.len() > sort.ending().len()
            && name.ends_with(sort.ending())
            && name.split('/').all(part_is_plain);
        if !plain {
            return Err(sort.bad_name());
        }
        let joined = self.root.join(name);
        let (Some(parent), Some(file)) = (joined.parent(), joined.file_name()) else {
            return Err(sort.bad_name());
        };
        let parent = parent.canonicalize().map_err(|_| sort.none(name))?;
        if !parent.starts_with(&self.root) {
            return Err(sort.none(name));
        }
        let own = parent.join(file);
        match fs::symlink_metadata(&own) {
            Ok(m) if m.is_symlink() => {
                let real = own.canonicalize().map_err(|_| sort.none(name))?;
                if real.starts_with(&self.root) && real.to_string_lossy().ends_with(sort.ending()) {
                    Ok(real)
                } else {
                    Err(sort.none(name))
                }
            }
            _ => Ok(own),
        }
    }

    /// Where the folder is.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The content of a job, style or board file.
    ///
    /// # Errors
    /// No such file in the folder, or one that is no text.
    pub fn read(&self, name: &str) -> Result<Held, Refuse> {
        self.read_as(Sort::Job, name)
    }

    /// A file's content.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn read_as(&self, sort: Sort, name: &str) -> Result<Held, Refuse> {
        let path = self.path(sort, name)?;
        held(&path, sort)?.ok_or_else(|| sort.none(name))
    }

    /// A file that a request names in its body: what cannot be a name is no file either.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn find(&self, sort: Sort, name: &str) -> Result<Held, Refuse> {
        self.read_as(sort, name).map_err(|no| {
            if no.code == "bad-name" {
                sort.none(name)
            } else {
                no
            }
        })
    }

    /// A file that another one in the folder names, counted from that one's own folder.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn read_beside(&self, from: Option<&str>, name: &str) -> Result<Held, Refuse> {
        let base = from.and_then(|f| f.rsplit_once('/')).map_or("", |(b, _)| b);
        let mut parts: Vec<&str> = base.split('/').filter(|p| !p.is_empty()).collect();
        for part in name.split('/') {
            match part {
                "" => return Err(Sort::Job.none(name)),
                "." => {}
                ".." => {
                    parts.pop().ok_or_else(|| Sort::Job.none(name))?;
                }
                part => parts.push(part),
            }
        }
        self.read(&parts.join("/"))
            .map_err(|_| Sort::Job.none(name))
    }

    /// Names of the `*.kdl` files that look like jobs, sorted.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        self.names_of(Sort::Job)
    }

    /// Names of the files of this sort, sorted.
    #[must_use]
    pub fn names_of(&self, sort: Sort) -> Vec<String> {
        let mut out = Vec::new();
        let mut left = MOST_LOOKED_AT;
        look((&self.root, sort), "", 0, &mut left, &mut out);
        out.sort();
        out.truncate(MOST_JOBS);
        out
    }

    /// Saves a file: `make` is given what is there and says what is to be there. The file is only
    /// replaced when what is there has the stamp `known`; a new file only when there is none.
    ///
    /// # Errors
    /// `changed-on-disk` or `already-there`, `make`'s own refusal, or what the disk says.
    pub fn save(
        &self,
        sort: Sort,
        name: &str,
        known: Option<&str>,
        make: impl FnOnce(Option<&str>) -> Result<String, Refuse>,
    ) -> Result<String, Refuse> {
        let path = self.path(sort, name)?;
        let one_at_a_time = self.saving.lock();
        let now = held(&path, sort)?;
        match (known, &now) {
            (None, Some(_)) => return Err(already_there(name)),
            (Some(_), None) => return Err(sort.none(name)),
            (Some(stamp), Some(held)) if *stamp != held.stamp => return Err(changed(name)),
            _ => {}
        }
        let text = make(now.as_ref().map(|h| h.text.as_str()))?;
        if now.as_ref().is_some_and(|h| h.text == text) {
            return Ok(stamp(text.as_bytes()));
        }
        let (part, lock) = self.part(&path, text.as_bytes()).map_err(|e| cannot(&e))?;
        let result = match &now {
            None => match fs::hard_link(&part, &path) {
                Ok(()) => Ok(()),
                Err(e) if e.kind() == ErrorKind::AlreadyExists => Err(already_there(name)),
                // Some file systems have no links.
                Err(_) if !path.exists() => fs::rename(&part, &path).map_err(|e| cannot(&e)),
                Err(e) => Err(cannot(&e)),
            },
            // Someone's editor may have written while the new text was made.
            Some(was) => match held(&path, sort) {
                Ok(Some(h)) if h.stamp == was.stamp => {
                    fs::rename(&part, &path).map_err(|e| cannot(&e))
                }
                _ => Err(changed(name)),
            },
        };
        let _ = fs::remove_file(&part);
        drop((lock, one_at_a_time));
        result.map(|()| stamp(text.as_bytes()))
    }

    /// The whole text under a hidden name in the same folder, and its lock: a file without one was
    /// left behind by a run that was killed.
    fn part(&self, path: &Path, bytes: &[u8]) -> std::io::Result<(PathBuf, File)> {
        let folder = path.parent().unwrap_or(&self.root);
        let n = self.count.fetch_add(1, Ordering::Relaxed);
        let part = folder.join(format!("{}{}-{n}{}", PART.0, std::process::id(), PART.1));
        let written = (|| {
            let mut file = match OpenOptions::new().write(true).create_new(true).open(&part) {
                // Left behind by a run that was killed and had the same number.
                Err(e) if e.kind() == ErrorKind::AlreadyExists => {
                    fs::remove_file(&part)?;
                    OpenOptions::new()
                        .write(true)
                        .create_new(true)
                        .open(&part)?
                }
                other => other?,
            };
            if let Ok(old) = fs::metadata(path) {
                file.set_permissions(old.permissions())?;
            }
            // Where the file system has no locks, nothing is cleared away either.
            let _ = file.try_lock();
            file.write_all(bytes)?;
            file.sync_all()?;
            Ok(file)
        })();
        if written.is_err() {
            let _ = fs::remove_file(&part);
        }
        written.map(|file| (part, file))
    }
}

/// Clears away what runs that were killed left in a folder and in those below.
fn clear_away(folder: &Path, depth: usize, left: &mut usize) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if *left == 0 {
            return;
        }
        *left -= 1;
        let name = entry.file_name();
        let Some(name) = name.to_str() else { continue };
        let Ok(kind) = entry.file_type() else {
            continue;
        };
        if kind.is_dir() && depth < DEEPEST && !name.starts_with('.') {
            clear_away(&entry.path(), depth + 1, left);
        }
        let ours = name.starts_with(PART.0) && name.ends_with(PART.1);
        if ours
            && kind.is_file()
            && let Ok(file) = File::open(entry.path())
            && file.try_lock().is_ok()
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn already_there(name: &str) -> Refuse {
    Refuse::conflict(
        "already-there",
        format!("there is a file `{name}` already; it is left as it is"),
    )
    .help("choose another name, or open that one")
}

fn changed(name: &str) -> Refuse {
    Refuse::conflict(
        "changed-on-disk",
        format!("`{name}` has changed on disk since it was opened; it is left as it is"),
    )
    .help("open it again, or save under another name")
}

fn cannot(e: &std::io::Error) -> Refuse {
    let words = e.to_string();
    let plain = words.split(" (os error").next().unwrap_or(&words);
    Refuse::conflict(
        "cannot-write",
        format!("the file cannot be written: {}", plain.to_lowercase()),
    )
}

/// What is at a path; `None` where nothing is.
fn held(path: &Path, sort: Sort) -> Result<Option<Held>, Refuse> {
    let limit = sort.most_bytes();
    let unreadable = |words: &str| Refuse::conflict("unreadable", format!("this file {words}"));
    match fs::metadata(path) {
        Err(_) => return Ok(None),
        Ok(m) if !m.is_file() => return Err(unreadable("is no plain file")),
        Ok(_) => {}
    }
    let mut bytes = Vec::new();
    let most = u64::try_from(limit).unwrap_or(u64::MAX);
    File::open(path)
        .and_then(|f| f.take(most + 1).read_to_end(&mut bytes))
        .map_err(|_| unreadable("cannot be read"))?;
    if bytes.len() > limit {
        return Err(unreadable(&format!("is longer than any {}", sort.word())));
    }
    let stamp = stamp(&bytes);
    let text = String::from_utf8(bytes).map_err(|_| unreadable("is not UTF-8 text"))?;
    Ok(Some(Held { text, stamp }))
}

fn look(
    (dir, sort): (&Path, Sort),
    before: &str,
    depth: usize,
    left: &mut usize,
    out: &mut Vec<String>,
) {
    let Ok(entries) = fs::read_dir(dir) else {
        return;
    };
    for entry in entries.flatten() {
        if *left == 0 {
            return;
        }
        *left -= 1;
        let name = entry.file_name();
        let Some(name) = name.to_str().filter(|n| !n.starts_with('.')) else {
            continue;
        };
        let own = if before.is_empty() {
            name.to_owned()
        } else {
            format!("{before}/{name}")
        };
        match entry.file_type() {
            Ok(t) if t.is_dir() && depth < DEEPEST => {
                look((&entry.path(), sort), &own, depth + 1, left, out);
            }
            Ok(t) if !t.is_dir() && name.ends_with(sort.ending()) => out.push(own),
            _ => {}
        }
    }
}
