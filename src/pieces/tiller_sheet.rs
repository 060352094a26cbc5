//! The tiller sheet: the bent bow's belly line and string at each draw, scaled to fit the page and marked so.

use kurbo::{Affine, Point};

use super::common::path;
use crate::design::{Design, Side, Units};
use crate::sheets::Piece;
use crate::template::caption::caption;
use crate::template::{Anchor, Role, Template, size};
use crate::tiller::table::Tiller;
use crate::tiller::{belly_point, string_distance};
use crate::units::{INCH, number_text, plain_length_text};

/// Longest drawing that lies across a turned sheet, mm.
const LONGEST: f64 = 212.0;
/// Scales that are used, one to so much.
const SCALES: [f64; 9] = [2.0, 2.5, 4.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0];

/// One piece for each draw.
pub fn draw(design: &Design, found: &Tiller) -> Vec<Piece> {
    let widest = found.states.iter().map(|(_, s)| s.limbs.upper.seat[1] - s.limbs.lower.seat[1]).fold(0.0, f64::max);
    let scale = SCALES.into_iter().find(|k| widest * 1e3 / k <= LONGEST).unwrap_or(20.0);
    let start = design.bow.stiff_handle / 2.0;
    let units = design.units;
    let place = |p: [f64; 2]| Point::new(p[1] * 1e3 / scale, -p[0] * 1e3 / scale);
    let every = if units == Units::Inch { 4.0 * INCH } else { 0.1 };
    found
        .states
        .iter()
        .map(|(draw, state)| {
            let mut t = Template::new("");
            let mut belly: Vec<Point> = Vec::new();
            for side in [Side::Lower, Side::Upper] {
                let mirror = if side == Side::Upper { 1.0 } else { -1.0 };
                let length = found.bow.limbs.get(side).length();
                let point = |s: f64| {
                    let [x, y] = belly_point(&found.bow, state, side, s);
                    place([x, mirror * y])
                };
                let line = (0..=100).map(|k| point(length * f64::from(k) / 100.0));
                match side {
                    Side::Lower => belly.extend(line.collect::<Vec<_>>().into_iter().rev()),
                    Side::Upper => belly.extend(line),
                }
                let limb = state.limbs.get(side);
                let seat = place(limb.leaves);
                let held = place(state.nocking_point);
                if let Some(lying) = &limb.lying {
                    let lain: Vec<Point> = std::iter::once(limb.seat).chain(lying.path.iter().copied()).map(&place).collect();
                    lain.windows(2).for_each(|pair| t.segment(Role::String, pair[0], pair[1]));
                }
                t.segment(Role::String, seat, held);
                let along = (seat - held) / (seat - held).hypot().max(1e-9);
                // Square to the string, from it to the belly, with the distance as it is on the bow.
                for at in found.stations.get(side).iter().filter(|at| {
                    let k = **at / every;
                    (k - k.round()).abs() < 1e-6
                }) {
                    let foot = point(at - start);
                    let on_string = held + along * (foot - held).dot(along);
                    t.segment(Role::Dimension, foot, on_string);
                    let distance = string_distance(&found.bow, state, side, at - start);
                    let words = match units {
                        Units::Inch => number_text(distance / INCH, 2),
                        Units::Millimetre => number_text(distance * 1e3, 0),
                    };
                    // Off the limb on the back's side, clear of the belly line however it slopes.
                    let off = along.turn_90() * if side == Side::Upper { 5.5 } else { -5.5 };
                    t.text((foot.x + off.x, foot.y + off.y - 1.0), size::SMALL, Anchor::Middle, words);
                }
            }
            t.line(Role::Outline, path(&belly));
            let when = draw.map_or_else(|| "braced".to_owned(), |d| format!("drawn to {}", plain_length_text(d, units)));
            let title = format!("Tiller, {when}: 1:{} of the bow, not 1:1", number_text(scale, if scale.fract() > 0.0 { 1 } else { 0 }));
            let words = format!(
                "{} · lower limb left, upper limb right, string below. Figures: from the string square to it to the belly, {} on the bow, \
                 every {} from the middle along the back. Hold it behind a bow as small as this, or shrink a photo to it: taken from \
                 far off, square to the bow.",
                design.name,
                if units == Units::Inch { "inches" } else { "mm" },
                plain_length_text(every, units)
            );
            let Some(bounds) = t.bounds() else { return Piece::new(t) };
            let mut head = Template::new("");
            let high = caption(&mut head, Point::ORIGIN, bounds.width().max(84.0), &title, &words);
            let mut piece = Template::new(format!("tiller {when}"));
            piece.add(head.moved(Affine::translate((bounds.x0, bounds.y1 + 4.0 + high))));
            piece.add(t);
            Piece::new(piece).may_turn()
        })
        .collect()
}
