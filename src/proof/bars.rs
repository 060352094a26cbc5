//! Bars found among strokes.

use kurbo::{Point, Vec2};

use super::Stroke;

/// Steps of the bar of 100 mm.
pub const MILLIMETRES: usize = 100;
/// Steps of the bar of 4 in.
pub const INCHES: usize = 32;

/// Most long lines of a page that are looked at.
const MOST_LINES: usize = 2000;
/// Most strokes of a page that are kept.
pub const MOST_STROKES: usize = 200_000;

/// A bar as it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundBar {
    /// One end, mm.
    pub from: Point,
    /// The other end, mm.
    pub to: Point,
    /// Equal steps struck on it.
    pub steps: usize,
}

impl FoundBar {
    /// What it should measure on paper, mm.
    pub fn length(&self) -> f64 {
        if self.steps == MILLIMETRES { 100.0 } else { 101.6 }
    }

    /// Lies across the page rather than up.
    pub fn is_level(&self) -> bool {
        (self.to.x - self.from.x).abs() > (self.to.y - self.from.y).abs()
    }
}

/// All lines with 100 or 32 equal steps struck on them from end to end.
pub fn find(strokes: &[Stroke]) -> Vec<FoundBar> {
    // Strokes of a bar are short; a bar is long. Whatever its scale, it is some ten times as long as its longest stroke.
    let long = |s: &&Stroke| s.from.distance(s.to) > 20.0;
    let mut found: Vec<FoundBar> = Vec::new();
    // A file made to be slow may have any number of them; a sheet has some hundred.
    for line in strokes.iter().filter(long).take(MOST_LINES) {
        let along = line.to - line.from;
        let length = along.hypot();
        let near = length * 2e-4;
        let on_line = |p: Point| along.cross(p - line.from).abs() / length < near;
        // How far along the line each stroke stands that begins or ends on it.
        let mut places: Vec<f64> = strokes
            .iter()
            .filter(|s| s.from.distance(s.to) < length / 20.0)
            .filter_map(|s| {
                [s.from, s.to].into_iter().find(|p| on_line(*p)).filter(|_| !parallel(s.to - s.from, along))
            })
            .map(|p| along.dot(p - line.from) / length)
            .filter(|at| (-near..=length + near).contains(at))
            .collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < near);
        for steps in [MILLIMETRES, INCHES] {
            let even = |(i, at): (usize, &f64)| (at - length * i as f64 / steps as f64).abs() < length * 5e-4;
            if places.len() == steps + 1 && places.iter().enumerate().all(even) {
                let bar = FoundBar { from: line.from, to: line.to, steps };
                if !found.iter().any(|b| b.steps == steps && b.from.distance(bar.from) < near) {
                    found.push(bar);
                }
            }
        }
    }
    found
}

fn parallel(a: Vec2, b: Vec2) -> bool {
    a.cross(b).abs() < 0.5 * a.hypot() * b.hypot()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(length: f64, steps: usize, skip: Option<usize>) -> Vec<Stroke> {
        let mut strokes = vec![Stroke { from: Point::ZERO, to: Point::new(0.0, length) }];
        for i in (0..=steps).filter(|i| Some(*i) != skip) {
            let y = length * i as f64 / steps as f64;
            strokes.push(Stroke { from: Point::new(0.0, y), to: Point::new(-1.0, y) });
        }
        strokes
    }

    #[test]
    fn a_bar_is_a_line_with_all_its_strokes() {
        assert_eq!(find(&bar(94.0, 100, None)).len(), 1);
        assert_eq!(find(&bar(101.6, 32, None))[0].length(), 101.6);
        assert!(find(&bar(100.0, 100, Some(40))).is_empty() && find(&bar(100.0, 50, None)).is_empty());
        let mut moved = bar(100.0, 100, None);
        moved[50].from.y += 0.3;
        moved[50].to.y += 0.3;
        assert!(find(&moved).is_empty());
    }
}
