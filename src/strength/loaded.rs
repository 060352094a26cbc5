//! A limb of a drawn bow, node by node, as strength and sideways stability need it.

use super::sideways::LimbUnderPull;
use crate::bow::draw_curve::LimbAtDraw;
use crate::bow::limb::RestingLimb;
use crate::bow::lying::Recurved;
use crate::section::Section;

/// Shear modulus of wood in torsion along the grain over its modulus in bending.
///
/// 1/16 is the figure building codes use for softwood (EN 338; from memory). Published ratios for single woods run from about
/// 0.05 to 0.12 (Wood Handbook, ch. 5, elastic ratios; from memory), so the sideways reserve is no surer than that: it goes with the root of this ratio.
pub const SHEAR_RATIO: f64 = 1.0 / 16.0;

/// What one limb carries at one draw. All arrays hold one value for each whole node, root first.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadedLimb {
    /// Arc length from the end of the stiff handle, m.
    pub s: Vec<f64>,
    /// Cross sections.
    pub sections: Vec<Section>,
    /// Curvature under the pull, plus toward the archer, 1/m.
    pub curvature: Vec<f64>,
    /// Bending moment, plus toward the archer, N m.
    pub moment: Vec<f64>,
    /// The pull's component square to the limb, plus toward the archer, N.
    pub normal_force: Vec<f64>,
    /// The pull's component along the limb, plus for tension, N.
    pub axial_force: Vec<f64>,
    /// Torsional stiffness, N m2.
    pub gj: Vec<f64>,
    /// Sideways bending stiffness, N m2.
    pub ei_sideways: Vec<f64>,
    /// Pull over the length of string from nock to fingers, N/m.
    pub string_restoring: f64,
    /// Where the pull acts, from the centroid toward the back, m.
    pub seat_offset: f64,
}

impl LoadedLimb {
    /// A limb at one draw. `section` gives the cross section at arc length `s` (m) from the stiff handle's end;
    /// `string` is the length from its nock to the fingers (at brace: to where the string is next held, usually the other nock), m;
    /// `shear_ratio` as [`SHEAR_RATIO`]. The modulus is the one the limb's stiffness implies.
    pub fn of(
        limb: &RestingLimb,
        at: &LimbAtDraw,
        section: impl Fn(f64) -> Section,
        string: f64,
        shear_ratio: f64,
    ) -> Self {
        let bent = &at.bent;
        let sections: Vec<Section> = bent.s.iter().map(|&s| section(s)).collect();
        let stiffness: Vec<f64> = limb.stiffness.iter().step_by(2).copied().collect();
        let rest: Vec<f64> = limb.curvature.iter().step_by(2).copied().collect();
        let curvature =
            bent.moment.iter().zip(&stiffness).zip(&rest).map(|((m, ei), k)| k + if *m == 0.0 { 0.0 } else { m / ei });
        let tip = bent.angle.last().copied().unwrap_or(0.0);
        // At the tip the string leaves at the string angle from the limb, toward the archer: T (sin, -cos) by normal and tangent.
        let direction = |angle: &f64| at.string_angle - (tip - angle);
        let mut normal_force: Vec<f64> = bent.angle.iter().map(|a| at.pull * direction(a).sin()).collect();
        let mut axial_force: Vec<f64> = bent.angle.iter().map(|a| -at.pull * direction(a).cos()).collect();
        if let Some(lying) = &at.lying {
            // Outside the throat the legs pull; under the strand, which takes its own pull on along the belly, the limb is
            // pushed along the strand; inward of where that leaves, the free strand pulls.
            let recurved = Recurved::new(limb, 0.0, 2.0 * lying.radius);
            for (k, (s, angle)) in bent.s.iter().zip(&bent.angle).enumerate() {
                let (pull, direction) = if *s > lying.throat {
                    (lying.leg_pull, lying.leg_angle - (tip - angle))
                } else if *s > lying.lift_off {
                    (at.pull, -recurved.lean(*s, at.pull))
                } else {
                    (at.pull, lying.strand_angle - (tip - angle))
                };
                (normal_force[k], axial_force[k]) = (pull * direction.sin(), -pull * direction.cos());
            }
        }
        let modulus: Vec<f64> = stiffness.iter().zip(&sections).map(|(ei, c)| ei / c.second_moment()).collect();
        LoadedLimb {
            curvature: curvature.collect(),
            normal_force,
            axial_force,
            gj: modulus.iter().zip(&sections).map(|(e, c)| shear_ratio * e * c.torsion_constant()).collect(),
            ei_sideways: modulus.iter().zip(&sections).map(|(e, c)| e * c.second_moment_sideways()).collect(),
            moment: bent.moment.clone(),
            s: bent.s.clone(),
            sections,
            string_restoring: at.pull / string,
            seat_offset: limb.seat_offset,
        }
    }

    /// The limb as [`super::sideways`] takes it.
    pub fn under_pull(&self) -> LimbUnderPull<'_> {
        LimbUnderPull {
            s: &self.s,
            curvature: &self.curvature,
            moment: &self.moment,
            normal_force: &self.normal_force,
            axial_force: &self.axial_force,
            gj: &self.gj,
            ei_sideways: &self.ei_sideways,
            string_restoring: self.string_restoring,
            seat_offset: self.seat_offset,
        }
    }
}

#[cfg(test)]
mod tests;
