//! Small tables: a head in bold, narrow rules, columns as wide as their words need.

use kurbo::Point;

use super::{Anchor, Figure, Item, Role, Template, size};
use crate::font::{CAP_HEIGHT, text_width};

/// From one row to the next, as a multiple of the size of type.
const ROW: f64 = 4.2 / size::SMALL;
/// Between columns, as a multiple of the size of type.
const BETWEEN: f64 = 3.5 / size::SMALL;

/// One column: its head and which way its cells lean.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Words on top.
    pub head: String,
    /// Words start at the left; figures end at the right.
    pub figures: bool,
}

impl Column {
    /// A column of words.
    pub fn words(head: impl Into<String>) -> Self {
        Column { head: head.into(), figures: false }
    }

    /// A column of figures, standing under each other at the right.
    pub fn figures(head: impl Into<String>) -> Self {
        Column { head: head.into(), figures: true }
    }
}

/// Draws a table from `top_left` down and answers its width and height, mm. Cells that a row lacks stay empty.
pub fn table(template: &mut Template, top_left: Point, columns: &[Column], rows: &[Vec<String>]) -> (f64, f64) {
    table_of(template, top_left, size::SMALL, columns, rows)
}

/// The same in letters of another size.
pub fn table_of(
    template: &mut Template,
    top_left: Point,
    size: f64,
    columns: &[Column],
    rows: &[Vec<String>],
) -> (f64, f64) {
    let (row_height, between) = (ROW * size, BETWEEN * size);
    let cell = |row: &Vec<String>, column: usize| row.get(column).cloned().unwrap_or_default();
    let mut lefts = Vec::new();
    let mut width = 0.0;
    for (place, column) in columns.iter().enumerate() {
        let widest = rows
            .iter()
            .map(|row| text_width(&cell(row, place), size, false))
            .fold(text_width(&column.head, size, true), f64::max);
        lefts.push((width, widest));
        width += widest + between;
    }
    width -= if columns.is_empty() { 0.0 } else { between };

    let rule = |template: &mut Template, y: f64| {
        template.segment(Role::Note, (top_left.x, y), (top_left.x + width, y));
    };
    // Letters stand in the middle between two rules.
    let baseline = |row: usize| top_left.y - (row as f64 + 0.5) * row_height - CAP_HEIGHT * size / 2.0;
    rule(template, top_left.y);
    rule(template, top_left.y - row_height);
    for (place, column) in columns.iter().enumerate() {
        let (left, widest) = lefts[place];
        let (x, anchor) = if column.figures { (left + widest, Anchor::End) } else { (left, Anchor::Start) };
        let x = top_left.x + x;
        template.words((x, baseline(0)), size, anchor, 0.0, true, column.head.clone());
        for (row, cells) in rows.iter().enumerate() {
            template.text((x, baseline(row + 1)), size, anchor, cell(cells, place));
        }
    }
    let height = row_height * (rows.len() + 1) as f64;
    rule(template, top_left.y - height);
    (width, height)
}

/// A table as it was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows; every one has a cell for every column.
    pub rows: Vec<Vec<String>>,
}

/// The tables among items in the order they were drawn, and the items that belong to none.
pub fn taken_out(items: &[Item]) -> (Vec<Drawn>, Vec<Item>) {
    let (mut tables, mut others, mut at) = (Vec::new(), Vec::new(), 0);
    while let Some(item) = items.get(at) {
        match begins(&items[at..]) {
            Some((drawn, taken)) => {
                tables.push(drawn);
                at += taken;
            }
            None => {
                others.push(item.clone());
                at += 1;
            }
        }
    }
    (tables, others)
}

/// The table that these items begin with, and how many of them it takes: two rules, then nothing but words, then a third rule.
fn begins(items: &[Item]) -> Option<(Drawn, usize)> {
    let rule = |item: &Item| match &item.figure {
        Figure::Line(path) if item.role == Role::Note && path.elements().len() == 2 => {
            let bounds = item.bounds();
            (bounds.height() < 1e-9).then_some((bounds.x0, bounds.x1, bounds.y0))
        }
        _ => None,
    };
    let alike =
        |a: (f64, f64, f64), b: (f64, f64, f64)| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9 && b.2 < a.2;
    let (top, second) = (rule(items.first()?)?, rule(items.get(1)?)?);
    let end = 2 + items.get(2..)?.iter().position(|item| !matches!(item.figure, Figure::Text { .. }))?;
    let last = rule(&items[end])?;
    if !alike(top, second) || !alike(second, last) {
        return None;
    }
    let (mut columns, mut cells): (Vec<Column>, Vec<Vec<String>>) = (Vec::new(), Vec::new());
    for item in &items[2..end] {
        let Figure::Text { text, anchor, bold, .. } = &item.figure else { return None };
        if *bold {
            columns.push(Column { head: text.clone(), figures: *anchor == Anchor::End });
            cells.push(Vec::new());
        } else {
            cells.last_mut()?.push(text.clone());
        }
    }
    let count = cells.first()?.len();
    let rows = (0..count).map(|row| cells.iter().map(|c| c.get(row).cloned().unwrap_or_default()).collect()).collect();
    Some((Drawn { columns, rows }, end + 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::legible::crossed_texts;

    #[test]
    fn is_as_large_as_said_and_no_rule_runs_through_it() {
        let mut t = Template::new("t");
        let columns = [Column::words("station"), Column::figures("width mm"), Column::figures("thickness mm")];
        let rows = vec![vec!["tip".into(), "12.0".into(), "10.5".into()], vec!["100 mm in".into(), "16.25".into()]];
        let (width, height) = table(&mut t, Point::new(2.0, 3.0), &columns, &rows);
        let b = t.bounds().unwrap();
        assert!((b.width() - width).abs() < 1e-9 && (b.height() - height).abs() < 1e-9);
        assert!(crossed_texts(&t).is_empty());
    }

    #[test]
    fn a_table_that_was_drawn_is_found_again_and_nothing_else_is() {
        let columns = vec![Column::words("station"), Column::figures("width mm")];
        let rows = vec![vec!["tip".to_owned(), "12.0".to_owned()], vec![String::new(), "16.25".to_owned()]];
        let mut t = Template::new("t");
        t.segment(Role::Note, (0.0, 0.0), (5.0, 0.0));
        t.text((0.0, 1.0), size::SMALL, Anchor::Start, "before");
        table(&mut t, Point::new(2.0, 3.0), &columns, &rows);
        t.text((0.0, 9.0), size::SMALL, Anchor::Start, "after");
        let (found, others) = taken_out(&t.items);
        assert_eq!(found, [Drawn { columns, rows }]);
        assert_eq!(others.len(), 3);
    }
}
