//! Captions: the name of a piece in bold, and below it the few lines that say which bow, which limb, which way.

use kurbo::Point;

use super::{Anchor, Template, paragraph::paragraph, size};
use crate::font::{CAP_HEIGHT, wrap};

/// Sets a caption from `top_left` down within `width` mm and answers how high it came out, mm.
pub fn caption(template: &mut Template, top_left: Point, width: f64, name: &str, lines: &str) -> f64 {
    let mut used = 0.0;
    for line in wrap(name, size::HEAD, true, width) {
        let at = (top_left.x, top_left.y - used - CAP_HEIGHT * size::HEAD);
        template.words(at, size::HEAD, Anchor::Start, 0.0, true, line);
        used += 1.25 * size::HEAD;
    }
    if lines.is_empty() {
        return used;
    }
    used += 0.3;
    used + paragraph(template, Point::new(top_left.x, top_left.y - used), width, lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stays_within_its_width_and_height() {
        let mut t = Template::new("t");
        let high = caption(
            &mut t,
            Point::new(0.0, 0.0),
            50.0,
            "Upper nock, side view of the tip",
            "Ash flatbow. This way to the tip →",
        );
        let b = t.bounds().unwrap();
        assert!(b.x1 <= 50.0 && -b.y0 <= high + 1e-9 && b.y1 <= 0.2);
    }
}
