//! Paper sizes, and the one frame that fits on all of them.
//!
//! A4 (ISO 216: 210 x 297 mm) and US Letter (ANSI/ASME Y14.1 size A: 8.5 x 11 in) share a field of 210 x 279.4 mm.
//! Less 6 mm at every edge, which home printers cannot reach, 198 x 267.4 mm are left for the frame:
//! a strip of 14 mm at its right and one of 13.4 mm at its foot, and 184 x 254 mm to draw in.
//! A sheet is therefore the same on every paper, and prints on the other one, too, without being made smaller.

use kurbo::{Point, Rect};

/// A kind of paper, upright.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// Name, as chosen.
    pub name: &'static str,
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
}

/// ISO 216 A4.
pub const A4: Paper = Paper { name: "A4", width: 210.0, height: 297.0 };
/// US Letter, 8.5 x 11 in.
pub const LETTER: Paper = Paper { name: "Letter", width: 215.9, height: 279.4 };
/// All that can be chosen.
pub const PAPERS: [Paper; 2] = [A4, LETTER];

/// The least margin, mm.
pub const MARGIN: f64 = 6.0;
/// Size of the frame round everything printed, mm.
pub const FRAME: (f64, f64) = (198.0, 267.4);
/// Width of the strip at the right, mm.
pub const SIDE_STRIP: f64 = 14.0;
/// Height of the strip at the foot, mm.
pub const FOOT_STRIP: f64 = 13.4;
/// Size of the field that pieces are laid out in, mm.
pub const FIELD: (f64, f64) = (FRAME.0 - SIDE_STRIP, FRAME.1 - FOOT_STRIP);

impl Paper {
    /// Lower left corner of the frame, which stands in the middle of the page, mm.
    pub fn frame_corner(&self) -> Point {
        Point::new((self.width - FRAME.0) / 2.0, (self.height - FRAME.1) / 2.0)
    }

    /// The field for pieces, mm from the page's lower left corner.
    pub fn field(&self) -> Rect {
        let corner = self.frame_corner() + kurbo::Vec2::new(0.0, FOOT_STRIP);
        Rect::from_origin_size(corner, FIELD)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_those_of_the_standards() {
        // ISO 216 gives A4 in whole millimetres; 8.5 x 11 in at 25.4 mm to the inch.
        assert_eq!((A4.width, A4.height), (210.0, 297.0));
        assert!((LETTER.width - 8.5 * 25.4).abs() < 1e-9 && (LETTER.height - 11.0 * 25.4).abs() < 1e-9);
    }

    #[test]
    fn the_frame_keeps_the_margin_on_every_paper() {
        assert!((FIELD.0 - 184.0).abs() < 1e-9 && (FIELD.1 - 254.0).abs() < 1e-9);
        for paper in PAPERS {
            let corner = paper.frame_corner();
            assert!(corner.x >= MARGIN - 1e-9 && corner.y >= MARGIN - 1e-9, "{}", paper.name);
        }
    }
}
