//! `nockwright templates`

use super::{DesignArgs, Ending, say, show};
use crate::carried::code::{Code, Holds};
use crate::findings::Verdict;
use crate::sheets::paper::{A4, LETTER, Paper};
use crate::sheets::{Attachment, SheetTitle, lay_out};
use crate::worked::Worked;
use crate::writers::{WRITERS, Writer, files};
use std::fmt::Write;
use std::path::PathBuf;

/// Write the 1:1 sheets: side and back views, sections, wrap, string-angle card, groove gauge, tip taper.
///
/// Print them at 100 %, measure the bars, and cut. Both A4 and Letter printers take either paper's file: every piece lies
/// within what the two papers share.
#[derive(Debug, clap::Args)]
pub(super) struct Templates {
    #[command(flatten)]
    design: DesignArgs,
    /// Folder to write to; it is made when it is not there
    #[arg(long, default_value = "templates-out", value_name = "FOLDER")]
    out: PathBuf,
    /// Paper in the printer
    #[arg(long, default_value = "A4", value_parser = paper)]
    paper: Paper,
    /// File formats, separated by commas
    #[arg(long, default_value = "svg,pdf", value_delimiter = ',', value_parser = writer)]
    format: Vec<&'static Writer>,
    /// Correct the sheets for this printer, measured before with `nockwright printer`
    #[arg(long, value_name = "NAME", conflicts_with = "measured_bars")]
    printer: Option<String>,
    /// Correct the sheets by the bars of an earlier print, across and up: "99.2 mm x 99.6 mm"
    #[arg(long, value_name = "LENGTHS")]
    measured_bars: Option<String>,
}

pub(super) fn paper(name: &str) -> Result<Paper, String> {
    [A4, LETTER]
        .into_iter()
        .find(|p| p.name.eq_ignore_ascii_case(name.trim()))
        .ok_or_else(|| "the sheets are laid out for A4 or Letter".into())
}

fn writer(name: &str) -> Result<&'static Writer, String> {
    WRITERS.iter().find(|w| w.name.eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
        let names: Vec<&str> = WRITERS.iter().map(|w| w.name).collect();
        format!("the formats are {}", names.join(", "))
    })
}

impl Templates {
    pub(super) fn run(self) -> Ending {
        let correction = match super::printer::correction(self.printer.as_deref(), self.measured_bars.as_deref()) {
            Ok(correction) => correction,
            Err(ending) => return ending,
        };
        let input = match self.design.read() {
            Ok(input) => input,
            Err(ending) => return ending,
        };
        let worked = match Worked::of(&input.reading.design) {
            Ok(worked) => worked,
            Err(faults) => return input.refuse(faults),
        };
        let design = &worked.design;
        let checks = crate::checks::all(&worked);
        let title = SheetTitle {
            bow: design.name.clone(),
            sheets: "nock sheets".into(),
            digest: crate::digest::of(&input.text, &self.design.changes()),
            program: super::PROGRAM.into(),
            date: design.sheets.date.clone(),
            units: crate::reports::units_words(design.units).into(),
            correction,
        };
        let attachment = Attachment { file_name: input.file_name.clone(), text: input.text.clone() };
        let code = Code::of(&input.text);
        let mut pieces = crate::pieces::all(&worked, &checks);
        // First, so that it comes to lie on the first page.
        pieces.splice(..0, code.as_ref().map(Code::piece));
        let set = match lay_out(title, self.paper, pieces, attachment) {
            Ok(set) => set,
            Err(faults) => return input.refuse(faults),
        };
        let mut written = Vec::new();
        for writer in &self.format {
            match (writer.write)(&set) {
                Ok(files) => written.extend(files),
                Err(fault) => return input.refuse(vec![fault]),
            }
        }
        let stem = format!("{}-{}", files::file_stem(&design.name), self.paper.name.to_lowercase());
        let saved = match files::save(&self.out, &stem, &written) {
            Ok(saved) => saved,
            Err(faults) => return input.refuse(faults),
        };
        let mut text = String::new();
        for path in &saved.written {
            let _ = writeln!(text, "wrote {}", path.display());
        }
        for path in &saved.removed {
            let _ = writeln!(text, "took away {} (an earlier run's sheet that is no longer needed)", path.display());
        }
        show(&text);
        for remark in &set.remarks {
            say(&format!("note: {remark}"));
        }
        match code.map(|c| c.holds) {
            Some(Holds::Whole) => {}
            Some(Holds::Fields) => say(
                "note: the code on the first page has no room for the design's comments; its keys and values are there",
            ),
            None => say("note: the design is too long for a code on the first page; the written files carry it whole"),
        }
        say("print at 100 % (no \"fit to page\"), then measure the bars before you cut");
        let failing: Vec<_> = checks.iter().filter(|c| c.verdict == Verdict::Fails).collect();
        if failing.is_empty() {
            return Ending::Good;
        }
        for check in failing {
            say(&format!("check fails: {}", crate::reports::check::line(check, design.units)));
        }
        Ending::CheckFails
    }
}
