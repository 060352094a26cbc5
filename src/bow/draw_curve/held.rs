//! A bow held at one draw: balance of both limbs, the handle and the hand.

use super::{BowAtDraw, LimbAtDraw};
use crate::bow::bracing::{Braced, RestingBow, cross, length, minus};
use crate::bow::clearance::{self, Held};
use crate::bow::elastica::{BentLimb, NockState, bent_limb};
use crate::bow::lying::Lying;
use crate::design::{Both, DrawTo, Side};
use crate::fault::Fault;
use crate::numerics::newton;
use crate::units::both_text;

/// A bow held at some draw: the unknowns of the equations and what they were solved for.
#[derive(Clone)]
pub(super) struct Draw<'a> {
    bow: &'a RestingBow,
    braced: &'a Braced,
    to: DrawTo,
    /// Pull over the pull at brace and course of the upper limb, of the lower limb, and the nocking point over the
    /// string's length.
    unknowns: [f64; 6],
    /// Draws and unknowns of the steps before, the last first, to look ahead from.
    before: [Option<(f64, [f64; 6])>; LOOK_BACK],
}

/// How many steps before the present one a look ahead takes in.
const LOOK_BACK: usize = 3;

/// How far beyond the draw that is sought a start is taken where none nearer does, m.
const BEYOND: [f64; 3] = [0.5e-3, 2e-3, 5e-3];

impl<'a> Draw<'a> {
    pub(super) fn new(bow: &'a RestingBow, braced: &'a Braced, to: DrawTo) -> Result<Self, Fault> {
        let span = braced.string_length;
        let Both { upper, lower } = braced.course;
        let [x, y] = braced.nocking_point;
        let draw =
            Draw { bow, braced, to, unknowns: [1.0, upper, 1.0, lower, x / span, y / span], before: [None; LOOK_BACK] };
        draw.is_clear(&draw.bent(), &draw.nocks()?)?;
        Ok(draw)
    }

    fn nocking_point(&self) -> [f64; 2] {
        [self.unknowns[4] * self.braced.string_length, self.unknowns[5] * self.braced.string_length]
    }

    pub(super) fn pull(&self, side: Side) -> f64 {
        self.braced.pull * self.unknowns[if side == Side::Upper { 0 } else { 2 }]
    }

    fn course(&self, side: Side) -> f64 {
        self.unknowns[if side == Side::Upper { 1 } else { 3 }]
    }

    /// Where the draw is measured from, and what is added.
    fn mark(&self) -> ([f64; 2], f64) {
        match self.to {
            DrawTo::Back => (self.bow.arrow_pass, 0.0),
            DrawTo::Pivot => ([0.0, self.bow.pivot], 0.0),
            // 1 3/4 in.
            DrawTo::PivotPlus => ([0.0, self.bow.pivot], 0.04445),
        }
    }

    /// Draw as the design measures it, m.
    pub(super) fn measure(&self) -> f64 {
        let (from, more) = self.mark();
        length(minus(self.nocking_point(), from)) + more
    }

    /// The hand's force, N: what both parts of the string add up to.
    pub(super) fn force(&self, nocks: &Both<NockState>) -> f64 {
        let mut sum = [0.0; 2];
        for side in Side::BOTH {
            for (total, part) in sum.iter_mut().zip(nocks.get(side).string) {
                *total += self.pull(side) * part;
            }
        }
        length(sum)
    }

    pub(super) fn nocks(&self) -> Result<Both<NockState>, Fault> {
        let nocks = self.bow.nocks(Both::build(|side| self.pull(side)), Both::build(|side| self.course(side)));
        nocks.map_err(|side| clearance::lies_past_the_limb(side, self.measure()))
    }

    /// The same bow drawn to `target`, in as many steps as it takes.
    pub(super) fn reach(&self, target: f64, key: &str) -> Result<Self, Fault> {
        let mut here = self.clone();
        let whole = target - here.measure();
        let mut step = whole;
        while (here.measure() - target).abs() > 1e-12 * target.abs().max(1e-3) {
            let left = target - here.measure();
            let goal = if step.abs() >= left.abs() { target } else { here.measure() + step };
            match here.solved(goal) {
                Some(next) => here = next,
                None => {
                    step = 0.5 * if step.abs() >= left.abs() { left } else { step };
                    if step.abs() < 1e-5 {
                        return Err(self.out_of_reach(target, here.measure(), key));
                    }
                }
            }
        }
        Ok(here)
    }

