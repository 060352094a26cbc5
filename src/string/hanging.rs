//! The loop on its nock through the whole draw and back.

use super::path::{DrawStep, Leaves, Loop, Rest, Run, Settings, Unrest, run};
use super::sweep::Swing;
use crate::bow::draw_curve::BowAtDraw;
use crate::design::{BowString, Side};
use crate::nock::Nock;
use std::f64::consts::FRAC_PI_2;

/// What is said where the string is tied on and no loop is followed.
pub const TIED: &str = "tied with a bowyer's knot: it grips and does not roll, there is no loop to follow";

/// What the loop does on one nock.
#[derive(Debug, Clone, PartialEq)]
pub struct Hanging {
    /// From the least string angle the nock must serve to the greatest, the bow's own draw in between.
    pub draw: Run,
    /// Back again, from where the draw ended; none when the loop was lost on the way.
    pub let_down: Option<Run>,
    /// Polar angles of the chain's points, rad.
    pub angles: Vec<f64>,
    /// Index of the bow's own brace among the steps.
    pub first_own: usize,
    /// Index of the bow's own full draw among the steps.
    pub last_own: usize,
}

/// The steps of a run: the bow's own from brace to full draw, with a few before and after where the nock must serve
/// flatter or steeper strings.
///
/// Draws before brace and beyond full draw are carried on along the curve's ends: they name a place on a bow braced
/// lower or drawn farther.
pub fn steps(states: &[BowAtDraw], side: Side, swing: &Swing) -> (Vec<DrawStep>, usize, usize) {
    let step = |state: &BowAtDraw| {
        let limb = state.limbs.get(side);
        DrawStep { draw: state.draw, angle: limb.string_angle, pull: limb.nock_pull() }
    };
    let own: Vec<DrawStep> = states.iter().map(step).collect();
    let (first, last) = (own[0], own[own.len() - 1]);
    let beyond = |end: DrawStep, next: DrawStep, angle: f64| {
        let turned = end.angle - next.angle;
        // A loop whose throat rests on the belly hardly turns: there the draw says nothing of the angle.
        let rate = if turned.abs() > 1e-3 { (end.draw - next.draw) / turned } else { 0.0 };
        DrawStep { draw: end.draw + rate * (angle - end.angle), angle, pull: swing.greatest_pull }
    };
    /// Extra steps at either end, each at most this far apart, rad: about what the bow's own steps are.
    const APART: f64 = 0.03;
    let extra = |gap: f64| if gap > 1e-6 { (gap / APART).ceil() as usize } else { 0 };
    let (before, after) = (extra(first.angle - swing.least), extra(swing.greatest - last.angle));
    let mut all: Vec<DrawStep> = (0..before)
        .map(|k| {
            let angle = swing.least + (first.angle - swing.least) * k as f64 / before as f64;
            beyond(first, own[1], angle)
        })
        .collect();
    all.extend(&own);
    all.extend((1..=after).map(|k| {
        let angle = last.angle + (swing.greatest - last.angle) * k as f64 / after as f64;
        beyond(last, own[own.len() - 2], angle)
    }));
    (all, before, before + own.len() - 1)
}

/// Hangs the loop on the nock at the least string angle and follows it to the greatest and back.
pub fn hang(
    nock: &Nock,
    string: &BowString,
    states: &[BowAtDraw],
    side: Side,
    swing: &Swing,
    settings: Settings,
) -> Hanging {
    let (steps, first_own, last_own) = steps(states, side, swing);
    let mut hung = Loop::new(&nock.solid, string.diameter, string.loop_length, settings);
    let start = put_on(&mut hung, nock, steps[0], swing);
    let draw = match start {
        Ok(start) => run(&mut hung, &start, &steps, nock.seat_offset),
        Err(how) => Run {
            steps: Vec::new(),
            rests: Vec::new(),
            figures: Vec::new(),
            clicks: Vec::new(),
            leaves: Some(Leaves { at: steps[0], how }),
        },
    };
    let let_down = match (draw.leaves, draw.rests.last()) {
        (None, Some(last)) => {
            let back: Vec<DrawStep> = steps.iter().rev().copied().collect();
            Some(run(&mut hung, last, &back, nock.seat_offset))
        }
        _ => None,
    };
    Hanging { angles: hung.angles().to_vec(), draw, let_down, first_own, last_own }
}

/// The string angle at which a loop is put on that lies aslant over the back, rad: steep enough to lie nearly square to the limb.
const PUT_ON: f64 = 1.4;
/// From there the string is brought down to the least angle by at most so much at a time, rad.
const BROUGHT_DOWN: f64 = 0.03;

/// The loop as it lies when it is put on. On a nock that is not the same on both sides the bare part of the loop lies far down
/// the limb at small string angles: there it is put on with the string held steep, and the string brought down.
fn put_on(hung: &mut Loop<'_>, nock: &Nock, first: DrawStep, swing: &Swing) -> Result<Rest, Unrest> {
    if nock.is_even() {
        return hung.hang(first.direction(), |theta| nock.line(theta));
    }
    let steep = PUT_ON.max(swing.greatest.min(FRAC_PI_2));
    let count = ((steep - first.angle) / BROUGHT_DOWN).ceil().max(1.0);
    let at = |k: f64| DrawStep { angle: steep + (first.angle - steep) * k / count, ..first };
    let mut rest = hung.hang(at(0.0).direction(), |theta| nock.line(theta))?;
    for k in 0..=count as usize {
        hung.settle(&mut rest, at(k as f64).direction())?;
    }
    Ok(rest)
}

/// How one loop's way through the draw differs from another's in the same limb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// The throat's reach, at most, m.
    pub reach: f64,
    /// Greatest load per length on the tip, of the one and of the other, N/m.
    pub load: [f64; 2],
}

impl Hanging {
    /// How it differs from another through the same steps; none where either is lost on the way.
    pub fn apart_from(&self, other: &Hanging) -> Option<Apart> {
        self.let_down.as_ref().and(other.let_down.as_ref())?;
        let pairs = self.draw.figures.iter().zip(&other.draw.figures);
        let reach = pairs.map(|(a, b)| (a.along_pull - b.along_pull).abs()).fold(0.0, f64::max);
        let most = |h: &Hanging| h.draw.figures.iter().map(|f| f.most_load).fold(0.0, f64::max);
        Some(Apart { reach, load: [most(self), most(other)] })
    }

    /// A string that is tied on with a bowyer's knot: it grips and does not roll, so there is no loop to follow.
    pub fn tied() -> Self {
        let draw = Run { steps: Vec::new(), rests: Vec::new(), figures: Vec::new(), clicks: Vec::new(), leaves: None };
        Hanging { draw, let_down: None, angles: Vec::new(), first_own: 0, last_own: 0 }
    }

    /// Whether a loop was followed; not so where the string is tied on.
    pub fn is_followed(&self) -> bool {
        self.draw.leaves.is_some() || !self.draw.steps.is_empty()
    }

    /// The largest jump of the draw and of the let-down, m; 0 where there is none.
    pub fn largest_click(&self) -> [f64; 2] {
        let largest = |run: &Run| run.clicks.iter().map(|c| c.size.abs()).fold(0.0, f64::max);
        [largest(&self.draw), self.let_down.as_ref().map_or(0.0, largest)]
    }
}
