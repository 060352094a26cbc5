//! Does the loop stay on its nock, quietly, through the draw and back?

use super::string_bearing::{BELLY_CURE, Round};
use crate::design::Side;
use crate::findings::{Bound, Check, Quantity, Verdict};
use crate::nock::Nock;
use crate::string::path::figures::PINCH;
use crate::string::path::{Click, Figures, Run, Unrest};
use crate::units::{angle_text, plain_length_text};
use crate::worked::Worked;

/// Largest jump of the throat that is still called smooth, m. Smaller could not be told from a wave of the file; larger
/// can be felt. Common practice, no source.
pub const SMOOTH: f64 = 0.02e-3;

/// The way a loop is lost, in words.
pub fn lost_words(how: &Unrest) -> String {
    let words = match how {
        Unrest::TooShort(by) => {
            return format!("the loop is too short to go round the tip, by {:.0} mm and more", (by * 1e3).ceil());
        }
        Unrest::OffTheEnd => "the loop slides off over the tip's end",
        Unrest::DownTheLimb => "the loop slides down the limb toward the handle",
        Unrest::Unsettled(_) => "no rest was found for the loop within the steps allowed",
        Unrest::Balanced => "the loop stays in a balance that would not last, and no rest was found beside it",
    };
    words.into()
}

/// What keeps a loop on that is lost this way.
fn stay_cure(how: Option<Unrest>) -> &'static str {
    match how {
        Some(Unrest::TooShort(_)) => "a longer loop, or a slighter tip",
        Some(Unrest::OffTheEnd) => "a longer tip, or a groove farther from its end",
        _ => "a deeper groove, a wall nearer to the string's path, or a longer tip",
    }
}

/// Limbs whose string hangs by a loop. A knot is tied round its tip and grips: it does not roll, so none of this is asked of it.
fn looped(worked: &Worked) -> impl Iterator<Item = Side> + '_ {
    Side::BOTH.into_iter().filter(|&side| !worked.design.is_tied(side))
}

fn largest(run: &Run) -> Option<&Click> {
    run.clicks.iter().max_by(|a, b| a.size.abs().total_cmp(&b.size.abs()))
}

/// Jumps of the loop as the bow is drawn, and as it is let down.
pub fn clicks(worked: &Worked) -> Vec<Check> {
    let units = worked.design.units;
    let check = |side: Side, run: &Run, letting_down: bool| {
        let click = largest(run);
        let measured = click.map_or(0.0, |c| c.size.abs());
        Check {
            id: if letting_down { "click_letting_down" } else { "click" },
            side: Some(side),
            title: if letting_down {
                "largest click of the loop as the bow is let down".into()
            } else {
                "largest click of the loop as the bow is drawn".into()
            },
            place: click.map_or(String::new(), |c| {
                format!(
                    "({:.1} mJ) at a draw of {}, string angle {}",
                    1e3 * c.energy.abs(),
                    plain_length_text(c.at.draw, units),
                    angle_text(c.at.angle)
                )
            }),
            measured,
            allowed: SMOOTH,
            quantity: Quantity::Length,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, SMOOTH, Bound::AtMost, 0.5),
            why: "where the string must climb an edge of the groove it gives way all at once: the throat jumps along the \
                  pull, the string chafes, and the jump's energy goes into the edge"
                .into(),
            source: "simulated, taut loop without friction on the finished tip; the limit: common practice, no source".into(),
            cure: "a blended groove; there a larger wall_radius, rounder back edges (shoulder) or a higher overlay, then a larger fan_margin".into(),
        }
    };
    both_ways(worked, check)
}

/// How far the loop stays on as the bow is drawn from its least string angle, and as it is let down from its greatest.
pub fn stays_on(worked: &Worked) -> Vec<Check> {
    let check = |side: Side, run: &Run, letting_down: bool| {
        let swing = worked.statics.swings.get(side);
        let (allowed, bound) =
            if letting_down { (swing.least, Bound::AtMost) } else { (swing.greatest, Bound::AtLeast) };
        // Where the run was not lost it went all the way.
        let measured = run.leaves.map_or(allowed, |lost| lost.at.angle);
        Check {
            id: if letting_down { "loop_stays_on_letting_down" } else { "loop_stays_on" },
            side: Some(side),
            title: if letting_down {
                "string angle down to which the loop stays on as the bow is let down".into()
            } else {
                "string angle up to which the loop stays on as the bow is drawn".into()
            },
            place: run.leaves.map_or(String::new(), |lost| {
                let draw = plain_length_text(lost.at.draw, worked.design.units);
                format!("({} at a draw of {draw})", lost_words(&lost.how))
            }),
            measured,
            allowed,
            quantity: Quantity::Angle,
            bound,
            // A loop may be lost at the very first or last step, where the angle alone would not show it.
            verdict: if run.leaves.is_some() { Verdict::Fails } else { Check::judge(measured, allowed, bound, 0.0) },
            why: "a loop that finds no rest is thrown off, and the bow with it".into(),
            source: "simulated, taut loop without friction on the finished tip".into(),
            cure: stay_cure(run.leaves.map(|lost| lost.how)).into(),
        }
    };
    both_ways(worked, check)
}

