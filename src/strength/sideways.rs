//! Sideways stability: whether a limb bent in the bow's plane stays in it.
//!
//! Second variation of the energy of a planar curved rod under a pull of fixed direction, sideways displacement `v` and twist `theta`
//! (about the tangent), primes by arc length:
//!
//! ```text
//! U2 = 1/2 INT [ GJ tau^2 + EI_w k^2 - M (theta k + v' tau) + F_n v' theta + F_t v'^2 ] ds + 1/2 (T/l) v_P^2 + ends
//! tau = theta' + kappa v'        k = -v'' + kappa theta
//! ```
//!
//! It follows from turning each section by `psi = (theta, -v')` about tangent and normal: to second order the curvature in the plane
//! changes by `-(theta k + v' tau)/2` and the tangent by `-(v' theta n + v'^2 t)/2`; `M` does work on the first, the pull on the second.
//! Where the pull acts beside the centroid, by `h` toward the back, it also does work on the tip's own turning:
//! `-1/2 h theta (F_n theta + F_t v')`, the `ends` above; and `v_P = v - h theta`.
//!
//! Signs: tangent `t` from root to nock, normal `n` toward the archer, `v` along `t x n`; `kappa` and `M` plus where they bend toward the archer;
//! `F` the pull on the tip, `F_n = F.n` and `F_t = F.t` (tension plus), so that `dM/ds = -F_n`.
//!
//! Elements: cubic `v`, quadratic `theta`. The string's pull is taken in the middle of its own plane; its two legs' hold on the tip against
//! twisting is left out, which is on the safe side.
//!
//! S. P. Timoshenko and J. M. Gere, Theory of Elastic Stability, chapters 6 and 7, for the closed forms it is tested against.

use crate::numerics::banded::Banded;

/// A limb under the string's pull. All slices hold one value for each node, root first.
#[derive(Debug, Clone, Copy)]
pub struct LimbUnderPull<'a> {
    /// Arc length from the root to the nock, rising, m.
    pub s: &'a [f64],
    /// Curvature under the pull, plus toward the archer, 1/m.
    pub curvature: &'a [f64],
    /// Bending moment in the bow's plane, plus toward the archer, N m.
    pub moment: &'a [f64],
    /// The pull's component square to the limb, plus toward the archer, N.
    pub normal_force: &'a [f64],
    /// The pull's component along the limb, plus for tension, N.
    pub axial_force: &'a [f64],
    /// Torsional stiffness, N m2.
    pub gj: &'a [f64],
    /// Sideways bending stiffness, N m2.
    pub ei_sideways: &'a [f64],
    /// Pull over the length of string from nock to fingers, N/m: how hard the string pulls the tip back into the plane.
    pub string_restoring: f64,
    /// Where the pull acts, from the centroid toward the back, m.
    pub seat_offset: f64,
}

/// Why no answer could be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SidewaysError {
    /// The slices are not equally long, or hold fewer than two nodes.
    Lengths,
    /// Arc length does not rise from node to node.
    NotRising,
    /// A stiffness is not above zero, or some value is not a number.
    NotSound,
    /// The limb goes sideways by itself: there is no lean to give.
    Unstable,
}

impl std::fmt::Display for SidewaysError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            SidewaysError::Lengths => "the limb's values are not one for each of at least two nodes",
            SidewaysError::NotRising => "arc length does not rise from node to node",
            SidewaysError::NotSound => "a stiffness is not above zero or a value is not a number",
            SidewaysError::Unstable => "the limb goes sideways by itself",
        })
    }
}

impl std::error::Error for SidewaysError {}

/// How far a limb is from going sideways, and how it would go.
#[derive(Debug, Clone, PartialEq)]
pub struct Reserve {
    /// The factor by which both stiffnesses together could shrink before the limb goes; below 1 it has gone.
    /// Infinite where it is above 1e6 or the limb cannot go at all.
    pub factor: f64,
    /// Sideways displacement at the nodes as it goes, the largest 1; empty where the factor is infinite.
    pub sideways: Vec<f64>,
    /// Twist at the nodes in the same measure, rad for each metre of `sideways`.
    pub twist: Vec<f64>,
}

