//! The draw: from brace to full draw in steps, both limbs, the handle's lean, pull and string angles, energy.

mod held;

use super::bracing::{Braced, RestingBow, brace, brace_near};
use super::elastica::BentLimb;
use super::lying::Lying;
use crate::design::{Both, Bracing, Design, DrawTo, Side};
use crate::fault::Fault;
use held::Draw;
use rayon::prelude::*;

/// One limb at one draw.
#[derive(Debug, Clone, PartialEq)]
pub struct LimbAtDraw {
    /// Pull of the free string toward this nock, N.
    pub pull: f64,
    /// Between the string leaving the nock and the limb, seen from the handle's side, rad.
    pub string_angle: f64,
    /// Seat of the string's centreline, handle frame (lower limb: `y` below the middle is minus), m.
    pub seat: [f64; 2],
    /// Where the free string starts, handle frame, m: the seat, or where the string leaves the belly it lies on.
    pub leaves: [f64; 2],
    /// How the string lies on the belly, its path in the handle frame; none where it is free from the nock on.
    pub lying: Option<Lying>,
    /// The bent limb in its own outward frame.
    pub bent: BentLimb,
}

impl LimbAtDraw {
    /// Pull on the nock itself, N: that of the free string, or of the loop's legs where the string lies on the belly.
    pub fn nock_pull(&self) -> f64 {
        self.lying.as_ref().map_or(self.pull, |lying| lying.leg_pull)
    }

    /// How far from the nock along the limb the string lies on it: from the throat to where it leaves, m.
    pub fn lies_from_nock(&self) -> Option<[f64; 2]> {
        let length = self.bent.s.last().copied().unwrap_or(0.0);
        self.lying.as_ref().map(|lying| [length - lying.throat, length - lying.lift_off])
    }

    /// A lying string seen from the limb laid straight: (a, b), m, its place along the limb from the nock, minus toward the handle, and
    /// its distance square to the centreline, plus toward the back; from the nock to `inward` (m) beyond where it leaves the belly.
    /// The nocking point is in the bow's frame.
    pub fn laid_straight(&self, nocking_point: [f64; 2], inward: f64) -> Option<Vec<[f64; 2]>> {
        let lying = self.lying.as_ref()?;
        let own = |[x, y]: [f64; 2]| [x, self.seat[1].signum() * y];
        let mut string = vec![own(self.seat)];
        string.extend(lying.path.iter().copied().map(own));
        string.push(own(nocking_point));
        let bent = &self.bent;
        let length = bent.s.last().copied()?;
        let mut seen = Vec::new();
        for i in (0..bent.s.len() - 1).rev().filter(|i| bent.s[i + 1] > lying.lift_off - inward) {
            let h = bent.s[i + 1] - bent.s[i];
            for step in 0..8 {
                let v = f64::from(step) / 8.0;
                let u = 1.0 - v;
                // Cubic through both nodes along their tangents (sin, cos).
                let cubic = |at: &[f64], slope: fn(f64) -> f64| {
                    let ends = at[i] * v * v * (1.0 + 2.0 * u) + at[i + 1] * u * u * (3.0 - 2.0 * u);
                    ends + h * u * v * (slope(bent.angle[i]) * v - slope(bent.angle[i + 1]) * u)
                };
                let place = [cubic(&bent.x, f64::sin), cubic(&bent.y, f64::cos)];
                let (sin, cos) = (bent.angle[i] * v + bent.angle[i + 1] * u).sin_cos();
                // Along and square to the limb there; plus toward the belly.
                let local = |p: &[f64; 2]| {
                    let [x, y] = [p[0] - place[0], p[1] - place[1]];
                    [x * sin + y * cos, x * cos - y * sin]
                };
                let crossing = string.windows(2).find_map(|pair| {
                    let ([a, p], [b, q]) = (local(&pair[0]), local(&pair[1]));
                    (a >= -1e-12 && b < 0.0).then(|| p + (q - p) * a / (a - b))
                });
                seen.extend(crossing.map(|off| [bent.s[i] + u * h - length, -off]));
            }
        }
        Some(seen)
    }
}

