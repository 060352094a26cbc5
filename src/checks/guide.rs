//! Does the guide in the belly reach as far as the string lies, is it wide enough, and does it leave enough of the limb?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::worked::Worked;

/// Common practice has no printed source.
const PRACTICE: &str = "common practice, no source";

/// A check of each limb that has a guide.
fn each(worked: &Worked, check: impl Fn(Side, crate::guide::Guide) -> Option<Check>) -> Vec<Check> {
    Side::BOTH.iter().filter_map(|&side| check(side, worked.design.nocks.get(side).guide()?)).collect()
}

/// The guide's full depth goes past the farthest place that the string lies on.
pub fn reaches(worked: &Worked) -> Vec<Check> {
    each(worked, |side, guide| {
        let allowed = worked.statics.swings.get(side).lies_to;
        if allowed == 0.0 {
            return None;
        }
        let measured = guide.whole()[1];
        Some(Check {
            id: "guide_reaches",
            side: Some(side),
            title: "guide's full depth, from the nock, against where the string lies farthest".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.03),
            why:
                "where the guide rises under a lying string, the string lies on its end instead of in it and walks off"
                    .into(),
            source: "the statics: where the string leaves the belly at brace, over the whole range of brace heights"
                .into(),
            cure: "a larger guide_end".into(),
        })
    })
}

/// The guide's full depth starts before the throat.
pub fn starts(worked: &Worked) -> Vec<Check> {
    each(worked, |side, guide| {
        let [allowed, _] = worked.statics.cycle.at_brace().limbs.get(side).lies_from_nock()?;
        let measured = guide.whole()[0];
        Some(Check {
            id: "guide_starts",
            side: Some(side),
            title: "start of the guide's full depth, from the nock, against the loop's throat".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, allowed, Bound::AtMost, 0.03),
            why: "the throat presses hardest of all on the belly; on the guide's rising end it would slide".into(),
            source: "the statics: where the throat rests at brace".into(),
            cure: "a smaller guide_start, or a longer loop".into(),
        })
    })
}

/// The string's width in the guide at its depth.
pub fn radius(worked: &Worked) -> Vec<Check> {
    each(worked, |side, guide| {
        let (measured, allowed) = (guide.radius, 0.5 * worked.design.string.diameter);
        Some(Check {
            id: "guide_radius",
            side: Some(side),
            title: "radius of the guide's bottom against the string's own".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.02),
            why: "a string pinched by its guide wears on the edges and sticks as it unrolls".into(),
            source: "geometry: a round string beds on a bottom no narrower than itself".into(),
            cure: "a larger guide_radius".into(),
        })
    })
}

/// What is left of the limb's thickness under the guide, at its thinnest.
pub fn left_under(worked: &Worked) -> Vec<Check> {
    each(worked, |side, guide| {
        if worked.design.nocks.get(side).strip().is_some() {
            return None;
        }
        let end = worked.statics.ends.get(side);
        let thickness = |k: u32| end.thickness.at(-(guide.start + (guide.end - guide.start) * f64::from(k) / 40.0));
        let thinnest = (0..=40).map(thickness).fold(f64::INFINITY, f64::min);
        let (measured, allowed) = (thinnest - guide.depth, 0.8 * thinnest);
        Some(Check {
            id: "left_under_guide",
            side: Some(side),
            title: "limb left under the guide, at its thinnest".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.05),
            why: "the statics take the limb as whole; a groove deeper than a fifth of it makes its end softer than they say".into(),
            source: PRACTICE.into(),
            cure: "a shallower guide_depth, or a thicker end".into(),
        })
    })
}

/// What is left of a strip's thickness under the guide.
pub fn left_in_strip(worked: &Worked) -> Vec<Check> {
    each(worked, |side, guide| {
        let strip = worked.design.nocks.get(side).strip()?;
        let (measured, allowed) = (strip.thickness - guide.depth, 0.5 * strip.thickness);
        Some(Check {
            id: "left_in_strip",
            side: Some(side),
            title: "strip left under the guide".into(),
            place: String::new(),
            measured,
            allowed,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, allowed, Bound::AtLeast, 0.05),
            why: "the string wears its guide deeper and may lay bare the glue under it; half of the strip is kept under it".into(),
            source: PRACTICE.into(),
            cure: "a thicker strip_thickness, or a shallower guide_depth".into(),
        })
    })
}
