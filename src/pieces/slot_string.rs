//! The string on a round cap with a slot on one side only, as lines to draw.
//!
//! From the wall on it takes the shortest way over the cap. On a surface of revolution that keeps
//!
//! ```text
//! r sin psi = constant        (Clairaut)
//! ```
//!
//! with `r` the distance from the axis and `psi` the angle to the limb; in the middle of either side `psi` is the string angle.

use std::f64::consts::FRAC_PI_2;

use kurbo::{Point, Vec2};

use super::shape::MM;
use crate::design::BowString;
use crate::groove::Groove;
use crate::nock::Nock;

/// Steps of an arm round the cap.
const STEPS: usize = 160;

/// One arm of the string, from the slot's crest to the middle of a side: (a, theta) place by place, and the number of the place where
/// it leaves the wall.
fn arm(nock: &Nock, groove: &Groove, string: &BowString, angle: f64, arm: f64) -> (Vec<[f64; 2]>, usize) {
    let half = 0.5 * string.diameter;
    let far = groove.girth.along(FRAC_PI_2 - arm * groove.girth.about);
    let step = far / STEPS as f64;
    let follow = |left: f64| {
        let (mut places, mut leaves) = (Vec::with_capacity(STEPS + 1), 0);
        let radius = |a: f64, theta: f64| nock.solid.uncut(a.min(nock.solid.end - nock.solid.rounding), theta) + half;
        let kept = radius(groove.wall.at(left), groove.theta(left, arm)) * groove.wall.angle(left).sin();
        let (mut a, mut psi) = (0.0, FRAC_PI_2);
        for i in 0..=STEPS {
            let g = step * i as f64;
            let theta = groove.theta(g, arm);
            if g <= left {
                (a, psi) = (groove.wall.at(g), groove.wall.angle(g));
                leaves = i;
            } else {
                a -= step / psi.tan();
                psi = (kept / radius(a, theta)).clamp(0.05, 1.0).asin();
            }
            places.push([a, theta]);
        }
        (places, leaves, psi)
    };
    // The farther along the wall, the flatter the string comes to the side.
    let (mut near, mut end) = (0.0, groove.wall.turned().min(far));
    for _ in 0..40 {
        let mid = 0.5 * (near + end);
        if follow(mid).2 > angle { near = mid } else { end = mid }
    }
    let (places, leaves, _) = follow(0.5 * (near + end));
    (places, leaves)
}

/// The string's centreline as it is seen from one side (1 for `+w`, -1 for `-w`), (a, b) mm: from the top of the back round to the
/// middle of the side, and straight on for `length` mm at `angle` (rad). Also the number of the point where it leaves the wall; 0 on
/// the bare side.
pub(super) fn seen_from(
    nock: &Nock,
    groove: &Groove,
    string: &BowString,
    angle: f64,
    length: f64,
    seen: f64,
) -> (Vec<Point>, usize) {
    let slotted = groove.way();
    let (down, leaves) = arm(nock, groove, string, angle, slotted);
    let (over, _) = arm(nock, groove, string, angle, -slotted);
    // From the bare side's end over the crest to the slotted side's end.
    let mut whole: Vec<[f64; 2]> = over.iter().rev().chain(down.iter().skip(1)).copied().collect();
    let mut left = over.len() - 1 + leaves;
    if seen != slotted {
        whole.reverse();
        left = 0;
    }
    let hidden = whole.iter().take_while(|[_, theta]| theta * seen < 0.0).count();
    let half = 0.5 * string.diameter;
    let mut line: Vec<Point> = whole
        .iter()
        .skip(hidden)
        .map(|[a, theta]| {
            let from_crest = groove.girth.along((theta - groove.girth.about).abs());
            let depth: f64 = groove.depth(from_crest);
            let uncut: f64 = nock.solid.uncut(a.min(nock.solid.end), *theta);
            Point::new(a * MM, (uncut + half - depth) * theta.cos() * MM)
        })
        .collect();
    let last = line.last().copied().unwrap_or_default();
    line.push(last + Vec2::new(-angle.cos(), -angle.sin()) * length);
    (line, left.saturating_sub(hidden))
}
