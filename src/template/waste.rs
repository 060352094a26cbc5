//! Waste ticks: short strokes along a cut line, on the side that falls away.

use kurbo::{BezPath, PathEl, Point, Vec2};

use super::{Role, Template};

/// Which side of a path is meant, seen along its direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waste {
    /// Left of it.
    Left,
    /// Right of it.
    Right,
}

/// Between one tick and the next, mm.
const APART: f64 = 4.0;
/// Length of a tick, mm.
const LONG: f64 = 1.4;

/// Draws ticks along `cut` on its waste side, slanting forward.
pub fn waste_ticks(template: &mut Template, cut: &BezPath, waste: Waste) {
    let side = match waste {
        Waste::Left => 1.0,
        Waste::Right => -1.0,
    };
    let mut ticks = BezPath::new();
    let (mut start, mut last) = (Point::ORIGIN, Point::ORIGIN);
    // The first tick stands half a step from the beginning.
    let mut run = APART / 2.0;
    let mut walk = |from: Point, to: Point, run: &mut f64| {
        let length = (to - from).hypot();
        if length == 0.0 {
            return;
        }
        let along = (to - from) / length;
        let mut at = APART - *run;
        while at <= length {
            let foot = from + along * at;
            let way = along.turn_90() * side;
            ticks.move_to(foot);
            ticks.line_to(foot + (way + along * 0.6) * (LONG / Vec2::new(1.0, 0.6).hypot()));
            at += APART;
        }
        *run = length - (at - APART);
    };
    kurbo::flatten(cut, 0.01, |element| match element {
        PathEl::MoveTo(p) => {
            (start, last) = (p, p);
            run = APART / 2.0;
        }
        PathEl::LineTo(p) => {
            walk(last, p, &mut run);
            last = p;
        }
        PathEl::ClosePath => {
            walk(last, start, &mut run);
            last = start;
        }
        _ => {}
    });
    if !ticks.is_empty() {
        template.line(Role::Note, ticks);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::Figure;
    use kurbo::{Circle, ParamCurve, Rect, Shape};

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
    fn a_step_runs_on_round_corners() {
        let square = Rect::new(0.0, 0.0, 10.0, 10.0).to_path(0.1);
        assert_eq!(ticks(&square, Waste::Right).len(), 10);
    }
}
