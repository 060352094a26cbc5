//! Large bending of one limb under a pull at its nock.
//!
//! The limb is an inextensible, unshearable planar rod with natural curvature:
//!
//! ```text
//! dphi/ds = kappa0(s) + M(s)/EI(s)      d(x, y)/ds = (sin phi, cos phi)      M(s) = (P - r(s)) x F
//! ```
//!
//! `phi` is the tangent's angle from the bow's long axis toward the archer, `F` the string's pull on the seat `P`.
//! (W. E. Bickley, Phil. Mag. 17 (1934), for the rod; B. W. Kooi and J. A. Sparenberg, J. Eng. Math. 14 (1980), for bows.)
//!
//! Seen from the tip everything at the nock is known once the pull `T` and the string angle `alpha` are: so the rod is
//! integrated from the nock inward, without any guess, and the clamped end only tells how the limb as a whole is turned.
//! Derivatives by `T` and `alpha` are carried along, so that Newton's method upstream is exact.

use super::limb::RestingLimb;
use crate::design::Both;
use crate::numerics::lanes::{Lane, Two};

/// A limb under a pull, as the rest of the bow sees it: the nock seat and the string's direction from it, in the limb's
/// own handle frame (`x` toward the archer, `y` outward), with derivatives by pull and string angle.
#[derive(Debug, Clone, Copy)]
pub struct NockState {
    /// Where the free string starts: the seat of its centreline, or where it leaves the belly it lies on, m.
    pub seat: [f64; 2],
    /// Unit vector along the free string.
    pub string: [f64; 2],
    /// Angle of the limb's tip toward the archer, rad.
    pub tip_angle: f64,
    /// Length of string between the nock's seat and there, m: 0 where it leaves at the nock.
    pub used: f64,
    /// Derivatives of `seat` by pull and by string angle.
    pub seat_by: [[f64; 2]; 2],
    /// Derivatives of `string` by pull and by string angle.
    pub string_by: [[f64; 2]; 2],
    /// Derivatives of `used` by pull and by string angle.
    pub used_by: [f64; 2],
}

/// The bent limb at its whole nodes, root first, in its own handle frame.
#[derive(Debug, Clone, PartialEq)]
pub struct BentLimb {
    /// Arc length from the end of the stiff handle, m.
    pub s: Vec<f64>,
    /// Centreline, toward the archer, m.
    pub x: Vec<f64>,
    /// Centreline, outward from the middle, m.
    pub y: Vec<f64>,
    /// Angle of the tangent toward the archer, rad.
    pub angle: Vec<f64>,
    /// Bending moment, plus bends toward the archer, N m.
    pub moment: Vec<f64>,
    /// Strain energy, J.
    pub energy: f64,
}

impl BentLimb {
    /// The nodes of `limb`, all else still zero.
    pub(super) fn unbent(limb: &RestingLimb) -> Self {
        let zeros = vec![0.0; limb.steps() + 1];
        BentLimb {
            s: limb.s.iter().step_by(2).copied().collect(),
            x: zeros.clone(),
            y: zeros.clone(),
            angle: zeros.clone(),
            moment: zeros,
            energy: 0.0,
        }
    }
}

/// State carried along the limb in the tip's frame: angle, x, y, and where derivatives are wanted the three by pull and by angle.
type Carried<T, const N: usize> = [T; N];
const ALONE: usize = 3;
const WITH_DERIVATIVES: usize = 9;

/// Pull and string angle turned into what the equations need, in the tip's frame
/// (`x` toward the belly, `y` along the limb off the tip).
struct Load<T> {
    force: [T; 2],
    by_pull: [T; 2],
    by_angle: [T; 2],
    offset: T,
}

impl<T: Lane> Load<T> {
    fn new(pull: T, string_angle: T, offset: T) -> Self {
        let [sin, cos] = string_angle.sin_cos();
        Load { force: [pull * sin, -pull * cos], by_pull: [sin, -cos], by_angle: [pull * cos, pull * sin], offset }
    }

    /// Moment of the pull about a point of the centreline; the seat lies at `(-offset, 0)`.
    fn moment(&self, x: T, y: T) -> T {
        -y * self.force[0] + (self.offset + x) * self.force[1]
    }

