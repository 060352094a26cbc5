//! Does the glue hold an overlay or a cap?

use crate::design::{Certainty, Side, Sourced};
use crate::findings::{Bound, Check, Quantity};
use crate::strength::tip::{glue_line_bending_shear, glue_line_shear};
use crate::tip::Shell;
use crate::units::plain_length_text;
use crate::worked::Worked;
use crate::worked::belly::BellyStrip;
use crate::worked::soundness::{how_sure, shot_pull};

/// A glue line carries more at its ends than in its middle: about three times the mean over a line so stiff. Smaller would trust the
/// mean too far. From memory of the theory of lap joints, no figure looked up.
const PEAK: f64 = 3.0;

/// Shear in the glue line: the string's push along the limb, mean over the face, with what bending adds; in the shot or at full draw.
pub fn check(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let nock = worked.nocks.get(side);
        let glue = nock.glue?;
        let strength = stands(worked, side)?;
        let length = glue.span[1] - glue.span[0];
        let section = worked.statics.ends.get(side).section(0.0);
        let brace = worked.statics.cycle.at_brace().limbs.get(side);
        let full = worked.statics.cycle.at_full_draw().limbs.get(side);
        let shear = |pull: f64, angle: f64| {
            let mean = glue_line_shear(pull * angle.cos(), length, glue.area / length);
            let bending = match nock.solid.shell {
                Shell::Overlay { thickness, .. } => {
                    glue_line_bending_shear(pull * angle.sin(), section.width, section.thickness, thickness)
                }
                _ => 0.0,
            };
            mean + bending
        };
        let shot = shear(shot_pull(worked), brace.string_angle);
        let draw = shear(full.nock_pull(), full.string_angle);
        let measured = shot.max(draw);
        let allowed = strength.value / PEAK;
        Some(Check {
            id: "glue_line",
            side: Some(side),
            title: "shear in the glue line".into(),
            place: if shot >= draw { "in the shot".into() } else { "at full draw".into() },
            measured,
            allowed,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, allowed, Bound::AtMost, 0.2),
            why: "the string pushes overlay or cap along the limb; a glue line bears about three times its mean at its ends, so a third \
                  of its strength is allowed"
                .into(),
            source: format!("{}; the third: from memory of lap joints", how_sure(&strength)),
            cure: "a longer overlay or a deeper bore, clean scraped faces, a gap-filling glue".into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}

/// Shear in the glue under a strip on the belly, as the limb bends and the strip with it, at its greatest from brace to full draw.
pub fn under_strip(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let strip = BellyStrip::of(worked, side)?;
        let strength = stands(worked, side)?;
        let states = &worked.statics.cycle.states;
        let shears = states.iter().map(|state| (strip.glue_shear(state.limbs.get(side)), state.draw));
        let ((measured, at), draw) = shears.max_by(|a, b| a.0.0.total_cmp(&b.0.0))?;
        let allowed = strength.value / PEAK;
        let units = worked.design.units;
        Some(Check {
            id: "strip_glue",
            side: Some(side),
            title: "shear in the glue under the belly strip".into(),
            place: format!("{} from the nock, at a draw of {}", plain_length_text(at, units), plain_length_text(draw, units)),
            measured,
            allowed,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, allowed, Bound::AtMost, 0.2),
            why: "as the limb bends it drags the strip along, through the glue of the strip's ends; that is the mean over an end, and the glue \
                  bears up to about three times as much where the end begins, so a third of its strength is allowed"
                .into(),
            source: format!(
                "transformed section of limb and strip, force over glue face; the limb's moment as without the strip, so not below what it \
                 is; {}; the third: from memory of lap joints; peeling of the ends is not looked at",
                how_sure(&strength)
            ),
            cure: "a thinner strip_thickness, a strip_end farther from where the limb bends hard, a softer strip_material, clean scraped faces"
                .into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}

/// The glue's own strength where the maker gives it, else the wood's: a sound joint breaks in the wood.
fn stands(worked: &Worked, side: Side) -> Option<Sourced> {
    match worked.design.strength.glue {
        Some(value) => Some(Sourced { value, source: "the design file".into(), certainty: Certainty::Given }),
        None => worked.design.limbs.get(side).wood.shear.clone(),
    }
}