    fn out_of_reach(&self, wanted: f64, reached: f64, key: &str) -> Fault {
        Fault::at(
            key,
            format!("the string cannot be drawn to {}", both_text(wanted)),
            format!("with this string and these limbs it comes to {} and no further", both_text(reached)),
        )
        .cure("check the draw, and whether draw_to says how it was measured")
    }

    /// Newton's method for one draw. Unknowns: pull and course of both limbs, and the nocking point `N`. Equations:
    /// each part of the string points from its seat to `N` and keeps its length; the hand's force, the sum of both pulls,
    /// runs through the pivot; and the draw is what is wanted.
    fn solved(&self, target: f64) -> Option<Self> {
        let (bow, span) = (self.bow, self.braced.string_length);
        let pull0 = self.braced.pull;
        let scale = [pull0, 1.0, pull0, 1.0];
        let (mark, more) = self.mark();
        let pivot = [0.0, bow.pivot];
        let equations = |u: &[f64; 6]| -> Option<newton::Equations<6>> {
            if u[0] <= 0.0 || u[2] <= 0.0 || u[1].abs() > 3.1 || u[3].abs() > 3.1 {
                return None;
            }
            let point = [u[4] * span, u[5] * span];
            let mut residual = [0.0; 6];
            let mut jacobian = [[0.0; 6]; 6];
            let mut force = [0.0; 2];
            let mut force_by = [[0.0; 2]; 6];
            let pulls = Both { upper: pull0 * u[0], lower: pull0 * u[2] };
            let nocks = bow.nocks(pulls, Both { upper: u[1], lower: u[3] }).ok()?;
            for (side, first) in [(Side::Upper, 0), (Side::Lower, 2)] {
                let (pull, nock) = (*pulls.get(side), nocks.get(side));
                let part = minus(point, nock.seat);
                let gap = length(part);
                let (wanted, wanted_by) = bow.stretched(*self.braced.parts.get(side), pull);
                residual[first] = cross(nock.string, part) / span;
                residual[first + 1] = (gap + nock.used - wanted) / span;
                for p in 0..2 {
                    let k = first + p;
                    let seat_by = nock.seat_by[p].map(|v| v * scale[k]);
                    let string_by = nock.string_by[p].map(|v| v * scale[k]);
                    jacobian[first][k] = (cross(string_by, part) - cross(nock.string, seat_by)) / span;
                    let stretch = if p == 0 { wanted_by * scale[k] } else { 0.0 };
                    let along = -(part[0] * seat_by[0] + part[1] * seat_by[1]) / gap;
                    jacobian[first + 1][k] = (along + nock.used_by[p] * scale[k] - stretch) / span;
                    for i in 0..2 {
                        force_by[k][i] = u[first] * string_by[i] + if p == 0 { nock.string[i] } else { 0.0 };
                    }
                }
                jacobian[first][4] = -nock.string[1];
                jacobian[first][5] = nock.string[0];
                jacobian[first + 1][4] = part[0] / gap;
                jacobian[first + 1][5] = part[1] / gap;
                for i in 0..2 {
                    force[i] += u[first] * nock.string[i];
                }
            }
            let arm = minus(point, pivot);
            residual[4] = cross(arm, force) / span;
            for (k, by) in force_by.iter().enumerate().take(4) {
                jacobian[4][k] = cross(arm, *by) / span;
            }
            jacobian[4][4] = force[1];
            jacobian[4][5] = -force[0];
            let drawn = minus(point, mark);
            let size = length(drawn);
            residual[5] = (size + more - target) / span;
            jacobian[5][4] = drawn[0] / size;
            jacobian[5][5] = drawn[1] / size;
            Some(newton::Equations { residual, jacobian })
        };
        let here = self.measure();
        // Look ahead along the polynomial through the last steps; where that fails start from where the bow stands, and where the string
        // begins to lie or leaves a belly, for the equations bend there, from somewhat beyond.
        let ahead = |beyond: f64| self.before[0].map(|_| self.ahead(here, target + beyond * (target - here).signum()));
        let found = ahead(0.0)
            .and_then(|start| newton::solve(start, equations))
            .or_else(|| newton::solve(self.unknowns, equations))
            .or_else(|| {
                let beyond = BEYOND.iter().filter(|_| bow.lies).filter_map(|&beyond| ahead(beyond));
                beyond.into_iter().find_map(|start| newton::solve(start, equations))
            })?;
        // The string must still run from the seat toward the nocking point, and to the archer's side of it.
        let jump = (found[1] - self.unknowns[1]).abs().max((found[3] - self.unknowns[3]).abs());
        let [last, next, _] = self.before;
        (jump < 0.5).then(|| Draw {
            unknowns: found,
            before: [Some((here, self.unknowns)), last, next],
            ..self.clone()
        })
    }

