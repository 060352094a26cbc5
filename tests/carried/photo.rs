//! The code read from pictures of the printed page: 300 dpi, turned, blurred, unevenly lit.

use super::{designs, sheets, written_svg};
use nockwright::carried::{from_picture, recover};
use nockwright::sheets::SheetSet;
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};

/// Shades of grey, row by row.
struct Scan {
    width: usize,
    height: usize,
    dots: Vec<f32>,
}

/// The first page as a scanner at 300 dpi sees it, lying turned by some degrees.
fn scanned(svg: &str, degrees: f32) -> Scan {
    let mut faces = Database::new();
    for face in nockwright::font::TRUE_TYPE {
        faces.load_font_data(face.to_vec());
    }
    let tree = Tree::from_str(svg, &Options { fontdb: faces.into(), ..Options::default() }).unwrap();
    let scale = 300.0 / 96.0;
    let (width, height) = ((tree.size().width() * scale) as u32, (tree.size().height() * scale) as u32);
    let mut picture = Pixmap::new(width, height).unwrap();
    picture.fill(Color::WHITE);
    let turn = Transform::from_rotate_at(degrees, width as f32 / 2.0, height as f32 / 2.0);
    resvg::render(&tree, turn.pre_scale(scale, scale), &mut picture.as_mut());
    let dots = picture.pixels().iter().map(|p| f32::from(p.red())).collect();
    Scan { width: width as usize, height: height as usize, dots }
}

impl Scan {
    /// A Gaussian blur with that many dots of standard deviation, across and then down.
    fn blurred(mut self, deviation: f32) -> Scan {
        let reach = (3.0 * deviation).ceil() as isize;
        let weights: Vec<f32> =
            (-reach..=reach).map(|i| (-((i * i) as f32) / (2.0 * deviation * deviation)).exp()).collect();
        let sum: f32 = weights.iter().sum();
        for (step, count) in [(1, self.width), (self.width, self.height)] {
            let before = self.dots.clone();
            for (at, dot) in self.dots.iter_mut().enumerate() {
                let place = (at / step % count) as isize;
                *dot = (-reach..=reach)
                    .zip(&weights)
                    .map(|(i, w)| {
                        let there = (place + i).clamp(0, count as isize - 1) - place;
                        w * before[(at as isize + there * step as isize) as usize]
                    })
                    .sum::<f32>()
                    / sum;
            }
        }
        self
    }

    /// As PNG, darker toward the right, with a grain of fixed pseudo-random noise.
    fn png(&self) -> Vec<u8> {
        let mut state: u32 = 1;
        let dots: Vec<u8> = self
            .dots
            .iter()
            .enumerate()
            .map(|(at, dot)| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let grain = (state >> 24) as f32 / 16.0 - 8.0;
                let shade = 1.0 - 0.3 * (at % self.width) as f32 / self.width as f32;
                (dot * shade * 0.95 + grain).clamp(0.0, 255.0) as u8
            })
            .collect();
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.write_header().unwrap().write_image_data(&dots).unwrap();
        bytes
    }
}

/// A design with many words of its own, which make the code large.
fn wordy() -> (String, String) {
    let mut state: u32 = 5;
    let words: Vec<String> = (0..110)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            format!("{:x}", state >> 8)
        })
        .collect();
    let (name, design) = designs().swap_remove(0);
    (format!("wordy-{name}"), format!("{design}# {}\n", words.join(" ")))
}

/// Scans that turn and blur in other ways, degrees and dots; the last one is hardly sharp any more.
const SCANS: [(f32, f32); 8] =
    [(2.5, 1.0), (-3.5, 1.0), (0.0, 1.2), (0.7, 0.8), (-1.3, 1.2), (6.0, 1.0), (-11.0, 1.0), (1.7, 1.6)];

/// Of the scans of a page: those that were not read. Each that was is exactly the design.
fn unread(name: &str, design: &str, scans: &[(f32, f32)]) -> Vec<String> {
    unread_in(&sheets(name, design), design, scans)
}

/// The same of the first of the sheets given.
pub(super) fn unread_in(set: &SheetSet, design: &str, scans: &[(f32, f32)]) -> Vec<String> {
    let svg = written_svg(set);
    let name = &set.title.bow;
    let mut unread = Vec::new();
    for (degrees, blur) in scans {
        let seen = scanned(&svg, *degrees);
        let seen = if *blur > 0.0 { seen.blurred(*blur) } else { seen };
        match from_picture(&seen.png()) {
            Ok(back) => assert!(back.whole && back.text == design.as_bytes(), "{name}"),
            Err(fault) => unread.push(format!("{degrees} degrees, {blur} dots: {}", fault.what)),
        }
    }
    unread
}

#[test]
fn every_sample_comes_back_from_every_scan_of_its_page() {
    for (name, design) in designs().into_iter().filter(|(_, d)| d.contains("layout = 1")) {
        assert_eq!(unread(&name, &design, &SCANS[..2]), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn a_wordy_design_comes_back_from_every_scan_of_its_page() {
    let (name, design) = wordy();
    assert_eq!(unread(&name, &design, &SCANS), Vec::<String>::new(), "{name}");
}

#[test]
fn a_picture_without_a_code_is_refused_with_a_cure() {
    let scan = Scan { width: 400, height: 300, dots: vec![255.0; 400 * 300] };
    let fault = recover(&scan.png()).unwrap_err();
    assert!(fault.what.contains("no code") && fault.cure.contains("300 dpi"));
    assert!(from_picture(b"\x89PNG\r\n\x1a\nrubbish").unwrap_err().what.contains("cannot be read"));
    assert!(from_picture(&[0xFF, 0xD8, 0xFF, 0xE0, 0, 1]).unwrap_err().what.contains("cannot be read"));
}
