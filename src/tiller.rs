//! Tiller: how far the string stands off each limb, and the stiffness that measured distances speak of.
//!
//! A limb's shape under the string depends on how its stiffness is shared along it, not on how stiff it is as a whole: that the scale says.
//! So a fit finds factors on the stiffness, whose mean (of logarithms) over both limbs is 1.

use crate::bow::bracing::RestingBow;
use crate::bow::draw_curve::BowAtDraw;
use crate::design::Side;

pub mod explain;
pub mod fit;
pub mod strays;
pub mod table;

/// What a distance with a minus means.
pub const BEHIND: &str = "A minus: the place lies beyond the point where the string leaves the limb; carried on straight, the string would \
                          pass behind the belly there. Measure nothing at it.";

/// Distance, m, from the line of the string (from where it is free to the nocking point) square to the belly face at arc length `s` (m)
/// from the stiff handle's end; plus where the string stands on the archer's side of the limb.
/// Where the string lies on the belly: half its diameter, less the depth of its guide.
pub fn string_distance(bow: &RestingBow, state: &BowAtDraw, side: Side, s: f64) -> f64 {
    let limb = state.limbs.get(side);
    if limb.lying.as_ref().is_some_and(|lying| (lying.lift_off..=lying.throat).contains(&s)) {
        return 0.5 * bow.string_diameter - bow.limbs.get(side).guide;
    }
    let [x, y] = belly_point(bow, state, side, s);
    // In the limb's outward frame: the lower limb's is mirrored.
    let mirror = if side == Side::Lower { -1.0 } else { 1.0 };
    let seat = [limb.leaves[0], mirror * limb.leaves[1]];
    let to = [state.nocking_point[0] - seat[0], mirror * state.nocking_point[1] - seat[1]];
    // Positive when the point lies on the back's side of the line from seat to nocking point.
    (to[0] * (y - seat[1]) - to[1] * (x - seat[0])) / -to[0].hypot(to[1])
}

/// The belly face, or that of a strip glued on it, at arc length `s` (m from the stiff handle's end), in the limb's outward frame, m.
pub fn belly_point(bow: &RestingBow, state: &BowAtDraw, side: Side, s: f64) -> [f64; 2] {
    let bent = &state.limbs.get(side).bent;
    let limb = bow.limbs.get(side);
    let belly = &limb.belly;
    let last = bent.s.len() - 1;
    let i = (bent.s.partition_point(|&k| k <= s).max(1) - 1).min(last - 1);
    let h = bent.s[i + 1] - bent.s[i];
    let u = ((s - bent.s[i]) / h).clamp(0.0, 1.0);
    let v = 1.0 - u;
    // Cubic through both nodes along their tangents (sin, cos).
    let cubic = |values: &[f64], slope: fn(f64) -> f64| {
        let ends = values[i] * v * v * (1.0 + 2.0 * u) + values[i + 1] * u * u * (3.0 - 2.0 * u);
        ends + h * u * v * (slope(bent.angle[i]) * v - slope(bent.angle[i + 1]) * u)
    };
    let angle = bent.angle[i] * v + bent.angle[i + 1] * u;
    let depth = belly[2 * i] * v + belly[2 * i + 2] * u + limb.strip_height(s);
    [cubic(&bent.x, f64::sin) + depth * angle.cos(), cubic(&bent.y, f64::cos) - depth * angle.sin()]
}
