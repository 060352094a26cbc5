//! One bad design file for each fault, and the message that a maker gets.
//!
//! Each `tests/refused/NAME.toml` says in its head what the message must hold (`# says: ...`, written by hand);
//! `NAME.txt` beside it is the whole message as it was last looked over.
//! After a change of wording, `WRITE_MESSAGES=1 cargo test --test refused` writes the messages anew, to be read before they are kept.

use std::fs;
use std::path::{Path, PathBuf};

use nockwright::design::file::{Overrides, read_bytes};

fn bad_files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/refused");
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .expect("tests/refused")
        .map(|entry| entry.expect("an entry of tests/refused").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    assert!(files.len() > 20, "the bad files are not where they should be");
    files
}

#[test]
fn every_bad_file_is_refused_with_its_message() {
    let mut wrong = Vec::new();
    for path in bad_files() {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let bytes = fs::read(&path).unwrap();
        let message = match read_bytes(&bytes, &name, &Overrides::default()) {
            Ok(_) => {
                wrong.push(format!("{name} is accepted"));
                continue;
            }
            Err(refusal) => refusal.to_string(),
        };
        let text = String::from_utf8_lossy(&bytes);
        let wanted: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("# says: ")).collect();
        if wanted.is_empty() {
            wrong.push(format!("{name} does not say what its message must hold"));
        }
        for words in wanted {
            if !message.contains(words) {
                wrong.push(format!("{name}: the message lacks {words:?}:\n{message}"));
            }
        }
        let kept = path.with_extension("txt");
        if std::env::var_os("WRITE_MESSAGES").is_some() {
            fs::write(&kept, &message).unwrap();
        } else if fs::read_to_string(&kept).unwrap_or_default() != message {
            wrong.push(format!("{name}: the message differs from the one kept:\n{message}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
