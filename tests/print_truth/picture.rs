//! A page as a printer puts it on paper, in pixels of 600 dpi, and lengths read from it.

use kurbo::{Affine, Point, Vec2};
use nockwright::font;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};

/// Pixels to the millimetre.
const DENSITY: f64 = 600.0 / 25.4;

pub struct Picture {
    pixels: Pixmap,
    page_height: f64,
}

impl Picture {
    /// Prints a page; `printer` maps millimetres from the lower left corner with `y` up.
    pub fn of(svg: &[u8], page_height: f64, printer: Affine) -> Picture {
        let mut faces = Database::new();
        for face in font::TRUE_TYPE {
            faces.load_font_data(face.to_vec());
        }
        let tree = Tree::from_data(svg, &Options { fontdb: faces.into(), ..Options::default() }).unwrap();
        let over = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, page_height]);
        // usvg counts 96 to the inch.
        let map = Affine::scale(DENSITY) * over * printer * over * Affine::scale(25.4 / 96.0);
        let [a, b, c, d, x, y] = map.as_coeffs().map(|v| v as f32);
        let size = tree.size();
        let pixel = |length: f32| (f64::from(length) * 600.0 / 96.0).ceil() as u32 + 200;
        let mut pixels = Pixmap::new(pixel(size.width()), pixel(size.height())).unwrap();
        resvg::render(&tree, Transform::from_row(a, b, c, d, x, y), &mut pixels.as_mut());
        Picture { pixels, page_height }
    }

    /// Ink at a place in mm, 0 to 1, between pixels in proportion.
    fn ink(&self, at: Point) -> f64 {
        let (x, y) = (at.x * DENSITY - 0.5, (self.page_height - at.y) * DENSITY - 0.5);
        let pixel = |x: f64, y: f64| {
            self.pixels.pixel(x.max(0.0) as u32, y.max(0.0) as u32).map_or(0.0, |p| f64::from(p.alpha()) / 255.0)
        };
        let (left, top) = (x.floor(), y.floor());
        let (u, v) = (x - left, y - top);
        let row = |y: f64| pixel(left, y) * (1.0 - u) + pixel(left + 1.0, y) * u;
        row(top) * (1.0 - v) + row(top + 1.0) * v
    }

    /// The middle of the ink of the one stroke that crosses the way through `near` along `along`, within 0.4 mm.
    pub fn stroke(&self, near: Point, along: Vec2) -> Point {
        let steps = 400;
        let (mut weight, mut moment) = (0.0, 0.0);
        for i in -steps..=steps {
            let s = 0.45 * f64::from(i) / f64::from(steps);
            let ink = self.ink(near + along * s);
            weight += ink;
            moment += ink * s;
        }
        assert!(weight > 10.0, "no stroke near {near:?}");
        near + along * (moment / weight)
    }

    /// Where an upright and a level stroke cross near a place, each reaching 4 mm to both sides.
    pub fn crossing(&self, near: Point) -> Point {
        let aside = 2.75;
        let (right, up) = (Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
        let mean = |a: Point, b: Point| a.midpoint(b);
        let x = mean(self.stroke(near + up * aside, right), self.stroke(near - up * aside, right)).x;
        let y = mean(self.stroke(near + right * aside, up), self.stroke(near - right * aside, up)).y;
        Point::new(x, y)
    }
}
