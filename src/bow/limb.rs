//! A limb at rest: width, thickness, stiffness and unstrung curve along its length.

use crate::design::{Bow, Limb, Offset, SectionForm, StiffnessAt};
use crate::numerics::monotone::Monotone;
use crate::section::Section;
use crate::strip::Strip;

/// Width and thickness of a limb along its length, by distance from the middle of the bow, m.
///
/// The stations are joined by a fair curve that does not overshoot; beyond the last one the taper goes straight on,
/// but never below a tenth of the last station's measure.
#[derive(Debug, Clone)]
pub struct Profile {
    limb: Limb,
    width: Monotone,
    thickness: Monotone,
    corner: Option<Monotone>,
    least: [f64; 2],
}

impl Profile {
    /// The profile of a limb.
    pub fn of(limb: &Limb) -> Self {
        let least = limb.stations.last().map_or([0.0; 2], |s| [0.1 * s.width, 0.1 * s.thickness]);
        Profile {
            width: Monotone::through(limb.stations.iter().map(|s| (s.at, s.width))),
            thickness: Monotone::through(limb.stations.iter().map(|s| (s.at, s.thickness))),
            corner: (!limb.corners.is_empty())
                .then(|| Monotone::through(limb.corners.iter().map(|c| (c.at, c.radius)))),
            limb: limb.clone(),
            least,
        }
    }

    /// Width at `at` from the middle of the bow, m.
    pub fn width(&self, at: f64) -> f64 {
        self.width.at(at).max(self.least[0])
    }

    /// Thickness at `at` from the middle of the bow, m.
    pub fn thickness(&self, at: f64) -> f64 {
        self.thickness.at(at).max(self.least[1])
    }

    /// Cross section at `at` from the middle of the bow.
    pub fn section(&self, at: f64) -> Section {
        let form = match (&self.corner, self.limb.section) {
            (Some(corner), SectionForm::Rectangle | SectionForm::RoundedRectangle { .. }) => {
                SectionForm::RoundedRectangle { corner: corner.at(at).max(0.0) }
            }
            (_, form) => form,
        };
        Section { form, width: self.width(at), thickness: self.thickness(at) }
    }
}

/// A limb ready for the statics: values at the nodes of a grid and half way between them.
///
/// The grid runs along the centreline by arc length `s` from the end of the stiff handle (`s = 0`) to the nock
/// (`s = length`). All arrays hold `2 n + 1` values for `n` steps, root first: whole steps at even places,
/// half steps between. Stations are always nodes, so that no step straddles a change of curve.
#[derive(Debug, Clone)]
pub struct RestingLimb {
    /// Arc length from the end of the stiff handle, m.
    pub s: Vec<f64>,
    /// Bending stiffness in the bow's plane, N m2.
    pub stiffness: Vec<f64>,
    /// Unstrung curvature, plus toward the belly, 1/m.
    pub curvature: Vec<f64>,
    /// Centroid to belly face, m.
    pub belly: Vec<f64>,
    /// Depth of a groove in the belly that a lying string rests in, m. It is taken as long enough.
    pub guide: f64,
    /// A strip glued on the belly, on which a lying string rests. It is taken as long enough; its own stiffness is left out.
    pub strip: Option<Strip>,
    /// Where the centreline leaves the handle: `x` toward the archer, `y` outward from the middle, m.
    pub root: [f64; 2],
    /// From the centreline to the string's centreline at the nock seat, plus toward the back, m.
    pub seat_offset: f64,
}

impl RestingLimb {
    /// Length from the end of the stiff handle to the nock, m.
    pub fn length(&self) -> f64 {
        self.s.last().copied().unwrap_or(0.0)
    }

    /// How high a strip stands over the belly at `s`, m along the limb; 0 where there is none.
    pub fn strip_height(&self, s: f64) -> f64 {
        self.strip.map_or(0.0, |strip| strip.height(self.length() - s))
    }

    /// Number of whole steps.
    pub fn steps(&self) -> usize {
        self.s.len() / 2
    }

    /// A limb from functions of arc length: stiffness (N m2) and unstrung curvature (1/m); no thickness.
    pub fn from_functions(
        length: f64,
        steps: usize,
        stiffness: impl Fn(f64) -> f64,
        curvature: impl Fn(f64) -> f64,
    ) -> Self {
        let s = grid(&[0.0, length], steps);
        RestingLimb {
            stiffness: s.iter().map(|&s| stiffness(s)).collect(),
            curvature: s.iter().map(|&s| curvature(s)).collect(),
            belly: vec![0.0; s.len()],
            guide: 0.0,
            strip: None,
            s,
            root: [0.0; 2],
            seat_offset: 0.0,
        }
    }

