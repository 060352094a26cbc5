//! Numbers that carry their first and second derivatives in two variables along.
//!
//! The tip's surface is written once, for any [`Scalar`]: with `f64` it gives the radius alone, with [`Jet`] also the
//! slopes and curvatures, exact to rounding. Nothing is differenced.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A number that surfaces can be written in.
pub trait Scalar:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A constant.
    fn constant(v: f64) -> Self;
    /// Its value, without derivatives.
    fn value(self) -> f64;
    /// A function of this number, from the function's value and first two derivatives at [`Scalar::value`].
    fn chain(self, f: f64, df: f64, ddf: f64) -> Self;

    /// A function of `u` and `v`, from its value, its slopes and its second derivatives (uu, uv, vv).
    fn chain2(u: Self, v: Self, f: f64, slopes: [f64; 2], seconds: [f64; 3]) -> Self;

    /// Square root; the argument's value is kept from zero so that slopes stay finite.
    fn sqrt(self) -> Self {
        let r = self.value().max(1e-14).sqrt();
        self.chain(r, 0.5 / r, -0.25 / (r * r * r))
    }

    /// Sine and cosine.
    fn sin_cos(self) -> (Self, Self) {
        let (s, c) = self.value().sin_cos();
        (self.chain(s, c, -s), self.chain(c, -s, -c))
    }

    /// Square.
    fn squared(self) -> Self {
        self * self
    }
}

impl Scalar for f64 {
    fn constant(v: f64) -> Self {
        v
    }
    fn value(self) -> f64 {
        self
    }
    fn chain(self, f: f64, _: f64, _: f64) -> Self {
        f
    }
    fn chain2(_: f64, _: f64, f: f64, _: [f64; 2], _: [f64; 3]) -> f64 {
        f
    }
}

/// Value, slopes and second derivatives in `x` and `y`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// Value.
    pub v: f64,
    /// d/dx.
    pub x: f64,
    /// d/dy.
    pub y: f64,
    /// d2/dx2.
    pub xx: f64,
    /// d2/dx dy.
    pub xy: f64,
    /// d2/dy2.
    pub yy: f64,
}

impl Jet {
    /// The first variable, at `v`.
    pub fn first(v: f64) -> Self {
        Jet { v, x: 1.0, y: 0.0, xx: 0.0, xy: 0.0, yy: 0.0 }
    }

    /// The second variable, at `v`.
    pub fn second(v: f64) -> Self {
        Jet { v, x: 0.0, y: 1.0, xx: 0.0, xy: 0.0, yy: 0.0 }
    }
}

impl Add for Jet {
    type Output = Jet;
    fn add(self, o: Jet) -> Jet {
        Jet {
            v: self.v + o.v,
            x: self.x + o.x,
            y: self.y + o.y,
            xx: self.xx + o.xx,
            xy: self.xy + o.xy,
            yy: self.yy + o.yy,
        }
    }
}

impl Sub for Jet {
    type Output = Jet;
    fn sub(self, o: Jet) -> Jet {
        self + -o
    }
}

impl Neg for Jet {
    type Output = Jet;
    fn neg(self) -> Jet {
        self * -1.0
    }
}

impl Mul for Jet {
    type Output = Jet;
    fn mul(self, o: Jet) -> Jet {
        Jet {
            v: self.v * o.v,
            x: self.x * o.v + self.v * o.x,
            y: self.y * o.v + self.v * o.y,
            xx: self.xx * o.v + 2.0 * self.x * o.x + self.v * o.xx,
            xy: self.xy * o.v + self.x * o.y + self.y * o.x + self.v * o.xy,
            yy: self.yy * o.v + 2.0 * self.y * o.y + self.v * o.yy,
        }
    }
}

impl Div for Jet {
    type Output = Jet;
    fn div(self, o: Jet) -> Jet {
        let i = 1.0 / o.v;
        self * o.chain(i, -i * i, 2.0 * i * i * i)
    }
}

impl Add<f64> for Jet {
    type Output = Jet;
    fn add(self, o: f64) -> Jet {
        Jet { v: self.v + o, ..self }
    }
}

impl Sub<f64> for Jet {
    type Output = Jet;
    fn sub(self, o: f64) -> Jet {
        Jet { v: self.v - o, ..self }
    }
}