/// One check for each limb as the bow is drawn, then one for each as it is let down.
fn both_ways(worked: &Worked, check: impl Fn(Side, &Run, bool) -> Check) -> Vec<Check> {
    let drawn = looped(worked).map(|side| check(side, &worked.loops().get(side).draw, false));
    let let_down =
        looped(worked).filter_map(|side| worked.loops().get(side).let_down.as_ref().map(|run| check(side, run, true)));
    drawn.chain(let_down).collect()
}

/// Contacts nearer than this to the groove's crest are at the string's seat, where nothing stands in its way, rad.
const AT_SEAT: f64 = 0.35;

/// Sideways load on the groove's edge toward the tip, N. In a slot on one side only as far as it has its full depth: beyond, the
/// string bears on the floor itself as it rises to the bare back.
pub fn pinched(nock: &Nock, figures: &Figures) -> f64 {
    let Some(groove) = nock.groove.as_ref().filter(|g| !g.is_even()) else { return figures.pinched };
    let within = |theta: f64| {
        let from_crest = (theta - groove.girth.about).abs();
        from_crest >= AT_SEAT && groove.girth.along(from_crest) < groove.run[0]
    };
    let edge = figures.contacts.iter().filter(|c| within(c.theta));
    edge.map(|c| c.load * c.length * (-c.lean.sin()).max(0.0)).sum()
}

/// Nothing on the groove's side toward the tip stands in the string's way.
pub fn way_is_free(worked: &Worked) -> Vec<Check> {
    let most = |side: Side| {
        let (nock, run) = (worked.nocks.get(side), &worked.loops().get(side).draw);
        let states = run.steps.iter().zip(&run.figures);
        states
            .map(|(step, f)| (pinched(nock, f) / f.leg, step))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(v, k)| (side, v, k))
    };
    looped(worked)
        .filter_map(most)
        .map(|(side, measured, at)| Check {
            id: "way_is_free",
            side: Some(side),
            title: "sideways load on the groove's edge toward the tip, as a part of a leg's pull".into(),
            place: format!(
                "at a draw of {}, string angle {}",
                plain_length_text(at.draw, worked.design.units),
                angle_text(at.angle)
            ),
            measured,
            allowed: PINCH,
            quantity: Quantity::Ratio,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, PINCH, Bound::AtMost, 0.0),
            why: "the string bears on the wall toward the handle; where it is bent round an edge toward the tip, that edge \
                  stands within its sweep and chafes it"
                .into(),
            source: "simulated; the limit is set between sound and deliberately narrow grooves followed by this program, \
                     no outside source"
                .into(),
            cure: "a larger wall_radius, rounder back edges (shoulder) or a higher overlay; past the greatest angle, a larger fan_margin".into(),
        })
        .collect()
}

/// The sharpest bend the string is asked to make, by its centreline.
pub fn sharpest_bend(worked: &Worked) -> Vec<Check> {
    let diameter = worked.design.string.diameter;
    sharpest(worked)
        .into_iter()
        .map(|(side, measured, draw, place)| Check {
            id: "sharpest_bend",
            side: Some(side),
            title: "sharpest bend of the string's centreline anywhere in the draw".into(),
            place: format!("at a draw of {}, {}", plain_length_text(draw, worked.design.units), place.words()),
            measured,
            allowed: diameter,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(measured, diameter, Bound::AtLeast, 0.1),
            why: "an edge rounded to less than half the string's diameter (centreline bent to less than one diameter) \
                  crushes and cuts its strands"
                .into(),
            source: "simulated; the limit: common practice, no source, for no table of string strength against bend \
                     radius is known"
                .into(),
            cure: if place == Round::BellyEdge {
                BELLY_CURE.into()
            } else {
                "rounder back edges and groove edges, a larger wall_radius".into()
            },
        })
        .collect()
}

/// Sharpest bend at each tip over the draw: limb, radius, draw, and where round the tip.
fn sharpest(worked: &Worked) -> Vec<(Side, f64, f64, Round)> {
    let least = |side: Side| {
        let run = &worked.loops().get(side).draw;
        let states = run.steps.iter().zip(&run.figures);
        let (step, figures) = states.min_by(|a, b| a.1.sharpest.total_cmp(&b.1.sharpest))?;
        let bent = figures.contacts.iter().max_by(|a, b| a.curvature.total_cmp(&b.curvature))?;
        Some((side, figures.sharpest, step.draw, Round::at(bent.theta)))
    };
    looped(worked).filter_map(least).collect()
}
