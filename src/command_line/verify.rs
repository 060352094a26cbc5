//! `nockwright verify`

use super::{Ending, disk, show};
use crate::carried::MOST_BYTES;
use crate::proof::{Proof, TOLERANCE};
use std::fmt::Write;
use std::path::PathBuf;

/// Tell whether a sheet is still true: bars measured anew, which design and version made it, edited since or not.
///
/// Reads SVG and PDF, also those that another program has saved again. Ends with code 1 when a bar is not true.
#[derive(Debug, clap::Args)]
pub(super) struct Verify {
    /// The sheet, as SVG or PDF
    file: PathBuf,
}

impl Verify {
    pub(super) fn run(self) -> Ending {
        let bytes = match disk::read(&self.file, MOST_BYTES) {
            Ok(bytes) => bytes,
            Err(ending) => return ending,
        };
        let proof = match Proof::of(&bytes) {
            Ok(proof) => proof,
            Err(fault) => return disk::refuse(&self.file.display().to_string(), vec![fault]),
        };
        show(&words(&proof));
        if proof.bars_true() { Ending::Good } else { Ending::CheckFails }
    }
}

fn words(proof: &Proof) -> String {
    let mut text = String::new();
    let or = |said: &str, else_said: &str| if said.is_empty() { else_said.to_owned() } else { said.to_owned() };
    let _ = writeln!(text, "made by   {}", or(&proof.program, "it does not say"));
    let _ = writeln!(text, "design    {}", or(&proof.digest, "it does not say which"));
    let carried = match &proof.designs {
        Ok(names) if names.len() > 3 => format!("{} designs, whole and unchanged", names.len()),
        Ok(names) => format!("{}, whole and unchanged", names.join(", ")),
        Err(fault) => format!("none: {}", fault.what),
    };
    let _ = writeln!(text, "carries   {carried}");
    let edited = match proof.untouched {
        Some(true) => {
            "drawn as it was written: no line, size or word of the drawing has been changed (notes, crops and print settings that another program adds are not looked at)"
        }
        Some(false) => "CHANGED since it was written",
        None => "has no seal, so it cannot be told whether it was changed",
    };
    let _ = writeln!(text, "drawing   {edited}");
    if let Some((printer, map)) = &proof.printer {
        let (across, up) = (100.0 / map.across.value, 100.0 / map.up.value);
        let _ =
            writeln!(text, "printer   only for {printer}: there 100 mm are drawn {across:.2} across and {up:.2} up");
    }
    let several = proof.pages.len() > 1;
    let mut true_bars = 0;
    for (page, bar, length) in proof.printed() {
        let off = length - bar.length();
        if off.abs() <= TOLERANCE {
            true_bars += 1;
            continue;
        }
        let sheet = if several { format!("sheet {}: ", page + 1) } else { String::new() };
        let way = if bar.is_level() { "across" } else { "up" };
        let _ = writeln!(
            text,
            "bar       {sheet}{:.1} mm {way} measures {length:.2} mm: {:.2} %",
            bar.length(),
            length / bar.length() * 100.0
        );
    }
    for (page, bars) in proof.pages.iter().enumerate().filter(|(_, bars)| bars.len() < 4) {
        let _ = writeln!(text, "bars      sheet {}: {} of 4 found", page + 1, bars.len());
    }
    let verdict = if proof.bars_true() { "true: print at 100 %" } else { "NOT TRUE: do not cut from it" };
    let _ = writeln!(text, "bars      {true_bars} within {TOLERANCE} mm; the sheet is {verdict}");
    text
}
