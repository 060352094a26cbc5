//! Small tables: a head in bold, narrow rules, columns as wide as their words need.

use kurbo::Point;

use super::{Anchor, Role, Template, size};
use crate::font::{CAP_HEIGHT, text_width};

/// From one row to the next, mm.
const ROW: f64 = 4.2;
/// Between columns, mm.
const BETWEEN: f64 = 3.5;

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
    let cell = |row: &Vec<String>, column: usize| row.get(column).cloned().unwrap_or_default();
    let mut lefts = Vec::new();
    let mut width = 0.0;
    for (place, column) in columns.iter().enumerate() {
        let widest = rows
            .iter()
            .map(|row| text_width(&cell(row, place), size::SMALL, false))
            .fold(text_width(&column.head, size::SMALL, true), f64::max);
        lefts.push((width, widest));
        width += widest + BETWEEN;
    }
    width -= if columns.is_empty() { 0.0 } else { BETWEEN };

    let rule = |template: &mut Template, y: f64| {
        template.segment(Role::Note, (top_left.x, y), (top_left.x + width, y));
    };
    // Letters stand in the middle between two rules.
    let baseline = |row: usize| top_left.y - (row as f64 + 0.5) * ROW - CAP_HEIGHT * size::SMALL / 2.0;
    rule(template, top_left.y);
    rule(template, top_left.y - ROW);
    for (place, column) in columns.iter().enumerate() {
        let (left, widest) = lefts[place];
        let (x, anchor) = if column.figures { (left + widest, Anchor::End) } else { (left, Anchor::Start) };
        let x = top_left.x + x;
        template.words((x, baseline(0)), size::SMALL, anchor, 0.0, true, column.head.clone());
        for (row, cells) in rows.iter().enumerate() {
            template.text((x, baseline(row + 1)), size::SMALL, anchor, cell(cells, place));
        }
    }
    let height = ROW * (rows.len() + 1) as f64;
    rule(template, top_left.y - height);
    (width, height)
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
}
