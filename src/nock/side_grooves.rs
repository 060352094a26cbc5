//! Side grooves: a self nock, filed into the limb's own wood across the back and down both sides.

use super::shared::{
    EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, SIDE_LENGTH, SIDE_RUN_OUT, TIP_LENGTH, TIP_ROUNDING,
    WALL_RADIUS,
};
use super::{Bulk, Key, KeyDefault, KeyKind, Nock, NockStyle, Part, cut_down_the_sides, groove_wish, strokes};
use crate::design::NockValue::Length;
use crate::design::{BowString, NockChoice};
use crate::fault::Faults;
use crate::groove::GrooveWish;
use crate::string::sweep::Swing;
use crate::tip::{LimbEnd, Shell, TipSolid};

/// The `side grooves` style.
#[derive(Debug, Clone, Copy)]
pub struct SideGrooves;

/// Rounding of the limb's own back edges.
pub(super) const SHOULDER: Key = Key {
    name: "shoulder",
    kind: KeyKind::Length(0.3e-3, 30e-3),
    default: KeyDefault::Worked("half the lesser of the tip's width and thickness", |g| {
        Length(0.5 * g.width.min(g.thickness))
    }),
    meaning: "Radius to which the limb's two back edges are rounded about the nock; where the tip is too small for it, as far as it goes.",
    reason: "The string is pressed into its groove only where it goes round a curve, so the turn belongs on a round back.",
};

static KEYS: &[Key] = &[
    Key {
        reason: "Wood shears along its grain behind the groove more readily than horn; weight here costs speed. Common practice, no source.",
        ..TIP_LENGTH
    },
    SHOULDER,
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    Key {
        default: KeyDefault::Worked("one and six tenths of the string's diameter", |g| Length(1.6 * g.string_diameter)),
        reason: "Tighter than on an overlay, for a bare tip has less round to turn on; below one and a half the string's inner strands suffer. Common practice, no source.",
        ..WALL_RADIUS
    },
    FAN_MARGIN,
    SIDE_LENGTH,
    SIDE_RUN_OUT,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for SideGrooves {
    fn name(&self) -> &'static str {
        "side grooves"
    }

    fn summary(&self) -> &'static str {
        "A self nock: the groove is filed into the limb's own wood, across its rounded back and down both sides. For hard woods and tips with some depth to spare; nothing is glued."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_in_the_wood(end, choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        in_the_wood(self, end, choice, string, groove_wish(choice, swing)?)
    }
}

/// Height of the string over the centreline in a groove cut into the limb's own back, m.
pub(super) fn seat_in_the_wood(end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
    end.section(0.0).back_distance() - choice.number("groove_depth") + 0.5 * string.diameter
}

/// A nock of `style` cut into the limb's own wood, its back edges eased, its groove going on down both sides.
pub(super) fn in_the_wood(
    style: &dyn NockStyle,
    end: &LimbEnd,
    choice: &NockChoice,
    string: &BowString,
    wish: GrooveWish,
) -> Result<Nock, Faults> {
    let tip = choice.number("tip_length");
    let from = -10.0 * string.diameter;
    let mut solid = TipSolid {
        limb: end.clone(),
        strip: None,
        shell: Shell::Eased { shoulder: choice.number("shoulder"), from, full: 0.4 * from },
        end: tip,
        rounding: choice.number("tip_rounding").min(0.9 * tip),
        cuts: Vec::new(),
    };
    let groove = cut_down_the_sides(&mut solid, wish, string, choice.number("side_length"))?;
    let (passes, ridge) = strokes(&groove);
    Ok(Nock {
        style: style.name(),
        seat_offset: style.seat_offset(end, choice, string),
        solid,
        groove: Some(groove),
        from,
        parts: vec![Part { name: "limb", material: String::from("wood"), bulk: Bulk::Limb }],
        glue: None,
        passes,
        ridge,
    })
}
