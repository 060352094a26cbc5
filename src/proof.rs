//! Proof of a sheet: reads a file back, ours or one that went through another program, and tells whether it is still true.
//!
//! The reading shares nothing with the writing: it looks for bars as a person does, a long straight line with a hundred
//! (or thirty-two) equal steps struck on it, wherever they are and whatever they are called.

mod around;
mod bars;
mod pdf;
mod svg;

use kurbo::Point;

use crate::fault::Fault;
use crate::printer::PrinterMap;

pub use around::Around;
pub use bars::FoundBar;

/// How far off a bar may be, mm: what a careful reader of the printed bar could not see.
/// Larger passes a sheet that has been scaled by half a per mille.
pub const TOLERANCE: f64 = 0.05;

/// What a file says of itself, and what it measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// The program that wrote it, with its version; empty where it does not say.
    pub program: String,
    /// The digest of the design, as printed on the sheets; empty where it does not say.
    pub digest: String,
    /// Names of the designs it carries, or why it carries none.
    pub designs: Result<Vec<String>, Fault>,
    /// The printer it is corrected for, and what that one does to a page.
    pub printer: Option<(String, PrinterMap)>,
    /// Whether the drawing is as it was written; none where it has no seal.
    pub untouched: Option<bool>,
    /// Every page's bars.
    pub pages: Vec<Vec<FoundBar>>,
    /// What crops, turns, resizes, covers or hides a page, with the page's place.
    pub around: Vec<(usize, Around)>,
    /// Whether it asks the program that prints it not to scale; none for SVG, which cannot ask.
    pub asks_unscaled: Option<bool>,
}

/// A straight stroke, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stroke {
    from: Point,
    to: Point,
}

impl Proof {
    /// Reads an SVG or PDF.
    ///
    /// # Errors
    /// It is neither, or not whole.
    pub fn of(bytes: &[u8]) -> Result<Proof, Fault> {
        let start = &bytes[..bytes.len().min(1024)];
        if start.windows(5).any(|w| w == b"%PDF-") {
            pdf::proof(bytes)
        } else if start.trim_ascii_start().starts_with(b"<") || start.starts_with(b"\xEF\xBB\xBF<") {
            svg::proof(bytes)
        } else {
            Err(Fault::at("", "the file is neither SVG nor PDF", "sheets are written as SVG and PDF"))
        }
    }

    /// The bars of every page as printed: on the printer the sheets are corrected for, else on one that prints true.
    pub fn printed(&self) -> impl Iterator<Item = (usize, FoundBar, f64)> {
        let map = self.printer.as_ref().map_or(PrinterMap::TRUE, |(_, map)| *map).affine();
        self.pages.iter().enumerate().flat_map(move |(page, bars)| {
            bars.iter().map(move |bar| (page, *bar, (map * bar.from).distance(map * bar.to)))
        })
    }

    /// Whether every page has bars of both kinds both ways, and all are as long as they say.
    pub fn bars_true(&self) -> bool {
        let complete = self.pages.iter().all(|bars| {
            [(bars::MILLIMETRES, true), (bars::MILLIMETRES, false), (bars::INCHES, true), (bars::INCHES, false)]
                .iter()
                .all(|(steps, level)| bars.iter().any(|b| b.steps == *steps && b.is_level() == *level))
        });
        !self.pages.is_empty()
            && complete
            && self.printed().all(|(_, bar, length)| (length - bar.length()).abs() <= TOLERANCE)
    }

    /// Whether the drawing, the carried design, or what is printed of a page was changed since it was written.
    pub fn changed(&self) -> bool {
        let design = self.designs.as_ref().is_err_and(|fault| *fault == crate::carried::altered());
        self.untouched == Some(false) || design || !self.around.is_empty()
    }
}
