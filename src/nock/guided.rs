//! Back overlay with a belly guide: for recurved ends on which the braced string lies.
//!
//! The loop's seat is that of the back overlay. From a little outside the throat inward a shallow round groove runs down the
//! middle of the belly, in the limb's own wood, and keeps the lying string from walking off sideways.

use super::overlay::{joined, on_an_overlay, overlay_keys, seat_on_an_overlay};
use super::{Key, Nock, NockStyle, cut_blended};
use crate::design::{BowString, NockChoice};
use crate::fault::{Fault, Faults};
use crate::guide::Guide;
use crate::string::sweep::Swing;
use crate::tip::{Cut, LimbEnd};

/// The `back overlay with belly guide` style.
#[derive(Debug, Clone, Copy)]
pub struct Guided;

/// The keys that describe a guide.
pub(super) mod guide_keys {
    use crate::design::NockValue::Length;
    use crate::nock::{Key, KeyDefault, KeyKind};

    pub const START: Key = Key {
        name: "guide_start",
        kind: KeyKind::Length(5e-3, 150e-3),
        default: KeyDefault::Worked("twelve string diameters", |g| Length(12.0 * g.string_diameter)),
        meaning: "How far from the nock the guide in the belly starts.",
        reason: "A little outside the loop's throat; nearer to the nock only the loop's legs pass, on the limb's sides. Common practice, no source.",
    };
    pub const END: Key = Key {
        name: "guide_end",
        kind: KeyKind::Length(20e-3, 240e-3),
        default: KeyDefault::Worked("thirty-four string diameters", |g| Length(34.0 * g.string_diameter)),
        meaning: "How far from the nock the guide ends.",
        reason: "Past the farthest place that the braced string lies on; `check` says where that is. Common practice, no source.",
    };
    pub const DEPTH: Key = Key {
        name: "guide_depth",
        kind: KeyKind::Length(0.2e-3, 3e-3),
        default: KeyDefault::Worked("a quarter of the string's diameter", |g| Length(0.25 * g.string_diameter)),
        meaning: "How deep the guide is.",
        reason: "Enough that the string finds back into it at each shot; more takes wood from where the limb twists most readily. Common practice, no source.",
    };
    pub const RADIUS: Key = Key {
        name: "guide_radius",
        kind: KeyKind::Length(0.5e-3, 10e-3),
        default: KeyDefault::Worked("0.6 of the string's diameter", |g| Length(0.6 * g.string_diameter)),
        meaning: "Radius of the guide's bottom, across the string.",
        reason: "A little more than the string's own radius, so that it beds without being pinched. Common practice, no source.",
    };

    /// All of them, as they are written.
    pub const ALL: [Key; 4] = [START, END, DEPTH, RADIUS];
}

static KEYS: [Key; 16] = joined(overlay_keys::ALL, guide_keys::ALL);

impl NockStyle for Guided {
    fn name(&self) -> &'static str {
        "back overlay with belly guide"
    }

    fn summary(&self) -> &'static str {
        "A back overlay, and a shallow groove down the middle of the belly from the loop's throat inward, in which the braced string lies. For recurved ends."
    }

    fn for_recurve(&self) -> bool {
        true
    }

    fn keys(&self) -> &'static [Key] {
        &KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_on_an_overlay(end, choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        on_an_overlay(self, end, choice, string, swing, |solid, wish| {
            let guide = guide_of(choice)?;
            let groove = cut_blended(solid, wish, string)?;
            solid.cuts.push(Cut::Guide(guide));
            Ok(groove)
        })
    }
}

/// The guide that a choice asks for, or what is wrong with it.
pub(super) fn guide_of(choice: &NockChoice) -> Result<Guide, Faults> {
    let Some(guide) = choice.guide() else { return Err(Faults::new()) };
    if guide.end < guide.start + 10.0 * guide.depth {
        return Err(vec![
            Fault::at(
                "nock.guide_end",
                format!("a guide from {:.1} mm to {:.1} mm from the nock", guide.start * 1e3, guide.end * 1e3),
                "it is too short to reach its depth and to rise from it again",
            )
            .cure("a larger guide_end, or a smaller guide_start"),
        ]);
    }
    if guide.depth > 0.8 * guide.radius {
        return Err(vec![
            Fault::at(
                "nock.guide_depth",
                format!(
                    "a guide {:.2} mm deep with a bottom radius of {:.2} mm",
                    guide.depth * 1e3,
                    guide.radius * 1e3
                ),
                format!(
                    "its sides would stand nearly upright and hold the string; its radius allows {:.2} mm",
                    0.8e3 * guide.radius
                ),
            )
            .cure("a shallower guide_depth, or a larger guide_radius"),
        ]);
    }
    Ok(guide)
}
