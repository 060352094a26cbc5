//! The rolled surface in one half-plane, as a table that is worked out where the string comes to lie.

use super::{ACROSS, ALONG, CELL, NA, NT, Rolling, Sample, best_of, climb, height, roll};
use crate::groove::girth::quintic;
use crate::tip::TipSolid;

/// How much of its diameter a string gives where it lies in something narrow: it does not follow a crease as a hard ball would.
///
/// With none of that each point of a chain catches in the bottom of a straight groove by itself, and the draw at which the groove clicks
/// depends on where the points happen to be. For 1/32 to 1/8 the sample's click stays within one and a half parts in a hundred of its
/// mean, so the value matters little there; no outside source.
const SOFT: f64 = 1.0 / 16.0;

/// How often a cell of the table may be halved.
const HALVINGS: u32 = 7;
/// A cell is fine enough when a cubic-order guess at its middle is this near, m, and its slope this near.
const NEAR: [f64; 2] = [2e-8, 1e-4];

/// A stretch of the table between two knots.
#[derive(Debug, Clone, Default)]
enum Cell {
    #[default]
    Unknown,
    Whole,
    /// A crease lies within: the ball goes from one touch point to another.
    Creased,
    Halved(Box<Halves>),
}

/// A halved stretch: the knot in its middle, and what is known of either side.
#[derive(Debug, Clone)]
struct Halves {
    mid: Knot,
    low: Cell,
    high: Cell,
}

/// Radius with two derivatives along `a`, and where the ball touches.
#[derive(Debug, Clone, Copy, Default)]
struct Knot {
    radius: [f64; 3],
    touch: Option<[f64; 2]>,
}

/// Where a stretch of the table lies, the knots at its ends, and how often it may still be halved.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    a: f64,
    long: f64,
    p: Knot,
    q: Knot,
    left: u32,
}

/// The rolled surface in one half-plane: a table that is worked out, as finely as the surface asks for, where it is first used.
#[derive(Debug, Clone)]
pub struct Ring {
    theta: f64,
    from: f64,
    cells: Vec<Cell>,
    /// The smooth stretch last looked up: the next look is mostly into the same.
    last: Option<Stretch>,
    knots: Vec<Option<Knot>>,
    /// The surface's radius at even places along `a` and about `theta`, for the search.
    lattice: Vec<Option<[f64; ACROSS]>>,
    across: [(f64, (f64, f64)); ACROSS],
}

impl Ring {
    /// An empty table for the half-plane at `theta` of `solid`, for a ball of radius `r`, from `from` to `to` (m along `a`).
    pub fn new(solid: &TipSolid, r: f64, theta: f64, from: f64, to: f64) -> Self {
        let n = ((to - from) / CELL).ceil().max(1.0) as usize;
        let size: f64 = solid.radius(-2.0 * r, theta);
        let wide = (0.97 * r / size.max(r)).asin();
        let across = std::array::from_fn(|k| {
            let phi = wide * (k as f64 / f64::from(NT) - 1.0);
            (phi, phi.sin_cos())
        });
        // For a very thin string the lattice would be too long to hold; its samples are then taken one by one.
        let places = (n as f64 * CELL + 2.0 * r) / Self::spacing(r);
        let lattice = if places < 2e4 { vec![None; places.ceil() as usize + 2] } else { Vec::new() };
        Ring { theta, from, cells: vec![Cell::Unknown; n], last: None, knots: vec![None; n + 1], lattice, across }
    }

    /// The half-plane's polar angle, rad.
    pub fn theta(&self) -> f64 {
        self.theta
    }

    fn spacing(r: f64) -> f64 {
        0.98 * r / f64::from(NA)
    }

