//! Whether the string touches a limb where it is not taken to.

use super::bracing::{RestingBow, cross, length, minus};
use super::elastica::{BentLimb, NockState};
use super::lying::Lying;
use crate::design::{Side, Units};
use crate::fault::Fault;
use crate::units::length_text;

/// One limb of a bow held at some draw.
pub(super) struct Held {
    /// Which limb.
    pub side: Side,
    /// Draw as the design measures it, m.
    pub draw: f64,
    /// Pull of the free string, N.
    pub pull: f64,
    /// The nocking point, handle frame, m.
    pub point: [f64; 2],
}

/// A string this much nearer than touching is taken to touch, m: next to where it leaves the belly it is as near as can be.
const TOUCH: f64 = 1e-6;

/// The string must stand clear of the belly wherever it is a free single strand: from the throat, or where it leaves the
/// belly, inward. Between nock and throat the loop's legs straddle the limb. Where it lies the belly must bulge.
///
/// # Errors
/// A fault about the limb's unstrung profile that names the place.
pub(super) fn string_is_clear(
    bow: &RestingBow,
    held: &Held,
    bent: &BentLimb,
    lying: Option<&Lying>,
    nock: &NockState,
) -> Result<(), Fault> {
    let limb = bow.limbs.get(held.side);
    if limb.belly.iter().all(|&b| b == 0.0) {
        return Ok(());
    }
    let on_side = |p: [f64; 2]| [p[0], if held.side == Side::Lower { -p[1] } else { p[1] }];
    let start = on_side(nock.seat);
    let part = minus(on_side(held.point), start);
    let (legs, inward_of, nearer) = match lying {
        None => (bow.loop_length, f64::INFINITY, 0.0),
        Some(lying) => (0.0, lying.lift_off, TOUCH),
    };
    // The innermost place where the string touches.
    let mut touched: Option<f64> = None;
    // How far from the seat, and by how much more than half its thickness the string is clear, at the node before.
    let mut before = [0.0; 2];
    let mut long_enough = 0.0;
    for k in (0..bent.s.len()).rev().filter(|&k| bent.s[k] < inward_of) {
        // The belly face opposite node k, its distance along the string and square to it (plus: string clear).
        let (sin, cos) = bent.angle[k].sin_cos();
        // A guide lets the string come nearer on the limb's outer half; a strip keeps it off where it is glued.
        let guide = if bent.s[k] > 0.5 * limb.length() { limb.guide } else { 0.0 };
        let belly = limb.belly[2 * k] + limb.strip_height(bent.s[k]) - guide;
        let face = minus([bent.x[k] + belly * cos, bent.y[k] - belly * sin], start);
        let along = (face[0] * part[0] + face[1] * part[1]) / length(part);
        let clear = -cross(part, face) / length(part);
        let spare = clear - 0.5 * bow.string_diameter + nearer;
        if along > legs && along < length(part) && spare < 0.0 {
            touched = Some(bent.s[k] + limb.root[1]);
        }
        if before[1] < 0.0 && spare >= 0.0 {
            long_enough = along - (along - before[0]) * spare / (spare - before[1]);
        }
        before = [along, spare];
    }
    if let Some(place) = touched {
        return Err(if lying.is_none() && long_enough > legs && long_enough < LONGEST_CURE {
            too_short(held, legs, long_enough)
        } else {
            lies_elsewhere(held, place, lying.is_some())
        });
    }
    match lying.and_then(|lying| hollow(bow, held, bent, lying)) {
        None => Ok(()),
        Some(place) => Err(hangs_over(held, place + limb.root[1])),
    }
}

/// Where the belly under a lying string does not bulge, m along the limb.
fn hollow(bow: &RestingBow, held: &Held, bent: &BentLimb, lying: &Lying) -> Option<f64> {
    let recurved = bow.recurved(held.side);
    let under = |s: &f64| *s < lying.throat && *s > lying.lift_off;
    let nodes: Vec<usize> = (0..bent.s.len()).filter(|&k| under(&bent.s[k])).collect();
    let lies = |k: usize| bent.angle[k] + recurved.lean(bent.s[k], held.pull);
    // Outward the lying string turns away from the archer all the way.
    nodes.windows(2).find(|w| lies(w[1]) > lies(w[0]) + 1e-6).map(|w| bent.s[w[0]])
}

/// A loop longer than this, m, is not named as a cure: the string then lies on a recurved end. Common practice, no source.
const LONGEST_CURE: f64 = 0.1;

fn too_short(held: &Held, legs: f64, enough: f64) -> Fault {
    let name = held.side.name();
    let [draw, legs, enough] = [held.draw, legs, enough].map(|v| length_text(v, Units::Inch));
    Fault::at(
        "string.loop",
        format!("at a draw of {draw} the string would press on the {name} limb's belly where the legs of a loop of {legs} meet"),
        "the legs part round the limb's end; inward of where they meet the string runs straight, clear of the belly",
    )
    .cure(format!("a loop of {enough} or more meets where the string is clear; or a higher brace height"))
}

fn at_draw(held: &Held) -> String {
    format!("at a draw of {} the string would", length_text(held.draw, Units::Inch))
}

fn lies_elsewhere(held: &Held, place: f64, lies: bool) -> Fault {
    let name = held.side.name();
    Fault::at(
        format!("{name}.limb.unstrung"),
        format!(
            "{} {}lie along the {name} limb's belly {} from the middle",
            at_draw(held),
            if lies { "once more " } else { "" },
            length_text(place, Units::Inch)
        ),
        "the string is taken to lie on the belly in one stretch only, from the loop's throat toward the handle; whatever else it \
         touches bends the limb in another way",
    )
    .cure("a higher brace height, another loop length, or less reflex toward the tip frees it")
}

fn hangs_over(held: &Held, place: f64) -> Fault {
    let name = held.side.name();
    Fault::at(
        format!("{name}.limb.unstrung"),
        format!(
            "{} hang over a hollow of the {name} limb's belly {} from the middle",
            at_draw(held),
            length_text(place, Units::Inch)
        ),
        "the string is taken to lie on the belly in one stretch from the loop's throat inward; over a hollow it would stand off \
         and lie down again",
    )
    .cure("a fairer recurve, bent evenly from the tip inward, or a shorter loop")
}

/// The fault of a string that would lie past the limb's root, at a draw (m).
pub(super) fn lies_past_the_limb(side: Side, draw: f64) -> Fault {
    let name = side.name();
    Fault::at(
        format!("{name}.limb.unstrung"),
        format!(
            "at a draw of {} the string finds no place to leave the {name} limb's belly",
            length_text(draw, Units::Inch)
        ),
        "a string that lies along a recurved end leaves it between the loop's throat and the handle",
    )
    .cure("a higher brace height, or less reflex toward the tip")
}
