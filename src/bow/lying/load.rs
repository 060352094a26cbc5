//! What bends a stretch of limb, and how its state changes along it.

use super::place::Place;

/// Angle, x, y, length wrapped, energy; then the first four by each of two unknowns.
pub(super) type Carried = [f64; 13];

/// A pull at a point of the tip's frame, and both by two unknowns.
#[derive(Clone, Copy)]
pub(super) struct Pull {
    pub force: [f64; 2],
    pub at: [f64; 2],
    pub force_by: [[f64; 2]; 2],
    pub at_by: [[f64; 2]; 2],
}

impl Pull {
    /// A pull at an angle to the tip's limb, the first unknown being the pull itself.
    pub(super) fn along(pull: f64, angle: f64, angle_by: [f64; 2], at: [f64; 2], at_by: [[f64; 2]; 2]) -> Self {
        let (sin, cos) = angle.sin_cos();
        let turned = |by: f64| [pull * cos * by, pull * sin * by];
        let first = turned(angle_by[0]);
        Pull {
            force: [pull * sin, -pull * cos],
            at,
            force_by: [[first[0] + sin, first[1] - cos], turned(angle_by[1])],
            at_by,
        }
    }

    /// Its moment about a point of the centreline, `-(P - r) x F`, plus toward the archer.
    pub(super) fn moment(&self, z: &Carried) -> f64 {
        (self.at[1] - z[2]) * self.force[0] - (self.at[0] - z[1]) * self.force[1]
    }

    pub(super) fn moment_by(&self, k: usize, z: &Carried) -> f64 {
        let (at, force) = (self.at_by[k], self.force_by[k]);
        let [x, y] = [z[6 + 4 * k], z[7 + 4 * k]];
        (at[1] - y) * self.force[0] + (self.at[1] - z[2]) * force[0]
            - (at[0] - x) * self.force[1]
            - (self.at[0] - z[1]) * force[1]
    }
}

/// What bends a stretch of limb.
#[derive(Clone, Copy)]
pub(super) enum Bent<'a> {
    /// A pull at a point.
    By(&'a Pull),
    /// The string of this pull lying on it, N; the first unknown is the pull.
    Under(f64),
}

/// Rates inward along the limb.
pub(super) fn inward(place: &Place, bent: Bent, z: &Carried) -> Carried {
    let (sin, cos) = z[0].sin_cos();
    let mut rate = [0.0; 13];
    (rate[1], rate[2]) = (-sin, -cos);
    match bent {
        Bent::By(pull) => {
            let moment = pull.moment(z);
            rate[0] = -(place.rest + moment / place.stiffness);
            rate[4] = 0.5 * moment * moment / place.stiffness;
            for k in 0..2 {
                rate[5 + 4 * k] = -pull.moment_by(k, z) / place.stiffness;
            }
        }
        Bent::Under(pull) => {
            let (k, by_pull) = place.lain(pull);
            let long = place.stretch(k);
            rate[0] = -k;
            rate[3] = long;
            rate[4] = 0.5 * place.stiffness * (k - place.rest).powi(2);
            rate[5] = -by_pull;
            rate[8] = -place.off * (1.0 - k * place.off) / long * by_pull;
        }
    }
    for k in 0..2 {
        let angle = z[5 + 4 * k];
        (rate[6 + 4 * k], rate[7 + 4 * k]) = (-cos * angle, sin * angle);
    }
    rate
}
