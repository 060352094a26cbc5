//! A roster as heads and cells, from CSV or TOML.

use crate::fault::{Fault, Faults};

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

/// Reads CSV (RFC 4180) with a line of heads. Where the heads have semicolons or tabs and no commas, those part the cells.
pub fn from_csv(text: &str) -> Result<Cells, Faults> {
    let first = text.split(['\r', '\n']).next().unwrap_or_default();
    let delimiter = [b',', b';', b'\t'].into_iter().find(|d| first.as_bytes().contains(d)).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).flexible(true).from_reader(text.as_bytes());
    let broken = |error: csv::Error| {
        vec![Fault::at("", format!("the roster is not CSV: {error}"), "one line for each row, cells parted by commas")]
    };
    if let Some(line) = open_quote(text, delimiter) {
        let what = format!("in line {line} a cell begins with a quote that is never closed");
        let fault = Fault::at("", what, "all that follows would be one cell, and its rows would be lost");
        return Err(vec![fault.cure("close the quote after the cell; write an inch sign as `in`")]);
    }
    let heads: Vec<String> = reader.headers().map_err(broken)?.iter().map(|h| h.trim().to_owned()).collect();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(broken)?;
        let mut faults = Faults::new();
        if record.len() > heads.len() {
            faults.push(
                Fault::at(
                    "",
                    format!("the row has {} cells under {} heads", record.len(), heads.len()),
                    "each cell stands under the head of its column",
                )
                .cure("put a cell that holds a comma in quotes"),
            );
        }
        let mut cells: Vec<String> = record.iter().take(heads.len()).map(|c| c.trim().to_owned()).collect();
        cells.resize(heads.len(), String::new());
        rows.push(CellRow { line: record.position().map_or(0, |p| p.line() as usize), cells, faults });
    }
    Ok(Cells { heads, rows })
}

/// The line, from 1, of a cell that begins with a quote and has no end (RFC 4180: a quote within is written twice).
fn open_quote(text: &str, delimiter: u8) -> Option<usize> {
    let (mut line, mut opened, mut begins) = (1, None, true);
    let mut bytes = text.bytes().peekable();
    while let Some(byte) = bytes.next() {
        line += usize::from(byte == b'\n' || byte == b'\r' && bytes.peek() != Some(&b'\n'));
        match (byte, opened) {
            (b'"', Some(_)) if bytes.peek() == Some(&b'"') => drop(bytes.next()),
            (b'"', Some(_)) => opened = None,
            (b'"', None) if begins => opened = Some(line),
            _ => {}
        }
        begins = opened.is_none() && (byte == delimiter || byte == b'\n' || byte == b'\r');
    }
    opened
}

/// Reads TOML: a list of tables `[[row]]`, each with the columns as keys.
pub fn from_toml(text: &str) -> Result<Cells, Faults> {
    let wanted = "a roster in TOML is a list of tables, each headed [[row]], with texts such as draw = \"28 in\"";
    let document = toml_edit::Document::parse(text)
        .map_err(|e| vec![Fault::at("", format!("the roster is not TOML: {}", e.message()), wanted)])?;
    let tables = document.get("row").and_then(|item| item.as_array_of_tables());
    let Some(tables) = tables else { return Err(vec![Fault::at("", "the roster has no [[row]]", wanted)]) };
    let mut cells = Cells::default();
    for table in tables.iter() {
        let start = table.span().map_or(0, |span| span.start);
        let mut row = CellRow { line: text[..start.min(text.len())].matches('\n').count() + 1, ..CellRow::default() };
        for (head, item) in table.iter() {
            let at = cells.heads.iter().position(|h| h == head).unwrap_or_else(|| {
                cells.heads.push(head.to_owned());
                cells.heads.len() - 1
            });
            row.cells.resize(cells.heads.len().max(row.cells.len()), String::new());
            match (item.as_str(), item.as_integer()) {
                (Some(text), _) => row.cells[at] = text.trim().to_owned(),
                (_, Some(number)) => row.cells[at] = number.to_string(),
                _ => row.faults.push(Fault::at(head, format!("`{head}` is no text"), wanted)),
            }
        }
        cells.rows.push(row);
    }
    for row in &mut cells.rows {
        row.cells.resize(cells.heads.len(), String::new());
    }
    Ok(cells)
}
