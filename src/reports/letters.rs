//! A drawing in letters, for a terminal.

use crate::template::{Figure, Role, Template};
use kurbo::{PathEl, Point, Rect};

/// Width of a letter, mm of the drawing; it is twice as high.
const WIDE: f64 = 1.2;
const HIGH: f64 = 2.0 * WIDE;

/// What one letter stands for: how far lines run across and up in it, which way, and how high they lie.
#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    across: f64,
    up: f64,
    rising: f64,
    height: f64,
}

impl Cell {
    fn letter(&self) -> char {
        let length = self.across + self.up;
        // A line that only touches a cell's corner is left to its neighbour.
        if length < 0.25 * WIDE {
            ' '
        } else if self.up > 3.0 * self.across {
            '|'
        } else if self.up > 0.5 * self.across {
            if self.rising > 0.0 { '/' } else { '\\' }
        } else {
            match self.height / length {
                low if low < 0.34 => '_',
                middle if middle < 0.67 => '-',
                _ => '"',
            }
        }
    }
}

/// The edges and the string of what lies within `window` (mm), each line after `indent` spaces.
pub fn in_letters(drawing: &Template, window: Rect, indent: usize) -> String {
    let columns = (window.width() / WIDE).ceil() as usize;
    let rows = (window.height() / HIGH).ceil() as usize;
    let mut cells = vec![Cell::default(); columns * rows];
    let mut stroke = |p: Point, q: Point| {
        let way = q - p;
        let steps = (way.hypot() / 0.1).ceil().max(1.0);
        for i in 0..steps as usize {
            let at = p + way * ((i as f64 + 0.5) / steps);
            if !window.contains(at) {
                continue;
            }
            let (x, y) = ((at.x - window.x0) / WIDE, (window.y1 - at.y) / HIGH);
            let Some(cell) = cells.get_mut(y as usize * columns + x as usize) else { continue };
            let step = way / steps;
            cell.across += step.x.abs();
            cell.up += step.y.abs();
            cell.rising += step.x * step.y;
            cell.height += (step.x.abs() + step.y.abs()) * (1.0 - y.fract());
        }
    };
    for item in &drawing.items {
        let (Role::Outline | Role::String, Figure::Line(line)) = (item.role, &item.figure) else { continue };
        let (mut first, mut last) = (Point::ZERO, Point::ZERO);
        kurbo::flatten(line, 0.02, |part| match part {
            PathEl::MoveTo(p) => (first, last) = (p, p),
            PathEl::LineTo(p) => {
                stroke(last, p);
                last = p;
            }
            _ => stroke(last, first),
        });
    }
    let mut text = String::new();
    for row in cells.chunks(columns) {
        let line: String = row.iter().map(Cell::letter).collect();
        if !line.trim().is_empty() {
            text.push_str(&" ".repeat(indent));
            text.push_str(line.trim_end());
            text.push('\n');
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_drawn_with_the_letters_that_look_like_them() {
        let mut t = Template::new("");
        let window = Rect::new(0.0, 0.0, 10.0 * WIDE, 3.0 * HIGH);
        // Level low down, one up to the right, one down to the right, one upright.
        t.segment(Role::Outline, (0.0, 0.2), (2.0 * WIDE, 0.2));
        t.segment(Role::Outline, (3.0 * WIDE, 0.0), (4.5 * WIDE, 3.0 * HIGH));
        t.segment(Role::Outline, (5.0 * WIDE, 3.0 * HIGH), (7.0 * WIDE, 0.0));
        t.segment(Role::Outline, (9.5 * WIDE, 0.0), (9.5 * WIDE, 3.0 * HIGH));
        // What is no edge is left out.
        t.segment(Role::Centre, (0.0, 2.5 * HIGH), (10.0 * WIDE, 2.5 * HIGH));
        let text = in_letters(&t, window, 2);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 3);
        assert!(lines[2].starts_with("  __"), "{text}");
        assert!(lines.iter().all(|l| l.ends_with('|') && l.is_ascii()), "{text}");
    }
}
