//! Scale bars: 100 mm and 4 in, graduated, to lay a rule against.

use super::{Anchor, Role, Template, size};
use crate::font::CAP_HEIGHT;

/// One millimetre bar or one inch bar: its measure and its divisions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Name, also used for groups in files: what the bar measures.
    pub name: &'static str,
    /// Length of one step, mm.
    step: f64,
    /// Number of steps.
    steps: u32,
    /// Every so many steps a longer, and every so many the longest stroke.
    longer: [u32; 2],
    /// Every so many steps a figure, and what one such is worth.
    figure: (u32, u32),
    /// Unit behind the last figure.
    unit: &'static str,
    /// Strokes and figures stand above the line, or below it.
    up: bool,
}

/// 100 mm in millimetres; its strokes stand above the line.
pub const MILLIMETRES: Bar =
    Bar { name: "bar 100 mm", step: 1.0, steps: 100, longer: [5, 10], figure: (20, 20), unit: "mm", up: true };
/// 4 in in eighths; its strokes hang below the line.
pub const INCHES: Bar =
    Bar { name: "bar 4 in", step: 25.4 / 8.0, steps: 32, longer: [4, 8], figure: (8, 1), unit: "in", up: false };

/// Lengths of the strokes, mm.
const STROKES: [f64; 3] = [0.8, 1.2, 1.6];
/// From the longest stroke to the figures, mm.
const CLEAR: f64 = 0.5;
/// From the bar's line to the far side of its figures, mm.
pub const HEIGHT: f64 = STROKES[2] + CLEAR + CAP_HEIGHT * size::SMALL;

impl Bar {
    /// Length, mm.
    pub fn length(&self) -> f64 {
        self.step * f64::from(self.steps)
    }

    /// The bar along `x` from the origin. Its first item is the line whose ends are the measure.
    pub fn template(&self) -> Template {
        let mut t = Template::new(self.name);
        let way = if self.up { 1.0 } else { -1.0 };
        t.segment(Role::Scale, (0.0, 0.0), (self.length(), 0.0));
        for step in 0..=self.steps {
            let x = self.step * f64::from(step);
            let rank = self.longer.iter().filter(|every| step % **every == 0).count();
            t.segment(Role::Scale, (x, 0.0), (x, way * STROKES[rank]));
        }
        let baseline = if self.up { STROKES[2] + CLEAR } else { -HEIGHT };
        for place in 0..=self.steps / self.figure.0 {
            let figure = (place * self.figure.1).to_string();
            let x = self.step * f64::from(place * self.figure.0);
            t.text((x, baseline), size::SMALL, Anchor::Middle, figure);
        }
        let beyond = self.length() + if self.up { 3.2 } else { 1.6 };
        t.text((beyond, baseline), size::SMALL, Anchor::Start, self.unit);
        t
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::{Figure, legible::crossed_texts};
    use kurbo::Shape;

    #[test]
    fn bars_are_as_long_as_they_say() {
        assert_eq!(MILLIMETRES.length(), 100.0);
        assert_eq!(INCHES.length(), 101.6);
        for bar in [MILLIMETRES, INCHES] {
            let t = bar.template();
            let Figure::Line(line) = &t.items[0].figure else { panic!() };
            assert_eq!(line.bounding_box().width(), bar.length());
            assert!(crossed_texts(&t).is_empty(), "{:?}", crossed_texts(&t));
        }
    }
}
