//! `nockwright class`

use super::{Ending, disk, say, show};
use crate::carried::code::Holds;
use crate::class::{self, Row, RowFaults, key};
use crate::design::file::{MOST_BYTES, Overrides, read_bytes};
use crate::fault::{Fault, Faults};
use crate::handout::{Handout, PROGRAM, Wish};
use crate::saved_as::visible;
use crate::sheets::paper::Paper;
use crate::sheets::{Attachment, SheetSet, SheetTitle, lay_out_in};
use crate::writers::{Writer, Written, files, pdf};
use rayon::prelude::*;
use std::fmt::Write as _;
use std::io::{IsTerminal, Write as _};
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Write the sheets of a whole class: one base design, and a roster with what differs for each student or bench.
///
/// The roster has a line of heads: name or number, then what differs, such as brace height, draw, weight, limb.wood,
/// range.draw ("26 in to 29 in"), "thickness at 20 in" of both limbs or "upper.limb.thickness at 20 in" of one.
/// An empty cell leaves the base design's value; a weight without its draw is taken at the row's own draw. Empty rows are passed over.
/// All faults of all rows are told before anything is written. Files of an earlier run that are not written over stay.
#[derive(Debug, clap::Args)]
pub(super) struct Class {
    /// The roster: CSV, or TOML with [[row]] tables
    roster: PathBuf,
    /// The base design
    base: PathBuf,
    /// One set of files for each row, instead of one PDF of the whole class in order
    #[arg(long)]
    each: bool,
    /// Folder to write to; it is made when it is not there
    #[arg(long, default_value = "class-out", value_name = "FOLDER")]
    out: PathBuf,
    /// Paper in the printer
    #[arg(long, default_value = "A4", value_parser = super::templates::paper)]
    paper: Paper,
    /// Follow the loop on every nock through the draw and back, too: some four times as long
    #[arg(long)]
    follow_loop: bool,
    /// Large letters: words and figures of pieces and lists at 12 points and more, on more sheets; those without room for that get a
    /// number and stand in a list. Words on what is cut out stay there, as large as there is room for; a bare figure in a narrow
    /// place, the bars at the foot and the frame with its cautions keep their size, and each sheet says in large letters what the
    /// cautions are or where they stand
    #[arg(long)]
    large_print: bool,
    /// File formats with --each, separated by commas
    #[arg(long, default_value = "pdf", value_delimiter = ',', value_parser = super::templates::writer, requires = "each")]
    format: Vec<&'static Writer>,
    /// Correct the sheets for this printer, measured before with `nockwright printer`
    #[arg(long, value_name = "NAME")]
    printer: Option<String>,
}

/// What is kept of a row until all are made: what was worked out for it would fill the memory.
struct Made {
    key: key::KeyRow,
    fails: bool,
    holds: Option<Holds>,
    set: SheetSet,
}

impl Class {
    pub(super) fn run(self) -> Ending {
        self.ran().unwrap_or_else(|ending| ending)
    }

    fn ran(self) -> Result<Ending, Ending> {
        let correction = super::printer::correction(self.printer.as_deref(), None)?;
        let name = self.roster.display().to_string();
        let base = disk::read(&self.base, MOST_BYTES)?;
        let reading = read_bytes(&base, &self.base.display().to_string(), &Overrides::default());
        reading.map_err(|refusal| Ending::Refused(refusal.render(true)))?;
        let roster = disk::read(&self.roster, class::MOST_BYTES)?;
        let is_toml = self.roster.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
        let rows =
            class::read(&roster, is_toml, &String::from_utf8_lossy(&base)).map_err(|faults| refuse(&name, faults))?;

        let progress = Progress::new(rows.len());
        let made: Vec<Result<Made, Faults>> = rows
            .par_iter()
            .map(|row| {
                let wish = Wish {
                    text: row.text.clone(),
                    file_name: row.file_name.clone(),
                    changes: String::new(),
                    paper: self.paper,
                    correction: correction.clone(),
                    letters: super::templates::letters(self.large_print),
                    follow_loop: self.follow_loop,
                };
                let handout = Handout::of(&row.design, wish);
                progress.step();
                handout.map(|handout| Made {
                    key: key::row(&row.label, &handout),
                    fails: handout.fails(),
                    holds: handout.holds,
                    set: handout.set,
                })
            })
            .collect();
        progress.end();
        let (mut handouts, faults) = parted(&rows, made);
        if !faults.is_empty() {
            return Err(refuse(&name, faults));
        }
        let stem = files::file_stem(&self.roster.file_stem().map(|s| s.to_string_lossy()).unwrap_or_default());
        let (written, key_remarks) =
            self.written(&rows, &mut handouts).map_err(|faults| disk::refuse(&name, faults))?;
        let written = files::put(&self.out, &stem, &written).map_err(|faults| disk::refuse(&name, faults))?;
        let mut text = String::new();
        for path in &written {
            let _ = writeln!(text, "wrote {}", path.display());
        }
        show(&text);
        if self.each {
            tell_earlier(&files::earlier_rows(&self.out, &stem, &written));
        }
        tell_printed(&rows, &handouts, &key_remarks);
        if !self.follow_loop {
            say(
                "note: the loop was not followed on each row's nocks; `nockwright check` does it for one design, --follow-loop for all rows",
            );
        }
        Ok(tell(&rows, &handouts))
    }

