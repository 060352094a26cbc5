//! The groove, laid out on the tip's unrolled girth: `g` along the girth from the middle of the back, `a` along the limb.
//!
//! The string bears on the wall at the groove's handle side and rolls off it as the bow is drawn. Where it goes round the
//! section it is pressed into the floor with `T k_n`, and where the wall turns it is pushed against the wall with `T k_g`; it stays
//! in while `k_g / k_n` is no steeper than the groove's side. So the wall turns where the section turns and as much as the section
//! turns there, which keeps that ratio even all along:
//!
//! ```text
//! k_n = k_s sin^2 psi    k_g = c k_n    =>    ln cot(psi / 2) = c tau
//! ```
//!
//! with `psi` the wall's angle to the limb, `k_s` the section's curvature and `tau` how far it has turned from the back. The side a
//! groove must offer, `c`, then depends only on the brace angle and on how much round there is to turn on.

pub mod girth;
pub mod wall;

use crate::design::BowString;
use crate::fault::Fault;
use crate::tip::jet::{Scalar, smooth_step};
pub use girth::Girth;
use std::f64::consts::FRAC_PI_2;
pub use wall::Wall;

/// Half axis of the hyperbola along which a fan past square opens, m.
const FLARE: f64 = 2.5e-3;

/// The measures a groove is made to, m and rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrooveWish {
    /// Depth where it crosses the back.
    pub depth: f64,
    /// Radius of the bottom, across the string.
    pub radius: f64,
    /// Rounding of the upper edges.
    pub edge: f64,
    /// Least radius of the wall.
    pub wall_radius: f64,
    /// Girth over which the depth runs out once the turn is made.
    pub run_out: f64,
    /// The wall's angle to the limb at its end.
    pub wall_end: f64,
    /// The angle to which the floor opens toward the tip.
    pub fan: f64,
    /// Whether the floor goes on to the tip's end instead: nothing stands behind the string.
    pub open: bool,
}

/// A groove on the unrolled girth, the same on both sides of where the girth starts.
#[derive(Debug, Clone, PartialEq)]
pub struct Groove {
    /// The girth it is laid out on.
    pub girth: Girth,
    /// The line the string's centre follows along the wall.
    pub wall: Wall,
    /// Girth at which the fan's edge leaves the wall's line, m.
    pub fan_from: f64,
    /// `a` where it does, m, and sine and cosine of the fan's angle.
    fan_line: [f64; 3],
    /// The measures asked for.
    pub wish: GrooveWish,
    /// Girth at which the depth starts and ends to run out, m.
    pub run: [f64; 2],
}

impl Groove {
    /// A groove that turns evenly with the section, or what keeps it from being made.
    pub fn blended(girth: Girth, wish: GrooveWish) -> Result<Self, Fault> {
        let wall = Wall::even(&girth, wish.wall_end, wish.wall_radius)?;
        Ok(Self::on(girth, wall, wish))
    }

    /// A groove along a given wall.
    pub fn on(girth: Girth, wall: Wall, wish: GrooveWish) -> Self {
        let fan_from = wall.where_angle(wish.fan);
        let made = wall.turned();
        let (s, c) = wish.fan.sin_cos();
        let fan_line = [wall.at(fan_from), s, c];
        Groove { girth, fan_from, fan_line, wish, run: [made, made + wish.run_out], wall }
    }

    /// Depth under the uncut surface at girth `g`, m.
    pub fn depth<T: Scalar>(&self, g: T) -> T {
        let t = (g - self.run[0]) * (1.0 / (self.run[1] - self.run[0]));
        (-smooth_step(t) + 1.0) * self.wish.depth
    }

    /// The fan's edge line: `a` at girth `g`, m.
    pub fn fan_edge(&self, g: f64) -> f64 {
        if g < self.fan_from {
            self.wall.at(g)
        } else if self.wish.fan > FRAC_PI_2 {
            self.flare(g)
        } else {
            self.wall.at(self.fan_from) - (g - self.fan_from) / self.wish.fan.tan()
        }
    }

    /// The fan's edge where it opens past square: a hyperbola, so that both sides meet without a point in the middle of the back.
    fn flare<T: Scalar>(&self, g: T) -> T {
        let rise = -1.0 / self.wish.fan.tan();
        ((g.squared() + FLARE * FLARE).sqrt() - FLARE) * rise
    }