/// The bow at one draw.
#[derive(Debug, Clone, PartialEq)]
pub struct BowAtDraw {
    /// Draw as the design measures it, m.
    pub draw: f64,
    /// From the pivot to the nocking point, m: the draw that the force works along.
    pub to_pivot: f64,
    /// What a scale at the nocking point shows, N.
    pub force: f64,
    /// How far the handle leans from square to the arrow, rad; plus when the upper limb leans toward the archer.
    pub tilt: f64,
    /// The nocking point, handle frame, m.
    pub nocking_point: [f64; 2],
    /// Both limbs.
    pub limbs: Both<LimbAtDraw>,
}

/// A bow from brace to full draw.
///
/// What is true of it: `states` holds at least two, the first the braced bow (force 0), the last full draw, evenly spaced
/// in draw as the design measures it; forces are scaled to the weight the scale said where one is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Cycle {
    /// The braced bow.
    pub braced: Braced,
    /// From brace to full draw.
    pub states: Vec<BowAtDraw>,
    /// Strain energy gained from brace to full draw by both limbs and the string, J.
    pub energy: f64,
    /// Work under the draw curve, J, by Simpson's rule over the steps.
    pub work: f64,
    /// Draw at which the string leaves each belly that it lay on, m, as the design measures draw.
    pub comes_free: Both<Option<f64>>,
    /// Factor by which the limbs are stiffer than the modulus that was given; 1 where no weight was given.
    pub stiffness_factor: f64,
}

impl Cycle {
    /// The braced state.
    pub fn at_brace(&self) -> &BowAtDraw {
        &self.states[0]
    }

    /// The step half way from brace to full draw as the design measures it, or the one before.
    pub fn half_draw(&self) -> usize {
        (self.states.len() - 1) / 2
    }

    /// Half draw.
    pub fn at_half_draw(&self) -> &BowAtDraw {
        &self.states[self.half_draw()]
    }

    /// Full draw.
    pub fn at_full_draw(&self) -> &BowAtDraw {
        &self.states[self.states.len() - 1]
    }
}

/// Draw steps that reports use.
pub const DRAW_STEPS: usize = 40;

/// Draws a design's bow from brace to full draw in `steps` steps.
///
/// With a weight reading the limbs' stiffness is scaled as a whole until the scale reads it. For a string that does not
/// stretch one division does that: the same shapes hold at any common factor of stiffness and forces.
///
/// # Errors
/// Faults about the brace height, the draw or the weight's draw, when the bow cannot be braced or drawn to them, and about
/// the unstrung profile where the string would lie along a limb.
pub fn cycle(design: &Design, seat_offsets: Both<f64>, limb_steps: usize, steps: usize) -> Result<Cycle, Fault> {
    RestingBow::of(design, seat_offsets, limb_steps).free_or_lying(|bow| {
        let braced = brace(bow, design.bow.bracing)?;
        cycle_from(design, bow.clone(), braced, steps)
    })
}

/// The same for a design that differs little from one already drawn, starting from that one's braced shape.
///
/// # Errors
/// As for [`cycle`].
pub fn cycle_near(
    design: &Design,
    seat_offsets: Both<f64>,
    limb_steps: usize,
    steps: usize,
    known: &Cycle,
) -> Result<Cycle, Fault> {
    // The known pull is that of limbs whose stiffness was scaled; these are not yet.
    let unscaled = Braced { pull: known.braced.pull / known.stiffness_factor, ..known.braced };
    RestingBow::of(design, seat_offsets, limb_steps).free_or_lying(|bow| {
        let braced = brace_near(bow, design.bow.bracing, &unscaled)?;
        cycle_from(design, bow.clone(), braced, steps)
    })
}

fn cycle_from(design: &Design, mut bow: RestingBow, mut braced: Braced, steps: usize) -> Result<Cycle, Fault> {
    let to = design.bow.draw_to;
    let mut factor = 1.0;
    if let Some(reading) = design.bow.weight {
        let stretches = bow.string_stiffness.is_some();
        for _ in 0..if stretches { 12 } else { 1 } {
            let drawn = Draw::new(&bow, &braced, to)?.reach(reading.draw, "bow.weight")?;
            let change = reading.pull / drawn.force(&drawn.nocks()?);
            factor *= change;
            bow = bow.stiffened(change);
            braced.pull *= change;
            if stretches {
                // A stiffer bow stretches the string more, so its shape is another one.
                braced = brace_near(&bow, design.bow.bracing, &braced)?;
            }
            if (change - 1.0).abs() < 1e-12 {
                break;
            }
        }
    }
    let mut cycle = draw_bow(&bow, &braced, to, design.bow.draw, steps)?;
    cycle.stiffness_factor = factor;
    Ok(cycle)
}

