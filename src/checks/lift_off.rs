//! Does the string stay short of pulling the loop off the tip?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::worked::Worked;
use std::f64::consts::FRAC_PI_2;

/// The greatest string angle against square to the limb.
pub fn check(worked: &Worked) -> Vec<Check> {
    Side::BOTH
        .iter()
        .map(|&side| {
            let measured = worked.statics.swings.get(side).greatest;
            Check {
                id: "full_draw_angle",
                side: Some(side),
                title: "greatest string angle, short of lifting off".into(),
                place: String::new(),
                measured,
                allowed: FRAC_PI_2,
                quantity: Quantity::Angle,
                bound: Bound::AtMost,
                verdict: Check::judge(measured, FRAC_PI_2, Bound::AtMost, 0.06),
                why: "past 90 degrees the string pulls the loop toward the tip's end instead of into its wall; nothing but \
                      the groove's far side and friction then keeps it on"
                    .into(),
                source: "geometry: at 90 degrees the pull has no part toward the handle".into(),
                cure: "a shorter draw, a longer bow, or a lower brace height".into(),
            }
        })
        .collect()
}
