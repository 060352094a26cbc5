//! Is the limb's wood bent within what it stands?

use crate::bow::draw_curve::BowAtDraw;
use crate::bow::limb::Profile;
use crate::design::{Certainty, Side};
use crate::findings::{Bound, Check, Quantity};
use crate::worked::Worked;

/// The greatest bending stress `sigma = M c / I` along a limb, Pa, and where, m from the middle.
pub fn greatest_stress(worked: &Worked, side: Side, state: &BowAtDraw) -> (f64, f64) {
    let profile = Profile::of(worked.design.limbs.get(side));
    let start = worked.design.bow.stiff_handle / 2.0;
    let bent = &state.limbs.get(side).bent;
    let stress = |k: usize| {
        let section = profile.section(start + bent.s[k]);
        let edge = section.back_distance().max(section.belly_distance());
        (bent.moment[k].abs() * edge / section.second_moment(), start + bent.s[k])
    };
    (0..bent.s.len()).map(stress).fold((0.0, start), |most, here| if here.0 > most.0 { here } else { most })
}

/// Bending stress at full draw against the wood's modulus of rupture.
pub fn check(worked: &Worked) -> Vec<Check> {
    let limit = |side: Side| worked.design.limbs.get(side).wood.rupture.clone().map(|rupture| (side, rupture));
    Side::BOTH
        .iter()
        .filter_map(|&side| limit(side))
        .map(|(side, rupture)| {
            let (measured, at) = greatest_stress(worked, side, worked.statics.cycle.at_full_draw());
            let sure = if rupture.certainty == Certainty::Memory { ", from memory" } else { "" };
            Check {
                id: "limb_stress",
                side: Some(side),
                title: "greatest bending stress along the limb at full draw".into(),
                place: format!(
                    "{} from the middle",
                    crate::units::plain_length_text(at, worked.design.units)
                ),
                measured,
                allowed: rupture.value,
                quantity: Quantity::Stress,
                bound: Bound::AtMost,
                verdict: Check::judge(measured, rupture.value, Bound::AtMost, 0.1),
                why: "above the modulus of rupture clear straight-grained wood breaks in a slow test; good bows work near \
                      it, knots and slanting grain take from it"
                    .into(),
                source: format!("{}{sure}", rupture.source),
                cure: "a wider or longer limb, a thinner limb for less weight, or a shorter draw".into(),
            }
        })
        .collect()
}