impl Mul<f64> for Jet {
    type Output = Jet;
    fn mul(self, k: f64) -> Jet {
        Jet { v: self.v * k, x: self.x * k, y: self.y * k, xx: self.xx * k, xy: self.xy * k, yy: self.yy * k }
    }
}

impl Scalar for Jet {
    fn constant(v: f64) -> Self {
        Jet { v, x: 0.0, y: 0.0, xx: 0.0, xy: 0.0, yy: 0.0 }
    }
    fn value(self) -> f64 {
        self.v
    }
    fn chain(self, f: f64, df: f64, ddf: f64) -> Self {
        Jet {
            v: f,
            x: df * self.x,
            y: df * self.y,
            xx: df * self.xx + ddf * self.x * self.x,
            xy: df * self.xy + ddf * self.x * self.y,
            yy: df * self.yy + ddf * self.y * self.y,
        }
    }
    fn chain2(u: Jet, v: Jet, f: f64, [fu, fv]: [f64; 2], [fuu, fuv, fvv]: [f64; 3]) -> Jet {
        Jet {
            v: f,
            x: fu * u.x + fv * v.x,
            y: fu * u.y + fv * v.y,
            xx: fu * u.xx + fv * v.xx + fuu * u.x * u.x + 2.0 * fuv * u.x * v.x + fvv * v.x * v.x,
            xy: fu * u.xy + fv * v.xy + fuu * u.x * u.y + fuv * (u.x * v.y + u.y * v.x) + fvv * v.x * v.y,
            yy: fu * u.yy + fv * v.yy + fuu * u.y * u.y + 2.0 * fuv * u.y * v.y + fvv * v.y * v.y,
        }
    }
}

/// 0 below 0, 1 above 1, between them `6 t^5 - 15 t^4 + 10 t^3`: slope and curvature start and end at zero.
pub fn smooth_step<T: Scalar>(t: T) -> T {
    let v = t.value();
    if v <= 0.0 {
        T::constant(0.0)
    } else if v >= 1.0 {
        T::constant(1.0)
    } else {
        let f = v * v * v * (v * (6.0 * v - 15.0) + 10.0);
        let u = v * (1.0 - v);
        t.chain(f, 30.0 * u * u, 60.0 * u * (1.0 - 2.0 * v))
    }
}

/// The lesser of `x` and `y`, with the corner between them rounded where they differ by less than `width`.
pub fn smooth_least<T: Scalar>(x: T, y: T, width: f64) -> T {
    let gap = x - y;
    let size = gap.value().abs();
    let low = if gap.value() < 0.0 { x } else { y };
    if size >= width {
        return low;
    }
    let h = if gap.value() < 0.0 { gap + width } else { -gap + width };
    low - h * h * h * (1.0 / (6.0 * width * width))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample<T: Scalar>(x: T, y: T) -> T {
        let (s, c) = (x * y + 0.3).sin_cos();
        (s * s + y / (x + 2.0)).sqrt() * smooth_step(x * 0.5) - c
    }

    #[test]
    fn jets_agree_with_differences() {
        let (x, y, h) = (0.8, 1.1, 1e-4);
        let j = sample(Jet::first(x), Jet::second(y));
        let f = |i: f64, k: f64| sample(x + i * h, y + k * h);
        assert!((j.v - f(0.0, 0.0)).abs() < 1e-15);
        assert!((j.x - (f(1.0, 0.0) - f(-1.0, 0.0)) / (2.0 * h)).abs() < 1e-7);
        assert!((j.y - (f(0.0, 1.0) - f(0.0, -1.0)) / (2.0 * h)).abs() < 1e-7);
        assert!((j.xx - (f(1.0, 0.0) - 2.0 * f(0.0, 0.0) + f(-1.0, 0.0)) / (h * h)).abs() < 1e-6);
        assert!((j.yy - (f(0.0, 1.0) - 2.0 * f(0.0, 0.0) + f(0.0, -1.0)) / (h * h)).abs() < 1e-6);
        let mixed = f(1.0, 1.0) - f(1.0, -1.0) - f(-1.0, 1.0) + f(-1.0, -1.0);
        assert!((j.xy - mixed / (4.0 * h * h)).abs() < 1e-6);
    }
}
