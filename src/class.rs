//! A class: one base design, and a roster that says what is different for each student or bench.
//!
//! ```text
//! roster (CSV or TOML) + base design -> one design file for each row, with the base's own words -> sheets, key
//! ```
//!
//! Every fault of every row is gathered before anything is made.

mod columns;
pub mod key;
mod roster;

use toml_edit::DocumentMut;

use crate::design::Design;
use crate::design::file::{Overrides, read_bytes};
use crate::fault::{Fault, Faults};
use crate::saved_as;
use roster::Cells;

/// Most rows of a roster.
pub const MOST_ROWS: usize = 1000;
/// Largest roster that is read, bytes.
pub const MOST_BYTES: usize = 4 << 20;

/// One row that can be worked on.
#[derive(Debug, Clone)]
pub struct Row {
    /// Line of the roster it begins on, from 1.
    pub line: usize,
    /// Name or number, as the sheets have it.
    pub label: String,
    /// The row's own design file.
    pub text: String,
    /// The name it rides along under.
    pub file_name: String,
    /// The design.
    pub design: Design,
}

/// Faults of one row.
#[derive(Debug, Clone)]
pub struct RowFaults {
    /// Line of the roster, from 1; none where the roster as a whole is meant.
    pub line: Option<usize>,
    /// Whose row it is.
    pub label: String,
    /// What is wrong.
    pub faults: Faults,
}

