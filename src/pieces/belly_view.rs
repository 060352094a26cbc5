//! The belly view: the tip seen from the belly, where grooves come round to it.

use kurbo::Point;

use super::Subject;
use super::back_view::{groove_seen, silhouette};
use super::common::{Beside, TO_TIP_ROOM, captioned, height, measure, to_tip};
use super::shape::TipShape;
use super::side_view::station_marks;
use crate::sheets::Piece;
use crate::template::Template;
use crate::tip::TipSolid;

/// Draws it; nothing where the belly shows no groove.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let mut t = Template::new("");
    let shape = subject.shape;
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let units = subject.worked.design.units;
    let (first, end) = silhouette(&mut t, shape, true);
    if groove_seen(&mut t, subject, true, |a, theta| faces_belly(solid, a, theta)) == 0 {
        return Vec::new();
    }
    let across = |p: &Point| Point::new(p.x, -p.y);
    let widest = shape.widest();
    station_marks(&mut t, shape, widest, -widest);
    height(&mut t, across(&first), first, first.x - 6.0, Beside::Left, &measure(2.0 * first.y, units));
    let [down, up] = [&shape.side, &shape.other_side].map(|side| TipShape::at(side, 0.0));
    let words = format!("{} at the seat", measure(down + up, units));
    height(&mut t, Point::new(0.0, -down), Point::new(0.0, up), end + 7.0, Beside::Right, &words);
    to_tip(&mut t, Point::new(end + 7.0 + TO_TIP_ROOM - 9.0, widest + 3.0), false);
    vec![Piece::new(captioned(subject, t, "belly view of the tip", "Seen from the belly."))]
}

/// Whether the uncut surface at `a` and `theta` narrows toward the belly there, and so can be seen from it.
fn faces_belly(solid: &TipSolid, a: f64, theta: f64) -> bool {
    let (theta, step) = (theta.abs(), 2e-3);
    let (here, next): (f64, f64) = (solid.uncut(a, theta), solid.uncut(a, theta + step));
    theta < std::f64::consts::PI && next * (theta + step).sin() - here * theta.sin() < -1e-6 * step
}
