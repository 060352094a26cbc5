//! The string lying along the belly of a recurved limb end.
//!
//! What is idealised: the string is a frictionless thread in the bow's plane. From the nock seat to the throat the loop's legs
//! pass the limb's sides; seen in that plane they are one straight line, of the loop's length (that they go round the back as
//! well brings the throat a few millimetres nearer to the nock). Where the braced string would
//! pass inside the belly the throat rests on it, and from the throat inward the single strand lies on it, its centreline at
//!
//! ```text
//! p(s) = c(s) + d(s) n(s)      d = belly distance + strip's thickness - guide's depth + half the string's diameter
//!                              n: square to the limb, toward the belly
//! ```
//!
//! The one unknown `q` of a limb (its *course*, rad) runs through three stretches without a gap:
//!
//! ```text
//! free      q is the string angle at the seat
//! kneeling  the throat touches and nothing else does; the strand leaves it at the angle q to the limb's tip
//! lying     the strand lies from the throat s_t to s_L = s_t + REACH (q - q_t), q_t being the belly's own direction at s_t
//! ```
//!
//! Lying, the limb carries what the string's length asks of it: with `kappa` its curvature under load, `g = 1 - kappa d`,
//!
//! ```text
//! dl/ds = |p'| = sqrt(g^2 + d'^2)      M = -T d|p'|/d kappa = T d g / |p'| = EI (kappa - kappa0)
//! ```
//!
//! and the strand leaves along `p'`, so that the moment has no jump. At the throat the belly pushes square to itself, so the
//! legs' pull `T1` along their line (at `alpha` to the tip) and the strand's pull `T` have the same part along the belly:
//! `T1 cos(alpha + chi) = T cos(q + chi)`, `chi` the angle of `p'`. The legs keep their length while the throat rests, and the
//! string's stretch is worked out as if the strand's pull went through to the seat.

use super::elastica::{BentLimb, NockState, nock_state, turn};
use super::limb::RestingLimb;
use crate::numerics::newton;
use load::{Bent, Carried, Pull, inward};
use place::Place;

mod load;
mod place;

/// How far the lift-off place moves along the limb for a radian of `q`, m.
const REACH: f64 = 0.15;
/// No throat rests on a belly at courses beyond this, rad.
const FREE_FROM: f64 = 1.2;

/// Where and how a string lies on a limb.
#[derive(Debug, Clone, PartialEq)]
pub struct Lying {
    /// The throat's place, m along the limb from the end of the stiff handle.
    pub throat: f64,
    /// Where the strand leaves the belly; the throat's place where it only rests there, m.
    pub lift_off: f64,
    /// Pull of the loop's legs together on the nock, N.
    pub leg_pull: f64,
    /// Between the legs' line and the limb at the nock, seen from the handle's side, rad.
    pub leg_angle: f64,
    /// Between the strand where it is free and the limb's end, rad; minus when it points behind it.
    pub strand_angle: f64,
    /// From the seat along the string to where it leaves the belly, m.
    pub used: f64,
    /// Half the string's diameter, m.
    pub radius: f64,
    /// The strand's centreline from the throat to where it leaves the belly, in the limb's own handle frame, m.
    pub path: Vec<[f64; 2]>,
}

/// A limb, its loop and its string's radius.
pub struct Recurved<'a> {
    limb: &'a RestingLimb,
    radius: f64,
    /// Of the lying string's centreline over the belly, m.
    over: f64,
    legs: f64,
}

/// The limb's end outside the throat.
struct Outside {
    /// Legs' angle, throat's place, legs' pull: by pull and by course.
    alpha: f64,
    throat: f64,
    leg_pull: f64,
    throat_by: [f64; 2],
    pull: Pull,
    /// Just inside the throat, derivatives by pull and course at a fixed place.
    inside: Carried,
    /// Belly's angle there, and its derivatives as the throat moves.
    chi: f64,
    chi_by: [f64; 2],
    /// The throat, and its derivatives.
    point: [f64; 2],
    point_by: [[f64; 2]; 2],
    alpha_by: [f64; 2],
}

