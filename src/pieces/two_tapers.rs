//! Two tapers of the outer limb in one drawing, from the side and from the back, with what both measure at stations.

use kurbo::Point;

use super::common::{break_line, path, to_tip};
use super::shape::MM;
use crate::design::Units;
use crate::template::{Anchor, Role, Template, size};

/// From one row of figures to the next, mm: large letters have room, too.
const ROW: f64 = 4.4;

/// Two sizes that differ by less than this part are one.
const SAME: f64 = 1e-3;

/// Width and thickness of a limb, m, by distance from the middle of the bow, m.
pub(super) type Sizes<'a> = &'a dyn Fn(f64) -> [f64; 2];

/// What is drawn.
pub(super) struct TwoTapers<'a> {
    pub units: Units,
    /// Stations, m from the middle, evenly spaced; the last is the nock seat.
    pub stations: &'a [f64],
    /// Drawn in full.
    pub full: Sizes<'a>,
    /// Drawn dashed.
    pub dashed: Sizes<'a>,
    /// The dashed taper is drawn at most this many times as large as the other; its figures stay as they are.
    pub most: f64,
    /// A size drawn in full, and one drawn dashed, mm, each as lines under one another.
    pub figures: [fn(f64, Units) -> Vec<String>; 2],
    /// What the rows of figures are: thickness in full and dashed, width in full and dashed.
    pub rows: [&'static str; 4],
}

impl TwoTapers<'_> {
    /// The drawing, without caption; the nock seat's back is the origin.
    pub(super) fn drawing(&self) -> Template {
        let stations = self.stations;
        let count = stations.len() - 1;
        let seat = stations[count];
        let length = (seat - stations[0]) * MM;
        let step = length / count as f64;
        let full = |x: f64| (self.full)(seat + x / MM).map(|m| m * MM);
        let dashed = |x: f64| (self.dashed)(seat + x / MM).map(|m| m * MM);
        let drawn = |x: f64| {
            let (full, dashed) = (full(x), dashed(x));
            [dashed[0].min(self.most * full[0]), dashed[1].min(self.most * full[1])]
        };
        let places: Vec<f64> = (0..=120).map(|i| -length * (1.0 - f64::from(i) / 120.0)).collect();
        let most = |of: &dyn Fn(f64) -> f64| places.iter().map(|x| of(*x)).fold(0.0, f64::max);

        let mut t = Template::new("");
        // The back is straight here: what tapers is the belly.
        let highest_width = most(&|x| full(x)[0].max(drawn(x)[0]));
        let deepest = most(&|x| full(x)[1].max(drawn(x)[1]));
        let back_view = -deepest - 13.0 - highest_width / 2.0;
        // Where the dashed taper is the larger, its line lies outside the other.
        let thinnest = places.iter().map(|x| Point::new(*x, -drawn(*x)[1]));
        t.line(Role::Hidden, path(&thinnest.collect::<Vec<_>>()));
        for way in [0.5, -0.5] {
            let edge = places.iter().map(|x| Point::new(*x, back_view + way * drawn(*x)[0]));
            t.line(Role::Hidden, path(&edge.collect::<Vec<_>>()));
        }
        let side: Vec<Point> = places.iter().map(|x| Point::new(*x, -full(*x)[1])).collect();
        let left = -length;
        let back = [Point::new(left, 0.0), Point::new(0.0, 0.0)];
        t.line(Role::Outline, path(&back));
        t.line(Role::Outline, path(&side));
        t.segment(Role::Outline, (0.0, 0.0), side[side.len() - 1]);
        break_line(&mut t, back[0], side[0]);
        let upper: Vec<Point> = places.iter().map(|x| Point::new(*x, back_view + 0.5 * full(*x)[0])).collect();
        let lower: Vec<Point> = upper.iter().map(|p| Point::new(p.x, 2.0 * back_view - p.y)).collect();
        t.line(Role::Outline, path(&upper));
        t.line(Role::Outline, path(&lower));
        t.segment(Role::Outline, upper[upper.len() - 1], lower[lower.len() - 1]);
        break_line(&mut t, upper[0], lower[0]);
        t.segment(Role::Centre, (left - 3.0, back_view), (4.0, back_view));

        let under = back_view - 0.5 * highest_width;
        let rows = self.figures[0](10.0, self.units).len();
        for k in 0..=count {
            let x = -length + step * k as f64;
            let ([width, thickness], [other_width, other_thickness]) = (full(x), dashed(x));
            t.segment(Role::Dimension, (x, 1.0), (x, 4.0));
            let [drawn_width, drawn_thickness] = drawn(x);
            let half = 0.5 * width.max(drawn_width);
            for y in [-thickness.max(drawn_thickness) - 1.0, back_view + half + 3.0] {
                t.segment(Role::Dimension, (x, y), (x, y - 2.0));
            }
            t.segment(Role::Dimension, (x, back_view - half - 1.0), (x, under - 3.0));
            let far = match self.units {
                Units::Inch if k == count => "seat".to_owned(),
                Units::Inch => format!("{} in", count - k),
                Units::Millimetre if k == count => "seat".to_owned(),
                Units::Millimetre => format!("{} mm", (step * (count - k) as f64).round()),
            };
            t.words((x, 5.2), size::SMALL, Anchor::Middle, 0.0, true, far);
            // Sizes that are one are said in the same words.
            let as_full = |own: f64, other: f64| if (other - own).abs() < SAME * own { (own, 0) } else { (other, 1) };
            let sizes = [(thickness, 0), as_full(thickness, other_thickness), (width, 0), as_full(width, other_width)];
            for (block, (figure, way)) in sizes.into_iter().enumerate() {
                for (row, words) in self.figures[way](figure, self.units).into_iter().enumerate() {
                    let y = under - 6.5 - (block * rows + row) as f64 * ROW - block as f64 * 1.2;
                    t.text((x, y), size::SMALL, Anchor::Middle, words);
                }
            }
        }
        let label = left - 11.0;
        for (block, words) in self.rows.into_iter().enumerate() {
            let y = under - 6.5 - block as f64 * (rows as f64 * ROW + 1.2);
            t.words((label, y), size::SMALL, Anchor::End, 0.0, true, words);
        }
        t.words((label, -0.5 * deepest - 1.0), size::SMALL, Anchor::End, 0.0, true, "side");
        t.words((label, back_view - 1.0), size::SMALL, Anchor::End, 0.0, true, "back");
        to_tip(&mut t, Point::new(-10.0, -deepest - 6.5), false);
        t
    }
}
