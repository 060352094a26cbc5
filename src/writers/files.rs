//! Putting written files on the disk: all of them or none, and never over a file that somebody else made.
//!
//! This is the one place where sheets meet the disk.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::{WRITERS, stl};
use crate::fault::{Fault, Faults};

/// What was done in the folder.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Saved {
    /// Files written, in the order given.
    pub written: Vec<PathBuf>,
    /// Sheets of an earlier run under the same name that this run has no more (it needed fewer pages): taken away.
    pub removed: Vec<PathBuf>,
}

/// A file name made of a bow's name: small letters, figures and hyphens; never empty.
pub fn file_stem(name: &str) -> String {
    let mut stem = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            stem.push(c);
        } else if !stem.is_empty() && !stem.ends_with('-') {
            stem.push('-');
        }
    }
    let stem: String = stem.chars().take(60).collect();
    let stem = stem.trim_end_matches('-');
    if stem.is_empty() { "bow".to_owned() } else { stem.to_owned() }
}

/// Writes `files` (what comes after `stem`, and the bytes) into `folder`, which is made when it is not there.
///
/// Every file is first written beside its place under another name and then moved over it, so that at every moment, even
/// when the machine stops, each place holds its old file or its new one, whole; if anything fails, what was there
/// before is there again. What a stopped run left lying is cleared away by the next. A file of the same name that this program did not write is a fault, and nothing is written.
pub fn save(folder: &Path, stem: &str, files: &[(String, Vec<u8>)]) -> Result<Saved, Faults> {
    let mut saved = Saved { written: put(folder, stem, files)?, removed: Vec::new() };
    for stale in stale_sheets(folder, stem, &saved.written) {
        if fs::remove_file(&stale).is_ok() {
            saved.removed.push(stale);
        }
    }
    Ok(saved)
}

/// The same, and nothing is taken away: sheets of an earlier run stay.
pub fn put(folder: &Path, stem: &str, files: &[(String, Vec<u8>)]) -> Result<Vec<PathBuf>, Faults> {
    let made_folder = !folder.exists();
    fs::create_dir_all(folder).map_err(|e| vec![folder_fault(folder, &e)])?;
    let targets: Vec<PathBuf> = files.iter().map(|(suffix, _)| folder.join(format!("{stem}{suffix}"))).collect();
    let in_the_way: Faults = targets.iter().filter(|t| !may_replace(t)).map(|t| foreign_fault(t)).collect();
    if !in_the_way.is_empty() {
        return Err(in_the_way);
    }
    clear_leftovers(folder);
    let mut undo = Undo { temporary: Vec::new(), moved: Vec::new(), folder: made_folder.then(|| folder.to_owned()) };
    match write_all(folder, files, &targets, &mut undo) {
        Ok(()) => {}
        Err((path, error)) => {
            undo.roll_back();
            return Err(vec![write_fault(&path, &error)]);
        }
    }
    undo.keep();
    Ok(targets)
}

/// Sheets of numbered rows (`stem-3-anna.pdf`) that this program made and that are not among those just written.
///
/// Those of another roster whose name begins alike (`stem-2-1-anna.pdf` beside its key, `stem-2-key.pdf`) are not among them.
pub fn earlier_rows(folder: &Path, stem: &str, written: &[PathBuf]) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let paths: Vec<PathBuf> = entries.filter_map(|entry| entry.ok().map(|e| e.path())).collect();
    let name = |path: &PathBuf| path.file_name().and_then(|n| n.to_str()).unwrap_or_default().to_owned();
    let of_roster = |name: &str, stem: &str| {
        let number = name.strip_prefix(stem).and_then(|rest| rest.strip_prefix('-')?.split_once('-'));
        number.is_some_and(|(number, _)| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
    };
    let keys: Vec<String> = paths.iter().map(name).filter(|name| name.ends_with(KEY)).collect();
    let others: Vec<&str> =
        keys.iter().filter_map(|key| key.strip_suffix(KEY)).filter(|o| o.len() > stem.len()).collect();
    let of_row = |path: &PathBuf| {
        let name = name(path);
        of_roster(&name, stem) && !keys.contains(&name) && !others.iter().any(|other| of_roster(&name, other))
    };
    let mut found: Vec<PathBuf> =
        paths.iter().filter(|path| of_row(path) && !written.contains(path) && is_ours(path)).cloned().collect();
    found.sort();
    found
}

/// What the name of a class's key ends with.
const KEY: &str = "-key.pdf";

