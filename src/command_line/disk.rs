//! Files that commands read and write besides design files and sheets.

use super::Ending;
use crate::design::file::Refusal;
use crate::fault::{Fault, Faults};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// Ends with faults of a file or of options, each with its cure.
pub(super) fn refuse(name: &str, faults: Faults) -> Ending {
    let refusal = |fault: Fault| match fault.key.starts_with("--") {
        true => Refusal::of_options(vec![fault]),
        false => Refusal::whole(name, fault),
    };
    let words: Vec<String> = faults.into_iter().map(|fault| refusal(fault).render(true)).collect();
    Ending::Refused(words.join("\n"))
}

/// Reads a file of at most so many bytes.
///
/// # Errors
/// The refusal to end with.
pub(super) fn read(path: &Path, most: usize) -> Result<Vec<u8>, Ending> {
    let name = path.display().to_string();
    let failed = |error: std::io::Error| {
        let fault = Fault::at("", format!("the file cannot be read: {error}"), "it must be a file that you may read");
        refuse(&name, vec![fault.cure("check the name and the folder")])
    };
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(failed)?;
    file.take(most as u64 + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() > most {
        let fault = Fault::at("", format!("the file is longer than {} MB", most >> 20), "so long a file is not read");
        return Err(refuse(&name, vec![fault.cure("check that this is the file you meant")]));
    }
    Ok(bytes)
}

/// Writes a new file, whole or not at all; never over one that is there.
///
/// # Errors
/// The refusal to end with.
pub(super) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Ending> {
    if path.symlink_metadata().is_ok() {
        return Err(there_already(path));
    }
    let temporary = beside(path, bytes)?;
    // A second name for the file fails where one is there, unlike moving it; some disks know no second names.
    let done = std::fs::hard_link(&temporary, path).or_else(|error| match error.kind() {
        ErrorKind::AlreadyExists => Err(error),
        _ => std::fs::File::create_new(path).and_then(|mut file| file.write_all(bytes)),
    });
    let _ = std::fs::remove_file(&temporary);
    done.map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => there_already(path),
        _ => unwritable(path, &error),
    })
}

/// Writes a file of the program's own in place of the one that is there, whole or not at all.
///
/// # Errors
/// The refusal to end with.
pub(super) fn replace(path: &Path, bytes: &[u8]) -> Result<(), Ending> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(|error| unwritable(folder, &error))?;
    }
    let temporary = beside(path, bytes)?;
    std::fs::rename(&temporary, path).map_err(|error| {
        let _ = std::fs::remove_file(&temporary);
        unwritable(path, &error)
    })
}

/// A file with the bytes, in the folder of `path`, safely on the disk.
fn beside(path: &Path, bytes: &[u8]) -> Result<PathBuf, Ending> {
    let temporary = path.with_file_name(format!(".nockwright-{}.new", std::process::id()));
    let written =
        std::fs::File::create(&temporary).and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()));
    written.map(|()| temporary.clone()).map_err(|error| {
        let _ = std::fs::remove_file(&temporary);
        unwritable(path, &error)
    })
}

fn there_already(path: &Path) -> Ending {
    let fault = Fault::at("", "this file is there already and was left as it is", "no file is written over");
    refuse(&path.display().to_string(), vec![fault.cure("choose another name")])
}

fn unwritable(path: &Path, error: &std::io::Error) -> Ending {
    let fault = Fault::at(
        "",
        format!("it cannot be written: {error}"),
        "a file is written whole or not at all; nothing was changed",
    );
    refuse(&path.display().to_string(), vec![fault.cure("make room or name another folder")])
}
