//! All nock styles side by side, on the built-in sample's limb.

use crate::fault::Faults;
use crate::handout::PROGRAM;
use crate::nock::NOCK_STYLES;
use crate::pieces::small_figure::on_the_sample;
use crate::samples::SAMPLE;
use crate::sheets::paper::LEGAL;
use crate::sheets::{Attachment, Piece, SheetTitle, lay_out};
use crate::writers::WRITERS;

/// The figure as SVG, one page.
///
/// # Errors
/// Why the sample cannot carry a style.
pub fn side_by_side() -> Result<Vec<u8>, Faults> {
    let mut pieces = Vec::new();
    for style in NOCK_STYLES {
        pieces.push(Piece::new(on_the_sample(*style)?));
    }
    let title = SheetTitle {
        bow: "Nock styles".into(),
        sheets: "on one and the same limb, not for tracing".into(),
        program: PROGRAM.into(),
        units: "mm".into(),
        ..SheetTitle::default()
    };
    let attachment = Attachment { file_name: "ash-flatbow.toml".into(), text: SAMPLE.into() };
    let set = lay_out(title, LEGAL, pieces, attachment)?;
    let svg = WRITERS.iter().filter(|w| w.name == "svg");
    let mut files = Vec::new();
    for writer in svg {
        files.extend((writer.write)(&set).map_err(|fault| vec![fault])?);
    }
    Ok(files.into_iter().next().map(|(_, bytes)| bytes).unwrap_or_default())
}
