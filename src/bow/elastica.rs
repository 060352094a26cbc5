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

/// State carried along the limb in the tip's frame: angle, x, y, and their derivatives by pull and by angle.
type Carried = [f64; 9];

/// Pull and string angle turned into what the equations need, in the tip's frame
/// (`x` toward the belly, `y` along the limb off the tip).
struct Load {
    force: [f64; 2],
    by_pull: [f64; 2],
    by_angle: [f64; 2],
    offset: f64,
}

impl Load {
    fn new(pull: f64, string_angle: f64, offset: f64) -> Self {
        let (sin, cos) = string_angle.sin_cos();
        Load { force: [pull * sin, -pull * cos], by_pull: [sin, -cos], by_angle: [pull * cos, pull * sin], offset }
    }

    /// Moment of the pull about a point of the centreline; the seat lies at `(-offset, 0)`.
    fn moment(&self, x: f64, y: f64) -> f64 {
        -y * self.force[0] + (self.offset + x) * self.force[1]
    }

    /// Derivative of the state along the limb, inward from the nock; the angle's sine and cosine are known.
    fn inward(&self, compliance: f64, curvature: f64, z: &Carried, [sin, cos]: [f64; 2]) -> Carried {
        let [_, x, y, ..] = *z;
        let bend = -(curvature + compliance * self.moment(x, y));
        let mut rate = [bend, -sin, -cos, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        for (k, by) in [(3, self.by_pull), (6, self.by_angle)] {
            let [angle_by, x_by, y_by] = [z[k], z[k + 1], z[k + 2]];
            let moment_by = -y * by[0] - y_by * self.force[0] + (self.offset + x) * by[1] + x_by * self.force[1];
            rate[k] = -compliance * moment_by;
            rate[k + 1] = -cos * angle_by;
            rate[k + 2] = sin * angle_by;
        }
        rate
    }
}

/// Integrates from the nock to the handle by the classical fourth-order Runge-Kutta method and hands each whole node's
/// state to `visit`, nock first.
fn integrate(limb: &RestingLimb, load: &Load, mut visit: impl FnMut(usize, &Carried)) -> Carried {
    let mut z: Carried = [0.0; 9];
    let mut heading = [0.0, 1.0];
    let mut place = limb.s.len() - 1;
    visit(place, &z);
    // Three places to each step: its inner end, its middle, and its outer end.
    let steps = limb.s.windows(3).zip(limb.stiffness.windows(3)).zip(limb.curvature.windows(3)).step_by(2).rev();
    for ((s, stiffness), curvature) in steps {
        let ([inner, _, outer], [ei0, ei1, ei2], [k0, k1, k2]) = (three(s), three(stiffness), three(curvature));
        let h = outer - inner;
        let middle = 1.0 / ei1;
        let ahead = |part: f64, k: &Carried| -> Carried { std::array::from_fn(|j| z[j] + part * k[j]) };
        let first = load.inward(1.0 / ei2, k2, &z, heading);
        let next = ahead(0.5 * h, &first);
        let second = load.inward(middle, k1, &next, turned_by(heading, next[0] - z[0]));
        let next = ahead(0.5 * h, &second);
        let third = load.inward(middle, k1, &next, turned_by(heading, next[0] - z[0]));
        let next = ahead(h, &third);
        let fourth = load.inward(1.0 / ei0, k0, &next, turned_by(heading, next[0] - z[0]));
        let end: Carried =
            std::array::from_fn(|j| z[j] + h / 6.0 * (first[j] + 2.0 * (second[j] + third[j]) + fourth[j]));
        heading = turned_by(heading, end[0] - z[0]);
        z = end;
        place -= 2;
        visit(place, &z);
    }
    z
}

/// Sine and cosine of an angle, from those of one that is `by` (rad) less. Steps along a limb turn little, and for little the series
/// below are as exact as the machine's own functions and quicker by far.
fn turned_by([sin, cos]: [f64; 2], by: f64) -> [f64; 2] {
    let (s, c) = if by.abs() < 0.1 {
        let q = by * by;
        (
            by * (1.0 - q / 6.0 * (1.0 - q / 20.0 * (1.0 - q / 42.0 * (1.0 - q / 72.0)))),
            1.0 - q / 2.0 * (1.0 - q / 12.0 * (1.0 - q / 30.0 * (1.0 - q / 56.0))),
        )
    } else {
        by.sin_cos()
    };
    [sin * c + cos * s, cos * c - sin * s]
}

fn three(window: &[f64]) -> [f64; 3] {
    [window[0], window[1], window[2]]
}

/// Turns `v` toward the archer (clockwise with `x` right and `y` up) by an angle given as sine and cosine.
pub(super) fn turn([sin, cos]: [f64; 2], v: [f64; 2]) -> [f64; 2] {
    [v[0] * cos + v[1] * sin, -v[0] * sin + v[1] * cos]
}

/// The nock of a limb under pull `T` (N) at string angle `alpha` (rad).
pub fn nock_state(limb: &RestingLimb, pull: f64, string_angle: f64) -> NockState {
    let load = Load::new(pull, string_angle, limb.seat_offset);
    let root = integrate(limb, &load, |_, _| {});
    // The clamped root has angle 0 in the handle's frame: the whole limb is turned by minus what was found there.
    let tip_angle = -root[0];
    let turned = tip_angle.sin_cos();
    let turned = [turned.0, turned.1];
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

/// The whole bent limb under pull `T` (N) at string angle `alpha` (rad).
pub fn bent_limb(limb: &RestingLimb, pull: f64, string_angle: f64) -> BentLimb {
    let load = Load::new(pull, string_angle, limb.seat_offset);
    let n = limb.steps() + 1;
    let mut bent = BentLimb::unbent(limb);
    let root = integrate(limb, &load, |i, z| {
        let k = i / 2;
        (bent.angle[k], bent.x[k], bent.y[k]) = (z[0], z[1], z[2]);
        bent.moment[k] = load.moment(z[1], z[2]);
    });
    let (sin, cos) = (-root[0]).sin_cos();
    for k in 0..n {
        let [x, y] = turn([sin, cos], [bent.x[k] - root[1], bent.y[k] - root[2]]);
        (bent.x[k], bent.y[k]) = (limb.root[0] + x, limb.root[1] + y);
        bent.angle[k] -= root[0];
    }
    // U = 1/2 INT M^2/EI ds, Simpson's rule over each step; the moment half way follows from the cubic through the ends,
    // whose slopes are dM/ds = F_x cos phi - F_y sin phi seen from the tip: -(normal force).
    let slope = |k: usize| {
        let angle = bent.angle[k] + root[0];
        -(load.force[0] * angle.cos() - load.force[1] * angle.sin())
    };
    for k in 0..n - 1 {
        let h = bent.s[k + 1] - bent.s[k];
        let middle = 0.5 * (bent.moment[k] + bent.moment[k + 1]) + h / 8.0 * (slope(k) - slope(k + 1));
        let density = |i: usize, m: f64| if m == 0.0 { 0.0 } else { m * m / limb.stiffness[i] };
        bent.energy += h / 12.0
            * (density(2 * k, bent.moment[k])
                + 4.0 * density(2 * k + 1, middle)
                + density(2 * k + 2, bent.moment[k + 1]));
    }
    bent
}
