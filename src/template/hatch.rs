//! Hatching of cut faces: even parallel lines within a closed outline.

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Vec2};

use super::{Role, Template, legible::clip};

/// Hatches the inside of `outline` (any number of closed rings; a ring within a ring is a hole) with lines `spacing` mm
/// apart at `slope` degrees, leaving the boxes in `around` free for text.
///
/// The lines run through fixed places of the plane, so neighbouring faces hatched alike line up.
pub fn hatch(template: &mut Template, outline: &BezPath, spacing: f64, slope: f64, around: &[Rect]) {
    let mut lines = BezPath::new();
    for (from, to) in hatch_lines(outline, spacing, slope) {
        let mut taken: Vec<(f64, f64)> = around.iter().filter_map(|free| clip(from, to, *free)).collect();
        taken.sort_by(|a, b| a.0.total_cmp(&b.0));
        taken.push((1.0, 1.0));
        let mut start = 0.0;
        for (enter, leave) in taken {
            if (enter - start) * (to - from).hypot() > 0.05 {
                lines.move_to(from.lerp(to, start));
                lines.line_to(from.lerp(to, enter));
            }
            start = leave.max(start);
        }
    }
    if !lines.is_empty() {
        template.line(Role::Hatch, lines);
    }
}

/// The hatch lines as segments, from the lowest line up.
fn hatch_lines(outline: &BezPath, spacing: f64, slope: f64) -> Vec<(Point, Point)> {
    let turn = Affine::rotate(-slope.to_radians());
    let edges = edges(&(turn * outline.clone()));
    let low = edges.iter().map(|e| e.0.y.min(e.1.y)).fold(f64::INFINITY, f64::min);
    let high = edges.iter().map(|e| e.0.y.max(e.1.y)).fold(f64::NEG_INFINITY, f64::max);
    if !(spacing > 0.0 && low < high) {
        return Vec::new();
    }
    let mut lines = Vec::new();
    let mut row = (low / spacing).ceil();
    while row * spacing < high {
        let y = row * spacing;
        // An edge counts with its lower end and without its upper one, so a corner on the line counts once.
        let mut crossings: Vec<f64> = edges
            .iter()
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            lines.push((turn.inverse() * Point::new(pair[0], y), turn.inverse() * Point::new(pair[1], y)));
        }
        row += 1.0;
    }
    lines
}

/// The outline as straight edges, each ring closed.
fn edges(outline: &BezPath) -> Vec<(Point, Point)> {
    let mut edges = Vec::new();
    let mut ring: Vec<Point> = Vec::new();
    let mut close = |ring: &mut Vec<Point>| {
        for (i, a) in ring.iter().enumerate() {
            edges.push((*a, ring[(i + 1) % ring.len()]));
        }
        ring.clear();
    };
    kurbo::flatten(outline, 0.005, |element| match element {
        PathEl::MoveTo(p) => {
            close(&mut ring);
            ring.push(p);
        }
        PathEl::LineTo(p) => ring.push(p),
        _ => {}
    });
    close(&mut ring);
    edges.retain(|(a, b)| (*b - *a) != Vec2::ZERO);
    edges
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Shape};

    fn length(lines: &[(Point, Point)]) -> f64 {
        lines.iter().map(|(a, b)| (*b - *a).hypot()).sum()
    }

    /// Many hatch lines times their spacing make up the area.
    #[test]
    fn hatching_covers_the_area_and_leaves_holes_free() {
        let mut ring = Circle::new((3.0, 2.0), 10.0).to_path(1e-4);
        for slope in [0.0, 30.0, 45.0, 90.0, 135.0] {
            let area = length(&hatch_lines(&ring, 0.01, slope)) * 0.01;
            assert!((area - ring.area().abs()).abs() < 0.2, "{slope}: {area}");
        }
        let hole = Circle::new((3.0, 2.0), 5.0).to_path(1e-4);
        ring.extend(hole);
        let area = length(&hatch_lines(&ring, 0.01, 45.0)) * 0.01;
        assert!((area - 75.0 * std::f64::consts::PI).abs() < 0.3, "{area}");
    }

    #[test]
    fn a_text_box_is_left_free() {
        let mut t = Template::new("t");
        let free = Rect::new(-4.0, -2.0, 4.0, 2.0);
        hatch(&mut t, &Circle::new((0.0, 0.0), 10.0).to_path(1e-3), 2.0, 45.0, &[free]);
        let Some(crate::template::Figure::Line(lines)) = t.items.first().map(|i| i.figure.clone()) else { panic!() };
        for segment in lines.segments() {
            use kurbo::ParamCurve;
            assert!(clip(segment.start(), segment.end(), free.inflate(-1e-9, -1e-9)).is_none());
        }
    }

    #[test]
    fn nothing_to_hatch_is_no_hatching() {
        let mut t = Template::new("t");
        hatch(&mut t, &BezPath::new(), 2.0, 45.0, &[]);
        hatch(&mut t, &Circle::new((0.0, 0.0), 10.0).to_path(1e-3), 0.0, 45.0, &[]);
        assert!(t.items.is_empty());
    }
}
