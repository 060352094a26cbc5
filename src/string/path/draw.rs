//! The loop followed through the draw: clicks, and where it leaves the tip.

use super::chain::{Loop, Rest, Unrest};
use super::figures::Figures;

/// One step of the draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawStep {
    /// Draw, m; carried along to name places.
    pub draw: f64,
    /// String angle, rad.
    pub angle: f64,
    /// The string's pull, N.
    pub pull: f64,
}

impl DrawStep {
    fn between(self, other: DrawStep, f: f64) -> DrawStep {
        let mix = |a: f64, b: f64| a + f * (b - a);
        DrawStep {
            draw: mix(self.draw, other.draw),
            angle: mix(self.angle, other.angle),
            pull: mix(self.pull, other.pull),
        }
    }

    /// The pull's direction (a, w, b).
    pub fn direction(self) -> [f64; 3] {
        let (s, c) = self.angle.sin_cos();
        [-c, 0.0, -s]
    }

    /// How the direction turns with the angle.
    fn turning(self) -> [f64; 3] {
        let (s, c) = self.angle.sin_cos();
        [s, 0.0, -c]
    }
}

/// A jump of the loop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Click {
    /// At which draw, angle and pull.
    pub at: DrawStep,
    /// How far the throat jumps along the pull, m.
    pub size: f64,
    /// The pull times that, J.
    pub energy: f64,
    /// How far the loop's middle on the back moves along `a`, m.
    pub shift: f64,
}

/// How a loop was lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaves {
    /// At which draw, angle and pull.
    pub at: DrawStep,
    /// Which way.
    pub how: Unrest,
}

/// A run through the draw, or back.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The steps that were reached.
    pub steps: Vec<DrawStep>,
    /// The loop at each.
    pub rests: Vec<Rest>,
    /// Its figures at each.
    pub figures: Vec<Figures>,
    /// Jumps on the way, in order.
    pub clicks: Vec<Click>,
    /// Where the loop was lost, if it was.
    pub leaves: Option<Leaves>,
}

impl Run {
    /// Draw and reach along the pull, m, by step; a click stands upright at its own draw.
    pub fn reach_by_draw(&self) -> Vec<(f64, f64)> {
        let at = |k: usize| (self.steps[k].draw, self.figures[k].along_pull);
        let mut points: Vec<(f64, f64)> = Vec::with_capacity(self.steps.len() + 2 * self.clicks.len());
        for k in 0..self.steps.len() {
            if k > 0 {
                let ((d0, r0), (d1, r1)) = (at(k - 1), at(k));
                let between = |d: f64| (d - d0) * (d - d1) <= 0.0 && d != d0;
                let clicks: Vec<&Click> = self.clicks.iter().filter(|c| between(c.at.draw)).collect();
                // What is not jumped is gone through evenly.
                let even = r1 - r0 - clicks.iter().map(|c| c.size).sum::<f64>();
                let mut jumped = 0.0;
                for click in clicks {
                    let reach = r0 + even * (click.at.draw - d0) / (d1 - d0) + jumped;
                    points.push((click.at.draw, reach));
                    points.push((click.at.draw, reach + click.size));
                    jumped += click.size;
                }
            }
            points.push(at(k));
        }
        points
    }
}

/// Jumps below this are not told apart from the chain's own graininess, m.
const LEAST_CLICK: f64 = 3e-6;
/// A jump is located to this part of a step of the draw.
const HALVINGS: u32 = 9;

fn dot(u: [f64; 3], v: [f64; 3]) -> f64 {
    u[0] * v[0] + u[1] * v[1] + u[2] * v[2]
}

/// Fall of the potential between two rests that turning the pull does not explain, m along the pull.
///
/// With `E = -u . X` and the loop always at rest, `dE/dangle = -u' . X`; the trapezoid of that is exact to the third order in the step.
fn unexplained(hung: &Loop<'_>, from: (&DrawStep, &Rest), to: (&DrawStep, &Rest)) -> f64 {
    let (x0, x1) = (hung.throat(from.1), hung.throat(to.1));
    let rise = dot(to.0.direction(), x1) - dot(from.0.direction(), x0);
    let turn = to.0.angle - from.0.angle;
    rise - 0.5 * turn * (dot(from.0.turning(), x0) + dot(to.0.turning(), x1))
}