fn write_all(
    folder: &Path,
    files: &[(String, Vec<u8>)],
    targets: &[PathBuf],
    undo: &mut Undo,
) -> Result<(), (PathBuf, std::io::Error)> {
    let process = std::process::id();
    for (number, (_, bytes)) in files.iter().enumerate() {
        let path = folder.join(format!(".nockwright-{process}-{number}.new"));
        let at = |e| (folder.to_owned(), e);
        let mut file = fs::OpenOptions::new().write(true).create_new(true).open(&path).map_err(at)?;
        undo.temporary.push(path);
        file.write_all(bytes).and_then(|()| file.sync_all()).map_err(at)?;
    }
    for (number, target) in targets.iter().enumerate() {
        let kept = folder.join(format!(".nockwright-{process}-{number}.old"));
        let at = |e| (target.clone(), e);
        let old = if target.exists() {
            // A second name keeps the old file while its place is never empty; some disks know no second names.
            fs::hard_link(target, &kept).or_else(|_| fs::copy(target, &kept).map(|_| ())).map_err(at)?;
            Some(kept)
        } else {
            None
        };
        undo.moved.push((target.clone(), old));
        fs::rename(&undo.temporary[number], target).map_err(at)?;
    }
    Ok(())
}

/// Takes away what a run that was stopped half way left in the folder: files of the names above whose program is gone.
fn clear_leftovers(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for path in entries.filter_map(|entry| entry.ok().map(|e| e.path())) {
        let process = path.file_name().and_then(|n| n.to_str()).and_then(|name| {
            let name = name.strip_prefix(".nockwright-")?;
            let (process, rest) = name.split_once('-')?;
            let number = rest.strip_suffix(".new").or_else(|| rest.strip_suffix(".old"))?;
            let all_digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
            (all_digits(process) && all_digits(number)).then(|| process.to_owned())
        });
        let Some(process) = process else { continue };
        if process == std::process::id().to_string() || !may_still_run(&process, &path) {
            let _ = fs::remove_file(&path);
        }
    }
}

/// Whether the program that made a file beside may still be at work. Where running programs cannot be looked up,
/// one is taken to be done with its files after a day.
fn may_still_run(process: &str, path: &Path) -> bool {
    let list = Path::new("/proc/self");
    if list.exists() {
        return Path::new("/proc").join(process).exists();
    }
    let age = fs::metadata(path).and_then(|m| m.modified()).ok().and_then(|t| t.elapsed().ok());
    age.is_none_or(|age| age.as_secs() < 86_400)
}

/// What has been done so far, to take it back.
struct Undo {
    temporary: Vec<PathBuf>,
    /// Places filled, each with where the file that was there before is kept.
    moved: Vec<(PathBuf, Option<PathBuf>)>,
    folder: Option<PathBuf>,
}

impl Undo {
    // Taking back goes on whatever fails on the way: the first failure is what is reported.
    fn roll_back(self) {
        for (target, old) in self.moved.into_iter().rev() {
            let _ = match old {
                Some(old) => fs::rename(old, target),
                None => fs::remove_file(target),
            };
        }
        for path in self.temporary {
            let _ = fs::remove_file(path);
        }
        if let Some(folder) = self.folder {
            let _ = fs::remove_dir(folder);
        }
    }

    fn keep(self) {
        for old in self.moved.into_iter().filter_map(|(_, old)| old) {
            let _ = fs::remove_file(old);
        }
    }
}

/// A place is free when nothing is there, or a file that a writer of this program knows for its own.
fn may_replace(path: &Path) -> bool {
    match fs::symlink_metadata(path) {
        Err(e) => e.kind() == std::io::ErrorKind::NotFound,
        Ok(_) => is_ours(path),
    }
}

/// No sheets of this program are as large as this, bytes: what is larger need not be read to be known as foreign.
const LARGEST: u64 = 1 << 28;

fn is_ours(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|m| m.is_file() && m.len() < LARGEST)
        && fs::read(path).is_ok_and(|bytes| ours(path, &bytes))
}

fn ours(path: &Path, bytes: &[u8]) -> bool {
    let mut known = WRITERS.iter().map(|w| (w.name, w.made)).chain([("stl", stl::made as fn(&[u8]) -> bool)]);
    known.any(|(name, made)| path.extension().is_some_and(|e| e == name) && made(bytes))
}

/// Numbered sheets of this name, made by this program, that are not among those just written.
fn stale_sheets(folder: &Path, stem: &str, written: &[PathBuf]) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let numbered = |name: &str| {
        WRITERS.iter().any(|w| {
            name.strip_prefix(stem)
                .and_then(|rest| rest.strip_prefix('-'))
                .and_then(|rest| rest.strip_suffix(w.name))
                .and_then(|rest| rest.strip_suffix('.'))
                .is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
                // Only formats of which this run wrote something: the others still stand for an earlier wish.
                && written.iter().any(|path| path.extension().is_some_and(|e| e == w.name))
        })
    };
    let mut stale: Vec<PathBuf> = entries
        .filter_map(|entry| entry.ok().map(|e| e.path()))
        .filter(|path| !written.contains(path))
        .filter(|path| path.file_name().and_then(|n| n.to_str()).is_some_and(numbered))
        .filter(|path| is_ours(path))
        .collect();
    stale.sort();
    stale
}

