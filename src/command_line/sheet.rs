//! Sheets that a command writes besides the nock sheets.

use super::input::Input;
use super::{DesignArgs, Ending};
use crate::handout::PROGRAM;
use crate::sheets::paper::A4;
use crate::sheets::{Attachment, Piece, SheetTitle, lay_out};
use crate::writers::{WRITERS, files};
use std::fmt::Write;
use std::path::Path;

/// Lays the pieces out on A4 and writes them as SVG and PDF; answers which files were written.
///
/// `sheets` is what the title block calls them, `stem` what the files' names end in.
///
/// # Errors
/// The refusal to end with.
pub(super) fn write(
    input: &Input,
    args: &DesignArgs,
    sheets: &str,
    stem: &str,
    pieces: Vec<Piece>,
    folder: &Path,
) -> Result<String, Ending> {
    let design = &input.reading.design;
    let title = SheetTitle {
        bow: design.name.clone(),
        sheets: sheets.into(),
        digest: crate::digest::of(&input.text, &args.changes()),
        program: PROGRAM.into(),
        date: design.sheets.date.clone(),
        units: crate::reports::units_words(design.units).into(),
        correction: None,
    };
    let attachment = Attachment { file_name: input.file_name.clone(), text: input.text.clone() };
    let set = lay_out(title, A4, pieces, attachment).map_err(|faults| input.refuse(faults))?;
    let mut written = Vec::new();
    for writer in WRITERS.iter().filter(|w| matches!(w.name, "svg" | "pdf")) {
        written.extend((writer.write)(&set).map_err(|fault| input.refuse(vec![fault]))?);
    }
    let stem = format!("{}-{stem}", files::file_stem(&design.name));
    let saved = files::save(folder, &stem, &written).map_err(|faults| input.refuse(faults))?;
    let mut text = String::new();
    for path in &saved.written {
        let _ = writeln!(text, "wrote {}", path.display());
    }
    Ok(text)
}
