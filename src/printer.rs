//! Printers: how far off each one prints, found from a test page, and the correction that makes its sheets true.
//!
//! ```text
//! test page -> four lengths read with a rule -> scale across and up, lean, each with its uncertainty -> correction
//! ```
//!
//! A printer's map takes a point of the page to where it comes to lie on paper, turned and moved aside as may be:
//! neither changes a length. What is left is
//!
//! ```text
//! | x' |   | across   up sin(lean) | | x |
//! | y' | = |   0      up cos(lean) | | y |
//! ```
//!
//! Sheets are drawn through the inverse of this, and the printer undoes it. Nothing here touches a file.

mod bars;
mod book;
mod fit;
pub mod misprint;

pub use bars::MeasuredBars;
pub use book::{Book, Profile};
pub use fit::{Measured, PrinterMap, Readings, Unbelievable};

/// Length of the test page's bar across, mm.
///
/// The two bars and a diagonal are as 3 to 4 to 5, so that a diagonal read with a 300 mm or 12 in rule has room to come out long.
pub const ACROSS: f64 = 174.0;
/// Length of the test page's bar up, mm.
pub const UP: f64 = 232.0;
/// Length of each diagonal between the bars' ends, mm.
pub const DIAGONAL: f64 = 290.0;

/// How far a length read with a rule may be off unless the maker says otherwise, mm: a quarter of a millimetre.
/// Larger makes the stated uncertainty larger and the check of the readings against each other milder.
pub const READING_ERROR: f64 = 0.25;

/// The printer that sheets are corrected for.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// Its name.
    pub printer: String,
    /// When it was measured, as given; none for bars read on a sheet.
    pub measured: Option<String>,
    /// What it does to a page.
    pub map: PrinterMap,
}

impl Correction {
    /// Printer and date, as a sheet names them: `shed, measured 2026-11-25`.
    pub fn words(&self) -> String {
        format!("{}{}", self.printer, self.date_words())
    }

    /// The date behind the printer's name, with its comma; nothing where there is none.
    pub fn date_words(&self) -> String {
        self.measured.as_ref().map_or(String::new(), |date| format!(", measured {date}"))
    }
}