    /// Radius and its first two derivatives along `a`; zero beyond the table.
    pub fn at(&mut self, solid: &TipSolid, r: f64, a: f64) -> [f64; 3] {
        if let Some(last) = &self.last {
            let t = (a - last.a) / last.long;
            if (0.0..1.0).contains(&t) {
                return quintic(t, last.long, last.p.radius, last.q.radius);
            }
        }
        let u = (a - self.from) / CELL;
        if u.is_nan() || u >= self.cells.len() as f64 {
            return [0.0; 3];
        }
        let i = u.max(0.0) as usize;
        let t = (u - i as f64).max(0.0);
        let (p, q) = (self.outer(solid, r, i), self.outer(solid, r, i + 1));
        let mut cell = std::mem::take(&mut self.cells[i]);
        let found = self.look(
            solid,
            r,
            &mut cell,
            Stretch { a: self.from + CELL * i as f64, long: CELL, p, q, left: HALVINGS },
            t,
        );
        self.cells[i] = cell;
        found
    }

    /// Radius and derivatives as a string feels them: the mean over `SOFT` of its diameter along `a`.
    pub fn softly(&mut self, solid: &TipSolid, r: f64, a: f64) -> [f64; 3] {
        let third = SOFT * 2.0 * r / 3.0;
        let near = [a - third, a, a + third].map(|a| self.at(solid, r, a));
        if near.iter().any(|at| at[0] == 0.0) {
            // At the table's ends there is nothing to take a mean of.
            return near[1];
        }
        std::array::from_fn(|k| (near[0][k] + near[1][k] + near[2][k]) / 3.0)
    }

    /// The surface at `t` (0..1) in a stretch, which is halved there until its knots tell what lies between them.
    fn look(&mut self, solid: &TipSolid, r: f64, cell: &mut Cell, on: Stretch, t: f64) -> [f64; 3] {
        let Stretch { a, long, p, q, left } = on;
        let (low, high) = (p.radius, q.radius);
        if matches!(cell, Cell::Unknown) {
            *cell = if low[0] == 0.0 && high[0] == 0.0 {
                Cell::Whole
            } else {
                let between = p.touch.zip(q.touch).map(|(s, t)| [0.5 * (s[0] + t[0]), 0.5 * (s[1] + t[1])]);
                let mid = self.knot(solid, r, a + 0.5 * long, between);
                let guess = quintic(0.5, long, low, high);
                if (guess[0] - mid.radius[0]).abs() < NEAR[0] && (guess[1] - mid.radius[1]).abs() < NEAR[1] {
                    Cell::Whole
                } else if left == 0 {
                    Cell::Creased
                } else {
                    Cell::Halved(Box::new(Halves { mid, low: Cell::Unknown, high: Cell::Unknown }))
                }
            };
        }
        match cell {
            Cell::Halved(halves) => {
                let half = Stretch { long: 0.5 * long, left: left - 1, ..on };
                if t < 0.5 {
                    self.look(solid, r, &mut halves.low, Stretch { q: halves.mid, ..half }, 2.0 * t)
                } else {
                    let half = Stretch { a: a + 0.5 * long, p: halves.mid, ..half };
                    self.look(solid, r, &mut halves.high, half, 2.0 * t - 1.0)
                }
            }
            _ if low[0] == 0.0 || high[0] == 0.0 => [if t < 0.5 { low[0] } else { high[0] }, 0.0, 0.0],
            Cell::Creased => creased(t, long, low, high),
            _ => {
                self.last = Some(on);
                quintic(t, long, low, high)
            }
        }
    }

    fn outer(&mut self, solid: &TipSolid, r: f64, i: usize) -> Knot {
        if let Some(k) = self.knots[i] {
            return k;
        }
        let beside = |j: usize, by: f64| {
            let touch = self.knots.get(j).copied().flatten()?.touch?;
            Some([touch[0] + by, touch[1]])
        };
        let guess = i.checked_sub(1).and_then(|j| beside(j, CELL)).or_else(|| beside(i + 1, -CELL));
        let k = self.knot(solid, r, self.from + CELL * i as f64, guess);
        self.knots[i] = Some(k);
        k
    }

