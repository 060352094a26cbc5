//! One number, or two side by side: what is written for any [`Lane`] does two like computations in little more than the time of one,
//! for a processor works on both at once, and their results are to the bit those of each alone.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A number, or several that go through the same arithmetic.
pub trait Lane:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self> + Neg<Output = Self>
{
    /// The same number in every lane.
    fn all(v: f64) -> Self;
    /// Whether every lane lies nearer to zero than `bound`.
    fn within(self, bound: f64) -> bool;
    /// Sine and cosine of each lane.
    fn sin_cos(self) -> [Self; 2];
}

impl Lane for f64 {
    fn all(v: f64) -> Self {
        v
    }

    fn within(self, bound: f64) -> bool {
        self.abs() < bound
    }

    fn sin_cos(self) -> [Self; 2] {
        let (sin, cos) = f64::sin_cos(self);
        [sin, cos]
    }
}

/// Two numbers side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Two(pub [f64; 2]);

impl Lane for Two {
    fn all(v: f64) -> Self {
        Two([v; 2])
    }

    fn within(self, bound: f64) -> bool {
        self.0[0].abs() < bound && self.0[1].abs() < bound
    }

    fn sin_cos(self) -> [Self; 2] {
        let [a, b] = self.0.map(f64::sin_cos);
        [Two([a.0, b.0]), Two([a.1, b.1])]
    }
}

impl Add for Two {
    type Output = Two;
    fn add(self, other: Two) -> Two {
        Two([self.0[0] + other.0[0], self.0[1] + other.0[1]])
    }
}

impl Sub for Two {
    type Output = Two;
    fn sub(self, other: Two) -> Two {
        Two([self.0[0] - other.0[0], self.0[1] - other.0[1]])
    }
}

impl Mul for Two {
    type Output = Two;
    fn mul(self, other: Two) -> Two {
        Two([self.0[0] * other.0[0], self.0[1] * other.0[1]])
    }
}

impl Div for Two {
    type Output = Two;
    fn div(self, other: Two) -> Two {
        Two([self.0[0] / other.0[0], self.0[1] / other.0[1]])
    }
}

impl Neg for Two {
    type Output = Two;
    fn neg(self) -> Two {
        Two([-self.0[0], -self.0[1]])
    }
}
