//! Straight groove: one file stroke down each side, to compare with.

use super::shared::{EDGE_RADIUS, GROOVE_DEPTH, GROOVE_RADIUS, TIP_ROUNDING};
use super::{Key, KeyDefault, KeyKind, NockStyle};
use crate::design::NockValue::{Choice, Length};

/// The `straight groove` style.
#[derive(Debug, Clone, Copy)]
pub struct StraightGroove;

static KEYS: &[Key] = &[
    Key {
        name: "tip_length",
        kind: KeyKind::Length(3e-3, 80e-3),
        default: KeyDefault::Worked("five string diameters", |g| Length(5.0 * g.string_diameter)),
        meaning: "How far the tip goes on beyond the middle of the nock.",
        reason: "Enough behind the groove that it does not shear out, no more than that: weight here costs speed. Common practice, no source.",
    },
    Key {
        name: "groove_angle",
        kind: KeyKind::Angle(0.1, 1.57),
        default: KeyDefault::Worked("the string angle at brace", |_| Choice(String::from("brace"))),
        meaning: "Angle between the grooves and the limb.",
        reason: "The groove is filed along the braced string, as is commonly done. Common practice, no source.",
    },
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for StraightGroove {
    fn name(&self) -> &'static str {
        "straight groove"
    }

    fn summary(&self) -> &'static str {
        "A groove filed straight down each side of the limb at the brace angle. Quick, and here to compare with: the report shows where the string meets its edges as it is drawn."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }
}
