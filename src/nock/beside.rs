//! A straight groove in the same limb's end, to set beside a design.

use super::straight::StraightGroove;
use super::{Nock, NockStyle};
use crate::design::{BowString, NockChoice, NockValue};
use crate::fault::Faults;
use crate::string::sweep::Swing;
use crate::tip::LimbEnd;

/// The nock that a straight file would leave in this limb's end, as deep and as round as the design's own groove,
/// filed along the braced string.
///
/// # Errors
/// Why a straight groove cannot be filed here.
pub fn straight(end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
    let d = string.diameter;
    let own = |name: &'static str, otherwise: f64| match choice.values.iter().find(|(k, _)| *k == name) {
        Some((_, NockValue::Length(v))) => (name, NockValue::Length(*v)),
        _ => (name, NockValue::Length(otherwise)),
    };
    let straight = NockChoice {
        style: StraightGroove.name(),
        values: vec![
            own("tip_length", 5.0 * d),
            ("groove_angle", NockValue::Angle(swing.brace)),
            own("groove_depth", 0.5 * d),
            own("groove_radius", 0.55 * d),
            own("edge_radius", 0.25 * d),
            own("tip_rounding", 5e-3),
        ],
    };
    StraightGroove.nock(end, &straight, string, swing)
}