    /// The radius `r` at (`a`, `theta`) after the groove is cut.
    pub fn cut<T: Scalar>(&self, r: T, a: T, theta: T) -> T {
        if r.value() <= 0.0 {
            return r;
        }
        let theta = wrapped(theta - self.girth.about);
        let g = self.girth.along(theta);
        if g.value() >= self.run[1] {
            return r;
        }
        let depth = self.depth(g);
        let reach = self.wish.radius + self.wish.edge;
        let removed = if self.wall.is_behind(g.value(), a.value()) {
            let Some(x) = self.wall.distance(g, a, 4.0 * reach) else { return r };
            profile(x, depth, self.wish.radius, self.wish.edge)
        } else if self.wish.open {
            depth
        } else {
            let y = if g.value() < self.fan_from {
                match self.wall.distance(g, a, 4.0 * reach) {
                    Some(x) => -x,
                    None => return r,
                }
            } else if self.wish.fan > FRAC_PI_2 {
                (a - self.flare(g)) * self.wish.fan.sin()
            } else {
                let [at, s, c] = self.fan_line;
                (a - at) * s + (g - self.fan_from) * c
            };
            if y.value() <= 0.0 {
                depth
            } else {
                // Toward the tip nothing bears: the fan's edge is gentler than the wall.
                let wide = smooth_step(g * (1.0 / self.wall.turned().max(1e-6))) * 2.0 + 1.0;
                profile(y / wide, depth / wide, self.wish.radius, self.wish.edge) * wide
            }
        };
        let removed = removed * self.girth.slant(theta);
        // Where the tip's end rounds off to nothing, a part of it stays: r - x goes on smoothly as r^2 / 4x from half of r.
        if removed.value() < 0.5 * r.value() { r - removed } else { r.squared() * 0.25 / removed }
    }

    /// Whether the groove may lie between two places along `a` (m) and between two polar angles (rad).
    pub fn reaches(&self, along: [f64; 2], angles: [f64; 2]) -> bool {
        let angles = angles.map(|theta| theta - self.girth.about);
        let [low, high] = angles.map(wrapped);
        let least = if angles[0] <= 0.0 && angles[1] >= 0.0 { 0.0 } else { low.min(high) };
        if self.girth.along(least) >= self.run[1] {
            return false;
        }
        // The wall goes toward the handle with the girth: nowhere does it lie farther that way than at its end.
        let edge = self.wish.radius + self.wish.edge;
        along[1] >= self.wall.at(self.run[1]) - edge * (1.0 + 1.0 / self.wish.wall_end.sin())
    }

    /// The polar angle on the tip at girth `g`, on the arm toward `+w` (1) or toward `-w` (-1), rad.
    pub fn theta(&self, g: f64, arm: f64) -> f64 {
        self.girth.about + arm * self.girth.angle(g)
    }

    /// The side its crest lies on: 1 toward `+w` or in the middle, -1 toward `-w`.
    pub fn way(&self) -> f64 {
        if self.girth.about < 0.0 { -1.0 } else { 1.0 }
    }

    /// Whether it is alike on both sides of the tip.
    pub fn is_even(&self) -> bool {
        self.girth.about == 0.0
    }

    /// How steep the groove's side is at girth `g`, rad: beyond this the string would climb it.
    pub fn side_angle(&self, g: f64) -> f64 {
        (1.0 - self.depth(g) / (self.wish.radius + self.wish.edge)).clamp(-1.0, 1.0).acos()
    }

    /// The steepest the string leans on the wall, rad, by the wall's own curvature, and the girth where.
    pub fn lean(&self, string: &BowString) -> [f64; 2] {
        let r = 0.5 * string.diameter;
        let mut worst = [0.0, 0.0];
        let end = self.wall.turned();
        for i in 0..=200 {
            let g = end * f64::from(i) / 200.0;
            let section = self.girth.curvature(g);
            let section = section / (1.0 + section * (r - self.depth(g)));
            let (turn, psi) = (self.wall.curvature(g), self.wall.angle(g));
            let lean = turn.atan2(section * psi.sin().powi(2));
            if turn > 1.0 && lean > worst[0] {
                worst = [lean, g];
            }
        }
        worst
    }
}

/// A polar angle brought to 0..pi on its own side.
fn wrapped<T: Scalar>(theta: T) -> T {
    use std::f64::consts::{PI, TAU};
    let turns = ((theta.value() + PI) / TAU).floor();
    let t = theta - TAU * turns;
    if t.value() < 0.0 { -t } else { t }
}

/// Depth at distance `x` across from the middle of a groove `depth` deep: bottom of radius `r`, upper edge of radius `e`.
fn profile<T: Scalar>(x: T, depth: T, r: f64, e: f64) -> T {
    if depth.value() < 1e-8 {
        return T::constant(0.0);
    }
    // The two arcs meet at the slope b: depth = (r + e)(1 - cos b); the floor ends at r sin b, the edge at (r + e) sin b.
    let cos = -depth * (1.0 / (r + e)) + 1.0;
    let sin = (-cos.squared() + 1.0).sqrt();
    if x.value() <= r * sin.value() {
        depth - r + (-x.squared() + r * r).sqrt()
    } else if x.value() < (r + e) * sin.value() {
        let u = sin * (r + e) - x;
        -(-u.squared() + e * e).sqrt() + e
    } else {
        T::constant(0.0)
    }
}
