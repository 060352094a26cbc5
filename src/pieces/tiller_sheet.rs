//! The tiller sheet: the bent bow's belly line and string at each draw, scaled to fit the page and marked so.

use kurbo::{Affine, Point, Vec2};

use super::common::path;
use crate::design::{Design, Side, Units};
use crate::sheets::Piece;
use crate::template::caption::caption;
use crate::template::legible::crossed_texts;
use crate::template::{Anchor, Role, Template, size};
use crate::tiller::table::Tiller;
use crate::tiller::{BEHIND, belly_point, string_distance};
use crate::units::{INCH, number_text, plain_length_text};

/// Longest drawing that lies across a turned sheet, mm.
const LONGEST: f64 = 212.0;
/// Scales that are used, one to so much.
const SCALES: [f64; 9] = [2.0, 2.5, 4.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0];

/// How far off the limb its figures may stand, mm, the nearest first.
const OFFS: [f64; 10] = [4.0, 5.5, 7.0, 8.5, 10.0, 12.0, 14.0, 16.0, 19.0, 22.0];
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
            let mut figures: Vec<(Point, Vec2, String)> = Vec::new();
            let mut behind = false;
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
                    behind |= distance < 0.0;
                    // Off the limb on the back's side.
                    figures.push((foot, along.turn_90() * if side == Side::Upper { 1.0 } else { -1.0 }, words));
                }
            }
            t.line(Role::Outline, path(&belly));
            for (foot, off, words) in figures {
                // Clear of the belly line however it slopes, as near as may be; else where it would stand on a flat one.
                let at = |offs: f64| foot + off * offs - Vec2::new(0.0, 1.0);
                let lettered = |offs: &f64| {
                    let mut tried = t.clone();
                    let at = at(*offs);
                    tried.text((at.x, at.y), size::SMALL, Anchor::Middle, words.as_str());
                    tried
                };
                let clear = OFFS.iter().map(lettered).find(|tried| crossed_texts(tried).is_empty());
                t = clear.unwrap_or_else(|| lettered(&OFFS[0]));
            }
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
            let words = if behind { format!("{words} {BEHIND}") } else { words };
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::file::read;
    use crate::tiller::table::tiller;

    fn sheet(text: &str, draws: &[f64]) -> (Design, Vec<Piece>) {
        let design = read(text, "bow.toml").unwrap_or_else(|refusal| panic!("{refusal}")).design;
        let draws: Vec<Option<f64>> = [None].into_iter().chain(draws.iter().copied().map(Some)).collect();
        let offsets = crate::worked::seat_offsets(&design).unwrap_or_else(|fault| panic!("{fault:?}"));
        let step = if design.units == Units::Inch { 2.0 * INCH } else { 0.05 };
        let found = tiller(&design, offsets, &draws, step).unwrap_or_else(|fault| panic!("{fault:?}"));
        let pieces = draw(&design, &found);
        (design, pieces)
    }

    #[test]
    fn figures_stand_clear_of_lines_and_of_each_other() {
        let bows = [
            include_str!("../../examples/unequal-limbs.toml"),
            include_str!("../../examples/recurved-bow.toml"),
            include_str!("../../examples/deep-longbow.toml"),
            crate::samples::SAMPLE,
        ];
        for text in bows {
            let full = read(text, "bow.toml").unwrap_or_else(|refusal| panic!("{refusal}")).design.bow.draw;
            let (design, pieces) = sheet(text, &[0.65 * full, full]);
            for piece in &pieces {
                assert_eq!(crossed_texts(&piece.template), Vec::<String>::new(), "{}", design.name);
            }
        }
    }

    #[test]
    fn a_minus_is_explained_on_the_sheet_that_has_one() {
        let (_, pieces) = sheet(include_str!("../../examples/recurved-bow.toml"), &[17.875 * INCH, 28.0 * INCH]);
        let has = |piece: &Piece, words: &str| {
            piece
                .template
                .items
                .iter()
                .any(|i| matches!(&i.figure, crate::template::Figure::Text { text, .. } if text.contains(words)))
        };
        assert!(pieces.iter().any(|p| has(p, "-0.")), "no minus to explain");
        for piece in &pieces {
            assert_eq!(has(piece, "-0."), has(piece, "A minus"), "{}", piece.template.name);
        }
    }
}
