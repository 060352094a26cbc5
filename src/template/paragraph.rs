//! Paragraphs: text broken to a width, from its top left corner down.

use kurbo::Point;

use super::{Anchor, Template, size};
use crate::font::{CAP_HEIGHT, DESCENT, wrap};

/// From one baseline to the next, as a multiple of the size of type.
pub const LEADING: f64 = 1.36;

/// Sets `text` within `width` mm from `top_left` down and answers how high it came out, mm
/// (from the top of the first capitals to below the tails of the last line). Line feeds begin new lines.
pub fn paragraph(template: &mut Template, top_left: Point, width: f64, text: &str) -> f64 {
    paragraph_of(template, top_left, width, size::SMALL, text)
}

/// The same in bold.
pub fn bold_paragraph(template: &mut Template, top_left: Point, width: f64, text: &str) -> f64 {
    bold_paragraph_of(template, top_left, width, size::SMALL, text)
}

/// The same in letters of another size.
pub fn bold_paragraph_of(template: &mut Template, top_left: Point, width: f64, size: f64, text: &str) -> f64 {
    set(template, top_left, width, size, true, text)
}

/// The same in letters of another size.
pub fn paragraph_of(template: &mut Template, top_left: Point, width: f64, size: f64, text: &str) -> f64 {
    set(template, top_left, width, size, false, text)
}

fn set(template: &mut Template, top_left: Point, width: f64, size: f64, bold: bool, text: &str) -> f64 {
    let lines = wrap(text, size, bold, width);
    for (row, line) in lines.iter().enumerate() {
        let y = top_left.y - (CAP_HEIGHT + row as f64 * LEADING) * size;
        template.words((top_left.x, y), size, Anchor::Start, 0.0, bold, line.clone());
    }
    height(lines.len(), size)
}

/// Height of that many lines, mm.
pub fn height(lines: usize, size: f64) -> f64 {
    if lines == 0 { 0.0 } else { (CAP_HEIGHT + DESCENT + (lines - 1) as f64 * LEADING) * size }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_as_wide_and_as_high_as_said() {
        let mut t = Template::new("t");
        let high =
            paragraph(&mut t, Point::new(5.0, 7.0), 40.0, "File square across the back first, to the full depth.");
        let box_of = t.bounds().unwrap();
        assert!(box_of.x0 >= 5.0 && box_of.x1 <= 45.0);
        assert!((box_of.y0 - (7.0 - high)).abs() < 1e-9);
        assert!(t.items.len() > 1);
    }
}
