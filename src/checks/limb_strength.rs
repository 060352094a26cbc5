//! Is the limb strong enough along its length: bending at brace, shear in the draw, the outer end in the shot?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::strength::loaded::LoadedLimb;
use crate::strength::stress::{face_stress, shear_stress};
use crate::units::plain_length_text;
use crate::worked::Worked;
use crate::worked::soundness::{how_sure, loaded, shot_pull};

/// Greatest of a figure along a limb, and where, m from the middle.
fn greatest(worked: &Worked, limb: &LoadedLimb, from: f64, of: impl Fn(usize) -> f64) -> (f64, f64) {
    let start = worked.design.bow.stiff_handle / 2.0;
    (0..limb.s.len())
        .filter(|&k| limb.s[k] >= from)
        .map(|k| (of(k), start + limb.s[k]))
        .fold((0.0, start), |most, here| if here.0 > most.0 { here } else { most })
}

fn place(worked: &Worked, at: f64) -> String {
    format!("{} from the middle", plain_length_text(at, worked.design.units))
}

/// What wood bears for a week over what it bears in a test of minutes: load-duration factors 1.25 and 1.6, from memory. Larger would
/// let a bow take a set on its stand.
const LASTING: f64 = 1.25 / 1.6;

/// Bending with the pull along the limb, braced: what the wood bears for hours.
pub fn at_brace(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let rupture = worked.design.limbs.get(side).wood.rupture.as_ref()?;
        let limb = loaded(&worked.design, &worked.statics, side, worked.statics.cycle.at_brace());
        let stress = |k: usize| face_stress(&limb.sections[k], limb.moment[k], limb.axial_force[k]).greatest().1;
        let (measured, at) = greatest(worked, &limb, 0.0, stress);
        let allowed = LASTING * rupture.value;
        Some(Check {
            id: "limb_stress_brace",
            side: Some(side),
            title: "greatest stress along the limb at brace".into(),
            place: place(worked, at),
            measured,
            allowed,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, allowed, Bound::AtMost, 0.1),
            why: "a bow stands braced for hours, and wood creeps and takes a set under what it bears for minutes without harm".into(),
            source: format!("{}; for a week's load {LASTING:.2} of it, by the load-duration factors of timber design, from memory", how_sure(rupture)),
            cure: "a lower brace height, or a wider limb".into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}

/// Shear along the grain, greatest in the draw.
pub fn shear(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let strength = worked.design.limbs.get(side).wood.shear.as_ref()?;
        let states = [worked.statics.cycle.at_brace(), worked.statics.cycle.at_full_draw()];
        let each = states.map(|state| {
            let limb = loaded(&worked.design, &worked.statics, side, state);
            let (stress, at) = greatest(worked, &limb, 0.0, |k| shear_stress(&limb.sections[k], limb.normal_force[k]));
            (stress, at)
        });
        let (measured, at) = if each[0].0 > each[1].0 { each[0] } else { each[1] };
        Some(Check {
            id: "limb_shear",
            side: Some(side),
            title: "greatest shear along the grain in the draw".into(),
            place: place(worked, at),
            measured,
            allowed: strength.value,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, strength.value, Bound::AtMost, 0.2),
            why: "where the string pulls square to a thin tip the wood may part along its grain".into(),
            source: how_sure(strength),
            cure: "a wider or thicker outer limb".into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}

/// Bending of the limb's end, as far in as the loop reaches, under the shot.
pub fn in_the_shot(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let rupture = worked.design.limbs.get(side).wood.rupture.as_ref()?;
        let brace = worked.statics.cycle.at_brace();
        let limb = loaded(&worked.design, &worked.statics, side, brace);
        let more = shot_pull(worked) / brace.limbs.get(side).pull;
        let from = limb.s.last()? - worked.design.string.loop_length;
        let stress = |k: usize| more * face_stress(&limb.sections[k], limb.moment[k], limb.axial_force[k]).greatest().1;
        let (measured, at) = greatest(worked, &limb, from, stress);
        Some(Check {
            id: "limb_end_shot",
            side: Some(side),
            title: "bending of the limb's end in the shot".into(),
            place: place(worked, at),
            measured,
            allowed: rupture.value,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, rupture.value, Bound::AtMost, 0.1),
            why: format!(
                "as the string stops the limbs it pulls at brace angle with {:.1} times the draw weight (shock_factor); looked at as far \
                 in as the loop reaches, for further in the limb's own inertia carries a part",
                worked.design.strength.shock_factor
            ),
            source: format!("{}; the shock factor: common practice, no source", how_sure(rupture)),
            cure: "a stouter tip".into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}