/// Reads a roster against a base design. `is_toml` tells the roster's form.
///
/// # Errors
/// All faults of the roster, by row.
pub fn read(roster: &[u8], is_toml: bool, base: &str) -> Result<Vec<Row>, Vec<RowFaults>> {
    let of_roster = |faults: Faults| vec![RowFaults { line: None, label: String::new(), faults }];
    let text = saved_as::utf8(roster, "a roster").map_err(|fault| of_roster(vec![fault]))?;
    let text = text.trim_start_matches('\u{FEFF}');
    if let Some(fault) = saved_as::bare_returns(text).filter(|_| is_toml) {
        return Err(of_roster(vec![fault]));
    }
    let cells = if is_toml { roster::from_toml(text) } else { roster::from_csv(text) };
    let cells = cells.map_err(of_roster)?;
    let document: DocumentMut = base.parse().map_err(|e: toml_edit::TomlError| {
        of_roster(vec![Fault::at("", format!("the base design is not TOML: {}", e.message()), "")])
    })?;
    if cells.rows.is_empty() {
        let fault = Fault::at("", "the roster has no rows", "each student or bench has one");
        return Err(of_roster(vec![fault]));
    }
    if cells.rows.len() > MOST_ROWS {
        let fault = Fault::at(
            "",
            format!("the roster has {} rows", cells.rows.len()),
            format!("no more than {MOST_ROWS} are made at once"),
        );
        return Err(of_roster(vec![fault.cure("divide it")]));
    }
    let mut faults = Vec::new();
    let mut unknown = columns::unknown(&cells.heads);
    unknown.extend(columns::twice(&cells.heads));
    if !unknown.is_empty() {
        faults.extend(of_roster(unknown));
    }
    let mut rows: Vec<Row> = Vec::new();
    let mut labels: Vec<(String, usize)> = Vec::new();
    let digits = cells.rows.len().to_string().len();
    for (number, cells_of_row) in cells.rows.iter().enumerate() {
        let label = label(&cells, number);
        let mut own = cells_of_row.faults.clone();
        if label.is_empty() {
            own.push(
                Fault::at("name", "the row has neither a name nor a number", "the sheets are handed out by it")
                    .cure("fill in the column `name` or `number`"),
            );
        } else if let Some((_, line)) = labels.iter().find(|(l, _)| *l == label) {
            own.push(
                Fault::at(
                    "name",
                    format!("`{label}` stands in line {line}, too"),
                    "sheets of two rows would be mixed up",
                )
                .cure("add a number or an initial"),
            );
        }
        labels.push((label.clone(), cells_of_row.line));
        match columns::applied(&document, &cells.heads, &cells_of_row.cells, &label) {
            Err(more) => own.extend(more),
            Ok(text) => match read_bytes(text.as_bytes(), "", &Overrides::default()) {
                Err(refusal) => own.extend(refusal.faults().cloned()),
                Ok(reading) if own.is_empty() => rows.push(Row {
                    line: cells_of_row.line,
                    file_name: format!("{:0digits$}-{}.toml", number + 1, crate::writers::files::file_stem(&label)),
                    label: label.clone(),
                    text,
                    design: reading.design,
                }),
                Ok(_) => {}
            },
        }
        if !own.is_empty() {
            faults.push(RowFaults { line: Some(cells_of_row.line), label, faults: own });
        }
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

/// `Anna`, `7`, or `7 Anna`.
fn label(cells: &Cells, row: usize) -> String {
    let cell = |names: &[&str]| {
        let at = cells.heads.iter().position(|h| names.contains(&columns::plain(h).as_str()))?;
        cells.rows[row].cells.get(at).map(|c| c.trim().to_owned()).filter(|c| !c.is_empty())
    };
    let parts = [cell(columns::NUMBER), cell(columns::NAME)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::SAMPLE;

    #[test]
    fn rows_keep_the_base_in_its_own_words_but_for_what_differs() {
        let roster =
            "Name,Brace height,draw,weight,thickness at 20 in\nAnna,6 1/2 in,27 in,38 lb,\"15/32 in\"\nBen,,,,\n";
        let rows = read(roster.as_bytes(), false, SAMPLE).unwrap_or_else(|f| panic!("{f:?}"));
        assert_eq!(rows.len(), 2);
        assert!((rows[0].design.bow.draw - 27.0 * 0.0254).abs() < 1e-12);
        assert!((rows[0].design.limbs.lower.stations[1].thickness - 15.0 / 32.0 * 0.0254).abs() < 1e-12);
        assert!(rows[0].design.name.starts_with("Anna") && rows[0].file_name == "1-anna.toml");
        // Comments and layout of the base are kept.
        assert!(rows[1].text.contains("# nock to nock along the back, unstrung"));
        let changed = |a: &str| a.lines().zip(SAMPLE.lines()).filter(|(a, b)| a != b).count();
        assert_eq!(changed(&rows[1].text), 1);
        assert_eq!(changed(&rows[0].text), 5);
        // Draw and weight of a row belong together.
        assert!(rows[0].design.bow.weight.is_some_and(|w| (w.draw - 27.0 * 0.0254).abs() < 1e-12));
    }

    #[test]
    fn toml_gives_the_same_as_csv() {
        let csv = read(b"number,draw\n1,27 in\n2,28 in\n", false, SAMPLE).unwrap();
        let toml = read(b"[[row]]\nnumber = 1\ndraw = '27 in'\n[[row]]\nnumber = '2'\ndraw = '28 in'\n", true, SAMPLE)
            .unwrap();
        assert_eq!(csv.iter().map(|r| &r.text).collect::<Vec<_>>(), toml.iter().map(|r| &r.text).collect::<Vec<_>>());
    }

    #[test]
    fn twelve_faults_are_twelve_faults() {
        let roster = "name,brace height,draw,weight,limb.wood,thickness at 20 in,nock.style,string.diameter,colour\n\
            Anna,6.25,,,,,,,\n\
            Ben,,28 kg,,,,,,\n\
            Cleo,,,forty pounds,,,,,\n\
            Dan,,,,plywood,,,,\n\
            Eva,,,,,15/0 in,,,\n\
            Fay,,,,,,no such nock,,\n\
            Gus,,,,,,,1 m,\n\
            ,,,,,,,,\n\
            Anna,,,,,,,,\n\
            Ina,90 in,,,,,,,\n\
            Jan,,,,,,,,,,too many\n";
        let faults = read(roster.as_bytes(), false, SAMPLE).unwrap_err();
        let count: usize = faults.iter().map(|r| r.faults.len()).sum();
        let told: Vec<String> = faults
            .iter()
            .flat_map(|r| r.faults.iter().map(|f| format!("{:?} {}: {}", r.line, r.label, f.what)))
            .collect();
        assert_eq!(count, 12, "{}", told.join("\n"));
        assert_eq!(faults.iter().filter(|r| r.line.is_some()).count(), 11);
    }

    #[test]
    fn rosters_that_are_none_are_refused() {
        for (roster, toml) in [
            ("", false),
            ("name\n", false),
            ("\u{0}\u{1}", false),
            ("[[row]]", true),
            ("row = 3", true),
            ("[[row]]\nname = []", true),
            ("name\nA\"", false),
        ] {
            assert!(read(roster.as_bytes(), toml, SAMPLE).is_err() || roster.contains('"'), "{roster}");
        }
        assert!(read(&[0xFF, 0xFE], false, SAMPLE).is_err());
    }
}
