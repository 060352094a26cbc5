//! What is glued on or cut into a limb's belly, and what that does to the limb: strip and guide.

use super::Worked;
use crate::bow::draw_curve::LimbAtDraw;
use crate::bow::limb::Profile;
use crate::design::Side;
use crate::strength::net::of_outline;
use crate::strength::tip::StripOn;
use crate::strip::Strip;
use crate::wood::nock_strength;

/// Parts into which a strip is cut.
pub(super) const SLICES: u32 = 120;

/// The strip on one limb, node by node; none where there is none or where a modulus is not known.
pub struct BellyStrip {
    /// Distances from the nock along the limb, rising, m.
    pub from_nock: Vec<f64>,
    /// The two layers there; none where the strip has no height.
    on: Vec<Option<StripOn>>,
    /// Width of the glue face there, m.
    width: Vec<f64>,
}

impl BellyStrip {
    /// The strip of one limb.
    pub fn of(worked: &Worked, side: Side) -> Option<Self> {
        let nock = worked.nocks.get(side);
        let strip: Strip = nock.solid.strip?;
        let part = nock.parts.iter().find(|p| p.name == "strip")?;
        let limb = worked.design.limbs.get(side);
        // As the scale has the limb's stiffness.
        let wood = limb.wood.modulus.value * worked.statics.cycle.stiffness_factor;
        let stiffer = nock_strength(&part.material)?.modulus.value / wood;
        let profile = Profile::of(limb);
        // Its ends and what lies between are cut by themselves, so that a node stands where each begins.
        let [risen, scarf] = strip.whole();
        let stretches = [(strip.start, risen), (risen, scarf), (scarf, strip.end)];
        let parts = f64::from(SLICES / 3);
        let mut from_nock = vec![strip.start];
        for (from, to) in stretches {
            from_nock.extend((1..=SLICES / 3).map(|k| from + (to - from) * f64::from(k) / parts));
        }
        let on = |d: &f64| {
            let section = profile.section(limb.length - d);
            let height = strip.height(*d);
            (height > 0.0).then(|| StripOn {
                area: section.area(),
                second_moment: section.second_moment(),
                belly: section.belly_distance(),
                width: section.width,
                height,
                stiffer,
            })
        };
        Some(BellyStrip {
            on: from_nock.iter().map(on).collect(),
            width: from_nock.iter().map(|d| profile.width(limb.length - d)).collect(),
            from_nock,
        })
    }

    /// How many times as stiff as the limb alone both are at their stiffest, and where, m from the nock.
    pub fn stiffest(&self) -> (f64, f64) {
        let places = self.on.iter().zip(&self.from_nock);
        let of = places.map(|(on, d)| (on.as_ref().map_or(1.0, StripOn::stiffening), *d));
        of.fold((1.0, 0.0), |most, here| if here.0 > most.0 { here } else { most })
    }

    /// Greatest mean shear in its glue at one draw, Pa, and the middle of the stretch, m from the nock: over the end that rises, over the
    /// scarf, and over short stretches between. `tau = (N1 - N0)/area` of the stretch's glue face, the limb's moment taken as the statics
    /// have it without the strip.
    pub fn glue_shear(&self, limb: &LimbAtDraw) -> (f64, f64) {
        let force = |k: usize| {
            self.on[k].as_ref().map_or(0.0, |on| on.force(at_nodes(limb, self.from_nock[k], &limb.bent.moment)))
        };
        let last = self.from_nock.len() - 1;
        let [risen, scarf] = [last / 3, 2 * last / 3];
        let between = (risen..scarf).map(|k| [k, k + 1]);
        let shear = |[from, to]: [usize; 2]| {
            let face: f64 = (from..to)
                .map(|k| 0.5 * (self.width[k] + self.width[k + 1]) * (self.from_nock[k + 1] - self.from_nock[k]))
                .sum();
            ((force(to) - force(from)).abs() / face, 0.5 * (self.from_nock[from] + self.from_nock[to]))
        };
        let stretches = [[0, risen], [scarf, last]].into_iter().chain(between);
        stretches.map(shear).fold((0.0, 0.0), |most, here| if here.0 > most.0 { here } else { most })
    }
}

/// A quantity of the bent limb's nodes at `d` (m from the nock), evenly between them.
fn at_nodes(limb: &LimbAtDraw, d: f64, of: &[f64]) -> f64 {
    let s = &limb.bent.s;
    let at = s.last().copied().unwrap_or(0.0) - d;
    let k = s.partition_point(|s| *s <= at).clamp(1, s.len() - 1);
    let part = (at - s[k - 1]) / (s[k] - s[k - 1]);
    of[k - 1] + part * (of[k] - of[k - 1])
}

/// Where the limb's centreline is at `d` (m from the nock), m, in its own frame.
pub(super) fn place_at(limb: &LimbAtDraw, d: f64) -> [f64; 2] {
    [&limb.bent.x, &limb.bent.y].map(|of| at_nodes(limb, d, of))
}

/// What a guide in the limb's own wood leaves of its bending stiffness where it has its whole depth and takes most; none without one.
pub fn left_by_guide(worked: &Worked, side: Side) -> Option<f64> {
    let guide = worked.design.nocks.get(side).guide()?;
    let solid = &worked.nocks.get(side).solid;
    if solid.strip.is_some() {
        return None;
    }
    let whole = crate::tip::TipSolid { cuts: Vec::new(), ..solid.clone() };
    let [from, to] = guide.whole();
    let left = |k: u32| {
        let a = -(from + (to - from) * f64::from(k) / 8.0);
        let of = |solid: &crate::tip::TipSolid| Some(of_outline(&solid.section(a, 720))?.0.second_moment);
        Some(of(solid)? / of(&whole)?)
    };
    (0..=8).filter_map(left).min_by(f64::total_cmp)
}
