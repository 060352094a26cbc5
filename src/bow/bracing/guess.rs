//! Where Newton's method for the braced bow starts from.

use super::RestingBow;
use crate::bow::elastica::{NockState, tip_angle};
use crate::design::{Both, Side};
use std::f64::consts::FRAC_PI_2;

/// Both limbs held each by itself, at one course of the string, so that the string stands square to the handle.
pub(super) struct Guess {
    pub pull: Both<f64>,
    pub course: f64,
    pub height: f64,
    pub string_length: f64,
}

/// Courses to guess at, rising, rad: string angles of 3 to 85 degrees, and what goes before them where a string may lie.
pub(super) fn courses(bow: &RestingBow) -> impl Iterator<Item = f64> + use<> {
    let behind = [-100.0, -85.0, -70.0, -60.0, -50.0, -40.0, -30.0, -20.0, -10.0, 0.0];
    let before = [3.0, 6.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 85.0_f64];
    let unused = if bow.lies { 0 } else { behind.len() };
    behind.into_iter().skip(unused).chain(before).map(f64::to_radians)
}

impl Guess {
    /// Both limbs braced at a course, each as if the other were its mirror image; none where one of them cannot be.
    pub fn at(bow: &RestingBow, course: f64) -> Option<Self> {
        let (upper, lower) = (held(bow, Side::Upper, course)?, held(bow, Side::Lower, course)?);
        Some(Guess {
            pull: Both { upper: upper.0, lower: lower.0 },
            course,
            height: 0.5 * (upper.1.seat[0] + lower.1.seat[0]),
            string_length: upper.1.seat[1] - lower.1.seat[1] + (upper.1.used + lower.1.used),
        })
    }
}

/// A limb's pull at one string angle or course (rad), and its nock.
///
/// The string is parallel to the handle when the tip has turned by the string angle; that fixes the pull, which is
/// bracketed from a part of the limb's Euler load upward and then closed in by false position (Illinois rule).
fn held(bow: &RestingBow, side: Side, angle: f64) -> Option<(f64, NockState)> {
    let limb = bow.limbs.get(side);
    // How far the string leans outward of the handle's direction.
    let over = |pull: f64| -> Option<f64> {
        if !bow.lies {
            return Some(tip_angle(limb, pull, angle) - angle);
        }
        let nock = bow.recurved(side).nock(pull, angle)?;
        Some((-nock.string[0]).atan2(-nock.string[1]))
    };
    let count = limb.stiffness.len() as f64;
    // A recurved end may be so stiff that only what bends counts.
    let stiffness = if bow.lies {
        count / limb.stiffness.iter().map(|k| 1.0 / k).sum::<f64>()
    } else {
        limb.stiffness.iter().sum::<f64>() / count
    };
    let euler = stiffness * (FRAC_PI_2 / limb.length()).powi(2);
    // A string that lies needs some pull to lie by.
    let least = if bow.lies { 1e-3 * euler } else { 0.0 };
    let (mut low, mut low_over) = (least, over(least)?);
    if low_over > 0.0 {
        return None;
    }
    let mut high = 0.1 * euler;
    let mut high_over = over(high)?;
    while high_over < 0.0 {
        (low, low_over) = (high, high_over);
        high *= 2.0;
        if high > 100.0 * euler {
            return None;
        }
        high_over = over(high)?;
    }
    let mut pull = high;
    for _ in 0..6 {
        pull = (low * high_over - high * low_over) / (high_over - low_over);
        let here = over(pull)?;
        if here.abs() < 1e-3 * angle.abs() {
            break;
        }
        if here < 0.0 {
            (low, low_over, high_over) = (pull, here, 0.5 * high_over);
        } else {
            (high, high_over, low_over) = (pull, here, 0.5 * low_over);
        }
    }
    Some((pull, bow.nock(side, pull, angle)?))
}
