//! Angle dimensions: an arc between two directions, with arrow heads and its text outside the arc.

use kurbo::{Arc, Point, Shape, Vec2};

use super::dimension::{ARROW, arrow};
use super::{Anchor, Role, Template, size};
use crate::font::{CAP_HEIGHT, text_width};

/// Draws the angle about `centre` from direction `from` anticlockwise to direction `to` (rad, from the `x` axis)
/// as an arc of `radius` mm.
///
/// With `legs`, the two directions are drawn from a millimetre off the centre to a little past the arc.
pub fn angle(template: &mut Template, centre: Point, radius: f64, from: f64, to: f64, legs: bool, text: &str) {
    let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
    if legs {
        for way in [from, to].map(Vec2::from_angle) {
            template.segment(Role::Dimension, centre + way, centre + way * (radius + 2.0));
        }
    }
    let arc = Arc::new(centre, (radius, radius), from, sweep, 0.0);
    template.line(Role::Dimension, arc.to_path(1e-4));
    // An arrow head lies along the chord of its own length, so that it stays on the arc.
    if sweep * radius >= 2.0 * ARROW + 1.0 {
        let half = ARROW / (2.0 * radius);
        arrow(template, centre + Vec2::from_angle(from) * radius, -Vec2::from_angle(from + half).turn_90());
        arrow(template, centre + Vec2::from_angle(to) * radius, Vec2::from_angle(to - half).turn_90());
    }
    // The text's box stands beyond the arc's tangent in the middle of the sweep.
    let way = Vec2::from_angle(from + sweep / 2.0);
    let (width, height) = (text_width(text, size::SMALL, false), CAP_HEIGHT * size::SMALL);
    let reach = (way.x.abs() * width + way.y.abs() * height) / 2.0;
    let middle = centre + way * (radius + 1.2 + reach);
    template.text((middle.x, middle.y - height / 2.0), size::SMALL, Anchor::Middle, text);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::legible::crossed_texts;

    #[test]
    fn text_keeps_clear_of_arc_and_arrows() {
        for start in 0..24 {
            for sweep in [2f64, 10.0, 35.0, 90.0] {
                let mut t = Template::new("t");
                let from = f64::from(start) * 15f64.to_radians();
                angle(&mut t, Point::new(3.0, 4.0), 20.0, from, from + sweep.to_radians(), false, "26.4°");
                assert!(crossed_texts(&t).is_empty(), "{start} {sweep}");
            }
        }
    }
}
