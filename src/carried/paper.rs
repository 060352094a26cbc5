//! A design out of a picture of the printed page.

use rqrr::BitGrid;

use super::finders;
use super::grey::{Grey, MOST_DOTS, from_jpeg, from_png};
use super::lattice::{self, Corners};
use super::{Carried, MARK, unpack};
use crate::fault::Fault;

/// Scales and turns (degrees) a picture is looked at in, one after the other.
const LOOKS: [(f64, f64); 9] =
    [(1.0, 0.0), (0.5, 0.0), (1.5, 0.0), (2.0, 0.0), (2.0, 15.0), (2.0, -9.0), (0.33, 0.0), (3.0, 0.0), (0.25, 0.0)];

/// Whether the bytes begin as PNG or JPEG do.
pub fn is_picture(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\x89PNG\r\n\x1a\n") || bytes.starts_with(&[0xFF, 0xD8, 0xFF])
}

/// The design in the code on a photographed or scanned page, as PNG or JPEG.
///
/// # Errors
/// The picture is none, shows no code that can be read, or another's code.
pub fn from_picture(bytes: &[u8]) -> Result<Carried, Fault> {
    let full = if bytes.starts_with(&[0xFF, 0xD8]) { from_jpeg(bytes)? } else { from_png(bytes)? };
    let mut tried = Tried::default();
    // Whether a code is found hangs on how its squares fall on the dots. Made larger, smaller or turned a little,
    // the same picture is another throw of the dice.
    for (scale, degrees) in LOOKS {
        let size = full.width as f64 * scale * full.height as f64 * scale;
        if !(1_000.0..=MOST_DOTS as f64 / 2.0).contains(&size) {
            continue;
        }
        let picture = if scale == 1.0 { None } else { Some(full.seen(scale, degrees)) };
        let picture = picture.as_ref().unwrap_or(&full);
        let unread = match tried.read(picture) {
            Ok(text) => return unpack(&text),
            Err(unread) => unread,
        };
        // A code that was found and not read, or is found by its marks alone, is gone over square by square.
        let by_marks = if scale <= 1.0 { finders::codes(picture) } else { Vec::new() };
        for (corners, side) in unread.into_iter().chain(by_marks) {
            if let Some(text) = lattice::read(picture, &corners, side) {
                tried.other |= !text.starts_with(MARK);
                if text.starts_with(MARK) {
                    return unpack(&text);
                }
            }
        }
    }
    let Tried { seen, other } = tried;
    Err(if other {
        Fault::at(
            "",
            "the code in the picture is not that of a Nockwright sheet",
            format!("its text would begin with {MARK}"),
        )
        .cure("photograph the code on the first sheet, named \"This design\"")
    } else {
        let what = if seen {
            "a code was found in the picture but cannot be read"
        } else {
            "no code was found in the picture"
        };
        Fault::at("", what, "each of its squares must be some four dots wide, sharp, and evenly lit")
            .cure("scan the first sheet at 300 dpi, or photograph the code alone, filling most of the picture, flat and in good light")
    })
}

/// What was found in the pictures looked at.
#[derive(Default)]
struct Tried {
    /// A code was seen.
    seen: bool,
    /// A code was read that is none of ours.
    other: bool,
}

impl Tried {
    /// The text of our code in a picture; else the corners of the codes that could not be read, and their squares to a side.
    fn read(&mut self, picture: &Grey) -> Result<String, Vec<(Corners, usize)>> {
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(picture.width, picture.height, |x, y| {
            picture.dots.get(y * picture.width + x).copied().unwrap_or(255)
        });
        let mut unread = Vec::new();
        for grid in prepared.detect_grids() {
            self.seen = true;
            match grid.decode() {
                Ok((_, text)) if text.starts_with(MARK) => return Ok(text),
                Ok(_) => self.other = true,
                Err(_) => unread.push((grid.bounds.map(|p| (f64::from(p.x), f64::from(p.y))), grid.grid.size())),
            }
        }
        Err(unread)
    }
}
