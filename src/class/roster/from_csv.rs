//! A roster in CSV, as spreadsheets save it.

use super::{CellRow, Cells};
use crate::fault::{Fault, Faults};
use crate::units::quoted;

/// Reads CSV (RFC 4180) with a line of heads. Where the heads have semicolons or tabs and no commas, those part the cells;
/// a first line such as `sep=;`, which spreadsheets write and read, says it outright. Lines and rows without a letter,
/// and columns without any, are passed over.
pub fn from_csv(text: &str) -> Result<Cells, Faults> {
    let (from, said) = first_line(text)?;
    let heads = text[from..].split(['\r', '\n']).next().unwrap_or_default();
    let delimiter = said.or_else(|| [b',', b';', b'\t'].into_iter().find(|d| heads.as_bytes().contains(d)));
    let delimiter = delimiter.unwrap_or(b',');
    let mut lines = Lines { text, at: 0, line: 1 };
    if let Some(at) = open_quote(&text[from..], delimiter) {
        let what = format!("in line {} a cell begins with a quote that is never closed", lines.of(from + at));
        let fault = Fault::at("", what, "all that follows would be one cell, and its rows would be lost");
        return Err(vec![fault.cure("close the quote after the cell; write an inch sign as `in`")]);
    }
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .has_headers(false)
        .from_reader(&text.as_bytes()[from..]);
    let mut cells = Cells::default();
    for record in reader.records() {
        let record = record.map_err(|error| {
            let what = format!("the roster is not CSV: {error}");
            vec![Fault::at("", what, "one line for each row, cells parted by commas")]
        })?;
        let mut row: Vec<String> = record.iter().map(|c| c.trim().to_owned()).collect();
        while row.last().is_some_and(String::is_empty) {
            row.pop();
        }
        if row.is_empty() {
            continue;
        }
        if cells.heads.is_empty() {
            cells.heads = row;
            continue;
        }
        // The reader's place lies before line ends and blank lines that it has still to pass over.
        let place = from + record.position().map_or(0, |p| p.byte() as usize);
        let begins = text[place..].find(|c| c != '\r' && c != '\n').map_or(text.len(), |more| place + more);
        let mut faults = Faults::new();
        if row.len() > cells.heads.len() {
            let what = format!("the row has {} cells under {} heads", row.len(), cells.heads.len());
            let fault = Fault::at("", what, "each cell stands under the head of its column");
            faults.push(fault.cure("put a cell that holds a comma in quotes"));
        }
        row.resize(cells.heads.len(), String::new());
        cells.rows.push(CellRow { line: lines.of(begins), cells: row, faults });
    }
    drop_empty_columns(&mut cells);
    Ok(cells)
}

/// Where the line of heads begins, bytes, and the separator that a line before it names.
fn first_line(text: &str) -> Result<(usize, Option<u8>), Faults> {
    let (mut from, mut said) = (0, None);
    while from < text.len() {
        let end = text[from..].find(['\r', '\n']).map_or(text.len(), |long| from + long);
        let line = text[from..end].trim_matches(' ').trim_matches('"');
        if let Some(separator) = line.get(..4).filter(|start| start.eq_ignore_ascii_case("sep=")).map(|_| &line[4..])
            && said.is_none()
        {
            said = match separator.as_bytes() {
                [one] if one.is_ascii() && !one.is_ascii_alphanumeric() && *one != b'"' => Some(*one),
                _ => {
                    let what = format!("the first line says sep={}", quoted(separator));
                    let why = "after `sep=` stands the one sign that parts the cells, such as `;`";
                    return Err(vec![Fault::at("", what, why).cure("write `sep=;`, or strike the line out")]);
                }
            };
        } else if line.contains(|c: char| !c.is_whitespace() && c != ',' && c != ';') {
            break;
        }
        from = end + text[end..].chars().next().map_or(0, char::len_utf8);
    }
    Ok((from, said))
}

/// Lines of a text by places, which are asked for in order.
struct Lines<'t> {
    text: &'t str,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    /// The line, from 1, on which the byte `place` stands. A line ends with LF, CR or both.
    fn of(&mut self, place: usize) -> usize {
        let bytes = self.text.as_bytes();
        let ends = |at: &usize| bytes[*at] == b'\n' || bytes[*at] == b'\r' && bytes.get(at + 1) != Some(&b'\n');
        self.line += (self.at..place).filter(ends).count();
        self.at = place.max(self.at);
        self.line
    }
}

