//! Grooves as cuts into the tip's radius.

use super::jet::{Scalar, smooth_least};
use crate::groove::Groove;

/// One groove.
#[derive(Debug, Clone, PartialEq)]
pub enum Cut {
    /// A groove laid out on the unrolled girth.
    Laid(Box<Groove>),
    /// A straight stroke of a round file.
    Pass(FilePass),
    /// Turned down to a pin, all round.
    Turned(Turned),
}

impl Cut {
    /// The radius `r` at (`a`, `theta`) after this cut.
    pub fn apply<T: Scalar>(&self, r: T, a: T, theta: T) -> T {
        match self {
            Cut::Laid(groove) => groove.cut(r, a, theta),
            Cut::Pass(pass) => pass.cut(r, a, theta),
            Cut::Turned(turned) => turned.cut(r, a),
        }
    }
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

/// A pin turned on the limb's end, with a hollow at its foot that rises to the shoulder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// Radius of the pin at its foot, m.
    pub radius: f64,
    /// Change of the pin's radius along `a`.
    pub slope: f64,
    /// The foot: the hollow rises from here toward the handle, m along `a`.
    pub start: f64,
    /// Radius of the hollow, m.
    pub hollow: f64,
    /// How far from the crossing of the surfaces the shoulder's edge is eased, m.
    pub edge: f64,
}

/// The hollow rises to this part of its radius along `a` (to a slope of about 78 deg) and goes straight on.
const HOLLOW: f64 = 0.98;

impl Turned {
    /// The radius `r` at `a` after turning.
    pub fn cut<T: Scalar>(&self, r: T, a: T) -> T {
        if r.value() <= 0.0 {
            return r;
        }
        let x = -(a - self.start);
        let f = self.hollow;
        let pin = x * -self.slope + self.radius;
        if x.value() <= 0.0 {
            return smooth_least(r, pin, self.edge);
        }
        let rise = if x.value() < HOLLOW * f {
            -(-x.squared() + f * f).sqrt() + f
        } else {
            let root = (1.0 - HOLLOW * HOLLOW).sqrt();
            (x - HOLLOW * f) * (HOLLOW / root) + f * (1.0 - root)
        };
        smooth_least(r, pin + rise, self.edge)
    }
}
