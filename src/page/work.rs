//! What can be asked of the server: one line for each, all with the same form.

use std::fmt::Write;

use serde::{Deserialize, Serialize};

use super::answer::{self, Change};
use super::memory::Memory;
use super::{Bench, ToSave, offline};
use crate::carried;
use crate::design::file::{Overrides, Refusal, read_bytes};
use crate::fault::Fault;
use crate::handout::{Handout, Wish};
use crate::sheets::Letters;
use crate::sheets::paper::PAPERS;
use crate::writers::{WRITERS, files};

/// What lies on the bench, and what was worked out of it last.
pub(super) struct Desk {
    pub bench: Bench,
    pub memory: Memory,
}

/// One thing that can be asked.
pub(super) struct Task {
    pub path: &'static str,
    /// Longest body, bytes.
    pub most_bytes: usize,
    /// Which others it waits for.
    pub queue: Queue,
    /// From the body to an answer in JSON, or words for the status line.
    pub run: fn(&Desk, &[u8]) -> Result<String, String>,
}

/// Tasks wait for others of their kind only, so that a long one keeps no quick one waiting.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Queue {
    /// Done within a frame or two.
    Change,
    /// The nocks' own loops: some frames.
    Loop,
    /// Everything longer.
    Job,
}

/// A design's text with what stands about it.
pub(super) const MOST_TEXT: usize = 3 << 20;
/// A sheet, or a photograph of one.
const MOST_SHEET: usize = 24 << 20;

pub(super) static TASKS: [Task; 9] = [
    Task { path: "/start", most_bytes: 64, queue: Queue::Change, run: start },
    Task { path: "/change", most_bytes: MOST_TEXT, queue: Queue::Change, run: change },
    Task { path: "/steps", most_bytes: MOST_TEXT, queue: Queue::Change, run: steps },
    Task { path: "/loop", most_bytes: MOST_TEXT, queue: Queue::Loop, run: follow },
    Task { path: "/beside", most_bytes: MOST_TEXT, queue: Queue::Job, run: beside },
    Task { path: "/sheets", most_bytes: MOST_TEXT, queue: Queue::Job, run: sheets },
    Task { path: "/report", most_bytes: MOST_TEXT, queue: Queue::Job, run: report },
    Task { path: "/recover", most_bytes: MOST_SHEET, queue: Queue::Job, run: recover },
    Task { path: "/save", most_bytes: 2 * MOST_TEXT, queue: Queue::Change, run: save },
];

fn parsed<'b, T: Deserialize<'b>>(body: &'b [u8]) -> Result<T, String> {
    serde_json::from_slice(body).map_err(|error| format!("the request cannot be read: {error}"))
}

fn json(value: &impl Serialize) -> Result<String, String> {
    serde_json::to_string(value).map_err(|error| error.to_string())
}

/// The design that the page starts with.
fn start(Desk { bench, .. }: &Desk, _: &[u8]) -> Result<String, String> {
    #[derive(Serialize)]
    struct Start<'a> {
        text: &'a str,
        file_name: &'a str,
        saves: bool,
        papers: Vec<&'static str>,
        formats: Vec<[&'static str; 2]>,
    }
    json(&Start {
        text: &bench.text,
        file_name: &bench.file_name,
        saves: bench.save.is_some(),
        papers: PAPERS.iter().map(|p| p.name).collect(),
        formats: WRITERS.iter().map(|w| [w.name, w.summary]).collect(),
    })
}

