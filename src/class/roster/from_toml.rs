//! A roster in TOML.

use toml_edit::{Item, TableLike, Value};

use super::{CellRow, Cells};
use crate::class::columns;
use crate::fault::{Fault, Faults};

const WANTED: &str = "a roster in TOML is a list of tables, each headed [[row]], with texts such as draw = \"28 in\"";

/// Reads TOML: a list of tables `[[row]]`, each with the columns as keys. Dotted keys such as `limb.wood`, which TOML
/// reads as tables within the row, name the column they spell.
pub fn from_toml(text: &str) -> Result<Cells, Faults> {
    let document = toml_edit::Document::parse(text)
        .map_err(|e| vec![Fault::at("", format!("the roster is not TOML: {}", e.message()), WANTED)])?;
    let tables = document.get("row").and_then(|item| item.as_array_of_tables());
    let Some(tables) = tables else { return Err(vec![Fault::at("", "the roster has no [[row]]", WANTED)]) };
    let mut cells = Cells::default();
    for table in tables.iter() {
        let start = table.span().map_or(0, |span| span.start);
        let line = text[..start.min(text.len())].matches('\n').count() + 1;
        let mut row = CellRow { line, ..CellRow::default() };
        flatten(table, "", &mut cells.heads, &mut row);
        cells.rows.push(row);
    }
    for row in &mut cells.rows {
        row.cells.resize(cells.heads.len(), String::new());
    }
    Ok(cells)
}

/// Puts what a table holds, and the tables in it, into the row's cells; `before` is what its keys begin with.
fn flatten(table: &dyn TableLike, before: &str, heads: &mut Vec<String>, row: &mut CellRow) {
    for (key, item) in table.iter() {
        let head = if before.is_empty() { key.to_owned() } else { format!("{before}.{key}") };
        let words = words(item).or_else(|| form(&head, item));
        match (words, item.as_table_like()) {
            (Some(text), _) => {
                let at = heads.iter().position(|h| *h == head).unwrap_or_else(|| {
                    heads.push(head);
                    heads.len() - 1
                });
                row.cells.resize(heads.len().max(row.cells.len()), String::new());
                row.cells[at] = text;
            }
            (None, Some(within)) => flatten(within, &head, heads, row),
            (None, None) => row.faults.push(Fault::at(head.as_str(), format!("`{head}` is no text"), WANTED)),
        }
    }
}

/// A text, or a number as it is written.
fn words(item: &Item) -> Option<String> {
    match item.as_value()? {
        Value::String(text) => Some(text.value().trim().to_owned()),
        Value::Integer(number) => Some(number.display_repr().into_owned()),
        Value::Float(number) => Some(number.display_repr().into_owned()),
        _ => None,
    }
}

/// What a design file writes as a table or list, in the words of a cell: the weight, and the two ends of a range.
fn form(head: &str, item: &Item) -> Option<String> {
    if columns::is_weight(head) {
        let table = item.as_table_like().filter(|t| t.len() == 2)?;
        return Some(format!("{} at {}", words(table.get("pull")?)?, words(table.get("at")?)?));
    }
    let ends: Option<Vec<String>> = item.as_array()?.iter().map(|end| Some(end.as_str()?.trim().to_owned())).collect();
    ends.filter(|ends| ends.len() == 2).map(|ends| ends.join(columns::TO))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dotted_keys_and_tables_in_a_row_are_columns() {
        let text = "[[row]]\nname = 'A'\nlimb.wood = 'ash'\nupper.limb.length = '33 in'\nstring.friction = 0.20\n\
                    [[row]]\nname = 'B'\nupper = { limb = { length = '34 in' } }\nweight = { at = '28 in', pull = '40 lb' }\n\
                    [row.limb]\nwood = 'yew'\n[[row]]\nname = 3\n'limb.wood' = 'elm'\n'thickness at 20 in' = '1/2 in'\n\
                    range.draw = ['26 in', '29 in']\n";
        let cells = from_toml(text).unwrap();
        let column = |head: &str| {
            let at = cells.heads.iter().position(|h| h == head).unwrap_or_else(|| panic!("{head}: {:?}", cells.heads));
            cells.rows.iter().map(|row| row.cells[at].as_str()).collect::<Vec<_>>()
        };
        assert_eq!(column("name"), ["A", "B", "3"]);
        assert_eq!(column("limb.wood"), ["ash", "yew", "elm"]);
        assert_eq!(column("upper.limb.length"), ["33 in", "34 in", ""]);
        assert_eq!(column("string.friction"), ["0.2", "", ""]);
        assert_eq!(column("weight"), ["", "40 lb at 28 in", ""]);
        assert_eq!(column("thickness at 20 in"), ["", "", "1/2 in"]);
        assert_eq!(column("range.draw"), ["", "", "26 in to 29 in"]);
        assert_eq!(cells.rows.iter().map(|r| r.line).collect::<Vec<_>>(), [1, 6, 12]);
        assert!(cells.rows.iter().all(|r| r.faults.is_empty()));
    }

    #[test]
    fn what_is_neither_text_nor_number_is_named_by_its_column() {
        let cells = from_toml("[[row]]\nname = 'A'\nlimb.wood = true\nlimb.stations = [1]\n").unwrap();
        let told: Vec<&str> = cells.rows[0].faults.iter().map(|f| f.key.as_str()).collect();
        assert_eq!(told, ["limb.wood", "limb.stations"]);
    }
}
