//! Does the limb stay in the bow's plane?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::units::plain_length_text;
use crate::worked::Worked;

/// The least sideways reserve from brace to full draw.
pub fn check(worked: &Worked) -> Vec<Check> {
    Side::BOTH
        .iter()
        .map(|&side| {
            let found = worked.sideways().get(side);
            let [low, high] = found.between;
            Check {
                id: "sideways_reserve",
                side: Some(side),
                title: "sideways reserve: how far the limb is from going out of its plane".into(),
                place: format!(
                    "at a draw of {} ({low:.2} to {high:.2} over the range of shear moduli)",
                    plain_length_text(found.least_draw, worked.design.units)
                ),
                measured: found.least,
                allowed: 1.0,
                quantity: Quantity::Ratio,
                bound: Bound::AtLeast,
                // Close below one and a half: the shear modulus is not known better than that.
                verdict: Check::judge(found.least, 1.0, Bound::AtLeast, 0.5),
                why: "the reserve is how many times softer the limb could be sideways and in twist before it goes; a deep narrow limb \
                      bent toward the archer suddenly turns over"
                    .into(),
                source: "second variation of the bent limb's energy, tested against Timoshenko & Gere; shear modulus 1/16 of the \
                         bending modulus, from memory"
                    .into(),
                cure: "a wider or flatter outer limb".into(),
            }
        })
        .collect()
}