/// All of a limb on which the string lies or whose throat it rests on.
struct Whole {
    outside: Outside,
    lift_off: f64,
    used: f64,
    used_by: [f64; 2],
    inner: Pull,
    course: f64,
    root: Carried,
}

impl<'a> Recurved<'a> {
    /// A limb with a loop whose legs are `legs` (m) long, its string `diameter` (m) thick.
    pub fn new(limb: &'a RestingLimb, legs: f64, diameter: f64) -> Self {
        let strip = limb.strip.map_or(0.0, |strip| strip.thickness);
        Recurved { limb, radius: 0.5 * diameter, over: strip - limb.guide + 0.5 * diameter, legs }
    }

    /// Whether the unstrung belly bulges toward the archer anywhere from the throat inward over the limb's outer half.
    pub fn may_lie(limb: &RestingLimb, legs: f64) -> bool {
        let [half, throat] = [0.5 * limb.length(), limb.length() - legs];
        let mut places = limb.s.iter().zip(&limb.curvature).zip(&limb.belly);
        places.any(|((s, k), b)| (half..=throat).contains(s) && *k < -1e-9 && *b > 0.0)
    }

    /// Where the unstrung belly is hollow or flat between two bulges, m along the limb, seeking inward from the throat.
    pub fn hollow(limb: &RestingLimb, legs: f64) -> Option<f64> {
        // From this curvature on a belly bulges; below a tenth of it it is flat, 1/m.
        const BULGE: f64 = 0.2;
        let mut found = None;
        let mut bulged = false;
        for (s, k) in limb.s.iter().zip(&limb.curvature).rev().filter(|(s, _)| **s <= limb.length() - legs) {
            if *k < -BULGE {
                if found.is_some() {
                    return found;
                }
                bulged = true;
            } else if bulged && found.is_none() && *k > -0.1 * BULGE {
                found = Some(*s);
            }
        }
        None
    }

    /// The nock of a limb whose string may lie on it: the course `q` instead of the string angle. None where the strand
    /// would lie past the limb's root or the throat does not settle.
    pub fn nock(&self, pull: f64, course: f64) -> Option<NockState> {
        let Some(whole) = self.whole(pull, course)? else {
            return Some(nock_state(self.limb, pull, course));
        };
        let root = &whole.root;
        let tip_angle = -root[0];
        let (sin, cos) = tip_angle.sin_cos();
        let turned = [sin, cos];
        let at = whole.inner.at;
        let arm = turn(turned, [at[0] - root[1], at[1] - root[2]]);
        let string = turn(turned, whole.inner.force.map(|f| f / pull));
        let mut state = NockState {
            seat: [self.limb.root[0] + arm[0], self.limb.root[1] + arm[1]],
            string,
            tip_angle,
            used: whole.used,
            seat_by: [[0.0; 2]; 2],
            string_by: [[0.0; 2]; 2],
            used_by: whole.used_by,
        };
        for k in 0..2 {
            let turning = -root[5 + 4 * k];
            let by = whole.inner.at_by[k];
            let shift = turn(turned, [by[0] - root[6 + 4 * k], by[1] - root[7 + 4 * k]]);
            state.seat_by[k] = [shift[0] + turning * arm[1], shift[1] - turning * arm[0]];
            // The force is T times the string's direction.
            let direct = if k == 0 { 1.0 } else { 0.0 };
            let swing: [f64; 2] =
                std::array::from_fn(|i| (whole.inner.force_by[k][i] - direct * whole.inner.force[i] / pull) / pull);
            let swing = turn(turned, swing);
            state.string_by[k] = [swing[0] + turning * string[1], swing[1] - turning * string[0]];
        }
        Some(state)
    }

    /// Whether the string lies on the limb, or its throat rests there.
    pub fn lies(&self, pull: f64, course: f64) -> bool {
        self.whole(pull, course).flatten().is_some()
    }

