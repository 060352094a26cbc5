//! Horn nock with a side slot: a cap over a wooden cone, with one slanted slot on one side only.
//!
//! The loop lies in the slot on that side, goes over the bare back and down the bare far side. In the slot the string turns round
//! the wall twice as far as in a groove across the back: from the slanting way up over the back, through square, to the way down the
//! slotted side. As the bow is drawn it unwinds from both ends of the wall, and its bare part moves round over the smooth cap.

use super::horn::{cap_keys, capped, seat_on_a_cap};
use super::shared::{
    EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, RUN_OUT, TIP_LENGTH, TIP_ROUNDING, WALL_RADIUS,
};
use super::{Key, KeyDefault, KeyKind, Nock, NockStyle, groove_wish};
use crate::design::NockValue::Length;
use crate::design::{BowString, NockChoice};
use crate::fault::Faults;
use crate::string::sweep::Swing;
use crate::tip::LimbEnd;

/// The `horn nock with side slot` style.
#[derive(Debug, Clone, Copy)]
pub struct HornSlot;

static KEYS: &[Key] = &[
    TIP_LENGTH,
    cap_keys::MATERIAL,
    cap_keys::LENGTH,
    cap_keys::SEAT,
    Key {
        default: KeyDefault::Worked("three quarters of the seat's diameter", |g| {
            Length(0.75 * g.width.max(g.thickness))
        }),
        reason: "A gentle taper: the bare part of the loop has nothing but the cap's own shape to lie on, and slides tipward on a steep one. From this program's own runs.",
        ..cap_keys::END
    },
    cap_keys::BORE,
    cap_keys::BORE_DEPTH,
    cap_keys::BORE_ANGLE,
    cap_keys::GLUE_GAP,
    Key {
        name: "slot_side",
        kind: KeyKind::Choice(&["left", "right"]),
        default: KeyDefault::Written("right"),
        meaning: "On which side the slot is, looking at the limb's back with its tip up.",
        reason: "The same word on both limbs puts the slots on opposite sides of the bow, so that what they pull sideways at the tips is even. Common practice, no source.",
    },
    Key {
        name: "slot_crest",
        kind: KeyKind::Angle(0.2, 1.0),
        default: KeyDefault::Written("32 deg"),
        meaning: "How far round from the middle of the back toward the slotted side the slot's highest place lies, where the string crosses it square to the limb.",
        reason: "Farther round, the wall has less of the side left to turn on; nearer the back, the slot reaches over to the far side. From this program's own runs.",
    },
    Key {
        default: KeyDefault::Worked("0.6 of the string's diameter", |g| Length(0.6 * g.string_diameter)),
        meaning: "How deep the slot is at its crest.",
        reason: "The string turns in it twice as far as in a groove on both sides and leans harder on its wall. From this program's own runs.",
        ..GROOVE_DEPTH
    },
    GROOVE_RADIUS,
    WALL_RADIUS,
    FAN_MARGIN,
    Key {
        default: KeyDefault::Worked("one and a half string diameters", |g| Length(1.5 * g.string_diameter)),
        meaning: "Length round the cap over which the slot's depth runs out to nothing, past the end of its turn, over the back and down the side.",
        reason: "The string lies over the slot's mouth with its full pull: short, and it is bent hard there; long, and the slot reaches over to the far side. From this program's own runs.",
        ..RUN_OUT
    },
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for HornSlot {
    fn name(&self) -> &'static str {
        "horn nock with side slot"
    }

    fn summary(&self) -> &'static str {
        "A cap of horn over a cone cut on the limb's end, with one slanted slot on one side only; the loop goes from the slot over the bare back and down the bare far side. For deep longbows, where little horn is cut away; the string walks over back and far side as the bow is drawn, so polish them."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, _: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_on_a_cap(choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        // With the tip up and the back toward the eye, `+w` lies to the left.
        let way = if choice.choice("slot_side") == "left" { 1.0 } else { -1.0 };
        capped(self, end, choice, string, groove_wish(choice, swing)?, way * choice.number("slot_crest"))
    }
}
