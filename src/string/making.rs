//! Making the string: its length for the brace height, strands, and loops that pass the tip and slide down the limb.

use crate::bow::bracing::{LIMB_STEPS, RestingBow};
use crate::bow::draw_curve::{Cycle, string_up};
use crate::bow::limb::Profile;
use crate::design::{Both, Bracing, Design, LowerEnd, Side};
use crate::fault::Fault;
use crate::nock::Nock;
use crate::tip::TipSolid;
use std::f64::consts::PI;

/// A brace height and the string for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForHeight {
    /// Brace height, m.
    pub brace_height: f64,
    /// Length between the nock seats, neither stretched nor braced, m.
    pub slack: f64,
    /// The same under the pull at brace, m.
    pub braced: f64,
    /// Pull at brace, N.
    pub pull: f64,
}

/// What one loop must pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopSize {
    /// Half the way round the loop that goes over the tip's end to the seat, m; none where the nock cannot be made.
    pub over_tip: Option<f64>,
    /// Half the way round the loop that slides down the limb until the string hangs slack, m.
    pub down_limb: f64,
    /// How far down from the nock it must slide, m.
    pub slide: f64,
}

/// The string as it is to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Making {
    /// For the bow's own brace height.
    pub own: ForHeight,
    /// For a lower and a higher one.
    pub others: [ForHeight; 2],
    /// Length of each strand to cut, m: the string, both ends, and what is laid back.
    pub strand: f64,
    /// Strands; none where the strength of one is not given.
    pub strands: Option<u32>,
    /// Weight at full draw, N.
    pub weight: f64,
    /// What the string must hold, N: the asked times of that weight, and no less than [`TIMES_PULL`] times its greatest pull in the draw.
    pub must_hold: f64,
    /// Greatest pull of the string in the draw, N.
    pub greatest_pull: f64,
    /// Loops at both ends; the lower one's only where there is one.
    pub loops: Both<Option<LoopSize>>,
}

/// How much more way than the girth a loop needs to slide freely: common practice, no source.
const FREE: f64 = 1.1;
/// How many times its greatest pull in the draw a string must hold at least: the shot pulls harder. Common practice, no source.
pub const TIMES_PULL: f64 = 2.0;
/// Between the bow's own brace height and the others shown, m: about a quarter of an inch.
const APART: f64 = 6.35e-3;

/// Works it out; `nocks` where they can be made.
///
/// # Errors
/// What keeps the bow from being braced a quarter of an inch lower or higher.
pub fn making(
    design: &Design,
    seat_offsets: Both<f64>,
    cycle: &Cycle,
    nocks: Option<&Both<Nock>>,
) -> Result<Making, Fault> {
    let bow = RestingBow::of(design, seat_offsets, LIMB_STEPS).stiffened(cycle.stiffness_factor);
    let string = &design.string;
    let at = |height: f64| -> Result<ForHeight, Fault> {
        let braced = string_up(&bow, Bracing::Height(height))?;
        let slack = braced.string_length;
        Ok(ForHeight { brace_height: height, slack, braced: bow.stretched(slack, braced.pull).0, pull: braced.pull })
    };
    let own = at(cycle.braced.brace_height)?;
    let others = [at(own.brace_height - APART)?, at(own.brace_height + APART)?];
    let weight = cycle.at_full_draw().force;
    let making = &design.making;
    let greatest_pull = {
        let pulls = cycle.states.iter().flat_map(|s| [s.limbs.upper.pull, s.limbs.lower.pull]);
        pulls.fold(0.0, f64::max)
    };
    let must_hold = (making.times_weight * weight).max(TIMES_PULL * greatest_pull);
    let strands = making.strand_strength.map(|strength| (must_hold / strength - 1e-9).ceil().max(1.0) as u32);
    // From seat to throat the string is a loop of two legs: out and back instead of once, and the tail after it.
    let loop_takes = string.loop_length + making.tail;
    let lower_takes = match making.lower_end {
        LowerEnd::Loop => loop_takes,
        LowerEnd::Knot => making.knot,
    };
    let loops = Both::build(|side| {
        (side == Side::Upper || making.lower_end == LowerEnd::Loop).then(|| loop_size(design, side, own.slack, nocks))
    });
    Ok(Making {
        own,
        others,
        strand: own.slack + loop_takes + lower_takes,
        strands,
        weight,
        must_hold,
        greatest_pull,
        loops,
    })
}