    /// The bent limb and how the string lies on it; none where it is free.
    pub fn bent(&self, pull: f64, course: f64) -> Option<(BentLimb, Lying)> {
        let whole = self.whole(pull, course)??;
        let limb = self.limb;
        let n = limb.steps() + 1;
        let mut bent = BentLimb::unbent(limb);
        let mut note = |k: usize, z: &Carried, moment: f64| {
            (bent.angle[k], bent.x[k], bent.y[k], bent.moment[k]) = (z[0], z[1], z[2], moment);
        };
        let (throat, outer) = (whole.outside.throat, &whole.outside.pull);
        let tip = [0.0; 13];
        note(n - 1, &tip, outer.moment(&tip));
        let mut z = self.walk(limb.length(), throat, tip, Bent::By(outer), &mut |k, z| note(k, z, outer.moment(z)));
        let lain = |z: &Carried, place: &Place| {
            let (sin, cos) = z[0].sin_cos();
            [z[1] + place.off * cos, z[2] - place.off * sin]
        };
        let mut path = vec![lain(&z, &self.place(throat))];
        z = self.walk(throat, whole.lift_off, z, Bent::Under(pull), &mut |k, z| {
            let place = self.place(limb.s[2 * k]);
            note(k, z, place.stiffness * (place.lain(pull).0 - place.rest));
            path.push(lain(z, &place));
        });
        if whole.lift_off < throat {
            path.push(lain(&z, &self.place(whole.lift_off)));
        }
        let inner = &whole.inner;
        z = self.walk(whole.lift_off, 0.0, z, Bent::By(inner), &mut |k, z| note(k, z, inner.moment(z)));
        let (sin, cos) = (-z[0]).sin_cos();
        let set = |[x, y]: [f64; 2]| {
            let [x, y] = turn([sin, cos], [x - z[1], y - z[2]]);
            [limb.root[0] + x, limb.root[1] + y]
        };
        for k in 0..n {
            [bent.x[k], bent.y[k]] = set([bent.x[k], bent.y[k]]);
            bent.angle[k] -= z[0];
        }
        bent.energy = z[4];
        let lying = Lying {
            throat,
            lift_off: whole.lift_off,
            leg_pull: whole.outside.leg_pull,
            leg_angle: whole.outside.alpha,
            strand_angle: whole.course,
            used: whole.used,
            radius: self.radius,
            path: path.into_iter().map(set).collect(),
        };
        Some((bent, lying))
    }

    /// The angle from the limb's tangent to that of a string lying at a place, rad.
    pub fn lean(&self, s: f64, pull: f64) -> f64 {
        let place = self.place(s);
        place.lean(place.lain(pull).0).0
    }

    fn whole(&self, pull: f64, course: f64) -> Option<Option<Whole>> {
        if course > FREE_FROM || self.legs <= 0.0 {
            return Some(None);
        }
        let Some(kneeling) = self.outside(pull, Some(course)) else {
            // A throat that does not reach the belly leaves the string free; one that does not settle is no answer.
            return if course > 0.0 { Some(None) } else { None };
        };
        if course >= kneeling.alpha {
            return Some(None);
        }
        if course >= -kneeling.chi {
            let at_by = kneeling.point_by;
            let inner = Pull::along(pull, course, [0.0, 1.0], kneeling.point, at_by);
            let root = self.walk(kneeling.throat, 0.0, kneeling.inside, Bent::By(&inner), &mut |_, _| {});
            let lift_off = kneeling.throat;
            return Some(Some(Whole {
                outside: kneeling,
                lift_off,
                used: self.legs,
                used_by: [0.0; 2],
                inner,
                course,
                root,
            }));
        }
        let outside = self.outside(pull, None)?;
        let lift_off = outside.throat + REACH * (course + outside.chi);
        if lift_off < 0.0 || lift_off > outside.throat {
            return None;
        }
        let off_by: [f64; 2] = [outside.throat_by[0] + REACH * outside.chi_by[0], REACH];
        let mut start = outside.inside;
        let at_throat = self.place(outside.throat);
        let long = at_throat.stretch(at_throat.lain(pull).0);
        for k in 0..2 {
            start[8 + 4 * k] = long * outside.throat_by[k];
        }
        let z = self.walk(outside.throat, lift_off, start, Bent::Under(pull), &mut |_, _| {});
        let place = self.place(lift_off);
        let (k, by_pull) = place.lain(pull);
        let (lean, lean_by) = place.lean(k);
        let (sin, cos) = z[0].sin_cos();
        let sigma = -(z[0] + lean);
        let along = [(1.0 - k * place.off) * sin + place.slope * cos, (1.0 - k * place.off) * cos - place.slope * sin];
        let at_by = std::array::from_fn(|j| {
            let [angle, x, y] = [z[5 + 4 * j], z[6 + 4 * j], z[7 + 4 * j]];
            [x - place.off * sin * angle + along[0] * off_by[j], y - place.off * cos * angle + along[1] * off_by[j]]
        });
        let turning = k + self.lean_along(lift_off, pull);
        let sigma_by = std::array::from_fn(|j| {
            -(z[5 + 4 * j] + turning * off_by[j] + if j == 0 { lean_by * by_pull } else { 0.0 })
        });
        let at = [z[1] + place.off * cos, z[2] - place.off * sin];
        let inner = Pull::along(pull, sigma, sigma_by, at, at_by);
        let root = self.walk(lift_off, 0.0, z, Bent::By(&inner), &mut |_, _| {});
        Some(Some(Whole {
            used: self.legs + z[3],
            used_by: std::array::from_fn(|j| z[8 + 4 * j] - place.stretch(k) * off_by[j]),
            outside,
            lift_off,
            inner,
            course: sigma,
            root,
        }))
    }