/// What is uneven about a limb or its string.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Unevenness<'a> {
    /// How far the pull leaves the tip beside its middle, m.
    pub string_offset: f64,
    /// How far the fingers hold the string beside the limb's plane, m.
    pub fingers_offset: f64,
    /// Twist of the unloaded limb at the nodes, counted from the root, rad; empty for none.
    /// The unloaded limb is taken as straight but for this.
    pub twist: &'a [f64],
}

/// How a limb leans under the pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Lean {
    /// Sideways displacement at the nodes, m.
    pub sideways: Vec<f64>,
    /// Twist at the nodes, that of the unloaded limb included, rad.
    pub twist: Vec<f64>,
}

impl Lean {
    /// Sideways displacement of the tip, m.
    pub fn tip(&self) -> f64 {
        self.sideways.last().copied().unwrap_or(0.0)
    }

    /// Twist of the tip, rad.
    pub fn tip_twist(&self) -> f64 {
        self.twist.last().copied().unwrap_or(0.0)
    }
}

/// The sideways reserve of a limb clamped at its root.
pub fn sideways_reserve(limb: &LimbUnderPull) -> Result<Reserve, SidewaysError> {
    let mut system = System::of(limb)?;
    system.hold(&CLAMPED);
    Ok(system.reserve(limb.s.len()))
}

/// Whether a limb clamped at its root has at least this sideways reserve: sooner known than the reserve itself.
pub fn stands_sideways(limb: &LimbUnderPull, reserve: f64) -> Result<bool, SidewaysError> {
    let mut system = System::of(limb)?;
    system.hold(&CLAMPED);
    Ok(system.ways_below(reserve) == 0)
}

/// How a limb clamped at its root leans under the pull when something is uneven.
pub fn sideways_lean(limb: &LimbUnderPull, uneven: &Unevenness) -> Result<Lean, SidewaysError> {
    let mut system = System::of(limb)?;
    let nodes = limb.s.len();
    let mut load = vec![0.0; system.elastic.len()];
    let tip = PER_NODE * (nodes - 1);
    let (h, spring) = (limb.seat_offset, limb.string_restoring);
    let aside = uneven.string_offset - uneven.fingers_offset;
    let (normal, axial) = (limb.normal_force[nodes - 1], limb.axial_force[nodes - 1]);
    // The pull at c beside the middle moves with the tip's turning by c (-theta n - v' t).
    load[tip] -= spring * aside;
    load[tip + 1] -= uneven.string_offset * axial;
    load[tip + 2] -= uneven.string_offset * normal - h * spring * aside;
    if !uneven.twist.is_empty() {
        if uneven.twist.len() != nodes {
            return Err(SidewaysError::Lengths);
        }
        if uneven.twist.iter().any(|t| !t.is_finite()) {
            return Err(SidewaysError::NotSound);
        }
        for e in 0..nodes - 1 {
            let rate = (uneven.twist[e + 1] - uneven.twist[e]) / (limb.s[e + 1] - limb.s[e]);
            for point in limb.points(e) {
                let tau = point.strains().0;
                for (i, t) in tau.iter().enumerate() {
                    load[PER_NODE * e + i] += point.weight * point.gj * rate * t;
                }
            }
        }
    }
    if !load.iter().all(|l| l.is_finite()) {
        return Err(SidewaysError::NotSound);
    }
    system.hold(&CLAMPED);
    CLAMPED.iter().for_each(|&i| load[i] = 0.0);
    let factors = system.elastic.plus(1.0, &system.geometric).factor();
    if factors.negative() > 0 {
        return Err(SidewaysError::Unstable);
    }
    let x = factors.solve(&load);
    Ok(Lean { sideways: pick(&x, 0, nodes), twist: pick(&x, 2, nodes) })
}

/// Unknowns for each node: `v`, `v'`, `theta`, and `theta` half way to the next node.
const PER_NODE: usize = 4;
/// An element's unknowns: two nodes' without the second half-way twist.
const PER_ELEMENT: usize = 7;
/// Width of the band.
const BAND: usize = PER_ELEMENT - 1;
/// The root's unknowns.
const CLAMPED: [usize; 3] = [0, 1, 2];
/// A reserve above this is as good as endless.
const ENDLESS: f64 = 1e6;

