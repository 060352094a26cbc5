//! Waste ticks: short strokes along a cut line, on the side that falls away.

use kurbo::{BezPath, PathEl, Point, Shape, Vec2};

use super::{Role, Template};

/// Which side of a path is meant, seen along its direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waste {
    /// Left of it.
    Left,
    /// Right of it.
    Right,
    /// Outside of it, whichever way round a closed line without crossings runs.
    Outside,
}

/// Between one tick and the next, mm.
const APART: f64 = 4.0;
/// Length of a tick, mm.
const LONG: f64 = 1.4;

/// Draws ticks along `cut` on its waste side, slanting forward where they meet no other part of it.
pub fn waste_ticks(template: &mut Template, cut: &BezPath, waste: Waste) {
    let side = match waste {
        Waste::Left => 1.0,
        Waste::Right => -1.0,
        // Anticlockwise, with y up, the area is positive and the inside lies to the left.
        Waste::Outside => -cut.area().signum(),
    };
    let edges = edges(cut);
    let mut ticks = BezPath::new();
    let mut run = 0.0;
    for (first, from, to) in &edges {
        if *first {
            // The first tick stands half a step from the beginning.
            run = APART / 2.0;
        }
        let length = (*to - *from).hypot();
        if length == 0.0 {
            continue;
        }
        let along = (*to - *from) / length;
        let mut at = APART - run;
        while at <= length {
            let foot = *from + along * at;
            // In a hollow corner a tick slants back, or stands square; where it would reach over the line all the same, it is left out.
            let end = SLANTS.iter().map(|slant| foot + tick(along, side, *slant)).find(|end| {
                let stroke = [foot + (*end - foot) * 1e-6, *end];
                !edges.iter().any(|(_, p, q)| meet(stroke, [*p, *q]))
            });
            if let Some(end) = end {
                ticks.move_to(foot);
                ticks.line_to(end);
            }
            at += APART;
        }
        run = length - (at - APART);
    }
    if !ticks.is_empty() {
        template.line(Role::Note, ticks);
    }
}

/// How far along its line a tick goes for one square to it: these are tried in turn.
const SLANTS: [f64; 3] = [0.6, -0.6, 0.0];

/// A tick from its foot, on a line that goes `along`.
fn tick(along: Vec2, side: f64, slant: f64) -> Vec2 {
    (along.turn_90() * side + along * slant) * (LONG / slant.hypot(1.0))
}

/// The straight edges of a path made straight, and whether one begins a part of it.
fn edges(cut: &BezPath) -> Vec<(bool, Point, Point)> {
    let mut edges = Vec::new();
    let (mut start, mut last, mut first) = (Point::ORIGIN, Point::ORIGIN, true);
    let mut add = |first: &mut bool, from: Point, to: Point| edges.push((std::mem::take(first), from, to));
    kurbo::flatten(cut, 0.01, |element| match element {
        PathEl::MoveTo(p) => (start, last, first) = (p, p, true),
        PathEl::LineTo(p) => {
            add(&mut first, last, p);
            last = p;
        }
        PathEl::ClosePath => {
            add(&mut first, last, start);
            last = start;
        }
        _ => {}
    });
    edges
}

/// Whether two strokes have a place in common.
fn meet(p: [Point; 2], q: [Point; 2]) -> bool {
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    side(q[0], q[1], p[0]) * side(q[0], q[1], p[1]) <= 0.0 && side(p[0], p[1], q[0]) * side(p[0], p[1], q[1]) <= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::Figure;
    use kurbo::{Circle, ParamCurve, Rect};

    fn ticks(cut: &BezPath, waste: Waste) -> Vec<(Point, Point)> {
        let mut t = Template::new("t");
        waste_ticks(&mut t, cut, waste);
        let Some(Figure::Line(path)) = t.items.first().map(|i| i.figure.clone()) else { return Vec::new() };
        path.segments().map(|s| (s.start(), s.end())).collect()
    }

    #[test]
    fn ticks_stand_on_the_waste_side_at_even_steps() {
        let circle = Circle::new((0.0, 0.0), 20.0).to_path(1e-4);
        let outside = ticks(&circle, Waste::Right);
        assert_eq!(outside.len(), (std::f64::consts::TAU * 20.0 / APART).round() as usize);
        assert!(
            outside
                .iter()
                .all(|(foot, end)| { (foot.to_vec2().hypot() - 20.0).abs() < 0.02 && end.to_vec2().hypot() > 21.0 })
        );
        assert!(ticks(&circle, Waste::Left).iter().all(|(_, end)| end.to_vec2().hypot() < 19.2));
    }

    #[test]
    fn outside_is_outside_whichever_way_the_line_runs() {
        let circle = Circle::new((5.0, -3.0), 20.0).to_path(1e-4);
        for cut in [circle.clone(), circle.reverse_subpaths()] {
            let found = ticks(&cut, Waste::Outside);
            assert!(found.len() > 20 && found.iter().all(|(_, end)| (*end - Point::new(5.0, -3.0)).hypot() > 21.0));
        }
    }

    #[test]
    fn a_step_runs_on_round_corners() {
        let square = Rect::new(0.0, 0.0, 10.0, 10.0).to_path(0.1);
        assert_eq!(ticks(&square, Waste::Right).len(), 10);
    }
}
