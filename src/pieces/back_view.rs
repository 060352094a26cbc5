//! The back view: the tip seen from the back, with the groove across it.

use kurbo::Point;

use super::Subject;
use super::common::{Beside, TO_TIP_ROOM, break_line, captioned, height, measure, path, to_tip};
use super::shape::{Crossing, MM, TipShape, groove_middle};
use super::side_view::station_marks;
use crate::sheets::Piece;
use crate::template::leader::{End, leader};
use crate::template::{Role, Template};
use crate::tip::{Shell, TipSolid};

/// An edge that comes no farther inside the tip's outline is not to be told from it, mm.
const WITHIN: f64 = 0.6;

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let mut t = Template::new("");
    let shape = subject.shape;
    let nock = subject.worked.nocks.get(subject.side);
    let solid = &nock.solid;
    let units = subject.worked.design.units;
    let across = |p: &Point| Point::new(p.x, -p.y);
    let (first, end) = silhouette(&mut t, shape, false);
    groove_seen(&mut t, subject, false, |a, theta| faces_back(solid, a, theta));
    let widest = shape.widest();
    if !matches!(solid.shell, Shell::Bare | Shell::Eased { .. }) {
        // Where overlay or cap begins.
        let x = nock.from * MM;
        t.segment(Role::Outline, (x, -TipShape::at(&shape.other_side, x)), (x, TipShape::at(&shape.side, x)));
    }
    station_marks(&mut t, shape, widest, -widest);
    height(&mut t, across(&first), first, first.x - 6.0, Beside::Left, &measure(2.0 * first.y, units));
    let seat = [&shape.side, &shape.other_side].map(|side| TipShape::at(side, 0.0));
    let a = end - 0.35 * solid.rounding * MM;
    leader(
        &mut t,
        Point::new(a, -TipShape::at(&shape.other_side, a)),
        Point::new(end + 6.0, -widest - 2.0),
        End::Arrow,
        &format!("rounded over the last {}", measure(solid.rounding * MM, units)),
    );
    height(
        &mut t,
        Point::new(0.0, -seat[1]),
        Point::new(0.0, seat[0]),
        end + 7.0,
        Beside::Right,
        &at_the_seat(subject, seat[0] + seat[1]),
    );
    to_tip(&mut t, Point::new(end + 7.0 + TO_TIP_ROOM - 9.0, widest + 3.0), false);
    let words = match (shape.even, nock.crest() > 0.0) {
        (true, _) => "Seen from the back.",
        (_, true) => "Seen from the back. Turned with the tip up, the slot is on the left.",
        _ => "Seen from the back. Turned with the tip up, the slot is on the right.",
    };
    vec![Piece::new(captioned(subject, t, "back view of the tip", words))]
}

/// The width at the seat, mm, and whether the groove's cutting has made it less.
pub(super) fn at_the_seat(subject: &Subject, width: f64) -> String {
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let [before, _] = super::station_gauges::sizes(solid, 0.0);
    let open = subject.worked.nocks.get(subject.side).groove.as_ref().is_some_and(|g| g.wish.open);
    let cut = match (before - width > 0.1, open) {
        (false, _) => "",
        (true, true) => ", pin filed",
        (true, false) => ", groove cut",
    };
    format!("{} at the seat{cut}", measure(width, subject.worked.design.units))
}

/// The tip's outline as seen from the back, or from the belly, broken off toward the handle, with its middle line. Its first point
/// and its end, mm. With the tip at the right, `+w` is up from the back and down from the belly.
pub(super) fn silhouette(t: &mut Template, shape: &TipShape, from_belly: bool) -> (Point, f64) {
    let across = |p: &Point| Point::new(p.x, -p.y);
    let (up, down) = if from_belly { (&shape.other_side, &shape.side) } else { (&shape.side, &shape.other_side) };
    let mut line = up.clone();
    line.extend(down.iter().rev().map(across));
    t.line(Role::Outline, path(&line));
    let first = shape.side.first().copied().unwrap_or_default();
    let end = shape.side.last().map_or(0.0, |p| p.x);
    break_line(t, first, across(&first));
    t.segment(Role::Centre, (first.x - 3.0, 0.0), (end + 3.0, 0.0));
    (first, end)
}

/// The groove's edges and its middle line on both sides, as far as they are seen: where `shown` says so of a place along `a` (m)
/// and a polar angle. How many edges are to be told from the tip's own outline.
pub(super) fn groove_seen(
    t: &mut Template,
    subject: &Subject,
    from_belly: bool,
    shown: impl Fn(f64, f64) -> bool,
) -> usize {
    let nock = subject.worked.nocks.get(subject.side);
    let solid = &nock.solid;
    let mut drawn = 0;
    let mut draw = |t: &mut Template, role: Role, places: Vec<[f64; 2]>| {
        // A groove may be in sight at both its ends, and not between.
        let seen = places.chunk_by(|p, q| shown(p[0], p[1]) == shown(q[0], q[1]));
        for places in seen.filter(|run| run.len() > 1 && shown(run[0][0], run[0][1])) {
            let mut within = false;
            for sign in subject.shape.signs() {
                let up = if from_belly { -sign } else { *sign };
                let seen = |[a, theta]: &[f64; 2]| {
                    let r: f64 = solid.uncut(*a, *theta);
                    Point::new(a * MM, up * r * theta.sin() * MM)
                };
                let line: Vec<Point> = places.iter().map(seen).collect();
                within |= line.iter().any(|p| p.y.abs() < TipShape::at(&subject.shape.side, p.x) - WITHIN);
                t.line(role, path(&line));
            }
            drawn += usize::from(role == Role::Outline && within);
        }
    };
    for run in &subject.shape.groove {
        let low: Vec<[f64; 2]> = run.iter().map(|c| [c.low, c.theta]).collect();
        let mut high: Vec<[f64; 2]> = run.iter().map(|c| [c.high, c.theta]).collect();
        high.reverse();
        // From one edge to the other at the run's end, along the surface.
        let end = |c: Option<&Crossing>| -> Vec<[f64; 2]> {
            let steps = |c: &Crossing| {
                (1..24).map(|i| f64::from(i) / 24.0).map(|k| [c.low + k * (c.high - c.low), c.theta]).collect()
            };
            c.map(steps).unwrap_or_default()
        };
        // Either end of a slot is in sight, its mouth from the back and its other end from the belly: there its edges are joined.
        let first = !subject.shape.even && (nock.crest() > 0.0) != from_belly;
        let both = if first {
            let mut joined = end(run.first());
            joined.reverse();
            [high, joined, low].concat()
        } else {
            [low, end(run.last()), high].concat()
        };
        draw(t, Role::Outline, both);
    }
    for line in groove_middle(nock) {
        draw(t, Role::Centre, line);
    }
    drawn
}

/// Whether the uncut surface, alike on both sides, at `a` and `theta` still widens there, and so can be seen from the back.
fn faces_back(solid: &TipSolid, a: f64, theta: f64) -> bool {
    let (theta, step) = (theta.abs(), 2e-3);
    let (here, next): (f64, f64) = (solid.uncut(a, theta), solid.uncut(a, theta + step));
    next * (theta + step).sin() - here * theta.sin() > 1e-6 * step
}