/// Points and weights of the 4 point Gauss-Legendre rule on 0..1 (Abramowitz & Stegun, table 25.4).
const GAUSS: [(f64, f64); 4] = [
    (0.069_431_844_202_973_7, 0.173_927_422_568_726_9),
    (0.330_009_478_207_571_9, 0.326_072_577_431_273_1),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_1),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_9),
];

/// Everything at one point of integration.
struct AtPoint {
    weight: f64,
    curvature: f64,
    moment: f64,
    normal: f64,
    axial: f64,
    gj: f64,
    ei: f64,
    /// `v'`, `v''`, `theta`, `theta'` for each unknown of the element.
    slope: [f64; PER_ELEMENT],
    bend: [f64; PER_ELEMENT],
    twist: [f64; PER_ELEMENT],
    twisting: [f64; PER_ELEMENT],
}

impl AtPoint {
    /// `tau` and `k` for each unknown.
    fn strains(&self) -> ([f64; PER_ELEMENT], [f64; PER_ELEMENT]) {
        (
            std::array::from_fn(|i| self.twisting[i] + self.curvature * self.slope[i]),
            std::array::from_fn(|i| self.curvature * self.twist[i] - self.bend[i]),
        )
    }
}

impl LimbUnderPull<'_> {
    fn check(&self) -> Result<(), SidewaysError> {
        let n = self.s.len();
        let others = [self.curvature, self.moment, self.normal_force, self.axial_force, self.gj, self.ei_sideways];
        if n < 2 || others.iter().any(|o| o.len() != n) {
            return Err(SidewaysError::Lengths);
        }
        let finite = others.iter().chain([&self.s]).all(|o| o.iter().all(|v| v.is_finite()));
        let positive = self.gj.iter().chain(self.ei_sideways).all(|v| *v > 0.0);
        if !(finite && positive && self.string_restoring.is_finite() && self.seat_offset.is_finite()) {
            return Err(SidewaysError::NotSound);
        }
        if self.s.windows(2).any(|w| w[0] >= w[1]) {
            return Err(SidewaysError::NotRising);
        }
        Ok(())
    }

    /// The points of integration of the element from node `e` to the next.
    fn points(&self, e: usize) -> [AtPoint; 4] {
        let h = self.s[e + 1] - self.s[e];
        GAUSS.map(|(u, weight)| {
            let moment = hermite(u, h, self.moment, [-self.normal_force[e], -self.normal_force[e + 1]], e);
            // dt/ds = kappa n, dn/ds = -kappa t.
            let by = |i: usize| (self.curvature[i] * self.normal_force[i], -self.curvature[i] * self.axial_force[i]);
            let axial = hermite(u, h, self.axial_force, [by(e).0, by(e + 1).0], e);
            let normal = hermite(u, h, self.normal_force, [by(e).1, by(e + 1).1], e);
            let s = self.s[e] + u * h;
            let (q0, q1, q2) = ((1.0 - u) * (1.0 - 2.0 * u), 4.0 * u * (1.0 - u), u * (2.0 * u - 1.0));
            let (p0, p1, p2) = ((4.0 * u - 3.0) / h, (4.0 - 8.0 * u) / h, (4.0 * u - 1.0) / h);
            let (d0, d1) = (6.0 * u * (u - 1.0) / h, (1.0 - u) * (1.0 - 3.0 * u));
            let (d2, d3) = (-d0, u * (3.0 * u - 2.0));
            let (c0, c1) = ((12.0 * u - 6.0) / (h * h), (6.0 * u - 4.0) / h);
            let (c2, c3) = (-c0, (6.0 * u - 2.0) / h);
            AtPoint {
                weight: weight * h,
                curvature: between(self.s, self.curvature, e, s),
                moment,
                normal,
                axial,
                gj: between(self.s, self.gj, e, s),
                ei: between(self.s, self.ei_sideways, e, s),
                slope: [d0, d1, 0.0, 0.0, d2, d3, 0.0],
                bend: [c0, c1, 0.0, 0.0, c2, c3, 0.0],
                twist: [0.0, 0.0, q0, q1, 0.0, 0.0, q2],
                twisting: [0.0, 0.0, p0, p1, 0.0, 0.0, p2],
            }
        })
    }
}

