//! Nock styles: one file each, and one line in [`NOCK_STYLES`].
//!
//! Everything else (design-file keys, `styles`, the starter file, tests) reads that list.

use crate::design::NockValue;

pub mod horn;
pub mod overlay;
pub mod straight;

/// What a style's key takes, with the range that makes sense; lengths in m, angles in rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum KeyKind {
    /// A length, least and greatest.
    Length(f64, f64),
    /// An angle, least and greatest.
    Angle(f64, f64),
    /// A plain number, least and greatest.
    Number(f64, f64),
    /// One of these words.
    Choice(&'static [&'static str]),
}

/// Measures that a default may be worked out from, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// String diameter at the loop.
    pub string_diameter: f64,
    /// Limb width at the nock.
    pub width: f64,
    /// Limb thickness at the nock.
    pub thickness: f64,
}

/// What a key stands at when the file leaves it out.
#[derive(Clone, Copy)]
pub enum KeyDefault {
    /// As it would be written in the file.
    Written(&'static str),
    /// Worked out from the bow's own measures: the rule in words, and the rule.
    Worked(&'static str, fn(&Given) -> NockValue),
}

/// One key of a style.
#[derive(Clone, Copy)]
pub struct Key {
    /// Its name in `[nock]`.
    pub name: &'static str,
    /// What it takes.
    pub kind: KeyKind,
    /// What it stands at when left out.
    pub default: KeyDefault,
    /// What it is, in a maker's words.
    pub meaning: &'static str,
    /// Why the default is what it is; `common practice, no source` where that is so.
    pub reason: &'static str,
}

/// Keys that several styles share, so that one word means one thing everywhere.
mod shared {
    use super::{Key, KeyDefault, KeyKind};
    use crate::design::NockValue::Length;

    pub const GROOVE_DEPTH: Key = Key {
        name: "groove_depth",
        kind: KeyKind::Length(0.3e-3, 5e-3),
        default: KeyDefault::Worked("half the string's diameter", |g| Length(0.5 * g.string_diameter)),
        meaning: "How deep the groove is where it crosses the back.",
        reason: "With half the string sunk in, the wall meets it at its widest and cannot be climbed; more only weakens the tip. Common practice, no source.",
    };
    pub const GROOVE_RADIUS: Key = Key {
        name: "groove_radius",
        kind: KeyKind::Length(0.5e-3, 6e-3),
        default: KeyDefault::Worked("0.55 of the string's diameter", |g| Length(0.55 * g.string_diameter)),
        meaning: "Radius of the groove's bottom, across the string.",
        reason: "A little more than the string's own radius, so that it beds without being pinched. Common practice, no source.",
    };
    pub const WALL_RADIUS: Key = Key {
        name: "wall_radius",
        kind: KeyKind::Length(0.5e-3, 60e-3),
        default: KeyDefault::Worked("two and a half string diameters", |g| Length(2.5 * g.string_diameter)),
        meaning: "Least radius of the curved wall that the string rolls along, seen on the unrolled tip.",
        reason: "A string bent tighter than about twice its diameter bears hard on its inner strands. Common practice, no source.",
    };
    pub const FAN_MARGIN: Key = Key {
        name: "fan_margin",
        kind: KeyKind::Angle(0.0, 0.6),
        default: KeyDefault::Written("6 deg"),
        meaning: "How much farther than the greatest string angle the groove opens toward the tip.",
        reason: "Room for a longer draw, a stretched loop and an unsteady file. Common practice, no source.",
    };
    pub const RUN_OUT: Key = Key {
        name: "run_out",
        kind: KeyKind::Length(1e-3, 40e-3),
        default: KeyDefault::Worked("two string diameters", |g| Length(2.0 * g.string_diameter)),
        meaning: "Length along the wall over which the groove's depth runs out to nothing, past the end of its turn.",
        reason: "Nothing pulls sideways there; a gentle end leaves no edge to cross. Common practice, no source.",
    };
    pub const EDGE_RADIUS: Key = Key {
        name: "edge_radius",
        kind: KeyKind::Length(0.05e-3, 5e-3),
        default: KeyDefault::Worked("a quarter of the string's diameter", |g| Length(0.25 * g.string_diameter)),
        meaning: "Rounding of the groove's upper edges.",
        reason: "Rounded and polished so that no strand is cut. Common practice, no source.",
    };
    pub const TIP_ROUNDING: Key = Key {
        name: "tip_rounding",
        kind: KeyKind::Length(0.5e-3, 30e-3),
        default: KeyDefault::Written("5 mm"),
        meaning: "Length over which the very end is rounded off.",
        reason: "Takes weight off where it costs most speed, and leaves nothing to catch. Common practice, no source.",
    };
}

/// A way of shaping the limb's end to take the string.
pub trait NockStyle: Sync {
    /// Its name in `style = "..."`.
    fn name(&self) -> &'static str;
    /// What it is and where it is used, one or two sentences.
    fn summary(&self) -> &'static str;
    /// Its keys, in the order they are written.
    fn keys(&self) -> &'static [Key];
}

/// All styles that can be chosen.
pub static NOCK_STYLES: &[&dyn NockStyle] = &[&overlay::BackOverlay, &horn::HornNock, &straight::StraightGroove];

/// The style of that name.
pub fn style(name: &str) -> Option<&'static dyn NockStyle> {
    NOCK_STYLES.iter().copied().find(|s| s.name() == name)
}
