//! Grooves as cuts into the tip's radius.

use super::jet::{Scalar, smooth_least, smooth_step};
use crate::groove::Groove;
use crate::guide::Guide;

/// One groove.
#[derive(Debug, Clone, PartialEq)]
pub enum Cut {
    /// A groove laid out on the unrolled girth.
    Laid(Box<Groove>),
    /// A straight stroke of a round file.
    Pass(FilePass),
    /// A guide down the middle of the belly.
    Guide(Guide),
}

impl Cut {
    /// The radius `r` at (`a`, `theta`) after this cut.
    pub fn apply<T: Scalar>(&self, r: T, a: T, theta: T) -> T {
        match self {
            Cut::Laid(groove) => groove.cut(r, a, theta),
            Cut::Pass(pass) => pass.cut(r, a, theta),
            Cut::Guide(guide) => guided(guide, r, a, theta),
        }
    }
}

impl Cut {
    /// Whether the cut may take away something between two places along `a` (m) and between two polar angles (rad, within a turn of 0).
    pub fn reaches(&self, along: [f64; 2], angles: [f64; 2]) -> bool {
        match self {
            Cut::Laid(groove) => groove.reaches(along, angles),
            Cut::Pass(_) => true,
            // Few of the string's ways come near it, and those see it.
            Cut::Guide(guide) => along[0] <= -guide.start && along[1] >= -guide.end,
        }
    }
}

/// The radius `r` at (`a`, `theta`) with a guide cut into the belly: at the width `w` off the middle it goes down by
/// `depth - (rho - sqrt(rho^2 - w^2))`.
fn guided<T: Scalar>(guide: &Guide, r: T, a: T, theta: T) -> T {
    let (s, c) = theta.sin_cos();
    if c.value() > -0.3 || a.value() <= -guide.end || a.value() >= -guide.start {
        return r;
    }
    let w = r * s;
    let under = -w.squared() + guide.radius * guide.radius;
    if under.value() <= 0.0 {
        return r;
    }
    let part =
        smooth_step((a + guide.end) * (1.0 / guide.run())) * smooth_step((-a - guide.start) * (1.0 / guide.run()));
    let down = part * guide.depth + under.sqrt() - guide.radius;
    if down.value() > 0.0 { r + down / c } else { r }
}

/// What a round file takes away on a straight path, with its edges eased.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilePass {
    /// A point on the file's axis (a, w, b), m.
    pub through: [f64; 3],
    /// The axis' direction, a unit vector.
    pub along: [f64; 3],
    /// Radius of the file, m.
    pub radius: f64,
    /// How far from the crossing of the surfaces the edge is eased, m.
    pub edge: f64,
}

impl FilePass {
    /// The same stroke on the other side.
    pub fn mirrored(&self) -> FilePass {
        let flip = |v: [f64; 3]| [v[0], -v[1], v[2]];
        FilePass { through: flip(self.through), along: flip(self.along), ..*self }
    }

    /// Whether it takes away the same: an axis has no front and back.
    pub fn is_like(&self, other: &FilePass) -> bool {
        self == other || *self == FilePass { along: other.along.map(|v| -v), ..*other }
    }

    /// The radius `r` at (`a`, `theta`) after the stroke. The file comes from outside: what lies beyond it goes too.
    pub fn cut<T: Scalar>(&self, r: T, a: T, theta: T) -> T {
        if r.value() <= 0.0 {
            return r;
        }
        let (s, c) = theta.sin_cos();
        let [u, v, w] = self.along;
        // Y = A + rho e, less its part along the axis; |Y| = radius at the file's skin.
        let from = [a - self.through[0], T::constant(-self.through[1]), T::constant(-self.through[2])];
        let along_from = from[0] * u + from[1] * v + from[2] * w;
        let along_ray = s * v + c * w;
        let ray2 = -along_ray.squared() + 1.0;
        let from2 = from[0].squared() + from[1].squared() + from[2].squared() - along_from.squared();
        let cross = from[1] * s + from[2] * c - along_from * along_ray;
        let disc = cross.squared() - ray2 * (from2 - self.radius * self.radius);
        if disc.value() <= 0.0 || ray2.value() < 1e-9 || cross.value() >= 0.0 {
            return r;
        }
        let entry = (-cross - disc.sqrt()) / ray2;
        smooth_least(r, entry, self.edge)
    }
}