/// Cubic through both nodes' values with the given slopes.
fn hermite(u: f64, h: f64, values: &[f64], slopes: [f64; 2], e: usize) -> f64 {
    let (a, b) = (values[e], values[e + 1]);
    let v = 1.0 - u;
    a * v * v * (1.0 + 2.0 * u) + b * u * u * (3.0 - 2.0 * u) + h * u * v * (slopes[0] * v - slopes[1] * u)
}

/// Cubic through the four nodes about the interval `e`, held between the two nearest values.
fn between(s: &[f64], values: &[f64], e: usize, at: f64) -> f64 {
    let first = e.saturating_sub(1).min(s.len().saturating_sub(4));
    let last = (first + 4).min(s.len());
    let mut sum = 0.0;
    for i in first..last {
        let part: f64 = (first..last).filter(|&j| j != i).map(|j| (at - s[j]) / (s[i] - s[j])).product();
        sum += part * values[i];
    }
    sum.clamp(values[e].min(values[e + 1]), values[e].max(values[e + 1]))
}

/// Every `PER_NODE`th unknown from `first`.
fn pick(x: &[f64], first: usize, nodes: usize) -> Vec<f64> {
    x.iter().skip(first).step_by(PER_NODE).take(nodes).copied().collect()
}

/// The two halves of the second variation: what the limb's stiffness gives and what its load gives.
struct System {
    elastic: Banded<BAND>,
    geometric: Banded<BAND>,
}

impl System {
    fn of(limb: &LimbUnderPull) -> Result<Self, SidewaysError> {
        limb.check()?;
        let nodes = limb.s.len();
        // The last node has no half-way twist after it.
        let n = PER_NODE * nodes - 1;
        let (mut elastic, mut geometric) = (Banded::zero(n), Banded::zero(n));
        for e in 0..nodes - 1 {
            let mut stiff = [[0.0; PER_ELEMENT]; PER_ELEMENT];
            let mut loaded = stiff;
            for p in limb.points(e) {
                let (tau, k) = p.strains();
                let (w, m) = (p.weight, 0.5 * p.weight * p.moment);
                for i in 0..PER_ELEMENT {
                    for j in 0..=i {
                        stiff[i][j] += w * (p.gj * tau[i] * tau[j] + p.ei * k[i] * k[j]);
                        let work = p.twist[i] * k[j] + k[i] * p.twist[j] + p.slope[i] * tau[j] + tau[i] * p.slope[j];
                        let turn = p.slope[i] * p.twist[j] + p.twist[i] * p.slope[j];
                        loaded[i][j] += w * (p.axial * p.slope[i] * p.slope[j] + 0.5 * p.normal * turn) - m * work;
                    }
                }
            }
            for i in 0..PER_ELEMENT {
                for j in 0..=i {
                    elastic.add(PER_NODE * e + i, PER_NODE * e + j, stiff[i][j]);
                    geometric.add(PER_NODE * e + i, PER_NODE * e + j, loaded[i][j]);
                }
            }
        }
        // The tip: 1/2 (T/l) (v - h theta)^2, and the pull's work on the turning of its seat,
        // -F . 1/2 psi x (psi x (-h n)) = -1/2 h theta (F_n theta + F_t v').
        let (tip, h, spring) = (PER_NODE * (nodes - 1), limb.seat_offset, limb.string_restoring);
        geometric.add(tip, tip, spring);
        geometric.add(tip + 2, tip, -h * spring);
        geometric.add(tip + 2, tip + 2, h * h * spring - h * limb.normal_force[nodes - 1]);
        geometric.add(tip + 2, tip + 1, -0.5 * h * limb.axial_force[nodes - 1]);
        Ok(System { elastic, geometric })
    }

