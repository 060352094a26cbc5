//! Pictures in shades of grey: read from PNG and JPEG, looked at larger, smaller and turned.

use std::io::Cursor;

use png::{ColorType, Transformations};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::fault::Fault;

/// Most dots of a picture that is read: a page of A3 at 600 dpi has 70 million.
pub(super) const MOST_DOTS: usize = 120_000_000;

/// A picture in shades of grey, row by row.
pub(super) struct Grey {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) dots: Vec<u8>,
}

impl Grey {
    /// The shade at a place between dots, in proportion; white outside.
    pub(super) fn between(&self, x: f64, y: f64) -> u8 {
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
    pub(super) fn seen(&self, scale: f64, degrees: f64) -> Grey {
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

pub(super) fn from_png(bytes: &[u8]) -> Result<Grey, Fault> {
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

pub(super) fn from_jpeg(bytes: &[u8]) -> Result<Grey, Fault> {
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
