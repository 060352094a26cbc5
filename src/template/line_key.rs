//! The key to the lines: a stroke of every kind that is used, and what it says.

use kurbo::{BezPath, Point};

use super::look::LOOKS;
use super::waste::{Waste, waste_ticks};
use super::{Anchor, Figure, Role, Template, size};
use crate::font::CAP_HEIGHT;

/// From one row to the next, mm.
const ROW: f64 = 4.6;
/// Length of a sample, mm.
const SAMPLE: f64 = 20.0;

/// The key to those lines that the given pieces use; none when they use none that needs one.
pub fn line_key<'a>(pieces: impl Iterator<Item = &'a Template> + Clone) -> Option<Template> {
    let used = |role: Role| {
        pieces.clone().flat_map(|piece| &piece.items).any(|i| i.role == role && matches!(i.figure, Figure::Line(_)))
    };
    let mut t = Template::new("key to the lines");
    t.words((0.0, 0.0), size::BODY, Anchor::Start, 0.0, true, "Lines");
    let mut y = -1.2;
    for look in LOOKS.iter().filter(|look| !look.says.is_empty() && used(look.role)) {
        y -= ROW;
        let middle = y + CAP_HEIGHT * size::SMALL / 2.0;
        let mut sample = BezPath::new();
        sample.move_to(Point::new(0.0, middle));
        sample.line_to(Point::new(SAMPLE, middle));
        if look.role == Role::Cut {
            waste_ticks(&mut t, &sample, Waste::Left);
        }
        t.line(look.role, sample);
        t.text((SAMPLE + 3.0, y), size::SMALL, Anchor::Start, look.says);
    }
    (y < -ROW).then_some(t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_the_kinds_that_are_used_and_no_other() {
        let mut piece = Template::new("p");
        assert!(line_key([piece.clone()].iter()).is_none());
        piece.segment(Role::Cut, (0.0, 0.0), (1.0, 0.0));
        piece.segment(Role::Centre, (0.0, 0.0), (1.0, 0.0));
        let key = line_key([piece].iter()).unwrap();
        let roles: Vec<Role> = key.items.iter().map(|i| i.role).collect();
        assert!(roles.contains(&Role::Cut) && roles.contains(&Role::Centre) && !roles.contains(&Role::Fold));
    }
}
