//! What a loop at rest tells: where it bears, how hard, how sharply it is bent, and what holds it.

use super::chain::{Loop, Rest};
use super::rolled::roll;
use crate::tip::TipSolid;
use crate::tip::jet::Jet;
use crate::tip::solid::normal;

type V3 = [f64; 3];

/// Part of a leg's tension that may lean toward the tip before the string counts as pinched: the taper of a limb alone gives about
/// three hundredths, a fan ten degrees too narrow seven and more. From this program's own runs, no outside source.
pub const PINCH: f64 = 0.05;

/// Polar angles between which pinching counts, rad: past the seat across the back, where the groove has two sides on purpose,
/// and before the belly half's corners.
const ASIDE: [f64; 2] = [0.35, 1.75];

fn dot(u: V3, v: V3) -> f64 {
    u[0] * v[0] + u[1] * v[1] + u[2] * v[2]
}

fn cross(u: V3, v: V3) -> V3 {
    [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
}

fn unit(u: V3) -> V3 {
    let l = dot(u, u).sqrt().max(1e-300);
    u.map(|v| v / l)
}

/// The string where it bears on the tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// The string's centre (a, w, b), m.
    pub at: V3,
    /// Polar angle, rad.
    pub theta: f64,
    /// Curvature of the string's centreline, 1/m.
    pub curvature: f64,
    /// Load on the tip per length of string, N/m.
    pub load: f64,
    /// Sideways load over pressing load, against the surface as it would be without groove: what a wall or friction has to hold.
    pub sideways: f64,
    /// Angle between the load and that surface's normal, toward the wall, rad.
    pub lean: f64,
    /// How deep the tip is cut away under it, m.
    pub cut: f64,
    /// Length of string this stands for, m.
    pub length: f64,
}

/// One state's figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// From the seat to the throat, m.
    pub reach: f64,
    /// How far the throat stands along the pull from the seat, m.
    pub along_pull: f64,
    /// The throat (a, w, b), m.
    pub throat: V3,
    /// Tension of a leg, N.
    pub leg: f64,
    /// Where it bears, from the `-w` side over the back to the `+w` side.
    pub contacts: Vec<Contact>,
    /// The string's whole centreline, from the throat round and back to it (a, w, b), m.
    pub line: Vec<V3>,
    /// Greatest load per length, N/m.
    pub most_load: f64,
    /// Least radius the centreline is bent to, m.
    pub sharpest: f64,
    /// Greatest sideways load over pressing load where the string bears with weight.
    pub most_sideways: f64,
    /// Sideways load that the wall, on the handle's side, has to hold, all contacts together, N.
    pub held: f64,
    /// How far the string turns on the tip, all bends together, rad.
    pub wrapped: f64,
    /// Sideways load on the groove's side toward the tip, all contacts together, N: above next to nothing only where the string is bent
    /// round an edge that should not be in its way.
    pub pinched: f64,
}