    /// The limb of a design, with about `steps` steps.
    ///
    /// The back of the unstrung bow is the line that its set is measured from; it stands `handle_depth` on the far side
    /// of the pivot. The centreline starts at the centroid of the first bending section. Its slope from the taper
    /// (a few tenths of a degree) is left out.
    pub fn of(bow: &Bow, limb: &Limb, seat_offset: f64, steps: usize) -> Self {
        let start = bow.stiff_handle / 2.0;
        let profile = Profile::of(limb);
        let rest = UnstrungBack::of(start, &limb.unstrung);
        let mut knots = vec![start, limb.length];
        knots.extend(limb.stations.iter().map(|s| s.at));
        knots.extend(limb.unstrung.iter().map(|o| o.at));
        knots.extend(limb.stiffness.iter().map(|p| p.at));
        knots.retain(|&k| (start..=limb.length).contains(&k));
        knots.sort_by(f64::total_cmp);
        knots.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let at = grid(&knots, steps);
        let sections: Vec<Section> = at.iter().map(|&at| profile.section(at)).collect();
        RestingLimb {
            s: at.iter().map(|at| at - start).collect(),
            stiffness: sections
                .iter()
                .zip(&at)
                .map(|(c, &at)| limb.wood.modulus.value * c.second_moment() * known_factor(&limb.stiffness, at))
                .collect(),
            curvature: at.iter().map(|&at| rest.curvature(at)).collect(),
            belly: sections.iter().map(Section::belly_distance).collect(),
            guide: 0.0,
            strip: None,
            root: [sections[0].back_distance() - bow.handle_depth - rest.start, start],
            seat_offset,
        }
    }

    /// The same limb with all stiffness multiplied by `factor`.
    pub fn stiffened(&self, factor: f64) -> Self {
        let mut limb = self.clone();
        limb.stiffness.iter_mut().for_each(|v| *v *= factor);
        limb
    }
}

/// The known factor on the stiffness at `at` (m from the middle): its logarithm straight between places, level beyond them.
pub fn known_factor(places: &[StiffnessAt], at: f64) -> f64 {
    let i = places.partition_point(|p| p.at <= at);
    match (i.checked_sub(1).map(|k| &places[k]), places.get(i)) {
        (None, None) => 1.0,
        (None, Some(only)) | (Some(only), None) => only.factor,
        (Some(a), Some(b)) => a.factor * (b.factor / a.factor).powf((at - a.at) / (b.at - a.at)),
    }
}

/// Nodes and half-step points over `knots`, about `steps` whole steps shared by length, at least two between knots.
fn grid(knots: &[f64], steps: usize) -> Vec<f64> {
    let (first, last) = (knots[0], knots[knots.len() - 1]);
    let mut points = vec![first];
    for pair in knots.windows(2) {
        let share = (pair[1] - pair[0]) / (last - first) * steps as f64;
        let halves = 2 * (share.ceil() as usize).max(2);
        points.extend((1..=halves).map(|k| pair[0] + (pair[1] - pair[0]) * k as f64 / halves as f64));
    }
    points
}

/// The unstrung back: a cubic spline of its set along the limb, square to the handle where it leaves it,
/// without curvature at the outermost given place and straight beyond it.
struct UnstrungBack {
    at: Vec<f64>,
    set: Vec<f64>,
    /// Second derivatives at the knots.
    bend: Vec<f64>,
    /// Set where the limb leaves the handle.
    start: f64,
}

impl UnstrungBack {
    fn of(start: f64, offsets: &[Offset]) -> Self {
        let first = offsets.first().filter(|o| o.at <= start + 1e-6).map_or(0.0, |o| o.set);
        let outside = || offsets.iter().filter(|o| o.at > start + 1e-6);
        let at: Vec<f64> = std::iter::once(start).chain(outside().map(|o| o.at)).collect();
        let set: Vec<f64> = std::iter::once(first).chain(outside().map(|o| o.set)).collect();
        // Clamped (slope 0) at the handle, natural at the outer end: tridiagonal system for the second derivatives.
        let n = at.len();
        let mut bend = vec![0.0; n];
        if n > 1 {
            let h: Vec<f64> = at.windows(2).map(|w| w[1] - w[0]).collect();
            let rise: Vec<f64> = (0..n - 1).map(|i| (set[i + 1] - set[i]) / h[i]).collect();
            let (mut upper, mut right) = (vec![0.0; n], vec![0.0; n]);
            upper[0] = 0.5;
            right[0] = 3.0 * rise[0] / h[0];
            for i in 1..n - 1 {
                let pivot = 2.0 * (h[i - 1] + h[i]) - h[i - 1] * upper[i - 1];
                upper[i] = h[i] / pivot;
                right[i] = (6.0 * (rise[i] - rise[i - 1]) - h[i - 1] * right[i - 1]) / pivot;
            }
            for i in (0..n - 1).rev() {
                bend[i] = right[i] - upper[i] * bend[i + 1];
            }
        }
        UnstrungBack { at, set, bend, start: first }
    }

    /// Unstrung curvature toward the belly at `at`, 1/m.
    ///
    /// With `at` as arc length `s`, the tangent's angle `phi` toward the belly obeys `sin phi = -set'(s)`, so
    /// `kappa0 = phi' = -set'' / sqrt(1 - set'^2)`.
    fn curvature(&self, at: f64) -> f64 {
        let last = self.at.len() - 1;
        if last == 0 || at >= self.at[last] {
            return 0.0;
        }
        let i = (self.at.partition_point(|&k| k <= at).max(1) - 1).min(last - 1);
        let h = self.at[i + 1] - self.at[i];
        let (left, right) = ((self.at[i + 1] - at) / h, (at - self.at[i]) / h);
        let second = left * self.bend[i] + right * self.bend[i + 1];
        let slope = (self.set[i + 1] - self.set[i]) / h
            + h / 6.0 * ((1.0 - 3.0 * left * left) * self.bend[i] + (3.0 * right * right - 1.0) * self.bend[i + 1]);
        -second / (1.0 - slope * slope).max(0.01).sqrt()
    }
}
