//! Back overlay with a belly strip: for recurved ends on which the braced string lies.
//!
//! The loop's seat is that of the back overlay. A strip of horn or wood is glued on the belly, and the guide that keeps the lying
//! string from walking off sideways is cut into that, so that the limb's own wood stays whole.

use super::guided::{guide_keys, guide_of};
use super::overlay::{joined, on_an_overlay, overlay_keys, seat_on_an_overlay};
use super::{Bulk, Key, KeyDefault, KeyKind, Nock, NockStyle, Part, cut_blended};
use crate::design::NockValue::Length;
use crate::design::{BowString, NockChoice};
use crate::fault::{Fault, Faults};
use crate::guide::Guide;
use crate::string::sweep::Swing;
use crate::strip::Strip;
use crate::tip::{Cut, LimbEnd};

/// The `back overlay with belly strip` style.
#[derive(Debug, Clone, Copy)]
pub struct BellyStrip;

static KEYS: [Key; 20] = joined(overlay_keys::ALL, joined::<4, 4, 8>(STRIP_KEYS, guide_keys::ALL));

/// The keys that describe a strip.
const STRIP_KEYS: [Key; 4] = [
    Key {
        name: "strip_material",
        kind: KeyKind::Choice(&["horn", "antler", "phenolic", "hardwood"]),
        default: KeyDefault::Written("horn"),
        meaning: "What the strip on the belly is made of.",
        reason: "Horn wears little under the string and bends to the belly when warm. Common practice, no source.",
    },
    Key {
        name: "strip_thickness",
        kind: KeyKind::Length(0.5e-3, 10e-3),
        default: KeyDefault::Worked("three quarters of the string's diameter", |g| Length(0.75 * g.string_diameter)),
        meaning: "How thick the strip is where it is whole; either end runs out to nothing.",
        reason: "Three times the guide's depth, so that the guide stays clear of the glue. Common practice, no source.",
    },
    Key {
        name: "strip_start",
        kind: KeyKind::Length(5e-3, 150e-3),
        default: KeyDefault::Worked("eight string diameters", |g| Length(8.0 * g.string_diameter)),
        meaning: "How far from the nock the strip starts; over three thicknesses it rises.",
        reason: "Clear of the grooves' ends, and whole where the guide starts. Common practice, no source.",
    },
    Key {
        name: "strip_end",
        kind: KeyKind::Length(20e-3, 240e-3),
        default: KeyDefault::Worked("forty-four string diameters", |g| Length(44.0 * g.string_diameter)),
        meaning: "How far from the nock the strip ends; over the last twelve thicknesses its scarf runs out.",
        reason: "Whole as far as the guide goes, then a slender scarf, so that the limb does not hinge at its end. Common practice, no source.",
    },
];

impl NockStyle for BellyStrip {
    fn name(&self) -> &'static str {
        "back overlay with belly strip"
    }

    fn summary(&self) -> &'static str {
        "A back overlay, and a strip of horn or wood glued along the belly with the guide cut into it, in which the braced string lies: the limb's own wood stays whole. For recurved ends."
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
        let mut nock = on_an_overlay(self, end, choice, string, swing, |solid, wish| {
            let guide = guide_of(choice)?;
            let Some(strip) = choice.strip() else { return Err(Faults::new()) };
            carries(&strip, &guide)?;
            solid.strip = Some(strip);
            let groove = cut_blended(solid, wish, string)?;
            solid.cuts.push(Cut::Guide(guide));
            Ok(groove)
        })?;
        nock.parts.push(Part {
            name: "strip",
            material: choice.choice("strip_material").to_owned(),
            bulk: Bulk::Strip,
        });
        Ok(nock)
    }
}

/// The guide must lie in the strip where it is whole, and not go through it.
fn carries(strip: &Strip, guide: &Guide) -> Result<(), Faults> {
    let [from, to] = strip.whole();
    let mut faults = Faults::new();
    let mut off = |key: &str, place: f64, words: &str, cure: &str| {
        faults.push(
            Fault::at(
                key,
                format!(
                    "a guide from {:.1} mm to {:.1} mm from the nock, in a strip from {:.1} mm to {:.1} mm",
                    guide.start * 1e3,
                    guide.end * 1e3,
                    strip.start * 1e3,
                    strip.end * 1e3
                ),
                format!("{words} {:.1} mm from the nock", place * 1e3),
            )
            .cure(cure),
        );
    };
    if guide.start < from {
        let words =
            "toward the nock the strip rises over three thicknesses; it is whole, and carries a guide, only from";
        off("nock.strip_start", from, words, "a smaller strip_start, or a larger guide_start");
    }
    if guide.end > to {
        let words =
            "toward the handle the strip runs out over twelve thicknesses; it is whole, and carries a guide, only to";
        off("nock.strip_end", to, words, "a larger strip_end, a thinner strip_thickness, or a smaller guide_end");
    }
    if guide.depth >= strip.thickness {
        faults.push(
            Fault::at(
                "nock.strip_thickness",
                format!("a guide {:.2} mm deep in a strip {:.2} mm thick", guide.depth * 1e3, strip.thickness * 1e3),
                "the guide would go through the strip into the glue and the limb",
            )
            .cure("a larger strip_thickness, or a shallower guide_depth"),
        );
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
