//! Is the groove open, round and deep enough, and does it leave enough of the tip?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::worked::Worked;

/// Common practice has no printed source.
const PRACTICE: &str = "common practice, no source";

fn each(check: impl Fn(Side) -> Option<Check>) -> Vec<Check> {
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}

/// The fan opens past the greatest string angle that the nock must serve.
pub fn fan_covers_sweep(worked: &Worked) -> Vec<Check> {
    each(|side| {
        let groove = worked.nocks.get(side).groove.as_ref()?;
        // Two degrees: an unsteady hand's file; less would let an edge stand in the string's way.
        let allowed = worked.statics.swings.get(side).greatest + 2f64.to_radians();
        let measured = groove.wish.fan;
        Some(Check {
            id: "fan_covers_sweep",
            side: Some(side),
            title: "floor opens past the greatest string angle".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Angle,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.02),
            why: "toward the tip nothing may stand where the string comes by, or it climbs an edge; two degrees are kept \
                  for the file"
                .into(),
            source: format!("geometry of the sweep; the two degrees: {PRACTICE}"),
            cure: "a larger fan_margin, or a smaller range".into(),
        })
    })
}

/// The wall's least radius against the string's diameter.
pub fn wall_radius(worked: &Worked) -> Vec<Check> {
    each(|side| {
        let groove = worked.nocks.get(side).groove.as_ref()?;
        let allowed = 1.5 * worked.design.string.diameter;
        let measured = groove.wall.least_radius;
        Some(Check {
            id: "wall_radius",
            side: Some(side),
            title: "least radius of the wall".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.1),
            why:
                "a string bent round less than one and a half of its own diameters bears hard on its inner strands and \
                  chafes at each shot"
                    .into(),
            source: PRACTICE.into(),
            cure: "a larger wall_radius, and back edges round enough to turn on".into(),
        })
    })
}

/// Depth of the seat across the back, read from the solid itself.
pub fn seat_depth(worked: &Worked) -> Vec<Check> {
    each(|side| {
        let nock = worked.nocks.get(side);
        let (solid, at) = (&nock.solid, nock.crest());
        let (whole, left): (f64, f64) = (solid.uncut(0.0, at), solid.radius(0.0, at));
        let (measured, allowed) = (whole - left, 0.35 * worked.design.string.diameter);
        Some(Check {
            id: "seat_depth",
            side: Some(side),
            title: if nock.is_even() {
                "depth of the seat across the back".into()
            } else {
                "depth of the slot at its crest".into()
            },
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.1),
            why: "a seat shallower than about a third of the string lets a slack string walk out of it".into(),
            source: PRACTICE.into(),
            cure: "a deeper groove_depth".into(),
        })
    })
}

/// What is left of the tip's depth under the groove.
pub fn left_under_groove(worked: &Worked) -> Vec<Check> {
    each(|side| {
        let nock = worked.nocks.get(side);
        let (solid, at) = (&nock.solid, nock.crest());
        let belly: f64 = solid.uncut(0.0, at + std::f64::consts::PI);
        let (whole, left): (f64, f64) = (solid.uncut(0.0, at), solid.radius(0.0, at));
        let (measured, allowed) = (left + belly, 0.6 * (whole + belly));
        Some(Check {
            id: "left_under_groove",
            side: Some(side),
            title: "depth left under the groove".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.1),
            why: "the tip bends and shears hardest just behind the string; with less than six tenths of its depth left it \
                  is the first place to break"
                .into(),
            source: PRACTICE.into(),
            cure: "a shallower groove, a thicker tip or overlay".into(),
        })
    })
}

/// The loop must pass over the tip's end to its seat.
pub fn loop_passes_over_tip(worked: &Worked) -> Vec<Check> {
    each(|side| {
        if worked.design.is_tied(side) {
            return None;
        }
        let (solid, string) = (&worked.nocks.get(side).solid, &worked.design.string);
        let girth = |a: f64| -> f64 {
            let points = solid.section(a, 180);
            (0..points.len())
                .map(|i| {
                    let ([w0, b0], [w1, b1]) = (points[i], points[(i + 1) % points.len()]);
                    (w1 - w0).hypot(b1 - b0)
                })
                .sum()
        };
        let end = if solid.end.is_finite() { solid.end } else { 0.0 };
        let largest = (0..=40).map(|i| girth(end * f64::from(i) / 40.0)).fold(0.0, f64::max);
        // The string's centre runs half a diameter off the tip: pi d more than the girth.
        let allowed = largest + std::f64::consts::PI * string.diameter;
        let measured = 2.0 * string.loop_length;
        Some(Check {
            id: "loop_passes_over_tip",
            side: Some(side),
            title: "way round the loop, against the largest girth it must pass".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.1),
            why: "a loop shorter than the tip's girth and the string's own thickness does not go over the tip to its seat"
                .into(),
            source: "geometry: the centreline of a string of diameter d round a girth g is g + pi d long".into(),
            cure: "a longer loop, or a slimmer tip beyond the seat".into(),
        })
    })
}
