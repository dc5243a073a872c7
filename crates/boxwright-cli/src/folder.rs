//! Writing files so that a name never stands for half a file.
//!
//! Each file is written under a hidden name in the same folder, and all of them are renamed once
//! all are whole. The hidden file stays locked while its run lives, so a later run can tell one
//! left behind by a run that was killed, and clears it away.

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use boxwright::diag::Diag;

use crate::desk::io_words;

const PREFIX: &str = ".boxwright-";
const SUFFIX: &str = ".part";

/// A whole file under a hidden name; cleared away unless it was given its own.
struct Part {
    hidden: PathBuf,
    /// Held for its lock.
    _file: File,
    renamed: bool,
}

impl Drop for Part {
    fn drop(&mut self) {
        if !self.renamed {
            let _ = fs::remove_file(&self.hidden);
        }
    }
}

/// Folders made for the files; taken away again when nothing came of it.
struct Made(Vec<PathBuf>);

impl Drop for Made {
    fn drop(&mut self) {
        for folder in &self.0 {
            // Fails where something else has been put in meanwhile, which is right.
            let _ = fs::remove_dir(folder);
        }
    }
}

/// Writes files into a folder, in their order.
pub fn write(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Diag> {
    let mut made = Made(
        folder
            .ancestors()
            .filter(|a| !a.as_os_str().is_empty())
            .take_while(|a| !a.exists())
            .map(Path::to_path_buf)
            .collect(),
    );
    fs::create_dir_all(folder).map_err(|e| cannot("the folder", folder, &e))?;
    sweep(folder);
    for (name, _) in files {
        let own = folder.join(name);
        if own.is_dir() {
            return Err(cannot("the file", &own, &ErrorKind::IsADirectory.into()));
        }
    }
    let mut parts = Vec::new();
    for (n, (name, bytes)) in files.iter().enumerate() {
        let own = folder.join(name);
        parts.push(part(folder, n, bytes).map_err(|e| cannot("the file", &own, &e))?);
    }
    for (part, (name, _)) in parts.iter_mut().zip(files) {
        let own = folder.join(name);
        fs::rename(&part.hidden, &own).map_err(|e| cannot("the file", &own, &e))?;
        part.renamed = true;
    }
    made.0.clear();
    Ok(())
}

/// A warning when files of an earlier layout of this name lie in the folder beside those written just
/// now: those with the same ending for sheets that are no longer there.
pub fn older(folder: &Path, stem: &str, written: &[(String, Vec<u8>)]) -> Option<Diag> {
    let start = format!("{stem}-sheet-");
    let end = |name: &str| name.rsplit('.').next().map(str::to_owned);
    let ends: Vec<_> = written.iter().map(|(name, _)| end(name)).collect();
    let entries = fs::read_dir(folder).ok()?;
    let names = entries.filter_map(|e| e.ok()?.file_name().into_string().ok());
    let mut old: Vec<String> = names
        .filter(|n| n.starts_with(&start) && ends.contains(&end(n)))
        .filter(|n| written.iter().all(|(name, _)| name != n))
        .collect();
    old.sort();
    let first = old.first()?;
    let message = match old.len() {
        1 => format!("`{first}` is from an earlier layout and still lies there"),
        n => format!(
            "`{first}` and {} more files are from an earlier layout and still lie there",
            n - 1
        ),
    };
    Some(Diag::warning("older-files", message).help("do not cut by them; delete them"))
}

/// Writes one file that must not be there yet.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Diag> {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let there = || {
        Diag::error(
            "already-there",
            format!("`{}` is already there and is left as it is", path.display()),
        )
        .help("name another file with --out, or move it away first")
    };
    if path.symlink_metadata().is_ok() {
        return Err(there());
    }
    let mut part = part(folder, 0, bytes).map_err(|e| cannot("the file", path, &e))?;
    // A link, unlike a rename, fails when someone else has made the file meanwhile.
    match fs::hard_link(&part.hidden, path) {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == ErrorKind::AlreadyExists => Err(there()),
        // Some file systems have no links.
        Err(_) => {
            fs::rename(&part.hidden, path).map_err(|e| cannot("the file", path, &e))?;
            part.renamed = true;
            Ok(())
        }
    }
}

fn part(folder: &Path, n: usize, bytes: &[u8]) -> std::io::Result<Part> {
    let hidden = folder.join(format!("{PREFIX}{}-{n}{SUFFIX}", std::process::id()));
    let mut options = OpenOptions::new();
    let file = options.write(true).create_new(true).open(&hidden)?;
    let mut part = Part {
        hidden,
        _file: file,
        renamed: false,
    };
    // Where the file system has no locks, a sweep cannot lock the file either and leaves it.
    let _ = part._file.try_lock();
    part._file.write_all(bytes)?;
    Ok(part)
}

/// Clears away what runs that were killed left behind.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let ours = name
            .to_str()
            .is_some_and(|n| n.starts_with(PREFIX) && n.ends_with(SUFFIX));
        if ours
            && entry.file_type().is_ok_and(|t| t.is_file())
            && let Ok(file) = File::open(entry.path())
            && file.try_lock().is_ok()
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn cannot(what: &str, path: &Path, e: &std::io::Error) -> Diag {
    let why = match e.kind() {
        ErrorKind::AlreadyExists => "a file of this name is there".to_owned(),
        ErrorKind::IsADirectory => "a folder of this name is there".to_owned(),
        _ => io_words(e),
    };
    Diag::error(
        "cannot-write",
        format!("{what} `{}` cannot be written: {why}", path.display()),
    )
    .help("choose another folder with --out, or free this one")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(name: &str) -> PathBuf {
        let path = std::env::temp_dir().join(format!("{PREFIX}{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        path
    }

    #[test]
    fn parts_left_behind_are_cleared_and_live_ones_are_kept() {
        let at = place("sweep");
        fs::create_dir_all(&at).unwrap();
        fs::write(at.join(".boxwright-1-0.part"), "half").unwrap();
        fs::write(at.join(".other"), "mine").unwrap();
        let live = File::create(at.join(".boxwright-2-0.part")).unwrap();
        live.try_lock().unwrap();
        write(&at, &[("a.txt".into(), b"whole".to_vec())]).unwrap();
        let mut names: Vec<_> = fs::read_dir(&at)
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        assert_eq!(names, [".boxwright-2-0.part", ".other", "a.txt"]);
        fs::remove_dir_all(&at).unwrap();
    }

    #[test]
    fn nothing_stays_when_one_file_cannot_be_written() {
        let at = place("blocked");
        fs::create_dir_all(at.join("b.txt")).unwrap();
        let files = [("a.txt".into(), vec![1]), ("b.txt".into(), vec![2])];
        assert_eq!(write(&at, &files).unwrap_err().code, "cannot-write");
        assert!(!at.join("a.txt").exists());
        assert_eq!(fs::read_dir(&at).unwrap().count(), 1);
        fs::remove_dir_all(&at).unwrap();
    }
}
