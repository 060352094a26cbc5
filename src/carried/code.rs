//! The code on the first page that gives the design back from paper.

use kurbo::{Point, Rect, Shape};
use qrcode::{Color, EcLevel, QrCode, Version};

use super::packed::{pack, pack_fields};
use crate::sheets::Piece;
use crate::template::caption::caption;
use crate::template::{Role, Template};

/// Side of one module, mm. A home printer holds it, and at 300 dpi it is near five dots.
pub const MODULE: f64 = 0.4;
/// Modules left white around a code (ISO/IEC 18004, 6.3.8).
pub const QUIET: usize = 4;
/// From the white border down to the words, mm.
const BELOW: f64 = 0.5;
/// The largest version that is printed: 117 modules, 47 mm. Larger ones are hard to read with a telephone.
const LARGEST: i16 = 25;

/// What a code has room for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// The whole design file.
    Whole,
    /// Its keys and values, without comments.
    Fields,
}

/// A code, and what it holds.
#[derive(Debug, Clone)]
pub struct Code {
    /// Modules to a side.
    pub side: usize,
    /// Dark modules, row by row from the top.
    pub dark: Vec<bool>,
    /// What it holds.
    pub holds: Holds,
}

impl Code {
    /// The code of a design file; none where it has no room even without comments.
    ///
    /// Where there is room, a seventh of the code may be lost (level M), else a fourteenth (level L).
    pub fn of(design: &str) -> Option<Code> {
        let texts = [(Holds::Whole, Some(pack(design))), (Holds::Fields, pack_fields(design))];
        texts.into_iter().find_map(|(holds, text)| {
            let text = text?;
            let code = [EcLevel::M, EcLevel::L].into_iter().find_map(|level| {
                let code = QrCode::with_error_correction_level(&text, level).ok()?;
                matches!(code.version(), Version::Normal(v) if v <= LARGEST).then_some(code)
            })?;
            let dark = code.to_colors().into_iter().map(|c| c == Color::Dark).collect();
            Some(Code { side: code.width(), dark, holds })
        })
    }

    /// The code to be printed, with its words below.
    pub fn piece(&self) -> Piece {
        let mut t = Template::new("code of the design");
        let size = (self.side + 2 * QUIET) as f64 * MODULE;
        let mut path = kurbo::BezPath::new();
        for (row, modules) in self.dark.chunks(self.side).enumerate() {
            let bottom = size - (row + QUIET + 1) as f64 * MODULE;
            let mut column = 0;
            for run in modules.chunk_by(|a, b| a == b) {
                if run.first() == Some(&true) {
                    let left = (column + QUIET) as f64 * MODULE;
                    let right = left + run.len() as f64 * MODULE;
                    path.extend(Rect::new(left, bottom, right, bottom + MODULE).path_elements(0.1));
                }
                column += run.len();
            }
        }
        t.fill(Role::Note, path);
        t.clear = Some(Rect::new(0.0, 0.0, size, size));
        let words = match self.holds {
            Holds::Whole => "Holds the whole design file. Photograph it, then: nockwright recover --image PHOTO",
            Holds::Fields => {
                "Holds every key and value of the design file, without its comments. Photograph it, then: nockwright recover --image PHOTO"
            }
        };
        // The caption's box reaches a little above its capitals.
        caption(&mut t, Point::new(0.0, -BELOW), size.max(46.0), "This design", words);
        Piece::new(t)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::SAMPLE;

    #[test]
    fn a_sample_needs_no_more_room_than_a_thumb() {
        let code = Code::of(SAMPLE).unwrap();
        assert_eq!(code.holds, Holds::Whole);
        assert!(code.side as f64 * MODULE < 30.0, "{}", code.side);
        assert!(code.piece().template.bounds().unwrap().width() < 60.0);
    }

    #[test]
    fn a_long_file_gives_up_its_comments_and_then_the_code() {
        // Letters that do not compress: a fixed congruential sequence.
        let mut state: u32 = 7;
        let mut noise = |count: usize| -> String {
            (0..count)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    char::from(b'!' + (state >> 24) as u8 % 94)
                })
                .filter(|c| !"\"\\".contains(*c))
                .collect()
        };
        let commented = format!("{SAMPLE}\n# {}\n", noise(3000));
        assert_eq!(Code::of(&commented).unwrap().holds, Holds::Fields);
        let long = format!("{SAMPLE}\nx = \"{}\"\n", noise(3000));
        assert!(Code::of(&long).is_none());
    }
}
