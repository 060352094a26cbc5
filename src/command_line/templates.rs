//! `nockwright templates`

use super::{DesignArgs, Ending, say, show};
use crate::carried::code::Holds;
use crate::findings::Verdict;
use crate::handout::{Handout, Wish};
use crate::sheets::Letters;
use crate::sheets::paper::{PAPERS, Paper};
use crate::writers::{WRITERS, Writer, files};
use rayon::prelude::*;
use std::fmt::Write;
use std::path::PathBuf;

/// Write the 1:1 sheets: side, back and belly views, sections, gauges for width and thickness, wrap, string-angle card, groove gauge,
/// tip taper.
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
    /// Large letters: words and figures of pieces and lists at 12 points and more, on more sheets; those without room for that get a
    /// number and stand in a list. Words on what is cut out stay there, as large as there is room for; a bare figure in a narrow
    /// place, the bars at the foot and the frame with its cautions keep their size, and each sheet says in large letters what the
    /// cautions are or where they stand
    #[arg(long)]
    large_print: bool,
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
    PAPERS
        .into_iter()
        .find(|p| p.name.eq_ignore_ascii_case(name.trim()))
        .ok_or_else(|| "the papers are A4, Letter, A3, Legal and Tabloid".into())
}

pub(super) fn letters(large_print: bool) -> Letters {
    if large_print { Letters::Large } else { Letters::Usual }
}

pub(super) fn writer(name: &str) -> Result<&'static Writer, String> {
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
        let wish = Wish {
            text: input.text.clone(),
            file_name: input.file_name.clone(),
            changes: self.design.changes(),
            paper: self.paper,
            correction,
            letters: letters(self.large_print),
            follow_loop: true,
        };
        let Handout { worked, checks, holds, set } = match Handout::of(&input.reading.design, wish) {
            Ok(handout) => handout,
            Err(faults) => return input.refuse(faults),
        };
        let design = &worked.design;
        let mut written = Vec::new();
        // All at once; what comes out stands in the order that was asked for.
        for files in self.format.par_iter().map(|writer| (writer.write)(&set)).collect::<Vec<_>>() {
            match files {
                Ok(files) => written.extend(files),
                Err(fault) => return input.refuse(vec![fault]),
            }
        }
        let large = if self.large_print { "-large-print" } else { "" };
        let stem = format!("{}-{}{large}", files::file_stem(&design.name), self.paper.name.to_lowercase());
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
        match holds {
            Some(Holds::Whole) => {}
            Some(Holds::Fields) => say(
                "note: the code on the first page has no room for the design's comments; its keys and values are there",
            ),
            None => say("note: the design is too long for a code on the first page; the written files carry it whole"),
        }
        say("print at 100 % (no \"fit to page\"), then measure the bars before you cut");
        for check in checks.iter().filter(|c| c.verdict == Verdict::Wears) {
            say(&format!("note: {}", crate::reports::check::line(check, design.units)));
        }
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
