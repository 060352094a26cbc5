//! A roster as heads and cells, from CSV or TOML.

mod from_csv;
mod from_toml;

pub use from_csv::from_csv;
pub use from_toml::from_toml;

use crate::fault::Faults;

/// A roster's cells, not yet understood.
#[derive(Debug, Clone, Default)]
pub struct Cells {
    /// Heads of the columns.
    pub heads: Vec<String>,
    /// The rows.
    pub rows: Vec<CellRow>,
}

/// One row's cells, one for each head.
#[derive(Debug, Clone, Default)]
pub struct CellRow {
    /// Line of the file it begins on, from 1.
    pub line: usize,
    /// The cells; empty where the base design's value stands.
    pub cells: Vec<String>,
    /// What is wrong with the row before its cells are read.
    pub faults: Faults,
}
