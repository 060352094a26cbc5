//! The belly view: the tip seen from the belly, where grooves come round to it or a strip is glued on it.

use kurbo::Point;

use super::Subject;
use super::back_view::{at_the_seat, groove_seen, silhouette};
use super::common::{Beside, TO_TIP_ROOM, captioned, height, measure, path, to_tip};
use super::shape::{MM, TipShape};
use super::side_view::station_marks;
use crate::sheets::Piece;
use crate::template::leader::{End, leader};
use crate::template::{Role, Template};
use crate::tip::{Shell, TipSolid};

/// Draws it; nothing where the belly shows neither groove nor strip.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let mut t = Template::new("");
    let shape = subject.shape;
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let units = subject.worked.design.units;
    let (first, end) = silhouette(&mut t, shape, true);
    let seen = groove_seen(&mut t, subject, true, |a, theta| faces_belly(solid, a, theta));
    let notes = strip_seen(&mut t, subject);
    let strip = !notes.is_empty();
    if seen == 0 && !strip {
        return Vec::new();
    }
    if let Shell::Cap { mouth, .. } = solid.shell {
        let x = mouth * MM;
        t.segment(Role::Outline, (x, -TipShape::at(&shape.side, x)), (x, TipShape::at(&shape.other_side, x)));
    }
    let across = |p: &Point| Point::new(p.x, -p.y);
    let widest = shape.widest();
    station_marks(&mut t, shape, widest, -widest);
    for (row, (target, words)) in notes.into_iter().enumerate() {
        leader(&mut t, target, Point::new(target.x + 3.0, -widest - 6.5 - 4.2 * row as f64), End::Arrow, words);
    }
    height(&mut t, across(&first), first, first.x - 6.0, Beside::Left, &measure(2.0 * first.y, units));
    let [down, up] = [&shape.side, &shape.other_side].map(|side| TipShape::at(side, 0.0));
    let words = at_the_seat(subject, down + up);
    height(&mut t, Point::new(0.0, -down), Point::new(0.0, up), end + 7.0, Beside::Right, &words);
    to_tip(&mut t, Point::new(end + 7.0 + TO_TIP_ROOM - 9.0, widest + 3.0), false);
    let mut words = String::from("Seen from the belly.");
    if strip {
        words.push_str(" The line across the belly is where the strip starts.");
    }
    if !shape.even {
        // Seen from the belly left and right are changed over against the back view.
        let hand = if subject.worked.nocks.get(subject.side).crest() > 0.0 { "right" } else { "left" };
        words.push_str(&format!(" Turned with the tip up, the slot is on the {hand}."));
    }
    vec![Piece::new(captioned(subject, t, "belly view of the tip", &words))]
}

/// The start of a strip, and the edges of the guide in it: a place on each line and its name, nearest to the tip first; none
/// without a strip.
fn strip_seen(t: &mut Template, subject: &Subject) -> Vec<(Point, &'static str)> {
    let shape = subject.shape;
    let Some(strip) = subject.worked.nocks.get(subject.side).solid.strip else { return Vec::new() };
    let x = -strip.start * MM;
    t.segment(Role::Outline, (x, -TipShape::at(&shape.side, x)), (x, TipShape::at(&shape.other_side, x)));
    let mut notes = vec![(Point::new(x, -0.6 * TipShape::at(&shape.side, x)), "the strip starts")];
    if let Some(guide) = subject.worked.design.nocks.get(subject.side).guide() {
        let [from, to] = guide.whole();
        let wide = 0.5 * guide.width(guide.depth);
        let edge = [(guide.start, 0.0), (from, wide), (to, wide), (guide.end, 0.0)];
        // Where both edges run side by side, within the drawing.
        let left = (-to * MM).max(shape.shown_from * MM + 2.0);
        if left < -from * MM {
            let middle = 0.5 * (left - from * MM);
            notes.push((Point::new(middle, -wide * MM), "the guide's edges"));
        }
        for sign in [1.0, -1.0] {
            let edge: Vec<Point> = edge.iter().map(|(d, w)| Point::new(-d * MM, sign * w * MM)).collect();
            t.line(Role::Outline, path(&after(&edge, shape.shown_from * MM)));
        }
    }
    notes
}

/// The part of a line that runs toward the handle, as far as `left` mm.
fn after(line: &[Point], left: f64) -> Vec<Point> {
    let mut kept: Vec<Point> = line.iter().copied().take_while(|p| p.x >= left).collect();
    if let (Some(p), Some(q)) = (kept.last().copied(), line.get(kept.len()).copied()) {
        kept.push(p.lerp(q, (p.x - left) / (p.x - q.x)));
    }
    kept
}

/// Whether the uncut surface at `a` and `theta` narrows toward the belly there, and so can be seen from it.
fn faces_belly(solid: &TipSolid, a: f64, theta: f64) -> bool {
    let (theta, step) = (theta.abs(), 2e-3);
    let (here, next): (f64, f64) = (solid.uncut(a, theta), solid.uncut(a, theta + step));
    theta < std::f64::consts::PI && next * (theta + step).sin() - here * theta.sin() < -1e-6 * step
}