    /// The files (what comes after the roster's name, and the bytes), and remarks on the key.
    fn written(&self, rows: &[Row], handouts: &mut [Made]) -> Result<(Written, Vec<String>), Faults> {
        let figures: Vec<key::KeyRow> = handouts.iter().map(|made| made.key.clone()).collect();
        let first = handouts.first().ok_or_else(Faults::new)?;
        let title = SheetTitle {
            sheets: format!("nock sheets of {} rows", rows.len()),
            bow: "Class".into(),
            ..first.set.title.clone()
        };
        let key_title =
            SheetTitle { sheets: "teacher's key".into(), digest: "of each row below".into(), ..title.clone() };
        let letters = super::templates::letters(self.large_print);
        let mut key = lay_out_in(
            letters,
            key_title,
            self.paper,
            key::pieces(&figures, self.follow_loop, letters),
            Attachment::default(),
        )?;
        key.attachments.clear();
        let mut all = suffixed("-key", pdf::write(&key).map_err(|f| vec![f])?);
        if self.each {
            let jobs: Vec<(&Row, &Made)> = rows.iter().zip(&*handouts).collect();
            let each: Vec<Result<Written, Faults>> = jobs
                .par_iter()
                .map(|(row, handout)| {
                    let mut files = Vec::new();
                    for writer in &self.format {
                        let stem = format!("-{}", row.file_name.trim_end_matches(".toml"));
                        files.extend(suffixed(&stem, (writer.write)(&handout.set).map_err(|f| vec![f])?));
                    }
                    Ok(files)
                })
                .collect();
            for files in each {
                all.extend(files?);
            }
            return Ok((all, key.remarks));
        }
        let set = SheetSet {
            title: SheetTitle { program: PROGRAM.into(), digest: "of each row".into(), ..title },
            paper: self.paper,
            // Moved, for a class's drawings fill much memory.
            pages: handouts.iter_mut().flat_map(|h| std::mem::take(&mut h.set.pages)).collect(),
            attachments: handouts.iter_mut().flat_map(|h| std::mem::take(&mut h.set.attachments)).collect(),
            remarks: Vec::new(),
        };
        all.extend(pdf::write(&set).map_err(|f| vec![f])?);
        Ok((all, key.remarks))
    }
}

fn suffixed(before: &str, files: Written) -> Written {
    files.into_iter().map(|(suffix, bytes)| (format!("{before}{suffix}"), bytes)).collect()
}

fn parted(rows: &[Row], made: Vec<Result<Made, Faults>>) -> (Vec<Made>, Vec<RowFaults>) {
    let (mut handouts, mut faults) = (Vec::new(), Vec::new());
    for (row, result) in rows.iter().zip(made) {
        match result {
            Ok(handout) => handouts.push(handout),
            Err(own) => faults.push(row.blamed(own)),
        }
    }
    (handouts, faults)
}