/// Where a cell begins with a quote and has no end, bytes (RFC 4180: a quote within is written twice).
fn open_quote(text: &str, delimiter: u8) -> Option<usize> {
    let (mut opened, mut begins) = (None, true);
    let mut bytes = text.bytes().enumerate().peekable();
    while let Some((at, byte)) = bytes.next() {
        match (byte, opened) {
            (b'"', Some(_)) if bytes.peek().is_some_and(|(_, next)| *next == b'"') => drop(bytes.next()),
            (b'"', Some(_)) => opened = None,
            (b'"', None) if begins => opened = Some(at),
            _ => {}
        }
        begins = opened.is_none() && (byte == delimiter || byte == b'\n' || byte == b'\r');
    }
    opened
}

/// Strikes out columns without a head under which nothing stands; a cell without a head is its row's fault.
fn drop_empty_columns(cells: &mut Cells) {
    let bare: Vec<usize> = (0..cells.heads.len()).filter(|at| cells.heads[*at].is_empty()).collect();
    for row in &mut cells.rows {
        for at in bare.iter().filter(|at| !row.cells[**at].is_empty()) {
            let what = format!("{} stands in column {}, which has no head", quoted(&row.cells[*at]), at + 1);
            row.faults.push(Fault::at("", what, "each cell stands under the head of its column"));
        }
    }
    for at in bare.into_iter().rev() {
        cells.heads.remove(at);
        for row in &mut cells.rows {
            row.cells.remove(at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str) -> Vec<(usize, String)> {
        let cells = from_csv(text).unwrap_or_else(|faults| panic!("{text:?}: {faults:?}"));
        cells.rows.into_iter().map(|row| (row.line, row.cells.join("|"))).collect()
    }

    #[test]
    fn a_row_has_the_line_that_an_editor_shows_whatever_the_line_ends() {
        let text = "name,draw\nA,28 in\n\n\nB,27 in\n\"C\nc\",26 in\nD,\n";
        for ends in ["\n", "\r\n", "\r"] {
            let told: Vec<usize> = lines(&text.replace('\n', ends)).into_iter().map(|(line, _)| line).collect();
            assert_eq!(told, [2, 5, 6, 8], "{ends:?}");
        }
        let late = from_csv("\r\n\r\nname,draw\r\nA,\"28 in\r\n").unwrap_err();
        assert!(late[0].what.contains("in line 4 "), "{late:?}");
    }

    #[test]
    fn what_spreadsheets_put_round_a_roster_is_understood() {
        for before in ["", "\n", "sep=;\n", "sep=;\n\n", "\"sep=;\"\n", "\n \nSEP=;\n", ";;\n"] {
            let text = format!("{before}name;draw;\nA;28 in;\n;;\n ; ;\nB, too;;\n;;\n;;\n");
            let first = before.matches('\n').count() + 2;
            assert_eq!(lines(&text), [(first, "A|28 in".into()), (first + 3, "B, too|".into())], "{before:?}");
        }
        // Said outright, it holds against what the heads look like.
        assert_eq!(lines("sep=|\nname, first|draw\nA|1\n"), [(3, "A|1".into())]);
        assert_eq!(lines("name,draw\nA,\n,,,,\n"), [(2, "A|".into())]);
        for (text, wanted) in
            [("sep=\nname\nA\n", "sep=``"), ("sep=semicolon\nname\n", "sep=`semicolon`"), ("sep=ö\nname\n", "sep=`ö`")]
        {
            let faults = from_csv(text).unwrap_err();
            assert!(faults[0].what.contains(wanted), "{text:?}: {faults:?}");
        }
    }

    #[test]
    fn a_cell_without_a_head_is_a_fault_of_its_row() {
        let cells = from_csv("name,,draw\nA,,28 in\nB,tall,27 in\nC,,,late\n").unwrap();
        assert_eq!(cells.heads, ["name", "draw"]);
        let told: Vec<Vec<&str>> =
            cells.rows.iter().map(|r| r.faults.iter().map(|f| f.what.as_str()).collect()).collect();
        assert_eq!(told[0], Vec::<&str>::new());
        assert_eq!(told[1], ["`tall` stands in column 2, which has no head"]);
        assert_eq!(told[2], ["the row has 4 cells under 3 heads"]);
    }
}
