//! Leader notes: an arrow to the thing meant, a shelf, and a few words beside it.

use kurbo::{Circle, Point, Shape};

use super::dimension::{arrow, unit};
use super::{Anchor, Role, Template, paragraph::LEADING, size};
use crate::font::CAP_HEIGHT;

/// How the leader ends at the thing meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// An arrow head, for a line.
    Arrow,
    /// A dot, for a face.
    Dot,
}

/// Draws a leader from `target` to `knee`, a short level shelf there, and the text beyond it: to the right of the knee
/// when it stands right of the target, else to the left. Line feeds stack the lines, the first beside the shelf.
pub fn leader(template: &mut Template, target: Point, knee: Point, end: End, text: &str) {
    let way = if knee.x >= target.x { 1.0 } else { -1.0 };
    let shelf = Point::new(knee.x + 3.0 * way, knee.y);
    template.segment(Role::Dimension, target, knee);
    template.segment(Role::Dimension, knee, shelf);
    match end {
        End::Arrow => arrow(template, target, unit(target - knee)),
        End::Dot => template.fill(Role::Dimension, Circle::new(target, 0.5).to_path(1e-3)),
    }
    let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
    for (row, line) in text.lines().enumerate() {
        let y = shelf.y - CAP_HEIGHT * size::SMALL / 2.0 - row as f64 * LEADING * size::SMALL;
        template.text((shelf.x + 0.8 * way, y), size::SMALL, anchor, line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::legible::crossed_texts;

    #[test]
    fn text_keeps_clear_of_the_leader_on_both_sides() {
        for (x, y) in [(10.0, 5.0), (-10.0, 5.0), (10.0, -5.0), (-10.0, -5.0), (0.0, 8.0)] {
            let mut t = Template::new("t");
            leader(&mut t, Point::ORIGIN, Point::new(x, y), End::Arrow, "seat of the groove\nround, 2.1 mm");
            assert!(crossed_texts(&t).is_empty());
        }
    }
}
