//! Back overlay with side grooves: the groove crosses the overlay and goes on down both sides, into the limb's wood.

use super::overlay::{Overlay, overlay_keys, seat_on_an_overlay};
use super::shared::{
    EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, SIDE_LENGTH, SIDE_RUN_OUT, TIP_ROUNDING, WALL_RADIUS,
};
use super::{Key, Nock, NockStyle, cut_down_the_sides, groove_wish};
use crate::design::{BowString, NockChoice};
use crate::fault::Faults;
use crate::string::sweep::Swing;
use crate::tip::LimbEnd;

/// The `back overlay with side grooves` style.
#[derive(Debug, Clone, Copy)]
pub struct OverlaySides;

static KEYS: &[Key] = &[
    overlay_keys::TIP_LENGTH,
    overlay_keys::MATERIAL,
    overlay_keys::THICKNESS,
    overlay_keys::LENGTH,
    overlay_keys::SHOULDER,
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    WALL_RADIUS,
    FAN_MARGIN,
    SIDE_LENGTH,
    SIDE_RUN_OUT,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for OverlaySides {
    fn name(&self) -> &'static str {
        "back overlay with side grooves"
    }

    fn summary(&self) -> &'static str {
        "A piece of horn, antler or wood glued on the limb's back; the groove crosses it and goes on down both sides into the wood, so that a slack string finds its place. For tips with width to spare."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_on_an_overlay(end, choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        let wish = groove_wish(choice, swing)?;
        let overlay = Overlay::of(end, choice);
        overlay.whole_by(wish.radius + wish.edge + 0.5 * string.diameter)?;
        let mut solid = overlay.solid();
        let groove = cut_down_the_sides(&mut solid, wish, string, choice.number("side_length"))?;
        Ok(overlay.nock(self, choice, string, solid, groove))
    }
}
