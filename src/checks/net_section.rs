//! Does the tip hold where the groove has been cut?

use crate::design::{Side, Sourced};
use crate::findings::{Bound, Check, Quantity};
use crate::strength::net::{NetSection, of_outline};
use crate::strength::stress::net_face_stress;
use crate::units::millimetre_text;
use crate::wood::nock_strength;
use crate::worked::Worked;
use crate::worked::soundness::{how_sure, shot_pull};

/// How far in from the seat the groove is followed, in string diameters: past where the legs leave the tip.
const REACH: f64 = 4.0;

/// The greatest stress of the finished tip's own sections, read from the solid with its grooves, under the shot at brace angle
/// and under full draw.
pub fn check(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let limit = weakest(worked, side)?;
        let full = worked.statics.cycle.at_full_draw().limbs.get(side);
        let brace = worked.statics.cycle.at_brace().limbs.get(side);
        let sections = sections(worked, side);
        let offset = worked.nocks.get(side).seat_offset;
        let (shot, at_shot) = greatest(&sections, offset, shot_pull(worked), brace.string_angle);
        let (draw, at_draw) = greatest(&sections, offset, full.nock_pull(), full.string_angle);
        let (measured, at, when) =
            if shot >= draw { (shot, at_shot, "in the shot") } else { (draw, at_draw, "at full draw") };
        Some(Check {
            id: "net_section",
            side: Some(side),
            title: "greatest stress of the tip where the groove is cut".into(),
            place: format!("{when}, {} before the seat", millimetre_text(-at)),
            measured,
            allowed: limit.value,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, limit.value, Bound::AtMost, 0.2),
            why: format!(
                "a groove takes the outermost fibres; what is left must bear the string with {:.1} times the draw weight \
                 (shock_factor), and the full draw",
                worked.design.strength.shock_factor
            ),
            source: format!(
                "{}; straight-beam theory over the finished section; shock factor: common practice, no source",
                how_sure(&limit)
            ),
            cure: "a shallower groove, a stouter tip or overlay".into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}

/// The lower of the wood's and the nock material's bending strength; none where the wood's is not known.
fn weakest(worked: &Worked, side: Side) -> Option<Sourced> {
    let wood = worked.design.limbs.get(side).wood.rupture.clone()?;
    let nock = worked.nocks.get(side);
    // A strip that starts farther in than the sections go has no part in them.
    let far = REACH * worked.design.string.diameter;
    let clear = nock.solid.strip.is_some_and(|strip| strip.start >= far);
    let parts = nock.parts.iter().filter(|p| !(clear && p.name == "strip")).filter_map(|p| nock_strength(&p.material));
    Some(parts.map(|s| s.bending).fold(wood, |low, s| if s.value < low.value { s } else { low }))
}

/// The finished tip's sections from the seat inward: place along `a` (m), the section, and its centroid (m).
fn sections(worked: &Worked, side: Side) -> Vec<(f64, NetSection, f64)> {
    let solid = &worked.nocks.get(side).solid;
    let far = REACH * worked.design.string.diameter;
    (0..=24)
        .filter_map(|k| {
            let a = -far * f64::from(k) / 24.0;
            let (net, centroid) = of_outline(&solid.section(a, 144))?;
            Some((a, net, centroid))
        })
        .collect()
}

/// Greatest stress and its place along `a`, m. The pull acts at the seat, `offset` (m) from the limb's centreline; beyond it nothing does.
fn greatest(sections: &[(f64, NetSection, f64)], offset: f64, pull: f64, angle: f64) -> (f64, f64) {
    let (sin, cos) = angle.sin_cos();
    let stress = |(a, net, centroid): &(f64, NetSection, f64)| {
        let moment = pull * (-a * sin - cos * (offset - centroid));
        (net_face_stress(net, moment, -pull * cos).greatest().1, *a)
    };
    sections.iter().map(stress).fold((0.0, 0.0), |most, here| if here.0 > most.0 { here } else { most })
}
