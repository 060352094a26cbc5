//! `nockwright verify`

use super::{Ending, disk, show};
use crate::carried::MOST_BYTES;
use crate::proof::{Around, Proof, TOLERANCE};
use std::fmt::Write;
use std::path::PathBuf;

/// Tell whether a sheet is still true: bars measured anew, which design and version made it, edited since or not.
///
/// Reads SVG and PDF, also those that another program has saved again. Ends with code 1 when a bar is not true, when the drawing,
/// the design in it, or what is printed of a page was changed, and when it has lost its seal, so that nobody can tell.
#[derive(Debug, clap::Args)]
pub(super) struct Verify {
    /// The sheet, as SVG or PDF
    file: PathBuf,
}

/// Most changes of pages that are listed.
const MOST_SHOWN: usize = 12;

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
        if proof.bars_true() && !proof.changed() && proof.untouched.is_some() {
            Ending::Good
        } else {
            Ending::CheckFails
        }
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
        Some(true) => "as it was written: no line, size or word of it has been changed",
        Some(false) => "CHANGED since it was written",
        None => "has no seal, so it cannot be told whether it was changed",
    };
    let _ = writeln!(text, "drawing   {edited}");
    let several = proof.pages.len() > 1;
    let sheet = |page: usize| if several { format!("sheet {}: ", page + 1) } else { String::new() };
    for (page, found) in proof.around.iter().take(MOST_SHOWN) {
        let _ = writeln!(text, "page      {}{}", sheet(*page), around(found));
    }
    if let Some(more) = proof.around.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
        let _ = writeln!(text, "page      and {more} more such changes");
    }
    let is_pdf = proof.asks_unscaled.is_some();
    if proof.around.is_empty() {
        let clear = match (is_pdf, several) {
            (true, true) => "none is cropped, turned or in other units, and no note lies on them",
            (true, false) => "not cropped, turned or in other units, and no note lies on it",
            (false, _) => "nothing on it is hidden, cut off or restyled",
        };
        let _ = writeln!(text, "{}     {clear}", if several { "pages" } else { "page " });
    }
    let _ = match proof.asks_unscaled {
        Some(true) => writeln!(text, "printing  asks not to be scaled"),
        Some(false) => writeln!(
            text,
            "printing  CAUTION: does not ask to be printed unscaled (PrintScaling None is gone); choose 100 % yourself"
        ),
        None => Ok(()),
    };
    if let Some((printer, map)) = &proof.printer {
        let (across, up) = (100.0 / map.across.value, 100.0 / map.up.value);
        let _ =
            writeln!(text, "printer   only for {printer}: there 100 mm are drawn {across:.2} across and {up:.2} up");
    }
    let mut true_bars = 0;
    for (page, bar, length) in proof.printed() {
        let off = length - bar.length();
        if off.abs() <= TOLERANCE {
            true_bars += 1;
            continue;
        }
        let way = if bar.is_level() { "across" } else { "up" };
        let _ = writeln!(
            text,
            "bar       {}{:.1} mm {way} measures {length:.2} mm: {:.2} %",
            sheet(page),
            bar.length(),
            length / bar.length() * 100.0
        );
    }
    for (page, bars) in proof.pages.iter().enumerate().filter(|(_, bars)| bars.len() < 4) {
        let _ = writeln!(text, "bars      sheet {}: {} of 4 found", page + 1, bars.len());
    }
    let verdict = match (proof.bars_true(), proof.changed()) {
        (true, false) if proof.untouched.is_none() => {
            "the bars are true, but the rest cannot be vouched for: cut only from a sheet you wrote yourself"
        }
        (true, false) => "the sheet is true: print at 100 %",
        (true, true) => "the bars are true, but do not cut from it: see above what was changed",
        (false, _) => "the sheet is NOT TRUE: do not cut from it",
    };
    let _ = writeln!(text, "bars      {true_bars} within {TOLERANCE} mm; {verdict}");
    let _ = writeln!(
        text,
        "not looked at: {}",
        if is_pdf {
            "shapes of the letters, colours, print settings other than scaling"
        } else {
            "shapes of the letters, colours"
        }
    );
    text
}

fn around(found: &Around) -> String {
    match found {
        Around::Cropped([width, height], [whole_width, whole_height]) => format!(
            "CROPPED to {width:.0} × {height:.0} mm of {whole_width:.0} × {whole_height:.0} mm: what lies outside is not printed"
        ),
        Around::Turned(degrees) => format!("TURNED by {degrees}°: sheets are written unturned"),
        Around::Unit(unit) => format!(
            "UNITS of {unit} points (UserUnit) where sheets are written in points: the bars are measured with them, but many programs print without them"
        ),
        Around::Notes(1, kinds) => format!("1 NOTE lies on the drawing ({})", kinds.join(", ")),
        Around::Notes(count, kinds) => format!("{count} NOTES lie on the drawing ({})", kinds.join(", ")),
        Around::Hidden(1) => "1 part of the drawing is HIDDEN, cut off or see-through".into(),
        Around::Hidden(count) => format!("{count} parts of the drawing are HIDDEN, cut off or see-through"),
        Around::Styled => "a style sheet was ADDED, which may change any line or letter".into(),
        Around::Active(_) => "a script, a movement or a part of a web page was ADDED, which may change anything".into(),
    }
}