impl Figures {
    /// The figures of `rest` under the pull `pull` (N) in the direction `u`; `seat` is the height of the string's centre over the
    /// limb's centreline at the seat, m.
    pub fn of(hung: &Loop<'_>, rest: &Rest, u: V3, pull: f64, seat: f64) -> Self {
        let n = hung.angles().len();
        let throat = hung.throat(rest);
        let mut line = vec![throat];
        line.extend((0..n).map(|i| hung.point(rest, i)));
        line.push(throat);
        let leg = rest.leg * pull;
        let contact = |i: usize| {
            let (p, q, s) = (line[i], line[i + 1], line[i + 2]);
            let (d0, d1): (V3, V3) = (std::array::from_fn(|j| q[j] - p[j]), std::array::from_fn(|j| s[j] - q[j]));
            let (l0, l1) = (dot(d0, d0).sqrt().max(1e-12), dot(d1, d1).sqrt().max(1e-12));
            let bend: V3 = std::array::from_fn(|j| d0[j] / l0 - d1[j] / l1);
            let length = 0.5 * (l0 + l1);
            let along = unit(std::array::from_fn(|j| d0[j] + d1[j]));
            let theta = hung.angles()[i];
            let plain = hung.solid.uncut(Jet::first(rest.a[i]), Jet::second(theta));
            let face = normal(theta, &plain);
            let left: f64 = hung.solid.radius(rest.a[i], theta);
            // Across the string, in the plain surface, toward the handle.
            let mut across = unit(cross(face, along));
            if across[0] > 0.0 {
                across = across.map(|v| -v);
            }
            let (press, aside) = (dot(bend, face), dot(bend, across));
            let size = dot(bend, bend).sqrt();
            Contact {
                at: q,
                theta,
                curvature: size / length,
                load: leg * size / length,
                sideways: aside.abs() / press.abs().max(1e-9),
                lean: (-aside).atan2(press),
                cut: plain.v - left,
                length,
            }
        };
        // Where both sides are alike one tells the other.
        let first = if hung.is_even(rest) { n / 2 } else { 0 };
        let mut contacts: Vec<Contact> = (first..n).filter(|&i| rest.bears[i]).map(contact).collect();
        if first > 0 {
            let beside = contacts.iter().filter(|c| c.theta > 0.0).rev();
            let other = |c: &Contact| Contact { at: [c.at[0], -c.at[1], c.at[2]], theta: -c.theta, ..*c };
            contacts = beside.map(other).chain(contacts.iter().copied()).collect();
        }
        let from_seat = [throat[0], throat[1], throat[2] - seat];
        // A contact counts for ratios where it carries more than a thousandth of a leg.
        let weighty = |c: &&Contact| c.curvature * c.length > 1e-3;
        let fold = |f: &dyn Fn(&Contact) -> f64| contacts.iter().filter(weighty).map(f).fold(0.0, f64::max);
        Figures {
            reach: dot(from_seat, from_seat).sqrt(),
            along_pull: dot(from_seat, u),
            throat,
            leg,
            most_load: fold(&|c| c.load),
            sharpest: 1.0 / fold(&|c| c.curvature).max(1e-9),
            most_sideways: fold(&|c| c.sideways),
            held: contacts.iter().map(|c| c.load * c.length * c.lean.sin().max(0.0)).sum(),
            wrapped: contacts.iter().map(|c| 2.0 * (0.5 * c.curvature * c.length).min(1.0).asin()).sum(),
            pinched: contacts
                .iter()
                .filter(|c| (ASIDE[0]..ASIDE[1]).contains(&c.theta.abs()))
                .map(|c| c.load * c.length * (-c.lean.sin()).max(0.0))
                .sum(),
            contacts,
            line,
        }
    }

    /// Ratio of tensions at which the string would slip round the tip, friction `mu`: `exp(mu x wrapped)` (Euler, Eytelwein).
    pub fn grip(&self, mu: f64) -> f64 {
        (mu * self.wrapped).exp()
    }

    /// Whether friction `mu` alone would hold the string where it lies: nowhere is more sideways load than `mu` times the pressing load
    /// (no-slip rule of filament winding, Koussios and Bergsma 2006). Otherwise a wall holds it.
    pub fn friction_holds(&self, mu: f64) -> bool {
        self.most_sideways <= mu
    }

    /// Whether the string is pinched: more than [`PINCH`] of a leg's tension goes into an edge on the tip's side.
    pub fn is_pinched(&self) -> bool {
        self.pinched > PINCH * self.leg
    }

    /// Where on the surface of `solid` the string, of radius `r` (m), touches at each contact: (a, theta), m and rad.
    pub fn footprint(&self, solid: &TipSolid, r: f64) -> Vec<[f64; 2]> {
        self.contacts.iter().filter_map(|c| roll(solid, r, c.at[0], c.theta).map(|p| p.touch)).collect()
    }
}