    /// Derivative of the state along the limb, inward from the nock; the angle's sine and cosine are known.
    fn inward<const N: usize>(
        &self,
        compliance: T,
        curvature: T,
        z: &Carried<T, N>,
        [sin, cos]: [T; 2],
    ) -> Carried<T, N> {
        let (x, y) = (z[1], z[2]);
        let mut rate = [-(curvature + compliance * self.moment(x, y)); N];
        (rate[1], rate[2]) = (-sin, -cos);
        if N == WITH_DERIVATIVES {
            for (k, by) in [(3, self.by_pull), (6, self.by_angle)] {
                let [angle_by, x_by, y_by] = [z[k], z[k + 1], z[k + 2]];
                let moment_by = -y * by[0] - y_by * self.force[0] + (self.offset + x) * by[1] + x_by * self.force[1];
                rate[k] = -compliance * moment_by;
                rate[k + 1] = -cos * angle_by;
                rate[k + 2] = sin * angle_by;
            }
        }
        rate
    }
}

/// Integrates over `steps` steps from the nock to the handle by the classical fourth-order Runge-Kutta method and hands each whole
/// node's state and the sine and cosine of its angle to `visit`, nock first. `node` tells place, stiffness and unstrung curvature of a
/// node, root first, two to a step and one at the end.
fn integrate<T: Lane, const N: usize>(
    steps: usize,
    node: impl Fn(usize) -> [T; 3],
    load: &Load<T>,
    mut visit: impl FnMut(usize, &Carried<T, N>, [T; 2]),
) -> Carried<T, N> {
    let mut z: Carried<T, N> = [T::all(0.0); N];
    let mut heading = [T::all(0.0), T::all(1.0)];
    visit(steps, &z, heading);
    let one = T::all(1.0);
    let [mut outer, stiffness, mut k2] = node(2 * steps);
    let mut outer_compliance = one / stiffness;
    for place in (0..steps).rev() {
        let ([inner, ei0, k0], [_, ei1, k1]) = (node(2 * place), node(2 * place + 1));
        let h = outer - inner;
        let (half, sixth) = (T::all(0.5) * h, h / T::all(6.0));
        let (middle, compliance) = (one / ei1, one / ei0);
        let ahead = |part: T, k: &Carried<T, N>| -> Carried<T, N> { std::array::from_fn(|j| z[j] + part * k[j]) };
        let first = load.inward(outer_compliance, k2, &z, heading);
        let next = ahead(half, &first);
        let second = load.inward(middle, k1, &next, turned_by(heading, next[0] - z[0]));
        let next = ahead(half, &second);
        let third = load.inward(middle, k1, &next, turned_by(heading, next[0] - z[0]));
        let next = ahead(h, &third);
        let fourth = load.inward(compliance, k0, &next, turned_by(heading, next[0] - z[0]));
        let end: Carried<T, N> =
            std::array::from_fn(|j| z[j] + sixth * (first[j] + T::all(2.0) * (second[j] + third[j]) + fourth[j]));
        heading = turned_by(heading, end[0] - z[0]);
        z = end;
        (outer, outer_compliance, k2) = (inner, compliance, k0);
        visit(place, &z, heading);
    }
    z
}

/// Place, stiffness and curvature of a limb's nodes.
fn nodes(limb: &RestingLimb) -> impl Fn(usize) -> [f64; 3] + '_ {
    |i| [limb.s[i], limb.stiffness[i], limb.curvature[i]]
}

/// Sine and cosine of an angle, from those of one that is `by` (rad) less. Steps along a limb turn little, and for little the series
/// below are as exact as the machine's own functions and quicker by far.
#[inline]
fn turned_by<T: Lane>([sin, cos]: [T; 2], by: T) -> [T; 2] {
    let [s, c] = if by.within(0.1) {
        // by - by^3/3! + by^5/5! - ... and 1 - by^2/2! + by^4/4! - ..., to the ninth and eighth power, even and odd terms of by^2 apart.
        let over = |factorial: f64| T::all(1.0 / factorial);
        let q = by * by;
        let q2 = q * q;
        let one = T::all(1.0);
        let odd = (one - q * over(6.0)) + q2 * ((over(120.0) - q * over(5040.0)) + q2 * over(362_880.0));
        let even = (one - q * over(2.0)) + q2 * ((over(24.0) - q * over(720.0)) + q2 * over(40_320.0));
        [by * odd, even]
    } else {
        by.sin_cos()
    };
    [sin * c + cos * s, cos * c - sin * s]
}

