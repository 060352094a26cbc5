//! Back overlay with side grooves: the groove crosses the overlay and goes on down both sides, into the limb's wood.

use super::overlay::{joined, on_an_overlay, overlay_keys, seat_on_an_overlay};
use super::shared::{SIDE_LENGTH, SIDE_RUN_OUT};
use super::{Key, Nock, NockStyle, cut_down_the_sides};
use crate::design::{BowString, NockChoice};
use crate::fault::Faults;
use crate::string::sweep::Swing;
use crate::tip::LimbEnd;

/// The `back overlay with side grooves` style.
#[derive(Debug, Clone, Copy)]
pub struct OverlaySides;

static KEYS: [Key; 13] =
    joined(overlay_keys::FIRST, joined::<2, 2, 4>([SIDE_LENGTH, SIDE_RUN_OUT], overlay_keys::LAST));

impl NockStyle for OverlaySides {
    fn name(&self) -> &'static str {
        "back overlay with side grooves"
    }

    fn summary(&self) -> &'static str {
        "A piece of horn, antler or wood glued on the limb's back; the groove crosses it and goes on down both sides into the wood, so that a slack string finds its place. For tips with width to spare."
    }

    fn keys(&self) -> &'static [Key] {
        &KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_on_an_overlay(end, choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        let side = choice.number("side_length");
        on_an_overlay(self, end, choice, string, swing, |solid, wish| cut_down_the_sides(solid, wish, string, side))
    }
}