/// Names what an earlier run left beside the files just written.
fn tell_earlier(earlier: &[PathBuf]) {
    if earlier.is_empty() {
        return;
    }
    let count = match earlier.len() {
        1 => "1 file of an earlier run is".to_owned(),
        count => format!("{count} files of an earlier run are"),
    };
    let mut text =
        format!("note: {count} still in the folder; this run did not write over them and took nothing away:");
    for path in earlier {
        let _ = write!(text, "\n  {}", path.display());
    }
    say(&text);
}

/// Tells which rows' words are not printed as they are written, and which rows cannot be told apart by their labels.
fn tell_printed(rows: &[Row], handouts: &[Made], of_key: &[String]) {
    let who = |row: &Row| format!("line {}, {}", row.line, row.label);
    let note = |text: String| say(&visible(&format!("note: {text}")));
    let mut told: Vec<(&String, Vec<String>)> = Vec::new();
    for (row, made) in rows.iter().zip(handouts) {
        for remark in &made.set.remarks {
            match told.iter_mut().find(|(same, _)| *same == remark) {
                Some((_, whose)) => whose.push(who(row)),
                None => told.push((remark, vec![who(row)])),
            }
        }
    }
    for (remark, whose) in &told {
        // What stands in the base design is every row's.
        let all = rows.len() > 1 && whose.len() == rows.len();
        note(format!("{}: {remark}", if all { "all rows".to_owned() } else { whose.join("; ") }));
    }
    for remark in of_key.iter().filter(|remark| !told.iter().any(|(same, _)| same == remark)) {
        note(format!("the key: {remark}"));
    }
    for (printed, alike) in class::printed_alike(rows) {
        let alike: Vec<String> = alike.into_iter().map(who).collect();
        note(format!(
            "these rows are all printed as {printed}, and only the digest tells their sheets apart: {}; \
             add a number or an initial",
            alike.join("; ")
        ));
    }
}

/// Tells about each row what the sheets do not: failing checks, and codes without room for comments.
fn tell(rows: &[Row], handouts: &[Made]) -> Ending {
    let failing: Vec<&str> =
        rows.iter().zip(handouts).filter(|(_, h)| h.fails).map(|(r, _)| r.label.as_str()).collect();
    let bare = handouts.iter().filter(|h| h.holds != Some(Holds::Whole)).count();
    if bare > 0 {
        say(&format!("note: {bare} designs are too long for their code with all comments; the PDF carries them whole"));
    }
    if failing.is_empty() {
        return Ending::Good;
    }
    say(&visible(&format!("a check fails for: {}; see the key", failing.join(", "))));
    Ending::CheckFails
}

/// Most letters of a name that are shown before a fault.
const MOST_LABEL: usize = 60;

/// All faults by row, as text.
fn refuse(roster: &str, faults: Vec<RowFaults>) -> Ending {
    let count: usize = faults.iter().map(|r| r.faults.len()).sum();
    let mut text =
        format!("{roster}: {count} {} to mend; nothing was written\n", if count == 1 { "fault" } else { "faults" });
    for row in faults {
        let label: String = row.label.chars().take(MOST_LABEL).collect();
        for Fault { key, what, why, cure, .. } in row.faults {
            let place = match row.line {
                Some(line) if label.is_empty() => format!("line {line}"),
                Some(line) => format!("line {line}, {label}"),
                None => "the roster".into(),
            };
            let key = if key.is_empty() { String::new() } else { format!(", {key}") };
            let _ = writeln!(text, "\n{}", visible(&format!("{place}{key}: {what}")));
            for (head, words) in [("allowed", why), ("help", cure)] {
                if !words.is_empty() {
                    let _ = writeln!(text, "  {head}: {}", visible(&words));
                }
            }
        }
    }
    Ending::Refused(text)
}

/// How many rows are done, shown on a terminal and nowhere else.
struct Progress {
    done: AtomicUsize,
    of: usize,
    shown: bool,
}

impl Progress {
    fn new(of: usize) -> Self {
        Progress { done: AtomicUsize::new(0), of, shown: of > 1 && std::io::stderr().is_terminal() }
    }

    fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        if self.shown {
            let bar = "#".repeat(done * 30 / self.of.max(1));
            let _ = write!(std::io::stderr().lock(), "\r[{bar:<30}] {done} of {}", self.of);
        }
    }

    fn end(&self) {
        if self.shown {
            let _ = writeln!(std::io::stderr().lock());
        }
    }
}