/// Turns `v` toward the archer (clockwise with `x` right and `y` up) by an angle given as sine and cosine.
pub(super) fn turn([sin, cos]: [f64; 2], v: [f64; 2]) -> [f64; 2] {
    [v[0] * cos + v[1] * sin, -v[0] * sin + v[1] * cos]
}

/// The nock of a limb under pull `T` (N) at string angle `alpha` (rad).
pub fn nock_state(limb: &RestingLimb, pull: f64, string_angle: f64) -> NockState {
    let load = Load::new(pull, string_angle, limb.seat_offset);
    let root = integrate(limb.steps(), nodes(limb), &load, |_, _, _| {});
    NockState::seen_from_root(limb, &root, string_angle)
}

/// Both limbs' nocks under pulls `T` (N) at string angles `alpha` (rad): to the bit what [`nock_state`] tells of each, and sooner where
/// the limbs have as many steps.
pub fn nock_states(limbs: Both<&RestingLimb>, pull: Both<f64>, string_angle: Both<f64>) -> Both<NockState> {
    let Both { upper, lower } = limbs;
    if upper.steps() != lower.steps() {
        return Both::build(|side| nock_state(limbs.get(side), *pull.get(side), *string_angle.get(side)));
    }
    let two = |both: Both<f64>| Two([both.upper, both.lower]);
    let load = Load::new(two(pull), two(string_angle), Two([upper.seat_offset, lower.seat_offset]));
    let (of_upper, of_lower) = (nodes(upper), nodes(lower));
    let node = |i: usize| {
        let (u, l) = (of_upper(i), of_lower(i));
        std::array::from_fn(|k| Two([u[k], l[k]]))
    };
    let root = integrate(upper.steps(), node, &load, |_, _, _| {});
    Both {
        upper: NockState::seen_from_root(upper, &root.map(|two| two.0[0]), string_angle.upper),
        lower: NockState::seen_from_root(lower, &root.map(|two| two.0[1]), string_angle.lower),
    }
}

/// Angle of the limb's tip toward the archer under pull `T` (N) at string angle `alpha` (rad).
pub fn tip_angle(limb: &RestingLimb, pull: f64, string_angle: f64) -> f64 {
    let load = Load::new(pull, string_angle, limb.seat_offset);
    let root: Carried<f64, ALONE> = integrate(limb.steps(), nodes(limb), &load, |_, _, _| {});
    -root[0]
}

impl NockState {
    /// The same with the bow turned upside down.
    pub(super) fn mirrored(mut self) -> Self {
        for v in [&mut self.seat, &mut self.string].into_iter().chain(&mut self.seat_by).chain(&mut self.string_by) {
            v[1] = -v[1];
        }
        self
    }

    /// The nock in the handle's frame, from the root's state in the tip's.
    fn seen_from_root(limb: &RestingLimb, root: &Carried<f64, WITH_DERIVATIVES>, string_angle: f64) -> Self {
        // The clamped root has angle 0 in the handle's frame: the whole limb is turned by minus what was found there.
        let tip_angle = -root[0];
        let turned = Lane::sin_cos(tip_angle);
        let arm = turn(turned, [-limb.seat_offset - root[1], -root[2]]);
        let (sin, cos) = string_angle.sin_cos();
        let string = turn(turned, [sin, -cos]);
        let mut state = NockState {
            seat: [limb.root[0] + arm[0], limb.root[1] + arm[1]],
            string,
            tip_angle,
            used: 0.0,
            seat_by: [[0.0; 2]; 2],
            string_by: [[0.0; 2]; 2],
            used_by: [0.0; 2],
        };
        for (p, k) in [(0, 3), (1, 6)] {
            let turning = -root[k];
            let shift = turn(turned, [-root[k + 1], -root[k + 2]]);
            // Turning by d changes (x, y) by d (y, -x).
            state.seat_by[p] = [shift[0] + turning * arm[1], shift[1] - turning * arm[0]];
            let swing = if p == 1 { turn(turned, [cos, sin]) } else { [0.0; 2] };
            state.string_by[p] = [swing[0] + turning * string[1], swing[1] - turning * string[0]];
        }
        state
    }
}

