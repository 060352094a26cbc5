//! One bad design file for each fault, and the message that a maker gets.
//!
//! Each `tests/refused/NAME.toml` says in its head what the message must hold (`# says: ...`, written by hand);
//! `NAME.txt` beside it is the whole message as it was last looked over.
//! `tests/refused/nocks/` holds designs that read well and whose nock cannot be made: for each style each fault it can have.
//! After a change of wording, `WRITE_MESSAGES=1 cargo test --test refused` writes the messages anew, to be read before they are kept.

// A test that cannot go on should stop.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

use nockwright::design::file::{Overrides, read_bytes};
use nockwright::nock::NOCK_STYLES;
use nockwright::worked::{Statics, nocks};

fn bad_files(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .expect("the folder of bad files")
        .map(|entry| entry.expect("an entry of it").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    assert!(files.len() > 20, "the bad files are not where they should be");
    files
}

/// Why a file is refused, as a maker is told; none when it is not.
type Refused = fn(&[u8], &str) -> Option<String>;

/// A bad file's words, however it was saved.
fn text_of(bytes: &[u8]) -> String {
    let units = |of: fn([u8; 2]) -> u16| -> String {
        let units: Vec<u16> = bytes[2..].chunks_exact(2).map(|b| of([b[0], b[1]])).collect();
        String::from_utf16(&units).unwrap()
    };
    match bytes {
        [0xFF, 0xFE, ..] => units(u16::from_le_bytes),
        [0xFE, 0xFF, ..] => units(u16::from_be_bytes),
        _ => String::from_utf8_lossy(bytes).into_owned(),
    }
}

/// Holds the message of every bad file in `folder` against what is kept beside it.
fn compare(folder: &str, refused: Refused) {
    let mut wrong = Vec::new();
    for path in bad_files(folder) {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let bytes = fs::read(&path).unwrap();
        let Some(message) = refused(&bytes, &name) else {
            wrong.push(format!("{name} is accepted"));
            continue;
        };
        let text = text_of(&bytes);
        let wanted: Vec<&str> = text.split(['\r', '\n']).filter_map(|line| line.strip_prefix("# says: ")).collect();
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

#[test]
fn every_bad_file_is_refused_with_its_message() {
    compare("tests/refused", |bytes, name| {
        read_bytes(bytes, name, &Overrides::default()).err().map(|refusal| refusal.to_string())
    });
}

#[test]
fn every_nock_that_cannot_be_made_is_refused_with_its_message() {
    compare("tests/refused/nocks", |bytes, name| {
        let mut reading = match read_bytes(bytes, name, &Overrides::default()) {
            Ok(reading) => reading,
            Err(refusal) => return Some(refusal.to_string()),
        };
        let statics = Statics::of(&reading.design, 10).expect("a bow that can be braced and drawn");
        let faults = nocks(&reading.design, &statics).err()?;
        assert!(faults.iter().all(|fault| !fault.cure.is_empty()), "{name}: {faults:#?}");
        Some(reading.places.refusal(faults).to_string())
    });
    let files = bad_files("tests/refused/nocks");
    let of = |style: &str| {
        let head = format!("{}-", style.replace(' ', "_"));
        files.iter().filter(|path| path.file_name().unwrap().to_string_lossy().starts_with(&head)).count()
    };
    for style in NOCK_STYLES {
        // The straight groove has but one fault; the others have those of a blended groove at least.
        let least = if style.name() == "straight groove" { 1 } else { 4 };
        assert!(of(style.name()) >= least, "too few refused designs for {}", style.name());
    }
}
