//! A design out of a picture of the printed page.

use std::io::Cursor;

use png::{ColorType, Transformations};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::{Carried, MARK, unpack};
use crate::fault::Fault;

/// Most dots of a picture that is read: a page of A3 at 600 dpi has 70 million.
const MOST_DOTS: usize = 120_000_000;

/// Scales and turns (degrees) a picture is looked at in, one after the other.
const LOOKS: [(f64, f64); 9] =
    [(1.0, 0.0), (0.5, 0.0), (1.5, 0.0), (2.0, 0.0), (2.0, 15.0), (2.0, -9.0), (0.33, 0.0), (3.0, 0.0), (0.25, 0.0)];

/// A picture in shades of grey, row by row.
struct Grey {
    width: usize,
    height: usize,
    dots: Vec<u8>,
}

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
        let corners = match tried.read(picture) {
            Ok(text) => return unpack(&text),
            Err(corners) => corners,
        };
        // Laid straight and made larger, a code that was found is read more surely.
        for corners in corners {
            for side in [600, 900, 1300] {
                if let Ok(text) = tried.read(&picture.straightened(&corners, side)) {
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

/// Corners of a code in a picture: upper left, upper right, lower right, lower left as the code stands.
type Corners = [rqrr::Point; 4];

impl Tried {
    /// The text of our code in a picture; else the corners of the codes that could not be read.
    fn read(&mut self, picture: &Grey) -> Result<String, Vec<Corners>> {
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(picture.width, picture.height, |x, y| {
            picture.dots.get(y * picture.width + x).copied().unwrap_or(255)
        });
        let mut unread = Vec::new();
        for grid in prepared.detect_grids() {
            self.seen = true;
            match grid.decode() {
                Ok((_, text)) if text.starts_with(MARK) => return Ok(text),
                Ok(_) => self.other = true,
                Err(_) => unread.push(grid.bounds),
            }
        }
        Err(unread)
    }
}

impl Grey {
    /// The code between these corners laid straight, `side` dots wide, with white around it.
    fn straightened(&self, corners: &Corners, side: usize) -> Grey {
        let [a, b, _, d] = corners.map(|p| (f64::from(p.x), f64::from(p.y)));
        let margin = side / 6;
        let whole = side + 2 * margin;
        let mut dots = Vec::with_capacity(whole * whole);
        for y in 0..whole {
            for x in 0..whole {
                let (u, v) = ((x as f64 - margin as f64) / side as f64, (y as f64 - margin as f64) / side as f64);
                dots.push(
                    self.between(a.0 + u * (b.0 - a.0) + v * (d.0 - a.0), a.1 + u * (b.1 - a.1) + v * (d.1 - a.1)),
                );
            }
        }
        Grey { width: whole, height: whole, dots }
    }

    /// The shade at a place between dots, in proportion; white outside.
    fn between(&self, x: f64, y: f64) -> u8 {
        let dot = |x: f64, y: f64| {
            let inside = x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64;
            if inside { f64::from(self.dots[y as usize * self.width + x as usize]) } else { 255.0 }
        };
        let (left, top) = (x.floor(), y.floor());
        let (u, v) = (x - left, y - top);
        let row = |y: f64| dot(left, y) * (1.0 - u) + dot(left + 1.0, y) * u;
        (row(top) * (1.0 - v) + row(top + 1.0) * v) as u8
    }

    /// The picture made larger or smaller, and turned about its middle.
    fn seen(&self, scale: f64, degrees: f64) -> Grey {
        let (width, height) = ((self.width as f64 * scale) as usize, (self.height as f64 * scale) as usize);
        let (sin, cos) = degrees.to_radians().sin_cos();
        // Made smaller, each dot is the mean of a square of so many to a side.
        let side = ((1.0 / scale).round() as usize).max(1);
        let mut dots = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let (across, down) = (x as f64 - width as f64 / 2.0, y as f64 - height as f64 / 2.0);
                let at_x = (cos * across + sin * down) / scale + self.width as f64 / 2.0;
                let at_y = (cos * down - sin * across) / scale + self.height as f64 / 2.0;
                let place = |k: usize| k as f64 - (side - 1) as f64 / 2.0;
                let sum: usize = (0..side * side)
                    .map(|k| usize::from(self.between(at_x + place(k % side), at_y + place(k / side))))
                    .sum();
                dots.push((sum / (side * side)) as u8);
            }
        }
        Grey { width, height, dots }
    }
}

fn unreadable(why: &str) -> Fault {
    Fault::at("", format!("the picture cannot be read: {why}"), "PNG and JPEG are read").cure("save it again as PNG")
}

fn too_many_dots() -> Fault {
    Fault::at("", "the picture is too large", format!("no more than {} million dots are read", MOST_DOTS / 1_000_000))
        .cure("cut it down to the code")
}

fn from_png(bytes: &[u8]) -> Result<Grey, Fault> {
    let limits = png::Limits { bytes: MOST_DOTS * 4 };
    let mut decoder = png::Decoder::new_with_limits(Cursor::new(bytes), limits);
    decoder.set_transformations(Transformations::EXPAND | Transformations::STRIP_16);
    let mut reader = decoder.read_info().map_err(|e| unreadable(&e.to_string()))?;
    let (width, height) = (reader.info().width as usize, reader.info().height as usize);
    if width.saturating_mul(height) > MOST_DOTS {
        return Err(too_many_dots());
    }
    let size = reader.output_buffer_size().ok_or_else(too_many_dots)?;
    let mut raw = vec![0; size];
    let info = reader.next_frame(&mut raw).map_err(|e| unreadable(&e.to_string()))?;
    let channels = info.color_type.samples();
    let opaque = |value: u32, alpha: u8| (255 - (255 - value) * u32::from(alpha) / 255) as u8;
    let mean = |c: &[u8]| c.iter().map(|v| u32::from(*v)).sum::<u32>() / 3;
    let dots = raw
        .chunks_exact(channels)
        .take(width * height)
        .map(|dot| match info.color_type {
            ColorType::GrayscaleAlpha => opaque(u32::from(dot[0]), dot[1]),
            ColorType::Rgb => mean(dot) as u8,
            ColorType::Rgba => opaque(mean(&dot[..3]), dot[3]),
            _ => dot[0],
        })
        .collect();
    Ok(Grey { width, height, dots })
}

fn from_jpeg(bytes: &[u8]) -> Result<Grey, Fault> {
    let options = DecoderOptions::new_safe()
        .set_max_width(30_000)
        .set_max_height(30_000)
        .jpeg_set_out_colorspace(ColorSpace::Luma);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(|e| unreadable(&format!("{e:?}")))?;
    let (width, height) = decoder.dimensions().ok_or_else(|| unreadable("it has no size"))?;
    if width.saturating_mul(height) > MOST_DOTS {
        return Err(too_many_dots());
    }
    let dots = decoder.decode().map_err(|e| unreadable(&format!("{e:?}")))?;
    Ok(Grey { width, height, dots })
}