/// The whole bent limb under pull `T` (N) at string angle `alpha` (rad).
pub fn bent_limb(limb: &RestingLimb, pull: f64, string_angle: f64) -> BentLimb {
    let load = Load::new(pull, string_angle, limb.seat_offset);
    let n = limb.steps() + 1;
    let mut bent = BentLimb::unbent(limb);
    let mut slope = vec![0.0; n];
    let root: Carried<f64, ALONE> = integrate(limb.steps(), nodes(limb), &load, |k, z, [sin, cos]| {
        (bent.angle[k], bent.x[k], bent.y[k]) = (z[0], z[1], z[2]);
        bent.moment[k] = load.moment(z[1], z[2]);
        slope[k] = -(load.force[0] * cos - load.force[1] * sin);
    });
    let turned = Lane::sin_cos(-root[0]);
    for k in 0..n {
        let [x, y] = turn(turned, [bent.x[k] - root[1], bent.y[k] - root[2]]);
        (bent.x[k], bent.y[k]) = (limb.root[0] + x, limb.root[1] + y);
        bent.angle[k] -= root[0];
    }
    // U = 1/2 INT M^2/EI ds, Simpson's rule over each step; the moment half way follows from the cubic through the ends,
    // whose slopes are dM/ds = F_x cos phi - F_y sin phi seen from the tip: -(normal force).
    for k in 0..n - 1 {
        let h = bent.s[k + 1] - bent.s[k];
        let middle = 0.5 * (bent.moment[k] + bent.moment[k + 1]) + h / 8.0 * (slope[k] - slope[k + 1]);
        let density = |i: usize, m: f64| if m == 0.0 { 0.0 } else { m * m / limb.stiffness[i] };
        bent.energy += h / 12.0
            * (density(2 * k, bent.moment[k])
                + 4.0 * density(2 * k + 1, middle)
                + density(2 * k + 2, bent.moment[k + 1]));
    }
    bent
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Side;

    /// A limb that tapers, curved unstrung.
    fn limb(length: f64, steps: usize) -> RestingLimb {
        let mut limb = RestingLimb::from_functions(length, steps, |s| 90.0 - 70.0 * s / length, |s| 0.2 * s);
        limb.seat_offset = 0.01;
        limb
    }

    #[test]
    fn both_limbs_side_by_side_are_each_alone() {
        let (pull, angle) = (Both { upper: 240.0, lower: 310.0 }, Both { upper: 0.35, lower: 1.2 });
        for steps in [[40, 40], [40, 41]] {
            let (upper, lower) = (limb(0.7, steps[0]), limb(0.65, steps[1]));
            let both = nock_states(Both { upper: &upper, lower: &lower }, pull, angle);
            for (one, state, side) in [(&upper, both.upper, Side::Upper), (&lower, both.lower, Side::Lower)] {
                let alone = nock_state(one, *pull.get(side), *angle.get(side));
                let bits = |s: &NockState| {
                    let flat = [s.seat, s.string, [s.tip_angle, s.used], s.used_by].concat();
                    [flat, s.seat_by.concat(), s.string_by.concat()]
                        .concat()
                        .iter()
                        .map(|v| v.to_bits())
                        .collect::<Vec<_>>()
                };
                assert_eq!(bits(&state), bits(&alone));
                assert_eq!(tip_angle(one, *pull.get(side), *angle.get(side)), alone.tip_angle);
            }
        }
    }

    #[test]
    fn turning_by_series_is_turning() {
        for k in -60..=60 {
            let (angle, by) = (0.7, f64::from(k) * 2.5e-3);
            let (sin, cos) = f64::sin_cos(angle);
            let [s, c] = turned_by([sin, cos], by);
            assert!((s - (angle + by).sin()).abs() < 3e-16 && (c - (angle + by).cos()).abs() < 3e-16, "{by}");
        }
    }
}
