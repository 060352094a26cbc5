//! The string angle card: held against the real bow, it shows whether the worked-out angles are true.

use std::f64::consts::PI;

use kurbo::{Point, Vec2};

use super::Subject;
use super::common::{captioned, name_inside, ring};
use crate::sheets::Piece;
use crate::template::angle::angle as angle_mark;
use crate::template::inside::{Near, words_inside};
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};
use crate::units::angle_text;

/// Length of the edge that is held along the belly, mm.
const BASE: f64 = 76.0;
/// Height of the card, mm.
const HIGH: f64 = 46.0;
/// A card that is lower than this has little room for words, mm.
const LOW: f64 = 20.0;
/// The stretch of the belly that the card is held along, m from the nock.
const HELD: [f64; 2] = [0.008, 0.06];

/// What the belly leans against the limb's middle line is left alone when it is less, rad: 0.15°, said as 0.1°.
const LEAST_LEAN: f64 = 0.15 * PI / 180.0;

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let worked = subject.worked;
    let swing = worked.statics.swings.get(subject.side);
    // The belly leans against the centreline, for the tip is thinner than the limb.
    let end = worked.statics.ends.get(subject.side);
    let belly = |a: f64| end.section(-a).belly_distance();
    let lean = ((belly(HELD[1]) - belly(HELD[0])) / (HELD[1] - HELD[0])).atan();
    // So little no card shows.
    let lean = if lean.abs() < LEAST_LEAN { 0.0 } else { lean };
    let (brace, full) = (swing.brace - lean, swing.full_draw - lean);
    let mut t = Template::new("");
    let (left, right) = (Point::ORIGIN, Point::new(BASE, 0.0));
    let (up_left, up_right) = (Vec2::from_angle(brace), Vec2::from_angle(PI - full));
    // Where both edges would meet, or the card's height.
    let rise_of = |way: Vec2| way / way.y.max(1e-6);
    let closing = rise_of(up_left).x - rise_of(up_right).x;
    let meet = if closing > 1e-6 { BASE / closing } else { f64::INFINITY };
    let mut corners = vec![left, right];
    if meet <= HIGH {
        corners.push(left + rise_of(up_left) * meet);
    } else {
        corners.push(right + rise_of(up_right) * HIGH);
        corners.push(left + rise_of(up_left) * HIGH);
    }
    let outline = ring(&corners);
    waste_ticks(&mut t, &outline, Waste::Outside);
    t.line(Role::Cut, outline.clone());
    let high = meet.min(HIGH);
    let radius = (0.55 * high).clamp(12.0, 26.0);
    // Between the edges of a slender corner the figure needs this much height.
    let slender = (4.5 / brace.tan().max(0.1)).min(0.6 * BASE);
    angle_mark(&mut t, left, radius.max(slender), 0.0, brace, false, &angle_text(brace));
    angle_mark(&mut t, right, 0.6 * radius, PI - full, PI, false, &angle_text(full));
    // A low card has room for its name under the highest corner alone.
    let name = |t: &mut Template| {
        let near = if high < LOW { Point::new(corners[2].x, 0.5 * high) } else { Point::new(BASE / 2.0, 0.4 * high) };
        name_inside(subject, t, &outline, near, "string angle");
    };
    if high < LOW {
        name(&mut t);
    }
    // What is cut out keeps its words; a corner too sharp for them has them outside.
    let put = |t: &mut Template, near: Point, words: &str| {
        [Near::Apart, Near::Clear]
            .into_iter()
            .any(|others| words_inside(t, &outline, near, &[words.to_owned()], &[], others))
    };
    if !put(&mut t, Point::new(0.45 * BASE, 2.6), "along the belly") {
        t.words((BASE / 2.0, -5.2), size::SMALL, Anchor::Middle, 0.0, false, "this edge along the belly");
    }
    let ends = [(left, brace / 2.0, "braced"), (right, PI - full / 2.0, "full draw")];
    for (corner, way, words) in ends {
        if !put(&mut t, corner + Vec2::from_angle(way) * 0.7 * radius, words) {
            let (x, anchor) = if corner == left { (2.0, Anchor::Start) } else { (BASE - 2.0, Anchor::End) };
            t.words((x, -5.2), size::SMALL, anchor, 0.0, true, words);
        }
    }
    if high >= LOW {
        name(&mut t);
    }
    let lies = worked.statics.cycle.at_brace().limbs.get(subject.side).lying.is_some();
    let meets = if lies { "the loop's legs, for the string itself lies on the belly" } else { "the string" };
    let leaning = match lean {
        0.0 => String::new(),
        _ if lean > 0.0 => format!("; the belly leans {} toward it, which is taken off here", angle_text(lean)),
        _ => format!("; the belly leans {} away from it, which is added here", angle_text(-lean)),
    };
    let words = format!(
        "Hold it to the side of the limb, the edge marked so along the last inches of the belly, and slide it until the other edge meets \
         {meets}: the left corner on the braced bow, the right corner (turned over) at full draw. The string stands at {} and {} to the limb's \
         middle line{leaning}. If card and string part company by more than two degrees, \
         measure the bow again before you cut.",
        angle_text(swing.brace),
        angle_text(swing.full_draw),
    );
    vec![Piece::new(captioned(subject, t, "string angle card", &words))]
}
