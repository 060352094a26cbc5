//! Does the string press into what it lies on?

use crate::design::{Side, Sourced};
use crate::findings::{Bound, Check, Quantity};
use crate::units::plain_length_text;
use crate::wood::nock_strength;
use crate::worked::Worked;
use crate::worked::soundness::{how_sure, shot_pull};

/// Hardest bearing of the string in the draw and in the shot: load over length and diameter.
pub fn check(worked: &Worked) -> Vec<Check> {
    let diameter = worked.design.string.diameter;
    let mut checks = Vec::new();
    for shot in [false, true] {
        for side in Side::BOTH {
            let hanging = worked.loops().get(side);
            let Some(limit) = stands(worked, side) else { continue };
            let own = hanging.draw.steps.iter().zip(&hanging.draw.figures);
            let own = own.skip(hanging.first_own).take(hanging.last_own + 1 - hanging.first_own);
            let (measured, place) = if shot {
                let Some((step, figures)) = own.clone().next() else { continue };
                (figures.most_load * shot_pull(worked) / step.pull / diameter, String::new())
            } else {
                let most = own.map(|(s, f)| (f.most_load / diameter, s.draw)).max_by(|a, b| a.0.total_cmp(&b.0));
                let Some((stress, draw)) = most else { continue };
                (stress, format!("at a draw of {}", plain_length_text(draw, worked.design.units)))
            };
            checks.push(Check {
                id: if shot { "string_bearing_shot" } else { "string_bearing" },
                side: Some(side),
                title: if shot {
                    "bearing of the string on the tip in the shot".into()
                } else {
                    "bearing of the string on the tip in the draw".into()
                },
                place,
                measured,
                allowed: limit.value,
                quantity: Quantity::Stress,
                bound: Bound::AtMost,
                verdict: Check::judge(measured, limit.value, Bound::AtMost, 0.1),
                why: if shot {
                    format!(
                        "with {:.1} times the draw weight (shock_factor) at brace; past the limit the string beds itself deeper, shot by \
                         shot, and cuts its own edge",
                        worked.design.strength.shock_factor
                    )
                } else {
                    "past the limit the string beds itself deeper with each draw, and the groove is no longer the one that was filed"
                        .into()
                },
                source: format!("simulated load over string diameter; {}", how_sure(&limit)),
                cure: "an overlay of horn, a larger wall_radius and rounder back edges, or a thicker string".into(),
            });
        }
    }
    checks
}

/// What the string lies on stands this: the nock's own material, else the wood across its grain.
fn stands(worked: &Worked, side: Side) -> Option<Sourced> {
    let parts = &worked.nocks.get(side).parts;
    match parts.iter().find_map(|p| nock_strength(&p.material)) {
        Some(strength) => Some(strength.bearing),
        None => worked.design.limbs.get(side).wood.bearing.clone(),
    }
}
