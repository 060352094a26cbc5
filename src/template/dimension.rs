//! Dimension lines: a length between two points, with extension lines, arrow heads and its text.
//!
//! Text stands above its line and reads from below or from the right; where the length is too short for it,
//! it stands beyond the end. No line is drawn through it.

use kurbo::{BezPath, Point, Vec2};

use super::{Anchor, Role, Template, size};
use crate::font::{CAP_HEIGHT, text_width};

/// Length of an arrow head, mm.
pub(super) const ARROW: f64 = 2.2;
/// Between the point measured and its extension line, mm.
const GAP: f64 = 0.8;
/// How far an extension line runs past the dimension line, mm.
const PAST: f64 = 1.5;
/// Between the dimension line and the baseline of the text above it, mm: room for the tails of letters.
const LIFT: f64 = 1.0;

/// Where the dimension line lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place {
    /// Level, at this `y`: measures the points' distance in `x`.
    Level(f64),
    /// Upright, at this `x`: measures the points' distance in `y`.
    Upright(f64),
    /// Along the line from the first point to the second, this far to the left of it (negative: to the right).
    Aligned(f64),
}

/// Draws the dimension of the length between two points; `text` is what it says, for instance `12.7 mm (1/2 in)`.
pub fn dimension(template: &mut Template, from: Point, to: Point, place: Place, text: &str) {
    let (foot_from, foot_to) = match place {
        Place::Level(y) => (Point::new(from.x, y), Point::new(to.x, y)),
        Place::Upright(x) => (Point::new(x, from.y), Point::new(x, to.y)),
        Place::Aligned(offset) => {
            let left = unit(to - from).turn_90() * offset;
            (from + left, to + left)
        }
    };
    extension(template, from, foot_from);
    extension(template, to, foot_to);

    // From left to right, or upward: so that the text can be read.
    let forward = (foot_to.x - foot_from.x, foot_to.y - foot_from.y);
    let flip = forward.0 < -1e-9 || (forward.0.abs() <= 1e-9 && forward.1 < 0.0);
    let (start, end) = if flip { (foot_to, foot_from) } else { (foot_from, foot_to) };
    let along = match place {
        Place::Upright(_) => Vec2::new(0.0, 1.0),
        Place::Level(_) => Vec2::new(1.0, 0.0),
        Place::Aligned(_) => unit(end - start),
    };
    let length = (end - start).hypot();
    let turn = along.atan2().to_degrees();
    let width = text_width(text, size::SMALL, false);

    let inside = length >= 2.0 * ARROW + 1.5;
    if inside {
        template.segment(Role::Dimension, start, end);
        arrow(template, start, -along);
        arrow(template, end, along);
    } else {
        // Arrows from outside; the line between joins them.
        let tail = ARROW + 2.0;
        template.segment(Role::Dimension, start - along * tail, end + along * tail);
        arrow(template, start, along);
        arrow(template, end, -along);
    }
    if width + 1.0 <= length {
        let at = start + along * (length / 2.0) + along.turn_90() * LIFT;
        template.words(at, size::SMALL, Anchor::Middle, turn, false, text);
    } else {
        let clear = if inside { PAST + 0.5 } else { ARROW + 2.0 + 0.8 };
        let at = end + along * clear - along.turn_90() * (CAP_HEIGHT * size::SMALL / 2.0);
        template.words(at, size::SMALL, Anchor::Start, turn, false, text);
    }
}

fn extension(template: &mut Template, from: Point, foot: Point) {
    let way = foot - from;
    if way.hypot() > GAP {
        let along = unit(way);
        template.segment(Role::Dimension, from + along * GAP, foot + along * PAST);
    }
}

/// A filled arrow head with its point at `at`, pointing along `way` (a unit vector).
pub(super) fn arrow(template: &mut Template, at: Point, way: Vec2) {
    let back = at - way * ARROW;
    let side = way.turn_90() * (ARROW / 6.0);
    let mut head = BezPath::new();
    head.move_to(at);
    head.line_to(back + side);
    head.line_to(back - side);
    head.close_path();
    template.fill(Role::Dimension, head);
}

/// The unit vector of `v`; to the right when `v` has no length.
pub(super) fn unit(v: Vec2) -> Vec2 {
    let length = v.hypot();
    if length > 0.0 { v / length } else { Vec2::new(1.0, 0.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::{Figure, Item, legible::crossed_texts};

    fn drawn(from: (f64, f64), to: (f64, f64), place: Place, text: &str) -> Template {
        let mut t = Template::new("t");
        dimension(&mut t, from.into(), to.into(), place, text);
        t
    }

    #[test]
    fn no_line_runs_through_the_text_at_any_length_or_direction() {
        for length in [0.5, 3.0, 8.0, 20.0, 80.0] {
            for step in 0..24 {
                let (s, c) = (f64::from(step) * 15f64.to_radians()).sin_cos();
                for place in [Place::Level(9.0), Place::Upright(-7.0), Place::Aligned(6.0), Place::Aligned(-6.0)] {
                    let t = drawn((0.0, 0.0), (length * c, length * s), place, "12.7 mm (1/2 in)");
                    assert!(crossed_texts(&t).is_empty(), "{length} mm, {} degrees, {place:?}", step * 15);
                }
            }
        }
    }

    #[test]
    fn text_reads_from_below_or_from_the_right() {
        for step in 0..24 {
            let (s, c) = (f64::from(step) * 15f64.to_radians()).sin_cos();
            let t = drawn((0.0, 0.0), (50.0 * c, 50.0 * s), Place::Aligned(5.0), "50 mm");
            for item in &t.items {
                if let Figure::Text { turn, .. } = item.figure {
                    assert!(turn > -90.0 && turn <= 90.0 + 1e-9, "{turn}");
                }
            }
        }
    }

    #[test]
    fn the_line_is_as_long_as_what_it_measures() {
        let t = drawn((0.0, 0.0), (30.0, 40.0), Place::Aligned(5.0), "50 mm");
        let longest = t.items.iter().map(Item::bounds).map(|b| b.width().hypot(b.height())).fold(0.0, f64::max);
        assert!((longest - 50.0).abs() < 1e-9);
    }
}