/// Draws a braced bow to `full_draw`, measured as `to` says, in `steps` steps.
///
/// # Errors
/// As for [`cycle`].
pub fn draw_bow(bow: &RestingBow, braced: &Braced, to: DrawTo, full_draw: f64, steps: usize) -> Result<Cycle, Fault> {
    let mut draw = Draw::new(bow, braced, to)?;
    let start = draw.measure();
    let string_energy = |draw: &Draw| -> f64 {
        bow.string_stiffness
            .map_or(0.0, |k| Side::BOTH.iter().map(|&s| 0.5 * draw.pull(s).powi(2) / k * *braced.parts.get(s)).sum())
    };
    let string_at_brace = string_energy(&draw);
    let mut draws = vec![draw.clone()];
    let mut stopped = None;
    for k in 1..=steps {
        match draw.reach(start + (full_draw - start) * k as f64 / steps as f64, "bow.draw") {
            Ok(next) => draw = next,
            Err(fault) => {
                stopped = Some(fault);
                break;
            }
        }
        draws.push(draw.clone());
    }
    // Each state by itself; what comes out does not depend on the threads. The earliest fault is the one that counts.
    let states = draws.par_iter().map(Draw::state).collect::<Vec<_>>().into_iter().collect::<Result<Vec<_>, _>>()?;
    if let Some(fault) = stopped {
        return Err(fault);
    }
    let limbs = |s: &BowAtDraw| s.limbs.upper.bent.energy + s.limbs.lower.bent.energy;
    let energy = limbs(&states[steps]) - limbs(&states[0]) + string_energy(&draw) - string_at_brace;
    let work = work_under(&states);
    let comes_free = Both::build(|side| {
        let k = (0..steps).find(|&k| draws[k].lies(side) && !draws[k + 1].lies(side))?;
        Some(draws[k].comes_free(side, draws[k + 1].measure()))
    });
    Ok(Cycle { braced: *braced, states, energy, work, comes_free, stiffness_factor: 1.0 })
}

/// Braces a bow whose string may lie on its limbs, and sees that it lies nowhere else.
///
/// # Errors
/// As for [`brace`], and about the unstrung profile where the string would lie along a limb.
pub fn string_up(bow: &RestingBow, bracing: Bracing) -> Result<Braced, Fault> {
    bow.free_or_lying(|bow| {
        let braced = brace(bow, bracing)?;
        Draw::new(bow, &braced, DrawTo::Pivot).map(|_| braced)
    })
}

/// Work under the draw curve, J: `INT F d(to_pivot)`, by the parabola through each three steps.
///
/// The force acts along the line from the pivot to the nocking point, so it works along that distance, whichever way the
/// draw is measured. Where the string leaves a belly the curve has a corner that a parabola cuts across: with forty steps
/// that costs a few millionths, at worst some hundred-thousandths.
fn work_under(states: &[BowAtDraw]) -> f64 {
    let mut work = 0.0;
    let panel = |a: &BowAtDraw, b: &BowAtDraw, c: &BowAtDraw, from: f64, to: f64| -> f64 {
        // Newton's form of the parabola, integrated between `from` and `to`.
        let first = (b.force - a.force) / (b.to_pivot - a.to_pivot);
        let second = ((c.force - b.force) / (c.to_pivot - b.to_pivot) - first) / (c.to_pivot - a.to_pivot);
        let whole = |x: f64| {
            let (u, gap) = (x - a.to_pivot, b.to_pivot - a.to_pivot);
            a.force * u + first * u * u / 2.0 + second * (u * u * u / 3.0 - gap * u * u / 2.0)
        };
        whole(to) - whole(from)
    };
    let n = states.len();
    let mut k = 0;
    while k + 2 < n {
        work += panel(&states[k], &states[k + 1], &states[k + 2], states[k].to_pivot, states[k + 2].to_pivot);
        k += 2;
    }
    if k + 1 < n {
        work += match k {
            0 => 0.5 * (states[0].force + states[1].force) * (states[1].to_pivot - states[0].to_pivot),
            _ => panel(&states[k - 1], &states[k], &states[k + 1], states[k].to_pivot, states[k + 1].to_pivot),
        };
    }
    work
}