fn change(desk: &Desk, body: &[u8]) -> Result<String, String> {
    json(&answer::changed(&desk.memory, parsed::<Change>(body)?))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Text {
    text: String,
}

fn steps(desk: &Desk, body: &[u8]) -> Result<String, String> {
    json(&answer::steps(&desk.memory, &parsed::<Text>(body)?.text))
}

fn follow(desk: &Desk, body: &[u8]) -> Result<String, String> {
    json(&answer::followed(&desk.memory, &parsed::<Text>(body)?.text))
}

fn beside(desk: &Desk, body: &[u8]) -> Result<String, String> {
    json(&answer::beside(&desk.memory, &parsed::<Text>(body)?.text))
}

/// A file for the browser to keep.
#[derive(Serialize)]
struct File {
    name: String,
    /// Its bytes in base64.
    bytes: String,
}

/// Files, or why there are none, in words for people.
#[derive(Serialize, Default)]
struct Files {
    files: Vec<File>,
    remarks: Vec<String>,
    refused: String,
}

fn sheets(Desk { bench, .. }: &Desk, body: &[u8]) -> Result<String, String> {
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Wanted {
        text: String,
        paper: String,
        format: String,
    }
    let wanted: Wanted = parsed(body)?;
    let paper = PAPERS.into_iter().find(|p| p.name == wanted.paper).ok_or("there is no such paper")?;
    let writer = WRITERS.iter().find(|w| w.name == wanted.format).ok_or("there is no such format")?;
    let refused = |refusal: Refusal| json(&Files { refused: refusal.render(false), ..Files::default() });
    let mut reading = match read_bytes(wanted.text.as_bytes(), &bench.file_name, &Overrides::default()) {
        Ok(reading) => reading,
        Err(refusal) => return refused(refusal),
    };
    let wish = Wish {
        text: wanted.text,
        file_name: bench.file_name.clone(),
        changes: String::new(),
        paper,
        correction: None,
        letters: Letters::default(),
        follow_loop: true,
    };
    let made = Handout::of(&reading.design, wish)
        .and_then(|handout| (writer.write)(&handout.set).map(|files| (handout, files)).map_err(|fault| vec![fault]));
    let (handout, written) = match made {
        Ok(made) => made,
        Err(faults) => return refused(reading.places.refusal(faults)),
    };
    let stem = format!("{}-{}", files::file_stem(&reading.design.name), paper.name.to_lowercase());
    let mut remarks = handout.set.remarks.clone();
    if handout.fails() {
        remarks.push("a check fails: it is named on the sheets".into());
    }
    let file = |(suffix, bytes): (String, Vec<u8>)| File { name: format!("{stem}{suffix}"), bytes: base64(&bytes) };
    json(&Files { files: written.into_iter().map(file).collect(), remarks, refused: String::new() })
}

fn report(Desk { bench, .. }: &Desk, body: &[u8]) -> Result<String, String> {
    let text = parsed::<Text>(body)?.text;
    let refused = |refusal: Refusal| json(&Files { refused: refusal.render(false), ..Files::default() });
    let mut reading = match read_bytes(text.as_bytes(), &bench.file_name, &Overrides::default()) {
        Ok(reading) => reading,
        Err(refusal) => return refused(refusal),
    };
    match offline::report(&reading.design, &text, &bench.file_name, "") {
        Ok((name, page)) => {
            json(&Files { files: vec![File { name, bytes: base64(page.as_bytes()) }], ..Files::default() })
        }
        Err(faults) => refused(reading.places.refusal(faults)),
    }
}

/// The designs that a sheet carries.
fn recover(_: &Desk, body: &[u8]) -> Result<String, String> {
    #[derive(Serialize, Default)]
    struct Found {
        designs: Vec<Design>,
        refused: String,
    }
    #[derive(Serialize)]
    struct Design {
        name: String,
        text: String,
        whole: bool,
    }
    let words = |fault: Fault| {
        let mut words = fault.what;
        for more in [fault.why, fault.cure].iter().filter(|more| !more.is_empty()) {
            let _ = write!(words, ". {more}");
        }
        words
    };
    let found = match carried::recover(body) {
        Ok(designs) => Found {
            designs: designs
                .into_iter()
                .map(|d| Design {
                    name: d.file_name,
                    text: String::from_utf8_lossy(&d.text).into_owned(),
                    whole: d.whole,
                })
                .collect(),
            refused: String::new(),
        },
        Err(fault) => Found { refused: words(fault), ..Found::default() },
    };
    json(&found)
}

/// Saves the text in the file that the page was started on.
fn save(Desk { bench, .. }: &Desk, body: &[u8]) -> Result<String, String> {
    #[derive(Serialize)]
    struct Saved {
        saved: bool,
        said: String,
    }
    let wanted = parsed::<ToSave>(body)?;
    let Some(save) = &bench.save else {
        return Err("the page was started without a design file; keep the design with Download".into());
    };
    json(&match save(&wanted) {
        Ok(said) => Saved { saved: true, said },
        Err(said) => Saved { saved: false, said },
    })
}

/// Base64 (RFC 4648) with padding.
pub(super) fn base64(bytes: &[u8]) -> String {
    crate::writers::svg::base64(bytes)
}
