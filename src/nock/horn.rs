//! Full horn nock: a cap over a wooden cone, with a blended groove on both sides.

use super::shared::{EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, RUN_OUT, TIP_ROUNDING, WALL_RADIUS};
use super::{Key, KeyDefault, KeyKind, NockStyle};
use crate::design::NockValue::Length;

/// The `horn nock` style.
#[derive(Debug, Clone, Copy)]
pub struct HornNock;

static KEYS: &[Key] = &[
    Key {
        name: "tip_length",
        kind: KeyKind::Length(3e-3, 80e-3),
        default: KeyDefault::Worked("five string diameters", |g| Length(5.0 * g.string_diameter)),
        meaning: "How far the tip goes on beyond the middle of the nock.",
        reason: "Enough behind the groove that it does not shear out, no more than that: weight here costs speed. Common practice, no source.",
    },
    Key {
        name: "horn_material",
        kind: KeyKind::Choice(&["horn", "antler", "phenolic", "hardwood"]),
        default: KeyDefault::Written("horn"),
        meaning: "What the cap is made of.",
        reason: "Horn is tough across its fibres and polishes smooth under the string. Common practice, no source.",
    },
    Key {
        name: "horn_length",
        kind: KeyKind::Length(10e-3, 120e-3),
        default: KeyDefault::Written("40 mm"),
        meaning: "Length of the cap, from its mouth to its end.",
        reason: "About an inch and a half serves most longbows. Common practice, no source.",
    },
    Key {
        name: "seat_diameter",
        kind: KeyKind::Length(5e-3, 40e-3),
        default: KeyDefault::Worked("the greater of the limb's width and thickness at the nock", |g| {
            Length(g.width.max(g.thickness))
        }),
        meaning: "Diameter of the cap at the nock, before the groove is cut.",
        reason: "Leaves horn under the groove over the wooden cone. Common practice, no source.",
    },
    Key {
        name: "end_diameter",
        kind: KeyKind::Length(2e-3, 30e-3),
        default: KeyDefault::Worked("0.6 of the seat's diameter", |g| Length(0.6 * g.width.max(g.thickness))),
        meaning: "Diameter of the cap at its end, before the end is rounded.",
        reason: "Light, and the loop still slips over it easily. Common practice, no source.",
    },
    Key {
        name: "bore_diameter",
        kind: KeyKind::Length(3e-3, 30e-3),
        default: KeyDefault::Worked("0.95 of the lesser of the limb's width and thickness at the nock", |g| {
            Length(0.95 * g.width.min(g.thickness))
        }),
        meaning: "Diameter of the bore at the mouth.",
        reason: "As much wood as the limb has there, less a thin edge of horn. Common practice, no source.",
    },
    Key {
        name: "bore_depth",
        kind: KeyKind::Length(5e-3, 80e-3),
        default: KeyDefault::Written("28 mm"),
        meaning: "Depth of the bore from the mouth.",
        reason: "Past the groove, so that wood backs the horn under the string. Common practice, no source.",
    },
    Key {
        name: "bore_angle",
        kind: KeyKind::Angle(0.03, 0.8),
        default: KeyDefault::Written("14 deg"),
        meaning: "Full angle of the bore's cone.",
        reason: "A steep cone centres itself and leaves thick horn at the end. Common practice, no source.",
    },
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    WALL_RADIUS,
    FAN_MARGIN,
    RUN_OUT,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for HornNock {
    fn name(&self) -> &'static str {
        "horn nock"
    }

    fn summary(&self) -> &'static str {
        "A cap of horn over a cone cut on the limb's end; the groove crosses its back and runs down both sides. For longbows of deep section, and wherever soft wood needs a hard seat."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }
}
