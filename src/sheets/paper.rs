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
/// ISO 216 A3.
pub const A3: Paper = Paper { name: "A3", width: 297.0, height: 420.0 };
/// US Legal, 8.5 x 14 in.
pub const LEGAL: Paper = Paper { name: "Legal", width: 215.9, height: 355.6 };
/// US Tabloid, 11 x 17 in.
pub const TABLOID: Paper = Paper { name: "Tabloid", width: 279.4, height: 431.8 };
/// All that can be chosen.
pub const PAPERS: [Paper; 5] = [A4, LETTER, A3, LEGAL, TABLOID];

/// The least margin, mm.
pub const MARGIN: f64 = 6.0;
/// Size of the frame that A4 and Letter share, mm.
pub const FRAME: (f64, f64) = (198.0, 267.4);
/// Width of the strip at the right, mm.
pub const SIDE_STRIP: f64 = 14.0;
/// Height of the strip at the foot, mm.
pub const FOOT_STRIP: f64 = 13.4;
/// Size of the field that pieces are laid out in on A4 and Letter, mm.
pub const FIELD: (f64, f64) = (FRAME.0 - SIDE_STRIP, FRAME.1 - FOOT_STRIP);

impl Paper {
    /// Size of the frame round everything printed, mm: the one that A4 and Letter share,
    /// on larger paper all that lies within the margin.
    pub fn frame(&self) -> (f64, f64) {
        if self.width * self.height < 1.1 * LETTER.width * LETTER.height {
            FRAME
        } else {
            (self.width - 2.0 * MARGIN, self.height - 2.0 * MARGIN)
        }
    }

    /// Size of the field that pieces are laid out in, mm.
    pub fn field_size(&self) -> (f64, f64) {
        let (width, height) = self.frame();
        (width - SIDE_STRIP, height - FOOT_STRIP)
    }

    /// Lower left corner of the frame, which stands in the middle of the page, mm.
    pub fn frame_corner(&self) -> Point {
        let (width, height) = self.frame();
        Point::new((self.width - width) / 2.0, (self.height - height) / 2.0)
    }

    /// The field for pieces, mm from the page's lower left corner.
    pub fn field(&self) -> Rect {
        let corner = self.frame_corner() + kurbo::Vec2::new(0.0, FOOT_STRIP);
        Rect::from_origin_size(corner, self.field_size())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_those_of_the_standards() {
        // ISO 216 gives A4 in whole millimetres; 8.5 x 11 in at 25.4 mm to the inch.
        assert_eq!((A4.width, A4.height), (210.0, 297.0));
        assert_eq!((A3.width, A3.height), (297.0, 420.0));
        for (paper, wide, high) in [(LEGAL, 8.5, 14.0), (TABLOID, 11.0, 17.0)] {
            assert!((paper.width - wide * 25.4).abs() < 1e-9 && (paper.height - high * 25.4).abs() < 1e-9);
        }
        assert!((LETTER.width - 8.5 * 25.4).abs() < 1e-9 && (LETTER.height - 11.0 * 25.4).abs() < 1e-9);
    }

    #[test]
    fn the_frame_keeps_the_margin_on_every_paper() {
        assert!((FIELD.0 - 184.0).abs() < 1e-9 && (FIELD.1 - 254.0).abs() < 1e-9);
        assert_eq!((A4.frame(), LETTER.frame()), (FRAME, FRAME));
        for paper in PAPERS {
            let corner = paper.frame_corner();
            assert!(corner.x >= MARGIN - 1e-9 && corner.y >= MARGIN - 1e-9, "{}", paper.name);
        }
    }
}
