//! Nock styles: one file each, and one line in [`NOCK_STYLES`].
//!
//! Everything else (design-file keys, `styles`, the starter file, tests) reads that list.

use crate::design::NockValue;

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
pub static NOCK_STYLES: &[&dyn NockStyle] = &[];

/// The style of that name.
pub fn style(name: &str) -> Option<&'static dyn NockStyle> {
    NOCK_STYLES.iter().copied().find(|s| s.name() == name)
}