    fn knot(&mut self, solid: &TipSolid, r: f64, a: f64, guess: Option<[f64; 2]>) -> Knot {
        let wide = self.across[ACROSS - 1].0;
        let rolled = if a > solid.end - solid.rounding - r {
            roll(solid, r, a, self.theta)
        } else if !solid.is_cut([a - r, a + r], [self.theta - wide, self.theta + wide]) {
            // Without a groove near, the surface has no hollow that the ball does not fill: one rest, found from anywhere.
            let [x, t] = guess.unwrap_or([a, self.theta]);
            let height = height(r, a - x, (t - self.theta).sin_cos(), solid.radius(x, t));
            let from = Sample { height, a: x, theta: t };
            (height > f64::NEG_INFINITY).then(|| climb(solid, r, a, self.theta, from))
        } else if self.lattice.is_empty() {
            roll(solid, r, a, self.theta)
        } else {
            self.search(solid, r, a, guess)
        };
        rolled.map_or(Knot::default(), |p| Knot { radius: [p.radius.v, p.radius.x, p.radius.xx], touch: Some(p.touch) })
    }

    /// [`roll`], with the samples taken from the lattice.
    fn search(&mut self, solid: &TipSolid, r: f64, a: f64, guess: Option<[f64; 2]>) -> Option<Rolling> {
        let h = Self::spacing(r);
        let start = self.from - r;
        let middle = ((a - start) / h).round() as i64;
        let mut samples = [Sample { height: f64::NEG_INFINITY, a, theta: self.theta }; ALONG * ACROSS];
        let mut size = r;
        for i in -NA..=NA {
            let Ok(j) = usize::try_from(middle + i64::from(i)) else { continue };
            if j >= self.lattice.len() {
                continue;
            }
            let x = start + h * j as f64;
            let column =
                *self.lattice[j].get_or_insert_with(|| self.across.map(|(phi, _)| solid.radius(x, self.theta + phi)));
            if i == 0 {
                size = column[NT as usize];
            }
            for (k, radius) in column.iter().enumerate() {
                let (phi, turn) = self.across[k];
                samples[(i + NA) as usize * ACROSS + k] =
                    Sample { height: height(r, a - x, turn, *radius), a: x, theta: self.theta + phi };
            }
        }
        best_of(solid, r, a, self.theta, size, &samples, guess)
    }
}

/// Value and two derivatives within a step `h` that holds a crease, at `t` in 0..1.
///
/// The ball drops into a crease, so the radius is hollow there: two parabolas, both hollow, that keep values and slopes at the ends and
/// meet where the end tangents cross (Schumaker's quadratic spline). Where the ends do not tell of one crease, a cubic.
fn creased(t: f64, h: f64, p: [f64; 3], q: [f64; 3]) -> [f64; 3] {
    let mean = (q[0] - p[0]) / h;
    if p[1] < mean && mean < q[1] {
        let at = ((q[1] - mean) / (q[1] - p[1]) * h).clamp(1e-3 * h, 0.999 * h);
        let slope = 2.0 * mean - (at * p[1] + (h - at) * q[1]) / h;
        let x = t * h;
        return if x <= at {
            let bend = (slope - p[1]) / at;
            [p[0] + x * (p[1] + 0.5 * bend * x), p[1] + bend * x, bend]
        } else {
            let (bend, y) = ((q[1] - slope) / (h - at), x - h);
            [q[0] + y * (q[1] + 0.5 * bend * y), q[1] + bend * y, bend]
        };
    }
    let (d, dp, dq) = (q[0] - p[0], p[1] * h, q[1] * h);
    let (c2, c3) = (3.0 * d - 2.0 * dp - dq, dp + dq - 2.0 * d);
    [p[0] + t * (dp + t * (c2 + t * c3)), (dp + t * (2.0 * c2 + 3.0 * t * c3)) / h, (2.0 * c2 + 6.0 * t * c3) / (h * h)]
}
