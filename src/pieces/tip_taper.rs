//! The tip taper: the last hand's breadths of the limb, side and back, with its measures at stations.

use kurbo::Point;

use super::Subject;
use super::common::{break_line, captioned, measure_lines, path, to_tip};
use super::shape::MM;
use crate::bow::limb::Profile;
use crate::design::Units;
use crate::findings::Quantity;
use crate::numerics::monotone::Monotone;
use crate::sheets::Piece;
use crate::template::{Anchor, Role, Template, paragraph::LEADING, size};
use crate::units::{number_text, quantity_text};
use crate::worked::least_taper::{least_taper, outer_stations, reserves};

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let design = &subject.worked.design;
    let limb = design.limbs.get(subject.side);
    let profile = Profile::of(limb);
    let stations = outer_stations(design, subject.side);
    let count = stations.len() - 1;
    let length = (limb.length - stations[0]) * MM;
    let step = length / count as f64;
    let section = |x: f64| profile.section(limb.length + x / MM);
    let places: Vec<f64> = (0..=120).map(|i| -length * (1.0 - f64::from(i) / 120.0)).collect();

    let least = least_taper(design, &subject.worked.statics, subject.side, &stations);
    let least_at = |sizes: &[f64]| Monotone::through(stations.iter().copied().zip(sizes.iter().copied()));
    let (thin, narrow) = (least_at(&least.thickness), least_at(&least.width));

    let mut t = Template::new("");
    // The back is straight here: what tapers is the belly.
    let highest_width = places.iter().map(|x| section(*x).width * MM).fold(0.0, f64::max);
    let deepest = places.iter().map(|x| section(*x).thickness * MM).fold(0.0, f64::max);
    let back_view = -deepest - 13.0 - highest_width / 2.0;
    // Where the least taper asks for more than the limb has, its line lies outside the limb's.
    let thinnest = places.iter().map(|x| Point::new(*x, -thin.at(limb.length + x / MM) * MM));
    t.line(Role::Hidden, path(&thinnest.collect::<Vec<_>>()));
    for way in [0.5, -0.5] {
        let edge = places.iter().map(|x| Point::new(*x, back_view + way * narrow.at(limb.length + x / MM) * MM));
        t.line(Role::Hidden, path(&edge.collect::<Vec<_>>()));
    }
    let side: Vec<Point> = places.iter().map(|x| Point::new(*x, -section(*x).thickness * MM)).collect();
    let left = -length;
    let mut edge = vec![Point::new(left, 0.0), Point::new(0.0, 0.0)];
    t.line(Role::Outline, path(&edge));
    t.line(Role::Outline, path(&side));
    t.segment(Role::Outline, (0.0, 0.0), side[side.len() - 1]);
    break_line(&mut t, edge[0], side[0]);
    edge.clear();
    let upper: Vec<Point> = places.iter().map(|x| Point::new(*x, back_view + 0.5 * section(*x).width * MM)).collect();
    let lower: Vec<Point> = upper.iter().map(|p| Point::new(p.x, 2.0 * back_view - p.y)).collect();
    t.line(Role::Outline, path(&upper));
    t.line(Role::Outline, path(&lower));
    t.segment(Role::Outline, upper[upper.len() - 1], lower[lower.len() - 1]);
    break_line(&mut t, upper[0], lower[0]);
    t.segment(Role::Centre, (left - 3.0, back_view), (4.0, back_view));

    let under = back_view - 0.5 * highest_width;
    let rows = measure_lines(10.0, design.units).len();
    let line = LEADING * size::SMALL;
    for k in 0..=count {
        let x = -length + step * k as f64;
        let here = section(x);
        t.segment(Role::Dimension, (x, 1.0), (x, 4.0));
        for y in [-here.thickness * MM - 1.0, back_view + 0.5 * here.width * MM + 3.0] {
            t.segment(Role::Dimension, (x, y), (x, y - 2.0));
        }
        t.segment(Role::Dimension, (x, back_view - 0.5 * here.width * MM - 1.0), (x, under - 3.0));
        let far = match design.units {
            Units::Inch if k == count => "seat".to_owned(),
            Units::Inch => format!("{} in", count - k),
            Units::Millimetre if k == count => "seat".to_owned(),
            Units::Millimetre => format!("{} mm", (step * (count - k) as f64).round()),
        };
        t.words((x, 5.2), size::SMALL, Anchor::Middle, 0.0, true, far);
        let figures = [here.thickness, least.thickness[k], here.width, least.width[k]];
        for (block, figure) in figures.into_iter().enumerate() {
            for (row, words) in measure_lines(figure * MM, design.units).into_iter().enumerate() {
                let y = under - 6.5 - (block * rows + row) as f64 * line - block as f64 * 1.2;
                t.text((x, y), size::SMALL, Anchor::Middle, words);
            }
        }
    }
    let label = left - 9.0;
    for (block, words) in ["thick", "at least", "wide", "at least"].into_iter().enumerate() {
        let y = under - 6.5 - block as f64 * (rows as f64 * line + 1.2);
        t.words((label, y), size::SMALL, Anchor::End, 0.0, true, words);
    }
    t.words((label, -0.5 * deepest - 1.0), size::SMALL, Anchor::End, 0.0, true, "side");
    t.words((label, back_view - 1.0), size::SMALL, Anchor::End, 0.0, true, "back");
    to_tip(&mut t, Point::new(-10.0, -deepest - 6.5), false);
    let built = reserves(design, &subject.worked.statics, subject.side);
    let reserve = |r: Option<f64>| r.map_or_else(|| "not to be told".to_owned(), |r| number_text(r, 1));
    let words = format!(
        "The last part of the limb up to the nock seat, from the side (back up, drawn straight) and from the back, with what it measures at \
         each station. Dashed: the least it may be for a stress of {} in the draw, and for the shot at the loop: so thin at this width, or so \
         narrow at this thickness, not both. Sideways reserve at full draw: {} as it is, {} at the least thickness, {} at the least width; \
         below 1 the limb goes sideways.",
        quantity_text(least.stress, Quantity::Stress, design.units),
        reserve(Some(subject.worked.sideways().get(subject.side).at_full_draw)),
        reserve(built[0]),
        reserve(built[1])
    );
    vec![Piece::new(captioned(subject, t, "tip taper", &words)).may_turn()]
}
