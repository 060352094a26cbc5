//! Pin nock: beyond a shoulder the limb's end is taken down to a slimmer pin; the loop goes round the pin and bears on the shoulder.
//!
//! The shoulder's line is the blended wall of the grooves; what a groove has behind the string is taken away as well.

use super::shared::{
    EDGE_RADIUS, GROOVE_DEPTH, GROOVE_RADIUS, SIDE_LENGTH, SIDE_RUN_OUT, TIP_LENGTH, TIP_ROUNDING, WALL_RADIUS,
};
use super::side_grooves::{SHOULDER, in_the_wood, seat_in_the_wood};
use super::{Key, KeyDefault, Nock, NockStyle, open_wish};
use crate::design::NockValue::Length;
use crate::design::{BowString, NockChoice};
use crate::fault::Faults;
use crate::string::sweep::Swing;
use crate::tip::LimbEnd;

/// The `pin nock` style.
#[derive(Debug, Clone, Copy)]
pub struct PinNock;

static KEYS: &[Key] = &[
    Key {
        default: KeyDefault::Worked("four string diameters", |g| Length(4.0 * g.string_diameter)),
        meaning: "How far the pin goes on beyond the middle of the string's seat.",
        reason: "Enough that a slack loop does not fall off. Common practice, no source.",
        ..TIP_LENGTH
    },
    SHOULDER,
    Key {
        default: KeyDefault::Worked("0.55 of the string's diameter", |g| Length(0.55 * g.string_diameter)),
        meaning: "How far the pin lies below the limb's back and sides: the height of the shoulder that the loop bears on.",
        ..GROOVE_DEPTH
    },
    Key { meaning: "Radius of the hollow at the shoulder's foot, across the string.", ..GROOVE_RADIUS },
    Key {
        default: KeyDefault::Worked("one and six tenths of the string's diameter", |g| Length(1.6 * g.string_diameter)),
        ..WALL_RADIUS
    },
    SIDE_LENGTH,
    SIDE_RUN_OUT,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for PinNock {
    fn name(&self) -> &'static str {
        "pin nock"
    }

    fn summary(&self) -> &'static str {
        "Beyond a shoulder the limb's end is taken down, on its back and sides, to a slimmer pin; the loop goes round the pin and bears on the shoulder. Light and quick, for light bows. Only the string's pull keeps the loop on: unstring with care."
    }

    fn caution(&self) -> Option<&'static str> {
        Some("Only the string's pull keeps the loop on: unstring with care.")
    }

    fn for_light_bows(&self) -> bool {
        true
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_in_the_wood(end, choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        in_the_wood(self, end, choice, string, open_wish(choice, swing)?)
    }
}