fn loop_size(design: &Design, side: Side, slack: f64, nocks: Option<&Both<Nock>>) -> LoopSize {
    let limb = design.limbs.get(side);
    // The centreline of a string of diameter d round a girth g is g + pi d long; a loop is half of it, laid flat.
    let half = |girth: f64| 0.5 * (girth + PI * design.string.diameter);
    let slide = (design.bow.length - slack).max(0.0);
    let profile = Profile::of(limb);
    let start = design.bow.stiff_handle / 2.0;
    let girth = |out: f64| profile.section((limb.length - out).max(start)).perimeter();
    let most = (0..=20).map(|k| girth(slide * f64::from(k) / 20.0)).fold(0.0, f64::max);
    LoopSize {
        over_tip: nocks.map(|n| FREE * half(tip_girth(&n.get(side).solid))),
        down_limb: FREE * half(most),
        slide,
    }
}

/// The largest girth from the seat to the tip's end, m.
pub fn tip_girth(solid: &TipSolid) -> f64 {
    let girth = |a: f64| -> f64 {
        let points = solid.section(a, 180);
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|([w0, b0], [w1, b1])| (w1 - w0).hypot(b1 - b0)).sum()
    };
    let end = if solid.end.is_finite() { solid.end } else { 0.0 };
    (0..=40).map(|i| girth(end * f64::from(i) / 40.0)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bow::bracing::brace;
    use crate::bow::draw_curve::cycle;
    use crate::design::file::read;
    use crate::samples::{SAMPLE, SAMPLE_NAME};
    use crate::worked::seat_offsets;

    fn made(text: &str) -> (Design, Making) {
        let design = read(text, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}")).design;
        let offsets = seat_offsets(&design).unwrap_or_else(|fault| panic!("{fault:?}"));
        let drawn = cycle(&design, offsets, LIMB_STEPS, 8).unwrap_or_else(|fault| panic!("{fault:?}"));
        let made = making(&design, offsets, &drawn, None).unwrap_or_else(|fault| panic!("{fault:?}"));
        (design, made)
    }

    #[test]
    fn a_string_of_that_length_braces_the_bow_to_that_height() {
        let (design, made) = made(SAMPLE);
        let offsets = seat_offsets(&design).expect("seats");
        let drawn = cycle(&design, offsets, LIMB_STEPS, 2).expect("draws");
        let bow = RestingBow::of(&design, offsets, LIMB_STEPS).stiffened(drawn.stiffness_factor);
        let braced = brace(&bow, Bracing::StringLength(made.own.slack)).expect("braces");
        assert!((braced.brace_height - 0.15875).abs() < 1e-6, "{braced:?}");
        // A longer string braces lower.
        assert!(made.others[0].slack > made.own.slack && made.others[1].slack < made.own.slack);
    }

    #[test]
    fn lengths_and_strands_by_hand() {
        let text = SAMPLE.replace("[string]\n", "[string]\nstrand_strength = \"50 lb\"\ntail = \"8 in\"\n");
        let (_, both) = made(&text);
        // 4 x 40 lb = 160 lb by strands of 50 lb.
        assert_eq!(both.strands, Some(4));
        assert!((both.strand - both.own.slack - 2.0 * (2.5 + 8.0) * 0.0254).abs() < 1e-12);
        let (_, knot) = made(&text.replace("[string]\n", "[string]\nlower_end = \"knot\"\nknot = \"9 in\"\n"));
        assert!((knot.strand - knot.own.slack - (2.5 + 8.0 + 9.0) * 0.0254).abs() < 1e-12);
        assert_eq!(knot.loops.lower, None);
        // Twice the weight is less than twice the braced string's own pull, which counts then.
        let (_, few) = made(&text.replace("[string]\n", "[string]\ntimes_weight = 2\n"));
        assert!(few.must_hold == TIMES_PULL * few.greatest_pull && few.must_hold > 2.2 * few.weight, "{few:?}");
    }

    #[test]
    fn a_string_that_stretches_is_made_shorter() {
        let (_, stiff) = made(SAMPLE);
        let (_, soft) = made(&SAMPLE.replace("[string]\n", "[string]\nstretch = \"1 % at 100 lb\"\n"));
        // Braced it is as long as one that does not stretch, to the little that its other shape makes.
        assert!((soft.own.braced - stiff.own.slack).abs() < 1e-5, "{:?} {:?}", soft.own, stiff.own);
        let strain = 0.01 * soft.own.pull / (100.0 * crate::units::POUND);
        assert!((soft.own.braced / soft.own.slack - 1.0 - strain).abs() < 1e-9);
    }
}