/// The option that names the folder, in every command that writes sheets.
const OUT: &str = "--out";

fn folder_fault(folder: &Path, error: &std::io::Error) -> Fault {
    let why = if folder.is_file() { "it is a file".to_owned() } else { error.to_string() };
    Fault::at(
        OUT,
        format!("the folder '{}' cannot be used: {why}", folder.display()),
        "the sheets need a folder that can be written to",
    )
    .cure("name another folder, or make this one writable")
}

fn write_fault(path: &Path, error: &std::io::Error) -> Fault {
    Fault::at(
        OUT,
        format!("'{}' cannot be written: {error}", path.display()),
        "sheets are written all or not at all; none was",
    )
    .cure("name another folder, or make this one writable")
}

fn foreign_fault(path: &Path) -> Fault {
    Fault::at(
        OUT,
        format!("'{}' is in the way, and Nockwright did not write it", path.display()),
        "only sheets of its own are written over; nothing was written",
    )
    .cure("move it away, or name another folder")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder of its own for each test, taken away at the end.
    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Self {
            let path = std::env::temp_dir().join(format!("nockwright-test-{name}-{}", std::process::id()));
            let _ = fs::remove_dir_all(&path);
            Folder(path)
        }

        fn names(&self) -> Vec<String> {
            let mut names: Vec<String> =
                fs::read_dir(&self.0).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
            names.sort();
            names
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    fn svg(number: usize, content: &str) -> (String, Vec<u8>) {
        (
            format!("-{number}.svg"),
            format!("<svg xmlns:nockwright=\"urn:nockwright:sheet\">{content}</svg>").into_bytes(),
        )
    }

    #[test]
    fn writes_anew_over_its_own_and_takes_stale_sheets_away() {
        let folder = Folder::new("own");
        save(&folder.0, "ash", &[svg(1, "a"), svg(2, "a"), svg(3, "a")]).unwrap();
        fs::write(folder.0.join("ash-4.svg"), "<svg>not ours</svg>").unwrap();
        fs::write(folder.0.join("ash-bow-2.svg"), svg(2, "another bow").1).unwrap();
        let saved = save(&folder.0, "ash", &[svg(1, "b")]).unwrap();
        assert_eq!(saved.removed, [folder.0.join("ash-2.svg"), folder.0.join("ash-3.svg")]);
        assert_eq!(folder.names(), ["ash-1.svg", "ash-4.svg", "ash-bow-2.svg"]);
        assert_eq!(fs::read(folder.0.join("ash-1.svg")).unwrap(), svg(1, "b").1);
    }

    #[test]
    fn a_foreign_file_stops_everything() {
        let folder = Folder::new("foreign");
        fs::create_dir_all(&folder.0).unwrap();
        fs::write(folder.0.join("ash-2.svg"), "<svg>mine</svg>").unwrap();
        fs::create_dir(folder.0.join("ash-3.svg")).unwrap();
        let faults = save(&folder.0, "ash", &[svg(1, "a"), svg(2, "a"), svg(3, "a")]).unwrap_err();
        assert_eq!(faults.len(), 2);
        assert!(faults[0].what.contains("ash-2.svg"));
        assert_eq!(folder.names(), ["ash-2.svg", "ash-3.svg"]);
    }

    #[test]
    fn a_failure_half_way_leaves_everything_as_it_was() {
        let folder = Folder::new("half");
        save(&folder.0, "ash", &[svg(1, "old")]).unwrap();
        // The second file's name holds a folder that is not there, so moving it fails after the first was moved.
        let files = [svg(1, "new"), ("-none/-2.svg".to_owned(), b"x".to_vec())];
        assert!(save(&folder.0, "ash", &files).is_err());
        assert_eq!(folder.names(), ["ash-1.svg"]);
        assert_eq!(fs::read(folder.0.join("ash-1.svg")).unwrap(), svg(1, "old").1);
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_a_clear_fault() {
        let folder = Folder::new("file");
        fs::create_dir_all(&folder.0).unwrap();
        let file = folder.0.join("file");
        fs::write(&file, "x").unwrap();
        for bad in [file.clone(), file.join("below")] {
            let faults = save(&bad, "ash", &[svg(1, "a")]).unwrap_err();
            assert!(faults[0].what.contains("cannot be used"), "{}", faults[0].what);
        }
    }

    #[test]
    fn file_names_are_plain() {
        assert_eq!(file_stem("Old Ash, No. 3"), "old-ash-no-3");
        assert_eq!(file_stem("../../etc/passwd"), "etc-passwd");
        assert_eq!(file_stem("<>\n"), "bow");
        assert_eq!(file_stem("Förster"), "förster");
        assert!(file_stem(&"long ".repeat(99)).len() <= 60);
    }
}
