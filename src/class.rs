//! A class: one base design, and a roster that says what is different for each student or bench.
//!
//! ```text
//! roster (CSV or TOML) + base design -> one design file for each row, with the base's own words -> sheets, key
//! ```
//!
//! Every fault of every row is gathered before anything is made.

mod applied;
mod blame;
mod columns;
pub mod key;
mod roster;

use std::collections::HashMap;

use toml_edit::DocumentMut;

use crate::design::Design;
use crate::design::file::{Overrides, read_bytes};
use crate::fault::{Fault, Faults};
use crate::font::printable;
use crate::saved_as;
use applied::{Applied, Put};
use columns::Target;
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
    /// What its cells set in the design.
    puts: Vec<Put>,
}

impl Row {
    /// Faults that were found while its design was worked on, under the heads of the columns that brought them about.
    pub fn blamed(&self, faults: Faults) -> RowFaults {
        RowFaults { line: Some(self.line), label: self.label.clone(), faults: blame::blamed(&self.puts, faults) }
    }
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
        match applied::applied(&document, &cells.heads, &cells_of_row.cells, &label) {
            Err(more) => own.extend(more),
            Ok(Applied { text, puts }) => match read_bytes(text.as_bytes(), "", &Overrides::default()) {
                Err(refusal) => own.extend(blame::blamed(&puts, refusal.faults().cloned())),
                Ok(reading) if own.is_empty() => rows.push(Row {
                    line: cells_of_row.line,
                    file_name: format!("{:0digits$}-{}.toml", number + 1, crate::writers::files::file_stem(&label)),
                    label: label.clone(),
                    text,
                    design: reading.design,
                    puts,
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

/// Rows whose labels are printed alike, by what is printed, in order: letters that the sheets' face has not got are.
pub fn printed_alike(rows: &[Row]) -> Vec<(String, Vec<&Row>)> {
    let mut groups: Vec<(String, Vec<&Row>)> = Vec::new();
    let mut places = HashMap::new();
    for row in rows {
        let printed = printable(&row.label).text;
        let at = *places.entry(printed.clone()).or_insert(groups.len());
        if at == groups.len() {
            groups.push((printed, Vec::new()));
        }
        groups[at].1.push(row);
    }
    groups.retain(|(_, rows)| rows.len() > 1);
    groups
}

/// `Anna`, `7`, or `7 Anna`.
fn label(cells: &Cells, row: usize) -> String {
    let cell = |of: Target| {
        let at = cells.heads.iter().position(|head| columns::target(head).as_ref() == Some(&of))?;
        cells.rows[row].cells.get(at).filter(|cell| !cell.is_empty()).cloned()
    };
    [cell(Target::Number), cell(Target::Name)].into_iter().flatten().collect::<Vec<_>>().join(" ")
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
            ,6 in,,,,,,,\n\
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

    /// What the faults of a roster are, each with its line and column.
    fn told(roster: &str, base: &str) -> Vec<(usize, String, Fault)> {
        let rows = read(roster.as_bytes(), false, base).err().unwrap_or_default();
        let each = |row: RowFaults| row.faults.into_iter().map(move |f| (row.line.unwrap_or(0), f.key.clone(), f));
        rows.into_iter().flat_map(each).collect()
    }

    fn places(roster: &str, base: &str) -> Vec<(usize, String)> {
        told(roster, base).into_iter().map(|(line, key, _)| (line, key)).collect()
    }

    #[test]
    fn one_bad_cell_is_one_fault_under_its_own_head() {
        for (roster, wanted) in [
            ("name,draw,weight\nA,banana,40 lb\n", vec![(2, "draw")]),
            ("name,Draw,weight\nA,28 in,40 lb at banana\n", vec![(2, "weight")]),
            ("name,weight,thickness at 20 in\nA,banana,thick\n", vec![(2, "thickness at 20 in"), (2, "weight")]),
            ("name,upper.limb.width at 20 in\nA,wide\n", vec![(2, "upper.limb.width at 20 in")]),
            ("student,brace height\nA,\nB,9 in\n", vec![(3, "brace height")]),
        ] {
            let mut found = places(roster, SAMPLE);
            found.sort();
            let wanted: Vec<(usize, String)> = wanted.into_iter().map(|(line, key)| (line, key.to_owned())).collect();
            assert_eq!(found, wanted, "{roster}");
        }
    }

    #[test]
    fn a_draw_beyond_the_range_is_mended_as_the_cure_says() {
        let faults = told("name,draw\nA,30 in\n", SAMPLE);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].1 == "draw" && faults[0].2.cure.contains("column `range.draw`"), "{faults:?}");
        let rows = read(b"name,draw,range.draw\nA,30 in,26 in to 30 in\nB,,\n", false, SAMPLE).unwrap();
        assert!((rows[0].design.serves.draw[1] - 30.0 * 0.0254).abs() < 1e-12);
        assert!((rows[1].design.serves.draw[1] - 29.0 * 0.0254).abs() < 1e-12);
        assert_eq!(
            places("name,range.draw\nA,30 in\nB,\"26 in to 27 in\"\n", SAMPLE),
            [(2, "range.draw".to_owned()), (3, "range.draw".to_owned())]
        );
    }

    #[test]
    fn a_station_of_both_limbs_is_changed_in_both_and_one_of_one_limb_in_that() {
        let own = "[lower.limb]\nstations = [ { at = '4 in', width = '2 in', thickness = '15 mm' }, \
                   { at = '20 in', width = '40 mm', thickness = '12 mm' }, { at = '34 in', width = '12 mm', thickness = '11 mm' } ]\n";
        let differing = format!("{SAMPLE}\n{own}");
        let tables = format!(
            "{SAMPLE}\n{}",
            "[[lower.limb.stations]]\nat = '4 in'\nwidth = '2 in'\nthickness = '15 mm'\n\
             [[lower.limb.stations]]\nat = '20 in'\nwidth = '40 mm'\nthickness = '12 mm'\n\
             [[lower.limb.stations]]\nat = '34 in'\nwidth = '12 mm'\nthickness = '11 mm'\n"
        );
        let of = |head: &str, base: &str| {
            let roster = format!("name,{head}\nA,13 mm\n");
            let rows = read(roster.as_bytes(), false, base).unwrap_or_else(|f| panic!("{head}: {f:?}"));
            let limbs = &rows[0].design.limbs;
            let mm = |limb: &crate::design::Limb| (limb.stations[1].thickness * 1e4).round() / 10.0;
            (mm(&limbs.upper), mm(&limbs.lower))
        };
        let own_mm = 11.5; // 29/64 in
        for (head, alike, unlike) in [
            ("thickness at 20 in", (13.0, 13.0), (13.0, 13.0)),
            ("limb.thickness at 508 mm", (13.0, 13.0), (13.0, 13.0)),
            ("upper.limb.thickness at 20 in", (13.0, own_mm), (13.0, 12.0)),
            ("Lower.limb.thickness at 20 in", (own_mm, 13.0), (own_mm, 13.0)),
        ] {
            assert_eq!(of(head, SAMPLE), alike, "{head}");
            assert_eq!(of(head, &differing), unlike, "{head}");
            assert_eq!(of(head, &tables), unlike, "{head}");
        }
        // One limb alone goes over both, in whatever order the columns stand.
        for heads in [
            "upper.limb.thickness at 20 in,thickness at 20 in\nA,13 mm,12 mm",
            "thickness at 20 in,upper.limb.thickness at 20 in\nA,12 mm,13 mm",
        ] {
            let rows = read(format!("name,{heads}\n").as_bytes(), false, SAMPLE).unwrap();
            let [upper, lower] =
                [&rows[0].design.limbs.upper, &rows[0].design.limbs.lower].map(|l| l.stations[1].thickness);
            assert!((upper - 0.013).abs() < 1e-9 && (lower - 0.012).abs() < 1e-9, "{heads}");
        }
        // Where one limb has no station there, neither is changed.
        let shifted = differing.replace("{ at = '20 in'", "{ at = '18 in'");
        let faults = told("name,thickness at 20 in\nA,13 mm\n", &shifted);
        assert!(faults[0].2.what.contains("lower limb has no station at 20 in"), "{faults:?}");
        assert!(faults[0].2.why.contains("4 in, 18 in, 34 in") && faults[0].2.cure.contains("upper.limb.thickness at"));
        assert_eq!(
            places("name,thickness at 20 in,thickness at 20.0 in\nA,,\n", SAMPLE),
            [(0, "thickness at 20.0 in".into())]
        );
    }

    #[test]
    fn two_columns_for_one_label_are_a_fault() {
        for (heads, second) in [("name,student", "student"), ("number,name,Bench", "Bench"), ("nr,no.,name", "no.")] {
            assert_eq!(places(&format!("{heads}\na,b,c\n"), SAMPLE)[0], (0, second.to_owned()), "{heads}");
        }
    }

    #[test]
    fn a_label_is_counted_with_what_stands_behind_it() {
        let long = "x".repeat(70);
        let faults = told(&format!("number,name\n7,{long}\n"), SAMPLE);
        assert_eq!(faults.len(), 1, "{faults:?}");
        let (line, key, fault) = &faults[0];
        assert_eq!((*line, key.as_str()), (2, "name"));
        assert!(fault.what.contains("is 85 letters long: 72 of the row's label, 13 of the comma"), "{}", fault.what);
        assert!(fault.cure.contains("to 67 letters"), "{}", fault.cure);
        assert!(read(format!("name\n{}\n", &long[..67]).as_bytes(), false, SAMPLE).is_ok());
        let faults = told("name\nA\u{1b}[31m\n", SAMPLE);
        assert!(faults.len() == 1 && faults[0].2.what.contains("control character"), "{faults:?}");
    }
}