    /// The unknowns at `target` as the polynomial through those here and of the steps before has them (Lagrange's form).
    fn ahead(&self, here: f64, target: f64) -> [f64; 6] {
        let known = || std::iter::once((here, self.unknowns)).chain(self.before.into_iter().flatten());
        let mut ahead = [0.0; 6];
        for (i, (draw, unknowns)) in known().enumerate() {
            let others = known().enumerate().filter(|(k, _)| *k != i);
            let share: f64 = others.map(|(_, (other, _))| (target - other) / (draw - other)).product();
            for (sum, value) in ahead.iter_mut().zip(unknowns) {
                *sum += share * value;
            }
        }
        ahead
    }

    /// Whether the string lies on a limb, or its throat rests there.
    pub(super) fn lies(&self, side: Side) -> bool {
        self.bow.lies && self.bow.recurved(side).lies(self.pull(side), self.course(side))
    }

    /// The draw between here and `free` (m) at which the string leaves a limb, by halving.
    pub(super) fn comes_free(&self, side: Side, free: f64) -> f64 {
        let (mut lies, mut free) = (self.clone(), free);
        for _ in 0..24 {
            let half = 0.5 * (lies.measure() + free);
            match lies.solved(half) {
                Some(there) if there.lies(side) => lies = there,
                _ => free = half,
            }
        }
        free
    }

    fn bent(&self) -> Both<(BentLimb, Option<Lying>)> {
        Both::build(|side| {
            let (pull, course) = (self.pull(side), self.course(side));
            let lying = if self.bow.lies { self.bow.recurved(side).bent(pull, course) } else { None };
            lying.map_or_else(
                || (bent_limb(self.bow.limbs.get(side), pull, course), None),
                |(bent, lying)| (bent, Some(lying)),
            )
        })
    }

    pub(super) fn state(&self) -> Result<BowAtDraw, Fault> {
        let bent = self.bent();
        let nocks = self.nocks()?;
        self.is_clear(&bent, &nocks)?;
        let point = self.nocking_point();
        let arrow = minus(point, self.bow.arrow_pass);
        let limb = |side: Side, (bent, mut lying): (BentLimb, Option<Lying>)| {
            if let (Side::Lower, Some(lying)) = (side, &mut lying) {
                lying.path.iter_mut().for_each(|p| p[1] = -p[1]);
            }
            let leaves = nocks.get(side).seat;
            let seat = if lying.is_none() { leaves } else { self.seat_of(side, &bent) };
            let string_angle = lying.as_ref().map_or_else(|| self.course(side), |l| l.leg_angle);
            LimbAtDraw { pull: self.pull(side), string_angle, seat, leaves, lying, bent }
        };
        Ok(BowAtDraw {
            draw: self.measure(),
            to_pivot: length(minus(point, [0.0, self.bow.pivot])),
            force: if self.before[0].is_none() { 0.0 } else { self.force(&nocks) },
            tilt: arrow[1].atan2(arrow[0]),
            nocking_point: point,
            limbs: Both { upper: limb(Side::Upper, bent.upper), lower: limb(Side::Lower, bent.lower) },
        })
    }

    /// The nock's seat in the handle frame.
    fn seat_of(&self, side: Side, bent: &BentLimb) -> [f64; 2] {
        let last = bent.s.len() - 1;
        let (sin, cos) = bent.angle[last].sin_cos();
        let off = self.bow.limbs.get(side).seat_offset;
        let y = bent.y[last] + off * sin;
        [bent.x[last] - off * cos, if side == Side::Lower { -y } else { y }]
    }

    fn is_clear(&self, bent: &Both<(BentLimb, Option<Lying>)>, nocks: &Both<NockState>) -> Result<(), Fault> {
        Side::BOTH.into_iter().try_for_each(|side| {
            let (limb, lying) = bent.get(side);
            let held = Held { side, draw: self.measure(), pull: self.pull(side), point: self.nocking_point() };
            clearance::string_is_clear(self.bow, &held, limb, lying.as_ref(), nocks.get(side))
        })
    }
}
