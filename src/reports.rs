//! Reports: what was worked out, written for people and for programs. They print and compute nothing.

pub mod check;
pub mod compare;
pub mod hanging;
pub mod letters;
pub mod lists;
pub mod string;
pub mod sweep;
pub mod tiller;
pub mod weight;

use crate::design::Units;

/// How lengths are written, in words for a title block.
pub fn units_words(units: Units) -> &'static str {
    match units {
        Units::Inch => "inches (mm)",
        Units::Millimetre => "mm",
    }
}