/// Follows the loop from `start` (at rest at the first step) through `steps`. `seat` is the string's height at the seat, m.
pub fn run(hung: &mut Loop<'_>, start: &Rest, steps: &[DrawStep], seat: f64) -> Run {
    let mut out = Run { steps: Vec::new(), rests: Vec::new(), figures: Vec::new(), clicks: Vec::new(), leaves: None };
    let Some(first) = steps.first() else { return out };
    let mut now = start.clone();
    if let Err(how) = hung.settle(&mut now, first.direction()) {
        out.leaves = Some(Leaves { at: *first, how });
        return out;
    }
    let note = |out: &mut Run, hung: &Loop<'_>, step: DrawStep, rest: &Rest| {
        out.figures.push(Figures::of(hung, rest, step.direction(), step.pull, seat));
        out.steps.push(step);
        out.rests.push(rest.clone());
    };
    note(&mut out, hung, *first, &now);
    let mut last = *first;
    for step in &steps[1..] {
        let mut part = 0;
        // Within one step there may be several jumps; each is taken on its own.
        let mut goal = *step;
        loop {
            let before = now.clone();
            let result = advance(hung, &mut now, last, goal);
            match result {
                Ok(None) => last = goal,
                Ok(Some((click, at))) => {
                    out.clicks.push(click);
                    last = at;
                }
                Err(lost) => {
                    out.leaves = Some(locate_loss(hung, &before, last, lost));
                    return out;
                }
            }
            if last == *step {
                break;
            }
            part += 1;
            goal = *step;
            if part > 40 {
                // More jumps than can be told apart: go on from where the loop is.
                if let Err(how) = hung.settle(&mut now, step.direction()) {
                    out.leaves = Some(Leaves { at: *step, how });
                    return out;
                }
                last = *step;
                break;
            }
        }
        note(&mut out, hung, *step, &now);
    }
    out
}

/// Goes from `from` to `to`; with a jump on the way, only to just after the first one.
fn advance(
    hung: &mut Loop<'_>,
    now: &mut Rest,
    from: DrawStep,
    to: DrawStep,
) -> Result<Option<(Click, DrawStep)>, Leaves> {
    let start = now.clone();
    hung.settle(now, to.direction()).map_err(|how| Leaves { at: to, how })?;
    if unexplained(hung, (&from, &start), (&to, now)).abs() < LEAST_CLICK {
        return Ok(None);
    }
    // A long step may leap out of a rest that is still there, and where it ends hangs on how long it was. From here on the loop is let
    // go gently, in steps that a sluggish loop would take.
    now.clone_from(&start);
    gently(hung, now, to)?;
    if unexplained(hung, (&from, &start), (&to, now)).abs() < LEAST_CLICK {
        return Ok(None);
    }
    let (mut low, mut high) = ((from, start), (to, now.clone()));
    for _ in 0..HALVINGS {
        let mid = low.0.between(high.0, 0.5);
        let mut there = low.1.clone();
        gently(hung, &mut there, mid)?;
        let first = unexplained(hung, (&low.0, &low.1), (&mid, &there));
        let second = unexplained(hung, (&mid, &there), (&high.0, &high.1));
        if first.abs() >= second.abs() {
            high = (mid, there)
        } else {
            low = (mid, there)
        }
        // A step too coarse for the trapezoid, not a jump: what is left shrinks with the step.
        let left = unexplained(hung, (&low.0, &low.1), (&high.0, &high.1));
        if left.abs() < LEAST_CLICK {
            *now = high.1;
            return if high.0 == to {
                Ok(None)
            } else {
                // Nothing jumped up to here; the rest is taken from here.
                advance_rest(hung, now, high.0, to)
            };
        }
    }
    let size = unexplained(hung, (&low.0, &low.1), (&high.0, &high.1));
    let middle = low.1.a.len() / 2;
    let click = Click { at: high.0, size, energy: size * high.0.pull, shift: high.1.a[middle] - low.1.a[middle] };
    *now = high.1;
    Ok(Some((click, high.0)))
}

/// Lets the loop settle in small steps.
fn gently(hung: &mut Loop<'_>, rest: &mut Rest, at: DrawStep) -> Result<(), Leaves> {
    rest.gently = true;
    hung.settle(rest, at.direction()).map_err(|how| Leaves { at, how })
}

fn advance_rest(
    hung: &mut Loop<'_>,
    now: &mut Rest,
    from: DrawStep,
    to: DrawStep,
) -> Result<Option<(Click, DrawStep)>, Leaves> {
    // One more halving at a time, so that this ends: each call starts farther on.
    let start = now.clone();
    gently(hung, now, to)?;
    let gap = unexplained(hung, (&from, &start), (&to, now));
    if gap.abs() < 4.0 * LEAST_CLICK {
        return Ok(None);
    }
    let middle = start.a.len() / 2;
    let click = Click { at: to, size: gap, energy: gap * to.pull, shift: now.a[middle] - start.a[middle] };
    Ok(Some((click, to)))
}

/// The draw at which a loop is lost, by halving from its last rest.
fn locate_loss(hung: &mut Loop<'_>, before: &Rest, from: DrawStep, lost: Leaves) -> Leaves {
    let (mut low, mut high, mut rest) = (from, lost, before.clone());
    for _ in 0..HALVINGS {
        let mid = low.between(high.at, 0.5);
        let mut there = rest.clone();
        match hung.settle(&mut there, mid.direction()) {
            Ok(()) => (low, rest) = (mid, there),
            Err(how) => high = Leaves { at: mid, how },
        }
    }
    high
}