    /// The limb outside the throat: legs' angle, throat's place and legs' pull, so that the legs reach the belly and the
    /// throat is in balance along it, the strand leaving at `course` or, without one, lying down at once.
    fn outside(&self, pull: f64, course: Option<f64>) -> Option<Outside> {
        let (length, legs) = (self.limb.length(), self.legs);
        let seat = [-self.limb.seat_offset, 0.0];
        let state = |u: &[f64; 3]| -> Option<([f64; 3], [[f64; 3]; 3], Outside)> {
            let (alpha, throat, leg_pull) = (u[0], length - legs * u[1], pull * u[2]);
            if alpha.abs() > 1.5 || !(0.2..=2.0).contains(&u[1]) || throat <= 0.0 || !(0.2..=5.0).contains(&u[2]) {
                return None;
            }
            let (sa, ca) = alpha.sin_cos();
            let force = [leg_pull * sa, -leg_pull * ca];
            // First unknown here: the legs' angle; second: their pull.
            let by = [[leg_pull * ca, leg_pull * sa], [sa, -ca]];
            let load = Pull { force, at: seat, force_by: by, at_by: [[0.0; 2]; 2] };
            let z = self.walk(length, throat, [0.0; 13], Bent::By(&load), &mut |_, _| {});
            let place = self.place(throat);
            let (k, k_by) = place.lain(pull);
            let (lean, lean_by) = place.lean(k);
            let outer_k = place.rest + load.moment(&z) / place.stiffness;
            let (sin, cos) = z[0].sin_cos();
            let (chi, lean_by_pull) = (z[0] + lean, lean_by * k_by);
            let chi_along = outer_k + self.lean_along(throat, pull);
            let g = 1.0 - outer_k * place.off;
            let along = [g * sin + place.slope * cos, g * cos - place.slope * sin];
            let point = [z[1] + place.off * cos, z[2] - place.off * sin];
            let point_by = |j: usize| {
                [z[6 + 4 * j] - place.off * sin * z[5 + 4 * j], z[7 + 4 * j] - place.off * cos * z[5 + 4 * j]]
            };
            let target = course.map_or(1.0, |q| (q + chi).cos());
            let target_by_chi = course.map_or(0.0, |q| -(q + chi).sin());
            let residual = [
                (point[0] - seat[0]) / legs - sa,
                (point[1] - seat[1]) / legs + ca,
                u[2] * (alpha + chi).cos() - target,
            ];
            let tilt = -u[2] * (alpha + chi).sin();
            let (a, t) = (point_by(0), point_by(1));
            let by_chi = tilt - target_by_chi;
            let jacobian = [
                [a[0] / legs - ca, -along[0], t[0] * pull / legs],
                [a[1] / legs - sa, -along[1], t[1] * pull / legs],
                [tilt + by_chi * z[5], -by_chi * chi_along * legs, (alpha + chi).cos() + by_chi * z[9] * pull],
            ];
            // By the pull at fixed angle, place and ratio of pulls; and by the course.
            let right = [
                [t[0] * u[2] / legs, t[1] * u[2] / legs, by_chi * (z[9] * u[2] + lean_by_pull)],
                [0.0, 0.0, course.map_or(0.0, |q| (q + chi).sin())],
            ];
            let moved = [newton::linear(jacobian, right[0])?, newton::linear(jacobian, right[1])?];
            let mut out = Outside {
                alpha,
                throat,
                leg_pull,
                throat_by: moved.map(|m| legs * m[1]),
                pull: load,
                inside: z,
                chi,
                chi_by: [0.0; 2],
                point,
                point_by: [[0.0; 2]; 2],
                alpha_by: moved.map(|m| -m[0]),
            };
            let inner_k = match course {
                None => k,
                Some(q) => {
                    let inner = Pull::along(pull, q, [0.0; 2], point, [[0.0; 2]; 2]);
                    place.rest + inner.moment(&z) / place.stiffness
                }
            };
            for j in 0..2 {
                let (alpha_by, place_by) = (out.alpha_by[j], out.throat_by[j]);
                let pull_by = if j == 0 { u[2] } else { 0.0 } - pull * moved[j][2];
                let mix = |i: usize| z[5 + i] * alpha_by + z[9 + i] * pull_by;
                out.point_by[j] = std::array::from_fn(|i| a[i] * alpha_by + t[i] * pull_by + along[i] * place_by);
                out.chi_by[j] = mix(0) + chi_along * place_by + if j == 0 { lean_by_pull } else { 0.0 };
                let kink = (outer_k - inner_k) * place_by;
                out.inside[5 + 4 * j] = mix(0) + kink;
                out.inside[6 + 4 * j] = mix(1);
                out.inside[7 + 4 * j] = mix(2);
                out.inside[8 + 4 * j] = 0.0;
            }
            Some((residual, jacobian, out))
        };
        let rise = (self.limb.seat_offset + self.place(length - legs.min(length)).off) / legs;
        if rise >= 1.0 {
            return None;
        }
        let found = newton::solve([rise.clamp(-0.9, 0.9).asin(), 1.0, 1.0], |u| {
            state(u).map(|(residual, jacobian, _)| newton::Equations { residual, jacobian })
        })?;
        state(&found).map(|(_, _, out)| out)
    }