    /// Holds these unknowns at zero.
    fn hold(&mut self, unknowns: &[usize]) {
        for &i in unknowns {
            self.elastic.isolate(i, 1.0);
            self.geometric.isolate(i, 0.0);
        }
    }

    /// The least positive `f` for which `elastic + f geometric` gives way.
    fn reserve(&self, nodes: usize) -> Reserve {
        let Some((factor, x)) = self.first_way(nodes).or_else(|| self.first_way_by_halving(nodes)) else {
            return Reserve { factor: f64::INFINITY, sideways: vec![], twist: vec![] };
        };
        let mut sideways = pick(&x, 0, nodes);
        let mut twist = pick(&x, 2, nodes);
        let largest = sideways.iter().fold(0.0_f64, |a, b| if b.abs() > a.abs() { *b } else { a });
        if largest != 0.0 {
            sideways.iter_mut().chain(&mut twist).for_each(|v| *v /= largest);
        }
        Reserve { factor, sideways, twist }
    }

    /// How many ways of going have a factor below `f`.
    fn ways_below(&self, f: f64) -> usize {
        self.elastic.plus(f, &self.geometric).factor().negative()
    }

    /// A limb leaning more and more toward its tip.
    fn leaning(&self, nodes: usize) -> Vec<f64> {
        (0..self.elastic.len()).map(|i| (1 + i / PER_NODE) as f64 / nodes as f64).collect()
    }

    /// `elastic x = -f geometric x`: `f` by Rayleigh's quotient, `x` scaled, and `geometric x`.
    fn quotient(&self, mut x: Vec<f64>) -> (f64, Vec<f64>, Vec<f64>) {
        let largest = x.iter().fold(f64::MIN_POSITIVE, |a, b| a.max(b.abs()));
        x.iter_mut().for_each(|v| *v /= largest);
        let pulled = self.geometric.times(&x);
        (-dot(&x, &self.elastic.times(&x)) / dot(&x, &pulled), x, pulled)
    }

    /// The first way of going by Rayleigh's quotient iteration; none where that leads to another way than the first.
    fn first_way(&self, nodes: usize) -> Option<(f64, Vec<f64>)> {
        // A factor that the limb still stands and that is no less than a third of the one it goes at: seen from there that one is nearest.
        let (mut below, mut near, mut high) = (0.0, self.elastic.clone().factor(), 1.0);
        loop {
            let here = self.elastic.plus(high, &self.geometric).factor();
            if here.negative() > 0 {
                break;
            }
            (below, near, high) = (high, here, 3.0 * high);
            if high > ENDLESS {
                return None;
            }
        }
        let (mut factor, _, mut pulled) = self.quotient(self.leaning(nodes));
        for k in 0..16 {
            let before = factor;
            let x;
            (factor, x, pulled) = self.quotient(near.solve(&pulled));
            if (factor - before).abs() <= 1e-11 * factor {
                return (self.ways_below(factor * (1.0 - 1e-6)) == 0).then_some((factor, x));
            }
            if k >= 3 {
                if !(below..=high).contains(&factor) {
                    return None;
                }
                near = self.elastic.plus(factor, &self.geometric).factor();
            }
        }
        None
    }

    /// The same by counting the ways below a factor, which always ends at the first; none where it is [`ENDLESS`].
    fn first_way_by_halving(&self, nodes: usize) -> Option<(f64, Vec<f64>)> {
        let gives_way = |f: f64| self.ways_below(f) > 0;
        let (mut low, mut high) = (0.0, 1.0);
        while !gives_way(high) {
            (low, high) = (high, 2.0 * high);
            if high > ENDLESS {
                return None;
            }
        }
        for _ in 0..46 {
            let middle = 0.5 * (low + high);
            if gives_way(middle) { high = middle } else { low = middle }
        }
        let factor = 0.5 * (low + high);
        let near = self.elastic.plus(factor, &self.geometric).factor();
        let (_, mut x, mut pulled) = self.quotient(self.leaning(nodes));
        for _ in 0..4 {
            (_, x, pulled) = self.quotient(near.solve(&pulled));
        }
        Some((factor, x))
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests;