    /// How the lying string's lean changes along the limb, rad/m.
    fn lean_along(&self, s: f64, pull: f64) -> f64 {
        let step = 1e-6;
        (self.lean(s + step, pull) - self.lean(s - step, pull)) / (2.0 * step)
    }

    /// Carries a state inward from `from` to `to` (m), by the classical fourth-order Runge-Kutta method over the limb's own
    /// steps, and hands each whole node's state to `visit`.
    fn walk(&self, from: f64, to: f64, mut z: Carried, bent: Bent, visit: &mut impl FnMut(usize, &Carried)) -> Carried {
        let s = &self.limb.s;
        for k in (0..self.limb.steps()).rev() {
            let (outer, inner) = (s[2 * k + 2].min(from), s[2 * k].max(to));
            if outer <= inner {
                continue;
            }
            let h = outer - inner;
            let [first, middle, last] = [outer, 0.5 * (outer + inner), inner].map(|s| self.place_in(k, s));
            let ahead = |part: f64, rate: &Carried| -> Carried { std::array::from_fn(|j| z[j] + part * rate[j]) };
            let one = inward(&first, bent, &z);
            let two = inward(&middle, bent, &ahead(0.5 * h, &one));
            let three = inward(&middle, bent, &ahead(0.5 * h, &two));
            let four = inward(&last, bent, &ahead(h, &three));
            z = std::array::from_fn(|j| z[j] + h / 6.0 * (one[j] + 2.0 * (two[j] + three[j]) + four[j]));
            if inner == s[2 * k] {
                visit(k, &z);
            }
        }
        z
    }
}

#[cfg(test)]
mod tests;
